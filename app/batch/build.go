package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof/aside"
	"firstsheet/proof/chart"
)

// measuredFlags say where measurements are read from.
type measuredFlags struct{ chart.Sheets }

func (m *measuredFlags) define(f *flag.FlagSet) {
	f.Func("measured", "the measurements, `FILE` of CGATS.17 text; again for each further page or reading", func(path string) error {
		m.Paths = append(m.Paths, path)
		return nil
	})
	f.StringVar(&m.List, "list", "", "the chart's patch list, `FILE`: gives each patch its place, and its numbers where they were left out")
	f.Float64Var(&m.Scale, "scale", 0, "the number that means full in all files, `1|100|255`; found by the values when left out")
}

// maxMeasured bounds any text that is read.
const maxMeasured = 256 << 20

// read returns the readings that the files hold.
func (m *measuredFlags) read() ([]chart.Taken, error) {
	switch m.Scale {
	case 0, 1, 100, 255:
	default:
		return nil, misused("-scale is %g, not 1, 100 or 255", m.Scale)
	}
	if len(m.Paths) == 0 {
		return nil, misused("-measured is missing")
	}
	return m.Readings()
}

// files are all that were read.
func (m *measuredFlags) files() []string { return append(slices.Clone(m.Paths), m.List) }

// one returns the only reading, or with mean the mean of all.
func (m *measuredFlags) one(mean bool) (*chart.Measurements, error) {
	list, err := m.read()
	switch {
	case err != nil:
		return nil, err
	case len(list) == 1:
		return list[0].Measurements, nil
	case !mean:
		return nil, fmt.Errorf("the files hold %d readings of the same places: give one of them, or -mean for their mean", len(list))
	}
	var all []*chart.Measurements
	for _, t := range list {
		all = append(all, t.Measurements)
	}
	ms, _, err := chart.Mean(all)
	return ms, err
}

// readText reads an ordinary file of bounded size.
func readText(path string) ([]byte, error) {
	// Asked before opening: to open a pipe would wait for its other end.
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s: %w", path, aside.Bare(err))
	case info.IsDir():
		return nil, fmt.Errorf("%s: it is a folder", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: it is not an ordinary file", path)
	case info.Size() == 0:
		return nil, fmt.Errorf("%s: it has 0 bytes", path)
	case info.Size() > maxMeasured:
		return nil, fmt.Errorf("%s: it has %d bytes, at most %d are read", path, info.Size(), maxMeasured)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, aside.Bare(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxMeasured))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, aside.Bare(err))
	}
	return data, nil
}

func buildCommand() command {
	return command{
		name: "build", args: "-measured FILE.cgats -name NAME -out FILE.icc [-report FILE.json] [flags]",
		help: `An ICC profile of a paper from the measurements of its printed chart.

-out is a version 2 profile, which every program takes; -out4 writes a version 4 one
beside it. Measurements that contradict themselves as a whole are refused unless
-anyway is given. It takes some seconds to a minute.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var from measuredFlags
			var o chart.BuildOptions
			from.define(f)
			name := f.String("name", "", "what the profile is called, in any script")
			out := f.String("out", "", "write the version 2 profile to `FILE.icc`")
			out4 := f.String("out4", "", "write a version 4 profile to `FILE.icc`")
			report := f.String("report", "", "write how good it is to `FILE.json`")
			ink := f.Float64("ink", 0, "most total ink in `percent`: CMYK only, and needed there")
			mean := f.Bool("mean", false, "build from the mean where the files hold several readings")
			f.StringVar(&o.Maker, "maker", "", "maker of the printer, plain ASCII")
			f.StringVar(&o.Model, "model", "", "model of the printer, plain ASCII")
			f.StringVar(&o.Copyright, "copyright", "", "licence line, plain ASCII; Public domain when left out")
			f.IntVar(&o.ForwardGrid, "forward", 0, "nodes an axis of the tables into Lab")
			f.IntVar(&o.InverseGrid, "inverse", 0, "nodes an axis of the tables out of Lab")
			f.BoolVar(&o.Keep, "keep", false, "put the measurements into the profile")
			f.BoolVar(&o.Anyway, "anyway", false, "build from doubtful measurements, too")
			return func(ctx context.Context, args []string, s streams) error {
				switch {
				case len(args) > 0:
					return misused("%q is one argument too many", args[0])
				case *name == "":
					return misused("-name is missing")
				case *out == "" && *out4 == "":
					return misused("-out is missing")
				}
				for flag, path := range map[string]string{"out": *out, "out4": *out4} {
					if ending := strings.ToLower(filepath.Ext(path)); path != "" && ending != ".icc" && ending != ".icm" {
						return misused("-%s is %q, which ends neither in .icc nor in .icm", flag, path)
					}
				}
				for flag, text := range map[string]string{"maker": o.Maker, "model": o.Model, "copyright": o.Copyright} {
					if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r > '~' }) {
						return misused("-%s is %q, which is not plain ASCII", flag, text)
					}
				}
				if *ink < 0 || *ink > 400 {
					return misused("-ink is %g, not 0 to 400 percent", *ink)
				}
				o.TotalInk = *ink / 100
				ms, err := from.one(*mean)
				if err != nil {
					return err
				}
				if o.TotalInk > 0 && ms.Device != chart.CMYK {
					return misused("-ink is given, and %s numbers leave the ink to the driver", ms.Device)
				}
				built, err := chart.Build(ctx, ms, *name, o, nil)
				if err != nil {
					return naming(from.Paths[0], err)
				}
				files := aside.Files{Keep: from.files()}
				defer files.Discard()
				for _, w := range []struct {
					path string
					data []byte
				}{{*out, built.V2}, {*out4, built.V4}} {
					if w.path == "" {
						continue
					}
					if err := files.Add(w.path, func(path string) error { return os.WriteFile(path, w.data, 0o666) }); err != nil {
						return err
					}
				}
				if *report != "" {
					if err := files.Add(*report, func(path string) error { return writeJSONFile(path, built.Report) }); err != nil {
						return err
					}
				}
				if err := errors.Join(tellBuilt(s.out, built.Report), ctx.Err()); err != nil {
					return err
				}
				return files.Commit()
			}
		},
	}
}

func tellBuilt(w io.Writer, r chart.Report) error {
	var b strings.Builder
	spread := func(what string, s chart.Spread) {
		fmt.Fprintf(&b, "%s: mean %.2f, 95th percentile %.2f, largest %.2f ΔE00 (%d colours)\n", what, s.Mean, s.P95, s.Max, s.Count)
	}
	fmt.Fprintf(&b, "%s: %d of %d patches used\n", r.Name, r.Fit.Used, r.Fit.Patches)
	spread("smooth model against the measurements", r.Fit.Fit)
	spread("a patch predicted from all others", r.Fit.HeldOut)
	spread("table of the profile against the measurements", r.Table)
	spread("there and back inside the gamut", r.RoundTrip)
	factsText(&b, r.Facts)
	for _, line := range r.Warnings {
		fmt.Fprintf(&b, "warning: %s\n", line)
	}
	for _, s := range r.Fit.Suspects {
		fmt.Fprintf(&b, "suspicious: %s\n", s.Text)
	}
	for _, line := range append(append([]string(nil), r.Fit.Orders...), append(r.Fit.Notes, r.Cautions...)...) {
		fmt.Fprintf(&b, "note: %s\n", line)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
