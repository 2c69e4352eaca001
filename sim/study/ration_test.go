package study_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// TestRationingHoldsForAnyPile: whatever lies in the stacks, however wet wood may be burned and
// whatever darkness costs, a rationed year ends, its books close, no more is burned than lay
// there, and where the days are known wood that is said to last does.
func TestRationingHoldsForAnyPile(t *testing.T) {
	cases := 8
	switch {
	case testing.Short():
		cases = 2
	case full():
		cases = 80
	}
	random := rand.New(rand.NewPCG(14, 6))
	pick := func(of ...string) string { return of[random.IntN(len(of))] }
	for range cases {
		from := pick(scenarios.Examples()...)
		set := []string{"step_minutes=60", "days=" + pick("7", "20", "30", "60"),
			fmt.Sprintf("start=2025-%02d-01", 1+random.IntN(12)),
			fmt.Sprintf("woodpile.stack.byre.dry_kg=%.1f", 5+1000*random.Float64()),
			"plan.short_kg_per_kwh=" + pick("0.5", "50", "500"), "plan.foresight=" + pick("exact", "typical"),
			"woodpile.max_moisture_pct=" + pick("12", "15", "20", "25"), "load.daily_swing_pct=" + pick("0", "18", "50")}
		read := func() *scenarios.Scenario {
			var options []scenarios.Option
			for _, assignment := range append(set, "plan.ration=true") {
				options = append(options, scenarios.Set(assignment))
			}
			s, err := scenarios.Read(from, nil, options...)
			if err != nil {
				t.Fatal(from, set, err)
			}
			return s
		}
		s := read()
		year, err := study.Year(t.Context(), s.Household, s.Rule, nil)
		if err != nil {
			t.Fatal(from, set, err)
		}
		const crumb = 1e-6
		if g := &year.Summary.Books; !(g.WorstStepKWh < crumb && g.WorstStepKg < crumb && g.WorstDayKWh < crumb && g.WorstDayKg < crumb) {
			t.Errorf("%s %v: the books are open: %+v", from, set, g)
		}
		if lay := year.Wood.PileStart.DryKg + year.Total.Moved.CutDryKg; year.Total.BurnedDryKg > lay+crumb {
			t.Errorf("%s %v: %g kg burned of %g", from, set, year.Total.BurnedDryKg, lay)
		}
		if s.Rule.Foresight != plan.Exact {
			continue // days that differ may burn more than was rationed for
		}
		for _, stretch := range year.Ration.Stretches {
			for i := range year.Books.Days {
				if d := &year.Books.Days[i]; stretch.Lasts && stretch.Holds(d.Date) && d.WithoutReadyWood {
					t.Errorf("%s %v: rationed to last, and without ready wood on %s", from, set, d.Date)
				}
			}
		}
	}
}

// TestRationsFollowThePile: on days that nobody knows, more or less is burned than was rationed for.
// The price follows what lies ready, and the wood lasts.
func TestRationsFollowThePile(t *testing.T) {
	seeds := 3
	if full() {
		seeds = 8
	}
	without := 0
	for seed := 1; seed <= seeds; seed++ {
		s := read(t, home, "days=60", "start=2025-01-06", "step_minutes=60", "plan.by=chosen", "load.daily_swing_pct=18", "plan.ration=true",
			fmt.Sprint("seed=", seed), "woodpile.stack.a.dry_kg=420", "woodpile.stack.a.moisture_pct=15")
		y, books := run(t, s)
		without += y.Wood.DaysWithoutReadyWood
		if left, lay := y.Wood.PileEnd.DryKg, books.PileStart.DryKg; left > 0.08*lay {
			t.Errorf("seed %d: %.0f kg of %.0f are left, and the house was dark on %d days", seed, left, lay, y.Shortage.Days)
		}
	}
	if without > seeds {
		t.Errorf("in %d spans of 60 days %d are without ready wood", seeds, without)
	}
}
