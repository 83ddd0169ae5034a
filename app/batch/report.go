package main

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/tableau"
)

// proofReport is the file of figures.
type proofReport struct {
	Picture     pictureReport     `json:"picture"`
	Source      sourceReport      `json:"source"`
	Paper       paperReport       `json:"paper"`
	Screen      string            `json:"screen"`
	Setup       setupReport       `json:"setup"`
	Figures     proof.Figures     `json:"figures"`
	Outside     float64           `json:"out_of_reach"`
	Bands       []bandReport      `json:"bands"`
	Route       []stationReport   `json:"route"`
	Faulty      bool              `json:"faulty"`
	Assumptions []string          `json:"assumptions"`
	Notes       []string          `json:"notes"`
	Definitions map[string]string `json:"definitions"`
	Caution     string            `json:"caution"`
}

type pictureReport struct {
	Path     string `json:"path"`
	Format   string `json:"format"`
	Width    int    `json:"width"`
	Height   int    `json:"height"`
	Channels int    `json:"channels"`
	Depth    int    `json:"bits"`
	Alpha    bool   `json:"alpha"`
}

type sourceReport struct {
	Name string `json:"name"`
	// Origin is "embedded in the file", "named in the file", "given" or "assumed".
	Origin string `json:"origin"`
}

type paperReport struct {
	ID    string  `json:"id"`
	Name  string  `json:"name"`
	White *triple `json:"white,omitempty"`
	Black float64 `json:"black_L"`
	// EightBit says that its tables hide differences of about 1 ΔE00.
	EightBit bool `json:"eight_bit_tables"`
}

type setupReport struct {
	Intent     string   `json:"intent"`
	BPC        bool     `json:"black_point_compensation"`
	White      string   `json:"white"`
	CountWhite bool     `json:"count_paper_white"`
	Slips      []string `json:"slips"`
}

type bandReport struct {
	From  float64 `json:"from"`
	To    float64 `json:"to,omitempty"`
	Share float64 `json:"share"`
	Color string  `json:"map_color,omitempty"`
}

type stationReport struct {
	Kind   string `json:"kind"`
	Title  string `json:"title"`
	Detail string `json:"detail"`
	Space  string `json:"space,omitempty"`
	By     string `json:"by,omitempty"`
	Intent string `json:"intent,omitempty"`
	BPC    *bool  `json:"black_point_compensation,omitempty"`
	Fault  string `json:"fault,omitempty"`
	Why    string `json:"why,omitempty"`
}

// definitions say what the figures are, so that the file can be read alone.
func definitions(countWhite bool) map[string]string {
	look := "the look of the print relative to the paper's white"
	if countWhite {
		look = "the absolute look of the print"
	}
	return map[string]string{
		"dE00":              "CIEDE2000 with kL = kC = kH = 1 (CIE 142-2001) between the original in D50 CIELAB, relative to its white, and " + look,
		"pixels":            "pixels with an alpha above 0; all shares and percentiles are over these",
		"reach_bands":       "shares by CIEDE2000 between the original and itself after B2A1 and A2B1 of the paper, relative colorimetric, without compensation; band edges are 1, 2, 4 and 8; pixels darker than the paper are in none",
		"out_of_reach":      "share in the bands from 2 on",
		"darker_than_paper": "share with an L* below that of the paper's black as the proof shows it: what Lab 0, 0, 0 is printed with, relative to the paper's white",
		"p95_dE00":          "95th percentile by the nearest rank: the smallest difference that 95 percent of the pixels do not exceed",
		"resolution":        "of pictures of more than 131072 pixels a part of the colours goes through the chain in floating point, which stands for all: shares are within some 0.1 points of a hundred of those of every pixel",
	}
}

const caution = tableau.Caution

func (j *proofJob) report() proofReport {
	pic, paper := j.source.Picture, j.meant()
	r := proofReport{
		Picture: pictureReport{j.photo, pic.Format, pic.W, pic.H, pic.Channels, pic.Depth, !j.reading.Opaque()},
		Source:  sourceReport{j.source.Profile.Name(), j.source.Origin.String()},
		Paper:   paperReport{ID: j.flags.paper, Name: paper.Name(), Black: j.blackL, EightBit: j.coarse()},
		Screen:  j.plan.Screen.Name(),
		Setup:   setupReport{j.set.Intent.Short(), j.set.BPC, j.flags.white, j.set.CountWhite, slips(j.set.Slips)},
		Figures: j.found, Outside: j.found.Outside(2), Faulty: j.plan.Route().Faulty(),
		Assumptions: append([]string{}, j.source.Notes...),
		Notes:       append(append([]string{}, j.reading.Notes...), j.plan.Notes()...),
		Definitions: definitions(j.set.CountWhite), Caution: caution,
	}
	if w, ok := paper.MediaWhite(); ok {
		white := lab(w)
		r.Paper.White = &white
	} else {
		r.Assumptions = append(r.Assumptions, paper.Name()+" says no media white point: its paper is taken for a perfect white.")
	}
	if j.screenL > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("The screen's black has an L* of %.1f: everything is scaled to it.", j.screenL))
	}
	if j.coarse() {
		r.Notes = append(r.Notes, paper.Name()+" has tables of 8 bits, which hide differences of about 1: the map starts at 2.")
	}
	r.Bands = j.bands()
	for _, s := range j.plan.Route().Stations {
		r.Route = append(r.Route, station(s))
	}
	return r
}

func slips(list string) []string {
	if list == "" {
		return []string{}
	}
	return strings.Split(list, ",")
}

// meant is the paper that was asked for; with some slips another is printed on.
func (j *proofJob) meant() *proof.Profile {
	if j.plan.Reach != nil {
		return j.plan.Reach
	}
	return j.plan.Paper
}

// coarse reports whether the paper's numbers come from tables of 8 bits.
func (j *proofJob) coarse() bool {
	paper := j.meant()
	tag, _, ok := paper.Table(proof.FromPCS, proof.RelativeColorimetric)
	return ok && paper.File() != nil && paper.File().EightBit(tag)
}

// lowestBand is the ΔE00 from which the map shows bands.
func (j *proofJob) lowestBand() float64 {
	edges := proof.BandEdges()
	if j.coarse() {
		return edges[1]
	}
	return edges[0]
}

func (j *proofJob) bands() []bandReport {
	var out []bandReport
	edges := proof.BandEdges()
	for i, share := range j.found.Reach {
		b := bandReport{Share: share}
		if i > 0 {
			b.From = edges[i-1]
		}
		if i < len(edges) {
			b.To = edges[i]
		}
		if i > 0 && b.From >= j.lowestBand() {
			c := overlay.Tint(i)
			b.Color = fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
		}
		out = append(out, b)
	}
	return out
}

func station(s proof.Station) stationReport {
	kind := [...]string{"file", "conversion", "numbers", "ink", "screen"}[s.Kind]
	r := stationReport{Kind: kind, Title: s.Title, Detail: s.Detail, Space: s.Space, By: s.By, Why: s.Why}
	if s.By != "" {
		r.Intent, r.BPC = s.Intent.Short(), &s.BPC
	}
	if s.Fault != proof.NoFault {
		r.Fault = s.Fault.String()
	}
	return r
}

func writeJSONFile(path string, v any) error {
	var b bytes.Buffer
	if err := writeJSON(&b, v); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o666)
}
