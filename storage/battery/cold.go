package battery

import (
	"fmt"
	"math"

	"twigwatt/sim/curve"
)

// capacityByAir is percent of the capacity at 25 °C by °C.
//
// Source: data sheet of a 12 V, 55 Ah AGM block (SOURCES.md, battery_temperature.csv).
// Used for every kind: no table of its own was found for the others.
var capacityByAir = curve.Curve{{X: ColdestTableC, Y: 65}, {X: 0, Y: 86}, {X: 25, Y: 100}, {X: 40, Y: 103}}

// ColdestTableC is the cold end of the published capacity table, °C; beyond it the table's
// first line goes straight on, and beyond its warm end of 40 °C the last.
const ColdestTableC = -15.0

// CapacityPct returns the capacity in percent of that at 25 °C, 0 or more.
//
// Source: battery_temperature.csv; beyond −15 and 40 °C its last line goes on.
func CapacityPct(airC float64) float64 { return max(0, capacityByAir.At(airC)) }

// CapacityFactor returns the share of the capacity at 20 °C that the air leaves, 0 to 1.
func CapacityFactor(airC float64) float64 { return min(1, CapacityPct(airC)/capacityByAir.At(20)) }

// SelfDischargeAt returns the monthly self-discharge at an air temperature,
// given that at 20 °C: it halves each 10 °C below and doubles above, at most 1.
//
// Source: R. Vader, Energy Unlimited, section 2.5.10.
func SelfDischargeAt(at20C, airC float64) float64 {
	return min(1, at20C*math.Exp2((airC-20)/10))
}

// Specific gravity by percent of charge, and the °C at which the electrolyte begins to freeze
// by its gravity.
//
// Source of both: SOURCES.md, row freezing.
var (
	gravityByCharge  = curve.Curve{{X: 0, Y: 1.120}, {X: 25, Y: 1.155}, {X: 50, Y: 1.190}, {X: 75, Y: 1.225}, {X: 100, Y: 1.265}}
	freezesByGravity = curve.Curve{{X: 1.100, Y: -8}, {X: 1.150, Y: -15}, {X: 1.200, Y: -27}, {X: 1.265, Y: -59}}
)

// FreezesAtC returns the temperature at which the electrolyte of a lead-acid bank at a percentage
// of charge (0 to 100) begins to freeze. It means nothing for lithium.
func FreezesAtC(chargePct float64) float64 {
	return freezesByGravity.At(gravityByCharge.At(chargePct))
}

// ChargeOfGravity returns the percentage of charge at which the electrolyte of a
// lead-acid bank, rested and at the table's temperature, has a specific gravity
// (1.05 to 1.32). Beyond the table's ends the bank is empty or full.
func ChargeOfGravity(kind Kind, gravity float64) (float64, error) {
	if kind == Lithium {
		return 0, fmt.Errorf("means nothing for a lithium bank")
	}
	if !(gravity >= 1.05 && gravity <= 1.32) {
		return 0, fmt.Errorf("must be 1.05 to 1.32, got %g", gravity)
	}
	return turned(gravityByCharge).Held(gravity), nil
}

// turned is a curve read the other way round.
func turned(c curve.Curve) (other curve.Curve) {
	for _, p := range c {
		other = append(other, curve.Point{X: p.Y, Y: p.X})
	}
	return other
}

// GravityAt25C returns what a hydrometer reads at an acid's temperature (°C) as it would read at
// 25 °C.
//
// Source: SOURCES.md, row hydrometer (common practice, from memory): 0.0007 for each °C.
func GravityAt25C(gravity, acidC float64) float64 { return gravity + 0.0007*(acidC-25) }

// restVolts is the voltage of 12 V of lead-acid by its charge, after hours of rest.
//
// Source: SOURCES.md, row rest voltage (commonly printed, from memory).
var restVolts = curve.Curve{{X: 0, Y: 11.89}, {X: 25, Y: 12.06}, {X: 50, Y: 12.24}, {X: 75, Y: 12.45}, {X: 100, Y: 12.65}}

// LeastRestH is how long a lead-acid bank must neither be charged nor drawn on before its voltage
// tells its charge.
const LeastRestH = 3

// ChargeOfVolts returns the percentage of charge of a lead-acid bank of a nominal voltage that has
// rested for so many hours, by its voltage. Beyond the table's ends the bank is empty or full; far
// beyond them it is not at rest, or not of that voltage: an error, as for lithium, whose voltage
// tells nothing.
func ChargeOfVolts(kind Kind, nominalV, volts, restedH float64) (float64, error) {
	const perV, least, most = 12, 10.5, 13.0 // of 12 V
	switch {
	case kind == Lithium:
		return 0, fmt.Errorf("mean nothing for a lithium bank: its voltage hardly changes with its charge")
	case nominalV == 0:
		return 0, fmt.Errorf("need battery.volts in the scenario")
	case !(restedH >= LeastRestH):
		return 0, fmt.Errorf("tell the charge after %d h of rest or more (--rested-hours), got %g h", LeastRestH, restedH)
	}
	if low, high := least*nominalV/perV, most*nominalV/perV; !(volts >= low && volts <= high) {
		return 0, fmt.Errorf("must be %.4g to %.4g V for a rested bank of %g V, got %g", low, high, nominalV, volts)
	}
	return turned(restVolts).Held(volts * perV / nominalV), nil
}
