package study

import (
	"context"
	"math"
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// A Window is a fixed daily run and what a span of it comes to.
type Window struct {
	StartStep, Steps int // of the day
	Summary          *sim.Summary
	MeanKg           float64 // price in the mean of the lives it was chosen by, with that of late full charges
}

// marginKg: windows this near in price are alike; the shorter, then the earlier, stands.
const marginKg = 1e-6

// BestWindow returns the fixed daily window of the least price in the mean of so many lives
// of a household (1 or more), of all starts and lengths that its rules allow; nil where they
// allow none. Its summary is of the household's own days. The only error is the context's.
func BestWindow(ctx context.Context, h *sim.Household, lives int) (*Window, error) {
	if !slices.ContainsFunc(h.Days, func(d sim.Day) bool { return d.Tendable }) {
		return nil, ctx.Err()
	}
	r := rivals{Household: h, lives: livesOf(h, lives)}
	best, meanKg, err := r.best(ctx, r.windows())
	if err != nil || best == (window{}) {
		return nil, err
	}
	books, err := sim.Run(ctx, h, best.plan(h), nil)
	if err != nil {
		return nil, err
	}
	return &Window{StartStep: best.start, Steps: best.steps, Summary: sim.Summarize(h, books), MeanKg: meanKg}, nil
}

// A window is a start and a length, in steps of the day. The zero window is no run.
type window struct{ start, steps int }

func (w window) plan(h *sim.Household) *plan.EveryDay {
	return &plan.EveryDay{House: h.House, StartStep: w.start, StopStep: w.start + w.steps, ChoreKW: h.ChoreKW}
}

// rivals are fixed windows, weighed on the same spread of days as chosen runs.
type rivals struct {
	*sim.Household
	lives    int
	firstDay int // of the household's span, of which this may be a part
}

// windows are those that the rules allow, the shorter first, then the earlier. Where steps
// are short they start and last by half-hours, as people's habits do.
func (r *rivals) windows() []window {
	const habitMinutes = 30
	stride := max(1, habitMinutes/r.Span.StepMinutes)
	var all []window
	for steps := r.MinSteps(); steps <= r.MaxSteps(); steps += stride {
		for start := 0; start < r.Span.StepsADay(); start += stride {
			if r.TendedAhead(start) >= steps {
				all = append(all, window{start, steps})
			}
		}
	}
	return all
}

// rounds: all windows live one life, a year of it at most, the best of them more, and the
// best of those all.
var rounds = []struct{ lives, survivors, days int }{
	{1, 24, 366}, {5, 6, math.MaxInt}, {math.MaxInt, 1, math.MaxInt}}

// best returns the window of the least mean price. A few lives part the good from the
// bad, since all windows meet the same days.
func (r *rivals) best(ctx context.Context, left []window) (window, float64, error) {
	if len(left) == 0 {
		return window{}, 0, nil
	}
	type weighed struct {
		window
		kg float64 // in all lives so far
	}
	all := make([]*weighed, len(left))
	for i, w := range left {
		all[i] = &weighed{window: w}
	}
	lived, livedDays := 0, 0
	for _, round := range rounds {
		until := min(round.lives, r.lives)
		if round.days >= len(r.Days) && lived > 0 && livedDays < len(r.Days) { // the short life again, whole
			lived = 0
			for _, w := range all {
				w.kg = 0
			}
		}
		livedDays = min(round.days, len(r.Days))
		shareOut(all, 1, func(w *weighed) {
			for i := lived; i < until && ctx.Err() == nil; i++ {
				w.kg += r.live(w.window, i, livedDays)
			}
		})
		if err := ctx.Err(); err != nil {
			return window{}, 0, err
		}
		lived = until
		slices.SortStableFunc(all, func(a, b *weighed) int {
			switch {
			case a.kg < b.kg-marginKg:
				return -1
			case a.kg > b.kg+marginKg:
				return 1
			}
			return 0
		})
		all = all[:min(round.survivors, len(all))]
	}
	return all[0].window, all[0].kg / float64(lived), nil
}

// live is what a window weighs in the first days of one life.
func (r *rivals) live(w window, number, days int) float64 {
	f := newLife(r.Household, w.plan(r.Household), ByDays, number).skip(r.firstDay)
	for day := range days {
		f.day(day)
	}
	return f.weighedKg()
}
