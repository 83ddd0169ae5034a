// Command makepapers computes the demo papers' profiles from the ink model and
// writes them into a folder. The bytes depend on the code alone.
//
//	go run ./proof/press/makepapers [-out assets/papers]
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"

	"firstsheet/proof/press"
	"firstsheet/proof/press/papers"
	"firstsheet/proof/press/profile"
)

func main() {
	out := flag.String("out", filepath.Join("assets", "papers"), "folder to write to")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, *out); err != nil {
		fmt.Fprintln(os.Stderr, "makepapers:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, out string) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	for _, stock := range press.Stocks() {
		for _, setting := range append([]press.Setting{stock.Right}, stock.Wrong...) {
			r, err := profile.Build(ctx, papers.Spec(stock, setting), nil)
			if err != nil {
				return err
			}
			name := papers.File(stock, setting)
			if err := os.WriteFile(filepath.Join(out, name), r.V2, 0o644); err != nil {
				return err
			}
			p := r.Report
			fmt.Printf("%-19s %7d bytes; table %.3f mean %.3f max; round trip %.3f mean %.3f p95 %.3f max; white %v, black L* %.1f; %.1f s\n",
				name, len(r.V2), p.Forward.Mean, p.Forward.Max, p.RoundTrip.Mean, p.RoundTrip.P95, p.RoundTrip.Max,
				p.White, p.Black.L, p.Took.Seconds())
		}
	}
	return nil
}
