package study

import (
	"context"
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
)

// A Cure is a change that was tried against the dark of a span: on the fortnight of its worst
// day, lived again with nothing else changed.
type Cure struct {
	Remedy
	Share float64 // of the energy missed then that it gives, 0 to 1
}

// A trial is a change to try.
type trial struct {
	remedy Remedy
	by     string // the plan that it is for; "": each
	spec   func(*sim.Spec)
	rule   func(*plan.Rule, *sim.House)
}

// How much more is tried.
const (
	moreHours = 3.0  // a day
	larger    = 2.0  // bank, charger, inverter
	stronger  = 1.5  // set
	ratedC    = 20.0 // around the bank, at which its size is rated
)

// trials are what may help, the least effort first. None of them runs the set on a day that is
// barred or on which it is broken.
var trials = []trial{
	{remedy: StartTopUpSooner, by: plan.ByTopUp, rule: func(r *plan.Rule, _ *sim.House) {
		r.StartBelow = min(r.StopAbove, r.StartBelow+0.2)
	}},
	{remedy: LongerSameHours, by: plan.BySameHours, rule: func(r *plan.Rule, h *sim.House) {
		r.Steps = min(h.MaxSteps(), r.Steps+plan.StepsUp(moreHours, h.Span.StepH()))
	}},
	{remedy: SameHoursInTending, by: plan.BySameHours, rule: intoTending},
	{remedy: ChosenRuns, rule: func(r *plan.Rule, _ *sim.House) { r.By, r.Foresight = plan.ByChosen, plan.Typical }},
	{remedy: DearerDarkness, by: plan.ByChosen, spec: func(s *sim.Spec) { s.Prices.ShortKgPerKWh *= 10 }},
	{remedy: AllowMoreHours, spec: func(s *sim.Spec) { s.Tending.MaxHoursADay += moreHours }},
	{remedy: SecondStart, spec: func(s *sim.Spec) { s.Tending.MaxStarts = 2 }},
	{remedy: LongerTending, spec: tendAllDay},
	{remedy: DrierWood, spec: func(s *sim.Spec) {
		s.Pile.RatedDryBasis = min(s.Pile.RatedDryBasis, woodpile.DryBasis(s.Set.RatedMoisture))
	}},
	{remedy: WarmerBank, spec: func(s *sim.Spec) { s.BankOutdoor, s.RoomC = false, max(s.RoomC, ratedC) }},
	{remedy: LargerInverter, spec: func(s *sim.Spec) { s.Bank.InverterKW *= larger }},
	{remedy: LargerCharger, spec: largerCharger},
	{remedy: LongerTendingAndHours, spec: func(s *sim.Spec) { tendAllDay(s); s.Tending.MaxHoursADay += moreHours }},
	{remedy: LargerBank, spec: largerBank},
	{remedy: LargerSet, spec: func(s *sim.Spec) { s.Set.KW *= stronger; largerCharger(s) }},
}

func tendAllDay(s *sim.Spec) {
	s.Tending.Hours = []calendar.Window{{From: 0, To: calendar.MinutesADay}}
}

func largerCharger(s *sim.Spec) {
	s.Bank.ChargerKW *= larger
	s.Bank.MaxChargeKW *= larger
}

// largerBank has a charger to match, and begins with no more above its floor than the smaller one.
func largerBank(s *sim.Spec) {
	s.StartShare = min(s.StartShare, s.Bank.FloorShare+max(0, s.StartShare-s.Bank.FloorShare)/larger)
	s.Bank.FullKWh *= larger
	largerCharger(s)
}

// intoTending moves a run that lies outside the tending hours to the first hour that holds it.
func intoTending(r *plan.Rule, h *sim.House) {
	if h.TendedAhead(r.StartStep) >= min(r.Steps, h.MaxSteps()) {
		return
	}
	for step := range h.Span.StepsADay() {
		if h.TendedAhead(step) >= r.Steps {
			r.StartStep = step
			return
		}
	}
}

// CuresShare is what a change must give of what is missed to be a cure by itself. A judgement.
const CuresShare = 0.75

const (
	helpsShare = 0.3  // what gives less is not worth its name; a judgement
	evenShare  = 0.02 // of two that give as much the less effort is named
	darkShare  = 0.1  // of what was missed, still missed with all the wood that is wanted
	mostCures  = 2    // that are named
)

// cures tries what helps against the dark: at most two changes that give most of what is
// missed in the fortnight of the worst day, the least effort first, and where the books show the
// cause, what mends that alone; else the one that gives most; none where nothing does. dark is false where it would
// not be dark then, had the household all the wood it wants. The errors are those of plan.New.
func (y *YearAnswer) cures(ctx context.Context) (cures []Cure, dark bool, err error) {
	base := y.fortnight()
	missed, err := missedKWh(ctx, base, y.Rule)
	if err != nil {
		return nil, false, err
	}
	wasMissed := 0.0
	for i := range base.Days {
		wasMissed += y.Books.Days[int(base.Span.Start-y.Household.Span.Start)+i].ShortfallKWh
	}
	if !(missed > darkShare*wasMissed) {
		return nil, false, nil
	}
	left := make([]float64, len(trials))
	errs := make([]error, len(trials))
	var tries []int
	for i := range trials {
		if t := &trials[i]; (t.by == "" || t.by == y.Rule.By) && !(t.remedy == ChosenRuns && y.Rule.By == plan.ByChosen) {
			tries = append(tries, i)
		}
	}
	shareOut(tries, 1, func(i int) {
		t, h, rule := &trials[i], base, y.Rule
		if t.spec != nil {
			h = base.With(t.spec)
		}
		if t.rule != nil {
			t.rule(&rule, h.House)
		}
		left[i], errs[i] = missedKWh(ctx, h, rule)
	})
	best, cause := Cure{}, besideHours(y.Summary)
	for _, i := range tries {
		if errs[i] != nil {
			return nil, false, errs[i]
		}
		cure := Cure{trials[i].remedy, 1 - left[i]/missed}
		if cure.Share > best.Share+evenShare {
			best = cure
		}
		isPart := func(c Cure) bool { return c.Remedy == AllowMoreHours || c.Remedy == LongerTending }
		switch {
		case cure.Share < CuresShare, cure.Remedy == LongerTendingAndHours && slices.ContainsFunc(cures, isPart):
		case cure.Remedy == cause:
			return []Cure{cure}, true, nil
		default:
			cures = append(cures, cure)
		}
	}
	if len(cures) == 0 && best.Share >= helpsShare {
		cures = append(cures, best)
	}
	return cures[:min(mostCures, len(cures))], true, nil
}

// fortnight is the household around its worst day, from the charge that it had then, on as much
// wood as it wants, as wet as what it burned.
func (y *YearAnswer) fortnight() *sim.Household {
	const before, days = 9, 14
	h := y.Household
	worst := int(y.Shortage.WorstDay.Date - h.Span.Start)
	first := max(0, min(worst-before, h.Span.Days-days))
	n := min(days, h.Span.Days-first)
	var dryKg, asIsKg float64
	for i := range n {
		d := &y.Books.Days[first+i]
		dryKg, asIsKg = dryKg+d.BurnedDryKg, asIsKg+d.BurnedAsIsKg
	}
	return h.Part(first, n, func(spec *sim.Spec) {
		spec.StartShare = y.Books.Days[first].StartKWh / spec.Bank.FullKWh
		spec.PileWithoutEnd()
		if dryKg > 0 {
			spec.Pile.RatedDryBasis = asIsKg/dryKg - 1
		}
	})
}

// missedKWh is what a household misses by a rule.
func missedKWh(ctx context.Context, h *sim.Household, rule plan.Rule) (float64, error) {
	rule.Rationed = false
	const levels = 41 // a fortnight's plan need not be a fine one
	chooser, err := rule.Roughly(ctx, h, levels)
	if err != nil {
		return 0, err
	}
	books, err := sim.Run(ctx, h, chooser, nil)
	if err != nil {
		return 0, err
	}
	total := books.Total()
	return total.ShortfallKWh, nil
}
