package main

import (
	"math"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
)

// Bulk density of chunks in a hopper, kg/m³ as they lie.
//
// Source: FEMA/ORNL-6404 (1989) section 3.1.
const (
	leastBulkKgM3 = 297.0
	mostBulkKgM3  = 356.0
)

// gasSums are the sums of gas, engine, place and char.
func gasSums() []sum {
	gas := []int{cautionGas}
	return []sum{{
		name: "fuel", usage: "wood by the hour, and how long a hopper lasts",
		source:   "gasifier 0.70 and turn-down, FAO 72; engine 0.24, Homdoung et al. 2015; alternator 0.85, common practice; no-load share 0.28, Jorapur & Rajvanshi 1995; bulk 297 to 356 kg/m³, FEMA/ORNL-6404",
		cautions: []int{cautionGas, cautionHop},
		inputs: []input{number("kw", "power of the set, kW", 0.01, 100),
			number("load-pct", "share of it, %", 0, 100).or("100"), number("moisture-pct", "moisture, wet basis, %", 0, 45).or("15"),
			number("hopper-litres", "the hopper", 0, 1e5).or("60"),
			number("wood-idle-kg-h", "oven-dry wood at no load, kg/h; with wood-per-kwh-kg", 0, 1000),
			number("wood-per-kwh-kg", "oven-dry wood for each kWh on top", 0, 1000),
			number("dry-mj-kg", "net heat of oven-dry wood, MJ/kg", 15, 22).or("18.5")},
		work: fuelSum,
	}, {
		name: "gas", usage: "heat, air need and mixture of a gas",
		source:   "ISO 6976:2016, 25 °C, volumes at 0 °C and 101.325 kPa; air with 21 % oxygen",
		cautions: gas,
		inputs: []input{number("co-pct", "carbon monoxide, % of the dry gas", 0, 100),
			number("h2-pct", "hydrogen, %", 0, 100), number("ch4-pct", "methane, %", 0, 100)},
		work: gasSum,
	}, {
		name: "producer", usage: "the gas of a wood at equilibrium",
		source:   "Zainal et al. 2001, Energy Conversion and Management 42:1499, with the exact total-mole factor; no loss, tar or char, so an upper bound",
		cautions: gas,
		inputs: []input{number("moisture-pct", "moisture, wet basis, %", 0, 100*genset.MostMoisture),
			number("reactor-c", "reactor, °C", genset.LeastReactorC, genset.MostReactorC).or("800"),
			number("dry-mj-kg", "net heat of oven-dry wood, MJ/kg", genset.LeastDryMJKg, genset.MostDryMJKg).or("18.5")},
		work: producerSum,
	}, {
		name: "engine", usage: "from displacement to power and wood",
		source: "FAO Forestry Paper 72 (1986), Appendix 1 and 2", cautions: []int{cautionGas, cautionHop},
		inputs: []input{number("cc", "displacement, cm³", 1, 20000), number("rpm", "turns a minute", 1, 10000),
			number("volumetric-pct", "volumetric efficiency, %", 1, 100).or("80"),
			number("air-per-gas", "air, m³/m³", 0.1, 10).or("1.1"),
			number("gas-mj-m3", "heat of the gas, MJ/m³", 0.1, 40).or("4.8"), number("engine-pct", "engine, %", 1, 60).or("28"),
			number("alternator-pct", "alternator, %", 1, 100).or("80"),
			number("gasifier-pct", "gasifier, %", 1, 100).or("70"),
			number("wood-mj-kg", "heat of wood as it lies, MJ/kg", 1, 22).or("17"),
			number("hearth-load", "m³ of gas by the hour and cm² of throat", 0.01, 10).or("0.9")},
		work: engineSum,
	}, {
		name: "derate", usage: "power by altitude and air", source: "SAE J1349 (1990), pressure of ISO 2533 taken as dry", cautions: gas,
		inputs: []input{number("altitude-m", "altitude, m", -430, 6000), number("air-c", "air, °C", -40, 60)},
		work:   derateSum,
	}, {
		name: "cooler", usage: "power and condensate by the gas's temperature",
		source:   "density of the mixture (check: FEMA/ORNL-6404 section 2, 1 % for each 10 °F); water of the equilibrium gas at 800 °C beyond saturation, Tetens' formula",
		cautions: []int{cautionGas, cautionWood},
		inputs: []input{number("gas-c", "gas at the mixer, °C", 0, 200),
			number("rated-gas-c", "the same when the power was found", 0, 200).or("21"), number("air-c", "air, °C", -40, 60).or("20"),
			number("air-per-gas", "air, m³/m³", 0.1, 10).or("1.1"),
			number("moisture-pct", "moisture, wet basis, %", 0, 100*genset.MostMoisture).or("15")},
		work: coolerSum,
	}, {
		name: "daylight", usage: "the sun's day", source: "FAO-56 (Allen et al. 1998), equations 24, 25 and 34; the sun's centre at −0.833° (upper limb with refraction), and at 0° on a flat horizon",
		inputs: []input{number("latitude", "north is positive, °", -90, 90), text("date", "like 2025-03-01")},
		work:   daylightSum,
	}, {
		name: "char", usage: "the carbon in char, and what it keeps out of the air",
		source:   "IPCC 2019 Refinement, vol. 4 ch. 2 app. 4: 0.52 (±52 %) carbon, 0.89 (±13 %) left after a hundred years",
		cautions: []int{cautionAsh},
		inputs:   []input{number("char-kg", "char, kg", 0, 1e9)},
		work:     charSum,
	}}
}

func gasSum(in given) ([]result, error) {
	if err := in.need("co-pct", "h2-pct", "ch4-pct"); err != nil {
		return nil, err
	}
	g := genset.Gas{CO: in.numbers["co-pct"] / 100, H2: in.numbers["h2-pct"] / 100, CH4: in.numbers["ch4-pct"] / 100}
	const rounding = 1e-9
	if all := g.CO + g.H2 + g.CH4; all > 1+rounding {
		return nil, usagef("--co-pct, --h2-pct and --ch4-pct must be 100 at most together, got %.6g", 100*all)
	}
	return []result{figure("net_mj_nm3", "net", "MJ/Nm³", 3, g.NetMJNm3()),
		figure("gross_mj_nm3", "gross", "MJ/Nm³", 3, g.GrossMJNm3()),
		figure("air_per_gas", "air", "m³/m³", 3, g.AirPerGas()),
		figure("mixture_mj_nm3", "mixture", "MJ/Nm³", 3, g.MixtureMJNm3())}, nil
}

func derateSum(in given) ([]result, error) {
	if err := in.need("altitude-m", "air-c"); err != nil {
		return nil, err
	}
	altitude := in.numbers["altitude-m"]
	return []result{figure("pressure_pa", "pressure", "Pa", 0, place.PressurePa(altitude)),
		figure("power_factor", "power factor", "against 990 mbar and 25 °C", 4, genset.PowerFactor(altitude, in.numbers["air-c"]))}, nil
}

func coolerSum(in given) ([]result, error) {
	if err := in.need("gas-c"); err != nil {
		return nil, err
	}
	const usualMJKg = 18.5
	p, err := genset.Feed{Moisture: in.numbers["moisture-pct"] / 100, DryMJKg: usualMJKg, ReactorC: genset.UsualReactorC}.Gasify()
	if err != nil {
		return nil, err
	}
	return []result{figure("power_factor", "power factor", "", 4,
		genset.CoolerFactor(in.numbers["gas-c"], in.numbers["rated-gas-c"], in.numbers["air-c"], in.numbers["air-per-gas"])),
		figure("condensate_l_per_dry_kg", "condensate", "l for each oven-dry kg", 3, p.CondensateLPerDryKg(in.numbers["gas-c"]))}, nil
}

func charSum(in given) ([]result, error) {
	if err := in.need("char-kg"); err != nil {
		return nil, err
	}
	c := genset.CharOf(in.numbers["char-kg"])
	low, high := c.KeptRange()
	return []result{figure("carbon_kg", "carbon", "kg", 1, c.CarbonKg),
		figure("kept_co2_kg", "keeps", "kg CO2 out of the air", 1, c.KeptCO2Kg),
		figure("low", "at least", "kg", 1, low), figure("high", "at most", "kg", 1, high)}, nil
}

func fuelSum(in given) ([]result, error) {
	if err := in.need("kw"); err != nil {
		return nil, err
	}
	kw, moisture := in.numbers["kw"], in.numbers["moisture-pct"]/100
	idle, perKWh := genset.DefaultLine(kw, in.numbers["dry-mj-kg"], moisture)
	if in.has("wood-idle-kg-h") || in.has("wood-per-kwh-kg") {
		if err := in.need("wood-idle-kg-h", "wood-per-kwh-kg"); err != nil {
			return nil, err
		}
		idle, perKWh = in.numbers["wood-idle-kg-h"], in.numbers["wood-per-kwh-kg"]
	}
	dry := idle + perKWh*kw*in.numbers["load-pct"]/100
	asIs := dry / (1 - moisture)
	hopper := func(bulk float64) float64 { return in.numbers["hopper-litres"] / 1000 * bulk / asIs }
	lasts := figure("hopper_hours", "a hopper lasts", "h", 1, hopper(leastBulkKgM3))
	lasts.isRange, lasts.high = true, hopper(mostBulkKgM3)
	if asIs == 0 {
		lasts = result{key: "hopper_hours", label: "a hopper lasts", none: true}
	}
	return []result{figure("dry_kg_h", "oven-dry", "kg/h", 3, dry), figure("as_is_kg_h", "as it lies", "kg/h", 3, asIs), lasts}, nil
}

func producerSum(in given) ([]result, error) {
	if err := in.need("moisture-pct"); err != nil {
		return nil, err
	}
	w := genset.Feed{Moisture: in.numbers["moisture-pct"] / 100, DryMJKg: in.numbers["dry-mj-kg"], ReactorC: in.numbers["reactor-c"]}
	p, err := w.Gasify()
	if err != nil {
		return nil, err
	}
	g := p.Gas
	results := []result{figure("co_pct", "CO", "%", 2, 100*g.CO), figure("h2_pct", "H2", "%", 2, 100*g.H2),
		figure("ch4_pct", "CH4", "%", 2, 100*g.CH4),
		figure("co2_pct", "CO2", "%", 2, 100*g.CO2), figure("n2_pct", "N2", "% of the dry gas", 2, 100*g.N2),
		figure("net_mj_nm3", "net", "MJ/Nm³", 3, g.NetMJNm3()),
		figure("equivalence_ratio", "equivalence ratio", "", 3, p.EquivalenceRatio),
		figure("gas_nm3_per_dry_kg", "gas", "Nm³ for each oven-dry kg", 3, p.GasNm3PerDryKg),
		figure("cold_gas_pct", "cold gas efficiency", "%", 1, 100*p.ColdGas)}
	if w.ReactorC < genset.CharBelowC {
		results = append(results, word("warning", "warning:", "below 725 °C real gas would leave char, and this model does not"))
	}
	return results, nil
}

func engineSum(in given) ([]result, error) {
	if err := in.need("cc", "rpm"); err != nil {
		return nil, err
	}
	n := in.numbers
	r := genset.Chain{DisplacementCC: n["cc"], RPM: n["rpm"], VolumetricEfficiency: n["volumetric-pct"] / 100,
		AirPerGas: n["air-per-gas"], GasMJM3: n["gas-mj-m3"],
		EngineEfficiency: n["engine-pct"] / 100, AlternatorEfficiency: n["alternator-pct"] / 100,
		GasifierEfficiency: n["gasifier-pct"] / 100, WoodMJKg: n["wood-mj-kg"],
		HearthLoad: n["hearth-load"]}.Result()
	return []result{figure("gas_m3_h", "gas", "m³/h", 1, r.GasM3H), figure("gas_kw", "gas", "kW", 2, r.GasKW),
		figure("shaft_kw", "shaft", "kW", 2, r.ShaftKW),
		figure("electric_kw", "electric", "kW", 2, r.ElectricKW),
		figure("wood_as_is_kg_h", "wood as it lies", "kg/h", 2, r.WoodAsIsKgH),
		figure("wood_as_is_kg_per_kwh", "or", "kg/kWh", 3, r.WoodAsIsKgPerKWh),
		figure("throat_cm2", "throat", "cm²", 1, r.ThroatCM2), figure("throat_mm", "or", "mm across", 0, r.ThroatMM)}, nil
}

func daylightSum(in given) ([]result, error) {
	if err := in.need("latitude", "date"); err != nil {
		return nil, err
	}
	date, err := calendar.ParseDate(in.words["date"])
	if err != nil {
		return nil, usagef("--date: %s", err)
	}
	day := place.Daylight(in.numbers["latitude"], date, place.RiseDeg)
	rise, set := "", ""
	if day.Hours > 0 && day.Hours < 24 {
		rise, set = calendar.Clock(int(math.Round(day.Sunrise))), calendar.Clock(int(math.Round(day.Sunset)))
	}
	return []result{figure("hours", "day", "h", 2, day.Hours),
		figure("hours_geometric", "geometric", "h", 2, place.Daylight(in.numbers["latitude"], date, place.GeometricDeg).Hours),
		word("sunrise", "sunrise", rise), word("sunset", "sunset (solar time)", set)}, nil
}
