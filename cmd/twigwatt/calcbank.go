package main

import (
	"strings"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim/curve"
	"twigwatt/storage/battery"
)

// bankSums are the sums of the bank.
func bankSums() []sum {
	care := []int{cautionBank}
	kinds := make([]string, 0, 4)
	for _, k := range battery.Kinds() {
		kinds = append(kinds, string(k))
	}
	return []sum{{
		name: "cycles", usage: "rainflow count of a series, one number a line",
		source: "ASTM E1049-85 (2017), 5.4.4; damage by Miner's sum", cautions: care,
		file: "numbers, one a line", inputs: []input{text("depth-cycles", "cycles to the end by depth, like 50:750,80:225")},
		work: cyclesSum,
	}, {
		name: "rundown", usage: "how long a battery of two wells lasts under a draw that repeats",
		source: "Manwell & McGowan 1993, Solar Energy 50:399", cautions: care,
		inputs: []input{number("amp-hours", "full size, Ah", 1e-6, 1e9),
			number("at-hand-share", "share at hand", 1e-6, 1), number("settle-per-h", "settling constant k, 1/h", 1e-6, 1e6),
			text("draw", "like 0.5A:1m,0A:1m (A; s, m or h), repeated")},
		work: rundownSum,
	}, {
		name: "rates", usage: "the two wells behind a discharge table",
		source: "Manwell & McGowan 1993, unweighted least squares on amp-hours", cautions: care,
		file: "CSV with the header hours,amp_hours; 3 rows or more",
		work: ratesSum,
	}, {
		name: "bank", usage: "the published sizing of a bank, its charge and its set",
		source: "published examples (SOURCES.md, sizing examples): size by IEEE 485's factor, charge at C/hours, 3 % of power lost each 1000 ft", cautions: []int{cautionGas, cautionBank, cautionWire},
		inputs: []input{number("wh-per-day", "wanted, Wh a day", 0, 1e7),
			number("days", "without charge", 0, 365).or("1"), number("depth-pct", "of discharge", 1, 100).or("50"),
			number("air-c", "around the bank, °C", -20, 50).or("25"), number("volts", "of the bank", 1, 2000).or("12"),
			number("charge-hours", "C over so many hours", 0.1, 100).or("5"),
			number("charger-pct", "AC to DC", 1, 100).or("75"), number("altitude-m", "altitude, m", 0, 6000).or("0")},
		work: bankSum,
	}, {
		name: "cold", usage: "capacity, self-discharge and freezing in the cold",
		source: "an AGM data sheet (battery_temperature.csv; for lithium too, for want of one); R. Vader, 2.5.10; electrolyte tables (SOURCES.md, freezing)", cautions: care,
		inputs: []input{text("kind", "of bank", kinds...), number("air-c", "around the bank, °C", -40, 60),
			number("soc-pct", "charge, %", 0, 100).or("50")},
		work: coldSum,
	}, {
		name: "ventilation", usage: "air for the hydrogen of a charge", source: "EN/IEC 62485-2", cautions: care,
		inputs: []input{number("cells", "in series, 2 V each", 1, 1000),
			number("amp-hours", "ten-hour size, Ah", 1e-3, 1e6), text("kind", "of bank", kinds...),
			text("stage", "of the charge", "float", "boost").or("boost")},
		work: ventilationSum,
	}}
}

func coldSum(in given) ([]result, error) {
	if err := in.need("kind", "air-c"); err != nil {
		return nil, err
	}
	kind, airC := battery.Kind(in.words["kind"]), in.numbers["air-c"]
	freezes := figure("freezes_at_c", "its electrolyte freezes at", "°C", 1, battery.FreezesAtC(in.numbers["soc-pct"]))
	if kind == battery.Lithium {
		freezes = result{key: "freezes_at_c", label: "freezing", none: true}
	}
	return []result{figure("capacity_pct", "capacity", "% of that at 25 °C", 1, battery.CapacityPct(airC)),
		figure("self_discharge_pct_month", "self-discharge", "% a month", 2,
			100*battery.SelfDischargeAt(battery.DefaultsOf(kind).SelfDischargePct/100, airC)), freezes}, nil
}

func ventilationSum(in given) ([]result, error) {
	if err := in.need("cells", "amp-hours", "kind"); err != nil {
		return nil, err
	}
	air, opening, err := battery.VentilationM3H(battery.Kind(in.words["kind"]), battery.Stage(in.words["stage"]),
		in.numbers["cells"], in.numbers["amp-hours"])
	if err != nil {
		return nil, usagef("%s", err)
	}
	return []result{figure("air_m3_h", "air", "m³/h", 2, air), figure("opening_cm2", "opening", "cm²", 1, opening)}, nil
}

func cyclesSum(in given) ([]result, error) {
	var life curve.Curve
	if spec := in.words["depth-cycles"]; spec != "" {
		for pair := range strings.SplitSeq(spec, ",") {
			depth, cycles, ok := strings.Cut(pair, ":")
			x, okX := finite(depth)
			y, okY := finite(cycles)
			if !ok || !okX || !okY || !(x > 0 && y > 0) || len(life) > 0 && !(x > life[len(life)-1].X) {
				return nil, usagef("--depth-cycles must be pairs like 50:750,80:225 with rising depths, got %q", spec)
			}
			life = append(life, curve.Point{X: x, Y: y})
		}
	}
	series, err := readFile(in.file, readNumbers)
	if err != nil {
		return nil, err
	}
	var list []any
	var parts []string
	damage := 0.0
	rain := battery.NewRainflow(func(c battery.Cycle) {
		list = append(list, report.Pairs{{Key: "range", Value: c.Range}, {Key: "mean", Value: c.Mean}, {Key: "count", Value: c.Count}})
		parts = append(parts, report.Number(c.Count, 1)+" of "+report.Number(c.Range, 3)+" around "+report.Number(c.Mean, 3))
		if life != nil {
			damage += c.Count / battery.CyclesToEnd(life, c.Range)
		}
	})
	for _, x := range series {
		rain.Add(x)
	}
	rain.Finish()
	if list == nil {
		list = []any{}
	}
	worn := figure("damage", "damage", "of a life", 6, damage)
	if life == nil {
		worn = result{key: "damage", label: "damage", none: true}
	}
	return []result{{key: "cycles", label: "cycles:", text: strings.Join(parts, "; "), list: list}, worn}, nil
}

func rundownSum(in given) ([]result, error) {
	if err := in.need("amp-hours", "at-hand-share", "settle-per-h", "draw"); err != nil {
		return nil, err
	}
	var draws []battery.Current
	for piece := range strings.SplitSeq(in.words["draw"], ",") {
		d, ok := parseDraw(strings.TrimSpace(piece))
		if !ok {
			return nil, usagef("--draw must be pieces like 0.5A:1m,0A:1m (s, m or h), got %q", piece)
		}
		draws = append(draws, d)
	}
	hours, err := battery.Rundown(in.numbers["amp-hours"], in.numbers["at-hand-share"], in.numbers["settle-per-h"], draws)
	if err != nil {
		return nil, usagef("--draw: %s", err)
	}
	return []result{figure("hours", "lasts", "h", 4, hours)}, nil
}

func parseDraw(piece string) (battery.Current, bool) {
	amps, length, ok := strings.Cut(piece, ":")
	amps, isAmps := strings.CutSuffix(amps, "A")
	if !ok || !isAmps || len(length) < 2 {
		return battery.Current{}, false
	}
	unit, known := map[byte]float64{'s': 1.0 / 3600, 'm': 1.0 / 60, 'h': 1}[length[len(length)-1]]
	x, okX := finite(amps)
	y, okY := finite(length[:len(length)-1])
	return battery.Current{Amps: x, Hours: y * unit}, known && okX && okY
}

func ratesSum(in given) ([]result, error) {
	rows, err := readFile(in.file, readRates)
	if err != nil {
		return nil, err
	}
	fit, err := battery.FitRates(rows)
	if err != nil {
		return nil, usagef("%s: %s", in.file, err)
	}
	return []result{figure("full_ah", "full", "Ah", 2, fit.FullAh), figure("at_hand_share", "at hand", "", 4, fit.AtHandShare),
		figure("settle_per_h", "settling", "1/h", 3, fit.SettlePerH), figure("rms_ah", "rms", "Ah", 2, fit.RMSAh)}, nil
}

func bankSum(in given) ([]result, error) {
	if err := in.need("wh-per-day"); err != nil {
		return nil, err
	}
	n := in.numbers
	need := n["wh-per-day"] * n["days"] / (n["depth-pct"] / 100) * battery.CellSizeFactor(n["air-c"])
	charge := need / n["charge-hours"]
	return []result{figure("need_wh", "size", "Wh", 0, need), figure("amp_hours", "or", "Ah", 2, need/n["volts"]),
		figure("charge_w", "charge at", "W", 0, charge),
		figure("set_w", "from a set of", "W", 0, charge/battery.AltitudeShare(n["altitude-m"])/(n["charger-pct"]/100))}, nil
}
