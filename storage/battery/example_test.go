package battery_test

import (
	"fmt"

	"twigwatt/sim/curve"
	"twigwatt/storage/battery"
)

// plain is a store of 10 kWh that gives half of it: AC into the charger × 0.8 is
// stored, AC from the inverter × 1.25 is drawn; no leak, and nearly no taper.
var plain = battery.Bank{Kind: battery.Flooded, FullKWh: 10, FloorShare: 0.5, CeilingShare: 1, AtHandShare: 1, SettlePerH: 1,
	MaxChargeKW: 5, TaperHours: 0.001, ChargeCurve: curve.Curve{{X: 0, Y: 100}}, DischargeEfficiency: 1,
	ChargerKW: 2, ChargerEfficiency: 0.8, InverterKW: 3, InverterEfficiency: 0.8}

// Worked: at 5 kWh the charger's 2 kW are less than the room, 5/0.8 = 6.25 kW; an hour
// of 1.1 kW stores 0.88 and loses 0.22 kWh.
func ExamplePaced_AcceptKW() {
	bank := plain.Paced(1, 20) // steps of an hour, 20 °C around it
	s := bank.Rested(5)
	fmt.Printf("takes up to %.1f kW\n", bank.AcceptKW(s.StoredKWh()))
	s, lost := bank.Move(s, 1.1, 0, 0)
	fmt.Printf("%.2f kWh stored, %.2f lost\n", s.StoredKWh(), lost.TotalKWh())
	// Output:
	// takes up to 2.0 kW
	// 5.88 kWh stored, 0.22 lost
}

// Worked: of 6 kWh one lies above the floor, which gives 0.8 kWh at the house; an hour
// of 0.4 kW draws 0.5 and loses 0.1 kWh.
func ExamplePaced_Draw() {
	bank := plain.Paced(1, 20)
	s := bank.Rested(6)
	_, mostKW := bank.Draw(s, 0)
	fmt.Printf("gives up to %.1f kW\n", mostKW)
	s, lost := bank.Move(s, 0, 0.4, 0)
	fmt.Printf("%.2f kWh stored, %.2f lost\n", s.StoredKWh(), lost.DischargeKWh)
	// Output:
	// gives up to 0.8 kW
	// 5.50 kWh stored, 0.10 lost
}

// Worked: with 32 % at hand, and k = 1.35 per h, e = exp(−1.35) = 0.2592; a kWh drawn in
// an hour costs (0.7408 + 0.32 · (1.35 − 0.7408))/1.35 = 0.6931 at hand, of 3.2 kWh:
// 4.617 kWh in that hour, times 0.8 at the house. Rested, the wells are level again.
func ExampleState() {
	bank := plain
	bank.AtHandShare, bank.SettlePerH, bank.FloorShare, bank.InverterKW = 0.32, 1.35, 0, 9
	p := bank.Paced(1, 20)
	s := p.Rested(10)
	_, mostKW := p.Draw(s, 0)
	fmt.Printf("at hand %.2f of %.2f kWh: up to %.3f kW for an hour\n", s.AtHandKWh, s.StoredKWh(), mostKW)
	s, _ = p.Move(s, 0, mostKW, 0)
	fmt.Printf("at hand %.2f of %.2f kWh\n", s.AtHandKWh, s.StoredKWh())
	s = p.Rested(s.StoredKWh())
	fmt.Printf("at hand %.2f of %.2f kWh\n", s.AtHandKWh, s.StoredKWh())
	// Output:
	// at hand 3.20 of 10.00 kWh: up to 3.693 kW for an hour
	// at hand 0.00 of 5.38 kWh
	// at hand 1.72 of 5.38 kWh
}

// Published: lithium iron phosphate takes no charge at or below 0 °C (SOURCES.md, row freezing).
func ExamplePaced() {
	bank := plain
	bank.Kind, bank.TemperatureEffects = battery.Lithium, true
	for _, airC := range []float64{5, 0} {
		p := bank.Paced(1, airC)
		fmt.Printf("%.0f °C: refuses %t, takes %.1f kW\n", airC, p.RefusesCharge, p.AcceptKW(6))
	}
	// Output:
	// 5 °C: refuses false, takes 2.0 kW
	// 0 °C: refuses true, takes 0.0 kW
}

// Worked: half-way between 82 % of charge at 60 and 100 % at 40 it is 50; below the
// curve's first point it keeps that point's value.
func ExamplePaced_ChargeEfficiency() {
	bank := plain
	bank.ChargeCurve = curve.Curve{{X: 70, Y: 95}, {X: 82, Y: 60}, {X: 100, Y: 40}}
	p := bank.Paced(1, 20)
	fmt.Printf("%.2f, %.2f\n", p.ChargeEfficiency(9.1), p.ChargeEfficiency(2))
	// Output:
	// 0.50, 0.95
}

// Published: self-discharge by the month at 20 °C (SOURCES.md, self_discharge.csv): 12,
// 3, 2 %; lithium's is common practice, as are the floors.
func ExampleDefaultsOf() {
	for _, kind := range battery.Kinds() {
		d := battery.DefaultsOf(kind)
		fmt.Printf("%s: floor %g %%, self-discharge %g %% a month\n", kind, d.FloorPct, d.SelfDischargePct)
	}
	// Output:
	// flooded: floor 50 %, self-discharge 12 % a month
	// agm: floor 50 %, self-discharge 3 % a month
	// gel: floor 50 %, self-discharge 2 % a month
	// lithium: floor 15 %, self-discharge 2 % a month
}

// Published: ASTM E1049-85 (2017), 5.4.4 and Fig. 6 (SOURCES.md, row rainflow): half a cycle of
// range 3, one and a half of 4, half of 6, one of 8, half of 9, and no others.
func ExampleRainflow() {
	counts := map[float64]float64{}
	rain := battery.NewRainflow(func(c battery.Cycle) { counts[c.Range] += c.Count })
	for _, x := range []float64{-2, 1, -3, 5, -1, 3, -4, 4, -2} {
		rain.Add(x)
	}
	rain.Finish()
	fmt.Println(counts)
	// Output:
	// map[3:0.5 4:1.5 6:0.5 8:1 9:0.5]
}

// Worked: on the published curve (750 cycles at 50 % depth, 225 at 80 %) a year of 50 %
// each day is 365/750 = 0.487 of a life. With 7 years by time: 1/(0.487 + 1/7) = 1.59
// years where both add up, 1/0.487 = 2.05 by cycles alone.
func ExampleLifeYears() {
	wear := battery.NewWear(battery.DefaultsOf(battery.Flooded).CycleLife)
	wear.Add(100)
	for range 365 {
		wear.Add(50)
		wear.Add(100)
	}
	wear.Finish()
	low, high := battery.LifeYears(wear.Damage, 1, plain.CalendarYears(25))
	fmt.Printf("%.0f cycles, %.3f of a life: %.2f to %.2f years\n", wear.Cycles, wear.Damage, low, high)
	// Output:
	// 365 cycles, 0.487 of a life: 1.59 to 2.05 years
}

// Published: SOURCES.md, row cycle life: 225 cycles at 80 % depth, 750 at 50 %. Worked: straight in
// logarithms, slope ln(225/750)/ln(80/50) = −2.5616; at 65 % 750 · 1.3^−2.5616 = 383.
func ExampleCyclesToEnd() {
	life := battery.DefaultsOf(battery.Flooded).CycleLife
	for _, depthPct := range []float64{50, 65, 80} {
		fmt.Printf("%.0f %%: %.0f cycles\n", depthPct, battery.CyclesToEnd(life, depthPct))
	}
	// Output:
	// 50 %: 750 cycles
	// 65 %: 383 cycles
	// 80 %: 225 cycles
}

// Published: SOURCES.md, row cycle life: service life 10, 7 and 5 years at 20, 25 and
// 30 °C. Colder air keeps the first; at 35 °C the last line gives 3, and at 50 °C the least, 1.
func ExampleBank_CalendarYears() {
	for _, airC := range []float64{5, 20, 25, 30, 35, 50} {
		fmt.Printf("%.0f ", plain.CalendarYears(airC))
	}
	fmt.Println()
	// Output:
	// 10 10 7 5 3 1
}

// Published: SOURCES.md, discharge_rates_agm.csv: amps that empty a 55 Ah block to 1.80 V a
// cell in 1, 5 and 20 h. Worked: three numbers fit
// three rows and leave nothing over. Regression: the numbers.
func ExampleFitRates() {
	fit, err := battery.FitRates([]battery.Rate{
		{Hours: 1, AmpHours: 27.6}, {Hours: 5, AmpHours: 5 * 8.87}, {Hours: 20, AmpHours: 20 * 2.77}})
	fmt.Printf("%.1f Ah, share %.2f, %.1f per h, rms %.1f Ah, %v\n",
		fit.FullAh, fit.AtHandShare, fit.SettlePerH, fit.RMSAh, err)
	// Output:
	// 60.5 Ah, share 0.34, 1.1 per h, rms 0.0 Ah, <nil>
}

// Worked, with the published fit (0.3195, 1.350 per h): an hour costs (0.7408 + 0.3195 ·
// 0.6092)/1.35 = 0.6929 at hand for each unit drawn, 0.3195/0.6929 = 0.461; twenty hours
// (1 + 0.3195 · 26)/27 = 0.3447, 0.927. Of 60.09 Ah that is 27.7 and 55.7, the data
// sheet's 27.6 and 55.4. A plain store yields all.
func ExampleYieldShare() {
	for _, hours := range []float64{1, 20} {
		fmt.Printf("%2.0f h: %.3f\n", hours, battery.YieldShare(0.3195, 1.350, hours))
	}
	fmt.Printf("%.3f\n", battery.YieldShare(1, 1.350, 1))
	// Output:
	//  1 h: 0.461
	// 20 h: 0.927
	// 1.000
}

// Published: Jongerden et al., DSN 2009 (SOURCES.md, two_well_lifetimes.csv, from
// memory): 5.5 A·min lasts 4.53 min at 0.25 A, 10.80 with as long a rest after each
// minute. An hour stands here for their minute.
func ExampleRundown() {
	steady, err := battery.Rundown(5.5, 0.166, 0.122, []battery.Current{{Amps: 0.25, Hours: 1}})
	fmt.Printf("%.1f %v\n", steady, err)
	rests, err := battery.Rundown(5.5, 0.166, 0.122, []battery.Current{{Amps: 0.25, Hours: 1}, {Amps: 0, Hours: 1}})
	fmt.Printf("%.1f %v\n", rests, err)
	// Output:
	// 4.5 <nil>
	// 10.8 <nil>
}

// Worked by the formula of EN/IEC 62485-2 (SOURCES.md, row ventilation), for 24 cells of
// 1000 Ah in boost, flooded and agm: 0.05 · 24 · 20 · 1000/1000 = 24 m³/h, · 28 = 672 cm²; at 8
// for 20, 9.6 and 268.8. Regression: the messages.
func ExampleVentilationM3H() {
	for _, kind := range []battery.Kind{battery.Flooded, battery.AGM, battery.Lithium} {
		airM3H, openingCM2, err := battery.VentilationM3H(kind, battery.Boost, 24, 1000)
		fmt.Printf("%.1f m³/h, %.1f cm² %v\n", airM3H, openingCM2, err)
	}
	_, _, err := battery.VentilationM3H(battery.Gel, battery.Float, 0, 1000)
	fmt.Println(err)
	// Output:
	// 24.0 m³/h, 672.0 cm² <nil>
	// 9.6 m³/h, 268.8 cm² <nil>
	// 0.0 m³/h, 0.0 cm² a lithium bank does not gas in boost
	// cells and amp-hours must be more than 0, got 0 and 1000
}

// Published: SOURCES.md, row freezing: gravity 1.190 at 50 % of charge. Regression: the message.
func ExampleChargeOfGravity() {
	pct, err := battery.ChargeOfGravity(battery.Flooded, 1.190)
	fmt.Printf("%.0f %% %v\n", pct, err)
	_, err = battery.ChargeOfGravity(battery.Flooded, 1.5)
	fmt.Println(err)
	// Output:
	// 50 % <nil>
	// must be 1.05 to 1.32, got 1.5
}

// Published: SOURCES.md, row freezing: full, at 1.265, −59 °C. Worked: half full is 1.190,
// four fifths of the way from 1.150 (−15 °C) to 1.200 (−27 °C); a quarter full 1.155, a tenth of
// that way; empty 1.120, two fifths of the way from −8 °C to −15.
func ExampleFreezesAtC() {
	for _, chargePct := range []float64{100, 50, 25, 0} {
		fmt.Printf("%.1f ", battery.FreezesAtC(chargePct))
	}
	fmt.Println()
	// Output:
	// -59.0 -24.6 -16.2 -10.8
}

// Published: a data sheet of an AGM block (SOURCES.md, battery_temperature.csv): 86 % at
// 0 °C of what there is at 25 °C. Worked: against 20 °C it is 86/97.2 = 0.885.
func ExampleCapacityPct() {
	fmt.Printf("%.0f %% of 25 °C, %.3f of 20 °C\n", battery.CapacityPct(0), battery.CapacityFactor(0))
	// Output:
	// 86 % of 25 °C, 0.885 of 20 °C
}

// Published: R. Vader, Energy Unlimited, 2.5.10 (SOURCES.md, self_discharge.csv): 12 % a
// month at 20 °C, 6 % at 10 °C.
func ExampleSelfDischargeAt() {
	fmt.Printf("%.2f\n", battery.SelfDischargeAt(0.12, 10))
	// Output:
	// 0.06
}

// Published: IEEE 485 (SOURCES.md, row cell size): 1.30, 1.19, 1.11, 1.00 and 0.94 at 40, 50,
// 60, 77 and 90 °F.
func ExampleCellSizeFactor() {
	for _, airF := range []float64{40, 50, 60, 77, 90} {
		fmt.Printf("%.2f ", battery.CellSizeFactor((airF-32)/1.8))
	}
	fmt.Println()
	// Output:
	// 1.30 1.19 1.11 1.00 0.94
}

// Published: SOURCES.md, row sizing examples: 2544 W at 4000 ft ask for 2891 W.
func ExampleAltitudeShare() {
	fmt.Printf("%.0f W\n", 2544/battery.AltitudeShare(4000*0.3048))
	// Output:
	// 2891 W
}
