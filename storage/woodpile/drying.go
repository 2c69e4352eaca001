package woodpile

import (
	"math"

	"twigwatt/sim/calendar"
)

// DryBasis turns a moisture on wet basis (kg of water in each kg of wood, 0 to below 1)
// into one on dry basis (kg of water for each oven-dry kg).
func DryBasis(wet float64) float64 { return wet / (1 - wet) }

// WetBasis turns a moisture on dry basis, 0 or more, into one on wet basis.
func WetBasis(dry float64) float64 { return dry / (1 + dry) }

// EquilibriumDryBasis returns the moisture wood comes to in air of airC (°C) and a
// relative humidity in percent (0 to 100), kg of water for each oven-dry kg.
//
// Source: USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010),
// chapter 4, the equation behind Table 4-2.
func EquilibriumDryBasis(airC, humidityPct float64) float64 {
	t, h := airC, humidityPct/100
	w := 349 + 1.29*t + 0.0135*t*t
	k := 0.805 + 0.000736*t - 0.00000273*t*t
	k1 := 6.27 - 0.00938*t - 0.000303*t*t
	k2 := 1.91 + 0.0407*t - 0.000293*t*t
	kh := k * h
	return 18 / w * (kh/(1-kh) + (k1*kh+2*k1*k2*kh*kh)/(1+k1*kh+k1*k2*kh*kh))
}

// DeficitKPa returns the vapour-pressure deficit of air.
//
// Source: Tetens' formula, as FAO-56 equation 11.
func DeficitKPa(airC, humidityPct float64) float64 {
	return 0.6108 * math.Exp(17.27*airC/(airC+237.3)) * (1 - humidityPct/100)
}

// perWeek is the drying constant of a piece, a week, in air of usualDeficitKPa:
// calibrated on testdata/published/drying_bands.csv.
var perWeek = map[Piece]float64{Log: 0.09, Split: 0.18, Chunk: 0.24}

const usualDeficitKPa = 0.8

// OpenHumidityPct returns the humidity an open stack comes to: half-way between
// the air's and rain's (common practice, no source).
func OpenHumidityPct(humidityPct float64) float64 { return (100 + humidityPct) / 2 }

// A Drying is what a day's air does to wood.
type Drying struct {
	equilibrium [2]float64 // dry basis: under a roof, in the open
	keeps       [3]float64 // of the distance to it: log, split, chunk
}

// DryingIn returns a day's drying in air of airC and a relative humidity in percent.
func DryingIn(airC, humidityPct float64) *Drying {
	d := &Drying{equilibrium: [2]float64{EquilibriumDryBasis(airC, humidityPct),
		EquilibriumDryBasis(airC, OpenHumidityPct(humidityPct))}}
	for i, piece := range pieces {
		d.keeps[i] = math.Exp(-perWeek[piece] / 7 * DeficitKPa(airC, humidityPct) / usualDeficitKPa)
	}
	return d
}

var pieces = [3]Piece{Log, Split, Chunk}

// After returns the moisture (dry basis) a day later.
func (d *Drying) After(dryBasis float64, piece Piece, cover Cover) float64 {
	towards := d.equilibrium[0]
	if cover == Open {
		towards = d.equilibrium[1]
	}
	keeps := d.keeps[2]
	switch piece {
	case Log:
		keeps = d.keeps[0]
	case Split:
		keeps = d.keeps[1]
	}
	return towards + (dryBasis-towards)*keeps
}

// yearsToDry is how long wood is watched: what is not dry by then never is, for
// every year's air is alike.
const yearsToDry = 4

// DryFrom returns the day from which wood that lies from a date on, at a moisture
// from (dry basis), is at most at a moisture to; nil where it is not within four
// years. airOn is the air of a day, in °C and percent.
func DryFrom(airOn func(calendar.Date) (airC, humidityPct float64), from, to float64, date calendar.Date,
	piece Piece, cover Cover) *calendar.Date {
	const daysAYear = 365
	for day := date; day <= date+yearsToDry*daysAYear; day++ {
		if from <= to {
			return &day
		}
		from = DryingIn(airOn(day)).After(from, piece, cover)
	}
	return nil
}
