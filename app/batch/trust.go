package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/trust"
)

// checkProfile says whether a profile can be trusted: a paper's of the library, or that
// in a file, whatever its class.
func checkProfile(ctx context.Context, l *paper.Library, ref string, asJSON bool, out io.Writer) error {
	p, title, err := anyProfile(l, ref)
	if err != nil {
		return err
	}
	r, err := trust.Check(ctx, p, title)
	if err != nil {
		return naming(ref, err)
	}
	if asJSON {
		return writeJSON(out, struct {
			Name    string `json:"name"`
			Profile string `json:"profile_id"`
			trust.Report
		}{p.Name(), p.ID(), r})
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s\n", p.Name(), r.Sentence)
	for _, f := range r.Findings {
		fmt.Fprintf(&b, "%-22s %-10s %s\n", f.Name, f.Verdict, f.Words)
	}
	_, err = io.WriteString(out, b.String())
	return err
}

// anyProfile finds a profile and what it is called by.
func anyProfile(l *paper.Library, ref string) (*proof.Profile, string, error) {
	p, err := find(l, ref)
	if err == nil {
		return p.Profile, p.Name, nil
	}
	file, err := paper.ReadProfile(ref)
	if fe, ok := errors.AsType[*paper.FileError](err); ok && fe.Kind == paper.NotFound && !strings.ContainsAny(ref, `./\`) {
		return nil, "", &paper.UnknownError{Ref: ref}
	}
	return file, filepath.Base(ref), err
}
