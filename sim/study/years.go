package study

import (
	"context"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// An Ageing is how a bank fades over a span of more than a year.
type Ageing struct {
	Health    []float64 // in each year of the span: what is left of its size
	LifeYears float64   // by the wear of the first year and the calendar together: the lower end of its life
	Replaced  []int     // before which years of the span, from 0, it was replaced
}

// endOfLife is what is left of a bank's size at the end of its life.
//
// Source: as makers define it, common practice.
const endOfLife = 0.8

// leastLeft of its size keeps a bank that is not replaced.
const leastLeft = 0.1

// aged is a household whose bank fades through its span by the wear of its first year and by the
// calendar; as it is, and nil, where the span is no longer than a year. The errors are those of plan.New.
func aged(ctx context.Context, h *sim.Household, rule plan.Rule) (*sim.Household, *Ageing, error) {
	ends := h.Span.Start.AYearLater()
	days := int(ends - h.Span.Start)
	if h.Span.Days <= days || h.BankHealth != nil {
		return h, nil, nil
	}
	first := h.Part(0, days, func(*sim.Spec) {}).Unbroken()
	chooser, err := quickly(ctx, first, rule) // its wear alone is asked for
	if err != nil {
		return nil, nil, err
	}
	books, err := sim.Run(ctx, first, chooser, nil)
	if err != nil {
		return nil, nil, err
	}
	a := &Ageing{LifeYears: sim.Summarize(first, books).Bank.LifeLowYears}
	age := 0.0 // years
	for year, date := 0, h.Span.Start; date < h.Span.End(); year, date = year+1, date.AYearLater() {
		if left := 1 - (1-endOfLife)*age/a.LifeYears; left < endOfLife && h.BankReplaced {
			a.Replaced, age = append(a.Replaced, year), 0
		}
		a.Health = append(a.Health, max(leastLeft, 1-(1-endOfLife)*age/a.LifeYears))
		age++
	}
	return h.With(func(spec *sim.Spec) { spec.BankHealth = a.Health }), a, nil
}
