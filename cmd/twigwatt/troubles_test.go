package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// troubled is the household of testdata/troubles.table before anything ails it.
const troubled = `start = 2025-12-01
days = 60
step_minutes = 60
[load]
kwh_per_day = 6
[engine]
kw = 3
[tending]
max_hours_a_day = 7
[battery]
kwh = 16
room_c = 15
`

// TestDoNamesTheTrouble holds a table of made-up troubles against what the year says to DO: the
// line must name the trouble, and none may blame what is not its cause or ask for what is barred.
func TestDoNamesTheTrouble(t *testing.T) {
	table, err := os.ReadFile("testdata/troubles.table")
	if err != nil {
		t.Fatal(err)
	}
	home := filepath.Join(t.TempDir(), "home.toml")
	if err := os.WriteFile(home, []byte(troubled), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, row := range strings.Split(strings.TrimSpace(string(table)), "\n") {
		if strings.HasPrefix(row, "#") {
			continue
		}
		cells := strings.SplitN(row, " | ", 4)
		t.Run(cells[0], func(t *testing.T) {
			args := []string{"year", home, "--no-report"}
			for _, assignment := range strings.Fields(cells[1]) {
				args = append(args, "--set", assignment)
			}
			var out, errs bytes.Buffer
			if code := run(context.Background(), args, &out, &errs); code != 0 {
				t.Fatalf("exit %d: %s", code, errs.String())
			}
			todo := todoOf(out.String())
			if cells[2] != "-" && !regexp.MustCompile(cells[2]).MatchString(todo) {
				t.Errorf("DO does not name it: want %q, got\n%s", cells[2], todo)
			}
			if cells[3] == "DO" && todo != "" || cells[3] != "DO" && regexp.MustCompile(cells[3]).MatchString(todo) {
				t.Errorf("DO says what it must not (%s):\n%s", cells[3], todo)
			}
			t.Log(todo)
		})
	}
}

// todoOf is the DO lines of a report, each whole on a line of its own.
func todoOf(text string) string {
	var lines []string
	follows := false
	for _, line := range strings.Split(text, "\n") {
		switch {
		case strings.HasPrefix(line, "DO "):
			lines, follows = append(lines, strings.TrimSpace(line[2:])), true
		case follows && strings.HasPrefix(line, "       "):
			lines[len(lines)-1] += " " + strings.TrimSpace(line)
		default:
			follows = false
		}
	}
	return strings.Join(lines, "\n")
}
