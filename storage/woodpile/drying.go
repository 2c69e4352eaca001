package woodpile

import (
	"math"

	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
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
// Source: FAO-56: saturation (equation 11) less what is there.
func DeficitKPa(airC, humidityPct float64) float64 {
	return place.SaturationKPa(airC) * (1 - humidityPct/100)
}

// Drying constants, a week, in air of usualDeficitKPa: calibrated on
// testdata/published/drying_bands.csv.
const (
	logPerWeek      = 0.09
	splitPerWeek    = 0.18
	chunkPerWeek    = 0.24
	usualDeficitKPa = 0.8
)

// OpenHumidityPct returns the humidity an open stack comes to: half-way between
// the air's and rain's (common practice, no source).
func OpenHumidityPct(humidityPct float64) float64 { return (100 + humidityPct) / 2 }

// DamperPct returns the relative humidity, in percent, of air in which wood comes to a moisture that
// is more by a share on wet basis (below 0: less) than in air of airC and humidityPct: 1 to 99 at
// most.
func DamperPct(airC, humidityPct, share float64) float64 {
	wanted := WetBasis(EquilibriumDryBasis(airC, humidityPct)) + share
	low, high := 1.0, 99.0
	for range 40 { // halvings
		if middle := (low + high) / 2; WetBasis(EquilibriumDryBasis(airC, middle)) < wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// A Drying is what a day's air does to wood.
type Drying struct {
	roof, open        float64 // equilibrium, dry basis
	log, split, chunk float64 // share that a piece keeps of the distance to it
}

// DryingIn returns a day's drying in air of airC and a relative humidity in percent.
func DryingIn(airC, humidityPct float64) *Drying {
	keeps := func(perWeek float64) float64 {
		return math.Exp(-perWeek / 7 * DeficitKPa(airC, humidityPct) / usualDeficitKPa)
	}
	return &Drying{
		roof: EquilibriumDryBasis(airC, humidityPct), open: EquilibriumDryBasis(airC, OpenHumidityPct(humidityPct)),
		log: keeps(logPerWeek), split: keeps(splitPerWeek), chunk: keeps(chunkPerWeek)}
}

// After returns the moisture (dry basis) a day later.
func (d *Drying) After(dryBasis float64, piece Piece, cover Cover) float64 {
	towards, keeps := d.roof, d.chunk
	if cover == Open {
		towards = d.open
	}
	switch piece {
	case Log:
		keeps = d.log
	case Split:
		keeps = d.split
	}
	return towards + (dryBasis-towards)*keeps
}

// DryFrom returns the day from which wood that lies from a date on, at a moisture from (dry basis),
// is at most at a moisture to; nil where it is not within four years: what is not dry by then never
// is, for every year's air is alike. airOn is the air of a day, in °C and percent.
func DryFrom(airOn func(calendar.Date) (airC, humidityPct float64), from, to float64, date calendar.Date,
	piece Piece, cover Cover) *calendar.Date {
	const fourYears = 4 * 365
	for day := date; day <= date+fourYears; day++ {
		if from <= to {
			return &day
		}
		from = DryingIn(airOn(day)).After(from, piece, cover)
	}
	return nil
}
