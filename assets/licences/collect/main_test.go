package main

import (
	"os"
	"slices"
	"strings"
	"testing"

	"firstsheet/assets/licences"
)

// allowed are the licences that a program may be given away under without opening its own
// source or asking anyone: each asks for no more than its text beside the program.
var allowed = []string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "Bitstream-Vera", "IJG", "ISC", "MIT", "OFL-1.1", "Unlicense", "Zlib"}

// exchangeable are works under the LGPL: who gives the program away lets others exchange
// them, by its source, or leaves them out.
var exchangeable = map[string]string{
	"libde265": "decodes HEIC, as WebAssembly that proof/coded/build makes anew; left out by the build tag noheic",
}

func permitted(id string) bool {
	parts := strings.FieldsFunc(strings.NewReplacer(" AND ", "|", " OR ", "|").Replace(id), func(r rune) bool { return r == '|' })
	return len(parts) > 0 && !slices.ContainsFunc(parts, func(p string) bool { return !slices.Contains(allowed, p) })
}

func isExchangeable(l licences.Licence) bool {
	return strings.HasPrefix(l.ID, "LGPL-3.0-or-later") && !slices.ContainsFunc(l.Of, func(of string) bool {
		module, _, _ := strings.Cut(of, " ")
		return exchangeable[module] == ""
	})
}

func TestEveryModuleIsUnderALicenceThatIsAllowed(t *testing.T) {
	found, err := collect()
	if err != nil {
		t.Fatal(err)
	}
	if len(found) < 15 {
		t.Fatalf("only %d licences were found", len(found))
	}
	for _, l := range found {
		if !permitted(l.ID) && !isExchangeable(l) {
			t.Errorf("%s: licence %q is not on the list of those that are allowed", strings.Join(l.Of, ", "), l.ID)
		}
	}
	shipped, err := os.ReadFile("../modules.txt")
	if err != nil {
		t.Fatal(err)
	}
	if string(shipped) != licences.Format(found) {
		t.Error("the licences that ship are not those of the modules: run go generate ./assets/licences")
	}
}

func TestWhatShipsIsReadBack(t *testing.T) {
	all := licences.All()
	var of []string
	for _, l := range all {
		if !permitted(l.ID) && !isExchangeable(l) || len(l.Text) < 500 && !strings.HasSuffix(l.Of[0], "(NOTICE)") {
			t.Errorf("%s: %q, %d bytes", l.Of, l.ID, len(l.Text))
		}
		of = append(of, l.Of...)
	}
	for _, want := range []string{"the Go library", "Little CMS", "libjpeg-turbo", "libde265", "musl", "fyne.io/fyne/v2 v"} {
		if !slices.ContainsFunc(of, func(s string) bool { return strings.HasPrefix(s, want) }) {
			t.Errorf("%s is not among %d works", want, len(of))
		}
	}
}

func TestIdentify(t *testing.T) {
	for text, want := range map[string]string{
		"GNU GENERAL PUBLIC LICENSE Version 3, 29 June 2007":          "",
		"GNU LESSER GENERAL PUBLIC LICENSE\n Version 3, 29 June 2007": "LGPL-3.0-or-later",
		"All rights reserved.":                                                                                       "",
		"Apache License\n\n      Version 2.0, January 2004":                                                          "Apache-2.0",
		"Redistribution and use in source and\nbinary forms, with or without modification":                           "BSD-2-Clause",
		"// Redistribution and use in source\n// and binary forms ... nor the names of its contributors may be used": "BSD-3-Clause",
	} {
		if got := identify(text); got != want {
			t.Errorf("%q is taken for %q, want %q", text, got, want)
		}
	}
	if permitted("") || permitted("MIT AND GPL-3.0-only") || !permitted("Unlicense OR BSD-3-Clause") {
		t.Error("the list does not allow what it should")
	}
}
