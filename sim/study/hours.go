package study

import (
	"context"
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
)

// ShortPriceFactor is what the studies of hours and bank weigh shortfall at,
// against the scenario's price: a limit or a size is asked what it can do, not
// what it would rather save.
const ShortPriceFactor = 100

// MostLimitH is the highest limit on a day's hours that Hours tries.
const MostLimitH = 12.0

// HoursOptions say how Hours is asked.
type HoursOptions struct {
	EveryH    float64              // limits from 0 to MostLimitH, so far apart; more than 0
	ShortDays int                  // days of the span that may be short, 0 or more
	Lives     int                  // that short days are counted in, 1 or more
	Passed    func(limits, of int) // called as limits are done; nil: nobody asks
}

// A Limit is a span under a limit on a day's attended hours: in lives that differ in the
// luck of their days, and as the household's own days come.
type Limit struct {
	MaxHours float64
	Lives    *Lives
	*sim.Summary
}

// HoursAnswer is the answer to how many hours a day.
type HoursAnswer struct {
	*sim.Household
	HoursOptions
	ShortKg    float64 // price of a kWh of shortfall that was planned with
	Limits     []Limit
	Least      *Limit // the lowest that nine lives in ten get through as wanted; nil: none
	Lower      *Limit // the next below that; nil: none
	Higher     *Limit // the next above; nil: none
	Bearing    *Limit // a lower one that is enough where BearDays may be short; nil: none
	BearDays   int
	Fewest     *Limit        // the lowest with the fewest short days of all
	AgainstIt  Remedy        // of the short days under Fewest, where Least is nil
	Alike      *Limit        // the first of those that bind nothing any more; nil: the last one still does
	WoodEnds   *Limit        // the first under which ready wood runs out; nil: none
	WoodEndsOn calendar.Date // the earliest of all limits
	Card       []CardRow     // the wall card
	CardLimitH float64       // that it keeps
	Warnings   []sim.Warning
}

// Hours asks how many hours a day a household must allow, by chosen runs under one limit after
// another, and which one start and length serves best in each month. The errors are those of
// plan.New.
func Hours(ctx context.Context, h *sim.Household, rule plan.Rule, o HoursOptions) (*HoursAnswer, error) {
	rule.By = plan.ByChosen
	o.Lives = livesOf(h, o.Lives)
	a := &HoursAnswer{Household: h, HoursOptions: o, ShortKg: h.Prices.ShortKgPerKWh * ShortPriceFactor}
	var limits []float64
	for i := 0; float64(i)*o.EveryH <= MostLimitH+1e-9; i++ {
		limits = append(limits, float64(i)*o.EveryH)
	}
	var err error
	a.Limits, err = SideBySide(limits, o.Passed, func(limitH float64) (Limit, error) {
		limited := a.limited(limitH)
		p, err := plan.New(ctx, limited, plan.Outlook{Foresight: rule.Foresight})
		if err != nil {
			return Limit{}, err
		}
		books, lives, err := LiveChosen(ctx, limited, p, o.Lives, nil)
		if err != nil {
			return Limit{}, err
		}
		return Limit{limitH, lives, sim.Summarize(limited, books)}, nil
	})
	if err != nil {
		return nil, err
	}
	a.find()
	a.CardLimitH = h.Tending.MaxHoursADay
	if a.Least != nil && a.Least.MaxHours > 0 {
		a.CardLimitH = a.Least.MaxHours
	}
	limited := a.limited(a.CardLimitH)
	chooser, err := rule.Chooser(ctx, limited)
	if err != nil {
		return nil, err
	}
	if a.Card, err = WallCard(ctx, limited, chooser, o.Lives); err != nil {
		return nil, err
	}
	shown := a.Fewest
	if a.Least != nil {
		shown = a.Least
	}
	a.Warnings = slices.Concat(h.Warnings, hazards(shown.Warnings, h.Warnings), notRationed(rule))
	return a, nil
}

// limited is the household under a limit, darkness dear. A limit under the shortest run
// means no run.
func (a *HoursAnswer) limited(limitH float64) *sim.Household {
	return a.With(func(spec *sim.Spec) {
		spec.Tending.MaxHoursADay = limitH
		if limitH < spec.Tending.MinHoursARun {
			spec.Tending.MaxHoursADay = 0
		}
		spec.Prices.ShortKgPerKWh = a.ShortKg
	})
}

// find reads the answers off the limits.
func (a *HoursAnswer) find() {
	last := len(a.Limits) - 1
	a.Least, a.Fewest, a.WoodEndsOn = a.LeastFor(a.ShortDays), &a.Limits[0], a.Span.End()
	const alikeKWh = 0.05
	for i := range a.Limits {
		l := &a.Limits[i]
		if days, fewest := l.Lives.ShortDaysP90, a.Fewest.Lives.ShortDaysP90; days < fewest ||
			days == fewest && l.Lives.ShortKWh < a.Fewest.Lives.ShortKWh-alikeKWh {
			a.Fewest = l
		}
		if l == a.Least && i > 0 {
			a.Lower = &a.Limits[i-1]
		}
		if l == a.Least && i < last {
			a.Higher = &a.Limits[i+1]
		}
		if out := l.Wood.NoWood; out != nil {
			a.WoodEndsOn = min(a.WoodEndsOn, out.Date)
			if a.WoodEnds == nil {
				a.WoodEnds = l
			}
		}
	}
	for i := last; i > 0 && *a.Limits[i-1].Lives == *a.Limits[last].Lives; i-- {
		a.Alike = &a.Limits[i-1]
	}
	if a.Least == nil {
		a.AgainstIt = besideHours(a.Fewest.Summary)
		return
	}
	const moreDays = 2
	for a.BearDays = a.ShortDays + 1; a.BearDays <= a.ShortDays+moreDays; a.BearDays++ {
		if l := a.LeastFor(a.BearDays); l != nil && l.MaxHours < a.Least.MaxHours {
			a.Bearing = l
			break
		}
	}
}

// LeastFor returns the lowest limit under which nine lives in ten have so many short days
// at most; nil where none does.
func (a *HoursAnswer) LeastFor(shortDays int) *Limit {
	for i := range a.Limits {
		if a.Limits[i].Lives.ShortDaysP90 <= float64(shortDays) {
			return &a.Limits[i]
		}
	}
	return nil
}

// A CardRow is a month of the wall card: one fixed start and length, and what it
// costs against chosen runs in the same month.
type CardRow struct {
	First                       calendar.Date // of the month, within the span
	Days                        int
	StartMinute, Minutes        int // 0 minutes: no run
	ShortfallKWh, WoodDryKg     float64
	ChosenShortKWh, ChosenDryKg float64
}

// A monthStart is where chosen runs enter a month.
type monthStart struct {
	day       int // of the span
	storedKWh float64
	pile      woodpile.State
}

// WallCard finds for each month of the span, twelve at most, the fixed start and
// length of the least price in the mean of so many of the household's lives, from the stored
// energy at which chosen runs enter the month and handing that back. Shortfall and wood are
// those of the household's own days. The only error is the context's.
func WallCard(ctx context.Context, h *sim.Household, chosen sim.Chooser, lives int) ([]CardRow, error) {
	entered := newMonthStarts(h)
	books, err := sim.Run(ctx, h, chosen, entered.watch)
	if err != nil {
		return nil, err
	}
	return wallCard(ctx, h, books, entered, lives)
}

// monthStarts notes where a life enters each month.
type monthStarts struct {
	*sim.Household
	months   []monthStart
	entering sim.State
}

func newMonthStarts(h *sim.Household) *monthStarts {
	return &monthStarts{Household: h, entering: h.Start()}
}

func (m *monthStarts) watch(at sim.Moment, s *sim.State, _ *sim.Flows) {
	if at.OfDay == 0 && (at.Day == 0 || m.Days[at.Day].Date.Day() == 1) {
		m.months = append(m.months, monthStart{at.Day, m.entering.Bank.StoredKWh(), m.entering.Pile})
	}
	m.entering = *s
}

// wallCard is WallCard where chosen runs have been lived through.
func wallCard(ctx context.Context, h *sim.Household, books *sim.Books, entered *monthStarts, lives int) ([]CardRow, error) {
	const aYear = 12
	months, err := entered.months, error(nil)
	months = append(months, monthStart{day: len(h.Days)})
	rows := make([]CardRow, min(aYear, len(months)-1))
	for i := range rows {
		if rows[i], err = cardRow(ctx, h, lives, months[i], months[i+1].day); err != nil {
			return nil, err
		}
		for _, day := range books.Days[months[i].day:months[i+1].day] {
			rows[i].ChosenShortKWh += day.ShortfallKWh
			rows[i].ChosenDryKg += day.BurnedDryKg
		}
	}
	return rows, nil
}

// cardPlan keeps the wall card: each month its own fixed start and length.
type cardPlan struct {
	*sim.Household
	byMonth [12]window
}

// keeping is the plan of a household that keeps a wall card, in the months that stand on it.
func keeping(h *sim.Household, card []CardRow) *cardPlan {
	p := &cardPlan{Household: h}
	for i := range card {
		row := &card[i]
		p.byMonth[row.First.Month()-1] = window{row.StartMinute / h.Span.StepMinutes, row.Minutes / h.Span.StepMinutes}
	}
	return p
}

// Choose is what the month's window says.
func (p *cardPlan) Choose(s *sim.State, at sim.Moment) sim.Command {
	return p.byMonth[p.Days[at.Day].Date.Month()-1].plan(p.Household).Choose(s, at)
}

// cardRow tries every start and length in a month, and no run.
func cardRow(ctx context.Context, h *sim.Household, lives int, m monthStart, end int) (CardRow, error) {
	month := monthOf(h, m, end)
	r := rivals{Household: month, lives: livesOf(h, lives), firstDay: m.day}
	best, _, err := r.best(ctx, append([]window{{}}, r.windows()...))
	if err != nil {
		return CardRow{}, err
	}
	books, err := sim.Run(ctx, month, best.plan(month), nil)
	if err != nil {
		return CardRow{}, err
	}
	total := books.Total()
	return CardRow{First: month.Span.Start, Days: month.Span.Days, StartMinute: best.start * h.Span.StepMinutes,
		Minutes: best.steps * h.Span.StepMinutes, ShortfallKWh: total.ShortfallKWh, WoodDryKg: total.BurnedDryKg}, nil
}

// monthOf is the household in a part of its span, as chosen runs enter it.
func monthOf(h *sim.Household, m monthStart, end int) *sim.Household {
	return h.Part(m.day, end-m.day, func(spec *sim.Spec) {
		spec.StartShare = m.storedKWh / h.Bank.FullKWh
		spec.Pile.Stacks, spec.Pile.Cuts = nil, nil
		for i, stack := range h.Pile.Stacks {
			stack.DryKg, stack.DryBasis = m.pile.DryKg[i], m.pile.DryBasis[i]
			if h.Pile.Rack != nil && i == h.Pile.Rack.Dried {
				stack.Species = h.Pile.Stacks[m.pile.RackFrom[1]].Species
			}
			spec.Pile.Stacks = append(spec.Pile.Stacks, stack)
		}
		for _, cut := range h.Pile.Cuts {
			if cut.Day >= m.day && cut.Day < end {
				cut.Day -= m.day
				spec.Pile.Cuts = append(spec.Pile.Cuts, cut)
			}
		}
	})
}
