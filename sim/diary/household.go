package diary

import (
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/storage/woodpile"
)

// datedHousehold answers for a household what is to be expected on the dates of a diary.
type datedHousehold struct {
	*sim.Household
	*almanac
	readyMoisture []float64 // of the wood that is burned first, wet basis, by day of the span
}

func dated(household *sim.Household) *datedHousehold {
	h := &datedHousehold{Household: household, almanac: newAlmanac(household.House.Span)}
	pile, state := &household.House.Pile, household.House.Start().Pile
	for day := range household.House.Days {
		if pile.Endless {
			h.readyMoisture = append(h.readyMoisture, household.House.Set.RatedMoisture)
			continue
		}
		h.readyMoisture = append(h.readyMoisture, woodpile.WetBasis(pile.NextDryBasis(&state)))
		pile.Lay(&state, day)
		pile.Night(&state, household.House.Days[day].Drying)
	}
	return h
}

// stepPart is time within one step: what the house is expected to want in it, and the
// share of it in which the engine gives power, 0 or 1.
type stepPart struct {
	day                      *sim.Day
	hours                    float64
	loadKW, choreKW, otherKW float64
	sunKW, houseSunKW        float64 // expected of panels at the bank, and of otherKW of those at the house
	ready                    float64
	wholeStep                bool
}

// parts cuts the time between two moments (minutes since 1970) at the steps' ends and
// at the one from which the engine gives power.
func (h *datedHousehold) parts(from, to, readyAt int) []stepPart {
	var all []stepPart
	for at := from; at < to; {
		minute := at % calendar.MinutesADay
		ofDay := minute / h.span.StepMinutes
		end := min(to, at-minute+(ofDay+1)*h.span.StepMinutes)
		if at < readyAt {
			end = min(end, readyAt)
		}
		day := h.day(calendar.Date(at / calendar.MinutesADay))
		step := day*h.span.StepsADay() + ofDay
		p := stepPart{day: &h.House.Days[day], hours: float64(end-at) / 60, loadKW: h.Demand.ExpectedLoadKW[step],
			otherKW: h.Demand.ExpectedOtherKW[step], wholeStep: end-at == h.span.StepMinutes}
		if h.Demand.SunKW != nil {
			p.sunKW, p.houseSunKW = h.Demand.ExpectedSunKW[step], h.Demand.ExpectedHouseSunKW[step]
		}
		if h.ChoreKW != nil {
			p.choreKW = h.ChoreKW[step]
		}
		if at >= readyAt {
			p.ready = 1
		}
		all = append(all, p)
		at = end
	}
	return all
}

// runParts are those of a run, gapParts those between two runs.
func (h *datedHousehold) runParts(r *Row) []stepPart {
	return h.parts(r.from(), r.to(), min(r.to(), r.from()+h.House.Set.LightUpMinutes))
}

func (h *datedHousehold) gapParts(before, after *Row) []stepPart {
	return h.parts(before.to(), after.from(), after.from())
}

// loadKWhPerDay is the load expected on the mean day from a diary's first to its last.
func (h *datedHousehold) loadKWhPerDay(rows []Row) float64 {
	first, last := rows[0].Date, rows[len(rows)-1].Date
	perDay, sum := h.span.StepsADay(), 0.0
	for date := first; date <= last; date++ {
		step := h.day(date) * perDay
		for _, kw := range h.Demand.ExpectedLoadKW[step : step+perDay] {
			sum += kw * h.span.StepH()
		}
	}
	return sum / float64(last-first+1)
}

// engineHours are those in which the set gave power: from the end of the
// light-up to the stop, none in a shorter run.
func (h *datedHousehold) engineHours(r *Row) float64 {
	return max(0, float64(r.StopMinute-r.StartMinute-h.House.Set.LightUpMinutes)/60)
}

// moisture is the wood's, wet basis, 0 to below 0.6: as noted, else that of the scenario's ready
// wood on the day, nothing burned of it.
func (h *datedHousehold) moisture(r *Row) float64 {
	if Noted(r.MoisturePct) {
		return r.MoisturePct / 100
	}
	return h.readyMoisture[h.day(r.Date)]
}

// wettest is the end of the gas model's table, wet basis: wetter wood, which hardly
// gasifies, counts as this wet but for its water.
const wettest = 0.45

func (h *datedHousehold) heat(r *Row) float64 {
	return h.House.Factors.Heat(min(h.moisture(r), wettest))
}

// ratedDryKg turns weighed wood into oven-dry wood of the rated moisture that
// gives as much gas.
func (h *datedHousehold) ratedDryKg(r *Row) float64 {
	return r.WoodAsIsKg * (1 - h.moisture(r)) * h.heat(r)
}

// asIsKg is the way back.
func (h *datedHousehold) asIsKg(r *Row, ratedDryKg float64) float64 {
	return ratedDryKg / ((1 - h.moisture(r)) * h.heat(r))
}

// engine is what the set can give on a row's day and wood.
func (h *datedHousehold) engine(r *Row) sim.Engine {
	day := &h.House.Days[h.day(r.Date)]
	return h.House.Engine(day, woodpile.DryBasis(min(h.moisture(r), wettest)), 1)
}

// fuelLine is the scenario's as no-load wood and wood for each kWh; of a curve, the
// straight line through its ends.
func (h *datedHousehold) fuelLine() (idleKgH, perKWhKg float64) {
	points := h.House.Set.Line
	first, last := points[0], points[len(points)-1]
	perKWhKg = (last.Y - first.Y) / (last.X - first.X)
	return first.Y - perKWhKg*first.X, perKWhKg
}

// expectedDryKg is the wood a run is expected to take, oven-dry at the rated moisture.
func (h *datedHousehold) expectedDryKg(r *Row) float64 {
	hours := h.engineHours(r)
	if hours == 0 {
		return h.House.Set.LightUpKg
	}
	return h.House.Set.LightUpKg + h.House.Set.BurnedKg(1, r.KWh/hours, hours)
}

// takesKW is what the house, in the mean of a run's engine hours, and the bank, at the
// run's end, take of the engine.
func (h *datedHousehold) takesKW(r *Row, parts []stepPart) float64 {
	netKWh, hours := 0.0, 0.0
	for i := range parts {
		p := &parts[i]
		netKWh += (p.loadKW + p.choreKW - p.otherKW) * p.hours * p.ready
		hours += p.hours * p.ready
	}
	bank := h.House.Days[h.day(r.Date)].Bank
	return netKWh/hours + bank.AcceptKW(r.SocEndPct/100*h.House.Bank.FullKWh)
}

// electric steps the scenario's bank, from a percentage of charge and at rest, through
// parts in which the engine can give what e says, and returns the percentage it
// comes to and the energy the engine made.
func (h *datedHousehold) electric(parts []stepPart, fromPct float64, e sim.Engine) (toPct, madeKWh float64) {
	full := h.House.Bank.FullKWh
	state := h.House.Bank.Rested(fromPct / 100 * full)
	for i := range parts {
		p := &parts[i]
		bank := p.day.Bank
		if !p.wholeStep {
			bank = h.House.Bank.Paced(p.hours, p.day.Bank.AirC)
		}
		e.Ready = p.ready
		var power sim.Power
		power.Sun.KW = p.sunKW
		h.House.Electric(bank, &state, &power, p.loadKW+p.choreKW, p.otherKW, e)
		madeKWh += power.EngineKW * p.hours
	}
	return 100 * state.StoredKWh() / full, madeKWh
}

// highestCap is how high the cap of a run's power is sought, in times the set's.
const highestCap = 3

// runTo returns the percentage of charge that a run should end at: with the energy
// noted, made under a cap on the engine's power that makes just that, or evenly where
// house and bank would not have taken it; without, as the scenario's set runs.
func (h *datedHousehold) runTo(r *Row, parts []stepPart) (toPct float64) {
	e := h.engine(r)
	hours := h.engineHours(r)
	capped := func(kw float64) (toPct, madeKWh float64) {
		return h.electric(parts, r.SocStartPct, sim.Engine{MostKW: kw, LeastKW: min(e.LeastKW, kw)})
	}
	if !Noted(r.KWh) || hours == 0 {
		toPct, _ = capped(e.MostKW)
		return toPct
	}
	low, high := 0.0, highestCap*e.MostKW
	if _, madeKWh := capped(high); madeKWh < r.KWh {
		toPct, _ = h.electric(parts, r.SocStartPct, sim.Engine{MostKW: r.KWh / hours, LeastKW: r.KWh / hours})
		return toPct
	}
	const halvings = 30
	for range halvings {
		middle := (low + high) / 2
		if _, madeKWh := capped(middle); madeKWh < r.KWh {
			low = middle
		} else {
			high = middle
		}
	}
	toPct, _ = capped(high)
	return toPct
}
