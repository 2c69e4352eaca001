package sim

import (
	"twigwatt/loads"
	"twigwatt/sim/calendar"
)

// A Household is a house with what it wants through its span: what is asked about travels as
// one. It is never changed; its methods make others of it.
type Household struct {
	*House
	Name     string
	Demand   *loads.Demand
	ChoreKW  []float64    // the chores' power by step, each in the first of its hours, for plans that do not place them; nil: none
	Loads    []loads.Part // what the house wants, each thing by itself
	Warnings Warnings     // known before the span begins
}

// Want is what the household wants through its span as its own days come.
func (h *Household) Want() Want {
	d := h.Demand
	return Want{LoadKW: d.LoadKW, OtherKW: d.OtherKW, SunKW: d.SunKW, HouseSunKW: d.HouseSunKW, Factor: 1}
}

// With is the household in a house of a changed spec, whose span is the same.
func (h *Household) With(change func(*Spec)) *Household {
	changed, spec := *h, h.Spec
	change(&spec)
	changed.House = NewHouse(spec)
	return &changed
}

// InHouse is the household in another house of the same span.
func (h *Household) InHouse(house *House) *Household {
	moved := *h
	moved.House = house
	return &moved
}

// Wanting is the household with another demand.
func (h *Household) Wanting(d *loads.Demand) *Household {
	wanting := *h
	wanting.Demand = d
	return &wanting
}

// Unbroken is the household as it is expected beforehand: with a set that does not break.
func (h *Household) Unbroken() *Household {
	if len(h.Tending.Breakdown) == 0 {
		return h
	}
	return h.With(func(spec *Spec) { spec.Tending.Breakdown = nil })
}

// WithoutEnd is the household with ready wood at the rated moisture without end.
func (h *Household) WithoutEnd() *Household { return h.With((*Spec).PileWithoutEnd) }

// PileWithoutEnd has wood at the rated moisture always lie ready.
func (s *Spec) PileWithoutEnd() {
	s.Pile.Endless, s.Pile.Stacks, s.Pile.Cuts, s.Pile.Rack = true, nil, nil, nil
}

// Part is the household in some days of its span, from firstDay on, in a house of a changed
// spec. Both must lie in the span.
func (h *Household) Part(firstDay, days int, change func(*Spec)) *Household {
	perDay := h.Span.StepsADay()
	part := *h
	if h.ChoreKW != nil {
		part.ChoreKW = h.ChoreKW[firstDay*perDay : (firstDay+days)*perDay]
	}
	part.Demand = h.Demand.Part(firstDay, days, perDay)
	spec := h.Spec
	spec.Span.Start, spec.Span.Days = h.Span.Start+calendar.Date(firstDay), days
	if h.BankHealth != nil {
		spec.BankHealth = []float64{h.Days[firstDay].Bank.FullKWh / h.Bank.FullKWh}
	}
	change(&spec)
	part.House = NewHouse(spec)
	return &part
}
