package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/check"
	"firstsheet/proof/photo"
	"firstsheet/proof/space"
)

func checkCommand() command {
	return command{
		name: "check", args: "-page a4|a3plus|letter -out FILE.tif|.png|.pdf [-ppi 300|360] [-depth 8|16] [-space ID]",
		help: `The check sheet: a page with known values to print when prints go wrong.

Beside FILE appears FILE-values.txt (CGATS.17): the patches' numbers, what colour
these stand for, and where each lies. The sheet carries its profile.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var o check.Options
			var out, in string
			f.StringVar(&o.Page, "page", "a4", "paper size: `a4|a3plus|letter`")
			f.StringVar(&out, "out", "", "write the sheet to `FILE`")
			f.Float64Var(&o.PPI, "ppi", 300, "pixels an inch: `300|360`")
			f.IntVar(&o.Depth, "depth", 8, "bits a channel: `8|16`")
			f.StringVar(&in, "space", "srgb", "the space that the sheet is drawn in: `"+strings.Join(spaceIDs(), "|")+"`")
			return func(ctx context.Context, args []string, s streams) error {
				if len(args) > 0 {
					return misused("%q is one argument too many", args[0])
				}
				if out == "" {
					return misused("-out is missing")
				}
				if !slices.Contains(check.Endings(), strings.ToLower(filepath.Ext(out))) {
					return misused("-out is %q, which does not end in %s", out, strings.Join(check.Endings(), ", "))
				}
				var err error
				if o.Space, err = sheetSpace(in); err != nil {
					return err
				}
				sheet, err := check.New(o)
				if err != nil {
					return misused("%v", err) // every reason is a value on the command line
				}
				return writeCheck(ctx, sheet, out, s)
			}
		},
	}
}

func sheetSpace(id string) (space.Space, error) {
	s, ok := space.ByID(id)
	if !ok {
		return s, misused("-space is %q, not %s", id, strings.Join(spaceIDs(), ", "))
	}
	return s, nil
}

// writeCheck writes a sheet and its values, both or neither.
func writeCheck(ctx context.Context, sheet *check.Sheet, path string, s streams) error {
	values := check.TableFile(path)
	var out aside.Files
	defer out.Discard()
	if err := out.Add(path, func(aside string) error { return sheet.Write(ctx, aside) }); err != nil {
		return at(path, err)
	}
	if err := out.Add(values, sheet.WriteTable); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(s.out, "%s\n%s\n", path, values); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return out.Commit()
}

func readCheckCommand() command {
	return command{
		name: "readcheck", args: "SCAN -out FILE.csv [-space ID]",
		help: `The colours of a printed check sheet, read off a scan or photograph of it.

The sheet may lie turned or be seen at a slant; its five round marks must be in
sight. The table is one that causes takes with -source the sheet's space: pin, c1, c2,
c3 (the sheet's numbers, 0 to 255), L, a, b (relative to the bare paper). Patches that
the scan's space or its exposure cannot hold are left out.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			out := f.String("out", "", "write the table to `FILE.csv`")
			in := f.String("space", "srgb", "the space that the sheet was drawn in: `"+strings.Join(spaceIDs(), "|")+"`")
			return func(ctx context.Context, args []string, s streams) error {
				if len(args) != 1 {
					return misused("one scan is wanted, not %d", len(args))
				}
				if *out == "" {
					return misused("-out is missing")
				}
				drawn, err := sheetSpace(*in)
				if err != nil {
					return err
				}
				return readCheck(ctx, args[0], *out, drawn, s)
			}
		},
	}
}

func readCheck(ctx context.Context, path, out string, drawn space.Space, s streams) error {
	pic, err := photo.Open(ctx, path)
	if err != nil {
		return err
	}
	engine := proof.NewEngine()
	defer engine.Close()
	scan, err := check.ReadScan(ctx, engine, pic, drawn)
	if e, ok := errors.AsType[*check.ScanError](err); ok {
		return fmt.Errorf("%s: %s", path, e.Reason)
	}
	if err != nil {
		return naming(path, err)
	}
	var b strings.Builder
	b.WriteString("pin,c1,c2,c3,L,a,b\n")
	for _, r := range scan.Readings {
		fmt.Fprintf(&b, "%s,%.0f,%.0f,%.0f,%.3f,%.3f,%.3f\n", r.Patch.ID, r.Patch.RGB[0]*255, r.Patch.RGB[1]*255, r.Patch.RGB[2]*255, r.Lab.L, r.Lab.A, r.Lab.B)
	}
	files := aside.Files{Keep: []string{path}}
	defer files.Discard()
	if err := files.Add(out, func(aside string) error { return writeText(aside, b.String()) }); err != nil {
		return err
	}
	for _, n := range slices.Concat(pic.Notes, scan.Notes) {
		fmt.Fprintf(s.out, "note: %s\n", n)
	}
	if _, err := fmt.Fprintf(s.out, "%s: %d patches\n", out, len(scan.Readings)); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return files.Commit()
}

func writeText(path, text string) error { return os.WriteFile(path, []byte(text), 0o666) }
