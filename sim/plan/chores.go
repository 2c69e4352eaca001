package plan

import (
	"math"
	"slices"
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
	left   []int       // by chore: times still to place this week
	begun  [][]float64 // by chore: when it begins today, in minutes
	report sim.ChoreReport
}

func newChoreBook(h *sim.Household) *choreBook {
	chores := h.Demand.Chores
	b := &choreBook{house: h.House, chores: chores, left: make([]int, len(chores)),
		begun: make([][]float64, len(chores))}
	for _, c := range chores {
		b.due = append(b.due, c.Due(h.Span, h.Demand.AwayDay))
	}
	return b
}

// place puts the chores of a day into its choreKW, making the day's plan anew
// after each.
func (b *choreBook) place(c *Chooser, s *sim.State, day int) {
	for i := range b.chores {
		b.begun[i] = b.begun[i][:0]
		if b.weekBegins(day) {
			b.report.UnplacedKWh += b.chores[i].KWh * float64(b.left[i])
			b.left[i] = b.dueFrom(i, day)
			if more := c.plan.outlook.Begins.ChoresMore; day == 0 && more != nil {
				b.left[i] = max(0, b.left[i]+more[i])
			}
		}
		for range b.mustToday(i, day) {
			b.placeOne(c, s, day, i, onAnyHour)
		}
		most := b.mostADay(i) + 1 // one more than is due, so that a day without a run can be passed over
		if day == 0 {
			most-- // a sheet asked for every evening must not do one more on each
			if more := c.plan.outlook.Begins.ChoresMore; more != nil {
				most -= max(0, -more[i]) // done today before the plan began
			}
		}
		if b.left[i] > 0 && len(b.begun[i]) < most && b.canToday(i, day) {
			b.placeOne(c, s, day, i, onRunsAlone)
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

// choreHours are those that a chore may be placed on.
type choreHours bool

const (
	onRunsAlone choreHours = false // it waits for another day where none serves it
	onAnyHour   choreHours = true
)

// placeOne finds the cheapest hour of the day for a chore.
func (b *choreBook) placeOne(c *Chooser, s *sim.State, day, chore int, hours choreHours) {
	job := &b.chores[chore]
	best, bestPrice, bestRides := -1.0, 0.0, 0.0
	bare, stepMinutes := slices.Clone(c.choreKW), b.house.Span.StepMinutes
	for _, window := range job.Hours {
		last := float64(window.To) - job.Minutes() + 1e-6
		for from := float64(window.From); from <= last; from += float64(stepMinutes) {
			if b.busy(chore, from) || from < float64(c.plan.firstStep(day)*stepMinutes) {
				continue
			}
			copy(c.choreKW, bare)
			loads.AddKW(c.choreKW, from, job.Minutes(), stepMinutes, job.KW)
			price, rides := c.rehearse(s, day, bare)
			if best < 0 || price < bestPrice-tieKg {
				best, bestPrice, bestRides = from, price, rides
			}
		}
	}
	copy(c.choreKW, bare)
	const mostly = 0.99 // of its energy
	if best < 0 || hours == onRunsAlone && bestRides < mostly*job.KWh {
		return
	}
	loads.AddKW(c.choreKW, best, job.Minutes(), stepMinutes, job.KW)
	b.left[chore]--
	b.begun[chore] = append(b.begun[chore], best)
	b.report.OnRunsKWh += min(bestRides, job.KWh)
	b.report.FromBankKWh += max(0, job.KWh-bestRides)
	c.planForChores(day)
}

// count books a step of chores in the first of their hours.
func (b *choreBook) count(c *Chooser, s *sim.State, at sim.Moment, command sim.Command) {
	loadKW, otherKW := c.plan.load(at.Day)
	kWh := command.ChoreKW * b.house.Span.StepH()
	ready := 0.0
	if command.Run {
		ready = b.house.ReadyNext(s)
	}
	if ready > 0 && loadKW[at.OfDay]+command.ChoreKW-otherKW[at.OfDay] <= b.house.Days[at.Day].MostKW*ready {
		b.report.OnRunsKWh += kWh
	} else {
		b.report.FromBankKWh += kWh
	}
}

// ChoresToday returns when the day's chores begin, the day last asked for.
func (c *Chooser) ChoresToday(day int) []loads.Start {
	var starts []loads.Start
	for i, begun := range c.chores.begun {
		for _, minute := range begun {
			minute += float64(day * calendar.MinutesADay)
			starts = append(starts, loads.Start{Chore: c.chores.chores[i], Minute: minute})
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

// rehearse runs a day in the classes by which chores are placed, with the chores as they stand, and
// returns the mean of its price with what follows, and of how much of what bare lacks falls into engine
// hours with power to spare.
func (c *Chooser) rehearse(s *sim.State, day int, bare []float64) (priceKg, ridesKWh float64) {
	if c.choreTo == c.choreFrom+1 {
		return c.rehearseIn(s, day, c.choreFrom, bare)
	}
	all := 0.0
	for class := c.choreFrom; class < c.choreTo; class++ {
		weight := c.choreWeights[class]
		price, rides := c.rehearseIn(s, day, class, bare)
		priceKg, ridesKWh, all = priceKg+weight*price, ridesKWh+weight*rides, all+weight
	}
	return priceKg / all, ridesKWh / all
}

// rehearseIn runs a day as expected of a class, by its table.
func (c *Chooser) rehearseIn(s *sim.State, day, class int, bare []float64) (priceKg, ridesKWh float64) {
	p, state, life := c.plan, *s, *c
	life.weights = make([]float64, p.spread.classes())
	life.weights[class] = 1
	t := &c.today(day).tables[class]
	loadKW, otherKW := p.load(day)
	classes := p.classes[day]
	d := &p.house.Days[day]
	stepH, full := p.house.Span.StepH(), p.fullKWh(day)
	for i := p.firstStep(day); i < len(loadKW); i++ {
		at := sim.Moment{Step: day*len(loadKW) + i, Day: day, OfDay: i}
		load := loadKW[i]*classes.factor[class] + c.choreKW[i]
		other, sun := classes.otherAt(class, i, otherKW[i]), classes.sunAt(class, i)
		run := state.LitSteps > 0 && p.house.MustRun(&state, at) ||
			p.house.MayRun(&state, at) && life.cheaper(&state, at, c.choreKW[i])
		price := 0.0
		if run {
			moisture := life.wood(&state)
			woodKg := p.pricer.woodKgOn(d) / p.house.HeatFactor(moisture)
			e := p.house.Engine(d, moisture, p.house.ReadyNext(&state))
			if state.LitSteps == 0 {
				state.Starts++
				priceKg += p.pricer.lightUpKg(woodKg, p.failing()) + p.house.OffUsualKg(i)
			}
			state.LitSteps++
			state.TendedSteps++
			if t.graph.hopper.opens(state.LitSteps) {
				priceKg += p.house.Prices.RefuelKg
			}
			state.Bank, price = p.pricer.run(d, state.Bank, load, other, sun, e, woodKg)
			if load-other <= d.MostKW*e.Ready {
				ridesKWh += (c.choreKW[i] - bare[i]) * stepH
			}
		} else {
			state.Bank, price = p.pricer.idle(d, state.Bank, load, other, sun)
			state.LitSteps = 0
		}
		priceKg += price
		if life.isDue && state.Bank.StoredKWh() >= full {
			life.isDue = false
		}
	}
	return priceKg + life.value(t, len(loadKW), 0, &state.Bank, 0), ridesKWh
}
