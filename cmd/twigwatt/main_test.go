package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"twigwatt": func() { os.Exit(run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// full reports that all is to be run, the slow too: TWIGWATT_FULL=1, as .ci/run sets it.
func full() bool { return os.Getenv("TWIGWATT_FULL") == "1" }

// TestCommands runs each script of testdata. A line that begins with [full] is run with
// TWIGWATT_FULL=1 alone: it is slow, and its claim is tested on a shorter span beside it.
// Without it each program works on one core, since scripts run side by side.
func TestCommands(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "testdata",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"ask": ask},
		Setup: func(env *testscript.Env) error {
			if !full() {
				env.Setenv("GOMAXPROCS", "1")
			}
			return nil
		},
		Condition: func(name string) (bool, error) {
			if name != "full" {
				return false, fmt.Errorf("no such condition: %s", name)
			}
			return full(), nil
		},
	})
}

// ask is a script's "exec twigwatt" for what writes no file: it is answered within the
// test's own process, which is quicker, or with TWIGWATT_FULL=1 by a process as a user has it.
func ask(ts *testscript.TestScript, wantsFault bool, args []string) {
	if full() {
		if err := ts.Exec("twigwatt", args...); (err != nil) != wantsFault {
			ts.Fatalf("twigwatt %s: %v", strings.Join(args, " "), err)
		}
		return
	}
	folder := ts.MkAbs(".") + string(filepath.Separator)
	for i, arg := range args {
		if _, err := os.Stat(folder + arg); err == nil && arg != "" {
			args[i] = folder + arg
		}
	}
	var stdout, stderr bytes.Buffer
	code := run(context.Background(), args, &stdout, &stderr)
	io.WriteString(ts.Stdout(), strings.ReplaceAll(stdout.String(), folder, ""))
	io.WriteString(ts.Stderr(), strings.ReplaceAll(stderr.String(), folder, ""))
	if (code != exitDone) != wantsFault {
		ts.Fatalf("twigwatt %s: exit code %d: %s", strings.Join(args, " "), code, stderr.String())
	}
}

// TestManualRuns runs each $ twigwatt line of the README as printed, in an empty
// folder, and looks for what the README shows below it, line by line; a line of
// three dots stands for any lines.
func TestManualRuns(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	ran := 0
	for i, block := range strings.Split(string(text), "```") {
		if i%2 == 0 {
			continue
		}
		lines := strings.Split(block, "\n")[1:]
		for at := 0; at < len(lines); at++ {
			command, ok := strings.CutPrefix(lines[at], "$ twigwatt ")
			if !ok {
				continue
			}
			var shown []string
			for at+1 < len(lines) && !strings.HasPrefix(lines[at+1], "$ ") {
				at++
				shown = append(shown, lines[at])
			}
			ran++
			runManual(t, dir, command, shown)
		}
	}
	if ran < 5 {
		t.Errorf("the README shows %d commands; have its blocks changed their form?", ran)
	}
}

func runManual(t *testing.T, dir, command string, shown []string) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := dir + "/twigwatt"
	if _, err := os.Stat(link); err != nil {
		if err := os.Symlink(exe, link); err != nil {
			t.Fatal(err)
		}
	}
	c := exec.Command("sh", "-c", "./twigwatt "+command)
	c.Dir = dir
	out, err := c.CombinedOutput()
	if err != nil && !strings.Contains(command, "#") {
		t.Errorf("$ twigwatt %s: %v\n%s", command, err, out)
		return
	}
	rest := string(out)
	for _, line := range shown {
		if strings.TrimSpace(line) == "" || line == "..." {
			continue
		}
		_, after, found := strings.Cut(rest, line+"\n")
		if !found {
			t.Errorf("$ twigwatt %s: does not print %q where the README says", command, line)
			return
		}
		rest = after
	}
}

// TestManualNamesEveryKey holds that the README names each key that --json prints.
func TestManualNamesEveryKey(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, output, found := strings.Cut(string(text), "## Output\n")
	if !found {
		t.Fatal("the README lacks its part on output")
	}
	dir := t.TempDir()
	t.Chdir(dir)
	const numbers = "1\n5\n2\n6\n"
	const rates = "hours,amp_hours\n1,60\n5,80\n20,100\n"
	for name, text := range map[string]string{"numbers.txt": numbers, "rates.csv": rates} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	short := " --set days=14 --set step_minutes=60"
	named := 0
	for _, command := range []string{"year holm" + short, "year cabin --set plan.ration=true --set woodpile.stack.barn.stacked_m3=0 --set woodpile.stack.lean-to.stacked_m3=0.2" + short, "hours cabin --every 6" + short,
		"bank cabin --kwh 12" + short, "risk cabin --years 2" + short, "day saddle --soc 50 --date 2026-01-14 --at 8:00 --hours-so-far 7 --crate-as-is-kg 10", "wood cabin --set woodpile.stack.barn.stacked_m3=0 --set step_minutes=60",
		"diary add runs.csv --date 2026-01-14 --start 16:30 --stop 21:00", "diary check orchard-diary orchard", "diary fit orchard-diary orchard", "check cabin",
		"calc moisture --wet-pct 20", "calc emc --air-c 20 --humidity-pct 50", "calc drying --from-pct 45 --climate de-bilt", "calc heat --moisture-pct 20", "calc wood --species ash --dry-kg 100", "calc dry --dry-kg 100 --from-pct 40 --to-pct 20",
		"calc fuel --kw 2.6", "calc gas --co-pct 20 --h2-pct 15 --ch4-pct 2", "calc producer --moisture-pct 15", "calc engine --cc 600 --rpm 1500", "calc derate --altitude-m 1800 --air-c 10", "calc cooler --gas-c 40",
		"calc daylight --latitude 50 --date 2025-03-01", "calc char --char-kg 100", "calc cycles numbers.txt --depth-cycles 50:750", "calc rundown --amp-hours 1 --at-hand-share .3 --settle-per-h 1 --draw 0.5A:1m", "calc rates rates.csv",
		"calc bank --wh-per-day 1000", "calc cold --kind agm --air-c 0", "calc ventilation --cells 6 --amp-hours 100 --kind agm"} {
		var stdout, stderr bytes.Buffer
		if code := run(context.Background(), append(strings.Fields(command), "--json"), &stdout, &stderr); code != exitDone {
			t.Errorf("twigwatt %s: exit code %d: %s", command, code, stderr.String())
			continue
		}
		if !json.Valid(stdout.Bytes()) {
			t.Errorf("twigwatt %s: no JSON", command)
		}
		for _, key := range regexp.MustCompile(`"(\w+)": `).FindAllStringSubmatch(stdout.String(), -1) {
			named++
			if !regexp.MustCompile(`\b` + key[1] + `\b`).MatchString(output) {
				t.Errorf("twigwatt %s: the README does not name %s", command, key[1])
			}
		}
	}
	if named < 1000 {
		t.Errorf("%d keys looked up: the test sees too little", named)
	}
}
