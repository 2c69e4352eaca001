package plan

import (
	"math"

	"twigwatt/sim"
	"twigwatt/storage/battery"
)

// An outcome is what an option of a step comes to from a level: its price, and
// the place on the grid it leads to.
type outcome struct{ price, place float64 }

// outcomes are those of a day: none of them depends on what follows.
type outcomes struct {
	off [][]outcome   // by step, by level
	run [][][]outcome // by ready index, by step; nil where nobody tends
	by  [][]outcome   // of the stand-by set, by step; nil outside of its hours
}

// A pricer says what a step costs, in kg of oven-dry wood.
type pricer struct {
	house    *sim.House
	stepH    float64
	ready    []float64   // by ready index: share of the step in which the engine gives power
	moisture [12]float64 // of the wood burned, expected by month; dry basis
	woodKg   []float64   // price of a kg of wood by day; nil: 1
}

// darkStepKg is added for each step with shortfall, or crumbs of a few Wh are
// left in the dark where that costs less than a light-up: a kilogram, or as much as a
// fiftieth of a kWh of shortfall where that is cheap. It is no price.
func darkStepKg(p *sim.Prices) float64 {
	const mostKg, ofKWh = 1.0, 0.02
	return min(mostKg, ofKWh*p.ShortKgPerKWh)
}

// darkStepKWh: a step that misses more is a shortfall step.
const darkStepKWh = 0.001

func newPricer(h *sim.House) *pricer {
	p := &pricer{house: h, stepH: h.Span.StepH()}
	for lit := 0; lit <= readySteps(h); lit++ {
		p.ready = append(p.ready, h.Set.Ready(lit*h.Span.StepMinutes, h.Span.StepMinutes))
	}
	return p
}

// idle prices a step without a run: the state it leads to and its price.
func (p *pricer) idle(day *sim.Day, s battery.State, loadKW, otherKW, sunKW float64) (battery.State, float64) {
	var power sim.Power
	power.Sun.KW = sunKW
	p.house.Electric(day.Bank, &s, &power, loadKW, otherKW, sim.Engine{})
	return s, p.electricKg(day, s.StoredKWh(), &power)
}

// moistureOn returns the moisture (dry basis) of the wood expected on a day.
func (p *pricer) moistureOn(day *sim.Day) float64 { return p.moisture[day.Date.Month()-1] }

// run prices a step of a run by what the engine can give and the price of its
// wood at the rated moisture; the wood and price of a match stand apart.
func (p *pricer) run(day *sim.Day, s battery.State, loadKW, otherKW, sunKW float64, e sim.Engine,
	woodKg float64) (battery.State, float64) {
	var power sim.Power
	power.Sun.KW = sunKW
	p.house.Electric(day.Bank, &s, &power, loadKW, otherKW, e)
	burnedKg := p.house.Set.BurnedKg(e.Ready, power.EngineKW, p.stepH)
	return s, p.electricKg(day, s.StoredKWh(), &power) + p.house.Prices.HourKg*p.stepH + woodKg*burnedKg
}

// standBy prices a step of the stand-by set, its start left out.
func (p *pricer) standBy(day *sim.Day, s battery.State, loadKW, otherKW, sunKW float64) (battery.State, float64) {
	var power sim.Power
	power.Sun.KW = sunKW
	b := p.house.Standby
	p.house.Electric(day.Bank, &s, &power, loadKW, otherKW, b.Engine())
	return s, p.electricKg(day, s.StoredKWh(), &power) + b.PriceKg(power.EngineKW, p.stepH)
}

// electricKg prices shortfall, wear and missing spare energy.
func (p *pricer) electricKg(day *sim.Day, nextKWh float64, power *sim.Power) float64 {
	prices := &p.house.Prices
	price := prices.WearKgPerKWh * power.FromBankKW() * p.stepH
	if missing := power.ShortfallKW * p.stepH; missing > 0 {
		price += prices.ShortKgPerKWh * missing
		if missing > darkStepKWh {
			price += darkStepKg(prices)
		}
	}
	if prices.SpareKgPerKWhH == 0 {
		return price
	}
	if spare := day.Bank.FloorKWh + prices.SpareShare*day.Bank.FullKWh - nextKWh; spare > 0 {
		price += prices.SpareKgPerKWhH * spare * p.stepH
	}
	return price
}

// woodKgOn is the price of a kg of wood on a day.
func (p *pricer) woodKgOn(day *sim.Day) float64 {
	if p.woodKg == nil {
		return 1
	}
	return p.woodKg[day.Date-p.house.Span.Start]
}

// lightUpKg is the price of a match by that of its wood at the rated moisture, where
// a share of light-ups fails.
func (p *pricer) lightUpKg(woodKg, failing float64) float64 {
	return woodKg*p.house.Set.LightUpKg/(1-failing) + p.house.Prices.StartKg
}

// dayLoad is what the house wants in the steps of a day: in each class the load times
// the class's factor, and chores that do not swing.
type dayLoad struct {
	loadKW, choreKW, otherKW []float64 // by step; choreKW nil: none
	classes                  *dayClasses
}

func (l *dayLoad) netKW(step, class int) float64 {
	kw := l.loadKW[step]*l.classes.factor[class] - l.classes.otherAt(class, step, l.otherKW[step])
	if l.choreKW != nil {
		kw += l.choreKW[step]
	}
	return kw
}

// fill works out the outcomes of a day's classes from one to before another in every
// parts-th step from part on.
func (p *pricer) fill(o dayOutcomes, g *grid, day *sim.Day, l *dayLoad, from, to, part, parts int) {
	moisture := p.moistureOn(day)
	r := rows{pricer: p, grid: g, day: day, load: l, from: from, to: to,
		woodKg: p.woodKgOn(day) / p.house.HeatFactor(moisture)}
	for r.step = part; r.step < len(l.loadKW); r.step += parts {
		r.readyIndex, r.engine = 0, sim.Engine{}
		r.weigh(func(class int) []outcome { return o[class].off[r.step] })
		if b := p.house.Standby; b != nil && p.house.StandbyIn(r.step) {
			r.readyIndex, r.engine, r.standby = len(p.ready)-1, b.Engine(), true
			r.weigh(func(class int) []outcome { return o[class].by[r.step] })
			r.standby = false
		}
		if !day.Tendable || p.house.TendedAhead(r.step) == 0 {
			continue
		}
		for r.readyIndex = 1; r.readyIndex < len(p.ready); r.readyIndex++ {
			r.engine = p.house.Engine(day, moisture, p.ready[r.readyIndex])
			r.weigh(func(class int) []outcome { return o[class].run[r.readyIndex][r.step] })
		}
	}
}

// rows are an option of a step, weighed for each class at every level.
type rows struct {
	pricer     *pricer
	grid       *grid
	day        *sim.Day
	load       *dayLoad
	from, to   int // classes
	woodKg     float64
	step       int
	readyIndex int // 0: no run
	engine     sim.Engine
	standby    bool // the engine is the stand-by set's
}

// lackKW is what a class lacks in the step, in power at the house: sun counts as the inverter makes it,
// and in a run as what the charger would take for it.
func (r *rows) lackKW(class int) float64 {
	kw, sunKW := r.load.netKW(r.step, class), r.load.classes.sunAt(class, r.step)
	switch {
	case sunKW == 0:
		return kw
	case r.readyIndex == 0:
		return kw - sunKW*r.day.Bank.InverterEfficiency
	}
	return kw - sunKW/r.day.Bank.ChargerEfficiency
}

// weigh fills the rows. Most options are straight lines in what lacks: where the class in
// the middle lies on the line between the outermost, those between are read off it.
func (r *rows) weigh(row func(class int) []outcome) {
	if r.to-r.from < 4 {
		for class := r.from; class < r.to; class++ {
			r.fill(row(class), class)
		}
		return
	}
	first, middle, last := r.from, (r.from+r.to)/2, r.to-1
	low, half, high := row(first), row(middle), row(last)
	r.fill(low, first)
	r.fill(half, middle)
	r.fill(high, last)
	lowKW, halfKW, highKW := r.lackKW(first), r.lackKW(middle), r.lackKW(last)
	if highKW == lowKW {
		for class := first + 1; class < last; class++ {
			copy(row(class), low)
		}
		return
	}
	along := (halfKW - lowKW) / (highKW - lowKW)
	for class := first + 1; class < last; class++ {
		if class == middle {
			continue
		}
		into, a, b, aKW, bKW := row(class), low, half, lowKW, halfKW
		if class > middle {
			a, b, aKW, bKW = half, high, halfKW, highKW
		}
		share := 0.0
		if bKW != aKW {
			share = (r.lackKW(class) - aKW) / (bKW - aKW)
		}
		netKW, sunKW := r.load.netKW(r.step, class), r.load.classes.sunAt(class, r.step)
		for level := range into {
			const straightKg, straightLevels = 1e-3, 1e-2 // how far off the line is on it
			l, h := &low[level], &high[level]
			offKg := l.price + along*(h.price-l.price) - half[level].price
			offLevels := l.place + along*(h.place-l.place) - half[level].place
			if math.Abs(offKg) > straightKg || math.Abs(offLevels) > straightLevels {
				into[level] = r.outcome(level, netKW, sunKW)
				continue
			}
			p, q := &a[level], &b[level]
			into[level] = outcome{p.price + share*(q.price-p.price), p.place + share*(q.place-p.place)}
		}
	}
}

// fill weighs the option for a class at every level.
func (r *rows) fill(into []outcome, class int) {
	netKW, sunKW := r.load.netKW(r.step, class), r.load.classes.sunAt(class, r.step)
	for level := range into {
		into[level] = r.outcome(level, netKW, sunKW)
	}
}

// outcome weighs the option at a level: House.Electric with the wells level.
func (r *rows) outcome(level int, netKW, sunKW float64) outcome {
	var power sim.Power
	if sunKW > 0 {
		power.Sun.KW = sunKW
		var t battery.Terminal
		power.BalanceInSun(&t, r.day.Bank, &r.grid.inSun[level], netKW, &r.engine)
		return r.priced(&power, r.day.Bank.StoredAfterSun(r.grid.level[level], &t))
	}
	limits := &r.grid.limits[r.readyIndex][level]
	power.Balance(*limits, netKW, r.engine)
	return r.priced(&power, r.day.Bank.StoredAfter(r.grid.level[level], power.ChargeKW, power.DischargeKW, limits.IdleKW))
}

// priced is the outcome of what was done and what is stored then.
func (r *rows) priced(power *sim.Power, nextKWh float64) outcome {
	p := r.pricer
	price := p.electricKg(r.day, nextKWh, power)
	switch {
	case r.standby:
		price += p.house.Standby.PriceKg(power.EngineKW, p.stepH)
	case r.readyIndex > 0:
		price += p.house.Prices.HourKg*p.stepH +
			r.woodKg*p.house.Set.BurnedKg(r.engine.Ready, power.EngineKW, p.stepH)
	}
	return outcome{price, r.grid.place(nextKWh)}
}

// dayOutcomes are a day's, by class.
type dayOutcomes []*outcomes

// newDayOutcomes takes memory for a day's classes.
func newDayOutcomes(h *sim.House, classes, levels, ready int) dayOutcomes {
	all := make(dayOutcomes, classes)
	for class := range all {
		all[class] = newOutcomes(h, levels, ready)
	}
	return all
}

// newOutcomes takes memory for a day: rows of runs only where somebody tends.
func newOutcomes(h *sim.House, levels, ready int) *outcomes {
	o := &outcomes{}
	steps := h.Span.StepsADay()
	tended := 0
	for step := range steps {
		if h.TendedAhead(step) > 0 {
			tended++
		}
	}
	stands := 0
	for step := range steps {
		if h.StandbyIn(step) {
			stands++
		}
	}
	all := make([]outcome, levels*(steps+stands+tended*(ready-1)))
	row := func() []outcome {
		r := all[:levels:levels]
		all = all[levels:]
		return r
	}
	o.off, o.by = make([][]outcome, steps), make([][]outcome, steps)
	o.run = make([][][]outcome, ready)
	for i := range o.run {
		o.run[i] = make([][]outcome, steps)
	}
	for step := range steps {
		o.off[step] = row()
		if h.StandbyIn(step) {
			o.by[step] = row()
		}
		for i := 1; i < ready && h.TendedAhead(step) > 0; i++ {
			o.run[i][step] = row()
		}
	}
	return o
}

// bytes is about what a day's outcomes take.
func (o *outcomes) bytes() int {
	const outcomeBytes = 16
	n := 0
	for _, table := range append([][][]outcome{o.off, o.by}, o.run...) {
		for _, row := range table {
			n += len(row) * outcomeBytes
		}
	}
	return n
}
