// Command app opens Firstsheet's window.
//
//	go run ./app [photo | ticket.json | profile.icc]
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"firstsheet/app/engine"
	"firstsheet/app/screen"
	"firstsheet/app/session"
	"firstsheet/app/view"
	"firstsheet/assets"
	"firstsheet/proof/paper"
)

func main() {
	flag.Usage = func() {
		fmt.Fprintln(os.Stderr, "usage: app [photo | ticket.json | profile.icc]\n\nOpens the window with the desk of last time, at a first start with the demo picture;\nwith a photo on that desk, as a job ticket says, or with a profile added to the papers.")
		flag.PrintDefaults()
	}
	papers := flag.String("papers", "", "the `folder` of your papers; your settings' own when empty")
	desk := flag.String("desk", "", "the `folder` in which desk and prints are kept; your settings' own when empty")
	profiles := flag.String("profile", "", "a `folder` that gets cpu.prof and trace.out, which tell what the program spends its time on")
	flag.Parse()
	if flag.NArg() > 1 {
		flag.Usage()
		os.Exit(2)
	}
	written, err := record(*profiles)
	if err != nil {
		fmt.Fprintln(os.Stderr, "app:", err)
		os.Exit(1)
	}

	// A program that was installed finds no FyneApp.toml: without an ID it would forget what
	// it keeps from one start to the next.
	app.SetMetadata(fyne.AppMetadata{ID: "local.firstsheet", Name: "Firstsheet", Migrations: map[string]bool{"fyneDo": true}})
	a := app.New()
	a.SetIcon(fyne.NewStaticResource("icon.png", assets.Icon()))
	win := a.NewWindow("Firstsheet")

	e := engine.New(paper.Open(*papers), engine.Regatta)
	start := session.Start("pearl")
	var notice session.Notice
	start.Screen, notice = screenOf(e, screen.Main)
	s := session.New(e, fyne.Do, start)
	window := view.New(a, win, s)
	win.Resize(fyne.NewSize(1280, 800))

	// The first action waits for the window, so that buffers are made for its
	// real size.
	ctx, stop := context.WithCancel(context.Background())
	quitOnHangUp(a)
	a.Lifecycle().SetOnStarted(func() {
		go follow(ctx, win, e, s)
		s.Do(session.Tell{Notice: notice})
		resume(s, *desk, flag.Arg(0))
	})
	win.ShowAndRun()
	stop()
	window.Close()
	if err := written(); err != nil {
		fmt.Fprintln(os.Stderr, "app: the profiles:", err)
		os.Exit(1)
	}
}

// quitOnHangUp closes the window in order when the terminal that it was started from, or
// the person's session, ends: the toolkit does so on the other signals alone.
func quitOnHangUp(a fyne.App) {
	hangUp := make(chan os.Signal, 1)
	signal.Notify(hangUp, syscall.SIGHUP)
	go func() {
		<-hangUp
		fyne.Do(a.Quit)
	}()
}

// resume lays the desk of last time, with a photo in place of its own, as a job ticket
// says, or with a profile among the papers; "" is none of them.
func resume(s *session.Session, dir, file string) {
	photo := file
	if view.IsTicket(file) || view.IsProfile(file) {
		photo = ""
	}
	archive, err := session.OpenArchive(dir)
	if err != nil {
		s.Do(session.Tell{Notice: session.Explain(err, "")})
		s.Do(session.OpenPicture{Path: photo, Demo: photo == "", First: true})
	} else {
		s.Resume(archive, photo)
	}
	switch {
	case view.IsTicket(file):
		s.OpenTicket(file)
	case view.IsProfile(file):
		s.Do(session.AddPaper{Path: file})
	}
}
