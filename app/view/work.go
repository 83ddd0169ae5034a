package view

import (
	"context"
	"image"

	"firstsheet/app/widget"
)

// work is what a card or a part of the window has computed away from the drawing
// goroutine. It is made with the card and closed with it; the window waits at its own
// end for all that is still winding down.
//
//	v.count = h.newWork().lane()
//	v.count.start(func(j job) func() {
//		cloud, err := gamut.NewCloud(j, ...)           // on a goroutine of its own
//		j.post(func() { v.say("half done") })          // on the drawing one, meanwhile
//		return func() { v.show(cloud, err) }           // on the drawing one, at the end
//	})
//
// All methods belong to the drawing goroutine.
type work struct {
	h   *Host
	ctx context.Context
	end context.CancelFunc
}

func (h *Host) newWork() *work {
	ctx, end := context.WithCancel(context.Background())
	return &work{h: h, ctx: ctx, end: end}
}

// close cancels every job; none of them reaches the card any more.
func (w *work) close() { w.end() }

// post runs f on the drawing goroutine, unless the work was closed by then. It may be
// called from any goroutine.
func (w *work) post(f func()) {
	w.h.Session.Post(func() {
		if w.ctx.Err() == nil {
			f()
		}
	})
}

// drawing returns a drawing that is painted as a part of this work.
func (w *work) drawing(paint func(width, height int, scale float64) (*image.RGBA, []widget.Word)) *widget.Drawing {
	d := widget.NewDrawing(w.post, paint)
	d.Aside = w.h.jobs.Go
	return d
}

// lane returns a lane of its own: in each, one job at a time is wanted.
func (w *work) lane() *lane { return &lane{work: w} }

// lane is a line of jobs of which only the last is wanted.
type lane struct {
	work   *work
	cancel context.CancelFunc // of the job under way, nil for none
	last   int
}

// job is one computation. Its context ends when it is stopped, when another takes its
// place, and when the card is closed.
type job struct {
	context.Context
	// post runs f on the drawing goroutine, unless the card was closed or another job
	// has taken this one's place by then. It may be called from any goroutine.
	post func(f func())
}

// start runs do on a goroutine of its own, in place of the lane's job before, and then
// what it returns (nil for nothing) on the drawing goroutine. A job that was stopped
// still tells its outcome.
func (l *lane) start(do func(j job) func()) {
	l.stop()
	l.last++
	n := l.last
	ctx, cancel := context.WithCancel(l.work.ctx)
	l.cancel = cancel
	post := func(f func()) {
		l.work.post(func() {
			if n == l.last {
				f()
			}
		})
	}
	l.work.h.jobs.Go(func() {
		done := do(job{ctx, post})
		post(func() {
			cancel()
			l.cancel = nil
			if done != nil {
				done()
			}
		})
	})
}

// stop cancels the job under way; its outcome still comes.
func (l *lane) stop() {
	if l.cancel != nil {
		l.cancel()
	}
}

// drop cancels the job under way and forgets it: nothing of it comes any more.
func (l *lane) drop() {
	l.stop()
	l.cancel = nil
	l.last++
}

// busy tells whether a job is under way.
func (l *lane) busy() bool { return l.cancel != nil }
