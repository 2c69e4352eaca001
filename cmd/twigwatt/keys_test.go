package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// keyCases are commands whose documents hold all keys that there are: each list of
// testdata/keys has the name of its case. FOLDER stands for a folder with their files.
var keyCases = []struct{ name, args string }{
	{"year", "year FOLDER/home.toml --set plan.ration=true"},
	{"year-endless", "year FOLDER/endless.toml"},
	{"year-same-hours", "year FOLDER/endless.toml --plan same-hours --set plan.same_start=16:00 --set plan.same_hours=4"},
	{"year-panels", "year FOLDER/panels.toml"},
	{"year-tank", "year FOLDER/endless.toml --set tank.litres=200 --set tank.need_l_per_day=100"},
	{"year-years", "year FOLDER/endless.toml --set days=400 --plan top-up"},
	{"year-standby", "year FOLDER/endless.toml --set standby.kw=2 --set money.unit=EUR --set money.hour=10 --set money.bank=2000"},
	{"day-standby", "day FOLDER/endless.toml --soc 52 --date 2026-01-14 --at 20:00 --set standby.kw=2"},
	{"risk-standby", "risk FOLDER/endless.toml --years 2 --set standby.kw=2 --set money.unit=EUR --set money.hour=10"},
	{"bank-money", "bank FOLDER/endless.toml --kwh 12 --lives 2 --set money.unit=EUR --set money.hour=10"},
	{"hours-money", "hours FOLDER/endless.toml --every 6 --lives 2 --set money.unit=EUR --set money.hour=10"},
	{"calc-annuity", "calc annuity --interest-pct 3 --years 10"},
	{"calc-petrol", "calc petrol --kw 2"},
	{"calc-warmth", "calc warmth --kw 2.6"},
	{"calc-tank", "calc tank --litres 200 --from-c 70 --hours 12"},
	{"day-panels", "day FOLDER/panels.toml --soc 60 --date 2026-05-14 --at 10:00 --sky bright"},
	{"risk-panels", "risk FOLDER/panels.toml --years 2"},
	{"hours", "hours FOLDER/endless.toml --every 6 --lives 2"},
	{"bank", "bank FOLDER/endless.toml --kwh 12 --lives 2"},
	{"risk", "risk FOLDER/home.toml --years 2"},
	{"wood", "wood FOLDER/home.toml --set days=60"},
	{"day", "day FOLDER/home.toml --soc 40 --date 2026-01-14 --at 08:00 --hours-so-far 47 --crate-as-is-kg 12 --days 2"},
	{"day-lit", "day FOLDER/endless.toml --soc 60 --date 2026-01-14 --at 18:10 --lit 16:40"},
	{"day-late", "day FOLDER/endless.toml --soc 60 --date 2026-01-14 --at 22:30"},
	{"diary-add", "diary add FOLDER/runs.csv --date 2026-01-14 --start 16:30 --stop 21:00"},
	{"diary-check", "diary check orchard-diary orchard --set plan.by=top-up"},
	{"diary-fit", "diary fit orchard-diary orchard --set plan.by=top-up"},
	{"check", "check FOLDER/home.toml"},
	{"calc-sun", "calc sun --latitude 50 --date 2025-03-01"},
	{"calc-panel", "calc panel --latitude 52.1 --month 1 --level-kwh-m2 0.65"},
	{"calc-sky", "calc sky --clearness-mean 0.3 --chance-pct 50"},
	{"calc-cell", "calc cell --plane-w-m2 800 --air-c 20"},
	{"calc-charge", "calc charge --kwh 14.4 --from-pct 80 --to-pct 85"},
	{"calc-moisture", "calc moisture --wet-pct 20"},
	{"calc-emc", "calc emc --air-c 20 --humidity-pct 50"},
	{"calc-drying", "calc drying --from-pct 45 --climate de-bilt"},
	{"calc-heat", "calc heat --moisture-pct 20"},
	{"calc-wood", "calc wood --species ash --dry-kg 100"},
	{"calc-dry", "calc dry --dry-kg 100 --from-pct 40 --to-pct 20"},
	{"calc-fuel", "calc fuel --kw 2.6"},
	{"calc-gas", "calc gas --co-pct 20 --h2-pct 15 --ch4-pct 2"},
	{"calc-producer", "calc producer --moisture-pct 15"},
	{"calc-engine", "calc engine --cc 600 --rpm 1500"},
	{"calc-derate", "calc derate --altitude-m 1800 --air-c 10"},
	{"calc-cooler", "calc cooler --gas-c 40"},
	{"calc-daylight", "calc daylight --latitude 50 --date 2025-03-01"},
	{"calc-char", "calc char --char-kg 100"},
	{"calc-cycles", "calc cycles FOLDER/numbers.txt --depth-cycles 50:750"},
	{"calc-rundown", "calc rundown --amp-hours 1 --at-hand-share .3 --settle-per-h 1 --draw 0.5A:1m"},
	{"calc-rates", "calc rates FOLDER/rates.csv"},
	{"calc-bank", "calc bank --wh-per-day 1000"},
	{"calc-cold", "calc cold --kind agm --air-c 0"},
	{"calc-ventilation", "calc ventilation --cells 6 --amp-hours 100 --kind agm"},
}

var keyFiles = map[string]string{
	"endless.toml": `days = 20
step_minutes = 60
[load]
kwh_per_day = 6
daily_swing_pct = 15
[engine]
kw = 2.6
[battery]
kwh = 12
[luck]
moisture_points = 6
`,
	// panels at the bank and at the house
	"panels.toml": `days = 20
start = 2026-05-01
step_minutes = 60
[load]
kwh_per_day = 6
[engine]
kw = 2.6
[battery]
kwh = 12
[panels.roof]
kw_peak = 1
[panels.shed]
kw_peak = 0.5
wired = "house"
`,
	// a pile that cannot last, chores, and services that fall due
	"home.toml": `start = 2026-01-10
days = 20
step_minutes = 60
[load]
kwh_per_day = 8
daily_swing_pct = 15
[load.chore.washing]
kwh = 1.2
kw = 1.2
times_per_week = 4
[engine]
kw = 2.6
hopper_as_is_kg = 10
[battery]
kwh = 12
[woodpile.stack.old]
dry_kg = 120
[woodpile.cut.march]
on = "03-15"
cords = 4
`,
	"numbers.txt": "1\n5\n2\n6\n",
	"rates.csv":   "hours,amp_hours\n1,60\n5,80\n20,100\n",
}

// TestKeys holds the key paths of every document of --json to the lists of testdata/keys:
// a key that is renamed, lost or new fails. To write the lists anew:
// TWIGWATT_KEYS=1 go test ./cmd/twigwatt -run TestKeys
func TestKeys(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for name, text := range keyFiles {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	listed := map[string]bool{}
	for _, c := range keyCases {
		listed[c.name] = true
		t.Run(c.name, func(t *testing.T) {
			text := documentOf(t, strings.ReplaceAll(c.args, "FOLDER", dir))
			if !strings.HasPrefix(text, "{\n  \"format\": 1,\n") || !strings.HasSuffix(text, "]\n}\n") ||
				!strings.Contains(text[strings.LastIndex(text, "["):], "Never feed wiring") && !strings.HasPrefix(c.name, "calc") {
				t.Errorf("it does not begin with format and end with the cautions")
			}
			var document any
			if err := json.Unmarshal([]byte(text), &document); err != nil {
				t.Fatal(err)
			}
			paths := map[string]bool{}
			addPaths(paths, "", document)
			got := []string{}
			for path := range paths {
				got = append(got, path)
			}
			slices.Sort(got)
			name := "testdata/keys/" + c.name + ".txt"
			if os.Getenv("TWIGWATT_KEYS") == "1" {
				if err := os.WriteFile(name, []byte(strings.Join(got, "\n")+"\n"), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if diff := cmp.Diff(keysOf(t, name), got); diff != "" {
				t.Errorf("the keys differ (-listed +printed):\n%s", diff)
			}
		})
	}
	for _, name := range keyLists(t) {
		if !listed[strings.TrimSuffix(filepath.Base(name), ".txt")] {
			t.Errorf("%s is of no command", name)
		}
	}
}

// documentOf is what a command prints with --json.
func documentOf(t *testing.T, args string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), append(strings.Fields(args), "--json"), &stdout, &stderr); code != exitDone {
		t.Fatalf("twigwatt %s: exit code %d: %s", args, code, stderr.String())
	}
	return stdout.String()
}

// addPaths adds the path of each key under at; [] stands for any item of a list.
func addPaths(paths map[string]bool, at string, value any) {
	switch value := value.(type) {
	case map[string]any:
		for key, inner := range value {
			path := strings.TrimPrefix(at+"."+key, ".")
			paths[path] = true
			addPaths(paths, path, inner)
		}
	case []any:
		for _, inner := range value {
			addPaths(paths, at+"[]", inner)
		}
	}
}

// keyLists are the files of testdata/keys.
func keyLists(t *testing.T) []string {
	t.Helper()
	all, err := filepath.Glob("testdata/keys/*.txt")
	if err != nil || len(all) == 0 {
		t.Fatalf("no lists of keys: %v", err)
	}
	return all
}

// keysOf are the paths of a list.
func keysOf(t *testing.T, name string) []string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Fields(string(text))
}
