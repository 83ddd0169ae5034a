package view

import (
	"context"
	"errors"
	"io/fs"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof/aside"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
)

// paperTold turns an error of the cards about papers into sentences.
func paperTold(err error) string {
	var fault *chart.Fault
	var form *chart.FormatError
	var file *paper.FileError
	var path *fs.PathError
	var whole *aside.Error
	var twin *paper.DuplicateError
	switch {
	case errors.Is(err, context.Canceled):
		return "Stopped."
	case errors.As(err, &twin):
		return "You already have this profile: it is ‘" + twin.Existing.Name + "’."
	case errors.As(err, &fault):
		return asText(session.Explain(fault.Err, fault.Path))
	case errors.As(err, &form):
		n := session.Explain(err, "")
		return "The measurements" + strings.TrimPrefix(n.Headline, "this file")
	case errors.As(err, &file):
		return asText(session.Explain(err, file.Path))
	case errors.As(err, &whole):
		return placeTold(whole.Path, whole.Err)
	case errors.As(err, &path):
		return placeTold(path.Path, path.Err)
	}
	s := err.Error()
	for _, p := range []string{"chart: ", "paper: "} {
		s = strings.TrimPrefix(s, p)
	}
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

func asText(n session.Notice) string {
	return strings.TrimSpace(n.Headline + " " + n.Hint)
}

// placeTold says what is wrong with a file or folder that is to be written to.
func placeTold(path string, err error) string {
	name := "‘" + path + "’"
	switch {
	case errors.Is(err, fs.ErrPermission):
		return name + " may not be written to. Choose another folder."
	case errors.Is(err, fs.ErrNotExist):
		return name + " is not there."
	}
	return name + ": " + err.Error() + "."
}
