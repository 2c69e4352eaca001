package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// may lists which packages of ours each package may import; everyone may use
// calendar, place and curve.
var may = map[string][]string{
	"testdata/published":  {},            // for tests alone: nobody else may import it
	"testdata/worked":     {"scenarios"}, // the same
	"sim/calendar":        {},
	"sim/place":           {},
	"sim/fault":           {},
	"sim/curve":           {},
	"sim/sun":             {},
	"sim/money":           {},
	"sim/genset":          {},
	"loads":               {"sim/sun"},
	"storage/battery":     {},
	"storage/woodpile":    {},
	"storage/tank":        {},
	"sim/handbook":        {"sim", "sim/money", "storage/tank", "sim/sun", "sim/genset", "storage/battery", "storage/woodpile"},
	"sim":                 {"sim/money", "sim/genset", "storage/tank", "loads", "storage/battery", "storage/woodpile"},
	"sim/plan":            {"sim/sun", "sim", "loads", "storage/battery", "storage/woodpile", "sim/genset"},
	"sim/diary":           {"sim/fault", "sim", "loads", "storage/battery", "storage/woodpile", "sim/genset"},
	"sim/study":           {"sim/money", "sim/sun", "sim/plan", "sim", "loads", "storage/battery", "storage/woodpile", "sim/genset"},
	"scenarios":           {"sim/money", "storage/tank", "sim/sun", "sim/fault", "sim/plan", "sim", "sim/genset", "loads", "storage/battery", "storage/woodpile"},
	"cmd/twigwatt/report": {"sim/money", "storage/tank", "sim/sun", "sim/fault", "sim", "sim/plan", "sim/study", "sim/diary", "sim/genset", "loads", "storage/battery", "storage/woodpile"},
}

// homes are the libraries with one home each.
var homes = map[string]string{
	"github.com/urfave/cli/v2":                "cmd/twigwatt",
	"github.com/BurntSushi/toml":              "scenarios",
	"github.com/gofrs/flock":                  "cmd/twigwatt",
	"github.com/xrash/smetrics":               "scenarios",
	"github.com/go-echarts/go-echarts/v2":     "cmd/twigwatt/report",
	"github.com/go-echarts/statsview/statics": "cmd/twigwatt/report",
	"os": "cmd/twigwatt",
}

func TestImportsRunOneWay(t *testing.T) {
	seen := map[string]bool{}
	err := filepath.WalkDir("../..", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") || strings.Contains(name, "browsertest") {
			return err
		}
		rel, err := filepath.Rel("../..", filepath.Dir(name))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		seen[pkg] = true
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range file.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			if home, ok := homes[path]; ok && home != pkg {
				t.Errorf("%s imports %s, whose home is %s", name, path, home)
			}
			ours, ok := strings.CutPrefix(path, "twigwatt/")
			if !ok || pkg == "cmd/twigwatt" || ours == "sim/calendar" || ours == "sim/place" || ours == "sim/curve" {
				continue
			}
			if !slices.Contains(may[pkg], ours) {
				t.Errorf("%s: %s may not import %s", name, pkg, ours)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for pkg := range seen {
		if _, ok := may[pkg]; !ok && pkg != "cmd/twigwatt" {
			t.Errorf("%s stands in no rule", pkg)
		}
	}
	for pkg := range may {
		if !seen[pkg] {
			t.Errorf("the rules name %s, which is not there", pkg)
		}
	}
}

// TestNoClockOutsideTheCommand: the clock and unseeded randomness appear in the
// command alone.
func TestNoClockOutsideTheCommand(t *testing.T) {
	for pkg := range may {
		files, err := filepath.Glob("../../" + pkg + "/*.go")
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, word := range []string{"time.Now(", "rand.Float64(", "rand.IntN(", "rand.NormFloat64("} {
				if strings.Contains(string(text), word) {
					t.Errorf("%s: %s…)", name, word)
				}
			}
		}
	}
}
