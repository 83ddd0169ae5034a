// Command collect writes assets/licences/modules.txt: the licence texts of all modules that
// the program is linked from on Linux, Windows and macOS.
package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"firstsheet/assets/licences"
)

func main() {
	all, err := collect()
	if err == nil {
		err = os.WriteFile("modules.txt", []byte(licences.Format(all)), 0o666)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "collect:", err)
		os.Exit(1)
	}
}

// module is a module with the folders of it that are linked.
type module struct {
	name, dir string
	linked    map[string]bool
}

// linked lists the modules of the window and the command on all three systems.
func linked() ([]*module, error) {
	var all []*module
	for _, system := range []string{"linux", "windows", "darwin"} {
		cmd := exec.Command("go", "list", "-deps", "-f",
			"{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}\t{{$.Dir}}{{end}}{{end}}", "firstsheet/app", "firstsheet/app/batch")
		cmd.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=1")
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("go list for %s: %w", system, err)
		}
		for line := range strings.Lines(string(out)) {
			f := strings.Split(strings.TrimSpace(line), "\t")
			if len(f) != 3 {
				continue
			}
			i := slices.IndexFunc(all, func(m *module) bool { return m.name == f[0] })
			if i < 0 {
				i = len(all)
				all = append(all, &module{name: f[0], dir: f[1], linked: map[string]bool{}})
			}
			all[i].linked[f[2]] = true
		}
	}
	slices.SortFunc(all, func(a, b *module) int { return strings.Compare(a.name, b.name) })
	return all, nil
}

var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|unlicense)`)

// files lists a module's licence files: its own, those beside packages that are linked, and
// those beside what is no Go, such as fonts and C.
func (m *module) files() (found []string, err error) {
	err = filepath.WalkDir(m.dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && d.Name() == "testdata" {
			return fs.SkipDir
		}
		dir := filepath.Dir(path)
		if d.IsDir() || !licenceFile.MatchString(d.Name()) {
			return nil
		}
		if goFiles, _ := filepath.Glob(filepath.Join(dir, "*.go")); dir != m.dir && len(goFiles) > 0 && !m.linked[dir] {
			return nil
		}
		found = append(found, path)
		return nil
	})
	if err == nil && len(found) == 0 {
		err = fmt.Errorf("%s has no licence file", m.name)
	}
	return found, err
}

// collect returns the licences, equal texts once.
func collect() ([]licences.Licence, error) {
	modules, err := linked()
	if err != nil {
		return nil, err
	}
	var all []licences.Licence
	for _, m := range modules {
		files, err := m.files()
		if err != nil {
			return nil, err
		}
		own := ""
		for _, path := range files {
			data, err := os.ReadFile(path)
			if err != nil {
				return nil, err
			}
			of := m.name
			if filepath.Dir(path) != m.dir {
				rel, _ := filepath.Rel(m.dir, path)
				of += " (" + filepath.ToSlash(rel) + ")"
			}
			text := tidy(data)
			id := identify(text)
			if own == "" {
				own = id
			}
			if id == "" && strings.HasPrefix(strings.ToUpper(filepath.Base(path)), "NOTICE") {
				id, of = own, m.name+" (NOTICE)" // names the authors, and goes with the licence
			}
			if i := slices.IndexFunc(all, func(l licences.Licence) bool { return l.Text == text }); i >= 0 {
				all[i].Of = append(all[i].Of, of)
				continue
			}
			all = append(all, licences.Licence{ID: id, Of: []string{of}, Text: text})
		}
	}
	return all, nil
}

// tidy drops what editors differ in: carriage returns, blanks at the end of lines.
func tidy(data []byte) string {
	data = bytes.TrimPrefix(bytes.ReplaceAll(data, []byte("\r"), nil), []byte("\ufeff"))
	lines := strings.Split(string(data), "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " \t")
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}

// identify tells a text's SPDX expression by sentences that only it has; "" for one that is
// not known.
func identify(text string) string {
	text = strings.Join(strings.Fields(strings.ReplaceAll(text, "//", " ")), " ")
	has := func(s string) bool { return strings.Contains(strings.ToLower(text), s) }
	var ids []string
	for _, k := range []struct {
		id string
		is bool
	}{
		{"LGPL-3.0-or-later", has("gnu lesser general public license version 3, 29 june 2007")},
		{"Unlicense", has("this is free and unencumbered software released into the public domain")},
		{"Apache-2.0", has("apache license version 2.0, january 2004")},
		{"OFL-1.1", has("sil open font license version 1.1")},
		{"Bitstream-Vera", has("fonts are (c) bitstream")},
		{"MIT", has("permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated") ||
			has("permission is hereby granted, without written agreement and without license or royalty fees")},
		{"ISC", has("permission to use, copy, modify, and/or distribute this software for any purpose")},
		{"Zlib", has("this software is provided 'as-is', without any express or implied warranty")},
		{"BSD-3-Clause", has("redistribution and use in source and binary forms") && (has("neither the name") || has("nor the names"))},
		{"BSD-2-Clause", has("redistribution and use in source and binary forms") && !has("neither the name") && !has("nor the names")},
	} {
		if k.is {
			ids = append(ids, k.id)
		}
	}
	join := " AND "
	if has("under the terms of the unlicense or") {
		join = " OR "
	}
	return strings.Join(ids, join)
}
