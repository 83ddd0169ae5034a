package view

import (
	"context"

	"firstsheet/app/session"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
)

// sourceOf returns the picture with what a set-up takes its numbers for.
func sourceOf(engine session.Engine, pic *session.Picture, set setup.Setup) (setup.Source, error) {
	if set.Source == "" {
		return pic.Source, nil
	}
	p, err := engine.Finder(pic).Profile(set.Source)
	if err != nil || p.ID() == pic.Source.Profile.ID() {
		return pic.Source, err
	}
	return setup.SourceOf(pic.Source.Picture, p)
}

// preparePrint joins a picture and a job. The caller closes what comes.
func preparePrint(ctx context.Context, engine session.Engine, pic *session.Picture, job printfile.Job) (*printfile.Print, error) {
	source, err := sourceOf(engine, pic, job.Setup)
	if err != nil {
		return nil, err
	}
	return printfile.Prepare(ctx, engine, engine.Finder(pic), source, job)
}
