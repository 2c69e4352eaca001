package diary

import (
	"math"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// balanceKind says over what a balance is drawn.
type balanceKind int

const (
	overGap balanceKind = iota // between two runs
	overRun
	balanceKinds
)

// A balance is the bank's over a run, or over the gap between two, of which the charge is
// noted at both ends. What happened in it is one equation of the bank's fit:
//
//	gained + leaked = charging·in − out/discharging
//
// with in and out the energies at the bank's terminals. Load is scaled by a factor.
type balance struct {
	kind     balanceKind
	row      int     // the run, or the one before the gap
	fromKWh  float64 // stored
	gainKWh  float64
	leakKWh  float64
	madeKWh  float64 // in a run
	size     float64 // by which its scatter grows: days of a gap, 1 of a run
	charging float64 // efficiency that the scenario's curve gives, mean over the charge gained
	parts    []stepPart
}

// balancesOf returns those of a diary that tell of the bank, in the order of time. Left
// out are runs that may have spilled and gaps of more than three days.
func balancesOf(h *datedHousehold, rows []Row) []balance {
	var all []balance
	for i := range rows {
		if b, ok := runBalance(h, &rows[i]); ok {
			b.row = i
			all = append(all, b)
		}
		if i+1 == len(rows) {
			break
		}
		if b, ok := gapBalance(h, &rows[i], &rows[i+1]); ok {
			b.row = i
			all = append(all, b)
		}
	}
	return all
}

func runBalance(h *datedHousehold, r *Row) (b balance, ok bool) {
	if !Noted(r.KWh) || h.engineHours(r) == 0 {
		return balance{}, false
	}
	b, ok = newBalance(h, h.runParts(r), r.SocStartPct, r.SocEndPct)
	b.kind, b.madeKWh, b.size = overRun, r.KWh, 1
	return b, ok && h.takesKW(r, b.parts) >= h.House.Set.LeastKW
}

func gapBalance(h *datedHousehold, before, after *Row) (b balance, ok bool) {
	minutes := after.from() - before.to()
	if minutes <= 0 || minutes > longestGapDays*calendar.MinutesADay {
		return balance{}, false
	}
	b, ok = newBalance(h, h.gapParts(before, after), before.SocEndPct, after.SocStartPct)
	b.kind, b.size = overGap, float64(minutes)/calendar.MinutesADay
	return b, ok && !b.sunny()
}

// sunny reports whether panels are expected to give so much of what is wanted that the charge tells of
// the sky more than of the house.
func (b *balance) sunny() bool {
	const much = 0.1 // a judgement
	loadKWh, sunKWh := 0.0, 0.0
	for i := range b.parts {
		p := &b.parts[i]
		loadKWh += p.loadKW * p.hours
		sunKWh += (p.sunKW + p.houseSunKW) * p.hours
	}
	return sunKWh > much*loadKWh
}

func newBalance(h *datedHousehold, parts []stepPart, fromPct, toPct float64) (b balance, ok bool) {
	if !Noted(fromPct) || !Noted(toPct) {
		return balance{}, false
	}
	full := h.House.Bank.FullKWh
	from, to := fromPct/100*full, toPct/100*full
	b = balance{fromKWh: from, gainKWh: to - from, parts: parts, charging: chargeEfficiency(h.House, from, to)}
	stored := (from + to) / 2 // in the mean
	for i := range parts {
		bank := parts[i].day.Bank
		kept := 1 - bank.LeakKWh(1) // in a step
		b.leakKWh += stored * (1 - math.Pow(kept, parts[i].hours/bank.StepH))
	}
	return b, true
}

// chargeEfficiency is the scenario's, mean over charging from one stored energy
// to another: what is gained over what it takes.
func chargeEfficiency(h *sim.House, from, to float64) float64 {
	bank := h.Days[0].Bank
	if to <= from {
		return bank.ChargeEfficiency(from)
	}
	const cuts = 20
	takes := 0.0
	for i := range cuts {
		takes += (to - from) / cuts / bank.ChargeEfficiency(from+(to-from)*(float64(i)+0.5)/cuts)
	}
	return (to - from) / takes
}

// energies are those at the bank's terminals by the load's factor, kWh, with
// their derivatives.
type energies struct{ in, out, inByLoad, outByLoad float64 }

// energies works out a balance's. In the engine hours of a run its energy serves
// the house first; in the light-up and between runs the bank does, and its
// inverter idles. Panels give what is expected of the day's sun.
func (b *balance) energies(h *sim.House, loadFactor float64) energies {
	var e energies
	bank := &h.Bank
	add := func(surplusKWh, loadKWh, sunKWh float64) {
		wantedKWh := -surplusKWh / bank.InverterEfficiency
		switch {
		case surplusKWh >= 0:
			e.in += surplusKWh*bank.ChargerEfficiency + sunKWh
			e.inByLoad -= loadKWh * bank.ChargerEfficiency
		case sunKWh > wantedKWh: // panels charge the bank
			e.in += sunKWh - wantedKWh
			e.inByLoad -= loadKWh / bank.InverterEfficiency
		default:
			e.out += wantedKWh - sunKWh
			e.outByLoad += loadKWh / bank.InverterEfficiency
		}
	}
	engineKWh, engineLoadKWh, engineH, engineSunKWh := b.madeKWh, 0.0, 0.0, 0.0
	for i := range b.parts {
		p := &b.parts[i]
		surplusKWh, loadKWh := (p.otherKW-p.choreKW-loadFactor*p.loadKW)*p.hours, p.loadKW*p.hours
		if p.ready > 0 {
			engineKWh += surplusKWh
			engineLoadKWh += loadKWh
			engineH += p.hours
			engineSunKWh += p.sunKW * p.hours
			continue
		}
		add(surplusKWh, loadKWh, p.sunKW*p.hours)
		e.out += bank.InverterIdleKW * p.hours
	}
	if engineH > 0 {
		add(engineKWh, engineLoadKWh, engineSunKWh)
	}
	return e
}

// nearFloorPct is how far above the floor a gap must be expected to end: nearer,
// on a day of much use the house may have been dark, and less was drawn than it
// wanted. By what is expected, not by what was noted, or the days of much use
// alone would be left out. A judgement, no source.
const nearFloorPct = 10

// nearFloor reports whether a gap is expected to end near the floor, with the
// load scaled by a factor.
func (b *balance) nearFloor(h *sim.House, loadFactor float64) bool {
	if b.kind == overRun {
		return false
	}
	e := b.energies(h, loadFactor)
	end := b.fromKWh - b.leakKWh + b.charging*e.in - e.out/h.Bank.DischargeEfficiency
	floor := b.parts[len(b.parts)-1].day.Bank.FloorKWh
	return end < floor+nearFloorPct/100.0*h.Bank.FullKWh
}
