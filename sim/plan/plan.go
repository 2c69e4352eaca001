// Package plan holds the choosers: the ways to decide, step by step, whether the
// set burns. Each keeps the household's rules of tending.
//
// Chosen weighs prices ahead by a table (NewChosen, with an Outlook that says what it
// knows); EveryDay and WhenLow are the two simple plans; a Follower lives through
// other luck by a leader's table. Give one to sim.Run. Left out: throttling the
// engine, and knowledge of weather.
package plan

import (
	"math"

	"twigwatt/sim"
)

// The plans.
const (
	BySameHours = "same-hours" // every day at the same time
	ByTopUp     = "top-up"     // when the bank is low
	ByChosen    = "chosen"     // by weighing prices ahead
)

// Names returns the plans.
func Names() []string { return []string{ByChosen, BySameHours, ByTopUp} }

// EveryDay is the plan same-hours: a run at the same time every day, as far as
// the rules let it. Light up at StartStep of the day, or at the first step
// after it at which the rules allow, and stop at StopStep.
type EveryDay struct {
	House               *sim.House
	StartStep, StopStep int       // of the day; StopStep not included
	ChoreKW             []float64 // of each step of the span; nil: none
}

// Choose says whether the set burns in a step.
func (e *EveryDay) Choose(s *sim.State, at sim.Moment) sim.Command {
	c := sim.Command{ChoreKW: chores(e.ChoreKW, at)}
	switch {
	case s.LitSteps > 0 && e.House.MustRun(s, at):
		c.Run = true
	case at.OfDay < e.StartStep || at.OfDay >= e.StopStep:
	case s.LitSteps == 0 && (s.Starts > 0 || e.StopStep-at.OfDay < e.House.MinSteps()):
	default:
		c.Run = e.House.MayRun(s, at)
	}
	return c
}

// InHouse changes the house that the plan runs.
func (e *EveryDay) InHouse(h *sim.House) { e.House = h }

// WhenLow is the plan top-up: light up in tending hours when the charge is below
// StartBelow and burn until it is above StopAbove, both shares of the bank's
// full size.
type WhenLow struct {
	House                 *sim.House
	StartBelow, StopAbove float64 // shares of the full size, 0 to 1
	ChoreKW               []float64
}

// Choose says whether the set burns in a step.
func (w *WhenLow) Choose(s *sim.State, at sim.Moment) sim.Command {
	c := sim.Command{ChoreKW: chores(w.ChoreKW, at)}
	charge := s.Bank.StoredKWh() / w.House.Bank.FullKWh
	switch {
	case w.House.MustRun(s, at):
		c.Run = true
	case s.LitSteps == 0 && charge < w.StartBelow, s.LitSteps > 0 && charge <= w.StopAbove:
		c.Run = w.House.MayRun(s, at)
	}
	return c
}

// InHouse changes the house that the plan runs.
func (w *WhenLow) InHouse(h *sim.House) { w.House = h }

func chores(kw []float64, at sim.Moment) float64 {
	if kw == nil {
		return 0
	}
	return kw[at.Step]
}

// StepsUp returns the steps that hold so many hours, rounded up.
func StepsUp(hours, stepH float64) int {
	const roundingH = 1e-9 // keeps 1.5 h from becoming four half-hours
	return int(math.Ceil((hours - roundingH) / stepH))
}
