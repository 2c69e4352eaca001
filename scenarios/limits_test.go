package scenarios_test

import (
	"strings"
	"testing"
	"time"
)

// TestWhatIsNestedDeepIsRefusedAtOnce: before the TOML library sees it, wherever a comment, a quote or
// a line's end stand; and what is wrong is said in few letters.
func TestWhatIsNestedDeepIsRefusedAtOnce(t *testing.T) {
	deepKey := strings.Repeat("a.", 5000) + "a = 1\n"
	for reason, text := range map[string]string{
		"after quotes in a comment":        "x = 1 # \"\"\"\n" + deepKey,
		"after an apostrophe in a comment": "x = 1 # it's '''\n" + deepKey,
		"a table in a table, line by line": "z={\n" + strings.Repeat("a={\n", 3000),
		"lists in lists, line by line":     "z=" + strings.Repeat("[\n", 3000),
		"a key within a table":             "z = {" + strings.Repeat("a.", 5000) + "a = 1}\n",
		"after a quote that never ends":    "x = \"\n" + deepKey,
		"a table's name":                   "[" + strings.Repeat("a.", 5000) + "a]\n",
		"after a text of several lines":    "x = \"\"\"\n#\n\"\"\"\n" + deepKey,
	} {
		begun := time.Now()
		_, err := readText(text, nil)
		if err == nil || !strings.Contains(err.Error(), "must be nested no more than 16 deep") {
			t.Errorf("%s: %.200v", reason, err)
		}
		if took := time.Since(begun); took > 2*time.Second {
			t.Errorf("%s: %v", reason, took)
		}
	}
	sound := "name = \"a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s [[[[[[[[[[[[[[[[[[[[[[\" # [[[[[[[[[[[[[[[[[[[[[[\n[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n"
	if _, err := readText(sound, nil); err != nil {
		t.Errorf("dots and brackets in quotes and comments: %v", err)
	}
	if _, err := readText(strings.Repeat("x", 900_000)+" = 1\n", nil); err == nil || len(err.Error()) > 4000 {
		t.Errorf("a long key is echoed in %d letters", len(err.Error()))
	}
}

// TestChoresAreAsManyAsAHouseholdDoes: thirty a day, whatever their names.
func TestChoresAreAsManyAsAHouseholdDoes(t *testing.T) {
	home := func(times string) string {
		var b strings.Builder
		b.WriteString("[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n")
		for i := range 30 {
			b.WriteString("[load.chore.c" + string(rune('a'+i%26)) + string(rune('a'+i/26)) + "]\nkw = 1\nkwh = 0.1\ntimes_per_week = " + times + "\n")
		}
		return b.String()
	}
	if _, err := readText(home("7"), nil); err != nil {
		t.Error(err)
	}
	if _, err := readText(home("70"), nil); err == nil || !strings.Contains(err.Error(), "load.chore: must be wanted at most 210 times a week, all chores together, got 2100") {
		t.Errorf("%v", err)
	}
}
