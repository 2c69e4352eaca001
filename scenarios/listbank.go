package scenarios

import (
	"math"
	"slices"

	"twigwatt/storage/battery"
)

func kindNames() []string {
	var names []string
	for _, k := range battery.Kinds() {
		names = append(names, string(k))
	}
	return names
}

// byKind returns the defaults of the kind in force.
func (l *list) byKind() battery.Defaults {
	if kind := battery.Kind(l.v.battery.kind); slices.Contains(battery.Kinds(), kind) {
		return battery.DefaultsOf(kind)
	}
	return battery.DefaultsOf(battery.Flooded) // a kind that was refused
}

func (l *list) battery() {
	v := &l.v.battery
	const fitted = "a fit to an AGM data sheet (discharge_rates_agm.csv); lithium: " + practice
	l.val("battery.kind", &choice{&v.kind, kindNames()}, `"flooded"`, func() { v.kind = string(battery.Flooded) },
		"what the batteries are; lithium: lithium iron phosphate", ours)
	l.numBy("battery.kwh", "kWh", &v.kWh, above(0, 1e4), "volts × amp_hours / 1000",
		func() float64 { return v.volts * v.ampHours / 1000 }, "size at rated_hours", yours)
	l.opt("battery.volts", "V", &v.volts, above(0, 2000), "with amp_hours, instead of kwh", yours)
	l.opt("battery.amp_hours", "Ah", &v.ampHours, above(0, 1e5), "with volts, instead of kwh", yours)
	l.num("battery.rated_hours", "h", &v.ratedHours, from(0.01, 1000), 20, "discharge time of the rated size", practice)
	l.numBy("battery.floor_pct", "%", &v.floorPct, from(0, 99), "50; lithium 15",
		func() float64 { return l.byKind().FloorPct }, "nothing is drawn below it", practice)
	l.num("battery.ceiling_pct", "%", &v.ceilingPct, above(0, 100), 100, "nothing is charged above it", ours)
	l.numBy("battery.start_pct", "%", &v.startPct, from(0, 100), "80, at most the ceiling",
		func() float64 { return min(80, v.ceilingPct) }, "charge as the span begins", ours)
	l.numBy("battery.max_charge_kw", "kW", &v.maxChargeKW, above(0, 1e4), "kwh/5; lithium kwh/2",
		func() float64 { return v.kWh * l.byKind().MaxChargeShare }, "most power into the bank, DC",
		"C/5, Perez, Home Power; lithium: "+practice)
	l.numBy("battery.taper_hours", "h", &v.taperHours, above(0, 24), "1.25; lithium 0.25",
		func() float64 { return l.byKind().TaperHours }, "time constant of the last of a charge",
		"absorption starts near 80 %, a charger manual; lithium above 95 %")
	l.numBy("battery.at_hand_share", "", &v.atHandShare, from(0.001, 1), "0.32; lithium 1",
		func() float64 { return l.wells().share }, "share of what is stored that can be drawn at once; the rest follows (two wells)", fitted)
	l.numBy("battery.settle_per_h", "1/h", &v.settlePerH, from(0.0001, 1000), "1.35",
		func() float64 { return l.wells().perH }, "settling constant k of the two wells", fitted)
	l.val("battery.rate_table", &pairs{at: &v.rateTable, least: 3, first: above(0, 1000), second: above(0, 1e6),
		names: "[hours, amp-hours]"}, "", nil,
		"a maker's discharge table: fitted to the last two", yours)
}

func (l *list) batteryFlow() {
	v := &l.v.battery
	const stevens = "Stevens & Corey 1996, from memory; lithium: " + practice
	l.numBy("battery.charge_efficiency_pct", "%", &v.chargePct, from(1, 100), "by kind", func() float64 {
		if curve := l.byKind().ChargeCurve; len(v.chargeCurve) == 0 && len(curve) == 1 {
			return curve[0].Y
		}
		return math.NaN()
	}, "share of what enters the bank that is stored", stevens)
	l.val("battery.charge_efficiency_curve", &pairs{at: &v.chargeCurve, least: 2, first: from(0, 100),
		second: from(1, 100), names: "[charge %, %]"}, "by kind",
		func() {
			if curve := l.byKind().ChargeCurve; !l.given("battery.charge_efficiency_pct") && len(curve) > 1 {
				for _, p := range curve {
					v.chargeCurve = append(v.chargeCurve, [2]float64{p.X, p.Y})
				}
			}
		}, "the same by charge", stevens).late = true
	l.numBy("battery.discharge_efficiency_pct", "%", &v.dischargePct, from(1, 100), "95; lithium 98",
		func() float64 { return l.byKind().DischargePct }, "share of what is stored that the terminals give", stevens)
	l.numBy("battery.self_discharge_pct_month", "%", &v.selfDischargePct, from(0, 99),
		"flooded 12, agm 3, gel 2, lithium 2", func() float64 { return l.byKind().SelfDischargePct }, "at 20 °C",
		"R. Vader, Energy Unlimited, 2.5.10; lithium: "+practice)
	l.numBy("battery.charger_kw", "kW", &v.chargerKW, above(0, 1e4), "as max_charge_kw needs",
		func() float64 { return v.maxChargeKW / (v.chargerPct / 100) }, "power of the charger, AC", ours)
	l.num("battery.charger_efficiency_pct", "%", &v.chargerPct, from(1, 100), 85, "AC to DC", practice)
	l.num("battery.inverter_kw", "kW", &v.inverterKW, above(0, 1000), 4, "power of the inverter, AC", ours)
	l.num("battery.inverter_efficiency_pct", "%", &v.inverterPct, from(1, 100), 92, "DC to AC", practice)
	l.num("battery.inverter_idle_w", "W", &v.inverterIdleW, from(0, 1e4), 20,
		"drawn while the engine gives nothing", "a 3 kW unit's data, SOURCES.md, inverter")
	l.val("battery.room_c", &roomC{&v.roomC, &v.outdoor, from(-50, 60)}, "15", func() { v.roomC = 15 },
		`air around the bank, or "outdoor"`, ours)
	l.val("battery.temperature_effects", &flag{&v.temperatureEffects}, "true",
		func() { v.temperatureEffects = true }, "cold, self-discharge, frost", "battery_temperature.csv, self_discharge.csv")
	l.add(&Setting{Key: "battery.full_every_days", Unit: "days",
		Meaning: "a full charge is wanted at least so often; 0: never", Source: practice,
		Default: "14; lithium 0", late: true, value: &number{at: &v.fullEveryDays, in: from(0, 3660), whole: true},
		fill: func() { v.fullEveryDays = float64(l.byKind().FullEveryDays) }})
	l.val("battery.cycle_life", &pairs{at: &v.cycleLife, least: 1, first: above(0, 100), second: above(0, 1e7),
		names: "[depth %, cycles]"}, "by kind", func() {
		for _, p := range l.byKind().CycleLife {
			v.cycleLife = append(v.cycleLife, [2]float64{p.X, p.Y})
		}
	}, "cycles to the end of life by depth", "SOURCES.md, cycle life (flooded; lithium from memory)").late = true
}

// wells are the two-well constants: fitted to the rate table, or by kind.
type wells struct{ share, perH float64 }

func (l *list) wells() wells {
	if rows := l.v.battery.rateTable; len(rows) > 0 {
		if fit, err := battery.FitRates(rates(rows)); err == nil {
			return wells{fit.AtHandShare, fit.SettlePerH}
		}
	}
	return wells{l.byKind().AtHandShare, 1.35} // k: least squares on discharge_rates_agm.csv
}

func rates(rows [][2]float64) []battery.Rate {
	var all []battery.Rate
	for _, row := range rows {
		all = append(all, battery.Rate{Hours: row[0], AmpHours: row[1]})
	}
	return all
}
