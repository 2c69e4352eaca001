package main

import (
	"context"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"twigwatt": func() { os.Exit(run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

func TestCommands(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata"})
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
