package main

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

const soundHome = "[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n[plan]\nby = \"same-hours\"\n"

// abuseFiles are the files that the cases of testdata/abuse.table name.
func abuseFiles() map[string]string {
	homeWithLoad := func(file string) string {
		return strings.Replace(soundHome, "kwh_per_day = 5", "file = \""+file+"\"", 1)
	}
	const header = "date,start,stop\n"
	return map[string]string{
		// scenarios
		"home.toml":     soundHome,
		"chores.toml":   strings.Replace(soundHome, "same-hours", "chosen", 1) + "[load.chore.washing]\nkwh = 1\nkw = 0.5\n",
		"empty.toml":    "",
		"comments.toml": "# nothing\n\n",
		"garbage.toml":  "\x00\x01\xff\xfe",
		"utf16.toml":    "\xff\xfe[\x00l\x00",
		"deep.toml":     "x = " + strings.Repeat("{a=", 500) + "1" + strings.Repeat("}", 500),
		"long.toml":     "name = \"" + strings.Repeat("a", 1<<20) + "\"\n",
		"twice.toml":    "days = 1\ndays = 2\n" + soundHome,
		"huge.toml":     "days = 99999999999999999999\n" + soundHome,
		"keys.toml":     keysText(5000) + soundHome,
		"table.toml":    soundHome + "[load.appliance]\nwatts = 5\n",
		"quoted.toml":   "\"engine.kw\" = 9\n" + soundHome,
		"crlf.toml":     strings.ReplaceAll("\ufeff"+soundHome, "\n", "\r\n"),
		"loadless.toml": homeWithLoad("none.csv"),
		"loadbad.toml":  homeWithLoad("bad.csv"),
		"loadhuge.toml": homeWithLoad("huge.csv"),
		"loadself.toml": homeWithLoad("loadself.toml"),
		"loaddir.toml":  homeWithLoad("folder"),
		"loadurl.toml":  homeWithLoad("http://example.com/x.csv"),
		"loadline.toml": homeWithLoad("line.csv"),
		// measured loads
		"bad.csv":  "time,kw\n2025-01-01T00:00,0.1\n2025-01-01T00:30,\"0,2\"\n",
		"huge.csv": "time,kw\n2025-01-01T00:00,1e300\n",
		"line.csv": strings.Repeat("0", 100_000),
		// files of calc
		"one.txt":   "1\n",
		"words.txt": "1\nx\n",
		"inf.txt":   "1\nInf\n",
		"over.txt":  "1e308\n-1e308\n",
		"wide.txt":  strings.Repeat("9", 70_000),
		"fall.csv":  "hours,amp_hours\n1,70\n5,50\n20,40\n",
		"same.csv":  "hours,amp_hours\n1,5\n1,5\n1,5\n",
		"cols.csv":  "hours,amp_hours\n1\n",
		"quote.csv": "hours,amp_hours\n1,\"5\n",
		// diaries
		"runs.csv":      header + "2025-01-02,10:00,12:00\n",
		"badruns.csv":   header + "2025-01-02,12:00,10:00\n2025-02-30,10:00,11:00\n",
		"quoteruns.csv": "date,start,stop,note\n2025-01-02,10:00,12:00,a\"b\n",
		"wrong.csv":     "date,start,stop,kilos\n2026-01-14,16:30,21:00,18.4\n",
		// not of this program
		"foreign.html": "<!DOCTYPE html>\n<html>mine</html>\n",
		"foreign.csv":  "a,b\n",
	}
}

func keysText(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%d = 1\n", i)
	}
	return b.String()
}

// An abuse is a wrong use: a line of testdata/abuse.table.
type abuse struct {
	code, faults int
	args, says   string
}

func readAbuses(t *testing.T) []abuse {
	text, err := os.ReadFile("testdata/abuse.table")
	if err != nil {
		t.Fatal(err)
	}
	var all []abuse
	for _, m := range regexp.MustCompile(`(?m)^(\d+) (\d+)  (.+?)  =>(?:  (.*))?$`).FindAllStringSubmatch(string(text), -1) {
		code, _ := strconv.Atoi(m[1])
		faults, _ := strconv.Atoi(m[2])
		all = append(all, abuse{code, faults, m[3], m[4]})
	}
	const atLeast = 150
	if len(all) < atLeast {
		t.Fatalf("%d cases read: has the table changed its form?", len(all))
	}
	return all
}

// ofGo is what a household should never be shown.
var ofGo = regexp.MustCompile(`\b(u?int(8|16|32|64)?|float64|bool|struct|nil|interface|strconv|bufio|runtime|` +
	`goroutine|panic|EOF|errno)\b[. :]|%!|0x[0-9a-f]{6}|parse error|invalid syntax|\bopen |\bstat |\bread [./]|` +
	`\bwrite [./]|[^"]Inf\b`)

// Wrong use and bad files: each fault is one line on standard error that says what is
// allowed, with the exit code of the manual, and nothing is written or left behind.
func TestBadInput(t *testing.T) {
	cases := readAbuses(t)
	t.Chdir(t.TempDir())
	for name, text := range abuseFiles() {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir("folder", 0o755); err != nil {
		t.Fatal(err)
	}
	longAgo := time.Now().Add(-time.Hour) // so that whatever is written shows by its time
	for name := range abuseFiles() {
		if err := os.Chtimes(name, longAgo, longAgo); err != nil {
			t.Fatal(err)
		}
	}
	before := filesHere(t)
	for _, c := range cases {
		t.Run(c.args, func(t *testing.T) {
			var stdout, stderr bytes.Buffer
			code := run(context.Background(), append(strings.Fields(c.args), fast(c.args)...), &stdout, &stderr)
			faults := faultsOf(stderr.String())
			if code != c.code || len(faults) != c.faults || !strings.Contains(stderr.String(), c.says) {
				t.Errorf("exit code %d, want %d; %d faults, want %d and %q:\n%s",
					code, c.code, len(faults), c.faults, c.says, stderr.String())
			}
			for _, fault := range faults {
				if ofGo.MatchString(fault) || len(fault) > 600 {
					t.Errorf("not the household's words: %s", fault)
				}
			}
			if strings.Contains(stdout.String(), "Inf") || strings.Contains(stdout.String(), "NaN") {
				t.Errorf("no number among the answers:\n%s", stdout.String())
			}
			if answersStand(c) != (stdout.Len() > 0) {
				t.Errorf("%d bytes of answers", stdout.Len())
			}
			if err := os.Remove("twigwatt-report.html"); err == nil && c.code == exitUsage && !answersStand(c) {
				t.Error("a page was written")
			}
			if now := filesHere(t); !maps.Equal(now, before) {
				t.Errorf("files were changed or left behind:\n%v\nwere\n%v", now, before)
			}
		})
	}
}

// answersStand reports whether a case prints its answers: it is sound, or only a file of
// results could not be written. Studies look at that file before they work.
func answersStand(c abuse) bool {
	first, _, _ := strings.Cut(c.args, " ")
	switch {
	case c.code == exitDone:
		return true
	case c.code == exitFailed:
		return first != "new" && !strings.HasPrefix(c.args, "diary add")
	}
	return first == "year" && (strings.Contains(c.says, "is no page") || strings.Contains(c.says, "is no trace"))
}

// fast keeps the cases that compute to a few days.
func fast(args string) []string {
	for _, command := range []string{"year home.toml", "bank home.toml", "day home.toml", "risk home.toml", "hours home.toml"} {
		if strings.HasPrefix(args, command) {
			return []string{"--set", "days=2"}
		}
	}
	return nil
}

// faultsOf are the lines of standard error that are no news of files written.
func faultsOf(stderr string) []string {
	var faults []string
	for line := range strings.Lines(stderr) {
		if !strings.HasPrefix(line, "wrote ") {
			faults = append(faults, line)
		}
	}
	return faults
}

// filesHere are the names in the folder, each with its size and the time of its last change.
func filesHere(t *testing.T) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{}
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = fmt.Sprintf("%d bytes, %s", info.Size(), info.ModTime())
	}
	return all
}
