package handbook

import (
	"errors"
	"fmt"
	"strings"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/storage/woodpile"
)

const mjPerKWh = 3.6

func moisture(in *inputs) working {
	wetPct := in.optional(oneOf, "wet-pct", "moisture, wet basis, %", 0, 99)
	dryPct := in.optional(oneOf, "dry-pct", "moisture, dry basis, %", 0, 9900)
	asIsKg := in.optional(oneOf, "as-is-kg", "weight as it lies, kg; with oven-dry-kg", 0, 1e6)
	ovenDryKg := in.optional(maybe, "oven-dry-kg", "weight after the oven, kg", 1e-6, 1e6)
	return func() ([]Result, error) {
		var wet float64
		switch {
		case asIsKg == nil && ovenDryKg != nil:
			return nil, errors.New("--oven-dry-kg goes with --as-is-kg")
		case wetPct != nil:
			wet = *wetPct / 100
		case dryPct != nil:
			wet = woodpile.WetBasis(*dryPct / 100)
		case ovenDryKg == nil:
			return nil, errors.New("needs --oven-dry-kg")
		case *asIsKg < *ovenDryKg:
			return nil, fmt.Errorf("--as-is-kg (%g) must be at least --oven-dry-kg (%g)", *asIsKg, *ovenDryKg)
		default:
			wet = (*asIsKg - *ovenDryKg) / *asIsKg
		}
		return []Result{{"wet_basis_pct", "wet basis", "%", 2, 100 * wet},
			{"dry_basis_pct", "dry basis", "% (as wood meters read)", 2, 100 * woodpile.DryBasis(wet)}}, nil
	}
}

func emc(in *inputs) working {
	airC := in.number(needed, "air-c", "air, °C", -30, 130)
	humidityPct := in.number(needed, "humidity-pct", "relative humidity, %", 0, 100)
	return func() ([]Result, error) {
		u := woodpile.EquilibriumDryBasis(airC, humidityPct)
		return []Result{{"emc_dry_basis_pct", "dry basis", "%", 2, 100 * u},
			{"emc_wet_basis_pct", "wet basis", "%", 2, 100 * woodpile.WetBasis(u)}}, nil
	}
}

func drying(in *inputs) working {
	piece := word(in, or("split"), "piece", "how small it is cut", woodpile.Chunk, woodpile.Split, woodpile.Log)
	fromPct := in.number(needed, "from-pct", "moisture now, wet basis, %", 1, 80)
	toPct := in.number(or("20"), "to-pct", "moisture wanted, wet basis, %", 1, 80)
	cover := word(in, or("roof"), "cover", "what keeps rain off", woodpile.Roof, woodpile.Open)
	climate := word(in, maybe, "climate", "published monthly air", place.Climates()...)
	airC := in.optional(maybe, "air-c", "steady air instead, °C; with humidity-pct", -30, 60)
	humidityPct := in.optional(maybe, "humidity-pct", "relative humidity, %", 1, 100)
	from := word[string](in, or("2025-03-01"), "from-date", "the day it begins, like 2025-03-01")
	return func() ([]Result, error) {
		date, err := calendar.ParseDate(from)
		if err != nil {
			return nil, fmt.Errorf("--from-date: %w", err)
		}
		airOn := func(calendar.Date) (float64, float64) { return *airC, *humidityPct }
		switch {
		case climate != "" && (airC != nil || humidityPct != nil):
			return nil, errors.New("give --climate, or --air-c with --humidity-pct")
		case climate != "":
			air, _ := place.Climate(climate)
			airOn = air.OnDay
		case airC == nil || humidityPct == nil:
			return nil, errors.New("needs --climate, or --air-c with --humidity-pct")
		}
		u, wanted := woodpile.DryBasis(fromPct/100), woodpile.DryBasis(toPct/100)
		ready := woodpile.DryFrom(airOn, u, wanted, date, piece, cover)
		if ready == nil {
			return []Result{{"days", "never in this air; days", "", 0, nil}, {"date", "date", "", 0, nil}}, nil
		}
		return []Result{{"days", "dry in", "days", 0, float64(*ready - date)},
			{"date", "on", "", 0, ready.String()}}, nil
	}
}

// heatOfDryWood reads the net heat of oven-dry wood, MJ/kg.
func heatOfDryWood(in *inputs) float64 {
	return in.number(or("18.5"), "dry-mj-kg", "net heat of oven-dry wood, MJ/kg", 15, 22)
}

func heat(in *inputs) working {
	moisturePct := in.number(needed, "moisture-pct", "moisture, wet basis, %", 0, 80)
	dryMJKg := heatOfDryWood(in)
	return func() ([]Result, error) {
		wet := moisturePct / 100
		perDry := genset.NetHeatPerDryKg(dryMJKg, wet)
		return []Result{{"net_mj_kg", "net", "MJ/kg as it lies", 3, perDry * (1 - wet)},
			{"net_kwh_kg", "or", "kWh/kg", 3, perDry * (1 - wet) / mjPerKWh},
			{"net_mj_per_dry_kg", "of an oven-dry kg", "MJ", 3, perDry}}, nil
	}
}

func wood(in *inputs) working {
	key := word(in, needed, "species", "of the wood", woodpile.SpeciesKeys()...)
	dryKg := in.optional(oneOf, "dry-kg", "amount, oven-dry", 0, 1e9)
	asIsKg := in.optional(oneOf, "as-is-kg", "amount, as it lies", 0, 1e9)
	solidM3 := in.optional(oneOf, "solid-m3", "amount, solid without bark", 0, 1e6)
	stackedM3 := in.optional(oneOf, "stacked-m3", "amount, stacked", 0, 1e6)
	looseM3 := in.optional(oneOf, "loose-m3", "amount, loose", 0, 1e6)
	cords := in.optional(oneOf, "cords", "amount, cords", 0, 1e6)
	moisturePct := in.optional(maybe, "moisture-pct", "moisture, wet basis, %; green with bark if not given", 0, 80)
	perStacked := in.number(or("0.64"), "solid-per-stacked", "solid wood in a stacked m³", 0.01, 1)
	perLoose := in.number(or("0.40"), "solid-per-loose", "solid wood in a loose m³", 0.01, 1)
	dryMJKg := heatOfDryWood(in)
	return func() ([]Result, error) {
		species, _ := woodpile.SpeciesOf(key)
		green := species.GreenWithBarkDryBasis()
		u := green
		if moisturePct != nil {
			u = woodpile.DryBasis(*moisturePct / 100)
		}
		var ovenDryKg float64
		switch {
		case dryKg != nil:
			ovenDryKg = *dryKg
		case asIsKg != nil:
			ovenDryKg = *asIsKg / (1 + u)
		case solidM3 != nil:
			ovenDryKg = woodpile.DryKg(*solidM3, &species)
		case stackedM3 != nil:
			ovenDryKg = woodpile.DryKg(*stackedM3*perStacked, &species)
		case looseM3 != nil:
			ovenDryKg = woodpile.DryKg(*looseM3*perLoose, &species)
		case cords != nil:
			ovenDryKg = woodpile.DryKg(*cords*woodpile.CordM3*perStacked, &species)
		}
		solid := woodpile.SolidM3(ovenDryKg, &species)
		heatKWh := ovenDryKg * genset.NetHeatPerDryKg(dryMJKg, woodpile.WetBasis(u)) / mjPerKWh
		results := []Result{
			{"dry_kg", "oven-dry", "kg", 1, ovenDryKg}, {"as_is_kg", "as it lies", "kg", 1, ovenDryKg * (1 + u)},
			{"green_per_dry", "green for each dry kg", "kg", 3, 1 + green}, {"solid_m3", "solid", "m³", 3, solid},
			{"stacked_m3", "stacked", "m³", 3, solid / perStacked}, {"loose_m3", "loose", "m³", 3, solid / perLoose},
			{"cords", "or", "cords", 3, solid / perStacked / woodpile.CordM3}, {"heat_kwh", "net heat", "kWh", 0, heatKWh}}
		if species.GroupDefault {
			note := "the values of " + strings.ToLower(species.CommonName) + " are its genus's"
			results = append(results, Result{"note", "note:", "", 0, note})
		}
		return results, nil
	}
}

func dry(in *inputs) working {
	dryKg := in.number(needed, "dry-kg", "oven-dry wood, kg", 0, 1e9)
	fromPct := in.number(needed, "from-pct", "moisture now, wet basis, %", 0, 80)
	toPct := in.number(needed, "to-pct", "moisture wanted, wet basis, %", 0, 80)
	dryerKWhPerKg := in.number(or("1.1"), "dryer-kwh-per-kg", "a dryer's use for each kg of water", 0, 100)
	return func() ([]Result, error) {
		if toPct > fromPct {
			return nil, fmt.Errorf("--to-pct must be at most --from-pct (%g), got %g", fromPct, toPct)
		}
		water := dryKg * (woodpile.DryBasis(fromPct/100) - woodpile.DryBasis(toPct/100))
		return []Result{{"water_kg", "water", "kg", 1, water},
			{"heat_kwh", "its heat", "kWh", 1, water * place.HeatOfVaporisationMJKg / mjPerKWh},
			{"dryer_kwh", "in a dryer", "kWh", 1, water * dryerKWhPerKg}}, nil
	}
}
