package plan

import "math"

// A Fortnight is what the last days tell of the year's load: what the house took and what was
// expected of it, without chores, each day weighing less the longer it is past. The zero value
// has seen nothing.
type Fortnight struct {
	tookKWh, expectedKWh float64
	weight, weight2      float64 // sums of the days' weights, and of their squares
}

// FortnightDays is after how many days a day weighs 1/e; earlier ones need not be known.
const FortnightDays = 14

// Judgements of what a year's load is learned from.
const (
	aheadShare = 0.35 // of what tomorrow wants more: taken off what is stored, before tomorrow's run can meet it
	leastSwing = 0.18 // standard deviation of a day's load where the household names none: its days differ too
)

// Add adds a stretch of time, more than 0 days long, that ended so many days ago: what the house
// took in it, and what was expected.
func (f *Fortnight) Add(tookKWh, expectedKWh, days, pastDays float64) {
	weight := math.Exp(-pastDays / FortnightDays)
	f.tookKWh += weight * tookKWh
	f.expectedKWh += weight * expectedKWh
	f.weight += weight * days
	f.weight2 += weight * weight * days
}

// nextDay lets what was seen be a day longer past, and adds the day that ended, or what was seen
// of it.
func (f *Fortnight) nextDay(tookKWh, expectedKWh, days float64) {
	keep := math.Exp(-1.0 / FortnightDays)
	f.tookKWh *= keep
	f.expectedKWh *= keep
	f.weight *= keep
	f.weight2 *= keep * keep
	f.Add(tookKWh, expectedKWh, days, 0)
}

// factor is by how much the load to come is taken to differ from what is expected: the mean
// of the year's factor, which spreads by yearShare beforehand, after the days seen, which
// spread about it by dayShare with a memory from day to day.
func (f *Fortnight) factor(yearShare, dayShare, memory float64) float64 {
	const roundingShare = 1e-9 // days that came as expected
	if !(f.expectedKWh > 0) || yearShare == 0 || math.Abs(f.tookKWh/f.expectedKWh-1) < roundingShare {
		return 1
	}
	// variance of a weighted mean of an autoregression's days, were they many
	seen := dayShare * dayShare * (1 + memory) / (1 - memory) * f.weight2 / (f.weight * f.weight)
	sure := yearShare * yearShare / (yearShare*yearShare + seen)
	return 1 + sure*(f.tookKWh/f.expectedKWh-1)
}

// yearFactor is what a fortnight makes of the load that the plan expects.
func (p *Plan) yearFactor(f *Fortnight) float64 {
	if p.outlook.Foresight == Exact {
		return 1
	}
	return f.factor(p.house.Luck.LoadYearShare, max(leastSwing, p.demand.SpreadShare), p.demand.SpreadMemory)
}

// aheadKWh is what must be stored at the end of a step of a day beyond what its table says, where
// the load to come is the expected times a factor: for tomorrow, and where days have no classes
// for the rest of today.
func (p *Plan) aheadKWh(day, ofDay int, factor float64) float64 {
	if factor == 1 {
		return 0
	}
	wanted := 0.0
	if day+1 < len(p.expected) {
		wanted = aheadShare * p.expected[day+1]
	}
	if p.spread.sigma > 0 { // the classes carry today, and of tomorrow what they remember
		wanted *= 1 - p.spread.memory
	} else {
		loadKW, _ := p.load(day)
		for _, kw := range loadKW[ofDay+1:] {
			wanted += kw * p.house.Span.StepH()
		}
	}
	return (factor - 1) * wanted / p.house.ServableKWh(1)
}
