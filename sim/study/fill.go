package study

import (
	"context"

	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/storage/battery"
)

// seldomFull reports whether a span's bank is full so seldom that it should be filled: twice as
// seldom as wanted. A judgement.
func seldomFull(h *sim.Household, b *sim.BankSummary) bool {
	const often = 2
	return b.SeldomFull && b.DaysBetweenFull > often*float64(h.Prices.FullEveryDays)
}

// neverFills reports whether a size is never full in a span, or five times as seldom as wanted: it
// is not recommended.
func neverFills(h *sim.Household, b *sim.BankSummary) bool {
	const times = 5
	return b.SeldomFull && b.DaysBetweenFull >= times*float64(h.Prices.FullEveryDays)
}

// toFill is what fills a bank that is seldom full: a day's longest run, begun as late as the rules
// allow, or else the least change with which that fills it. The error is the context's.
func toFill(ctx context.Context, h *sim.Household) (Remedy, error) {
	if h.Bank.CeilingShare < battery.FullShare {
		return RaiseCeiling, nil
	}
	for _, t := range []struct {
		remedy Remedy
		change func(*sim.Spec)
	}{
		{LongerRunToFill, func(*sim.Spec) {}},
		{MoreHoursToFill, func(s *sim.Spec) { s.Tending.MaxHoursADay += moreHours }},
		{ChargerToFill, largerCharger},
		{SmallerBankToFill, func(s *sim.Spec) { s.Bank.FullKWh /= larger }},
	} {
		changed := h.With(func(s *sim.Spec) { s.PileWithoutEnd(); t.change(s) })
		if fills, err := canFill(ctx, changed); fills || err != nil {
			return t.remedy, err
		}
	}
	return UseLessToFill, nil
}

// canFill reports whether a run as long as the rules allow, day after day, makes the bank full within
// a fortnight of the span, its days as expected.
func canFill(ctx context.Context, h *sim.Household) (bool, error) {
	const days = 14
	part := h.Part(0, min(days, h.Span.Days), func(*sim.Spec) {})
	const always = 2 // shares of the bank: never reached
	books, err := sim.Run(ctx, part.Wanting(part.Demand.Expected()),
		&plan.WhenLow{House: part.House, StartBelow: always, StopAbove: always, ChoreKW: part.ChoreKW}, nil)
	if err != nil {
		return false, err
	}
	return books.EverFull(), nil
}
