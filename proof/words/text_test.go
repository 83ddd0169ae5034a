package words

import "testing"

// Sequences of ECMA-48 and marks of the Unicode Bidirectional Algorithm (UAX #9, 2.7),
// from memory.
func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"Pearl 310":                                               "Pearl 310",
		"two\nlines\r\n and\ta tab":                               "two lines and a tab",
		"\x1b[31;1mred\x1b[0m":                                    "red",
		"\x1b]0;title\x07after":                                   "after",
		"\x1b]8;;http://a\x1b\\link\x1b]8;;\x1b\\":                "link",
		"\u009b2Jcleared":                                         "cleared",
		"\x1bc reset":                                             "reset",
		"bell\x07 null\x00 delete\x7f":                            "bell null delete",
		"\u202egnp.exe\u202c \u2066x\u2069 \u200f\ufeff":          "gnp.exe x",
		"B\u00fcttenpapier \u7d19 \u0627\u0644\u0648\u0631\u0642": "B\u00fcttenpapier \u7d19 \u0627\u0644\u0648\u0631\u0642",
		"\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645":        "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",
		"bad\xffbyte":                                             "bad\ufffdbyte",
		"line\u2028separator":                                     "line separator",
	} {
		if got := Clean(in, 0); got != want {
			t.Errorf("Clean(%q) = %q, want %q", in, got, want)
		}
	}
	if got := Clean("one two three", 8); got != "one two…" {
		t.Errorf("cut to 8 it is %q", got)
	}
	if got := Clean("12345678", 8); got != "12345678" {
		t.Errorf("8 of 8 became %q", got)
	}
}

func TestAboutShare(t *testing.T) {
	for v, want := range map[float64]string{0: "under 2 %", 0.0199: "under 2 %", 0.02: "about 2 %", 0.234: "about 23 %", 0.98: "about 98 %", 0.995: "over 98 %"} {
		if got := AboutShare(v); got != want {
			t.Errorf("%g is %q, want %q", v, got, want)
		}
	}
}
