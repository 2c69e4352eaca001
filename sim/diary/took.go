package diary

import (
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// Took is what the house took between two runs, and what is expected of that time, without
// chores.
type Took struct {
	KWh, ExpectedKWh float64
	Days             float64 // that lie between, more than 0
	PastDays         float64 // from their end to the day's midnight
}

// LastTook returns what the house took between the runs of the days before a date, at most so
// many days before it, by the charge noted as one ended and the next began. Left out are gaps
// in which the charge was not noted, of more than three days, or which are expected to end near
// the floor: the house may have been dark; and those in which panels are expected to give more than a
// tenth of what is wanted, for the charge tells of the sky then.
func LastTook(household *sim.Household, rows []Row, date calendar.Date, days int) []Took {
	h := dated(household)
	midnight := int(date) * calendar.MinutesADay
	var all []Took
	for i := 1; i < len(rows); i++ {
		before, after := &rows[i-1], &rows[i]
		past := midnight - after.from()
		if past < 0 || past > days*calendar.MinutesADay {
			continue
		}
		b, ok := gapBalance(h, before, after)
		if !ok || b.nearFloor(h.House, 1) {
			continue
		}
		t := Took{Days: b.size, PastDays: float64(past) / calendar.MinutesADay}
		for j := range b.parts {
			t.ExpectedKWh += b.parts[j].loadKW * b.parts[j].hours
		}
		t.KWh = t.ExpectedKWh * b.loadFactor(h.House)
		all = append(all, t)
	}
	return all
}

// loadFactor is by how much the load of a balance must have differed from what is expected for
// the charge to have changed as noted, 0 or more.
func (b *balance) loadFactor(h *sim.House) float64 {
	factor := 1.0
	const turns = 3 // of Newton: the energies are straight but where the surplus changes its sign
	for range turns {
		e := b.energies(h, factor)
		gains := b.charging*e.in - e.out/h.Bank.DischargeEfficiency - b.leakKWh
		slope := b.charging*e.inByLoad - e.outByLoad/h.Bank.DischargeEfficiency
		if slope == 0 {
			break
		}
		factor = max(0, factor+(b.gainKWh-gains)/slope)
	}
	return factor
}
