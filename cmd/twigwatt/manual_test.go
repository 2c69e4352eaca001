package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// manuals are the project's four, from this folder.
var manuals = []string{"../../README.md", ofCommand, "../../scenarios/README.md", ofModel}

const (
	ofCommand = "README.md"           // whose commands take longest
	ofModel   = "../../sim/README.md" // the one that shows no commands
)

func manual(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestManualRuns runs each $ twigwatt line of the manuals as printed, those of a manual in a
// folder of their own, and looks for what the manual shows below it, line by line; a line of
// three dots stands for any lines. Without TWIGWATT_FULL=1 it leaves out those that take
// longest, of the command's own manual.
func TestManualRuns(t *testing.T) {
	for _, name := range manuals {
		if !full() && name == ofCommand {
			continue
		}
		t.Run(filepath.Join("cmd/twigwatt", name), func(t *testing.T) {
			t.Parallel()
			dir, ran := t.TempDir(), 0
			for i, block := range strings.Split(manual(t, name), "```") {
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
			const atLeast = 4
			if ran < atLeast && name != ofModel {
				t.Errorf("%d commands seen: have its blocks changed their form?", ran)
			}
		})
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
	if !full() {
		c.Env = append(os.Environ(), "GOMAXPROCS=1") // beside the scripts
	}
	out, err := c.CombinedOutput()
	if err != nil {
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
			t.Errorf("$ twigwatt %s: does not print %q where the manual says", command, line)
			return
		}
		rest = after
	}
}

// TestManualHelp holds the options in README.md, beside this file, to what the program's own
// help says, and the sums of calc with their keys to the help and to testdata/keys. To write
// them anew: TWIGWATT_MANUAL=1 go test ./cmd/twigwatt -run TestManualHelp
func TestManualHelp(t *testing.T) {
	const name = "README.md"
	text := manual(t, name)
	parts := regexp.MustCompile(`(?s)<!-- (help [a-z ]+|sums) -->\n.*?<!-- end -->`)
	shown := map[string]bool{}
	fresh := parts.ReplaceAllStringFunc(text, func(part string) string {
		mark, _, _ := strings.Cut(part, "\n")
		of := strings.TrimSuffix(strings.TrimPrefix(mark, "<!-- "), " -->")
		shown[of] = true
		body := sumsTable(t)
		if command, ok := strings.CutPrefix(of, "help "); ok {
			body = "```\n" + helpText(t, command) + "```\n"
		}
		return mark + "\n" + body + "<!-- end -->"
	})
	for _, command := range commandsOf(t, "") {
		if command == "calc" {
			continue // the table of sums
		}
		subs := commandsOf(t, command)
		if len(subs) == 0 || command == "completion" {
			subs = []string{""}
		}
		for _, sub := range subs {
			if of := strings.TrimSpace(command + " " + sub); !shown["help "+of] {
				t.Errorf("the manual lacks the options of %s", of)
			}
		}
	}
	if !shown["sums"] {
		t.Error("the manual lacks the sums of calc")
	}
	if fresh == text {
		return
	}
	if os.Getenv("TWIGWATT_MANUAL") != "1" {
		t.Fatal("the options in README.md are not the program's; to write them anew: " +
			"TWIGWATT_MANUAL=1 go test ./cmd/twigwatt -run TestManualHelp")
	}
	if err := os.WriteFile(name, []byte(fresh), 0o644); err != nil {
		t.Fatal(err)
	}
}

// helpText is what twigwatt help COMMAND prints, from how the command is written.
func helpText(t *testing.T, command string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), append([]string{"help"}, strings.Fields(command)...), &stdout, &stderr); code != exitDone {
		t.Fatalf("twigwatt help %s: exit code %d: %s", command, code, stderr.String())
	}
	text := stdout.String()
	if command == "" {
		return text
	}
	_, text, _ = strings.Cut(text, "\n\n")
	return text
}

// rowsOfHelp are names and meanings of a help's rows whose names match begin.
func rowsOfHelp(text, begin string) [][2]string {
	var rows [][2]string
	open := false
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		name, ok := strings.CutPrefix(line, "  ")
		switch {
		case ok && regexp.MustCompile("^"+begin).MatchString(name):
			name, meaning, _ := strings.Cut(name, "  ")
			rows = append(rows, [2]string{name, strings.TrimSpace(meaning)})
			open = true
		case ok && open && strings.HasPrefix(name, " "):
			last := &rows[len(rows)-1][1]
			*last = strings.TrimSpace(*last + " " + strings.TrimSpace(name))
		default:
			open = false
		}
	}
	return rows
}

// commandsOf are the words that may follow a command, or the program's own commands.
func commandsOf(t *testing.T, command string) []string {
	t.Helper()
	var names []string
	for _, row := range rowsOfHelp(helpText(t, command), `[a-z]+  `) {
		names = append(names, row[0])
	}
	return names
}

// sumsTable are the sums of calc: what each takes, and the keys of its figures.
func sumsTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| sum | what it works out | options | keys |\n|---|---|---|---|\n")
	for _, sum := range rowsOfHelp(helpText(t, "calc"), `[a-z]+  `) {
		help := helpText(t, "calc "+sum[0])
		var options, keys []string
		if usage, _, _ := strings.Cut(strings.Join(strings.Fields(help), " "), " [options]"); strings.Contains(usage, "FILE") {
			_, file, _ := strings.Cut(usage, "FILE ")
			options = append(options, "FILE "+file)
		}
		for _, option := range rowsOfHelp(help, "--") {
			if option[0] != "--json" {
				options = append(options, "`"+strings.TrimSuffix(option[0], " X")+"` "+option[1])
			}
		}
		for _, key := range keysOf(t, "testdata/keys/calc-"+sum[0]+".txt") {
			switch key {
			case "format", "source", "cautions", "warnings":
			default:
				keys = append(keys, "`"+key+"`")
			}
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", sum[0], sum[1], strings.Join(options, "<br>"), strings.Join(keys, ", "))
	}
	return b.String()
}

// TestManualNamesEveryKey holds that README.md, beside this file, names each key of
// testdata/keys in the part on its command, or in the part on all documents.
func TestManualNamesEveryKey(t *testing.T) {
	parts := map[string]string{}
	for _, part := range strings.Split(manual(t, "README.md"), "\n## ")[1:] {
		title, body, _ := strings.Cut(part, "\n")
		parts[title] = body
	}
	for _, name := range keyLists(t) {
		command, _, _ := strings.Cut(strings.TrimSuffix(filepath.Base(name), ".txt"), "-")
		part := parts[command]
		if part == "" || parts["JSON"] == "" {
			t.Fatalf("the manual has no part on %s, or none on JSON", command)
		}
		for _, path := range keysOf(t, name) {
			key := regexp.MustCompile(`\b` + path[strings.LastIndex(path, ".")+1:] + `\b`)
			if !key.MatchString(part) && !key.MatchString(parts["JSON"]) {
				t.Errorf("%s: the manual does not name %s", command, path)
			}
		}
	}
}

// TestManualLinks follows the links between the manuals, to their headings too.
func TestManualLinks(t *testing.T) {
	for _, name := range append(manuals, "../../DEVELOPERS.md") {
		for _, link := range regexp.MustCompile(`\]\(([^)]+)\)`).FindAllStringSubmatch(manual(t, name), -1) {
			file, heading, _ := strings.Cut(link[1], "#")
			target := filepath.Join(filepath.Dir(name), file)
			if file == "" {
				target = name
			}
			if _, err := os.Stat(target); err != nil {
				t.Errorf("%s: %s leads nowhere", name, link[1])
				continue
			}
			if heading == "" {
				continue
			}
			words := regexp.MustCompile(`(?mi)^#+ ` + strings.ReplaceAll(heading, "-", "[ -]") + `$`)
			if !words.MatchString(manual(t, target)) {
				t.Errorf("%s: %s has no such heading", name, link[1])
			}
		}
	}
}

// TestReadmeHoldsTheCautions: the README's are those of every document.
func TestReadmeHoldsTheCautions(t *testing.T) {
	_, cautions, _ := strings.Cut(manual(t, manuals[0]), "\n## Cautions\n")
	cautions, _, _ = strings.Cut(cautions, "\n## ")
	var bullets []string
	for _, bullet := range strings.Split(cautions, "\n- ")[1:] {
		bullets = append(bullets, strings.Join(strings.Fields(bullet), " "))
	}
	_, printed, _ := strings.Cut(documentOf(t, "check cabin"), `"cautions": [`)
	if len(bullets) < 6 || strings.Count(printed, "\n    \"") != len(bullets) {
		t.Fatalf("%d cautions in the README, printed are:\n%s", len(bullets), printed)
	}
	for _, bullet := range bullets {
		if !strings.Contains(printed, `"`+bullet+`"`) {
			t.Errorf("no document says: %s", bullet)
		}
	}
}
