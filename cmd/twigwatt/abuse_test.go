package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

const soundHome = "[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n[plan]\nby = \"same-hours\"\n"

// ofGo is what a household should never be shown.
var ofGo = regexp.MustCompile(`\b(u?int(8|16|32|64)?|float64|bool|struct|nil|interface|strconv|bufio|runtime|goroutine|panic|EOF|errno)\b[. :]|%!|0x[0-9a-f]{6}|parse error|invalid syntax|\bopen |\bstat |\bread [./]|\bwrite [./]|[^"]Inf\b`)

// Wrong use and bad files: each fault is one line on standard error that says what is
// allowed, with the exit code of the manual, and nothing is written or left behind.
func TestBadInput(t *testing.T) {
	home := func(more string) string { return soundHome + more }
	files := map[string]string{
		"home.toml": soundHome, "empty.toml": "", "comments.toml": "# nothing\n\n", "garbage.toml": "\x00\x01\xff\xfe", "utf16.toml": "\xff\xfe[\x00l\x00",
		"deep.toml": "x = " + strings.Repeat("{a=", 500) + "1" + strings.Repeat("}", 500), "long.toml": "name = \"" + strings.Repeat("a", 1<<20) + "\"\n",
		"twice.toml": "days = 1\ndays = 2\n" + soundHome, "huge.toml": "days = 99999999999999999999\n" + soundHome,
		"keys.toml": keysText(5000) + soundHome, "table.toml": home("[load.appliance]\nwatts = 5\n"), "quoted.toml": "\"engine.kw\" = 9\n" + soundHome,
		"crlf.toml": strings.ReplaceAll("\ufeff"+soundHome, "\n", "\r\n"), "loadless.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"none.csv\"", 1),
		"loadbad.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"bad.csv\"", 1), "bad.csv": "time,kw\n2025-01-01T00:00,0.1\n2025-01-01T00:30,\"0,2\"\n",
		"loadhuge.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"huge.csv\"", 1), "huge.csv": "time,kw\n2025-01-01T00:00,1e300\n",
		"loadself.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"loadself.toml\"", 1), "loaddir.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"folder\"", 1),
		"loadurl.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"http://example.com/x.csv\"", 1), "loadline.toml": strings.Replace(soundHome, "kwh_per_day = 5", "file = \"line.csv\"", 1),
		"line.csv": strings.Repeat("0", 100_000), "one.txt": "1\n", "words.txt": "1\nx\n", "inf.txt": "1\nInf\n", "over.txt": "1e308\n-1e308\n", "wide.txt": strings.Repeat("9", 70_000),
		"fall.csv": "hours,amp_hours\n1,70\n5,50\n20,40\n", "same.csv": "hours,amp_hours\n1,5\n1,5\n1,5\n", "cols.csv": "hours,amp_hours\n1\n", "quote.csv": "hours,amp_hours\n1,\"5\n",
		"runs.csv": "date,start,stop\n2025-01-02,10:00,12:00\n", "badruns.csv": "date,start,stop\n2025-01-02,12:00,10:00\n2025-02-30,10:00,11:00\n", "quoteruns.csv": "date,start,stop,note\n2025-01-02,10:00,12:00,a\"b\n",
		"foreign.html": "<!DOCTYPE html>\n<html>mine</html>\n", "foreign.csv": "a,b\n",
	}
	for _, c := range []struct {
		args   string
		code   int
		lines  int // of faults
		stderr string
	}{
		// words and options
		{"nosuch", 2, 1, `no such command "nosuch"`}, {"help nosuch", 2, 1, `no such command "nosuch"`}, {"calc nosuch", 2, 1, `no such sum "nosuch"`}, {"diary nosuch", 2, 1, `no such diary command "nosuch"`},
		{"--nosuch", 2, 1, "no such option --nosuch"}, {"year --nosuch", 2, 1, "see twigwatt year --help"}, {"diary add --nosuch x", 2, 1, "see twigwatt diary add --help"},
		{"year home.toml more", 2, 1, "takes one file, got 2: home.toml more"}, {"hours a b", 2, 1, "one file"}, {"bank a b", 2, 1, "one file"}, {"risk a b", 2, 1, "one file"}, {"day a b --soc 5", 2, 1, "one file"},
		{"wood a b", 2, 1, "one file"}, {"check a b", 2, 1, "one file"}, {"new a b", 2, 1, "one file"}, {"new", 2, 1, "needs the name"}, {"new x.toml --from nosuch", 2, 1, "one of cabin, holm, orchard, saddle"},
		{"calc heat 5", 2, 1, "takes options only"}, {"calc cycles", 2, 1, "takes a file"}, {"calc heat", 2, 1, "needs --moisture-pct"}, {"calc rundown", 2, 1, "needs --amp-hours, --at-hand-share, --settle-per-h, --draw"},
		{"completion zsh more", 2, 1, "takes no more words"}, {"diary add", 2, 1, "the name of a diary"}, {"diary check", 2, 1, "takes a diary"}, {"diary fit a b c", 2, 1, "takes a diary"},
		{"check home.toml --set", 2, 1, "--set needs a value"}, {"help year nosuch", 2, 1, "no commands of its own"}, {"new holm-load.csv --from holm", 2, 1, "another name"}, {"year --report", 2, 1, "--report needs a value"}, {"year --report --json", 2, 1, "--report needs a value"}, {"year --trace=", 2, 1, "--trace needs a value"}, {"year home.toml --plan", 2, 1, "--plan needs a value"},
		{"year --json=x", 2, 1, `--json takes no value, got "x"`}, {"day --soc 40 --soc 50", 2, 1, "--soc is given twice"}, {"year home.toml --trace a.csv --report ./a.csv", 2, 1, "must be two files"},
		{"year home.toml --no-report --report a.html", 2, 1, "contradict"}, {"diary fit runs.csv home.toml --out a --report a", 2, 1, "must be two files"}, {"calc bank --wh-per-day 1 --volts=", 2, 1, "--volts needs a value"},
		// numbers
		{"hours home.toml --every nan", 2, 1, "--every must be 0.25 to 12"}, {"hours home.toml --every x", 2, 1, `got "x"`}, {"hours home.toml --short-days=-1", 2, 1, "0 or more"}, {"risk home.toml --years 0", 2, 1, "--years"},
		{"risk home.toml --years 1e9", 2, 1, "--years"}, {"bank home.toml --kwh 1,x", 2, 1, "--kwh must be sizes"}, {"bank home.toml --kwh nan", 2, 1, "--kwh"}, {"bank home.toml --engine-out=-1", 2, 1, "--engine-out"},
		{"bank home.toml --week 2031-01-01", 2, 1, "--week must be a date of the span"}, {"day home.toml", 2, 1, "--soc"}, {"day home.toml --soc nan", 2, 1, "--soc"}, {"day home.toml --soc 101", 2, 1, "--soc"},
		{"day home.toml --soc 50 --at 25:00", 2, 1, "--at"}, {"day home.toml --soc 50 --date 2025-02-30", 2, 1, "--date"}, {"day home.toml --soc 50 --days 8", 2, 1, "--days"}, {"year home.toml --jobs 2", 2, 1, "no such option"},
		{"risk home.toml --jobs=-1", 2, 1, "--jobs"}, {"calc heat --moisture-pct 0x10", 2, 1, "must be a number"}, {"calc heat --moisture-pct 1e400 --dry-mj-kg 9", 2, 2, "--dry-mj-kg must be 15 to 22, got 9"},
		{"calc cycles inf.txt", 2, 1, `inf.txt:2: must be a number`}, {"calc cycles over.txt", 2, 1, "over.txt:1"}, {"calc cycles one.txt", 2, 1, "two numbers or more"}, {"calc cycles words.txt", 2, 1, `got "x"`},
		{"calc cycles wide.txt", 2, 1, "64 kB"}, {"calc cycles home.toml --depth-cycles 50:inf", 2, 1, "--depth-cycles must be pairs"}, {"calc rates fall.csv", 2, 1, "must not fall"}, {"calc rates same.csv", 2, 1, "same hours"},
		{"calc rates cols.csv", 2, 1, "cols.csv:2: must be two numbers"}, {"calc rates quote.csv", 2, 1, "quotes do not close"}, {"calc rundown --amp-hours 1 --at-hand-share .3 --settle-per-h 1 --draw 0A:1h", 2, 1, "never runs"},
		// --set
		{"check home.toml --set =", 2, 1, "KEY=VALUE"}, {"check home.toml --set a", 2, 1, "KEY=VALUE"}, {"check home.toml --set engine.kw=", 2, 1, "engine.kw"}, {"check home.toml --set engine={kw=3}", 2, 1, "got a table: its keys are set one by one, like engine.kw"},
		{"check home.toml --set engine.kw=3#x", 2, 1, `got "3#x"`}, {"check home.toml --set load.appliance=5", 2, 1, "is a table"}, {"check home.toml --set engine.kx=3", 2, 1, "did you mean engine.kw"},
		// files that are not what they should be
		{"year none.toml", 2, 1, "none.toml: cannot be read"}, {"year none", 2, 1, "no embedded example"}, {"year folder", 2, 1, "folder"}, {"check .", 2, 1, "it is a folder"}, {"check empty.toml", 2, 3, "load: needs"}, {"check comments.toml", 2, 3, "engine.kw"},
		{"check garbage.toml", 2, 1, "UTF-8"}, {"check utf16.toml", 2, 1, "UTF-8"}, {"check deep.toml", 2, 1, "nested"}, {"check long.toml", 2, 1, "smaller than 1 MB"}, {"check twice.toml", 2, 1, "twice.toml:2"},
		{"check huge.toml", 2, 1, "reasonable size"}, {"check keys.toml", 2, 1, "at most 3000 keys"}, {"check table.toml", 2, 1, "load.appliance.watts"}, {"check quoted.toml", 2, 1, "dot within quotes"}, {"check crlf.toml", 0, 0, ""},
		{"check loadless.toml", 2, 1, "loadless.toml:2: load.file: must be a file beside the scenario: none.csv"}, {"check loadbad.toml", 2, 1, `bad.csv:3: kw: must be a number like 0.35, got "0,2"`},
		{"check loadhuge.toml", 2, 1, "must be 0 to 10000, got 1e300"}, {"check loadself.toml", 2, 1, "the header must be"}, {"check loaddir.toml", 2, 1, "it is a folder"}, {"check loadurl.toml", 2, 1, "loadurl.toml:2: load.file"},
		{"check loadline.toml", 2, 1, "line.csv:1: must be a time and a number"}, {"diary check none.csv home.toml", 2, 1, "none.csv"}, {"diary check . home.toml", 2, 1, "it is a folder"}, {"diary check badruns.csv home.toml", 2, 2, "badruns.csv:3: date"},
		{"diary check quoteruns.csv home.toml", 2, 1, "quotes that close"}, {"diary fit home.toml home.toml", 2, 4, "columns must be among"}, {"calc cycles folder", 2, 1, "folder"}, {"calc rates none.csv", 2, 1, "none.csv"},
		// what is there already, and what cannot be written: the answers stand
		{"new home.toml", 2, 1, "never overwritten"}, {"new folder", 2, 1, "never overwritten"}, {"new none/x.toml", 1, 1, "none/x.toml: cannot be written"}, {"year home.toml --report foreign.html", 2, 1, "is no page"},
		{"year home.toml --report home.toml", 2, 1, "is no page"}, {"year home.toml --no-report --trace foreign.csv", 2, 1, "is no trace"}, {"year home.toml --report folder", 1, 1, "it is a folder"}, {"year home.toml --report none/x.html", 1, 1, "none/x.html: cannot be written"},
		{"year home.toml --no-report --trace none/x.csv", 1, 1, "none/x.csv"}, {"bank home.toml --kwh 12 --report foreign.html", 2, 1, "is no page"}, {"day home.toml --soc 50 --report none/x.html", 1, 1, "none/x.html"},
		{"diary add foreign.csv --start 10:00 --stop 11:00", 2, 5, "foreign.csv:1"}, {"diary add folder --start 10:00 --stop 11:00", 1, 1, "no plain file"}, {"diary add runs.csv --date 2025-01-03 --start 10:00 --stop 9:00", 2, 1, "got 09:00, and the start was 10:00"},
		{"diary add runs.csv --date 2025-01-03", 2, 2, "--stop"}, {"diary add runs.csv --date 2025-01-03 --start 10:00 --stop 11:00 --kwh inf", 2, 1, "--kwh must be a number"}, {"diary add runs.csv --date 2025-01-03 --start 10:00 --stop 11:00 --kwh -1 --soc-end-pct 400", 2, 2, "soc_end_pct: must be 0 to 100 %, got 400"},
		{"diary add runs.csv --date 2199-01-03 --start 10:00 --stop 11:00", 2, 1, "today"}, {"diary fit runs.csv home.toml --out home.toml", 2, 1, "never overwritten"},
	} {
		t.Run(c.args, func(t *testing.T) {
			dir := t.TempDir()
			for name, text := range files {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.Mkdir(filepath.Join(dir, "folder"), 0o755); err != nil {
				t.Fatal(err)
			}
			t.Chdir(dir)
			var stdout, stderr bytes.Buffer
			code := run(context.Background(), append(strings.Fields(c.args), fast(c.args)...), &stdout, &stderr)
			faults := faultsOf(stderr.String())
			if code != c.code || len(faults) != c.lines || !strings.Contains(stderr.String(), c.stderr) {
				t.Errorf("exit code %d, want %d; %d faults, want %d and %q:\n%s", code, c.code, len(faults), c.lines, c.stderr, stderr.String())
			}
			for _, fault := range faults {
				if ofGo.MatchString(fault) || len(fault) > 600 {
					t.Errorf("not the household's words: %s", fault)
				}
			}
			if strings.Contains(stdout.String(), "Inf") || strings.Contains(stdout.String(), "NaN") {
				t.Errorf("no number among the answers:\n%s", stdout.String())
			}
			if c.code == 1 && !strings.HasPrefix(c.args, "new") && !strings.HasPrefix(c.args, "diary add") && stdout.Len() == 0 {
				t.Error("the answers are not printed, though only a file could not be written")
			}
			asBefore(t, dir, files)
		})
	}
}

func keysText(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%d = 1\n", i)
	}
	return b.String()
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

// asBefore reports a file that was changed, or one that is neither there before nor
// a page or trace that was asked for.
func asBefore(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		text, known := files[e.Name()]
		switch {
		case e.IsDir():
		case !known && e.Name() != "twigwatt-report.html":
			t.Errorf("left behind: %s", e.Name())
		case known:
			if now, err := os.ReadFile(filepath.Join(dir, e.Name())); err != nil || string(now) != text {
				t.Errorf("%s was changed", e.Name())
			}
		}
	}
}
