package battery

import (
	"fmt"
	"math"
)

// A table read by straight lines; beyond its ends the last line goes on.
type table []Point

func (t table) at(x float64) float64 {
	i := 1
	for i < len(t)-1 && x > t[i].X {
		i++
	}
	a, b := t[i-1], t[i]
	return a.Y + (x-a.X)*(b.Y-a.Y)/(b.X-a.X)
}

// capacityByAir is percent of the capacity at 25 °C by °C.
//
// Source: data sheet of a 12 V, 55 Ah AGM block (SOURCES.md, battery_temperature.csv).
// Used for every kind: no table of its own was found for the others.
var capacityByAir = table{{-15, 65}, {0, 86}, {25, 100}, {40, 103}}

// ColdestTableC and WarmestTableC are the ends of the published capacity table;
// beyond them its last line goes straight on.
const (
	ColdestTableC = -15.0
	WarmestTableC = 40.0
)

// CapacityFactor returns the share of the capacity at 20 °C that the air leaves, 0 to 1.
func CapacityFactor(airC float64) float64 {
	return max(0, min(1, capacityByAir.at(airC)/capacityByAir.at(20)))
}

// SelfDischargeAt returns the monthly self-discharge at an air temperature,
// given that at 20 °C: it halves each 10 °C below and doubles above, at most 1.
//
// Source: R. Vader, Energy Unlimited, section 2.5.10.
func SelfDischargeAt(at20C, airC float64) float64 {
	return min(1, at20C*math.Exp2((airC-20)/10))
}

// Source of both tables: SOURCES.md, row freezing.
var (
	gravityByCharge  = table{{0, 1.120}, {25, 1.155}, {50, 1.190}, {75, 1.225}, {100, 1.265}}
	freezesByGravity = table{{1.100, -8}, {1.150, -15}, {1.200, -27}, {1.265, -59}}
)

// FreezesAtC returns the temperature at which the electrolyte of a lead-acid
// bank at a percentage of charge (0 to 100) begins to freeze. It means nothing
// for lithium.
func FreezesAtC(chargePct float64) float64 {
	return freezesByGravity.at(gravityByCharge.at(chargePct))
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
	var charge table
	for _, p := range gravityByCharge {
		charge = append(charge, Point{p.Y, p.X})
	}
	return max(0, min(100, charge.at(gravity))), nil
}
