package diary

import (
	"math"
	"testing"

	"twigwatt/sim/calendar"
)

// TestLastTook: worked. A house whose bank falls between two runs by what a load of 1.3 times the
// expected takes has taken 1.3 times the expected; days too long past, or to come, are not told.
func TestLastTook(t *testing.T) {
	scenario := home(t, nil)
	h := dated(scenario)
	const factor = 1.3
	gap := func(day calendar.Date) [2]Row {
		before, after := noted(scenario, 18*60, 9, 60, 90), noted(scenario, 18*60, 9, 80, 80)
		before.Date, after.Date = scenario.Span.Start+day, scenario.Span.Start+day+1
		b, ok := gapBalance(h, &before, &after)
		if !ok {
			t.Fatal("no balance")
		}
		e := b.energies(h.House, factor)
		after.SocStartPct = 90 + 100*(b.charging*e.in-e.out/h.House.Bank.DischargeEfficiency-b.leakKWh)/h.House.Bank.FullKWh
		return [2]Row{before, after}
	}
	old, last, next := gap(2), gap(20), gap(25)
	rows := append(append(old[:], last[:]...), next[:]...)
	took := LastTook(scenario, rows, scenario.Span.Start+23, 14)
	// between the runs of 20 and 21: 20 hours; from the second's match, 14:00 on the 21st, to the 23rd's midnight: 34 hours
	// (the gap from the 21st to the 25th is too long)
	if len(took) != 1 || math.Abs(took[0].Days-20.0/24) > 1e-12 || math.Abs(took[0].PastDays-34.0/24) > 1e-12 {
		t.Fatalf("got %+v", took)
	}
	// the leak is reckoned at the mean charge, which the lower end moves by a little
	if got := took[0].KWh / took[0].ExpectedKWh; math.Abs(got-factor) > 2e-3 {
		t.Errorf("took %g times what is expected, want %g", got, factor)
	}
}
