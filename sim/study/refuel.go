package study

import (
	"context"
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/battery"
)

// An earlyEnd ends a run before it wants the hopper opened: from a step of the span on nothing
// burns that day.
type earlyEnd struct{ day, fromStep int }

// endsBy reports whether a run has ended early by a step.
func (w *writer) endsBy(at sim.Moment) bool {
	for _, end := range w.ends {
		if end.day == at.Day && at.Step >= end.fromStep {
			return true
		}
	}
	return false
}

// lateRefuelMinutes is how long before its stop a run may want the hopper opened and be ended
// earlier instead: for so little a hot hopper is not opened. A judgement.
const lateRefuelMinutes = 60

// withoutLateRefuels ends chosen runs before they want the hopper opened for their last hour or less,
// where the morning allows it: nothing more is missed, the bank keeps what is wanted above its
// floor (plan.spare_pct), and no full charge is given up.
func (w *writer) withoutLateRefuels(ctx context.Context, chooser sim.Chooser) (*writer, error) {
	step := w.Span.StepMinutes
	if w.rule.By != plan.ByChosen {
		return w, nil // the other plans' hours are the household's own
	}
	for day := range w.Days {
		for i := range w.sheet.Runs {
			r := &w.sheet.Runs[i]
			if r.Match/calendar.MinutesADay != day || r.StopsNow != Runs || len(r.Refuel) == 0 {
				continue
			}
			last := r.Refuel[len(r.Refuel)-1].Minute
			if r.Stop-last > lateRefuelMinutes {
				continue
			}
			ends := append(slices.Clone(w.ends), earlyEnd{day, last / step})
			other := newWriter(w.asked, w.rule, w.Evening, ends)
			life, err := w.anotherLife(ctx, chooser)
			if err != nil {
				return nil, err
			}
			if err := other.write(ctx, life, nil); err != nil {
				return nil, err
			}
			if w.isAsGood(other, day, r) {
				w = other
			}
			break // of the day's runs one at most
		}
	}
	for _, end := range w.ends {
		for i := range w.sheet.Runs {
			if r := &w.sheet.Runs[i]; r.Stop == end.fromStep*step {
				r.BeforeRefuel = true
			}
		}
	}
	return w, nil
}

// isAsGood reports whether a sheet that ends a run of a day early serves as well.
func (w *writer) isAsGood(other *writer, day int, r *SheetRun) bool {
	const crumbPct, fullPct = 1e-6, 100 * battery.FullShare
	var ended *SheetRun
	for i := range other.sheet.Runs {
		if o := &other.sheet.Runs[i]; o.Match == r.Match {
			ended = o
		}
	}
	wanted := 100 * (w.House.Days[day].Bank.FloorKWh/w.Bank.FullKWh + w.Prices.SpareShare)
	switch {
	case ended == nil || len(ended.Refuel) == len(r.Refuel):
		return false // the rules would not have it
	case other.sheet.ShortKWh > w.sheet.ShortKWh+shortCrumbKWh:
		return false
	case other.sheet.Mornings[day].Pct < wanted:
		return false
	case w.sheet.PctAt(r.Stop) >= fullPct-crumbPct && other.sheet.PctAt(ended.Stop) < fullPct-crumbPct:
		return false
	}
	return true
}

// anotherLife begins a life like a chooser's that may have been used up.
func (w *writer) anotherLife(ctx context.Context, chooser sim.Chooser) (sim.Chooser, error) {
	if chosen, ok := chooser.(*plan.Chooser); ok {
		return chosen.Plan().Chooser(), nil
	}
	return w.rule.Chooser(ctx, w.Household)
}
