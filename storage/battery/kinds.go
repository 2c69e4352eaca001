package battery

import "twigwatt/sim/curve"

// Kind names the chemistry and make of a bank.
type Kind string

// The kinds with defaults.
const (
	Flooded Kind = "flooded" // lead-acid with free electrolyte
	AGM     Kind = "agm"     // lead-acid, absorbed glass mat
	Gel     Kind = "gel"     // lead-acid, gelled electrolyte
	Lithium Kind = "lithium" // lithium iron phosphate
)

// Kinds returns the kinds in order.
func Kinds() []Kind { return []Kind{Flooded, AGM, Gel, Lithium} }

// Defaults of a kind. Percentages are as the household writes them.
type Defaults struct {
	FloorPct         float64
	MaxChargeShare   float64 // kW for each kWh of rated size
	TaperHours       float64
	AtHandShare      float64
	ChargeCurve      curve.Curve
	DischargePct     float64
	SelfDischargePct float64     // a month, at 20 °C
	FullEveryDays    int         // 0: never
	CycleLife        curve.Curve // depth %, cycles
}

// DefaultsOf returns the defaults of a kind. An unknown kind is a programmer's mistake.
//
// Sources of lead-acid: floor, common practice; C/5 charge, Perez, Home Power; taper, a
// charger manual (absorption starts near 80 %); at hand, a fit to an AGM data sheet;
// efficiencies, Stevens & Corey 1996 (from memory); full charge each fortnight, common practice;
// self-discharge, R. Vader, Energy Unlimited, 2.5.10; cycles, published for flooded cells (cycle life).
// Of lithium: common practice, no source; about 6000 cycles at 80 % depth, from memory.
func DefaultsOf(kind Kind) Defaults {
	selfDischargePct := map[Kind]float64{Flooded: 12, AGM: 3, Gel: 2}[kind]
	switch {
	case kind == Lithium:
		return Defaults{FloorPct: 15, MaxChargeShare: 1.0 / 2, TaperHours: 0.25, AtHandShare: 1,
			ChargeCurve: curve.Curve{{X: 0, Y: 98}}, DischargePct: 98, SelfDischargePct: 2,
			CycleLife: curve.Curve{{X: 80, Y: 6000}}}
	case selfDischargePct == 0:
		panic("battery: unknown kind " + string(kind))
	}
	return Defaults{FloorPct: 50, MaxChargeShare: 1.0 / 5, TaperHours: 1.25, AtHandShare: 0.32,
		ChargeCurve: curve.Curve{{X: 0, Y: 95}, {X: 70, Y: 95}, {X: 82, Y: 55}, {X: 100, Y: 40}}, DischargePct: 95,
		SelfDischargePct: selfDischargePct, FullEveryDays: 14, CycleLife: curve.Curve{{X: 50, Y: 750}, {X: 80, Y: 225}}}
}
