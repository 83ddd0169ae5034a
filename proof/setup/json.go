package setup

import (
	"encoding/json"
	"fmt"

	"firstsheet/proof"
)

// stored is a set-up in a file: words instead of numbers, what is usual left out.
type stored struct {
	Source     string  `json:"source,omitempty"`
	Paper      string  `json:"paper,omitempty"`
	Intent     string  `json:"intent"`
	BPC        bool    `json:"black_point_compensation"`
	White      string  `json:"white"`
	CountWhite bool    `json:"count_paper_white,omitempty"`
	Screen     string  `json:"screen,omitempty"`
	Slips      string  `json:"slips,omitempty"`
	Reads      string  `json:"reads,omitempty"`
	Second     string  `json:"second_intent,omitempty"`
	Other      string  `json:"other_paper,omitempty"`
	Setting    string  `json:"media_setting,omitempty"`
	Mishap     string  `json:"mishap,omitempty"`
	Dim        float64 `json:"dim,omitempty"`
}

// MarshalJSON writes the set-up by words.
func (s Setup) MarshalJSON() ([]byte, error) {
	out := stored{
		Source: s.Source, Paper: s.Paper, Intent: s.Intent.Short(), BPC: s.BPC, White: "screen", CountWhite: s.CountWhite,
		Screen: s.Screen, Slips: s.Slips, Reads: s.Reads, Other: s.Other, Setting: s.Setting, Mishap: s.Mishap, Dim: s.Dim,
	}
	if s.White == proof.PaperWhite {
		out.White = "paper"
	}
	if s.Second != 0 {
		out.Second = s.Second.Short()
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what [Setup.MarshalJSON] wrote.
func (s *Setup) UnmarshalJSON(data []byte) error {
	var in stored
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	out := Setup{
		Source: in.Source, Paper: in.Paper, BPC: in.BPC, CountWhite: in.CountWhite, Screen: in.Screen,
		Slips: in.Slips, Reads: in.Reads, Other: in.Other, Setting: in.Setting, Mishap: in.Mishap, Dim: in.Dim,
	}
	var err error
	if out.Intent, err = proof.ParseIntent(in.Intent); err != nil {
		return err
	}
	if in.Second != "" {
		if out.Second, err = proof.ParseIntent(in.Second); err != nil {
			return err
		}
	}
	switch in.White {
	case "screen":
	case "paper":
		out.White = proof.PaperWhite
	default:
		return fmt.Errorf("setup: the white is %q, not paper or screen", in.White)
	}
	*s = out
	return nil
}
