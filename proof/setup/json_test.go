package setup

import (
	"encoding/json"
	"testing"

	"firstsheet/proof"
)

func TestStored(t *testing.T) {
	for _, s := range []Setup{
		Usual("pearl"), {},
		{Source: "romm", Paper: "a/b.icc", Intent: proof.AbsoluteColorimetric, White: proof.PaperWhite, CountWhite: true, Screen: "displayp3",
			Slips: "twice,otherpaper", Reads: "srgb", Second: proof.Saturation, Other: "cotton", Setting: "gloss", Dim: 0.5},
		{Paper: "pearl", Mishap: "warmlamp"},
	} {
		data, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		var back Setup
		if err := json.Unmarshal(data, &back); err != nil || back != s {
			t.Errorf("%v: %+v, want %+v (%s)", err, back, s, data)
		}
	}
	var s Setup
	for _, text := range []string{`{"intent":"often","white":"paper"}`, `{"intent":"relative","white":"grey"}`, `{"intent":"relative","white":"paper","second_intent":"x"}`, `[]`} {
		if err := json.Unmarshal([]byte(text), &s); err == nil {
			t.Errorf("%s is taken", text)
		}
	}
}
