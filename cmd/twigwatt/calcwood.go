package main

import (
	"strings"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/storage/woodpile"
)

// woodSums are the sums of moisture, drying and amounts.
func woodSums() []sum {
	heatInput := number("dry-mj-kg", "net heat of oven-dry wood, MJ/kg", 15, 22).or("18.5")
	return []sum{{
		name: "moisture", usage: "wet and dry basis",
		source: "definition: water over all, and water over oven-dry wood. Wood meters read dry basis",
		inputs: []input{number("wet-pct", "moisture, wet basis, %", 0, 99), number("dry-pct", "moisture, dry basis, %", 0, 9900),
			number("as-is-kg", "weight as it lies, kg; with oven-dry-kg", 0, 1e6),
			number("oven-dry-kg", "weight after the oven, kg", 1e-6, 1e6)},
		work: moistureSum,
	}, {
		name: "emc", usage: "the moisture wood comes to in steady air",
		source: "Wood Handbook, FPL-GTR-190 (2010), chapter 4, the equation of Table 4-2",
		inputs: []input{number("air-c", "air, °C", -30, 130), number("humidity-pct", "relative humidity, %", 0, 100)},
		work:   emcSum,
	}, {
		name: "drying", usage: "how long wood dries in a place's air, or in steady air",
		source: "the pile's drying law: equilibrium by the Wood Handbook, pace by the air's vapour-pressure deficit, calibrated on published trials (drying_bands.csv)",
		inputs: []input{text("piece", "how small it is cut", "chunk", "split", "log").or("split"),
			number("from-pct", "moisture now, wet basis, %", 1, 80),
			number("to-pct", "moisture wanted, wet basis, %", 1, 80).or("20"),
			text("cover", "what keeps rain off", "roof", "open").or("roof"),
			text("climate", "published monthly air", place.Climates()...),
			number("air-c", "steady air instead, °C; with humidity-pct", -30, 60),
			number("humidity-pct", "relative humidity, %", 1, 100),
			text("from-date", "the day it begins, like 2025-03-01").or("2025-03-01")},
		cautions: []int{cautionAsh},
		work:     dryingSum,
	}, {
		name: "heat", usage: "net heat of wood by its moisture",
		source: "EN 14918 / ISO 18125, from memory: q_d(1 − M) − 2.443 M",
		inputs: []input{number("moisture-pct", "moisture, wet basis, %", 0, 80), heatInput},
		work:   heatSum,
	}, {
		name: "wood", usage: "one amount of wood in every unit",
		source: "basic gravity and green moisture with bark, FIA reference table after Miles & Smith 2009; a cord is 128 ft³; stacking, TFZ Straubing 2006",
		inputs: []input{text("species", "of the wood", woodpile.SpeciesKeys()...),
			number("dry-kg", "amount, oven-dry", 0, 1e9), number("as-is-kg", "amount, as it lies", 0, 1e9),
			number("solid-m3", "amount, solid without bark", 0, 1e6), number("stacked-m3", "amount, stacked", 0, 1e6),
			number("loose-m3", "amount, loose", 0, 1e6),
			number("cords", "amount, cords", 0, 1e6), number("moisture-pct",
				"moisture, wet basis, %; green with bark if not given", 0, 80),
			number("solid-per-stacked", "solid wood in a stacked m³", 0.01, 1).or("0.64"),
			number("solid-per-loose", "solid wood in a loose m³", 0.01, 1).or("0.40"), heatInput},
		cautions: []int{cautionWood},
		work:     woodSum,
	}, {
		name: "dry", usage: "the water and heat of drying",
		source: "heat of vaporisation 2.443 MJ/kg, EN 14918; a dryer's 1.1 kWh/kg is common practice, no source",
		inputs: []input{number("dry-kg", "oven-dry wood, kg", 0, 1e9),
			number("from-pct", "moisture now, wet basis, %", 0, 80), number("to-pct", "moisture wanted, wet basis, %", 0, 80),
			number("dryer-kwh-per-kg", "a dryer's use for each kg of water", 0, 100).or("1.1")},
		cautions: []int{cautionAsh},
		work:     drySum,
	}}
}

func emcSum(in given) ([]result, error) {
	if err := in.need("air-c", "humidity-pct"); err != nil {
		return nil, err
	}
	u := woodpile.EquilibriumDryBasis(in.numbers["air-c"], in.numbers["humidity-pct"])
	return []result{figure("emc_dry_basis_pct", "dry basis", "%", 2, 100*u),
		figure("emc_wet_basis_pct", "wet basis", "%", 2, 100*u/(1+u))}, nil
}

func heatSum(in given) ([]result, error) {
	if err := in.need("moisture-pct"); err != nil {
		return nil, err
	}
	m := in.numbers["moisture-pct"] / 100
	perDry := genset.NetHeatPerDryKg(in.numbers["dry-mj-kg"], m)
	return []result{figure("net_mj_kg", "net", "MJ/kg as it lies", 3, perDry*(1-m)),
		figure("net_kwh_kg", "or", "kWh/kg", 3, perDry*(1-m)/3.6),
		figure("net_mj_per_dry_kg", "of an oven-dry kg", "MJ", 3, perDry)}, nil
}

func drySum(in given) ([]result, error) {
	if err := in.need("dry-kg", "from-pct", "to-pct"); err != nil {
		return nil, err
	}
	from, to := in.numbers["from-pct"], in.numbers["to-pct"]
	if to > from {
		return nil, usagef("--to-pct must be at most --from-pct (%g), got %g", from, to)
	}
	water := in.numbers["dry-kg"] * (dryBasis(from) - dryBasis(to))
	return []result{figure("water_kg", "water", "kg", 1, water),
		figure("heat_kwh", "its heat", "kWh", 1, water*genset.HeatOfVaporisationMJKg/3.6),
		figure("dryer_kwh", "in a dryer", "kWh", 1, water*in.numbers["dryer-kwh-per-kg"])}, nil
}

func dryBasis(wetPct float64) float64 { return wetPct / (100 - wetPct) }

func moistureSum(in given) ([]result, error) {
	form, err := in.only("wet-pct", "dry-pct", "as-is-kg")
	if err != nil {
		return nil, err
	}
	wet := in.numbers["wet-pct"]
	switch form {
	case "dry-pct":
		dry := in.numbers["dry-pct"]
		wet = 100 * dry / (100 + dry)
	case "as-is-kg":
		if err := in.need("oven-dry-kg"); err != nil {
			return nil, err
		}
		asIs, oven := in.numbers["as-is-kg"], in.numbers["oven-dry-kg"]
		if asIs < oven {
			return nil, usagef("--as-is-kg (%g) must be at least --oven-dry-kg (%g)", asIs, oven)
		}
		wet = 100 * (asIs - oven) / asIs
	}
	if form != "as-is-kg" && in.has("oven-dry-kg") {
		return nil, usagef("--oven-dry-kg goes with --as-is-kg")
	}
	return []result{figure("wet_basis_pct", "wet basis", "%", 2, wet),
		figure("dry_basis_pct", "dry basis", "% (as wood meters read)", 2, 100*dryBasis(wet))}, nil
}

func dryingSum(in given) ([]result, error) {
	if err := in.need("from-pct"); err != nil {
		return nil, err
	}
	date, err := calendar.ParseDate(in.words["from-date"])
	if err != nil {
		return nil, usagef("--from-date: %s", err)
	}
	airOn := func(d calendar.Date) (float64, float64) { return in.numbers["air-c"], in.numbers["humidity-pct"] }
	switch {
	case in.has("climate") && (in.has("air-c") || in.has("humidity-pct")):
		return nil, usagef("give --climate, or --air-c with --humidity-pct")
	case in.has("climate"):
		air, _ := place.Climate(in.words["climate"])
		airOn = air.OnDay
	default:
		if err := in.need("air-c", "humidity-pct"); err != nil {
			return nil, usagef("needs --climate, or --air-c with --humidity-pct")
		}
	}
	ready := woodpile.DryFrom(airOn, dryBasis(in.numbers["from-pct"]), dryBasis(in.numbers["to-pct"]), date,
		woodpile.Piece(in.words["piece"]), woodpile.Cover(in.words["cover"]))
	if ready == nil {
		return []result{{key: "days", label: "never in this air; days", none: true}, {key: "date", label: "date", none: true}}, nil
	}
	return []result{figure("days", "dry in", "days", 0, float64(*ready-date)), word("date", "on", ready.String())}, nil
}

func woodSum(in given) ([]result, error) {
	if err := in.need("species"); err != nil {
		return nil, err
	}
	amount, err := in.only("dry-kg", "as-is-kg", "solid-m3", "stacked-m3", "loose-m3", "cords")
	if err != nil {
		return nil, err
	}
	species, _ := woodpile.SpeciesOf(in.words["species"])
	green := 1 + species.GreenWithBarkDryBasis()
	asIsPerDry := green
	if in.has("moisture-pct") {
		asIsPerDry = 1 + dryBasis(in.numbers["moisture-pct"])
	}
	x, perStacked, perLoose := in.numbers[amount], in.numbers["solid-per-stacked"], in.numbers["solid-per-loose"]
	dry := x
	switch amount {
	case "as-is-kg":
		dry = x / asIsPerDry
	case "solid-m3":
		dry = woodpile.DryKg(x, &species)
	case "stacked-m3":
		dry = woodpile.DryKg(x*perStacked, &species)
	case "loose-m3":
		dry = woodpile.DryKg(x*perLoose, &species)
	case "cords":
		dry = woodpile.DryKg(x*woodpile.CordM3*perStacked, &species)
	}
	solid := woodpile.SolidM3(dry, &species)
	moisture := (asIsPerDry - 1) / asIsPerDry
	results := []result{figure("dry_kg", "oven-dry", "kg", 1, dry),
		figure("as_is_kg", "as it lies", "kg", 1, dry*asIsPerDry), figure("green_per_dry", "green for each dry kg", "kg", 3, green),
		figure("solid_m3", "solid", "m³", 3, solid), figure("stacked_m3", "stacked", "m³", 3, solid/perStacked),
		figure("loose_m3", "loose", "m³", 3, solid/perLoose),
		figure("cords", "or", "cords", 3, solid/perStacked/woodpile.CordM3),
		figure("heat_kwh", "net heat", "kWh", 0, dry*genset.NetHeatPerDryKg(in.numbers["dry-mj-kg"], moisture)/3.6)}
	if species.GroupDefault {
		results = append(results, word("note", "note:", "the values of "+strings.ToLower(species.CommonName)+" are its genus's"))
	}
	return results, nil
}
