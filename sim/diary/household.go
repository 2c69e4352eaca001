package diary

import (
	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// A Household is what a diary is compared with: the scenario's equipment and what
// it expects the house to want.
type Household struct {
	House   *sim.House
	Demand  *loads.Demand
	ChoreKW []float64 // by step of the span; nil: none
}

// DayOfSpan returns the day of a span, from 0, that stands for a date: the date
// itself, or its calendar day in the first year of the span that holds it; where
// none does, the day of the span nearest to it in the year.
func DayOfSpan(span calendar.Span, date calendar.Date) int { return newAlmanac(span).day(date) }

// Elsewhere counts the rows whose calendar day the span does not hold: another day
// of the year stands for it.
func Elsewhere(rows []Row, span calendar.Span) int {
	a, n := newAlmanac(span), 0
	for i := range rows {
		if stands := span.Start + calendar.Date(a.day(rows[i].Date)); leapDay(stands) != leapDay(rows[i].Date) {
			n++
		}
	}
	return n
}

// almanac finds the day of a span that stands for a date.
type almanac struct {
	span calendar.Span
	days [daysInLeapYear]int // by the day of a leap year, from 0
}

const daysInLeapYear = 366

// leapDay is a date's day of a leap year, from 0.
func leapDay(d calendar.Date) int {
	return calendar.NewDate(2024, d.Month(), d.Day()).YearDay() - 1
}

func newAlmanac(span calendar.Span) *almanac {
	a := &almanac{span: span}
	for i := range a.days {
		a.days[i] = -1
	}
	for day := min(span.Days, 4*daysInLeapYear+1) - 1; day >= 0; day-- { // the first year of several stays
		a.days[leapDay(span.Start+calendar.Date(day))] = day
	}
	held := a.days
	for i := range a.days {
		for away := 0; a.days[i] < 0; away++ {
			for _, near := range []int{i - away, i + away} {
				if day := held[(near+daysInLeapYear)%daysInLeapYear]; day >= 0 && a.days[i] < 0 {
					a.days[i] = day
				}
			}
		}
	}
	return a
}

func (a *almanac) day(date calendar.Date) int {
	if i := int(date - a.span.Start); i >= 0 && i < a.span.Days {
		return i
	}
	return a.days[leapDay(date)]
}

// expecter reads a household by the diary's dates.
type expecter struct {
	Household
	almanac *almanac
}

func newExpecter(of Household) *expecter { return &expecter{of, newAlmanac(of.House.Span)} }

func (e *expecter) dayOf(date calendar.Date) *sim.Day { return &e.House.Days[e.almanac.day(date)] }

// piece is a stretch of time within one step: what the house is expected to
// want in it, and the share of it in which the engine gives power.
type piece struct {
	day             *sim.Day
	hours           float64
	loadKW, choreKW float64
	otherKW         float64
	ready           float64
	wholeStep       bool
}

// pieces cuts the time between two moments (minutes since 1970) at the steps'
// ends and, in a run, at the end of its light-up. lightUpEnd is that moment, and
// what lies after stop is no run; a stretch without a run has lightUpEnd at to.
func (e *expecter) pieces(from, to, lightUpEnd int) []piece {
	var all []piece
	step, perDay := e.House.Span.StepMinutes, e.House.Span.StepsADay()
	for at := from; at < to; {
		date, minute := calendar.Date(floorDiv(at, calendar.MinutesADay)), floorMod(at, calendar.MinutesADay)
		ofDay := minute / step
		end := min(to, at-minute+(ofDay+1)*step)
		if at < lightUpEnd {
			end = min(end, lightUpEnd)
		}
		day := e.almanac.day(date)
		i := day*perDay + ofDay
		p := piece{day: &e.House.Days[day], hours: float64(end-at) / 60, loadKW: e.Demand.ExpectedLoadKW[i],
			otherKW: e.Demand.ExpectedOtherKW[i], wholeStep: end-at == step}
		if e.ChoreKW != nil {
			p.choreKW = e.ChoreKW[i]
		}
		if at >= lightUpEnd {
			p.ready = 1
		}
		all = append(all, p)
		at = end
	}
	return all
}

func floorDiv(a, b int) int { return (a - floorMod(a, b)) / b }
func floorMod(a, b int) int { return (a%b + b) % b }

// runPieces are those of a run, gapPieces those between two runs.
func (e *expecter) runPieces(r *Row) []piece {
	return e.pieces(r.from(), r.to(), min(r.to(), r.from()+e.House.Set.LightUpMinutes))
}

func (e *expecter) gapPieces(before, after *Row) []piece {
	return e.pieces(before.to(), after.from(), after.from())
}

// engineHours are those in which the set gave power: from the end of the
// light-up to the stop, none in a shorter run.
func (e *expecter) engineHours(r *Row) float64 {
	return max(0, float64(r.StopMinute-r.StartMinute-e.House.Set.LightUpMinutes)/60)
}

// moisture is the wood's, wet basis, 0 to below 0.6.
func (e *expecter) moisture(r *Row) float64 {
	if Noted(r.MoisturePct) {
		return r.MoisturePct / 100
	}
	return e.House.Set.RatedMoisture
}

// wettest is the end of the gas model's table, wet basis: wetter wood, which hardly
// gasifies, counts as this wet but for its water.
const wettest = 0.45

func (e *expecter) heat(r *Row) float64 { return e.House.Factors.Heat(min(e.moisture(r), wettest)) }

// set is what the set can give on a row's day and wood.
func (e *expecter) set(r *Row) sim.Engine {
	return e.House.Engine(e.dayOf(r.Date), dryBasis(min(e.moisture(r), wettest)), 1)
}

// ratedDryKg turns weighed wood into oven-dry wood of the rated moisture that
// gives as much gas.
func (e *expecter) ratedDryKg(r *Row) float64 {
	return r.WoodAsIsKg * (1 - e.moisture(r)) * e.heat(r)
}

// asIsKg is the way back.
func (e *expecter) asIsKg(r *Row, ratedDryKg float64) float64 {
	return ratedDryKg / ((1 - e.moisture(r)) * e.heat(r))
}

// powerFactor is the set's on a row's wood in the air of its day, of kw.
func (e *expecter) powerFactor(r *Row) float64 {
	return e.set(r).MostKW / e.House.Set.KW
}

// line is the scenario's fuel line as no-load wood and wood for each kWh; of a
// curve, the straight line through its ends.
func (e *expecter) line() (idleKgH, perKWhKg float64) {
	points := e.House.Set.Line
	first, last := points[0], points[len(points)-1]
	perKWhKg = (last.Y - first.Y) / (last.X - first.X)
	return first.Y - perKWhKg*first.X, perKWhKg
}

// ratedDryOfRunKg is the wood a run is expected to take, oven-dry at the rated moisture.
func (e *expecter) ratedDryOfRunKg(r *Row) float64 {
	hours := e.engineHours(r)
	if hours == 0 {
		return e.House.Set.LightUpKg
	}
	return e.House.Set.LightUpKg + e.House.Set.BurnedKg(1, r.KWh/hours, hours)
}

// electric steps the scenario's bank, from a percentage of charge and at rest,
// through pieces in which the engine can give what engine says, and returns the
// percentage it comes to and the energy the engine made.
func (e *expecter) electric(pieces []piece, fromPct float64, engine sim.Engine) (toPct, madeKWh float64) {
	full := e.House.Bank.FullKWh
	state := e.House.Bank.Rested(fromPct / 100 * full)
	for i := range pieces {
		p := &pieces[i]
		bank := p.day.Bank
		if !p.wholeStep {
			bank = e.House.Bank.Paced(p.hours, p.day.Bank.AirC)
		}
		engine.Ready = p.ready
		var power sim.Power
		e.House.Electric(bank, &state, &power, p.loadKW+p.choreKW, p.otherKW, engine)
		madeKWh += power.EngineKW * p.hours
	}
	return 100 * state.StoredKWh() / full, madeKWh
}

// mostOverKW is how far above the set's power the cap of a run's power is sought.
const mostOverKW = 3

// runTo returns the percentage of charge that a run should end at: with the energy
// noted, made under a cap on the engine's power that makes just that, or evenly where
// house and bank would not have taken it; without, as the scenario's set runs.
func (e *expecter) runTo(r *Row, pieces []piece) (toPct float64) {
	engine := e.set(r)
	hours := e.engineHours(r)
	capped := func(kw float64) (toPct, madeKWh float64) {
		return e.electric(pieces, r.SocStartPct, sim.Engine{MostKW: kw, LeastKW: min(engine.LeastKW, kw)})
	}
	if !Noted(r.KWh) || hours == 0 {
		toPct, _ = capped(engine.MostKW)
		return toPct
	}
	low, high := 0.0, mostOverKW*engine.MostKW
	if _, madeKWh := capped(high); madeKWh < r.KWh {
		toPct, _ = e.electric(pieces, r.SocStartPct, sim.Engine{MostKW: r.KWh / hours, LeastKW: r.KWh / hours})
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

// dryBasis turns moisture from wet basis.
func dryBasis(wetBasis float64) float64 { return wetBasis / (1 - wetBasis) }
