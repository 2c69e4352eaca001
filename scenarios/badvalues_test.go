package scenarios_test

import (
	"errors"
	"math"
	"regexp"
	"strings"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/fault"
)

// badValues are values that a key may be given by mistake.
var badValues = []struct {
	toml  string
	never bool // no key takes it
}{
	{`nan`, true}, {`inf`, true}, {`-inf`, true}, {`1e300`, true}, {`-1e300`, true}, {`9223372036854775807`, true}, {`-1`, false}, {`0`, false}, {`1e-300`, false}, {`0.0001`, false}, {`0.001`, false}, {`0.01`, false}, {`0.5`, false},
	{`1`, false}, {`true`, false}, {`""`, true}, {`"  "`, true}, {`"x"`, false}, {`"3,5"`, false}, {`"a\nb"`, false}, {`"\u0000"`, false}, {`[]`, false}, {`[[]]`, true}, {`[1]`, true}, {`["x"]`, true},
	{`[nan, 1]`, true}, {`[[nan, 1], [2, 3]]`, true}, {`[[1, 2], [1, 3]]`, true}, {`[[1, 50], [2, 60], [3, 70]]`, false}, {`[[1e9, 1e9], [2e9, 2e9], [3e9, 3e9]]`, true},
	{`[0,0,0,0,0,0,0,0,0,0,0,0]`, false}, {`[1,2,3,4,5,6,7,8,9,10,11,nan]`, true}, {`{ a = 1 }`, true}, {`[{ a = 1 }]`, true}, {`2025-02-28`, false}, {`2025-02-28T10:00:00Z`, false}, {`07:32:00`, false},
	{`"2025-02-30"`, false}, {`["2025-02-30"]`, true}, {`["2025-03-01..2025-02-01"]`, true}, {`["24:00-25:00"]`, true}, {`["08:00-08:00"]`, true}, {`["mon-moonday"]`, true}, {`["2025-01-01..2025-12-31"]`, false},
}

// partners are what a key's table needs beside it.
func partners(key string) (table string, rest []string) {
	for name, needed := range map[string][]string{"load.appliance": {"watts=40"}, "load.chore": {"kwh=1", "kw=1"}, "woodpile.stack": {"dry_kg=500"}, "woodpile.cut": {"on=\"03-15\"", "dry_kg=500"}} {
		if strings.HasPrefix(key, name+".NAME.") {
			for _, n := range needed {
				rest = append(rest, name+".x."+n)
			}
			return name + ".x." + strings.TrimPrefix(key, name+".NAME."), rest
		}
	}
	return key, nil
}

// goWords are what a household should never be shown.
var goWords = regexp.MustCompile(`\b(int64|float64|uint|bool|string|struct|interface|nil|map\[|\[\]|strconv|parsing|runtime error|%!)`)

// Every key with every bad value, each fifth pair of them unless TWIGWATT_FULL=1: refused,
// each fault on a line of its own that names the key, or taken, and then two days run and
// balance.
func TestBadValues(t *testing.T) {
	const base = "days = 2\n[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n[plan]\nby = \"same-hours\"\n"
	taken, refused, tried := 0, 0, 0
	every := 5
	if full() {
		every = 1
	}
	for _, s := range scenarios.Manual() {
		key, options := partners(s.Key)
		for _, bad := range badValues {
			if tried++; tried%every > 0 {
				continue
			}
			var set []scenarios.Option
			for _, o := range append(options, key+"="+bad.toml) {
				set = append(set, scenarios.Set(o))
			}
			house, err := readText(base, nil, set...)
			var faults fault.Faults
			switch {
			case err == nil && (bad.never || !mayHold(s.Allowed(), bad.toml)):
				t.Errorf("%s = %s was taken: wants %s", key, bad.toml, s.Allowed())
			case err == nil:
				taken++
				runs(t, key+" = "+bad.toml, house)
			case !errors.As(err, &faults):
				t.Errorf("%s = %s: no fault of the scenario: %v", key, bad.toml, err)
			default:
				refused++
				for _, fault := range faults {
					if text := fault.String(); strings.ContainsAny(text, "\n\x00") || goWords.MatchString(text) || fault.Key == "" || len(text) > 900 {
						t.Errorf("%s = %s: %q", key, bad.toml, text)
					}
				}
			}
		}
	}
	if taken < 300/every || refused < 3000/every {
		t.Errorf("%d taken and %d refused: the test sees too little", taken, refused)
	}
}

// mayHold reports whether a key that wants a text, a flag or a number may hold a
// value of that kind.
func mayHold(allowed, toml string) bool {
	switch {
	case allowed == "a text":
		return strings.HasPrefix(toml, `"`) || strings.HasPrefix(toml, "2025") || strings.HasPrefix(toml, "07") // --set takes a bare word as a text
	case allowed == "true or false":
		return toml == "true" || toml == "false"
	case toml == "true":
		return false
	}
	return true
}

func runs(t *testing.T, what string, s *scenarios.Scenario) {
	t.Helper()
	books, err := sim.Run(t.Context(), s.Household, chooser(t, s), nil)
	if err != nil {
		t.Errorf("%s: %v", what, err)
		return
	}
	sum := sim.Summarize(s.Household, books)
	for _, x := range []float64{sum.Total.LoadKWh, sum.Total.EngineKWh, sum.Total.ShortfallKWh, sum.Total.BurnedDryKg, sum.Bank.LowestPct, sum.Bank.EndKWh, sum.Price.TotalKg(), sum.Bank.LifeLowYears, sum.Bank.LifeHighYears} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("%s: %g among the answers", what, x)
		}
	}
	if g := sum.Books; !(max(g.WorstStepKWh, g.WorstDayKWh, g.WorstStepKg, g.WorstDayKg) < 1e-6) {
		t.Errorf("%s: the books miss %+v", what, g)
	}
}
