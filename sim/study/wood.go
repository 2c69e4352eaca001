package study

import (
	"context"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/storage/woodpile"
)

// WithoutEnd is the household with ready wood at the rated moisture without end.
func WithoutEnd(h *sim.House) *sim.House {
	spec := h.Spec
	spec.Pile.Endless, spec.Pile.Stacks, spec.Pile.Cuts, spec.Pile.Rack = true, nil, nil, nil
	return sim.NewHouse(spec)
}

// Need runs a span in which ready wood has no end: what the plan would burn.
// make makes the plan for a house. The only error is the context's.
func Need(ctx context.Context, h *sim.House, d *loads.Demand, make func(context.Context, *sim.House) (sim.Chooser, error)) (*sim.Summary, error) {
	endless := WithoutEnd(h)
	chooser, err := make(ctx, endless)
	if err != nil {
		return nil, err
	}
	books, err := sim.Run(ctx, endless, d, chooser, nil)
	if err != nil {
		return nil, err
	}
	return sim.Summarize(endless, books, nil), nil
}

// A CutRow says from when wood can be burned that is cut on the first of a month.
type CutRow struct {
	Month calendar.Date // the first of the month in which it is cut
	Piece woodpile.Piece
	Cover woodpile.Cover
	Ready *calendar.Date // nil: never in this air
}

// yearsToDry is how long a cut is watched: what is not dry by then never is, for
// every year's air is alike.
const yearsToDry = 4

// CutTable works out, for each month from the span's first, each piece and
// cover, when wood of a species cut then is dry enough to be ready in the
// place's air. Logs must then still be cut small.
func CutTable(h *sim.House, species *woodpile.Species) []CutRow {
	var rows []CutRow
	month := calendar.NewDate(h.Span.Start.Year(), h.Span.Start.Month(), 1)
	airs := map[calendar.Date]*woodpile.Drying{}
	for range 12 {
		for _, piece := range []woodpile.Piece{woodpile.Chunk, woodpile.Split, woodpile.Log} {
			for _, cover := range []woodpile.Cover{woodpile.Roof, woodpile.Open} {
				rows = append(rows, CutRow{month, piece, cover, DryFrom(h, airs, species.GreenWithBarkDryBasis(), h.Pile.MostDryBasis, month, piece, cover)})
			}
		}
		next := month + 31
		month = calendar.NewDate(next.Year(), next.Month(), 1)
	}
	return rows
}

// DryFrom returns the day from which wood that lies from a date on, at a moisture
// from (dry basis), is at most at a moisture to; nil where it never is. airs
// keeps each day's drying for the next call.
func DryFrom(h *sim.House, airs map[calendar.Date]*woodpile.Drying, from, to float64, date calendar.Date, piece woodpile.Piece, cover woodpile.Cover) *calendar.Date {
	const daysAYear = 365
	for day := date; day < date+yearsToDry*daysAYear; day++ {
		if from <= to {
			return &day
		}
		if airs[day] == nil {
			airs[day] = woodpile.DryingIn(h.Air.OnDay(day))
		}
		from = airs[day].After(from, piece, cover)
	}
	return nil
}
