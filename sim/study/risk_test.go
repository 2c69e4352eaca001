package study_test

import (
	"math"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"twigwatt/scenarios"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// riskOf takes a household through spans of luck.
func riskOf(t *testing.T, s *scenarios.Scenario, years int) *study.RiskAnswer {
	t.Helper()
	r, err := study.Risk(t.Context(), s.Household, s.Rule, study.RiskOptions{Years: years})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// noLuck turns all luck but the load's swing off.
var noLuck = []string{"luck.set_daily_pct=0", "luck.load_year_pct=0", "luck.moisture_points=0", "luck.fail_to_light_pct=0", "luck.repair_days=0"}

const withAll = home + `
[load.chore.washing]
kwh = 1.2
kw = 0.9
times_per_week = 3
hours = ["08:00-19:00"]
[woodpile.stack.shed]
as_is_kg = 900
moisture_pct = 17
piece = "split"
`

// TestRiskWithoutLuckIsThePlainYear compares every plan, chores and a pile that
// runs out among it. With the swing alone, the first span has the days of the
// plain one.
func TestRiskWithoutLuckIsThePlainYear(t *testing.T) {
	for _, by := range []string{"chosen", "same-hours", "top-up"} {
		for _, swing := range []string{"0", "25"} {
			s := read(t, withAll, append(noLuck, "days="+quick("40", "100"), "woodpile.stack.shed.as_is_kg="+quick("500", "900"), "start=2025-11-01", "step_minutes=60", "plan.by="+by, "plan.same_start=16:00", "plan.same_hours=5",
				"load.daily_swing_pct="+swing, "battery.full_every_days=6")...)
			year, _ := run(t, s)
			r := riskOf(t, s, 1)
			for _, figure := range []struct {
				name      string
				got, want float64
			}{{"wood", r.All.WoodDryKg.P50, year.Total.BurnedDryKg}, {"hours", r.All.AttendedH.Worst, year.Total.AttendedH},
				{"days short", r.All.ShortDays.P10, float64(year.Shortage.Days)}, {"kWh short", r.All.ShortKWh.P90, year.Total.ShortfallKWh}} {
				if swing != "0" && by == "chosen" {
					continue // the chores are done when the span without luck does them
				}
				if math.Abs(figure.got-figure.want) > 1e-6 {
					t.Errorf("%s, swing %s, %s: got %v, want %v as the plain span has it", by, swing, figure.name, figure.got, figure.want)
				}
			}
			if got, want := r.NoDarkShare == 1, year.Shortage.Days == 0; got != want {
				t.Errorf("%s: without a short day is %v, the plain span %v", by, got, want)
			}
		}
	}
	s := read(t, home, append(noLuck, "days=60", "step_minutes=60", "plan.by=chosen", "load.daily_swing_pct=25")...)
	year, _ := run(t, s)
	if r := riskOf(t, s, 1); math.Abs(r.All.WoodDryKg.P50-year.Total.BurnedDryKg) > 1e-6 || math.Abs(r.All.ShortKWh.P50-year.Total.ShortfallKWh) > 1e-6 {
		t.Errorf("chosen with swings: got %+v, want wood %v and short %v", r.All, year.Total.BurnedDryKg, year.Total.ShortfallKWh)
	}
}

func TestRiskIsTheSameOnAnyNumberOfCores(t *testing.T) {
	const years = 40
	s := read(t, withAll, "days="+quick("16", "50"), "step_minutes=60", "plan.by=chosen", "load.daily_swing_pct=20", "luck.fail_to_light_pct=20")
	many := riskOf(t, s, years)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if diff := cmp.Diff(many, riskOf(t, s, years), cmpopts.IgnoreFields(study.RiskAnswer{}, "Household")); diff != "" {
		t.Errorf("one core against all:\n%s", diff)
	}
}

// TestSpansDependOnTheirOwnSeeds: a span is the same alone as among others, across
// the batches they are worked in.
func TestSpansDependOnTheirOwnSeeds(t *testing.T) {
	s := read(t, home, "days=10", "step_minutes=60", "plan.same_start=16:00", "load.daily_swing_pct=20", "luck.fail_to_light_pct=20")
	all := riskOf(t, s, 300)
	worst := 0.0
	for year := range 300 {
		one := *s
		one.Household = seeded(s.Household, uint64(1+year))
		worst = max(worst, riskOf(t, &one, 1).All.WoodDryKg.P50)
	}
	if all.All.WoodDryKg.Worst != worst {
		t.Errorf("most wood: got %v together, %v one by one", all.All.WoodDryKg.Worst, worst)
	}
}

func TestRepairsBarRuns(t *testing.T) {
	s := read(t, home, append(noLuck, "days=30", "step_minutes=60", "plan.by=chosen", "luck.repair_days=365")...)
	if r := riskOf(t, s, 3); r.All.AttendedH.Worst != 0 {
		t.Errorf("broken all along, the set ran %v h", r.All.AttendedH.Worst)
	}
	s = read(t, home, append(noLuck, "days="+quick("120", "365"), "step_minutes=60", "plan.by=chosen", "luck.repair_days=6")...)
	r := riskOf(t, s, 20)
	if len(r.Causes) != 1 || r.Causes[0].Cause != study.ByRepairs {
		t.Fatalf("causes: got %+v, want repairs alone", r.Causes)
	}
	if r.All.AttendedH.Worst >= r.Plain.AttendedH+8 || r.Causes[0].ShortKWh <= 0 {
		t.Errorf("six days of repair: attended %+v against %v without, %v kWh more short", r.All.AttendedH, r.Plain.AttendedH, r.Causes[0].ShortKWh)
	}
}

// TestEachCauseCanHurt raises each cause alone and looks for what it must do.
func TestEachCauseCanHurt(t *testing.T) {
	for key, cause := range map[string]study.Cause{"load.daily_swing_pct=40": study.BySwing, "luck.load_year_pct=40": study.ByLoadYear,
		"luck.moisture_points=12": study.ByMoisture, "luck.fail_to_light_pct=60": study.ByFailedLights, "luck.repair_days=200": study.ByRepairs} {
		s := read(t, home, append(append(noLuck, "days=60", "step_minutes=60", "plan.by=chosen", "tending.max_hours_a_day=5"), key)...)
		r := riskOf(t, s, 25)
		if len(r.Causes) != 1 || r.Causes[0].Cause != cause || r.Causes[0].PriceKg <= 0 {
			t.Errorf("%s: got %+v, want cause %d dearer than no luck", key, r.Causes, cause)
		}
	}
}

// TestStackIsTheNeedNotTheBurned: where wood runs out, what was burned does not
// tell what was needed.
func TestStackIsTheNeedNotTheBurned(t *testing.T) {
	s := read(t, withAll, "days="+quick("60", "120"), "step_minutes=60", "plan.by=chosen")
	r := riskOf(t, s, quick(4, 10))
	if r.RunsOutShare != 1 || r.Stack.DryKg <= r.All.WoodDryKg.Worst {
		t.Errorf("runs out in %v of spans, stack %v kg, burned at most %v", r.RunsOutShare, r.Stack.DryKg, r.All.WoodDryKg.Worst)
	}
}

// Luck is not known beforehand: a household that plans for known days does not here, and is
// warned.
func TestRiskDoesNotForeseeItsLuck(t *testing.T) {
	set := []string{"days=8", "step_minutes=60", "plan.by=chosen", "load.daily_swing_pct=30"}
	exact, typical := riskOf(t, read(t, home, append(set, "plan.foresight=exact")...), 3), riskOf(t, read(t, home, set...), 3)
	if exact.All != typical.All || exact.Rule.Foresight != plan.Typical {
		t.Errorf("planned with foresight %s: %+v, with typical %+v", exact.Rule.Foresight, exact.All, typical.All)
	}
	codes := func(r *study.RiskAnswer) (n int) {
		for _, w := range r.Warnings {
			if w.Code == "typical_foresight" {
				n++
			}
		}
		return n
	}
	if codes(exact) != 1 || codes(typical) != 0 {
		t.Errorf("warned %d and %d times", codes(exact), codes(typical))
	}
}
