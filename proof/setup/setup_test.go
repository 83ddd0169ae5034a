package setup

import (
	"errors"
	"os"
	"reflect"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

const profiles = "../../testdata/cache/profiles/"

func files(t *testing.T) Files {
	t.Helper()
	return Files{Library: paper.Open(t.TempDir()), Picture: proof.SpaceProfile(space.SRGB())}
}

// A right plan has one conversion, by the intent and compensation that were chosen.
func TestRightPlan(t *testing.T) {
	s := Usual("pearl")
	s.Source, s.Screen, s.White, s.CountWhite = "romm", "displayp3", proof.PaperWhite, true
	p, err := s.Plan(files(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Conversions) != 1 || p.Paper.Name() != "Pearl" || p.Source.Name() != "ROMM RGB" || p.Screen.Name() != "Display P3" ||
		p.White != proof.PaperWhite || !p.CountWhite || p.Route().Faulty() {
		t.Errorf("plan\n%s", p)
	}
	if c := p.Conversions[0]; c.Intent != proof.RelativeColorimetric || !c.BPC || c.From != p.Source || c.To != p.Paper {
		t.Errorf("conversion %+v", c)
	}
	// Without a paper it is the original.
	if p, err = (Setup{}).Plan(files(t)); err != nil || p.Paper != nil || p.Source.Name() != "sRGB" || p.Screen.Name() != "sRGB" {
		t.Errorf("the original: %v\n%s", err, p)
	}
	if a, b := Usual("pearl"), Usual("pearl"); a != b {
		t.Error("equal choices are not equal")
	}
}

// Every slip can be made by its name, alone, and is seen in the route.
func TestEverySlip(t *testing.T) {
	for _, m := range slip.All() {
		s := Usual("pearl")
		s.Slips, s.Reads, s.Other = m.ID, "adobe1998", "cotton"
		p, err := s.Plan(files(t))
		if err != nil {
			t.Errorf("%s: %v", m.ID, err)
			continue
		}
		if !p.Route().Faulty() {
			t.Errorf("%s leaves the route as it should be:\n%s", m.ID, p)
		}
	}
	s := Usual("pearl")
	s.Slips, s.Other, s.Second = "twice,otherpaper", "cotton", proof.Saturation
	p, err := s.Plan(files(t))
	if err != nil || len(p.Conversions) != 2 || p.Conversions[1].To.Name() != "Cotton Matte" || p.Conversions[1].Intent != proof.Saturation {
		t.Errorf("two at once: %v\n%s", err, p)
	}
	s = Usual("pearl")
	s.Slips, s.Setting = "wrongsetting", "gloss"
	if p, err = s.Plan(files(t)); err != nil || p.Setting != "Coated gloss" {
		t.Errorf("setting %q, %v", p.Setting, err)
	}
}

// What cannot be is refused by what the person named.
func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		change func(*Setup)
		says   string
		plan   bool // an impossible plan, not a bad file
	}{
		{func(s *Setup) { s.Source = "nosuch" }, "nosuch", true},
		{func(s *Setup) { s.Paper = "nosuch" }, "nosuch", false},
		{func(s *Setup) { s.Source = profiles + "Crayons.icc" }, "Crayons.icc", false},
		{func(s *Setup) { s.Screen = profiles + "cmyk.icc" }, "cmyk.icc", false},
		{func(s *Setup) { s.Screen = profiles + "default_gray.icc" }, "default_gray.icc", false},
		{func(s *Setup) { s.Slips, s.Reads = "wrongsource", profiles+"Crayons.icc" }, "Crayons.icc", false},
		{func(s *Setup) { s.Slips, s.Other = "otherpaper", profiles+"sRGB.icc" }, "sRGB.icc", false},
		{func(s *Setup) { s.Slips = "often" }, "often", true},
		{func(s *Setup) { s.Slips, s.Setting = "wrongsetting", "none" }, "none", true},
		{func(s *Setup) { s.Source = t.TempDir() }, "folder", false},
	} {
		s := Usual("pearl")
		c.change(&s)
		_, err := s.Plan(files(t))
		if err == nil || !strings.Contains(err.Error(), c.says) || errors.Is(err, proof.ErrPlan) != c.plan {
			t.Errorf("%+v: %v, want it to say %q", s, err, c.says)
		}
	}
	if _, err := (Files{}).Profile(""); !errors.Is(err, proof.ErrPlan) {
		t.Errorf("numbers of no picture: %v", err)
	}
}

func TestSourceOf(t *testing.T) {
	read := func(name string) []byte {
		data, err := os.ReadFile(profiles + name)
		if err != nil {
			t.Fatalf("%v (run testdata/fetch.sh)", err)
		}
		return data
	}
	grey, err := paper.ReadProfile(profiles + "default_gray.icc")
	if err != nil {
		t.Fatal(err)
	}
	p3, _ := space.ByID("displayp3")
	romm, _ := space.ByID("romm")
	inkData := read("default_cmyk.icc")
	inkProfile, err := proof.NewProfile("", inkData)
	if err != nil {
		t.Fatal(err)
	}
	one := func(channels int) photo.Picture {
		return photo.Picture{W: 1, H: 1, Channels: channels, Depth: 8, Pix8: make([]uint8, channels)}
	}
	with := func(channels int, change func(*photo.Picture)) photo.Picture {
		p := one(channels)
		change(&p)
		return p
	}
	for name, c := range map[string]struct {
		pic      photo.Picture
		given    *proof.Profile
		origin   Origin
		source   string
		channels int
		notes    int
	}{
		"nothing said":            {one(3), nil, Assumed, "sRGB", 3, 1},
		"grey, nothing said":      {one(1), nil, Assumed, "sRGB", 3, 1},
		"embedded":                {with(3, func(p *photo.Picture) { p.ICC = romm.ICC() }), nil, Embedded, "ROMM RGB", 3, 0},
		"grey embedded":           {with(1, func(p *photo.Picture) { p.ICC = grey.Data() }), nil, Embedded, grey.Name(), 1, 0},
		"named":                   {with(3, func(p *photo.Picture) { p.Space = &p3 }), nil, Named, "Display P3", 3, 0},
		"grey, named":             {with(1, func(p *photo.Picture) { p.Space = &p3 }), nil, Named, "Display P3", 3, 0},
		"given before embedded":   {with(3, func(p *photo.Picture) { p.ICC = romm.ICC() }), proof.SpaceProfile(p3), Given, "Display P3", 3, 0},
		"embedded is damaged":     {with(3, func(p *photo.Picture) { p.ICC = romm.ICC()[:200] }), nil, Assumed, "sRGB", 3, 2},
		"embedded device link":    {with(3, func(p *photo.Picture) { p.ICC = class(romm.ICC(), "link") }), nil, Assumed, "sRGB", 3, 2},
		"inks embedded":           {with(4, func(p *photo.Picture) { p.ICC = inkData }), nil, Embedded, inkProfile.Name(), 4, 0},
		"grey numbers, given RGB": {one(1), proof.SpaceProfile(romm), Given, "ROMM RGB", 3, 0},
	} {
		s, err := SourceOf(&c.pic, c.given)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if s.Origin != c.origin || s.Picture.Channels != c.channels || s.Pixels().Channels != c.channels || len(s.Notes) != c.notes {
			t.Errorf("%s: %s, %d channels, notes %q", name, s.Origin, s.Picture.Channels, s.Notes)
		}
		if s.Profile.Name() != c.source {
			t.Errorf("%s: source %q, want %q", name, s.Profile.Name(), c.source)
		}
	}
	inks := one(4)
	inks.Path = "inks.tif"
	_, err = SourceOf(&inks, nil)
	if e, ok := errors.AsType[*photo.Error](err); !ok || e.Path != "inks.tif" || e.Kind != photo.Unsupported {
		t.Errorf("inks without a profile: %v", err)
	}
	rgb := one(3)
	for _, wrong := range []*proof.Profile{grey} {
		_, err := SourceOf(&rgb, wrong)
		if e, ok := errors.AsType[*proof.ProfileError](err); !ok || e.Kind != proof.WrongChannels {
			t.Errorf("RGB numbers taken for grey: %v", err)
		}
	}
	if !reflect.DeepEqual(rgb, one(3)) {
		t.Error("the picture that was asked about has changed")
	}
}

func class(data []byte, name string) []byte {
	out := append([]byte(nil), data...)
	copy(out[12:], name)
	return out
}
