package genset_test

import (
	"fmt"

	"twigwatt/sim/curve"
	"twigwatt/sim/genset"
)

// Worked, on steps of half an hour with a light-up of 20 minutes: the first step
// gives power for 10/30 of it; 1.5 + 1 · 1/3 · 0.5 + 2 · 0.9 · 0.5 = 2.567 kg. The
// second is ready throughout: (1 + 2 · 3) · 0.5 = 3.5 kg, or 7 kg/h.
func ExampleSet() {
	set := genset.Set{KW: 3, LeastKW: 1, LightUpMinutes: 20, LightUpKg: 1.5, Line: genset.StraightLine(1, 2, 3)}
	ready := set.Ready(30, 30)
	fmt.Printf("ready for %.2f of the first step: %.3f kg\n", ready, set.LightUpKg+set.BurnedKg(ready, 0.9, 0.5))
	ready = set.Ready(60, 30)
	fmt.Printf("ready for %.2f of the second: %.3f kg\n", ready, set.BurnedKg(ready, 3, 0.5))
	fmt.Printf("%.1f kg/h at full power\n", set.FullKgH())
	// Output:
	// ready for 0.33 of the first step: 2.567 kg
	// ready for 1.00 of the second: 3.500 kg
	// 7.0 kg/h at full power
}

// A measured wood curve is checked before it is used. Regression: the message.
func ExampleCheckLine() {
	fmt.Println(genset.CheckLine(curve.Curve{{X: 0.5, Y: 1.6}, {X: 1.5, Y: 2.4}, {X: 2.5, Y: 3.6}}))
	fmt.Println(genset.CheckLine(curve.Curve{{X: 0.5, Y: 1.6}, {X: 1.5, Y: 1.4}}))
	// Output:
	// <nil>
	// wood must not fall as power rises, got 1.4 kg/h at 1.5 kW after 1.6 kg/h at 0.5 kW
}

// Worked: 18.5 − 2.443 · 0.15/0.85 = 18.069 MJ of net heat in an oven-dry kg; 18.069 · 0.70 · 0.24
// · 0.85 = 2.580 MJ of it becomes electricity; 3.6/2.580 = 1.395 kg/kWh, of which 28 % is the
// no-load rate. Plausible against the published 1.4 kg/kWh of Stassen 1995.
func ExampleDefaultLine() {
	const kw = 2.6
	idleKgH, perKWhKg := genset.DefaultLine(kw, 18.5, 0.15)
	fullKgPerKWh := (idleKgH + perKWhKg*kw) / kw
	fmt.Printf("%.3f kg/kWh oven-dry at full power, %.0f %% of it at no load\n", fullKgPerKWh, 100*idleKgH/(fullKgPerKWh*kw))
	// Output:
	// 1.395 kg/kWh oven-dry at full power, 28 % of it at no load
}

// Worked: 19.0 − 2.443 · 0.2/0.8 = 18.389 MJ for each oven-dry kg, times 0.8 as it
// lies. Published: 14.72 MJ/kg, within 0.03 (SOURCES.md, wood_heat.csv).
func ExampleNetHeatPerDryKg() {
	perDryKg := genset.NetHeatPerDryKg(19.0, 0.20)
	fmt.Printf("%.2f MJ for each oven-dry kg, %.2f as it lies\n", perDryKg, perDryKg*(1-0.20))
	// Output:
	// 18.39 MJ for each oven-dry kg, 14.71 as it lies
}

// Published: the measured mix of SOURCES.md, producer_gas.csv: 4.788 MJ/Nm³, 1.000 of
// air for each of gas, 2.394 MJ/Nm³ of mixture.
func ExampleGas() {
	gas := genset.Gas{CO: 0.19, H2: 0.18, CH4: 0.0125, CO2: 0.12, N2: 0.4725}
	fmt.Printf("%.3f MJ/Nm³ net, %.3f of air, %.3f MJ/Nm³ of mixture\n", gas.NetMJNm3(), gas.AirPerGas(), gas.MixtureMJNm3())
	// Output:
	// 4.788 MJ/Nm³ net, 1.000 of air, 2.394 MJ/Nm³ of mixture
}

// Published: Zainal et al. 2001 (SOURCES.md, producer_gas.csv, from memory): CO 19.61,
// H2 21.06, CO2 12.01 %, each to be met within 1.0, 1.0 and 0.5; methane is 0.20 with
// the exact factor. Regression: the digits printed here.
func ExampleFeed_Gasify() {
	p, err := genset.Feed{Moisture: 0.20, DryMJKg: 18.5, ReactorC: genset.UsualReactorC}.Gasify()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("CO %.1f, H2 %.1f, CH4 %.1f, CO2 %.1f %%\n", 100*p.Gas.CO, 100*p.Gas.H2, 100*p.Gas.CH4, 100*p.Gas.CO2)
	fmt.Printf("%.2f Nm³ and %.1f MJ for each oven-dry kg\n", p.GasNm3PerDryKg, p.MJPerDryKg())
	// Output:
	// CO 19.9, H2 21.7, CH4 0.2, CO2 12.3 %
	// 2.88 Nm³ and 14.2 MJ for each oven-dry kg
}

// Wood outside the model's range is refused. Regression: the message.
func ExampleFeed_CheckRange() {
	fmt.Println(genset.Feed{Moisture: 0.50, DryMJKg: 18.5, ReactorC: genset.UsualReactorC}.CheckRange())
	// Output:
	// moisture must be 0 to 45 %, got 50
}

// The colder the gas leaves the cooler, the more of its steam it leaves behind; at
// more than 100 °C none. Regression: the litres.
func ExampleProducer_CondensateLPerDryKg() {
	p, err := genset.Feed{Moisture: 0.30, DryMJKg: 18.5, ReactorC: genset.UsualReactorC}.Gasify()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, gasC := range []float64{20, 45, 120} {
		fmt.Printf("%3.0f °C: %.2f l\n", gasC, p.CondensateLPerDryKg(gasC))
	}
	// Output:
	//  20 °C: 0.38 l
	//  45 °C: 0.18 l
	// 120 °C: 0.00 l
}

// A set rated on wood of 15 % gives less on wetter wood, and no more than its rated power on drier.
// Worked: at the rated moisture both factors are 1. Regression: the others.
func ExampleNewFactors() {
	f, err := genset.NewFactors(0.15, 18.5, genset.CondensesC)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, moisture := range []float64{0.05, 0.15, 0.30} {
		fmt.Printf("%2.0f %%: power %.2f, heat %.2f, condensate %.2f l/kg\n",
			100*moisture, f.Power(moisture), f.Heat(moisture), f.CondensateL(moisture))
	}
	// Output:
	//  5 %: power 1.00, heat 1.04, condensate 0.08 l/kg
	// 15 %: power 1.00, heat 1.00, condensate 0.16 l/kg
	// 30 %: power 0.91, heat 0.91, condensate 0.38 l/kg
}

// Published: FAO Forestry Paper 72, Appendix 1 and 2 (engine_chain.csv): 22.85 kW at
// the shaft, 18.3 kW, 24.7 kg/h, 1.35 kg/kWh, a throat of 9.3 cm; the paper rounds as
// it goes, by less than 0.5 %. Worked: 3560 cm³ at 1500 rpm draw 128.16 m³/h at 0.8;
// /2.1 is 61.03 m³/h of gas, · 4.8/3.6 is 81.37 kW, · 0.28 is 22.78, · 0.8 is 18.23;
// 81.37 · 3.6/(0.70 · 17) is 24.62 kg/h; 61.03/0.9 is 67.81 cm², 92.9 mm across.
func ExampleStandardChain() {
	r := genset.StandardChain(3560, 1500).Result()
	fmt.Printf("%.1f kW at the shaft, %.1f kW of electricity\n", r.ShaftKW, r.ElectricKW)
	fmt.Printf("%.1f kg/h of wood, %.2f kg/kWh, a throat of %.0f mm\n", r.WoodAsIsKgH, r.WoodAsIsKgPerKWh, r.ThroatMM)
	// Output:
	// 22.8 kW at the shaft, 18.2 kW of electricity
	// 24.6 kg/h of wood, 1.35 kg/kWh, a throat of 93 mm
}

// Worked: a litre at 3000 rpm draws 1e-3 · 1500 · 60 · 0.85 = 76.5 m³/h; /2.0 · 5/3.6 =
// 53.125 kW of gas; · 0.25 · 0.8 = 10.6 kW.
func ExampleChain() {
	chain := genset.StandardChain(1000, 3000)
	chain.VolumetricEfficiency, chain.AirPerGas, chain.GasMJM3, chain.EngineEfficiency = 0.85, 1.0, 5, 0.25
	fmt.Printf("%.1f kW\n", chain.Result().ElectricKW)
	// Output:
	// 10.6 kW
}

// Published: SAE J1349 (1990) gives 0.893 at 898.746 mbar, which ISO 2533 has at
// 1000 m, and 25 °C. Regression: the other air.
func ExamplePowerFactor() {
	fmt.Printf("%.2f at 25 °C, %.2f at 0 °C\n", genset.PowerFactor(1000, 25), genset.PowerFactor(1000, 0))
	// Output:
	// 0.89 at 25 °C, 0.94 at 0 °C
}

// Worked: gas 10 °F above a rated 21 °C, air of 20 °C, 1.1 of it for each of gas:
// (294.15 + 1.1 · 293.15)/(299.71 + 1.1 · 293.15) = 0.991. Published: about 1 % of
// power for each 10 °F (FEMA/ORNL-6404, section 2).
func ExampleCoolerFactor() {
	const tenF = 10.0 / 1.8
	fmt.Printf("%.3f, at the rated temperature %g\n",
		genset.CoolerFactor(21+tenF, 21, 20, genset.UsualAirPerGas), genset.CoolerFactor(21, 21, 5, 1.1))
	// Output:
	// 0.991, at the rated temperature 1
}

// Published: IPCC 2019 Refinement: 100 kg of char keep 169.7 kg of CO2. Worked: 100 ·
// 0.52 = 52 kg of carbon; √(0.52² + 0.13²) = 0.536, so 169.7 · (1 ∓ 0.536).
func ExampleCharOf() {
	char := genset.CharOf(100)
	low, high := char.KeptRange()
	fmt.Printf("%.0f kg of carbon keep %.1f kg of CO2, %.0f to %.0f\n", char.CarbonKg, char.KeptCO2Kg, low, high)
	// Output:
	// 52 kg of carbon keep 169.7 kg of CO2, 79 to 261
}
