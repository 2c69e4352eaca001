// Package genset models the set: gasifier, engine and alternator taken
// together, from wood on the scales to electricity at the house.
//
// A Set is equipment and never changes. Ready says which share of a step gives
// power, BurnedKg what it costs in oven-dry wood. Left out: the warm-up of the
// engine, part-load gas quality, and anything below the least power.
package genset

import (
	"fmt"
	"math"

	"twigwatt/sim/curve"
	"twigwatt/sim/place"
)

// Efficiencies of the default fuel line at full power, net heat of the wood to electricity.
const (
	GasifierEfficiency   = 0.70 // FAO Forestry Paper 72, Appendix 1
	EngineEfficiency     = 0.24 // Homdoung et al. 2015: 23.9 % brake efficiency
	AlternatorEfficiency = 0.85 // common practice, no source
	noLoadShare          = 0.28 // Jorapur & Rajvanshi 1995: of full-load fuel
)

// NetHeatPerDryKg returns the net heat of wood in MJ for each oven-dry kg, from
// its net heat when dry (MJ/kg) and its moisture (wet basis, 0 to below 1).
func NetHeatPerDryKg(dryMJKg, moisture float64) float64 {
	return dryMJKg - place.HeatOfVaporisationMJKg*moisture/(1-moisture)
}

// DefaultLine returns the fuel line of a set of kw at full power from first
// principles: oven-dry kg/h at no load and oven-dry kg for each kWh.
func DefaultLine(kw, dryMJKg, moisture float64) (idleKgH, perKWhKg float64) {
	chain := NetHeatPerDryKg(dryMJKg, moisture) * GasifierEfficiency * EngineEfficiency * AlternatorEfficiency
	fullKgH := kw * 3.6 / chain
	return noLoadShare * fullKgH, (1 - noLoadShare) * fullKgH / kw
}

// A Set is the plant. Wood is oven-dry.
type Set struct {
	KW, LeastKW    float64 // at home, on wood at the rated moisture
	AlternatorKW   float64 // that no power passes; 0: the engine's is all that counts
	LightUpMinutes int
	LightUpKg      float64
	Line           curve.Curve // kg/h by kW; beyond its ends straight on
	RatedMoisture  float64     // wet basis, 0 to below 1
	CharShare      float64     // of the oven-dry wood burned
}

// StraightLine returns the fuel line of a no-load rate and a rate for each kWh.
func StraightLine(idleKgH, perKWhKg, kw float64) curve.Curve {
	return curve.Curve{{X: 0, Y: idleKgH}, {X: kw, Y: idleKgH + perKWhKg*kw}}
}

// Ready returns the share of a step, 0 to 1, in which the engine gives power:
// sinceMatch are the minutes since the match at the step's end.
func (s *Set) Ready(sinceMatch, stepMinutes int) float64 {
	return max(0, min(1, float64(sinceMatch-s.LightUpMinutes)/float64(stepMinutes)))
}

// BurnedKg returns the oven-dry wood of a step of stepH hours in which the engine made
// engineKW in the mean and was ready for a share of it; a match burns LightUpKg besides.
func (s *Set) BurnedKg(ready, engineKW, stepH float64) float64 {
	if !(ready > 0) {
		return 0
	}
	return s.rateKgH(engineKW/ready) * ready * stepH
}

// rateKgH reads the fuel line at a power. A curve that is steep at its low end
// would pass zero when drawn on; wood is never made.
func (s *Set) rateKgH(kw float64) float64 { return max(0, s.Line.At(kw)) }

// FullKgH returns the oven-dry wood of an hour at full power.
func (s *Set) FullKgH() float64 {
	if s.AlternatorKW > 0 {
		return s.rateKgH(min(s.KW, s.AlternatorKW))
	}
	return s.rateKgH(s.KW)
}

// CheckLine reports what is wrong with a wood curve: fewer than two points,
// powers that do not rise, rates that fall or are below zero.
func CheckLine(line curve.Curve) error {
	if len(line) < 2 {
		return fmt.Errorf("must have two points or more, got %d", len(line))
	}
	for i, p := range line {
		if !(p.X >= 0 && p.Y >= 0 && p.X+p.Y <= math.MaxFloat64) {
			return fmt.Errorf("powers and rates must be 0 or more, got [%g, %g]", p.X, p.Y)
		}
		if i == 0 {
			continue
		}
		switch before := line[i-1]; {
		case p.X <= before.X:
			return fmt.Errorf("powers must rise from point to point, got %g kW after %g", p.X, before.X)
		case p.Y < before.Y:
			return fmt.Errorf("wood must not fall as power rises, got %g kg/h at %g kW after %g kg/h at %g kW",
				p.Y, p.X, before.Y, before.X)
		}
	}
	return nil
}

// Char is what the ash bin keeps from the air.
type Char struct {
	Kg        float64
	CarbonKg  float64
	KeptCO2Kg float64 // still out of the air after a hundred years
}

// CharOf returns the carbon in char and the carbon dioxide it keeps.
//
// Source: IPCC 2019 Refinement, vol. 4 ch. 2 app. 4: wood, gasification: 0.52 t of carbon in a
// tonne of char (±52 %), of which 0.89 is left after a hundred years (±13 %).
func CharOf(kg float64) Char {
	carbon := 0.52 * kg
	return Char{Kg: kg, CarbonKg: carbon, KeptCO2Kg: carbon * 0.89 * 44 / 12}
}

// KeptRange returns the least and the most carbon dioxide the char may keep: both
// uncertainties of the source, ±52 % and ±13 % (from memory), added in quadrature.
func (c Char) KeptRange() (low, high float64) {
	half := math.Sqrt(0.52*0.52 + 0.13*0.13)
	return c.KeptCO2Kg * (1 - half), c.KeptCO2Kg * (1 + half)
}
