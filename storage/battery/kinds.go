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
// Sources of lead-acid: floor, common practice; C/5 charge, and a taper that keeps the charger to
// C/10 at 85 and 90 % and C/20 at 95 %, Perez, Home Power; at hand, a fit to an AGM data sheet;
// charging, a judgement between two published statements (see LeastCharging and MostCharging);
// discharging, Stevens & Corey 1996 (from memory); full charge each fortnight, common practice;
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
	return Defaults{FloorPct: 50, MaxChargeShare: 1.0 / 5, TaperHours: 2, AtHandShare: 0.32,
		ChargeCurve:      curve.Curve{{X: 0, Y: 95}, {X: 70, Y: 92}, {X: 80, Y: 82}, {X: 90, Y: 70}, {X: 95, Y: 60}, {X: 100, Y: 45}},
		DischargePct:     95,
		SelfDischargePct: selfDischargePct, FullEveryDays: 14, CycleLife: curve.Curve{{X: 50, Y: 750}, {X: 80, Y: 225}}}
}

// LeastCharging and MostCharging are what two published statements say of the charging efficiency
// of lead-acid, percent by charge, energy stored for energy in. The default lies between them.
//
// Sources: least, Stevens & Corey 1996: 91 % over 0 to 84 %, 55 % over 79 to 84 %, under 50 % above
// 90 %, at slow rates like the sun's (from memory). Most, the least amp-hour efficiencies of
// IEC 61427: 95, 90, 85 % at under 50, 75, 90 % of charge (from memory), as if the voltage of a
// charge were that of a discharge.
func LeastCharging() curve.Curve {
	return curve.Curve{{X: 0, Y: 95}, {X: 70, Y: 95}, {X: 82, Y: 55}, {X: 90, Y: 49}, {X: 100, Y: 40}}
}

// MostCharging: see LeastCharging.
func MostCharging() curve.Curve {
	return curve.Curve{{X: 0, Y: 95}, {X: 50, Y: 95}, {X: 75, Y: 90}, {X: 90, Y: 85}, {X: 100, Y: 80}}
}

// ChargeInput returns the energy (kWh, DC, more than 0) that enters a bank of a size so that its
// charge rises from one percentage to a higher one, at an efficiency in percent by charge.
func ChargeInput(efficiency curve.Curve, fullKWh, fromPct, toPct float64) float64 {
	const cuts = 1000 // of the charge; the curve is straight between few points
	in, each := 0.0, (toPct-fromPct)/cuts
	for i := range cuts {
		in += each / efficiency.Held(fromPct+(float64(i)+0.5)*each)
	}
	return in * fullKWh
}

// WaterL returns the most water (litres) that a flooded bank gasses off as so much energy of a
// charge (kWh) is lost: all of it as gas, at the cell's voltage while it gasses. A sealed bank
// makes water of its gas again, a lithium one has none: 0.
//
// Source: Faraday's law, 18.015 g/mol and two electrons: 0.3361 g for each Ah in a cell; a cell
// gasses from 2.35 V on (common practice).
func WaterL(kind Kind, lostKWh float64) float64 {
	const gassingV, gPerAh, whPerKWh, gPerL = 2.35, 0.3361, 1000, 1000
	if kind != Flooded {
		return 0
	}
	return lostKWh * whPerKWh / gassingV * gPerAh / gPerL
}
