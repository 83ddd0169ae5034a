package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/pprof"
	"runtime/trace"
)

// record writes what the program does into the folder dir until stop is called: cpu.prof for go
// tool pprof, trace.out for go tool trace. It writes nothing when dir is "".
func record(dir string) (stop func() error, err error) {
	if dir == "" {
		return func() error { return nil }, nil
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("the folder for profiles: %w", err)
	}
	cpu, err := os.Create(filepath.Join(dir, "cpu.prof"))
	if err != nil {
		return nil, fmt.Errorf("the processor's profile: %w", err)
	}
	events, err := os.Create(filepath.Join(dir, "trace.out"))
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the trace: %w", err), cpu.Close())
	}
	if err := errors.Join(pprof.StartCPUProfile(cpu), trace.Start(events)); err != nil {
		return nil, errors.Join(err, cpu.Close(), events.Close())
	}
	return func() error {
		pprof.StopCPUProfile()
		trace.Stop()
		return errors.Join(cpu.Close(), events.Close())
	}, nil
}
