package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"firstsheet/proof"
)

func valuesCommand() command {
	return command{
		name: "values", args: "-source SPACE|FILE -paper ID|FILE [flags] < colours.csv",
		help: `What the print of single colours looks like, in floating point.

Standard input: one colour a line, a number for each of the source's channels (red,
green, blue for RGB) from 0 to 255 with fractions allowed. A first line with names,
empty lines and lines that start with # are passed over.

Standard output: CSV with the header c1,c2,c3,L0,a0,b0,L,a,b,dE00,reach,R,G,B
  c1,c2,..  the colour as it was read, a column for each channel
  L0,a0,b0  the original in D50 CIELAB
  L,a,b     the print: relative to the paper's white, or with -white paper absolute
  dE00      CIEDE2000 between these two
  reach     how far the original lies outside the paper's reach, in CIEDE2000
  R,G,B     what the screen is told, 0 to 255, clipped, not rounded
  D1,D2,..  with -device: what the printer gets, 0 to 1 a channel
A bad line ends the job with its number; lines before it are written.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var flags setupFlags
			flags.define(f)
			device := f.Bool("device", false, "append what the printer gets")
			return func(ctx context.Context, args []string, s streams) error {
				if len(args) > 0 {
					return misused("%q is one argument too many", args[0])
				}
				if flags.source == "" {
					return misused("-source is missing")
				}
				set, err := flags.setup()
				if err != nil {
					return err
				}
				set.CountWhite = set.White == proof.PaperWhite
				plan, err := flags.plan(set, nil)
				if err != nil {
					return err
				}
				engine := proof.NewEngine()
				defer engine.Close()
				chain, err := engine.Chain(plan)
				if err != nil {
					return err
				}
				defer chain.Close()
				return streamValues(ctx, chain, plan.Source.Channels(), plan.Paper.Channels(), *device, s)
			}
		},
	}
}

const (
	maxLine   = 64 << 10 // bytes; a colour takes about 30
	valueStep = 1024     // colours computed at once
)

// streamValues streams colours through the chain. Lines are answered as soon as no more
// input is waiting, so that the command may sit in the middle of a pipe.
func streamValues(ctx context.Context, chain *proof.Chain, channels, inks int, device bool, s streams) error {
	out := bufio.NewWriterSize(s.out, 64<<10)
	w := valueWriter{out: out, device: device}
	if _, err := out.WriteString(header(channels, inks, device)); err != nil {
		return err
	}
	var numbers []float64
	results := make([]proof.Value, valueStep)
	answer := func() error {
		n := len(numbers) / channels
		src := make([]float64, len(numbers))
		for i, v := range numbers {
			src[i] = v / 255
		}
		if err := chain.Values(results[:n], src); err != nil {
			return err
		}
		for i, v := range results[:n] {
			w.row(numbers[i*channels:(i+1)*channels], v)
		}
		numbers = numbers[:0]
		return out.Flush()
	}
	in := bufio.NewReaderSize(s.in, maxLine)
	first := true
	for line := 1; ; line++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		text, err := in.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			return errors.Join(answer(), fmt.Errorf("standard input, line %d: it has more than %d bytes", line, maxLine))
		}
		if err != nil && err != io.EOF {
			return errors.Join(answer(), fmt.Errorf("standard input, line %d: %w", line, err))
		}
		last := err == io.EOF
		row := string(text)
		if line == 1 {
			row = strings.TrimPrefix(row, "\ufeff")
		}
		row = strings.TrimSpace(row)
		if row != "" && !strings.HasPrefix(row, "#") {
			switch more, err := colour(numbers, row, channels); {
			case err == nil:
				numbers = more
			case !first || !isHeader(row, channels):
				return errors.Join(answer(), fmt.Errorf("standard input, line %d: %w", line, err))
			}
			first = false
		}
		if last || len(numbers) == valueStep*channels || len(numbers) > 0 && in.Buffered() == 0 {
			if err := answer(); err != nil {
				return err
			}
		}
		if last {
			return out.Flush()
		}
	}
}

// header names the columns, each otherwise than all others: b is that of the print.
func header(channels, inks int, device bool) string {
	var h strings.Builder
	for i := range channels {
		fmt.Fprintf(&h, "c%d,", i+1)
	}
	h.WriteString("L0,a0,b0,L,a,b,dE00,reach,R,G,B")
	for i := 0; device && i < inks; i++ {
		fmt.Fprintf(&h, ",D%d", i+1)
	}
	return h.String() + "\n"
}

// isHeader tells a line of names: none of its fields is a number.
func isHeader(row string, channels int) bool {
	fields := strings.Split(row, ",")
	if len(fields) != channels {
		return false
	}
	for _, f := range fields {
		f = strings.Trim(strings.TrimSpace(f), `"`)
		if _, err := strconv.ParseFloat(f, 64); err == nil || f == "" {
			return false
		}
	}
	return true
}

// colour appends the numbers of one line to dst.
func colour(dst []float64, row string, channels int) ([]float64, error) {
	fields := strings.Split(row, ",")
	if len(fields) != channels {
		return dst, fmt.Errorf("a colour has %d numbers separated by commas, here are %d", channels, len(fields))
	}
	for _, f := range fields {
		f = strings.TrimSpace(f)
		v, err := strconv.ParseFloat(f, 64)
		// Go's own spellings, such as 1_000, 0x1p4 and inf, are no numbers in a table.
		if err != nil || strings.Trim(f, "0123456789.+-eE") != "" {
			return dst[:len(dst)/channels*channels], fmt.Errorf("%.40q is no number", f)
		}
		if v < 0 || v > 255 {
			return dst[:len(dst)/channels*channels], fmt.Errorf("%.40s is not between 0 and 255", f)
		}
		dst = append(dst, v)
	}
	return dst, nil
}

type valueWriter struct {
	out    *bufio.Writer
	device bool
	buf    []byte
}

// decimals is how many decimals a computed number has; lcms itself computes in
// single precision, which carries about 5 of them in Lab.
const decimals = 6

func (w *valueWriter) row(numbers []float64, v proof.Value) {
	w.buf = w.buf[:0]
	for i, n := range numbers {
		if i > 0 {
			w.buf = append(w.buf, ',')
		}
		w.buf = strconv.AppendFloat(w.buf, n, 'f', -1, 64)
	}
	w.numbers(v.Original.L, v.Original.A, v.Original.B, v.Look.L, v.Look.A, v.Look.B, v.DeltaE00, v.Reach)
	for _, n := range v.Screen {
		w.numbers(n * 255)
	}
	if w.device {
		w.numbers(v.Device...)
	}
	w.buf = append(w.buf, '\n')
	// A failed write is told by the flush that follows.
	_, _ = w.out.Write(w.buf)
}

func (w *valueWriter) numbers(values ...float64) {
	for _, v := range values {
		if math.Abs(v) < 0.5e-6 {
			v = 0 // no -0.000000
		}
		w.buf = append(w.buf, ',')
		w.buf = strconv.AppendFloat(w.buf, v, 'f', decimals, 64)
	}
}
