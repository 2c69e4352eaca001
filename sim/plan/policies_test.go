package plan_test

import (
	"context"
	"math"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// A tiny is a household of three days in three classes, small enough for all its policies.
type tiny struct {
	s      *scenarios.Scenario
	factor []float64
	follow [][]float64
	ways   [][]int // the runs that a day may have, in steps of the day
}

// day lives through a day of a class with a chooser and returns what it cost.
func (y *tiny) day(s *sim.State, day, class int, c sim.Chooser) float64 {
	h, kg := y.s.House, 0.0
	p := &h.Prices
	want := sim.Want{LoadKW: y.s.Demand.ExpectedLoadKW, OtherKW: y.s.Demand.ExpectedOtherKW, Factor: y.factor[class]}
	h.LiveDay(s, sim.Moment{Step: 24 * day, Day: day}, 24, &want, c, func(_ sim.Moment, _ *sim.State, f *sim.Flows) {
		kg += p.ShortKgPerKWh * f.ShortfallKW
		if f.ShortfallKW > 0.001 {
			kg += min(1, p.ShortKgPerKWh/50) // the table's own for a dark step
		}
		if f.Run {
			kg += f.Burned.DryKg + p.HourKg
		}
		if f.Match {
			kg += p.StartKg
		}
	})
	return kg
}

func (y *tiny) handback(s *sim.State) float64 {
	start := y.s.House.Start()
	return y.s.House.Prices.ShortKgPerKWh * y.s.House.ServableKWh(max(0, start.Bank.StoredKWh()-s.Bank.StoredKWh()))
}

// best is the least that days from one on can cost in the mean, by trying every run on every
// day in every class.
func (y *tiny) best(s *sim.State, day, last int) float64 {
	if day == len(y.s.House.Days) {
		return y.handback(s)
	}
	sum := 0.0
	for class, chance := range y.chances(last) {
		least := math.Inf(1)
		for _, way := range y.ways {
			runs := make(script, y.s.House.Span.Steps())
			for _, step := range way {
				runs[24*day+step] = true
			}
			after := *s
			kg := y.day(&after, day, class, runs)
			least = min(least, kg+y.best(&after, day+1, class))
		}
		sum += chance * least
	}
	return sum
}

// chances are those of the classes after one; below 0: of the first day.
func (y *tiny) chances(last int) []float64 {
	if last < 0 {
		return []float64{0.25, 0.5, 0.25} // Rouwenhorst's lasting chances of three
	}
	return y.follow[last]
}

// lived is what the plan's life costs in the mean over all sequences of classes.
func (y *tiny) lived(p *plan.Plan) float64 {
	sum := 0.0
	for a := range 3 {
		for b := range 3 {
			for c := range 3 {
				chooser, s, kg := p.Chooser(), y.s.House.Start(), 0.0
				for day, class := range []int{a, b, c} {
					kg += y.day(&s, day, class, chooser)
				}
				sum += y.chances(-1)[a] * y.follow[a][b] * y.follow[b][c] * (kg + y.handback(&s))
			}
		}
	}
	return sum
}

// Computed: the least mean price over all policies of a tiny household, by enumeration: three
// days, three classes that the meter tells by the first tended hour, each run that a day may
// have. The plan expects it, and its life costs no more than a plan on known days may.
func TestChosenRunsAgainstEveryPolicy(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	const share, memory = 0.45, 0.5
	sets := [][]string{
		{"battery.kwh=6", "load.kwh_per_day=4"},
		{"battery.kwh=4", "load.kwh_per_day=3", "plan.short_kg_per_kwh=12"},
		{"battery.kwh=10", "load.kwh_per_day=6"},
		{"battery.kwh=8", "load.kwh_per_day=5", "battery.start_pct=55", "battery.self_discharge_pct_month=12"},
	}
	for _, set := range sets[:quick(2, len(sets))] {
		s := readShort(t, append([]string{"step_minutes=60", "days=3", "tending.hours=[\"14:00-19:00\"]", "tending.max_hours_a_day=4", "plan.foresight=typical", "load.daily_swing_pct=45"}, set...))
		outlook, factor, follow := plan.WithClasses(plan.Outlook{Foresight: plan.Typical, Levels: 401}, 3, share, memory)
		p, err := plan.New(context.Background(), s.Household, outlook)
		if err != nil {
			t.Fatal(err)
		}
		y := &tiny{s, factor, follow, daysRuns(14, 19, 1, 4, 1)}
		start := s.House.Start()
		best, lived := y.best(&start, 0, -1), y.lived(p)
		t.Logf("%v: best of all policies %.2f kg, the plan expects %.2f, its lives come to %.2f", set, best, p.PlannedKg(), lived)
		const gridShare, gridKg, expectedShare = 0.0025, 1.0, 0.01
		if lived < best-1e-6 || lived > best*(1+gridShare)+gridKg {
			t.Errorf("%v: the plan's lives come to %.3f kg, the best of all policies to %.3f", set, lived, best)
		}
		if math.Abs(p.PlannedKg()-best) > expectedShare*best+gridKg {
			t.Errorf("%v: the plan expects %.3f kg, the best of all policies comes to %.3f", set, p.PlannedKg(), best)
		}
	}
}
