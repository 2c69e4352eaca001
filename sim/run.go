package sim

import (
	"context"

	"twigwatt/loads"
)

// A Chooser says, at the start of each step, whether the set burns through it
// and which chores run. It must keep the rules (MayRun, MustRun) and is asked
// for each step of the span in order.
type Chooser interface {
	Choose(s *State, at Moment) Command // for the step that begins at a moment; it does not change the state
}

// Run drives a household through its span. watch, if not nil, is shown each
// step with the state it led to. The only error is the context's.
func Run(ctx context.Context, h *House, d *loads.Demand, c Chooser, watch func(at Moment, s *State, f *Flows)) (*Books, error) {
	s := h.Start()
	books := newBooks(h, &s)
	var f Flows
	var at Moment
	for day := range h.Days {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		bank := h.Days[day].Bank
		floorAndSpareKWh := bank.FloorKWh + h.Prices.SpareShare*bank.FullKWh
		record := books.open(day, &s)
		for at.Day, at.OfDay = day, 0; at.OfDay < h.stepsADay; at.OfDay++ {
			command := c.Choose(&s, at)
			f = Flows{LoadKW: d.LoadKW[at.Step] + command.ChoreKW, OtherKW: d.OtherKW[at.Step]}
			h.Advance(&s, &f, at, command)
			books.enter(record, at.OfDay, &s, &f, floorAndSpareKWh)
			if !h.Pile.Endless && (f.Run || at.OfDay == h.stepsADay-1) {
				books.enterPile(record, &s, &f)
			}
			if watch != nil {
				watch(at, &s, &f)
			}
			at.Step++
		}
		books.close(record, &s)
	}
	books.Wear.Finish()
	return books, nil
}
