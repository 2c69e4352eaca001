package study

import (
	"context"
	"math"
	"runtime"
	"sync"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/storage/woodpile"
)

// ShortPriceFactor is what the studies of hours and bank weigh shortfall at,
// against the scenario's price: a limit or a size is asked what it can do, not
// what it would rather save.
const ShortPriceFactor = 100

// A Limit is a span under a limit on a day's attended hours.
type Limit struct {
	MaxHours float64
	*sim.Summary
}

// Hours is the answer to how many hours a day.
type Hours struct {
	Name      string
	Span      calendar.Span
	ShortDays int     // that are allowed
	ShortKg   float64 // price of a kWh of shortfall that was planned with
	Limits    []Limit
	Least     *Limit // nil: none meets it
	Card      []CardRow
	CardLimit float64 // the limit that the card keeps
	Warnings  []sim.Warning
}

// FindLeast sets the least limit that meets the wanted days.
func (h *Hours) FindLeast() {
	for i := range h.Limits {
		if h.Limits[i].Shortage.Days <= h.ShortDays {
			h.Least = &h.Limits[i]
			return
		}
	}
}

// Fewest returns the least limit with the fewest short days of all, and of those with
// as many the one that misses least.
func (h *Hours) Fewest() *Limit {
	const alikeKWh = 0.05
	fewest := &h.Limits[0]
	for i := range h.Limits {
		l := &h.Limits[i]
		if l.Shortage.Days < fewest.Shortage.Days || l.Shortage.Days == fewest.Shortage.Days && l.Total.ShortfallKWh < fewest.Total.ShortfallKWh-alikeKWh {
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
// length of the least price, from the stored energy at which chosen runs enter
// the month and handing that back. The only error is the context's.
func WallCard(ctx context.Context, h *sim.House, d *loads.Demand, choreKW []float64, chosen sim.Chooser) ([]CardRow, error) {
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
	errs := make([]error, len(rows))
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := range next {
				rows[i], errs[i] = cardRow(ctx, h, d, choreKW, months[i], months[i+1].day)
				for _, day := range books.Days[months[i].day:months[i+1].day] {
					rows[i].ChosenShortKWh += day.ShortfallKWh
					rows[i].ChosenDryKg += day.BurnedDryKg
				}
			}
		})
	}
	for i := range rows {
		next <- i
	}
	close(next)
	workers.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// cardRow tries every start and length in a month, and no run.
func cardRow(ctx context.Context, h *sim.House, d *loads.Demand, choreKW []float64, m monthStart, end int) (CardRow, error) {
	month, demand := monthOf(h, d, m, end)
	var chores []float64
	if choreKW != nil {
		perDay := h.Span.StepsADay()
		chores = choreKW[m.day*perDay : end*perDay]
	}
	row := CardRow{First: month.Span.Start, Days: month.Span.Days}
	least := math.Inf(1)
	weigh := func(start, steps int) error {
		w, err := try(ctx, month, demand, chores, start, steps)
		if err != nil {
			return err
		}
		if price := fullPrice(w); price < least-marginKg {
			least = price
			row.StartMinute, row.Minutes = start*h.Span.StepMinutes, steps*h.Span.StepMinutes
			row.ShortfallKWh, row.WoodDryKg = w.Summary.Total.ShortfallKWh, w.Summary.Total.BurnedDryKg
		}
		return nil
	}
	if err := weigh(0, 0); err != nil {
		return row, err
	}
	for steps := h.MinSteps(); steps <= h.MaxSteps(); steps++ {
		for start := range h.Span.StepsADay() {
			if h.TendedAhead(start) < steps {
				continue
			}
			if err := weigh(start, steps); err != nil {
				return row, err
			}
		}
	}
	return row, nil
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
