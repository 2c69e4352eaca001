package study_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// evening is a minute with a charge in percent; not lit.
func evening(s *scenarios.Scenario, minute int, socPct float64) study.Evening {
	return study.Evening{Minute: minute, StoredKWh: socPct / 100 * s.Bank.FullKWh, LitMinute: -1, Days: 1, HoursSoFar: -1}
}

func sheet(t *testing.T, s *scenarios.Scenario, e study.Evening) *study.Sheet {
	t.Helper()
	got, err := study.Day(t.Context(), s.Household, s.Rule, e)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// recorded runs a scenario's span and keeps its steps.
func recorded(t *testing.T, s *scenarios.Scenario) *sim.Record {
	t.Helper()
	c, _, err := s.Rule.Rationing(t.Context(), s.Household, plan.Beginning{})
	if err != nil {
		t.Fatal(err)
	}
	record := sim.NewRecord(s.House)
	if _, err := sim.Run(t.Context(), s.Household, c, record.Step); err != nil {
		t.Fatal(err)
	}
	return record
}

// TestSheetIsTheFirstDaysOfTheYear: from the same state, every plan, chores and a
// pile among it; and from within the first day, in the state the span had then.
func TestSheetIsTheFirstDaysOfTheYear(t *testing.T) {
	const days = 5
	for _, by := range []string{"chosen", "same-hours", "top-up"} {
		s := read(t, withAll, "days=60", "start=2025-01-08", "step_minutes=60", "battery.start_pct=72", "plan.by="+by, "plan.same_start=16:00", "plan.same_hours=4", "tending.max_starts_a_day=2")
		record := recorded(t, s)
		step, perDay := s.House.Span.StepMinutes, s.House.Span.StepsADay()
		for _, ofDay := range []int{0, 13} {
			if ofDay > 0 && by == "chosen" {
				continue // the chores of a sheet that begins at noon are placed anew
			}
			socPct := 72.0
			if ofDay > 0 {
				socPct = 100 * float64(record.Stored[ofDay-1]) / s.House.Bank.FullKWh
			}
			e := evening(s, ofDay*step, socPct)
			e.Days = days
			compare(t, by+" from "+calendar.Clock(ofDay*step), sheet(t, s, e), record, ofDay, days*perDay)
		}
	}
	s := read(t, home, "days=60", "start=2025-01-08", "step_minutes=30", "plan.by=chosen", "engine.hopper_as_is_kg=60") // no hopper is opened
	record := recorded(t, s)
	for _, ofDay := range []int{0, 20, 30} {
		socPct := 80.0
		if ofDay > 0 {
			socPct = 100 * float64(record.Stored[ofDay-1]) / s.House.Bank.FullKWh
		}
		e := evening(s, ofDay*30, socPct)
		e.Days = 3
		if len(record.Runs[0]) > 0 && record.Runs[0][0].First < ofDay {
			continue // that day's run is over or under way
		}
		compare(t, "half-hourly from "+calendar.Clock(ofDay*30), sheet(t, s, e), record, ofDay, 3*48)
	}
}

func compare(t *testing.T, name string, got *study.Sheet, record *sim.Record, from, to int) {
	t.Helper()
	step, perDay := record.House.Span.StepMinutes, record.House.Span.StepsADay()
	var runs, wanted [][2]int
	for _, r := range got.Runs {
		runs = append(runs, [2]int{r.Match, r.Stop})
	}
	for day := range to / perDay {
		for _, r := range record.Runs[day] {
			if at := day*perDay + r.First; at >= from {
				wanted = append(wanted, [2]int{at * step, (day*perDay + r.After) * step})
			}
		}
	}
	if diff := cmp.Diff(wanted, runs); diff != "" {
		t.Errorf("%s: runs against the span's:\n%s", name, diff)
	}
	for i := from; i < to; i++ {
		want := 100 * float64(record.Stored[i]) / record.House.Bank.FullKWh
		if pct := got.PctAt((i + 1) * step); math.Abs(pct-want) > 1e-4 { // kept in single precision
			t.Errorf("%s: %.5f %% at the end of step %d, want %.5f", name, pct, i, want)
			return
		}
	}
}

const simple = `
days = 3
start = 2025-01-08
step_minutes = 60
[load]
daily_swing_pct = 0
[load.appliance.steady]
watts = 250
[engine]
kw = 2
least_kw = 2
wood_idle_kg_h = 1
wood_per_kwh_kg = 1
light_up_minutes = 30
light_up_kg = 2
rated_moisture_pct = 20
hopper_as_is_kg = 5
[tending]
hours = ["16:00-22:00"]
[battery]
kind = "lithium"
kwh = 20
floor_pct = 10
charge_efficiency_pct = 100
discharge_efficiency_pct = 100
self_discharge_pct_month = 0
charger_efficiency_pct = 100
inverter_efficiency_pct = 100
inverter_idle_w = 0
temperature_effects = false
charger_kw = 4
max_charge_kw = 4
[plan]
by = "same-hours"
same_start = "16:00"
same_hours = 5
`

// Worked: 2 kg of oven-dry wood light up in 30 minutes, 2.5 kg as it lies at 20 %;
// the engine burns 1 + 1·2 = 3 kg/h, 3.75 as it lies. A hopper of 5 kg is empty
// (5 − 2.5)/3.75 h = 40 minutes after the engine takes over, at 17:10; then every
// 80 minutes: 18:30, 19:50; at 21:10 the run is over. All that burns is
// 2.5 + 4.5·3.75 = 19.375 kg. From 13:40 to 16:00 the house draws 0.25 kW, 2.9167 of
// 100 percent of 20 kWh; the bank then gains 2·4.5 − 0.25·5 = 7.75 kWh by 21:00.
func TestSheetByHand(t *testing.T) {
	s := read(t, simple)
	got := sheet(t, s, evening(s, 13*60+40, 50))
	if len(got.Runs) != 1 {
		t.Fatalf("got %d runs", len(got.Runs))
	}
	r := got.Runs[0]
	want := study.SheetRun{Match: 16 * 60, EngineOn: 16*60 + 30, Stop: 21 * 60, Refuel: []study.Refuel{{Minute: 17*60 + 10, AsIsKg: 5}, {Minute: 18*60 + 30, AsIsKg: 5}, {Minute: 19*60 + 50, AsIsKg: 4.375}}, WoodAsIsKg: 19.375, WoodDryKg: 15.5, MadeKWh: 9, EngineH: 4.5, CondensateL: r.CondensateL}
	if diff := cmp.Diff(want, r, near6); diff != "" {
		t.Errorf("the run:\n%s", diff)
	}
	for minute, pct := range map[int]float64{13*60 + 40: 50, 14 * 60: 50 - 0.25/3*5, 16 * 60: 50 - 0.25*7/3*5, 16*60 + 30: 50 - 0.25*7/3*5 - 0.625, 21 * 60: 50 - 0.25*7/3*5 + 7.75*5} {
		if math.Abs(got.PctAt(minute)-pct) > 1e-9 {
			t.Errorf("charge at %s: got %.4f %%, want %.4f", calendar.Clock(minute), got.PctAt(minute), pct)
		}
	}
	// the tending hours begin in the afternoon: the morning is at seven
	if m := got.Mornings[0]; m.Minute != 1440+7*60 || math.Abs(m.Pct-(50-0.25*7/3*5+7.75*5-10*0.25*5)) > 1e-9 {
		t.Errorf("morning: got %+v", m)
	}
	if k := got.Skip; k == nil || k.Draws != 200 || k.Dark != 0 || math.Abs(k.MorningPct-(50-(17+1.0/3)*0.25*5)) > 1e-9 {
		t.Errorf("skipped: got %+v", k)
	}
}

var near6 = cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-6 })

// Worked: lit at 16:10 and asked at 16:40, the engine takes over at 16:40; by 17:00
// it has made 20 minutes of 2 kW, and burned 1.25 kg. So far 2.5 kg and by 17:00 1.25 kg are burned as it
// lies: the hopper of 5 is empty 20 minutes later. Tending ends at 22:00, the plan's
// hours at 21:00.
func TestSheetOfARunThatBurns(t *testing.T) {
	s := read(t, simple)
	e := evening(s, 16*60+40, 50)
	e.LitMinute = 16*60 + 10
	got := sheet(t, s, e)
	if len(got.Runs) != 1 || got.Skip != nil {
		t.Fatalf("got %+v", got)
	}
	r := got.Runs[0]
	if !r.Lit || r.Match != 16*60+10 || r.EngineOn != 16*60+40 || r.Stop != 21*60 || math.Abs(r.WoodAsIsKg-(1.25+4*3.75)) > 1e-9 || math.Abs(r.MadeKWh-(2.0/3+8)) > 1e-9 || math.Abs(got.BringKg-(5+5+3.75)) > 1e-9 || r.Refuel[0].Minute != 17*60+20 {
		t.Errorf("got %+v", r)
	}
	if got, want := got.PctAt(17*60), 50+1.75/3*5; math.Abs(got-want) > 1e-9 {
		t.Errorf("charge at 17:00: got %v, want %v", got, want)
	}
}

// TestSkippingHurts: a small bank with swings goes dark more often without the run.
func TestSkippingHurts(t *testing.T) {
	s := read(t, simple, "battery.kwh=9", "load.daily_swing_pct=50")
	k := sheet(t, s, evening(s, 14*60, 90)).Skip
	if k.Dark <= k.DarkRuns || k.Dark == k.Draws || k.SwingShare != 0.5 {
		t.Errorf("got %+v, want some of 200, and more without the run", k)
	}
	if again := sheet(t, s, evening(s, 14*60, 90)).Skip; *again != *k {
		t.Errorf("the same draws gave %+v and %+v", k, again)
	}
}

// TestAnyEveningHasASheet: whatever the hour, whatever burns and has burned, there
// is a sheet within the rules.
func TestAnyEveningHasASheet(t *testing.T) {
	texts := []string{home, withAll, simple}
	rapid.Check(t, func(rt *rapid.T) {
		step := rapid.SampledFrom([]string{"10", "20", "60"}).Draw(rt, "step")
		s := read(t, rapid.SampledFrom(texts).Draw(rt, "home"), "days=16", "start=2025-01-08", "step_minutes="+step, "plan.same_start=16:00", "plan.by="+rapid.SampledFrom([]string{"chosen", "same-hours", "top-up"}).Draw(rt, "plan"),
			"tending.max_starts_a_day="+rapid.SampledFrom([]string{"1", "2"}).Draw(rt, "starts"), "tending.max_hours_a_day="+strconv.Itoa(rapid.IntRange(2, 9).Draw(rt, "most")),
			"tending.min_hours_a_run="+rapid.SampledFrom([]string{"1", "2"}).Draw(rt, "least"), "battery.floor_pct=30")
		e := evening(s, rapid.IntRange(0, 1439).Draw(rt, "minute"), rapid.Float64Range(0, 100).Draw(rt, "soc"))
		if rapid.Bool().Draw(rt, "lit") {
			e.LitMinute = rapid.IntRange(max(0, e.Minute-300), e.Minute).Draw(rt, "lit at")
		}
		e.HoursToday = max(0, rapid.Float64Range(-5, 12).Draw(rt, "today"))
		e.SinceFull = rapid.IntRange(0, 40).Draw(rt, "since full")
		e.Days = rapid.IntRange(1, 2).Draw(rt, "days")
		got, err := study.Day(t.Context(), s.Household, s.Rule, e)
		if err != nil {
			rt.Fatal(err)
		}
		last := -1
		for _, r := range got.Runs {
			if r.Stop < r.Match || r.Match < last || !r.Lit && r.Match < e.Minute {
				rt.Fatalf("runs %+v", got.Runs)
			}
			last = r.Stop
			for _, at := range r.Refuel {
				if at.Minute < e.Minute || at.Minute > r.Stop {
					rt.Fatalf("refuel %+v in %+v", at, r)
				}
			}
		}
		if len(got.Mornings) != e.Days {
			rt.Fatalf("mornings %+v", got.Mornings)
		}
	})
}

// Worked: by 14:00 the house has taken 2.5 kWh since 07:00, where 1.75 were expected (7 h of
// 0.25 kW): the day is taken to want more, and the charge falls so much faster until the run.
func TestAnEarlierReadingMovesTheDay(t *testing.T) {
	s := read(t, simple, "plan.by=chosen", "load.daily_swing_pct=30", "start=2025-01-08", "days=3")
	e := evening(s, 14*60, 50)
	e.Earlier = &study.Reading{Minute: 7 * 60, StoredKWh: 0.5*20 + 2.5}
	got := sheet(t, s, e)
	if got.Taken == nil || math.Abs(got.Taken.KWh-2.5) > 1e-9 || math.Abs(got.Taken.ExpectedKWh-1.75) > 1e-9 || got.Taken.SinceMinute != 420 {
		t.Fatalf("taken %+v", got.Taken)
	}
	if !(got.MorePct > 10 && got.MorePct < 43) { // no more than the reading says
		t.Errorf("the day is taken to want %g %% more", got.MorePct)
	}
	if fell, want := got.PctAt(14*60)-got.PctAt(15*60), 1.25*(1+got.MorePct/100); math.Abs(fell-want) > 1e-9 {
		t.Errorf("the charge falls by %g points in an hour, want %g", fell, want)
	}
	usual := sheet(t, s, evening(s, 14*60, 50))
	if usual.Taken != nil || usual.MorePct != 0 || math.Abs(usual.PctAt(14*60)-usual.PctAt(15*60)-1.25) > 1e-9 {
		t.Errorf("without it: %+v, %g %% more", usual.Taken, usual.MorePct)
	}
}

// Readings that cannot both be right are refused.
func TestEarlierReadingsThatCannotBe(t *testing.T) {
	s := read(t, simple, "battery.inverter_kw=0.5")
	sun := read(t, simple, "battery.inverter_kw=0.5")
	for i := range sun.Demand.ExpectedOtherKW {
		sun.Demand.ExpectedOtherKW[i] = 0.1
	}
	for _, c := range []struct {
		reason  string
		s       *scenarios.Scenario
		fellKWh float64 // in two hours
		right   bool
	}{{"as expected", s, 0.5, true}, {"all that the inverter gives", s, 0.99, true}, {"more than that", s, 1.01, false},
		{"no change", s, 0, true}, {"a rise", s, -0.1, false}, {"a rise with another source", sun, -0.1, true}} {
		e := evening(c.s, 14*60, 50)
		e.Earlier = &study.Reading{Minute: 12 * 60, StoredKWh: e.StoredKWh + c.fellKWh}
		if err := study.CheckEarlier(c.s.Household, e); (err == nil) != c.right {
			t.Errorf("%s: %v", c.reason, err)
		}
	}
	if err := study.CheckEarlier(s.Household, evening(s, 14*60, 50)); err != nil {
		t.Errorf("no earlier reading: %v", err)
	}
}
