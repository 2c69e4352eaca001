package genset

import "math"

// Char is what the ash bin keeps from the air.
type Char struct {
	Kg        float64
	CarbonKg  float64
	KeptCO2Kg float64 // still out of the air after a hundred years
}

// CharOf returns the carbon in char and the carbon dioxide it keeps.
//
// Source: IPCC 2019 Refinement, vol. 4 ch. 2 app. 4: wood, gasification: 0.52 t
// of carbon in a tonne of char (±52 %), of which 0.89 is left after a hundred
// years (±13 %).
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
