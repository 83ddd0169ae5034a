package paper

import (
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// cousin is a profile that prints as FOGRA39L does, of another day: its name is the same.
func cousin(t *testing.T, day uint16) []byte {
	t.Helper()
	data := append([]byte(nil), realProfile(t, "FOGRA39L_coated.icc").Data()...)
	for i, v := range []uint16{2024, 5, day, 12, 0, 0} {
		binary.BigEndian.PutUint16(data[24+2*i:], v)
	}
	return data
}

func namesOf(l *Library) (names []string) {
	list, _ := l.List()
	for _, p := range list {
		names = append(names, p.Name)
	}
	return names
}

func mustAdd(t *testing.T, l *Library, data []byte) Paper {
	t.Helper()
	p, err := l.AddBytes("a.icc", data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPapersOfOneNameAreToldApart(t *testing.T) {
	l := Open(t.TempDir())
	a := mustAdd(t, l, cousin(t, 1))
	own := a.Name
	if own == "" || strings.Contains(own, "(") {
		t.Fatalf("alone it is called %q", own)
	}
	b := mustAdd(t, l, cousin(t, 2))
	if b.Name != own+" (2024-05-02)" || b.Profile.Name() != b.Name {
		t.Errorf("the second is called %q, its profile %q", b.Name, b.Profile.Name())
	}
	if a, _ = l.Resolve(a.ID); a.Name != own+" (2024-05-01)" {
		t.Errorf("the first is now called %q", a.Name)
	}
	// The media setting says more than the day.
	for id, media := range map[string]string{a.ID: "Thick", b.ID: "Thin"} {
		if err := l.SetCard(id, Card{Media: media}); err != nil {
			t.Fatal(err)
		}
	}
	if a, _ = l.Resolve(a.ID); a.Name != own+" (Thick)" || a.Detail() != "Thick, 2024-05-01" {
		t.Errorf("by setting: %q, %q", a.Name, a.Detail())
	}
	// With all alike their IDs are left.
	for _, id := range []string{a.ID, b.ID} {
		if err := l.SetCard(id, Card{Media: "Thick", Date: "2024-01-01"}); err != nil {
			t.Fatal(err)
		}
	}
	if b, _ = l.Resolve(b.ID); b.Name != own+" ("+b.ID+")" {
		t.Errorf("by ID: %q", b.Name)
	}
	// A name of one's own, in any script, ends it; a built-in paper takes one too.
	if err := l.SetCard(b.ID, Card{Name: "和紙 Büttenpapier"}); err != nil {
		t.Fatal(err)
	}
	if err := l.SetCard("pearl", Card{Name: own}); err != nil {
		t.Fatal(err)
	}
	if b, _ = l.Resolve(b.ID); b.Name != "和紙 Büttenpapier" || b.Profile.Name() != b.Name || b.Profile.ID() != mustID(t, cousin(t, 2)) {
		t.Errorf("renamed: %q, profile %q", b.Name, b.Profile.Name())
	}
	if a, _ = l.Resolve(a.ID); a.Name != own+" (Thick)" {
		t.Errorf("beside a built-in paper of its name: %q", a.Name)
	}
}

func mustID(t *testing.T, data []byte) string {
	t.Helper()
	l := Open(t.TempDir())
	return mustAdd(t, l, data).Profile.ID()
}

func TestPapersAreOrderedAndGrouped(t *testing.T) {
	dir := t.TempDir()
	l := Open(dir)
	before := namesOf(l)
	if len(before) < 4 {
		t.Fatalf("only %v", before)
	}
	list, _ := l.List()
	id := func(i int) string { return list[i].ID }
	if err := l.Move(id(2), -2); err != nil {
		t.Fatal(err)
	}
	want := append([]string{before[2], before[0], before[1]}, before[3:]...)
	if got := namesOf(Open(dir)); !reflect.DeepEqual(got, want) {
		t.Errorf("moved to the top: %v, want %v", got, want)
	}
	if err := l.Move(id(2), 1000); err != nil {
		t.Fatal(err)
	}
	if got := namesOf(l); got[len(got)-1] != before[2] {
		t.Errorf("moved to the end: %v", got)
	}
	// A group stands where its first paper does, and moves as one.
	for _, i := range []int{0, 3} {
		if err := l.SetCard(id(i), Card{Group: []string{"Albums", "", "", "albums "}[i]}); err != nil {
			t.Fatal(err)
		}
	}
	if got := namesOf(l); got[0] != before[0] || got[1] != before[3] {
		t.Errorf("grouped: %v", got)
	}
	if err := l.Move(id(3), 1); err != nil {
		t.Fatal(err)
	}
	if got := namesOf(l); got[len(got)-2] != before[0] || got[len(got)-1] != before[3] {
		t.Errorf("the group at the end: %v", got)
	}
	var unknown *UnknownError
	if err := l.Move("nowhere", 1); !errors.As(err, &unknown) {
		t.Errorf("moving nothing: %v", err)
	}
	// A spoilt order is told; the papers are all there.
	if err := os.WriteFile(filepath.Join(dir, "order.json"), []byte("?"), 0o644); err != nil {
		t.Fatal(err)
	}
	if list, problems := l.List(); len(list) != len(before) || len(problems) != 1 {
		t.Errorf("%d papers, problems %v", len(list), problems)
	}
}

func TestAPaperComesBack(t *testing.T) {
	dir := t.TempDir()
	l := Open(dir)
	p := mustAdd(t, l, cousin(t, 1))
	card := Card{Name: "Sunday", Notes: "batch 7"}
	if err := l.SetCard(p.ID, card); err != nil {
		t.Fatal(err)
	}
	note(t, l, p.ID, Reading{Date: "2025-01-31", Patches: 48})
	gone, err := l.Remove(p.ID)
	if err != nil || gone.Name != "Sunday" {
		t.Fatalf("%+v, %v", gone, err)
	}
	if _, err := l.Resolve(p.ID); err == nil {
		t.Error("it is still there")
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("the folder still holds %v", left)
	}
	list := Open(dir).Removed()
	if len(list) != 1 || list[0].Folder != gone.Folder || list[0].Name != "Sunday" {
		t.Fatalf("taken away: %+v", list)
	}
	q, err := l.Restore(gone.Folder)
	if err != nil || q.ID != p.ID || q.Card != card || q.Name != "Sunday" {
		t.Fatalf("brought back: %+v, %v", q, err)
	}
	if got, err := l.Readings(p.ID); err != nil || len(got) != 1 {
		t.Errorf("its readings: %v, %v", got, err)
	}
	if len(l.Removed()) != 0 {
		t.Errorf("still told as taken away: %+v", l.Removed())
	}
	// The same profile was added meanwhile; another has its ID.
	if gone, err = l.Remove(p.ID); err != nil {
		t.Fatal(err)
	}
	mustAdd(t, l, cousin(t, 1))
	var twin *DuplicateError
	if _, err := l.Restore(gone.Folder); !errors.As(err, &twin) {
		t.Errorf("beside its twin: %v", err)
	}
	if _, err := l.Remove(p.ID); err != nil {
		t.Fatal(err)
	}
	other := mustAdd(t, l, cousin(t, 2))
	if q, err = l.Restore(gone.Folder); err != nil || q.ID == other.ID || q.Card != card {
		t.Errorf("beside another of its ID %q: %+v, %v", other.ID, q, err)
	}
	var unknown *UnknownError
	for _, bad := range []string{"", "nowhere", "../" + gone.Folder} {
		if _, err := l.Restore(bad); !errors.As(err, &unknown) {
			t.Errorf("Restore(%q): %v", bad, err)
		}
	}
	// After 30 days it goes for good, at the next removal.
	old := filepath.Join(dir, removedFolder, "20200101-000000.000 old.icc")
	if err := os.MkdirAll(old, 0o755); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Remove(other.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(old); err == nil {
		t.Error("what was taken away long ago is still there")
	}
}
