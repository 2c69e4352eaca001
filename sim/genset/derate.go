package genset

import (
	"math"

	"twigwatt/sim/place"
)

// PowerFactor returns the power of a spark-ignition engine in the standard
// atmosphere's pressure at an altitude and in air of airC (°C), against
// 990 mbar of dry air and 25 °C. The pressure is taken as dry. altitudeM is up to
// 11 000 m above the sea (see place.PressurePa).
//
// Source: SAE J1349 (1990).
func PowerFactor(altitudeM, airC float64) float64 {
	mbar := place.PressurePa(altitudeM) / 100
	return powerFactorAt(mbar, airC)
}

func powerFactorAt(dryMbar, airC float64) float64 {
	return 1 / (1.180*(990/dryMbar)*math.Sqrt((airC+273)/298) - 0.18)
}
