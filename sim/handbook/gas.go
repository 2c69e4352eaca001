package handbook

import (
	"errors"
	"fmt"
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

func fuel(in *inputs) working {
	kw := in.number(needed, "kw", "power of the set, kW", 0.01, 100)
	loadPct := in.number(or("100"), "load-pct", "share of it, %", 0, 100)
	moisturePct := in.number(or("15"), "moisture-pct", "moisture, wet basis, %", 0, 45)
	hopperLitres := in.number(or("60"), "hopper-litres", "the hopper", 0, 1e5)
	idleKgH := in.optional(maybe, "wood-idle-kg-h", "oven-dry wood at no load, kg/h; with wood-per-kwh-kg", 0, 1000)
	perKWhKg := in.optional(maybe, "wood-per-kwh-kg", "oven-dry wood for each kWh on top", 0, 1000)
	dryMJKg := heatOfDryWood(in)
	return func() ([]Result, error) {
		wet := moisturePct / 100
		idle, perKWh := genset.DefaultLine(kw, dryMJKg, wet)
		switch {
		case idleKgH != nil && perKWhKg != nil:
			idle, perKWh = *idleKgH, *perKWhKg
		case idleKgH != nil:
			return nil, errors.New("needs --wood-per-kwh-kg")
		case perKWhKg != nil:
			return nil, errors.New("needs --wood-idle-kg-h")
		}
		dryKgH := idle + perKWh*kw*loadPct/100
		asIs := dryKgH / (1 - wet)
		lasts := Result{"hopper_hours", "a hopper lasts", "h", 1, nil}
		if asIs > 0 {
			m3 := hopperLitres / 1000
			lasts.Value = Range{m3 * leastBulkKgM3 / asIs, m3 * mostBulkKgM3 / asIs}
		}
		return []Result{{"dry_kg_h", "oven-dry", "kg/h", 3, dryKgH},
			{"as_is_kg_h", "as it lies", "kg/h", 3, asIs}, lasts}, nil
	}
}

func gas(in *inputs) working {
	coPct := in.number(needed, "co-pct", "carbon monoxide, % of the dry gas", 0, 100)
	h2Pct := in.number(needed, "h2-pct", "hydrogen, %", 0, 100)
	ch4Pct := in.number(needed, "ch4-pct", "methane, %", 0, 100)
	return func() ([]Result, error) {
		g := genset.Gas{CO: coPct / 100, H2: h2Pct / 100, CH4: ch4Pct / 100}
		const rounding = 1e-9
		if all := g.CO + g.H2 + g.CH4; all > 1+rounding {
			return nil, fmt.Errorf("--co-pct, --h2-pct and --ch4-pct must be 100 at most together, got %.6g", 100*all)
		}
		return []Result{
			{"net_mj_nm3", "net", "MJ/Nm³", 3, g.NetMJNm3()}, {"gross_mj_nm3", "gross", "MJ/Nm³", 3, g.GrossMJNm3()},
			{"air_per_gas", "air", "m³/m³", 3, g.AirPerGas()},
			{"mixture_mj_nm3", "mixture", "MJ/Nm³", 3, g.MixtureMJNm3()}}, nil
	}
}

func producer(in *inputs) working {
	moisturePct := in.number(needed, "moisture-pct", "moisture, wet basis, %", 0, 100*genset.MostMoisture)
	reactorC := in.number(or("800"), "reactor-c", "reactor, °C", genset.LeastReactorC, genset.MostReactorC)
	dryMJKg := in.number(or("18.5"), "dry-mj-kg", "net heat of oven-dry wood, MJ/kg",
		genset.LeastDryMJKg, genset.MostDryMJKg)
	return func() ([]Result, error) {
		p, err := genset.Feed{Moisture: moisturePct / 100, DryMJKg: dryMJKg, ReactorC: reactorC}.Gasify()
		if err != nil {
			return nil, err
		}
		g := p.Gas
		results := []Result{{"co_pct", "CO", "%", 2, 100 * g.CO}, {"h2_pct", "H2", "%", 2, 100 * g.H2},
			{"ch4_pct", "CH4", "%", 2, 100 * g.CH4}, {"co2_pct", "CO2", "%", 2, 100 * g.CO2},
			{"n2_pct", "N2", "% of the dry gas", 2, 100 * g.N2}, {"net_mj_nm3", "net", "MJ/Nm³", 3, g.NetMJNm3()},
			{"equivalence_ratio", "equivalence ratio", "", 3, p.EquivalenceRatio},
			{"gas_nm3_per_dry_kg", "gas", "Nm³ for each oven-dry kg", 3, p.GasNm3PerDryKg},
			{"cold_gas_pct", "cold gas efficiency", "%", 1, 100 * p.ColdGas}}
		if reactorC < genset.CharBelowC {
			const warning = "below 725 °C real gas would leave char, and this model does not"
			results = append(results, Result{"warning", "warning:", "", 0, warning})
		}
		return results, nil
	}
}

func engine(in *inputs) working {
	cc := in.number(needed, "cc", "displacement, cm³", 1, 20000)
	rpm := in.number(needed, "rpm", "turns a minute", 1, 10000)
	volumetricPct := in.number(or("80"), "volumetric-pct", "volumetric efficiency, %", 1, 100)
	airPerGas := in.number(or("1.1"), "air-per-gas", "air, m³/m³", 0.1, 10)
	gasMJM3 := in.number(or("4.8"), "gas-mj-m3", "heat of the gas, MJ/m³", 0.1, 40)
	enginePct := in.number(or("28"), "engine-pct", "engine, %", 1, 60)
	alternatorPct := in.number(or("80"), "alternator-pct", "alternator, %", 1, 100)
	gasifierPct := in.number(or("70"), "gasifier-pct", "gasifier, %", 1, 100)
	woodMJKg := in.number(or("17"), "wood-mj-kg", "heat of wood as it lies, MJ/kg", 1, 22)
	hearthLoad := in.number(or("0.9"), "hearth-load", "m³ of gas by the hour and cm² of throat", 0.01, 10)
	return func() ([]Result, error) {
		r := genset.Chain{DisplacementCC: cc, RPM: rpm, VolumetricEfficiency: volumetricPct / 100,
			AirPerGas: airPerGas, GasMJM3: gasMJM3, EngineEfficiency: enginePct / 100,
			AlternatorEfficiency: alternatorPct / 100, GasifierEfficiency: gasifierPct / 100,
			WoodMJKg: woodMJKg, HearthLoad: hearthLoad}.Result()
		return []Result{{"gas_m3_h", "gas", "m³/h", 1, r.GasM3H}, {"gas_kw", "gas", "kW", 2, r.GasKW},
			{"shaft_kw", "shaft", "kW", 2, r.ShaftKW}, {"electric_kw", "electric", "kW", 2, r.ElectricKW},
			{"wood_as_is_kg_h", "wood as it lies", "kg/h", 2, r.WoodAsIsKgH},
			{"wood_as_is_kg_per_kwh", "or", "kg/kWh", 3, r.WoodAsIsKgPerKWh},
			{"throat_cm2", "throat", "cm²", 1, r.ThroatCM2}, {"throat_mm", "or", "mm across", 0, r.ThroatMM}}, nil
	}
}

func derate(in *inputs) working {
	altitudeM := in.number(needed, "altitude-m", "altitude, m", -430, 6000)
	airC := in.number(needed, "air-c", "air, °C", -40, 60)
	return func() ([]Result, error) {
		factor := genset.PowerFactor(altitudeM, airC)
		return []Result{{"pressure_pa", "pressure", "Pa", 0, place.PressurePa(altitudeM)},
			{"power_factor", "power factor", "against 990 mbar and 25 °C", 4, factor}}, nil
	}
}

func cooler(in *inputs) working {
	gasC := in.number(needed, "gas-c", "gas at the mixer, °C", 0, 200)
	ratedGasC := in.number(or("21"), "rated-gas-c", "the same when the power was found", 0, 200)
	airC := in.number(or("20"), "air-c", "air, °C", -40, 60)
	airPerGas := in.number(or("1.1"), "air-per-gas", "air, m³/m³", 0.1, 10)
	moisturePct := in.number(or("15"), "moisture-pct", "moisture, wet basis, %", 0, 100*genset.MostMoisture)
	return func() ([]Result, error) {
		usual := genset.Feed{Moisture: moisturePct / 100, DryMJKg: 18.5, ReactorC: genset.UsualReactorC}
		p, err := usual.Gasify()
		if err != nil {
			return nil, err
		}
		factor := genset.CoolerFactor(gasC, ratedGasC, airC, airPerGas)
		return []Result{{"power_factor", "power factor", "", 4, factor},
			{"condensate_l_per_dry_kg", "condensate", "l for each oven-dry kg", 3, p.CondensateLPerDryKg(gasC)}}, nil
	}
}

func daylight(in *inputs) working {
	latitude := in.number(needed, "latitude", "north is positive, °", -90, 90)
	text := word[string](in, needed, "date", "like 2025-03-01")
	return func() ([]Result, error) {
		date, err := calendar.ParseDate(text)
		if err != nil {
			return nil, fmt.Errorf("--date: %w", err)
		}
		day := place.Daylight(latitude, date, place.RiseDeg)
		var rise, set any // none where the sun stays up or down
		if day.Hours > 0 && day.Hours < 24 {
			rise, set = calendar.Clock(int(math.Round(day.Sunrise))), calendar.Clock(int(math.Round(day.Sunset)))
		}
		return []Result{{"hours", "day", "h", 2, day.Hours},
			{"hours_geometric", "geometric", "h", 2, place.Daylight(latitude, date, place.GeometricDeg).Hours},
			{"sunrise", "sunrise", "", 0, rise}, {"sunset", "sunset (solar time)", "", 0, set}}, nil
	}
}

func char(in *inputs) working {
	charKg := in.number(needed, "char-kg", "char, kg", 0, 1e9)
	return func() ([]Result, error) {
		c := genset.CharOf(charKg)
		low, high := c.KeptRange()
		return []Result{{"carbon_kg", "carbon", "kg", 1, c.CarbonKg},
			{"kept_co2_kg", "keeps", "kg CO2 out of the air", 1, c.KeptCO2Kg},
			{"low", "at least", "kg", 1, low}, {"high", "at most", "kg", 1, high}}, nil
	}
}
