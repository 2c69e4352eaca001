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
	"slices"
)

// HeatOfVaporisationMJKg is the heat that water in wood takes to evaporate at 25 °C.
//
// Source: EN 14918 / ISO 18125 (0.02443 MJ/kg for each percent).
const HeatOfVaporisationMJKg = 2.443

// Efficiencies of the default fuel line at full power, net heat of the wood to
// electricity.
const (
	GasifierEfficiency   = 0.70 // FAO Forestry Paper 72, Appendix 1
	engineEfficiency     = 0.24 // Homdoung et al. 2015: 23.9 % brake efficiency
	AlternatorEfficiency = 0.85 // common practice, no source
	noLoadShare          = 0.28 // Jorapur & Rajvanshi 1995: of full-load fuel
)

// NetHeatPerDryKg returns the net heat of wood in MJ for each oven-dry kg, from
// its net heat when dry (MJ/kg) and its moisture (wet basis, 0 to below 1).
func NetHeatPerDryKg(dryMJKg, moisture float64) float64 {
	return dryMJKg - HeatOfVaporisationMJKg*moisture/(1-moisture)
}

// DefaultLine returns the fuel line of a set of kw at full power from first
// principles: oven-dry kg/h at no load and oven-dry kg for each kWh.
func DefaultLine(kw, dryMJKg, moisture float64) (idleKgH, perKWhKg float64) {
	chain := NetHeatPerDryKg(dryMJKg, moisture) * GasifierEfficiency * engineEfficiency * AlternatorEfficiency
	fullKgH := kw * 3.6 / chain
	return noLoadShare * fullKgH, (1 - noLoadShare) * fullKgH / kw
}

// A Point of the fuel line: power in kW and oven-dry wood in kg/h.
type Point struct{ KW, KgH float64 }

// A Set is the plant. Wood is oven-dry.
type Set struct {
	KW, LeastKW    float64 // at home, on wood at the rated moisture
	LightUpMinutes int
	LightUpKg      float64
	Line           []Point // two or more, power rising; straight between, straight on beyond
	RatedMoisture  float64 // wet basis, 0 to below 1
	CharShare      float64 // of the oven-dry wood burned
}

// StraightLine returns the fuel line of a no-load rate and a rate for each kWh.
func StraightLine(idleKgH, perKWhKg, kw float64) []Point {
	return []Point{{0, idleKgH}, {kw, idleKgH + perKWhKg*kw}}
}

// Ready returns the share of a step, 0 to 1, in which the engine gives power:
// sinceMatch are the minutes since the match at the step's end.
func (s *Set) Ready(sinceMatch, stepMinutes int) float64 {
	return max(0, min(1, float64(sinceMatch-s.LightUpMinutes)/float64(stepMinutes)))
}

// BurnedKg returns the oven-dry wood of a step of stepH hours in which the
// engine made engineKW in the mean and was ready for a share of it. The
// light-up's wood falls into the step of the match.
func (s *Set) BurnedKg(ready, engineKW, stepH float64, match bool) float64 {
	kg := 0.0
	if match {
		kg = s.LightUpKg
	}
	if ready > 0 {
		kg += s.rateKgH(engineKW/ready) * ready * stepH
	}
	return kg
}

// rateKgH reads the fuel line at a power. A curve that is steep at its low end
// would pass zero when drawn on; wood is never made.
func (s *Set) rateKgH(kw float64) float64 {
	i := 1
	for i < len(s.Line)-1 && kw > s.Line[i].KW {
		i++
	}
	a, b := s.Line[i-1], s.Line[i]
	return max(0, a.KgH+(kw-a.KW)*(b.KgH-a.KgH)/(b.KW-a.KW))
}

// FullKgH returns the oven-dry wood of an hour at full power.
func (s *Set) FullKgH() float64 { return s.rateKgH(s.KW) }

// CheckLine reports what is wrong with a wood curve: fewer than two points,
// powers that do not rise, rates that fall or are below zero.
func CheckLine(line []Point) error {
	if len(line) < 2 {
		return fmt.Errorf("must have two points or more, got %d", len(line))
	}
	if !slices.IsSortedFunc(line, func(a, b Point) int {
		if a.KW >= b.KW {
			return 1 // equal powers are out of order too
		}
		return -1
	}) {
		return fmt.Errorf("powers must rise from point to point, got %s", powers(line))
	}
	for i, p := range line {
		if !(p.KW >= 0) || !(p.KgH >= 0) || math.IsInf(p.KW+p.KgH, 0) {
			return fmt.Errorf("powers and rates must be 0 or more, got [%g, %g]", p.KW, p.KgH)
		}
		if i > 0 && p.KgH < line[i-1].KgH {
			return fmt.Errorf("wood must not fall as power rises, got %g kg/h at %g kW after %g kg/h at %g kW",
				p.KgH, p.KW, line[i-1].KgH, line[i-1].KW)
		}
	}
	return nil
}

func powers(line []Point) string {
	var kw []float64
	for _, p := range line {
		kw = append(kw, p.KW)
	}
	return fmt.Sprint(kw)
}
