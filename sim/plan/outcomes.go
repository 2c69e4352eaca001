package plan

import (
	"twigwatt/sim"
	"twigwatt/storage/battery"
)

// An outcome is what an option of a step comes to from a level: its price, and
// the place on the grid it leads to.
type outcome struct {
	price, share float64
	at           int
}

// outcomes are those of a day: none of them depends on what follows.
type outcomes struct {
	off [][]outcome   // by step, by level
	run [][][]outcome // by ready index, by step; nil where nobody tends
}

// A market weighs the electric side of a step, in kg of oven-dry wood.
type market struct {
	house *sim.House
	stepH float64
	ready []float64 // by ready index: share of the step in which the engine gives power
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
	next, p := m.house.Electric(day, s, loadKW, otherKW, 0)
	return next, m.electric(day, next.StoredKWh(), &p)
}

// run weighs a step of a run; the wood and price of a match stand apart.
func (m *market) run(day *sim.Day, s battery.State, loadKW, otherKW float64, readyIndex int) (battery.State, float64) {
	ready := m.ready[readyIndex]
	next, p := m.house.Electric(day, s, loadKW, otherKW, ready)
	return next, m.electric(day, next.StoredKWh(), &p) + m.house.Prices.HourKg*m.stepH + m.house.Set.BurnedKg(ready, p.EngineKW, m.stepH, false)
}

// electric weighs shortfall, wear and missing spare energy.
func (m *market) electric(day *sim.Day, endKWh float64, p *sim.Power) float64 {
	prices := &m.house.Prices
	price := prices.WearKgPerKWh * p.DischargeKW * m.stepH
	if missing := p.ShortfallKW * m.stepH; missing > 0 {
		price += prices.ShortKgPerKWh * missing
		if missing > darkStepKWh {
			price += darkStepKg
		}
	}
	if spare := day.Bank.FloorKWh + prices.SpareShare*day.Bank.FullKWh - endKWh; spare > 0 {
		price += prices.SpareKgPerKWhH * spare * m.stepH
	}
	return price
}

// matchKg is the price of a match.
func (m *market) matchKg() float64 { return m.house.Set.LightUpKg + m.house.Prices.StartKg }

// of works out a day's outcomes into o, reusing its memory.
func (m *market) of(o *outcomes, g *grid, day *sim.Day, loadKW, otherKW []float64) {
	if o.off == nil {
		o.make(len(loadKW), len(g.level), len(m.ready))
	}
	for step := range loadKW {
		load, other := loadKW[step], otherKW[step]
		tended := day.Tendable && m.house.TendedAhead(step) > 0
		for level, storedKWh := range g.level {
			s := m.house.Bank.Rested(storedKWh)
			next, price := m.off(day, s, load, other)
			at, share := g.place(next.StoredKWh())
			o.off[step][level] = outcome{price, share, at}
			if !tended {
				continue
			}
			for i := 1; i < len(m.ready); i++ {
				next, price := m.run(day, s, load, other, i)
				at, share := g.place(next.StoredKWh())
				o.run[i][step][level] = outcome{price, share, at}
			}
		}
	}
}

func (o *outcomes) make(steps, levels, ready int) {
	table := func() [][]outcome {
		all := make([]outcome, steps*levels)
		rows := make([][]outcome, steps)
		for i := range rows {
			rows[i] = all[i*levels : (i+1)*levels : (i+1)*levels]
		}
		return rows
	}
	o.off = table()
	o.run = make([][][]outcome, ready)
	for i := 1; i < ready; i++ {
		o.run[i] = table()
	}
}

// earn takes a reward off the price of every option that leads from below a
// stored energy to it or above.
func (o *outcomes) earn(g *grid, reachKWh, rewardKg float64) {
	for _, table := range append([][][]outcome{o.off}, o.run[1:]...) {
		for _, row := range table {
			for level := range row {
				out := &row[level]
				there := g.level[out.at] + out.share*(g.level[out.at+1]-g.level[out.at])
				if g.level[level] < reachKWh && there >= reachKWh {
					out.price -= rewardKg
				}
			}
		}
	}
}
