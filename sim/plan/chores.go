package plan

import (
	"math"
	"time"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// A choreBook places chores in runs: each as often in a week as it is wanted, on
// a day whose run has power to spare if there is one, else from the bank at the
// cheapest hour of the last day left to it.
type choreBook struct {
	house  *sim.House
	chores []loads.Chore
	due    [][]int     // by chore, by day: how often, evenly spread
	first  []float64   // kW by step, each chore in the first of its hours: what the days ahead expect
	left   []int       // by chore: times still to place this week
	begun  [][]float64 // by chore: when it begins today, in minutes
	report sim.ChoreReport
}

func newChoreBook(h *sim.House, d *loads.Demand, chores []loads.Chore) *choreBook {
	b := &choreBook{house: h, chores: chores, left: make([]int, len(chores)), begun: make([][]float64, len(chores))}
	if len(chores) == 0 {
		return b
	}
	b.first, _ = loads.FirstHours(chores, h.Span, d.AwayDay)
	for _, c := range chores {
		b.due = append(b.due, c.Due(h.Span, d.AwayDay))
	}
	return b
}

// expected returns the chores of a day's steps as the days before expect them,
// nil where there are none.
func (b *choreBook) expected(day int) []float64 {
	if len(b.chores) == 0 {
		return nil
	}
	steps := b.house.Span.StepsADay()
	return b.first[day*steps : (day+1)*steps]
}

// place puts the chores of a day into its choreKW, making the day's plan anew
// after each.
func (b *choreBook) place(c *Chosen, s *sim.State, day int) {
	for i := range b.chores {
		b.begun[i] = b.begun[i][:0]
		if b.weekBegins(day) {
			b.report.UnplacedKWh += b.chores[i].KWh * float64(b.left[i])
			b.left[i] = b.dueFrom(i, day)
			if more := c.begins.ChoresMore; day == 0 && more != nil {
				b.left[i] = max(0, b.left[i]+more[i])
			}
		}
		for range b.mustToday(i, day) {
			b.placeOne(c, s, day, i, true)
		}
		most := b.mostADay(i) + 1 // one ahead, so that a day without a run can be passed over
		if day == 0 {
			most-- // a sheet asked for every evening must not be ahead on each
			if more := c.begins.ChoresMore; more != nil {
				most -= max(0, -more[i]) // done today before the plan began
			}
		}
		if b.left[i] > 0 && len(b.begun[i]) < most && b.canToday(i, day) {
			b.placeOne(c, s, day, i, false)
		}
		if day == len(b.house.Days)-1 {
			b.report.UnplacedKWh += b.chores[i].KWh * float64(b.left[i])
		}
	}
}

func (b *choreBook) weekBegins(day int) bool {
	return day == 0 || b.house.Days[day].Date.Weekday() == time.Monday
}

// dueFrom counts the times due from a day to its week's end.
func (b *choreBook) dueFrom(chore, day int) int {
	n := b.due[chore][day]
	for d := day + 1; d < len(b.house.Days) && !b.weekBegins(d); d++ {
		n += b.due[chore][d]
	}
	return n
}

// canToday reports whether a chore's days hold this one.
func (b *choreBook) canToday(chore, day int) bool {
	return b.chores[chore].Days.Holds(b.house.Days[day].Date.Weekday()) && !b.house.Days[day].Away
}

// mostADay is how often a chore is wanted on its busiest day.
func (b *choreBook) mostADay(chore int) int {
	c := &b.chores[chore]
	return int(math.Ceil(c.TimesPerWeek / float64(c.Days.Count())))
}

// mustToday is how many of the times left the later days of the week, each with as
// many as a day holds, cannot hold.
func (b *choreBook) mustToday(chore, day int) int {
	if !b.canToday(chore, day) {
		return 0
	}
	later := 0
	for d := day + 1; d < len(b.house.Days) && !b.weekBegins(d); d++ {
		if b.canToday(chore, d) {
			later += b.mostADay(chore)
		}
	}
	return max(0, b.left[chore]-later)
}

// placeOne finds the cheapest hour of the day for a chore. Unless it must, it is
// placed only where it rides on a run.
func (b *choreBook) placeOne(c *Chosen, s *sim.State, day, chore int, must bool) {
	job := &b.chores[chore]
	best, bestPrice, bestRides := -1.0, 0.0, 0.0
	bare := append([]float64(nil), c.choreKW...)
	for _, window := range job.Hours {
		for from := float64(window.From); from+job.Minutes() <= float64(window.To)+1e-6; from += float64(c.house.Span.StepMinutes) {
			if b.busy(chore, from) || from < float64(c.firstStep(day)*c.house.Span.StepMinutes) {
				continue
			}
			copy(c.choreKW, bare)
			loads.AddKW(c.choreKW, from, job.Minutes(), c.house.Span.StepMinutes, job.KW)
			price, rides := c.rehearse(s, day, bare)
			if best < 0 || price < bestPrice-tieKg {
				best, bestPrice, bestRides = from, price, rides
			}
		}
	}
	copy(c.choreKW, bare)
	const mostly = 0.99 // of its energy
	if best < 0 || !must && bestRides < mostly*job.KWh {
		return
	}
	loads.AddKW(c.choreKW, best, job.Minutes(), c.house.Span.StepMinutes, job.KW)
	b.left[chore]--
	b.begun[chore] = append(b.begun[chore], best)
	b.report.OnRunsKWh += min(bestRides, job.KWh)
	b.report.FromBankKWh += max(0, job.KWh-bestRides)
	c.replan(day)
}

// ChoresToday returns when the day's chores begin, the day last asked for.
func (c *Chosen) ChoresToday(day int) []loads.Start {
	var starts []loads.Start
	for i, begun := range c.chores.begun {
		for _, minute := range begun {
			starts = append(starts, loads.Start{Chore: c.chores.chores[i], Minute: float64(day*calendar.MinutesADay) + minute})
		}
	}
	return starts
}

// busy reports whether a chore is being done already in the time it would take
// from a minute on.
func (b *choreBook) busy(chore int, from float64) bool {
	for _, begun := range b.begun[chore] {
		if from < begun+b.chores[chore].Minutes()-1e-6 && begun < from+b.chores[chore].Minutes()-1e-6 {
			return true
		}
	}
	return false
}

// rehearse runs a day by its table with the chores as they stand, and returns
// its price with what follows, and how much of what bare lacks falls into
// engine hours with power to spare.
func (c *Chosen) rehearse(s *sim.State, day int, bare []float64) (priceKg, ridesKWh float64) {
	state, f := *s, &c.own
	loadKW, otherKW := c.load(day)
	d := &c.house.Days[day]
	stepH := c.house.Span.StepH()
	for i := c.firstStep(day); i < len(loadKW); i++ {
		at := sim.Moment{Step: day*len(loadKW) + i, Day: day, OfDay: i}
		load := loadKW[i] + c.choreKW[i]
		run := state.LitSteps > 0 && c.house.MustRun(&state, at) || c.house.MayRun(&state, at) && f.cheaper(&state, at, load, otherKW[i])
		if !run {
			next, price := c.market.off(d, state.Bank, load, otherKW[i])
			priceKg += price - f.earned(&state.Bank, &next)
			state.Bank, state.LitSteps = next, 0
			continue
		}
		moisture := f.wood(&state)
		woodKg := c.market.woodKgOn(d) / c.house.HeatFactor(moisture)
		e := c.house.Engine(d, moisture, c.house.ReadyNext(&state))
		if state.LitSteps == 0 {
			state.Starts++
			priceKg += c.market.lightUpKg(woodKg)
		}
		state.LitSteps++
		state.TendedSteps++
		next, price := c.market.burn(d, state.Bank, load, otherKW[i], e, woodKg)
		priceKg += price - f.earned(&state.Bank, &next)
		state.Bank = next
		if load-otherKW[i] <= d.MostKW*e.Ready {
			ridesKWh += (c.choreKW[i] - bare[i]) * stepH
		}
	}
	return priceKg + c.grids[day].read(c.midnightOn(c.today, day), state.Bank.StoredKWh()), ridesKWh
}
