package plan

import (
	"math"
	"slices"

	"twigwatt/storage/battery"
)

// A grid is the levels of stored energy at which values are kept: from the day's floor, or
// from the energy the span began with where that is lower, to the ceiling. What prices turn
// at is a level itself: the floor, the energy the span began with, a full charge. Between
// two of these the levels are even.
type grid struct {
	level  []float64
	pieces []piece
	limits [][]battery.Limits // of the bank at rest, by ready index, by level
	inSun  []battery.Limits   // where panels give at it, by level
}

// A piece is even levels from fromKWh on, the first of them numbered at.
type piece struct{ fromKWh, at, perKWh float64 }

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
	for _, storedKWh := range g.level {
		g.inSun = append(g.inSun, bank.SunLimits(bank.Rested(storedKWh)))
	}
}

// newGrid makes n levels (3 or more; more where the turns want it) between the turns, which
// rise.
func newGrid(turns []float64, n int) *grid {
	g := &grid{}
	last := len(turns) - 1
	left, at := n-1, 0
	for i, fromKWh := range turns[:last] {
		steps := int(math.Round(float64(n-1) * (turns[i+1] - fromKWh) / (turns[last] - turns[0])))
		steps = max(1, min(steps, left-(last-1-i)))
		if i == last-1 {
			steps = max(1, left)
		}
		perKWh := float64(steps) / (turns[i+1] - fromKWh)
		g.pieces = append(g.pieces, piece{fromKWh, float64(at), perKWh})
		for j := range steps {
			g.level = append(g.level, fromKWh+float64(j)/perKWh)
		}
		at, left = at+steps, left-steps
	}
	g.level = append(g.level, turns[last])
	return g
}

// turnsOf are what a bank's prices turn at on a day, rising.
func turnsOf(bank *battery.Paced, startKWh, fullKWh float64) []float64 {
	turns := []float64{bank.FloorKWh, bank.CeilingKWh}
	add := func(kWh float64) {
		const apart = 1e-3 // of what lies between floor and ceiling
		for _, t := range turns {
			if math.Abs(t-kWh) < apart*(bank.CeilingKWh-bank.FloorKWh) {
				return
			}
		}
		turns = append(turns, kWh)
	}
	if startKWh < bank.CeilingKWh {
		add(startKWh)
	}
	if fullKWh > bank.FloorKWh && fullKWh < bank.CeilingKWh {
		add(fullKWh)
	}
	slices.Sort(turns)
	return turns
}

// place returns where a stored energy lies, counted in levels. Outside the grid the first
// or last piece goes straight on.
func (g *grid) place(storedKWh float64) float64 {
	i := len(g.pieces) - 1
	for i > 0 && storedKWh < g.pieces[i].fromKWh {
		i--
	}
	p := &g.pieces[i]
	return p.at + (storedKWh-p.fromKWh)*p.perKWh
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
