package plan

import (
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
}

// A market weighs the electric side of a step, in kg of oven-dry wood.
type market struct {
	house    *sim.House
	stepH    float64
	ready    []float64   // by ready index: share of the step in which the engine gives power
	moisture [12]float64 // of the wood burned, expected by month; dry basis
	woodKg   []float64   // price of a kg of wood by day; nil: 1
}

// darkStepKg is added for each step with shortfall, or crumbs of a few Wh are
// left in the dark where that costs less than a light-up. It is no price.
const darkStepKg = 1.0

// darkStepKWh: a step that misses more is a shortfall step.
const darkStepKWh = 0.001

func newMarket(h *sim.House) *market {
	m := &market{house: h, stepH: h.Span.StepH()}
	for lit := 0; lit <= readySteps(h); lit++ {
		m.ready = append(m.ready, h.Set.Ready(lit*h.Span.StepMinutes, h.Span.StepMinutes))
	}
	return m
}

// off weighs a step without a run: the state it leads to and its price.
func (m *market) off(day *sim.Day, s battery.State, loadKW, otherKW float64) (battery.State, float64) {
	var p sim.Power
	m.house.Electric(day.Bank, &s, &p, loadKW, otherKW, sim.Engine{})
	return s, m.electric(day, &s, &p)
}

// expected returns the moisture (dry basis) of the wood expected on a day.
func (m *market) expected(day *sim.Day) float64 { return m.moisture[day.Date.Month()-1] }

// burn weighs a step of a run by what the engine can give and the price of its
// wood at the rated moisture; the wood and price of a match stand apart.
func (m *market) burn(day *sim.Day, s battery.State, loadKW, otherKW float64, e sim.Engine, woodKg float64) (battery.State, float64) {
	var p sim.Power
	m.house.Electric(day.Bank, &s, &p, loadKW, otherKW, e)
	return s, m.electric(day, &s, &p) + m.house.Prices.HourKg*m.stepH + woodKg*m.house.Set.BurnedKg(e.Ready, p.EngineKW, m.stepH, false)
}

// electric weighs shortfall, wear and missing spare energy.
func (m *market) electric(day *sim.Day, next *battery.State, p *sim.Power) float64 {
	prices := &m.house.Prices
	price := prices.WearKgPerKWh * p.DischargeKW * m.stepH
	if missing := p.ShortfallKW * m.stepH; missing > 0 {
		price += prices.ShortKgPerKWh * missing
		if missing > darkStepKWh {
			price += darkStepKg
		}
	}
	if spare := day.Bank.FloorKWh + prices.SpareShare*day.Bank.FullKWh - next.StoredKWh(); spare > 0 {
		price += prices.SpareKgPerKWhH * spare * m.stepH
	}
	return price
}

// woodKgOn is the price of a kg of wood on a day.
func (m *market) woodKgOn(day *sim.Day) float64 {
	if m.woodKg == nil {
		return 1
	}
	return m.woodKg[day.Date-m.house.Span.Start]
}

// lightUpKg is the price of a match by that of its wood at the rated moisture.
func (m *market) lightUpKg(woodKg float64) float64 {
	return woodKg*m.house.Set.LightUpKg + m.house.Prices.StartKg
}

// of works out a day's outcomes into o, reusing its memory.
func (m *market) of(o *outcomes, g *grid, day *sim.Day, loadKW, otherKW []float64) {
	if o.off == nil {
		o.make(m.house, len(g.level), len(m.ready))
	}
	moisture := m.expected(day)
	woodKg := m.woodKgOn(day) / m.house.HeatFactor(moisture)
	for step := range loadKW {
		load, other := loadKW[step], otherKW[step]
		for level, storedKWh := range g.level {
			next, price := m.off(day, m.house.Bank.Rested(storedKWh), load, other)
			o.off[step][level] = outcome{price, g.place(next.StoredKWh())}
		}
		if !day.Tendable || m.house.TendedAhead(step) == 0 {
			continue
		}
		for i := 1; i < len(m.ready); i++ {
			row, e := o.run[i][step], m.house.Engine(day, moisture, m.ready[i])
			for level, storedKWh := range g.level {
				next, price := m.burn(day, m.house.Bank.Rested(storedKWh), load, other, e, woodKg)
				row[level] = outcome{price, g.place(next.StoredKWh())}
			}
		}
	}
}

// make takes memory for a day: rows of runs only where somebody tends.
func (o *outcomes) make(h *sim.House, levels, ready int) {
	steps := h.Span.StepsADay()
	tended := 0
	for step := range steps {
		if h.TendedAhead(step) > 0 {
			tended++
		}
	}
	all := make([]outcome, levels*(steps+tended*(ready-1)))
	row := func() []outcome {
		r := all[:levels:levels]
		all = all[levels:]
		return r
	}
	o.off = make([][]outcome, steps)
	o.run = make([][][]outcome, ready)
	for i := range o.run {
		o.run[i] = make([][]outcome, steps)
	}
	for step := range steps {
		o.off[step] = row()
		for i := 1; i < ready && h.TendedAhead(step) > 0; i++ {
			o.run[i][step] = row()
		}
	}
}

// bytes is about what a day's outcomes take.
func (o *outcomes) bytes() int {
	const outcomeBytes = 16
	n := 0
	for _, table := range append([][][]outcome{o.off}, o.run...) {
		for _, row := range table {
			n += len(row) * outcomeBytes
		}
	}
	return n
}
