package genset

import (
	"fmt"
	"math"

	"twigwatt/sim/place"
)

// PowerFactor returns the power of a spark-ignition engine in the standard atmosphere's pressure at
// an altitude and in air of airC (°C), against 990 mbar of dry air and 25 °C. The pressure is taken
// as dry. altitudeM is up to 11 000 m above the sea (see place.PressurePa).
//
// Source: SAE J1349 (1990).
func PowerFactor(altitudeM, airC float64) float64 {
	return powerFactorAt(place.PressurePa(altitudeM)/100, airC)
}

func powerFactorAt(dryMbar, airC float64) float64 {
	return 1 / (1.180*(990/dryMbar)*math.Sqrt((airC+273)/298) - 0.18)
}

// CoolerFactor returns the power at a gas temperature over that at the rated
// one: a denser mixture, its temperature the mean of gas and air by volume.
//
// Check: FEMA/ORNL-6404 section 2, about 1 % of power for each 10 °F.
func CoolerFactor(gasC, ratedGasC, airC, airPerGas float64) float64 {
	mixtureK := func(gasC float64) float64 { return (gasC + zeroCK + airPerGas*(airC+zeroCK)) / (1 + airPerGas) }
	return mixtureK(ratedGasC) / mixtureK(gasC)
}

// UsualAirPerGas is the air need of wood gas where its make is not known.
//
// Source: FAO Forestry Paper 72, Appendix 1.
const UsualAirPerGas = 1.1

// CondensesC is the gas temperature after the cooler, °C, where nothing is said: the usual rating's.
const CondensesC = 21.0

// Factors is what the moisture of the wood burned does to a set, against wood at
// its rated moisture: a table at 0, 5 … 45 %, straight between.
type Factors struct {
	power, heat, condensate [factorRows]float64
}

const (
	factorRows     = 10
	factorMoisture = 0.05 // wet basis, from row to row
)

// NewFactors works out the table for a set rated on wood of a moisture (wet basis) and a net heat
// when dry, with the gas cooled to gasC, °C. ratedMoisture must be 0 to MostMoisture, and dryMJKg
// lie in the model's range; the gas is taken at UsualReactorC. An error: what is not so.
func NewFactors(ratedMoisture, dryMJKg, gasC float64) (*Factors, error) {
	if !(ratedMoisture >= 0 && ratedMoisture <= MostMoisture) {
		return nil, fmt.Errorf("rated moisture must be 0 to %g, wet basis, got %g", MostMoisture, ratedMoisture)
	}
	var f Factors
	for i := range factorRows {
		p, err := Feed{Moisture: factorMoisture * float64(i), DryMJKg: dryMJKg, ReactorC: UsualReactorC}.Gasify()
		if err != nil {
			return nil, err
		}
		f.power[i], f.heat[i], f.condensate[i] = p.Gas.MixtureMJNm3(), p.MJPerDryKg(), p.CondensateLPerDryKg(gasC)
	}
	ratedPower, ratedHeat := read(&f.power, ratedMoisture), read(&f.heat, ratedMoisture)
	for i := range factorRows {
		f.power[i] /= ratedPower
		f.heat[i] /= ratedHeat
	}
	return &f, nil
}

// read reads a table of moisture, which is 0 or more: every step of a run does, and an even table needs no search.
// Wood wetter than the last row is never burned.
func read(table *[factorRows]float64, moisture float64) float64 {
	x := moisture / factorMoisture
	at := max(0, min(int(x), factorRows-2))
	return table[at] + (x-float64(at))*(table[at+1]-table[at])
}

// Power returns the power factor of a wood by its moisture (wet basis), at most 1.
func (f *Factors) Power(moisture float64) float64 { return min(1, read(&f.power, moisture)) }

// Heat returns the heat factor: gas energy from an oven-dry kg against that at the rated moisture.
func (f *Factors) Heat(moisture float64) float64 { return read(&f.heat, moisture) }

// CondensateL returns the litres of condensate from an oven-dry kg.
func (f *Factors) CondensateL(moisture float64) float64 { return read(&f.condensate, moisture) }
