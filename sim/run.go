package sim

import (
	"context"

	"twigwatt/loads"
)

// A Chooser says, at the start of each step, whether the set burns through it
// and which chores run. It must keep the rules (MayRun, MustRun) and is asked
// for each step of the span in order.
type Chooser interface {
	Choose(s *State, step int) Command
}

// Run drives a household through its span. watch, if not nil, is shown each
// step with the state it led to. The only error is the context's.
func Run(ctx context.Context, h *House, d *loads.Demand, c Chooser, watch func(step int, s *State, f *Flows)) (*Books, error) {
	s := h.Start()
	books := newBooks(h, &s)
	for day := range h.Days {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		bank := h.Days[day].Bank
		floorAndSpareKWh := bank.FloorKWh + h.Prices.SpareShare*bank.FullKWh
		record := books.open(day, &s)
		var f Flows
		for step := day * h.stepsADay; step < (day+1)*h.stepsADay; step++ {
			command := c.Choose(&s, step)
			f = Flows{LoadKW: d.LoadKW[step] + command.ChoreKW, OtherKW: d.OtherKW[step]}
			h.step(&s, &f, step, command)
			books.enter(record, &s, &f, floorAndSpareKWh)
			if watch != nil {
				watch(step, &s, &f)
			}
		}
		books.close(record, &s, f.LostDryKg)
	}
	return books, nil
}
