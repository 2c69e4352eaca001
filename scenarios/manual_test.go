package scenarios_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"twigwatt/scenarios"
)

// manualTable is the manual's table of keys.
func manualTable() string {
	var b strings.Builder
	b.WriteString("| key | unit | default | allowed | meaning; source of the default |\n|---|---|---|---|---|\n")
	const manyWords = 200
	long := map[string]string{} // what is allowed in many words, once
	for _, s := range scenarios.Manual() {
		allowed := s.Allowed()
		if first, seen := long[allowed]; seen {
			allowed = "as `" + first + "`"
		} else if len(allowed) > manyWords {
			long[allowed] = s.Key
		}
		escape := func(text string) string { return strings.ReplaceAll(text, "|", `\|`) }
		fallback := s.Default
		if fallback != "" {
			fallback = "`" + fallback + "`"
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s; %s |\n", s.Key, s.Unit, escape(fallback), escape(allowed), escape(s.Meaning), escape(s.Source))
	}
	return b.String()
}

// TestManualTable holds the table of keys in README.md, beside this file, to the list. To write it anew:
// TWIGWATT_MANUAL=1 go test ./scenarios -run TestManualTable
func TestManualTable(t *testing.T) {
	const name, begin, end = "README.md", "<!-- keys -->\n", "<!-- end of keys -->"
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok1 := strings.Cut(string(text), begin)
	old, after, ok2 := strings.Cut(rest, end)
	if !ok1 || !ok2 {
		t.Fatal("README.md lacks the marks of its table of keys")
	}
	if old == manualTable() {
		return
	}
	if os.Getenv("TWIGWATT_MANUAL") != "1" {
		t.Fatal("the table of keys in README.md is not the list's; to write it anew: TWIGWATT_MANUAL=1 go test ./scenarios -run TestManualTable")
	}
	if err := os.WriteFile(name, []byte(before+begin+manualTable()+end+after), 0o644); err != nil {
		t.Fatal(err)
	}
}
