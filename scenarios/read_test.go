package scenarios_test

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/google/go-cmp/cmp"

	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
)

const whole = "[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n"

// full is set where tests may take their time: TWIGWATT_FULL=1.
func full() bool { return os.Getenv("TWIGWATT_FULL") == "1" }

// readText reads a scenario named home.toml with files beside it.
func readText(text string, files map[string]string, options ...scenarios.Option) (*scenarios.Scenario, error) {
	return scenarios.Read("home.toml", func(name string) (io.ReadCloser, error) {
		if name == "home.toml" {
			return io.NopCloser(strings.NewReader(text)), nil
		}
		if file, ok := files[name]; ok {
			return io.NopCloser(strings.NewReader(file)), nil
		}
		return nil, fmt.Errorf("open %s: %w", name, os.ErrNotExist)
	}, options...)
}

func faults(t *testing.T, text string, options ...scenarios.Option) []string {
	t.Helper()
	_, err := readText(text, nil, options...)
	var all fault.Faults
	if err != nil && !errors.As(err, &all) {
		t.Fatalf("not faults: %v", err)
	}
	if err == nil {
		return nil
	}
	return strings.Split(err.Error(), "\n")
}

func TestThreeKeysAreEnough(t *testing.T) {
	s, err := readText(whole, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != "home" || len(s.Settings) < 80 {
		t.Errorf("%s, %d settings", s.Name, len(s.Settings))
	}
}

// Every fault names file, line, key, what is allowed and what was given, and all
// come at once in the order of the file.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		reason, text string
		want         []string
	}{
		{"three at once", "[load]\nkwh_per_day = 5\n[engine]\nkw = nan\n[battery]\nkwh = -3\nkwhh = 4\n", []string{
			"home.toml:4: engine.kw: must be a finite number, got NaN",
			"home.toml:6: battery.kwh: must be more than 0, at most 10000, got -3",
			"home.toml:7: battery.kwhh: no such key; did you mean battery.kwh?"}},
		{"infinity", whole + "at_hand_share = inf\n", []string{"home.toml:7: battery.at_hand_share: must be a finite number, got infinity"}},
		{"wrong types", "days = 3.5\nseed = -1\nname = 3\n" + whole + "volts = \"12\"\n", []string{
			"home.toml:1: days: must be a whole number, 1 to 3660, got 3.5",
			"home.toml:2: seed: must be a whole number, 0 to 9007199254740992, got -1",
			"home.toml:3: name: must be a text, got 3",
			"home.toml:10: battery.volts: contradicts battery.kwh on line 9: give one or the other",
			`home.toml:10: battery.volts: must be a number, got "12"`,
			"home.toml:10: battery.volts: needs battery.amp_hours beside it"}},
		{"letter case", whole + "KWH = 3\n", []string{"home.toml:7: battery.KWH: no such key; did you mean battery.kwh?"}},
		{"an unknown table once", whole + "[batery]\nkwh = 3\nvolts = 3\n", []string{"home.toml:7: batery: no such table; did you mean battery?"}},
		{"nothing needed is there", "", []string{
			"home.toml: load: needs kwh_per_year, kwh_per_day, a file or an appliance",
			"home.toml: engine.kw: is needed: more than 0, at most 100, got nothing",
			"home.toml: battery.kwh: is needed (or volts and amp_hours): more than 0, at most 10000, got nothing"}},
		{"two sizes", whole + "volts = 24\namp_hours = 600\n", []string{
			"home.toml:7: battery.volts: contradicts battery.kwh on line 6: give one or the other"}},
		{"two fuel lines", strings.Replace(whole, "kw = 2.6", "kw = 2.6\nwood_curve = [[1, 2], [2, 3]]\nwood_idle_kg_h = 1\nwood_per_kwh_kg = 1", 1), []string{
			"home.toml:6: engine.wood_idle_kg_h: contradicts engine.wood_curve on line 5: give one or the other"}},
		{"floor over ceiling", whole + "floor_pct = 80\nceiling_pct = 70\nstart_pct = 60\n", []string{
			"home.toml:7: battery.floor_pct: floor_pct (80) must be below ceiling_pct (70)"}},
		{"least over rated", strings.Replace(whole, "kw = 2.6", "kw = 2.6\nleast_kw = 3", 1), []string{
			"home.toml:5: engine.least_kw: must be at most engine.kw (2.6), got 3"}},
		{"a curve that falls", strings.Replace(whole, "kw = 2.6", "kw = 2.6\nwood_curve = [[1, 2], [2, 1]]", 1), []string{
			"home.toml:5: engine.wood_curve: wood must not fall as power rises, got 1 kg/h at 2 kW after 2 kg/h at 1 kW"}},
		{"hours that run backwards", whole + "[tending]\nhours = [\"21:00-07:00\"]\n", []string{
			`home.toml:8: tending.hours: hours must not run backwards or be empty (over midnight: write two), got "21:00-07:00"`}},
		{"eleven months", whole + "[place]\nair_c = [1,2,3,4,5,6,7,8,9,10,11]\nhumidity_pct = [70,70,70,70,70,70,70,70,70,70,70,101]\n", []string{
			"home.toml:8: place.air_c: must be twelve monthly means, January first, each -60 to 50, got 11",
			"home.toml:9: place.humidity_pct: must be twelve monthly means, January first, each 1 to 100, got 101 for month 12"}},
		{"a run too short to light", whole + "[tending]\nmin_hours_a_run = 0.25\n", []string{
			"home.toml:8: tending.min_hours_a_run: min_hours_a_run (0.25 h) must be more than light_up_minutes (20)"}},
		{"min over max", whole + "[tending]\nmax_hours_a_day = 0.5\n", []string{
			"home.toml:8: tending.max_hours_a_day: min_hours_a_run (1) must be at most max_hours_a_day (0.5; 0 means no runs)"}},
		{"same_start off the steps", whole + "[plan]\nby = \"same-hours\"\nsame_start = \"16:20\"\n", []string{
			`home.toml:9: plan.same_start: must fall on a step of 30 minutes, got "16:20"`}},
		{"a stack without an amount", whole + "[woodpile.stack.barn]\nspecies = \"ahs\"\n", []string{
			"home.toml:7: woodpile.stack.barn: needs one of dry_kg, as_is_kg, stacked_m3, solid_m3, cords, got nothing",
			`did you mean "ash"?`}},
		{"a misspelt kind", "[load]\nkwh_per_day = 5\n[engine]\nkw = -1\n[battery]\nkind = \"Lithium\"\nkwh = 12\n", []string{
			"home.toml:4: engine.kw: must be more than 0", `home.toml:6: battery.kind: must be one of "flooded", "agm", "gel", "lithium", got "Lithium"; did you mean "lithium"?`}},
		{"a value where a table belongs", "load = 3\n[engine]\nkw = 2\n[battery]\nkwh = 2\n", []string{"home.toml:1: load: is a table: its keys stand in it, like load."}},
		{"a name with a dot", whole + "[woodpile.stack.\"a.b\"]\ncords = 1\n", []string{`home.toml:7: woodpile.stack.a.b: a name must have no dot in it, got "a.b"`}},
		{"a discharge table that falls", whole + "rate_table = [[1, 50], [2, 40], [3, 30]]\n", []string{
			"home.toml:7: battery.rate_table: amp-hours must not fall as hours rise, got 40 after 50"}},
		{"a time where a date belongs", "start = 2025-03-01T10:00:00Z\n" + whole + "[tending]\nno_runs = [07:00:00]\n", []string{
			"home.toml:1: start: must be a date like 2025-01-31", "home.toml:9: tending.no_runs: must be a list of dates"}},
		{"too many stacks", whole + "[woodpile]\nrack_pct = 5\nrack_as_is_kg = 20\n" + manyStacks(23), []string{"home.toml:7: woodpile: must be at most 24 stacks, got 25"}},
		{"a list of tables", whole + "[[woodpile.stack]]\ncords = 1\n", []string{"home.toml:7: woodpile.stack: must not be a list of tables"}},
		{"an appliance without watts", whole + "[load.appliance.lamp]\nhours = \"18:00-23:00\"\n", []string{
			"home.toml:7: load.appliance.lamp.watts: is needed: 0 to 100000, got nothing"}},
		{"a chore longer than its hours", whole + "[load.chore.wash]\nkwh = 3\nkw = 1\nhours = [\"10:00-12:00\"]\n", []string{
			"home.toml:10: load.chore.wash.hours: must hold the chore, which lasts 3 h (kwh/kw); the longest of them is 2 h"}},
		{"a missing file", whole + "[other]\nfile = \"sun.csv\"\n", []string{"home.toml:8: other.file: must be a file beside the scenario: open sun.csv"}},
		{"no TOML", "[load]\nkwh_per_day = 3,5\n", []string{"home.toml:2: ", "a decimal takes a point (3.5)"}},
		{"today without a clock", "start = \"today\"\n" + whole, []string{`home.toml:1: start: "today" has no meaning here`}},
		{"a table where a number belongs", "[load]\nkwh_per_day = 5\n[engine.kw]\nx = 1\n[battery]\nkwh = 12\n", []string{
			"home.toml:3: engine.kw: must be a number, got a table"}},
	} {
		got := faults(t, c.text)
		at := 0
		for _, want := range c.want {
			found := -1
			for i := range got {
				if strings.Contains(got[i], want) {
					found = i
					break
				}
			}
			if found < 0 || found < at-1 {
				t.Errorf("%s:\nwant %s\n got %s", c.reason, want, strings.Join(got, "\n     "))
			}
			at = found
		}
	}
}

func manyStacks(n int) string {
	text := ""
	for i := range n {
		text += fmt.Sprintf("[woodpile.stack.s%d]\ncords = 1\n", i)
	}
	return text
}

func TestSetGoesThroughTheSameChecks(t *testing.T) {
	for _, c := range []struct {
		reason string
		set    []string
		want   string // of a fault; "" for none
	}{
		{"a number", []string{"battery.kwh=20"}, ""},
		{"the other way to say a size", []string{"battery.volts=24", "battery.amp_hours=700"}, ""},
		{"bare words", []string{"plan.by=top-up", "tending.hours=08:00-20:00", "plan.same_start=16:30", "start=2025-07-01", "load.away=2025-07-10..2025-07-24"}, ""},
		{"a new appliance", []string{"load.appliance.lamp.watts=40"}, ""},
		{"out of range", []string{"battery.kwh=-1"}, "--set: battery.kwh: must be more than 0, at most 10000, got -1"},
		{"no such key", []string{"batery.kwh=1"}, "--set: batery.kwh: no such key; did you mean battery.kwh?"},
		{"no value", []string{"battery.kwh"}, `--set:  must be written KEY=VALUE, got "battery.kwh"`},
		{"the later wins", []string{"battery.kwh=-1", "battery.kwh=3"}, ""},
	} {
		var options []scenarios.Option
		for _, set := range append([]string{"plan.by=same-hours"}, c.set...) {
			options = append(options, scenarios.Set(set))
		}
		got := strings.Join(faults(t, whole, options...), "\n")
		if strings.ReplaceAll(got, ": must be written", ":  must be written") != c.want && got != c.want {
			t.Errorf("%s: got %q, want %q", c.reason, got, c.want)
		}
	}
}

func TestTodayIsTheDayItIsGiven(t *testing.T) {
	day, _ := calendar.ParseDate("2024-02-29")
	s, err := readText("start = \"today\"\n"+whole, nil, scenarios.Today(day))
	if err != nil || s.House.Span.Start != day {
		t.Errorf("%v %v", s, err)
	}
}

func TestTemplatePassesItsOwnChecks(t *testing.T) {
	s, err := readText(scenarios.Template(), nil)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := readText("[load]\nkwh_per_day = 5.5\n[engine]\nkw = 2.6\n[battery]\nkwh = 14.4\n", nil)
	if err != nil {
		t.Fatal(err)
	}
	force := func(s *scenarios.Scenario) map[string]string {
		all := map[string]string{}
		for _, setting := range s.Settings {
			all[setting.Key] = setting.InForce()
		}
		return all
	}
	if diff := cmp.Diff(force(plain), force(s)); diff != "" {
		t.Errorf("the template changes defaults (-plain +template):\n%s", diff)
	}
}

// A default that the manual writes as a value is that value, and is in its range.
func TestManualDefaultsAreTheDefaults(t *testing.T) {
	s, err := readText(whole, nil)
	if err != nil {
		t.Fatal(err)
	}
	inForce := map[string]*scenarios.Setting{}
	for _, setting := range s.Settings {
		inForce[setting.Key] = setting
	}
	for _, manual := range scenarios.Manual() {
		if manual.Meaning == "" || manual.Source == "" || manual.Allowed() == "" {
			t.Errorf("%s: meaning %q, source %q, allowed %q", manual.Key, manual.Meaning, manual.Source, manual.Allowed())
		}
		setting := inForce[manual.Key]
		if setting == nil || setting.Given {
			continue // the household's own names
		}
		var raw map[string]any
		if _, err := toml.Decode("x = "+manual.Default, &raw); err != nil || manual.Default == "" {
			continue // in words
		}
		if manual.Default != setting.InForce() {
			t.Errorf("%s: the manual says %s, in force is %s", manual.Key, manual.Default, setting.InForce())
		}
	}
}

func TestWarnings(t *testing.T) {
	week := "time,kw\n"
	for day := 6; day < 13; day++ {
		for hour := range 24 {
			week += fmt.Sprintf("2025-01-%02dT%02d:00,0.2\n", day, hour)
		}
	}
	for _, c := range []struct{ code, text string }{
		{"inverter_not_judged", whole},
		{"inverter_small", whole + "[load.appliance.kettle]\nwatts = 4500\n"},
		{"charge_efficiency_low", whole + "charge_efficiency_pct = 55\n"},
		{"engine_implausible", strings.Replace(whole, "kw = 2.6", "kw = 6\ndisplacement_cc = 660\nrpm = 1500", 1)},
		{"weeks_repeated", strings.Replace(whole, "kwh_per_day = 5", "file = \"week.csv\"", 1)},
		{"moisture_assumed", whole + "[woodpile.stack.a]\ncords = 1\n"},
		{"seasons_disagree", whole + "[place]\nclimate = \"foveaux-strait\"\n"},
		{"seasons_disagree", whole + "[place]\nlatitude = -44\n"},
		{"same_hours_cut", whole + "[tending]\nhours = [\"08:00-20:00\"]\n[plan]\nby = \"same-hours\"\n"},
		{"same_hours_rounded", "step_minutes = 60\n" + whole + "[plan]\nby = \"same-hours\"\nsame_start = \"16:00\"\n"},
		{"chores_unplaced", whole + "[load.chore.wash]\nkwh = 1\nkw = 1\nhours = [\"10:00-11:00\"]\ntimes_per_week = 70\n"},
		{"chores_unplaced", whole + "[load.chore.wash]\nkwh = 3\nkw = 1\nhours = [\"10:00-13:00\"]\ntimes_per_week = 14\n[plan]\nby = \"same-hours\"\n"},
	} {
		s, err := readText(c.text, map[string]string{"week.csv": week})
		if err != nil {
			t.Errorf("%s: %v", c.code, err)
			continue
		}
		found := false
		for _, w := range s.Warnings {
			found = found || w.Code == c.code
		}
		if !found {
			t.Errorf("no %s among %v", c.code, s.Warnings)
		}
	}
	quiet, err := readText("[load.appliance.lamp]\nwatts = 200\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n", nil)
	if err != nil || len(quiet.Warnings) != 0 {
		t.Errorf("%v, %v", quiet, err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(whole)
	f.Add(scenarios.Template())
	f.Add("\"\\") // the TOML library loses the place
	f.Add("[load.appliance.\"a.b\"]\nwatts=1\n[load.chore.x]\n[[plan]]\n")
	f.Add("days = 10\nstart=1979-05-27T07:32:00Z\n" + whole + "rate_table=[[1,2],[2,3],[3,4]]\nkind='lithium'\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := readText(text, nil)
		if err != nil {
			var all fault.Faults
			if !errors.As(err, &all) || len(all) == 0 {
				t.Fatalf("not faults: %v", err)
			}
			for _, fault := range all {
				if !strings.HasPrefix(fault.String(), "home.toml") {
					t.Fatalf("does not name the file: %s", fault)
				}
			}
			return
		}
		if h := s.House; !(h.Bank.FullKWh > 0) || len(h.Days) != h.Span.Days || len(s.Demand.LoadKW) != h.Span.Steps() {
			t.Fatalf("half a household: %+v", h.Spec)
		}
	})
}

// What is nested no deeper than a household writes is read, whatever stands in its
// texts, comments and lists.
func TestLimitsLeaveAHouseholdAlone(t *testing.T) {
	dots := strings.Repeat(".", 40)
	for _, text := range []string{
		whole + "# " + dots + " the house " + dots + " [[[[[[[[[[[[[[[[[[[[\n",
		"name = \"[[[[[[[[[[[[[[[[[[ " + dots + "\"\n" + whole,
		"name = 'a # b ... ................. c'\n" + whole,
		whole + "[tending]\nno_runs = [\n  \"2025-01-10..2025-01-11\", \"2025-01-12..2025-01-13\", \"2025-01-14..2025-01-15\", \"2025-01-16..2025-01-17\", \"2025-01-18..2025-01-19\",\n" +
			"  \"2025-02-10..2025-02-11\", \"2025-02-12..2025-02-13\", \"2025-02-14..2025-02-15\", \"2025-02-16..2025-02-17\",\n]\n",
		strings.Replace(whole, "kw = 2.6", "kw = 2.6\nwood_curve = [\n  [0.1, 1.1], [0.2, 1.2], [0.3, 1.3], [0.4, 1.4], [0.5, 1.5], [0.6, 1.6], [0.7, 1.7], [0.8, 1.8], [0.9, 1.9], [1.0, 2.0],\n]", 1),
	} {
		if _, err := readText(text, nil); err != nil {
			t.Errorf("%v\n%s", err, text)
		}
	}
	for set, want := range map[string]string{
		"name='a # b'": "a # b", `name="c # d"`: "c # d", "name=e f": "e f",
	} {
		s, err := readText(whole, nil, scenarios.Set(set))
		if err != nil || s.Name != want {
			t.Errorf("--set %s: %v, %v, want the name %q", set, s, err, want)
		}
	}
	for _, set := range []string{"load.appliance.joe's.watts=40", `load.appliance."a=b".watts=5`, `load.appliance."a b".watts=5`,
		"engine.wood_curve=[[0.1, 1.1], [0.2, 1.2], [0.3, 1.3], [0.4, 1.4], [0.5, 1.5], [0.6, 1.6], [0.7, 1.7], [0.8, 1.8], [0.9, 1.9]]"} {
		if _, err := readText(whole, nil, scenarios.Set(set)); err != nil {
			t.Errorf("--set %s: %v", set, err)
		}
	}
}

// What is nested deeper, or named more often, is refused at once.
func TestLimits(t *testing.T) {
	for text, want := range map[string]string{
		"x = " + strings.Repeat("{a=", 17) + "1" + strings.Repeat("}", 17) + "\n": "nested no more than 16 deep",
		strings.Repeat("a.", 17) + "a = 1\n":                                      "nested no more than 16 deep",
		"[" + strings.Repeat("a.", 17) + "a]\n":                                   "nested no more than 16 deep",
		whole + appliances("load.chore", 31, "kwh = 1\nkw = 1"):                   "load.chore: must be at most 30 of them",
		whole + appliances("load.appliance", 201, "watts = 1"):                    "load.appliance: must be at most 200 of them",
		"[load.appliance.\"a\\u0007b\"]\nwatts = 1\n" + whole:                     "a name must be 1 to 60",
	} {
		if _, err := readText(text, nil); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.60q: %v, want %q", text, err, want)
		}
	}
}

func appliances(table string, n int, keys string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "[%s.a%d]\n%s\n", table, i, keys)
	}
	return b.String()
}
