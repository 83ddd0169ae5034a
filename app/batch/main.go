// Command batch is Firstsheet without a window: the same engine, the same papers,
// the same numbers, for scripts.
//
// It ends with 0 when the job is done, 1 when it could not be done (one line on
// standard error names the file and the reason, and no output file is left) and 2
// when the command line makes no sense. What it tells on standard output is written
// before its files appear: where that can't be written, none do. An interrupt, and being
// asked to end or hung up on, stops it wherever it is; the second time at once.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"firstsheet/proof/words"
)

// Exit codes.
const (
	done   = 0
	failed = 1
	misuse = 2
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	context.AfterFunc(ctx, stop)
	signal.Ignore(syscall.SIGPIPE) // an error of writing then, after which all is cleared away
	code := run(ctx, os.Args[1:], streams{patient{ctx: ctx, in: os.Stdin}, patient{ctx: ctx, out: os.Stdout}, os.Stderr})
	stop()
	os.Exit(code)
}

// streams are what a command reads and writes beside files.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// command is one word of the command line.
type command struct {
	name, args, help string
	// define adds the command's flags and returns what it does with the rest of the
	// line. It is called once a run.
	define func(f *flag.FlagSet) func(ctx context.Context, args []string, s streams) error
}

func commands() []command {
	return []command{
		papersCommand(), paperCommand(), valuesCommand(), proofCommand(), rankCommand(),
		targetCommand(), buildCommand(), verifyCommand(), driftCommand(),
		printCommand(), ticketCommand(), deskCommand(),
		causesCommand(), checkCommand(), readCheckCommand(),
	}
}

// usageError is a command line that makes no sense.
type usageError struct{ reason string }

func (e *usageError) Error() string { return e.reason }

func misused(format string, args ...any) error { return &usageError{fmt.Sprintf(format, args...)} }

// run carries out one command line and returns the exit code.
func run(ctx context.Context, args []string, s streams) int {
	if len(args) == 0 {
		usage(s.err)
		return misuse
	}
	told := &telling{w: s.out}
	if name := strings.TrimLeft(args[0], "-"); name == "help" || name == "h" {
		usage(told)
		return exitCode(s.err, "batch", told.failure())
	}
	for _, c := range commands() {
		if c.name != args[0] {
			continue
		}
		flags := flag.NewFlagSet(c.name, flag.ContinueOnError)
		flags.SetOutput(io.Discard)
		do := c.define(flags)
		rest, err := parse(flags, args[1:])
		switch {
		case errors.Is(err, flag.ErrHelp):
			c.usage(told, flags)
			err = nil
		case err == nil:
			err = do(ctx, rest, streams{s.in, told, s.err})
		}
		if err == nil {
			err = told.failure()
		}
		if _, wrong := errors.AsType[*usageError](err); wrong {
			fmt.Fprintf(s.err, "batch %s: %s (batch %s -help tells more)\n", c.name, oneLine(err), c.name)
			return misuse
		}
		return exitCode(s.err, "batch "+c.name, err)
	}
	fmt.Fprintf(s.err, "batch: no command is called %q\n", args[0])
	usage(s.err)
	return misuse
}

// exitCode tells why it could not be done, and returns the exit code.
func exitCode(w io.Writer, who string, err error) int {
	if err == nil {
		return done
	}
	fmt.Fprintf(w, "%s: %s\n", who, oneLine(err))
	return failed
}

func oneLine(err error) string {
	if errors.Is(err, context.Canceled) {
		return "stopped"
	}
	return words.Clean(err.Error(), 0)
}

// parse reads flags before, between and after the other arguments, which it
// returns. Everything after "--" is no flag. Numbers are finite.
func parse(f *flag.FlagSet, args []string) (rest []string, err error) {
	for {
		if err := f.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, misused("%v", err)
		}
		if err := finite(f); err != nil {
			return nil, err
		}
		used := len(args) - f.NArg()
		if f.NArg() == 0 || used > 0 && args[used-1] == "--" {
			return append(rest, f.Args()...), nil
		}
		rest = append(rest, f.Arg(0))
		args = f.Args()[1:]
	}
}

// finite refuses infinite numbers and what is no number, which the flags' own reading lets
// through.
func finite(f *flag.FlagSet) (err error) {
	f.Visit(func(g *flag.Flag) {
		if get, ok := g.Value.(flag.Getter); ok {
			if v, ok := get.Get().(float64); ok && (math.IsNaN(v) || math.IsInf(v, 0)) {
				err = misused("-%s is %g, which is no finite number", g.Name, v)
			}
		}
	})
	return err
}

func usage(w io.Writer) {
	fmt.Fprintln(w, "usage: batch COMMAND [arguments]")
	for _, c := range commands() {
		first, _, _ := strings.Cut(c.help, "\n")
		fmt.Fprintf(w, "  %-8s %s\n", c.name, first)
	}
	fmt.Fprintln(w, "batch COMMAND -help tells more.")
}

func (c command) usage(w io.Writer, f *flag.FlagSet) {
	fmt.Fprintf(w, "usage: batch %s %s\n%s\n", c.name, c.args, c.help)
	f.SetOutput(w)
	f.PrintDefaults()
}
