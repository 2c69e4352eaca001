package study

import (
	"context"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
)

// ShortPriceFactor is what the studies of hours and bank weigh shortfall at,
// against the scenario's price: a limit or a size is asked what it can do, not
// what it would rather save.
const ShortPriceFactor = 100

// A Limit is a span under a limit on a day's attended hours: in lives that differ in the
// luck of their days, and as the household's own days come.
type Limit struct {
	MaxHours float64
	Lives    *Lives
	*sim.Summary
}

// Hours is the answer to how many hours a day.
type Hours struct {
	Name      string
	Span      calendar.Span
	Lives     int     // that short days are counted in
	ShortDays int     // that are allowed
	ShortKg   float64 // price of a kWh of shortfall that was planned with
	Limits    []Limit
	Least     *Limit // nil: none meets it
	Card      []CardRow
	CardLimit float64 // the limit that the card keeps
	Warnings  []sim.Warning
}

// NewLimit lives through a span by chosen runs under a limit that the house keeps. The only
// error is the context's.
func NewLimit(ctx context.Context, maxHours float64, h *sim.House, own, steady *loads.Demand, p *plan.Plan,
	c *Chance, warnings []sim.Warning) (Limit, error) {
	books, lives, err := LiveChosen(ctx, h, own, steady, p, c, nil)
	if err != nil {
		return Limit{}, err
	}
	return Limit{maxHours, lives, sim.Summarize(h, books, warnings)}, nil
}

// FindLeast sets the least limit that meets the wanted days in nine lives of ten.
func (h *Hours) FindLeast() { h.Least = h.LeastFor(h.ShortDays) }

// LeastFor returns the least limit under which nine lives in ten have so many short days
// at most; nil where none does.
func (h *Hours) LeastFor(shortDays int) *Limit {
	for i := range h.Limits {
		if h.Limits[i].Lives.ShortDaysP90 <= float64(shortDays) {
			return &h.Limits[i]
		}
	}
	return nil
}

// Fewest returns the least limit with the fewest short days of all in nine lives of ten,
// and of those with as many the one that misses least in the mean.
func (h *Hours) Fewest() *Limit {
	const alikeKWh = 0.05
	fewest := &h.Limits[0]
	for i := range h.Limits {
		l := &h.Limits[i]
		if days, least := l.Lives.ShortDaysP90, fewest.Lives.ShortDaysP90; days < least || days == least && l.Lives.ShortKWh < fewest.Lives.ShortKWh-alikeKWh {
			fewest = l
		}
	}
	return fewest
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
	day    int // of the span
	stored float64
	pile   woodpile.State
}

// WallCard finds for each month of the span, twelve at most, the fixed start and
// length of the least price in the mean of the household's lives, from the stored energy
// at which chosen runs enter the month and handing that back. Shortfall and wood are
// those of the household's own days. The only error is the context's.
func WallCard(ctx context.Context, h *sim.House, d, steady *loads.Demand, choreKW []float64, chosen sim.Chooser,
	c *Chance) ([]CardRow, error) {
	var months []monthStart
	entering := h.Start()
	books, err := sim.Run(ctx, h, d, chosen, func(at sim.Moment, s *sim.State, _ *sim.Flows) {
		if at.OfDay == 0 && (at.Day == 0 || h.Days[at.Day].Date.Day() == 1) {
			months = append(months, monthStart{at.Day, entering.Bank.StoredKWh(), entering.Pile})
		}
		entering = *s
	})
	if err != nil {
		return nil, err
	}
	const aYear = 12
	months = append(months, monthStart{day: len(h.Days)})
	rows := make([]CardRow, min(aYear, len(months)-1))
	for i := range rows {
		if rows[i], err = cardRow(ctx, h, d, steady, choreKW, c, months[i], months[i+1].day); err != nil {
			return nil, err
		}
		for _, day := range books.Days[months[i].day:months[i+1].day] {
			rows[i].ChosenShortKWh += day.ShortfallKWh
			rows[i].ChosenDryKg += day.BurnedDryKg
		}
	}
	return rows, nil
}

// cardRow tries every start and length in a month, and no run.
func cardRow(ctx context.Context, h *sim.House, d, steady *loads.Demand, choreKW []float64, c *Chance,
	m monthStart, end int) (CardRow, error) {
	month, own := monthOf(h, d, m, end)
	perDay := h.Span.StepsADay()
	part := func(kw []float64) []float64 {
		if kw == nil {
			return nil
		}
		return kw[m.day*perDay : end*perDay]
	}
	r := rivals{house: month, steady: &loads.Demand{LoadKW: part(steady.LoadKW), OtherKW: part(steady.OtherKW)},
		choreKW: part(choreKW), chance: c, firstDay: m.day}
	best, _, err := r.best(ctx, append([]window{{}}, r.windows()...))
	if err != nil {
		return CardRow{}, err
	}
	books, err := sim.Run(ctx, month, own, best.plan(month, r.choreKW), nil)
	if err != nil {
		return CardRow{}, err
	}
	total := books.Total()
	return CardRow{First: month.Span.Start, Days: month.Span.Days, StartMinute: best.start * h.Span.StepMinutes,
		Minutes:      best.steps * h.Span.StepMinutes,
		ShortfallKWh: total.ShortfallKWh, WoodDryKg: total.BurnedDryKg}, nil
}

// monthOf is the household in a part of its span, as chosen runs enter it.
func monthOf(h *sim.House, d *loads.Demand, m monthStart, end int) (*sim.House, *loads.Demand) {
	spec := h.Spec
	spec.Span.Start, spec.Span.Days = h.Span.Start+calendar.Date(m.day), end-m.day
	spec.StartShare = m.stored / h.Bank.FullKWh
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
	from, to := m.day*h.Span.StepsADay(), end*h.Span.StepsADay()
	return sim.NewHouse(spec), &loads.Demand{LoadKW: d.LoadKW[from:to], OtherKW: d.OtherKW[from:to]}
}
