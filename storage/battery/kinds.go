package battery

// Defaults of a kind. Percentages are as the household writes them.
type Defaults struct {
	FloorPct            float64
	MaxChargeShare      float64 // kW for each kWh of rated size
	TaperHours          float64
	AtHandShare         float64
	ChargeCurve         []Point
	DischargePct        float64
	SelfDischargePct    float64 // a month, at 20 °C
	FullEveryDays       int     // 0: never
	CycleLife           []Point // depth %, cycles
	SelfDischargeSource string
	CycleLifeSource     string
}

// leadAcid is what the three lead-acid kinds share.
//
// Sources: floor, common practice; C/5 charge, Perez, Home Power; taper, a
// charger manual (absorption starts near 80 %); at hand, a fit to an AGM data
// sheet; efficiencies, Stevens & Corey 1996 (from memory); full charge each
// fortnight, common practice.
var leadAcid = Defaults{
	FloorPct:        50,
	MaxChargeShare:  1.0 / 5,
	TaperHours:      1.25,
	AtHandShare:     0.32,
	ChargeCurve:     []Point{{0, 95}, {70, 95}, {82, 55}, {100, 40}},
	DischargePct:    95,
	FullEveryDays:   14,
	CycleLife:       []Point{{50, 750}, {80, 225}},
	CycleLifeSource: "published for flooded cells: 750 at 50 %, 225 at 80 % (cycle life)",
}

// DefaultsOf returns the defaults of a kind. An unknown kind is a programmer's mistake.
func DefaultsOf(kind Kind) Defaults {
	d := leadAcid
	switch kind {
	case Flooded:
		d.SelfDischargePct = 12 // R. Vader, Energy Unlimited, 2.5.10
	case AGM:
		d.SelfDischargePct = 3 // the same
	case Gel:
		d.SelfDischargePct = 2 // the same
	case Lithium:
		return Defaults{
			FloorPct: 15, MaxChargeShare: 1.0 / 2, TaperHours: 0.25, AtHandShare: 1, // common practice, no source
			ChargeCurve: []Point{{0, 98}}, DischargePct: 98, // common practice, no source
			SelfDischargePct: 2, SelfDischargeSource: "common practice, no source",
			CycleLife:       []Point{{80, 6000}},
			CycleLifeSource: "about 6000 at 80 % depth, from memory",
		}
	default:
		panic("battery: unknown kind " + string(kind))
	}
	d.SelfDischargeSource = "R. Vader, Energy Unlimited, 2.5.10"
	return d
}
