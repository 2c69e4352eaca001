package plan

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// The plans.
const (
	BySameHours = "same-hours" // every day at the same time
	ByTopUp     = "top-up"     // when the bank is low
	ByChosen    = "chosen"     // by weighing prices ahead
)

// Names returns the plans.
func Names() []string { return []string{ByChosen, BySameHours, ByTopUp} }

// A Rule is how a household chooses its runs: one of the plans, with its figures.
type Rule struct {
	By                    string    // ByChosen, BySameHours or ByTopUp
	Foresight             Foresight // of chosen runs
	Rationed              bool      // chosen runs make a short pile last the span
	StartStep, Steps      int       // of same-hours: of the day, and how many
	StartBelow, StopAbove float64   // of top-up: shares of the bank's full size
}

// Outlook is what the rule's chosen runs are planned with, but for the price of rationed
// wood. A rationed plan lives where one price turns from serving to saving: classes of the
// day would only blur it.
func (r Rule) outlook() Outlook {
	o := Outlook{Foresight: r.Foresight}
	if r.Rationed {
		o.Classes = 1
	}
	return o
}

// Chooser makes a life of a household by the rule, with wood burned as it is wanted. The
// errors are those of New.
func (r Rule) Chooser(ctx context.Context, h *sim.Household) (sim.Chooser, error) {
	return r.Roughly(ctx, h, 0)
}

// Roughly is Chooser with chosen runs planned on so many levels of stored energy, for what is only
// compared; 0: as many as the program chooses.
func (r Rule) Roughly(ctx context.Context, h *sim.Household, levels int) (sim.Chooser, error) {
	switch r.By {
	case BySameHours:
		stop := r.StartStep + r.Steps
		return &EveryDay{House: h.House, StartStep: r.StartStep, StopStep: stop, ChoreKW: h.ChoreKW}, nil
	case ByTopUp:
		return &WhenLow{House: h.House, StartBelow: r.StartBelow, StopAbove: r.StopAbove, ChoreKW: h.ChoreKW}, nil
	case ByChosen:
		o := r.outlook()
		o.Levels = levels
		return life(ctx, h, o)
	}
	panic("plan: no plan " + r.By)
}

// Rationing is Chooser for a span that begins as said (the zero Beginning: at its first
// midnight), with wood rationed where the rule says so, and the rations then.
func (r Rule) Rationing(ctx context.Context, h *sim.Household, begins Beginning) (sim.Chooser, []Ration, error) {
	if r.By != ByChosen {
		chooser, err := r.Chooser(ctx, h)
		return chooser, nil, err
	}
	o := r.outlook()
	var rations []Ration
	if r.Rationed {
		var err error
		var readyKg []float64
		if rations, readyKg, err = findRations(ctx, h, o); err != nil {
			return nil, nil, err
		}
		o.WoodKg = WoodPrices(rations, len(h.Days))
		if len(rations) > 0 && r.Foresight != Exact { // known days need no following
			o.ReadyKg = readyKg
		}
	}
	o.Begins = begins
	chooser, err := life(ctx, h, o)
	return chooser, rations, err
}

// life makes a life by a plan of its own.
func life(ctx context.Context, h *sim.Household, o Outlook) (sim.Chooser, error) {
	p, err := New(ctx, h, o)
	if err != nil {
		return nil, err
	}
	return p.Chooser(), nil
}

// Text says the rule in words, for days of a span.
func (r Rule) Text(span calendar.Span) string {
	switch r.By {
	case BySameHours:
		return fmt.Sprintf("same hours every day (%s for %s h)", calendar.Clock(r.StartStep*span.StepMinutes),
			strconv.FormatFloat(float64(r.Steps)*span.StepH(), 'g', 6, 64))
	case ByTopUp:
		return fmt.Sprintf("topping up (from below %.0f %% to %.0f %%)", 100*r.StartBelow, 100*r.StopAbove)
	}
	return "chosen runs"
}

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
	c := sim.Command{ChoreKW: choresAt(e.ChoreKW, at), Call: sim.IfShort}
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
// full size, or at its ceiling.
type WhenLow struct {
	House                 *sim.House
	StartBelow, StopAbove float64 // shares of the full size, 0 to 1
	ChoreKW               []float64
}

// Choose says whether the set burns in a step.
func (w *WhenLow) Choose(s *sim.State, at sim.Moment) sim.Command {
	c := sim.Command{ChoreKW: choresAt(w.ChoreKW, at), Call: sim.IfShort}
	const crumb = 1e-3 // of the bank: the last of a taper is not waited for
	charge := s.Bank.StoredKWh() / w.House.Days[at.Day].Bank.FullKWh
	switch {
	case w.House.MustRun(s, at):
		c.Run = true
	case charge >= w.House.Bank.CeilingShare-crumb: // nothing more goes in
	case s.LitSteps == 0 && charge < w.StartBelow, s.LitSteps > 0 && charge <= w.StopAbove:
		c.Run = w.House.MayRun(s, at)
	}
	return c
}

// InHouse changes the house that the plan runs.
func (w *WhenLow) InHouse(h *sim.House) { w.House = h }

func choresAt(kw []float64, at sim.Moment) float64 {
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
