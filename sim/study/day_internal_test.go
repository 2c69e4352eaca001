package study

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/testdata/worked"
)

// Worked: of 126.5 engine hours so far ash falls due at 128, 1.5 h after the engine
// takes over at 16:30; oil each 100 h does not. At just 128 it is due before the match.
func TestServiceByHand(t *testing.T) {
	s := &Sheet{Runs: []SheetRun{{Match: 16 * 60, EngineOn: 16*60 + 30, Stop: 21 * 60, EngineH: 4.5}}}
	services := []sim.Service{{Name: "ash", EveryH: 8}, {Name: "oil", EveryH: 100}}
	if diff := cmp.Diff([]ServiceDue{{Name: "ash", AtH: 128, Minute: 18 * 60}}, s.due(services, 126.5)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]ServiceDue{{Name: "ash", AtH: 128, Minute: 16 * 60}}, s.due(services, 128)); diff != "" {
		t.Error(diff)
	}
	if got := s.due(services, 0); got != nil {
		t.Errorf("a new set wants %+v", got)
	}
	// two runs of 4.5 h from 95.5 h on: 96 within the first; 100 is reached as the first
	// ends, and is due before the second; 104 within the second, 4 h after its engine
	// takes over
	two := &Sheet{Runs: []SheetRun{s.Runs[0], {Match: 1440 + 960, EngineOn: 1440 + 990, Stop: 1440 + 1260, EngineH: 4.5}}}
	want := []ServiceDue{{Name: "ash", AtH: 96, Minute: 17 * 60}, {Name: "ash", AtH: 104, Run: 1, Minute: 1440 + 990 + 240}, {Name: "oil", AtH: 100, Run: 1, Minute: 1440 + 960}}
	if diff := cmp.Diff(want, two.due(services, 95.5)); diff != "" {
		t.Error(diff)
	}
}

// finished reads off what a sheet of some days comes to.
func finished(h *sim.Household, e Evening, hasWood, late bool, change func(*Sheet)) *Sheet {
	s := &Sheet{Household: h, Evening: e, Rule: plan.Rule{By: plan.ByChosen}, ChargePct: 60, DarkMinute: -1}
	change(s)
	s.finish(hasWood, late)
	return s
}

// Why there is no run is said by what would have to change first.
func TestWhyThereIsNoRun(t *testing.T) {
	open, barred := worked.Household("days=3").Household, worked.Household("days=3", `tending.no_runs=["2025-03-03"]`).Household
	for _, c := range []struct {
		reason        string
		h             *sim.Household
		hasWood, late bool
		dark          int
		want          NoRun
	}{
		{"all at once", barred, false, true, 900, Barred},
		{"wood, hour and price", open, false, true, 900, NoWood},
		{"hour and price", open, true, true, 900, TooLate},
		{"dark from midnight on", open, true, false, 0, NotWorthIt},
		{"nothing is wrong", open, true, false, -1, BankCarries},
	} {
		if got := finished(c.h, Evening{Days: 1, HoursSoFar: -1}, c.hasWood, c.late, func(s *Sheet) { s.DarkMinute = c.dark }).NoRun; got != c.want {
			t.Errorf("%s: reason %d, want %d", c.reason, got, c.want)
		}
	}
	run := func(match int) func(*Sheet) {
		return func(s *Sheet) { s.Runs = []SheetRun{{Match: match, Stop: match + 60}} }
	}
	if got := finished(barred, Evening{Days: 2, HoursSoFar: -1}, false, true, run(1439)); got.NoRun != Runs || len(got.Runs) != 1 {
		t.Errorf("a run on the first day: reason %d", got.NoRun)
	}
	if got := finished(open, Evening{Days: 2, HoursSoFar: -1}, true, false, run(1440)); got.NoRun != BankCarries || len(got.Runs) != 1 {
		t.Errorf("a run on the second day alone: reason %d, %d runs", got.NoRun, len(got.Runs))
	}
	if got := finished(open, Evening{Days: 1, HoursSoFar: -1}, true, false, run(1440)); len(got.Runs) != 0 {
		t.Errorf("a run after the sheet's days stays on it")
	}
}

// Worked: 21 kg are three crates of 10 kg, 20 kg two. A run that burns already wants what it is
// refuelled with.
func TestWoodToBringIn(t *testing.T) {
	h := worked.Household("days=2").Household
	bring := func(runs ...SheetRun) *Sheet {
		return finished(h, Evening{Days: 1, HoursSoFar: -1, CrateKg: 10}, true, false, func(s *Sheet) { s.Runs = runs })
	}
	for kg, crates := range map[float64]int{21: 3, 20: 2, 19.9: 2, 0.1: 1, 0: 0} {
		if got := bring(SheetRun{WoodAsIsKg: kg / 2}, SheetRun{WoodAsIsKg: kg / 2}); got.Crates != crates || got.BringKg != kg {
			t.Errorf("%g kg: %d crates of 10 kg, want %d", got.BringKg, got.Crates, crates)
		}
	}
	if got := bring(SheetRun{Lit: true, WoodAsIsKg: 30, Refuel: []Refuel{{Minute: 1, AsIsKg: 7}, {Minute: 2, AsIsKg: 4}}}); got.BringKg != 11 || got.Crates != 2 {
		t.Errorf("a run that burns wants %g kg in %d crates, want 11 in 2", got.BringKg, got.Crates)
	}
	if got := finished(h, Evening{Days: 1, HoursSoFar: -1}, true, false, func(s *Sheet) { s.Runs = []SheetRun{{WoodAsIsKg: 21}} }); got.Crates != 0 {
		t.Errorf("%d crates of no known size", got.Crates)
	}
}

// Worked: a span that begins on a Wednesday has Monday and Tuesday behind it. Of five washes on
// five weekdays two were due by then: none done are two more, three done one fewer.
func TestChoresOfThisWeekSoFar(t *testing.T) {
	h := worked.Household("days=5", "start=2025-03-05", "load.chore.wash.kwh=1", "load.chore.wash.kw=1", "load.chore.wash.times_per_week=5",
		"load.chore.wash.days=mon-fri", "load.chore.pump.kwh=1", "load.chore.pump.kw=1").Household
	for done, want := range map[int]int{0: 2, 2: 0, 3: -1} {
		e := tonight{Household: h, Evening: Evening{ChoresDone: map[string]int{"wash": done}}}
		names := []string{h.Demand.Chores[0].Name, h.Demand.Chores[1].Name}
		if got := e.choresMore(); len(got) != 2 || got[slices.Index(names, "wash")] != want || got[slices.Index(names, "pump")] != 0 {
			t.Errorf("%d done: %v more of %v, want %d of wash", done, got, names, want)
		}
	}
}

// What the cold does is said of the sheet's days, not of the winter behind them; a cold snap of
// the winter's is left out.
func TestHazardsOfASheetAreItsDays(t *testing.T) {
	set := []string{"days=120", "battery.kind=lithium", "battery.room_c=outdoor", "place.climate=fairbanks", "battery.temperature_effects=true"}
	for start, want := range map[string]int{"2025-09-01": 0, "2025-12-01": 1} {
		h := worked.Household(append(set, "start="+start)...).Household
		frost := 0
		for _, w := range finished(h, Evening{Days: 1, HoursSoFar: -1}, true, false, func(*Sheet) {}).Warnings {
			if w.Code == "lithium_frost" {
				frost++
			}
		}
		if frost != want {
			t.Errorf("from %s: %d warnings of frost, want %d", start, frost, want)
		}
	}
}
