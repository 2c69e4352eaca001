package plan_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// TestChores: each as often as it is wanted, within its hours and days, none
// lost, none doubled, and on runs where there are runs.
func TestChores(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.IntRange(1, 9).Draw(t, "times")
		kWh, kW := rapid.Float64Range(0.2, 2).Draw(t, "kwh"), rapid.Float64Range(0.3, 1.5).Draw(t, "kw")
		s, err := readSet([]string{"days=" + quick("14", "21"), "step_minutes=" + quick("60", "30"), "load.away=[\"2025-01-20\"]", fmt.Sprintf("load.chore.wash.kwh=%g", kWh), fmt.Sprintf("load.chore.wash.kw=%g", kW),
			fmt.Sprintf("load.chore.wash.times_per_week=%d", times), "load.chore.wash.days=[\"mon-fri\"]", "load.chore.wash.hours=[\"09:00-19:00\"]", "load.kwh_per_day=4"})
		if err != nil {
			t.Fatal(err)
		}
		p, err := plan.New(context.Background(), s.Household, plan.Outlook{Foresight: plan.Typical, Levels: 51})
		if err != nil {
			t.Fatal(err)
		}
		c := p.Chooser()
		placed := 0.0
		if _, err := sim.Run(context.Background(), s.Household, c, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			chore := f.LoadKW - s.Demand.LoadKW[at.Step]
			day := s.House.Days[at.Day]
			if hour := at.OfDay * s.Span.StepMinutes / 60; chore > 1e-9 && (hour < 9 || hour >= 19 || day.Away || !s.Demand.Chores[0].Days.Holds(day.Date.Weekday())) {
				t.Fatalf("a chore out of its hours at %s", s.House.Span.StepTime(at.Step))
			}
			placed += chore * s.House.Span.StepH()
		}); err != nil {
			t.Fatal(err)
		}
		due := 0
		for _, n := range s.Demand.Chores[0].Due(s.House.Span, s.Demand.AwayDay) {
			due += n
		}
		r := c.Chores()
		if math.Abs(placed-r.OnRunsKWh-r.FromBankKWh) > 1e-6 || math.Abs(placed+r.UnplacedKWh-float64(due)*kWh) > 1e-6 {
			t.Fatalf("due %g kWh, placed %g, report %+v", float64(due)*kWh, placed, r)
		}
		const aRunH = 4 // a chore that takes longer than a run cannot ride on it whole
		if times <= 5 && kWh/kW <= aRunH && r.OnRunsKWh < 0.5*placed {
			t.Fatalf("of %g kWh only %g on runs", placed, r.OnRunsKWh)
		}
	})
}

// A chore is never done on top of itself, however often it is wanted.
func TestAChoreDoesNotOverlapItself(t *testing.T) {
	for _, kW := range []float64{2, 0.5} { // of two at once the smaller would ride on a run as well as one
		s, err := readSet([]string{"days=14", "load.kwh_per_day=2", fmt.Sprintf("load.chore.wash.kwh=%g", kW), fmt.Sprintf("load.chore.wash.kw=%g", kW),
			"load.chore.wash.times_per_week=14", "load.chore.wash.hours=16:00-19:00"})
		if err != nil {
			t.Fatal(err)
		}
		p, err := plan.New(context.Background(), s.Household, plan.Outlook{Levels: 51})
		if err != nil {
			t.Fatal(err)
		}
		c := p.Chooser()
		if _, err := sim.Run(context.Background(), s.Household, c, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			if chore := f.LoadKW - s.Demand.LoadKW[at.Step]; chore > kW+1e-9 {
				t.Fatalf("%g kW of a chore of %g kW at %s", chore, kW, s.House.Span.StepTime(at.Step))
			}
		}); err != nil {
			t.Fatal(err)
		}
		if r := c.Chores(); r.OnRunsKWh+r.FromBankKWh < 25*kW {
			t.Errorf("%+v of %g kWh", r, 28*kW)
		}
	}
}

// A plan that begins at noon on a Monday places no chore before, and as many in the week as are
// left: seven, but for those done already and with those that are behind.
func TestChoresOfAWeekThatHasBegun(t *testing.T) {
	for _, c := range []struct {
		hours string
		more  int
		times float64 // in the week, placed or not
	}{{"07:00-21:00", 0, 7}, {"07:00-21:00", -1, 6}, {"07:00-21:00", -9, 0}, {"07:00-21:00", 3, 10}, {"07:00-11:00", 0, 7}} {
		s, err := readSet([]string{"days=7", "start=2025-01-06", "step_minutes=60", "load.kwh_per_day=3", "load.chore.wash.kwh=0.5", "load.chore.wash.kw=0.5",
			"load.chore.wash.times_per_week=7", "load.chore.wash.hours=" + c.hours})
		if err != nil {
			t.Fatal(err)
		}
		begins := plan.Beginning{State: s.Start(), OfDay: 12, ChoresMore: []int{c.more}}
		p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Typical, Levels: 41, Begins: begins})
		if err != nil {
			t.Fatal(err)
		}
		chooser, state, from, want := p.Chooser(), s.Start(), 12, s.Want()
		for day := range s.Span.Days {
			s.LiveDay(&state, sim.Moment{Step: 24*day + from, Day: day, OfDay: from}, 24, &want, chooser, nil)
			for _, start := range chooser.ChoresToday(day) {
				if start.Minute < 12*60 {
					t.Errorf("%s, %d more: begun at %g h, before the plan", c.hours, c.more, start.Minute/60)
				}
			}
			from = 0
		}
		r := chooser.Chores()
		if times := (r.OnRunsKWh + r.FromBankKWh + r.UnplacedKWh) / 0.5; math.Abs(times-c.times) > 1e-9 {
			t.Errorf("%s, %d more: %g times in the week, want %g (%+v)", c.hours, c.more, times, c.times, r)
		}
	}
}

// Water for each day is pumped each day: a chore wanted on every day is never behind,
// at most one time ahead, and on a span's first day, which a run sheet tells each
// evening, not ahead at all.
func TestADailyChoreIsDoneEachDay(t *testing.T) {
	for _, times := range []int{7, 14, 21} {
		dailyChore(t, times)
	}
}

func dailyChore(t *testing.T, times int) {
	const kWh = 0.5
	s, err := readSet([]string{"days=21", "start=2025-01-06", "load.kwh_per_day=3", "load.chore.pump.kwh=0.5", "load.chore.pump.kw=0.5", fmt.Sprintf("load.chore.pump.times_per_week=%d", times)})
	if err != nil {
		t.Fatal(err)
	}
	p, err := plan.New(context.Background(), s.Household, plan.Outlook{Foresight: plan.Typical, Levels: 51})
	if err != nil {
		t.Fatal(err)
	}
	c := p.Chooser()
	perDay := make([]float64, 21)
	if _, err := sim.Run(context.Background(), s.Household, c, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
		perDay[at.Day] += (f.LoadKW - s.Demand.LoadKW[at.Step]) * s.House.Span.StepH() / kWh
	}); err != nil {
		t.Fatal(err)
	}
	done, wanted := 0.0, 0.0
	for day, n := range perDay {
		done, wanted = done+n, wanted+float64(times)/7
		ahead := done - wanted
		if ahead < -1e-9 || ahead > 1+1e-9 || day == 0 && ahead > 1e-9 || day%7 == 6 && math.Abs(ahead) > 1e-9 {
			t.Errorf("%d times a week: %.0f on day %d, %.1f ahead", times, n, day, ahead)
		}
	}
}
