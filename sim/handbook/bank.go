package handbook

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"twigwatt/sim/curve"
	"twigwatt/storage/battery"
)

func cycles(in *inputs) working {
	by := word[string](in, maybe, "depth-cycles", "cycles to the end by depth, like 50:750,80:225")
	return func() ([]Result, error) {
		life, ok := parseCurve(by)
		if !ok {
			return nil, fmt.Errorf("--depth-cycles must be pairs like 50:750,80:225 with rising depths, got %q", by)
		}
		series, err := read(in.file, numbers)
		if err != nil {
			return nil, err
		}
		counted, damage := []battery.Cycle{}, 0.0
		rain := battery.NewRainflow(func(c battery.Cycle) {
			counted = append(counted, c)
			if life != nil {
				damage += c.Count / battery.CyclesToEnd(life, c.Range)
			}
		})
		for _, x := range series {
			rain.Add(x)
		}
		rain.Finish()
		worn := Result{"damage", "damage", "of a life", 6, damage}
		if life == nil {
			worn.Value = nil
		}
		return []Result{{"cycles", "cycles:", "", 3, counted}, worn}, nil
	}
}

// parseCurve reads cycles by depth, like 50:750,80:225; nil of no text.
func parseCurve(text string) (life curve.Curve, ok bool) {
	if text == "" {
		return nil, true
	}
	least := 0.0
	for pair := range strings.SplitSeq(text, ",") {
		depth, cycles, ok := strings.Cut(pair, ":")
		x, okX := finite(depth)
		y, okY := finite(cycles)
		if !ok || !okX || !okY || !(x > least && y > 0) {
			return nil, false
		}
		life, least = append(life, curve.Point{X: x, Y: y}), x
	}
	return life, true
}

func rundown(in *inputs) working {
	ampHours := in.number(needed, "amp-hours", "full size, Ah", 1e-6, 1e9)
	atHandShare := in.number(needed, "at-hand-share", "share at hand", 1e-6, 1)
	settlePerH := in.number(needed, "settle-per-h", "settling constant k, 1/h", 1e-6, 1e6)
	draw := word[string](in, needed, "draw", "like 0.5A:1m,0A:1m (A; s, m or h), repeated")
	return func() ([]Result, error) {
		var draws []battery.Current
		for piece := range strings.SplitSeq(draw, ",") {
			d, ok := parseDraw(strings.TrimSpace(piece))
			if !ok {
				return nil, fmt.Errorf("--draw must be pieces like 0.5A:1m,0A:1m (s, m or h), got %q", piece)
			}
			draws = append(draws, d)
		}
		hours, err := battery.Rundown(ampHours, atHandShare, settlePerH, draws)
		if err != nil {
			return nil, fmt.Errorf("--draw: %w", err)
		}
		return []Result{{"hours", "lasts", "h", 4, hours}}, nil
	}
}

// parseDraw reads a current and how long it is drawn, like 0.5A:1m.
func parseDraw(piece string) (d battery.Current, ok bool) {
	amps, length, _ := strings.Cut(piece, ":")
	amps, isAmps := strings.CutSuffix(amps, "A")
	if !isAmps || len(length) < 2 {
		return d, false
	}
	unit, known := map[byte]float64{'s': 1.0 / 3600, 'm': 1.0 / 60, 'h': 1}[length[len(length)-1]]
	x, okX := finite(amps)
	y, okY := finite(length[:len(length)-1])
	return battery.Current{Amps: x, Hours: y * unit}, known && okX && okY
}

func rates(in *inputs) working {
	return func() ([]Result, error) {
		rows, err := read(in.file, rateTable)
		if err != nil {
			return nil, err
		}
		fit, err := battery.FitRates(rows)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", in.file.Name, err)
		}
		return []Result{{"full_ah", "full", "Ah", 2, fit.FullAh},
			{"at_hand_share", "at hand", "", 4, fit.AtHandShare},
			{"settle_per_h", "settling", "1/h", 3, fit.SettlePerH}, {"rms_ah", "rms", "Ah", 2, fit.RMSAh}}, nil
	}
}

func bank(in *inputs) working {
	whPerDay := in.number(needed, "wh-per-day", "wanted, Wh a day", 0, 1e7)
	days := in.number(or("1"), "days", "without charge", 0, 365)
	depthPct := in.number(or("50"), "depth-pct", "of discharge", 1, 100)
	airC := in.number(or("25"), "air-c", "around the bank, °C", -20, 50)
	volts := in.number(or("12"), "volts", "of the bank", 1, 2000)
	chargeHours := in.number(or("5"), "charge-hours", "C over so many hours", 0.1, 100)
	chargerPct := in.number(or("75"), "charger-pct", "AC to DC", 1, 100)
	altitudeM := in.number(or("0"), "altitude-m", "altitude, m", 0, 6000)
	return func() ([]Result, error) {
		need := whPerDay * days / (depthPct / 100) * battery.CellSizeFactor(airC)
		charge := need / chargeHours
		return []Result{{"need_wh", "size", "Wh", 0, need}, {"amp_hours", "or", "Ah", 2, need / volts},
			{"charge_w", "charge at", "W", 0, charge},
			{"set_w", "from a set of", "W", 0, charge / battery.AltitudeShare(altitudeM) / (chargerPct / 100)}}, nil
	}
}

func cold(in *inputs) working {
	kind := word(in, needed, "kind", "of bank", battery.Kinds()...)
	airC := in.number(needed, "air-c", "around the bank, °C", -40, 60)
	socPct := in.number(or("50"), "soc-pct", "charge, %", 0, 100)
	return func() ([]Result, error) {
		freezes := Result{"freezes_at_c", "its electrolyte freezes at", "°C", 1, battery.FreezesAtC(socPct)}
		if kind == battery.Lithium {
			freezes.Label, freezes.Value = "freezing", nil
		}
		monthShare := battery.SelfDischargeAt(battery.DefaultsOf(kind).SelfDischargePct/100, airC)
		return []Result{{"capacity_pct", "capacity", "% of that at 25 °C", 1, battery.CapacityPct(airC)},
			{"self_discharge_pct_month", "self-discharge", "% a month", 2, 100 * monthShare}, freezes}, nil
	}
}

func charge(in *inputs) working {
	kind := word(in, or("flooded"), "kind", "of bank", battery.Kinds()...)
	kWh := in.number(needed, "kwh", "size, kWh", 1e-3, 1e6)
	fromPct := in.number(needed, "from-pct", "charge before, %", 0, 100)
	toPct := in.number(needed, "to-pct", "charge after, %", 0, 100)
	return func() ([]Result, error) {
		if !(toPct > fromPct) {
			return nil, fmt.Errorf("--to-pct must be above --from-pct, got %g and %g", toPct, fromPct)
		}
		in := battery.ChargeInput(battery.DefaultsOf(kind).ChargeCurve, kWh, fromPct, toPct)
		stored := kWh * (toPct - fromPct) / 100
		return []Result{{"in_kwh", "into the bank, DC", "kWh", 3, in}, {"stored_kwh", "stored", "kWh", 3, stored},
			{"lost_kwh", "lost", "kWh", 3, in - stored},
			{"water_l", "gassed off at most", "l of water", 3, battery.WaterL(kind, in-stored)}}, nil
	}
}

func ventilation(in *inputs) working {
	cells := in.number(needed, "cells", "in series, 2 V each", 1, 1000)
	ampHours := in.number(needed, "amp-hours", "ten-hour size, Ah", 1e-3, 1e6)
	kind := word(in, needed, "kind", "of bank", battery.Kinds()...)
	stage := word(in, or("boost"), "stage", "of the charge", battery.Float, battery.Boost)
	return func() ([]Result, error) {
		air, opening, err := battery.VentilationM3H(kind, stage, cells, ampHours)
		if err != nil {
			return nil, err
		}
		return []Result{{"air_m3_h", "air", "m³/h", 2, air}, {"opening_cm2", "opening", "cm²", 1, opening}}, nil
	}
}

// byteOrderMark may stand at the start of a text that was saved on Windows.
const byteOrderMark = "\ufeff"

// read reads a file by one of the readers below.
func read[T any](f File, reader func(name string, text []byte) ([]T, error)) ([]T, error) {
	text, err := f.Text(f.Name)
	if err != nil {
		return nil, err
	}
	return reader(f.Name, text)
}

// numbers reads numbers, one a line, two or more. Empty lines are passed over.
func numbers(name string, text []byte) ([]float64, error) {
	var all []float64
	lines := bufio.NewScanner(bytes.NewReader(text))
	for n := 1; lines.Scan(); n++ {
		cell := strings.TrimSpace(strings.TrimPrefix(lines.Text(), byteOrderMark))
		if cell == "" {
			continue
		}
		x, ok := finite(cell)
		if !ok {
			return nil, fmt.Errorf("%s:%d: must be a number, -1e9 to 1e9, got %s", name, n, short(cell))
		}
		all = append(all, x)
	}
	if lines.Err() != nil { // bufio.ErrTooLong
		return nil, fmt.Errorf("%s: must be numbers, one a line, got a line of more than 64 kB", name)
	}
	if len(all) < 2 {
		return nil, fmt.Errorf("%s: must have two numbers or more, got %d", name, len(all))
	}
	return all, nil
}

// rateTable reads a discharge table: the header hours,amp_hours, then two numbers a row.
func rateTable(name string, text []byte) ([]battery.Rate, error) {
	const wanted = "the header hours,amp_hours and then two numbers a row"
	in := csv.NewReader(bytes.NewReader(text))
	in.FieldsPerRecord = -1
	var rows []battery.Rate
	for header := true; ; header = false {
		row, err := in.Read()
		if err == io.EOF {
			return rows, nil
		}
		if bad := (*csv.ParseError)(nil); errors.As(err, &bad) {
			return nil, fmt.Errorf("%s:%d: must be %s; its quotes do not close", name, bad.Line, wanted)
		}
		line, _ := in.FieldPos(0)
		joined := strings.Join(row, ",")
		if header {
			if strings.ReplaceAll(strings.TrimPrefix(joined, byteOrderMark), " ", "") != "hours,amp_hours" {
				return nil, fmt.Errorf("%s:%d: must be %s, got %s", name, line, wanted, short(joined))
			}
			continue
		}
		hours, okH := finite(row[0])
		ampHours, okA := finite(row[len(row)-1])
		if len(row) != 2 || !okH || !okA {
			return nil, fmt.Errorf("%s:%d: must be two numbers, got %s", name, line, short(joined))
		}
		rows = append(rows, battery.Rate{Hours: hours, AmpHours: ampHours})
	}
}

// short quotes what was given, in the length of a line at most.
func short(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most]) + "…"
	}
	return strconv.Quote(text)
}
