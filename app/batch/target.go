package main

import (
	"context"
	"flag"
	"fmt"
	"strings"
	"time"

	"firstsheet/proof/chart"
)

func targetCommand() command {
	return command{
		name: "target", args: "-out DIR [-patches N] [-page a4|a3|letter] [-verify] [flags]",
		help: `A printable chart: page images, the patch list (CGATS.17) and how to print and measure it.

With -verify it is a small one to check a profile with later. The pages must reach
the printer unchanged: colour handling off along the whole path.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var o chart.TargetOptions
			out := f.String("out", "", "write the files into `DIR`")
			verify := f.Bool("verify", false, "make a chart to verify a profile with")
			f.IntVar(&o.Patches, "patches", 0, fmt.Sprintf("`N` patches: %d to %d, 1000 when left out; to verify %d to %d, 48",
				chart.MinPatches, chart.MaxPatches, chart.MinVerify, chart.MaxVerify))
			f.StringVar(&o.Page, "page", "a4", "paper size: `a4|a3|letter`")
			f.Float64Var(&o.PPI, "ppi", 0, "pixels an inch, 300 when left out")
			f.Float64Var(&o.Margin, "margin", 0, "unprinted edge in `mm`, 10 when left out")
			f.Float64Var(&o.Size, "size", 0, "side of a patch in `mm`, 8 when left out, 14 to verify")
			f.StringVar(&o.Name, "name", "", "what is printed on the sheet and begins the files' names")
			return func(ctx context.Context, args []string, s streams) error {
				if len(args) > 0 {
					return misused("%q is one argument too many", args[0])
				}
				if *out == "" {
					return misused("-out is missing")
				}
				o.Created = time.Now()
				var target *chart.Target
				var err error
				if *verify {
					target, err = chart.NewVerifyTarget(o)
				} else {
					target, err = chart.NewTarget(ctx, o)
				}
				if ctx.Err() != nil {
					return ctx.Err()
				}
				if err != nil {
					return misused("%v", err) // every reason is a value on the command line
				}
				return writeTarget(ctx, target, *out, s)
			}
		},
	}
}

// writeTarget puts a chart's files into a folder, all or none.
func writeTarget(ctx context.Context, target *chart.Target, dir string, s streams) error {
	_, err := target.WriteAll(ctx, dir, true, func(files chart.Files) error {
		paths := append([]string{files.List, files.Help}, files.Pages...)
		_, err := fmt.Fprintln(s.out, strings.Join(paths, "\n"))
		return err
	})
	return err
}
