package session

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/desk"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
)

// Everything that a person sets comes back through the file.
func TestSavedDeskComesBack(t *testing.T) {
	s := Start("pearl")
	s.Cell = Cell{W: 600, H: 400, Scale: 1, Exact: true}
	s.Picture = PictureInfo{Key: 1, Name: "boat", W: 3000, H: 2000, Channels: 3, Depth: 8, Assumed: "adobe1998"}
	for _, a := range []Action{
		AddSheet{}, AddSheet{}, SetPaper{"washi"}, SetIntent{proof.Saturation}, SetBPC{false},
		SetSlip{setup.Setup{Slips: "twice,otherpaper", Other: "cotton", Second: proof.Saturation}},
		Activate{2}, SetShow{ShowDifference, 3}, SetWhite{proof.ScreenWhite},
		SetLooking{Looking{Overlays: overlay.Of(Bands, "greyed"), NoPins: true, Threshold: 4, CountWhite: true, TooBright: true, Lux: 350, Luminance: 90}},
		PutPin{X: 300, Y: 500, Name: "cap"}, PutPin{X: 2999, Y: 1999, Name: "edge"},
		OneToOne{X: 1000, Y: 900}, SetLight{true}, SetScreenPPI{109.5},
		SetPrint{printfile.Job{Size: printfile.Size{By: printfile.LongEdge, Length: 400}, PPI: 360, Turn: 1, Border: 12.5, Depth: 8,
			Converts: printfile.Later, Driver: printfile.DriverConverts, Sharpen: printfile.Sharpen{On: true, Finish: printfile.Gloss}}},
	} {
		s = Reduce(s, a)
	}
	data, err := json.Marshal(s.Saved("abc"))
	if err != nil {
		t.Fatal(err)
	}
	var fields map[string]any
	if err := json.Unmarshal(data, &fields); err != nil {
		t.Fatal(err)
	}
	fields["format"], fields["version"] = desk.Format, desk.Version
	data, _ = json.Marshal(fields)
	d, err := desk.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	back := Start("pearl")
	back.Cell = s.Cell
	back = Reduce(back, layDesk{desk: d})
	if back.Loading.Demo != true || back.Laid.SHA256 != "abc" {
		t.Errorf("loading %+v, hash %q", back.Loading, back.Laid.SHA256)
	}
	info := s.Picture
	info.Assumed = "srgb" // what the file is taken for without the person's word
	back = Reduce(back, PictureOpened{Serial: back.Loading.Serial, Info: info})
	want, got := s.Choices(), back.Choices()
	want.Desk, got.Desk, want.Default, got.Default = "", "", Sheet{}, Sheet{}
	for i := range want.Sheets {
		if i >= s.Count {
			want.Sheets[i], got.Sheets[i] = Sheet{}, Sheet{}
		}
		if want.Sheets[i].Original {
			// What lies beneath an original is the desk's first proof.
			want.Sheets[i].Setup, got.Sheets[i].Setup = setup.Setup{}, setup.Setup{}
			want.Sheets[i].Chosen, got.Sheets[i].Chosen = false, false
		}
		if !want.Sheets[i].Chosen {
			want.Sheets[i].Slips, got.Sheets[i].Slips = "", "" // the usual one is found anew
		}
	}
	if want != got {
		t.Errorf("the desk came back as\n%+v, want\n%+v", got, want)
	}
	if back.Print != s.Print || back.ScreenPPI != s.ScreenPPI || back.Light != s.Light {
		t.Errorf("print %+v, %g ppi, light %t", back.Print, back.ScreenPPI, back.Light)
	}
	const near = 1e-9 // a fraction of the picture there and back
	if v, w := back.View, s.View; v.Fit != w.Fit || v.Scale != w.Scale || math.Abs(v.CX-w.CX) > near || math.Abs(v.CY-w.CY) > near {
		t.Errorf("view %+v, want %+v", v, w)
	}
}

// A slip that nobody chose follows picture and paper also after the desk was saved with it
// shown; one that was chosen stays.
func TestTheUsualSlipStaysUsual(t *testing.T) {
	s := Start("pearl")
	s.Picture = PictureInfo{Key: 1, Name: "boat", W: 3000, H: 2000, Channels: 3, Depth: 8}
	for _, chosen := range []bool{false, true} {
		a := Action(SetWrong{true})
		if chosen {
			a = SetSlip{setup.Setup{Slips: s.Sheets[s.Active].Slips}}
		}
		now := Reduce(s, a)
		back := Reduce(Start("pearl"), layDesk{desk: now.Saved("")})
		want, got := now.Sheets[now.Active], back.Sheets[back.Active]
		if !got.Wrong || got.Slips != want.Slips || got.Chosen != chosen || back.Default.Chosen != chosen {
			t.Errorf("chosen %t: it comes back as %+v, was %+v, the next is %+v", chosen, got, want, back.Default)
		}
	}
}

// What is no number never gets into State, which would hang the session.
func TestNoNaN(t *testing.T) {
	s := Start("pearl")
	was := s
	j := s.Print
	j.Border = math.NaN()
	if s = Reduce(s, SetPrint{j}); s != was {
		t.Error("a border of NaN is taken")
	}
	if s = Reduce(s, SetScreenPPI{math.NaN()}); s != was {
		t.Error("a screen of NaN ppi is taken")
	}
}

func TestPrintJobRefuses(t *testing.T) {
	s := Start("pearl")
	s.Picture = PictureInfo{Key: 1, W: 30, H: 20, Assumed: "srgb"}
	j, no := s.PrintJob()
	if no != "" || j.Check() != nil || j.Setup.Paper != "pearl" || j.Setup.Source != "" || j.Setup.Slips != "" || j.Setup.Screen != "" {
		t.Errorf("job %+v, refused: %q", j, no)
	}
	s.Picture.Assumed = "adobe1998"
	if j, _ := s.PrintJob(); j.Setup.Source != "adobe1998" {
		t.Errorf("the person's word on the numbers is lost: %+v", j.Setup)
	}
	if _, no := Reduce(s, SetWrong{true}).PrintJob(); !strings.Contains(no, "right way") {
		t.Errorf("a mistake is printed: %q", no)
	}
	if _, no := Reduce(s, Activate{0}).PrintJob(); !strings.Contains(no, "original") {
		t.Errorf("the original is printed: %q", no)
	}
}
