package plan

import (
	"math"

	"twigwatt/storage/battery"
)

// A grid is the levels of stored energy at which values are kept: even from the
// day's floor to the energy the span began with, and from there to the ceiling.
type grid struct {
	level               []float64
	low, split          float64
	below               float64 // levels under the split
	perKWhLow, perKWhUp float64
	limits              [][]battery.Limits // of the bank at rest, by ready index, by level
}

// limit works out what a bank can take and give at each level, its wells level, for
// each share of a step in which the engine gives power.
func (g *grid) limit(bank *battery.Paced, ready []float64) {
	for _, share := range ready {
		row := make([]battery.Limits, len(g.level))
		for level, storedKWh := range g.level {
			row[level] = bank.Limits(bank.Rested(storedKWh), bank.InverterIdleKW*(1-share))
		}
		g.limits = append(g.limits, row)
	}
}

// newGrid makes n levels (3 or more). Outside the floor and the ceiling the
// split is no kink and the levels are even.
func newGrid(floorKWh, ceilingKWh, splitKWh float64, n int) *grid {
	g := &grid{level: make([]float64, n), low: floorKWh, split: splitKWh}
	segments := float64(n - 1)
	if splitKWh <= floorKWh || splitKWh >= ceilingKWh {
		g.split, g.below = ceilingKWh, segments
	} else {
		g.below = math.Max(1, math.Min(segments-1, math.Round(segments*(splitKWh-floorKWh)/(ceilingKWh-floorKWh))))
	}
	g.perKWhLow = g.below / (g.split - g.low)
	g.perKWhUp = g.perKWhLow
	if g.below < segments {
		g.perKWhUp = (segments - g.below) / (ceilingKWh - g.split)
	}
	for i := range g.level {
		if x := float64(i); x <= g.below {
			g.level[i] = g.low + x/g.perKWhLow
		} else {
			g.level[i] = g.split + (x-g.below)/g.perKWhUp
		}
	}
	return g
}

// place returns where a stored energy lies, counted in levels from the floor.
// Outside the grid the first or last piece goes straight on.
func (g *grid) place(storedKWh float64) float64 {
	if storedKWh < g.split {
		return (storedKWh - g.low) * g.perKWhLow
	}
	return g.below + (storedKWh-g.split)*g.perKWhUp
}

// value reads values of the levels at a place. Under the floor, where leak alone
// leads, the slope is that of the lowest part of the grid: the first piece alone
// may hold the jump of a dark step.
func value(values []float64, place float64) float64 {
	at := int(place)
	if last := len(values) - 2; uint(at) > uint(last) || place < 0 {
		if place < 0 {
			return underFloor(values, place)
		}
		at = last
	}
	here := values[at]
	return here + (place-float64(at))*(values[at+1]-here)
}

func underFloor(values []float64, place float64) float64 {
	const lowestPart = 16
	k := max(1, (len(values)-1)/lowestPart)
	return values[0] + place*(values[k]-values[0])/float64(k)
}

// read returns the value at a stored energy.
func (g *grid) read(values []float64, storedKWh float64) float64 {
	return value(values, g.place(storedKWh))
}
