package pin

import (
	"strings"
	"testing"
)

func TestReadListChecksPlaceRadiusAndNumber(t *testing.T) {
	got, err := ReadList([]byte(`[{"name":"hull","x":0.25,"y":1,"radius":0.01},{"name":"sail","x":0,"y":0}]`))
	if err != nil || len(got) != 2 || got[0] != (Pin{"hull", 0.25, 1, 0.01}) || got[1] != (Pin{Name: "sail"}) {
		t.Errorf("%v, %v", got, err)
	}
	for text, says := range map[string]string{
		`{}`: "no list", `[]`: "0 pins", `[{"name":"a","x":1.5,"y":0}]`: `"a" lies at 1.5, 0`,
		`[{"name":"a","x":0.5,"y":-0.1}]`:           "lies at 0.5, -0.1",
		`[{"name":"a","x":0.5,"y":0.5,"radius":3}]`: "radius of 3", `[{"name":"a","x":0.5}]`: "no place",
		"[" + strings.Repeat(`{"x":0,"y":0},`, MaxList) + `{"x":0,"y":0}]`: "65 pins",
		`[{"name":"` + strings.Repeat("n", 201) + `","x":0.5,"y":0.5}]`:    "201 bytes",
	} {
		if _, err := ReadList([]byte(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%.60s: %v, want something of %q", text, err, says)
		}
	}
}
