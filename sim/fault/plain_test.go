package fault

import (
	"strings"
	"testing"
)

// TestNothingObeyed: what a terminal would obey, or what would hide in a line, is shown.
func TestNothingObeyed(t *testing.T) {
	for text, want := range map[string]string{
		"home.toml": "home.toml", "Haus am Öhi, 3 m³": "Haus am Öhi, 3 m³",
		"a\x1b[31mred": `a\x1b[31mred`, "two\nlines": `two\nlines`, "turned\u202eback": `turned\u202eback`,
		"line\u2028end": `line\u2028end`, "bell\a": `bell\a`, "a\u00a0b": "a\u00a0b",
	} {
		if got := Plain(text); got != want {
			t.Errorf("%q is shown as %q, want %q", text, got, want)
		}
	}
	f := Fault{File: "x\x1b[2Jy", Line: 3, Key: "k\u202e", Text: "got \x1b]0;title\a"}
	if s := f.String(); strings.ContainsAny(s, "\x1b\a\u202e\n") {
		t.Errorf("%q", s)
	}
	if got := PlainLines("a\x1b\nb\n"); got != "a\\x1b\nb\n" {
		t.Errorf("%q", got)
	}
}
