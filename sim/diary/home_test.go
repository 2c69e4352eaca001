package diary

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/curve"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// home is an invented household: a set of 3.4 kW, a bank of 26 kWh, 6 kWh a day.
func home(t testing.TB, change func(spec *sim.Spec, wants *loads.Wants)) *sim.Household {
	t.Helper()
	factors, err := genset.NewFactors(0.15, 18.5, 45)
	if err != nil {
		t.Fatal(err)
	}
	air, _ := place.Climate("seattle")
	idle, perKWh := genset.DefaultLine(3.4, 18.5, 0.15)
	spec := sim.Spec{
		Span: calendar.Span{Start: calendar.NewDate(2025, time.January, 1), Days: 365, StepMinutes: 30},
		Air:  air, RoomC: 15, StartShare: 0.8, Factors: factors,
		Bank: battery.Bank{Kind: battery.Flooded, FullKWh: 26, FloorShare: 0.3, CeilingShare: 1, AtHandShare: 0.32, SettlePerH: 1.35, MaxChargeKW: 4, TaperHours: 2,
			ChargeCurve: curve.Curve{{X: 0, Y: 85}}, CycleLife: curve.Curve{{X: 50, Y: 750}}, DischargeEfficiency: 0.95, SelfDischargeShare: 0.05,
			ChargerKW: 5, ChargerEfficiency: 0.85, InverterKW: 4, InverterEfficiency: 0.92, InverterIdleKW: 0.02},
		Set:     genset.Set{KW: 3.4, LeastKW: 0.4, LightUpMinutes: 20, LightUpKg: 1.5, RatedMoisture: 0.15, Line: genset.StraightLine(idle, perKWh, 3.4)},
		Pile:    woodpile.Pile{Endless: true, RatedDryBasis: 0.15 / 0.85, MostDryBasis: 0.25, DryMJKg: 18.5, SolidPerStacked: 0.64, SolidPerLoose: 0.4},
		Tending: sim.Tending{Hours: []calendar.Window{{From: 7 * 60, To: 22 * 60}}, Days: calendar.AllWeek, MinHoursARun: 1, MaxHoursADay: 8, MaxStarts: 1},
	}
	wants := loads.Wants{KWhPerDay: 6, Scale: 1, LatitudeDeg: 47}
	if change != nil {
		change(&spec, &wants)
	}
	demand, err := wants.Demand(spec.Span)
	if err != nil {
		t.Fatal(err)
	}
	return &sim.Household{House: sim.NewHouse(spec), Demand: demand}
}

// truth is what a made-up diary is made from.
type truth struct {
	lightUpKg, idleKgH, perKWhKg, kw, charging, discharging, loadFactor float64
}

// errorsOf a made-up diary: standard deviations.
type errorsOf struct {
	woodShare, woodKg, kWhShare, kWh, socPct float64
	swing, memory                            float64 // of the day's load
	badShare                                 float64 // rows with wood doubled, or digits swapped
}

var usualErrors = errorsOf{woodShare: 0.03, woodKg: 0.2, kWhShare: 0.003, kWh: 0.05, socPct: 1, swing: 0.12, memory: 0.3}

// madeUp makes a diary of days by a simple law of its own, minute by minute: each
// day a run from a random time until the bank holds a random share, so that runs
// differ in length and the bank holds some of them back.
func madeUp(scenario *sim.Household, w truth, noise errorsOf, days int, seed uint64) []Row {
	random := rand.New(rand.NewPCG(seed, 5))
	h := scenario.House
	bank, full := &h.Bank, h.Bank.FullKWh
	const monthH = 730.5 // mean length of a month
	leak := 1 - math.Pow(1-bank.SelfDischargeShare, 1.0/60/monthH)
	stored, z := 0.7*full, random.NormFloat64()
	var rows []Row
	for day := range days {
		z = noise.memory*z + math.Sqrt(1-noise.memory*noise.memory)*random.NormFloat64()
		sigma := math.Sqrt(math.Log1p(noise.swing * noise.swing))
		factor := w.loadFactor * math.Exp(sigma*z-sigma*sigma/2)
		start := 13*60 + random.IntN(240)
		target, moisture := (0.72+0.18*random.Float64())*full, 0.10+0.12*random.Float64()
		if random.IntN(5) < 2 { // to nearly full: the bank holds the engine back
			target = 0.985 * full
		}
		lightUpMinutes, minutesADay := h.Set.LightUpMinutes, 24*60
		running, ran, made, row := false, 0, 0.0, Row{}
		for minute := range minutesADay {
			if minute == start {
				running = true
				row = Row{Date: h.Span.Start + calendar.Date(day), StartMinute: minute, MoisturePct: 100 * moisture, SocStartPct: 100 * stored / full}
			}
			if running && (ran >= 60 && stored >= target || ran >= 7*60 || minute == minutesADay-1) {
				running = false
				hours := float64(ran-lightUpMinutes) / 60
				row.StopMinute, row.KWh, row.SocEndPct = minute, made, 100*stored/full
				row.WoodAsIsKg = (w.lightUpKg + w.idleKgH*hours + w.perKWhKg*made) / h.Factors.Heat(moisture) / (1 - moisture)
				rows = append(rows, row)
			}
			load := factor * scenario.Demand.ExpectedLoadKW[day*h.Span.StepsADay()+minute/h.Span.StepMinutes]
			stored *= 1 - leak
			if running {
				ran++
			}
			if !running || ran <= lightUpMinutes {
				stored -= (load/bank.InverterEfficiency + bank.InverterIdleKW) / w.discharging / 60
				continue
			}
			accept := min(bank.ChargerKW, bank.MaxChargeKW/bank.ChargerEfficiency, (full-stored)/bank.TaperHours/bank.ChargerEfficiency/w.charging)
			kw := min(w.kw*h.Factors.Power(moisture), load+accept)
			made += kw / 60
			stored += w.charging * bank.ChargerEfficiency * (kw - load) / 60
		}
	}
	for i := range rows {
		rows[i].spoil(noise, random)
	}
	return rows
}

// spoil puts errors of reading on a row.
func (r *Row) spoil(noise errorsOf, random *rand.Rand) {
	r.WoodAsIsKg = max(0, r.WoodAsIsKg*(1+noise.woodShare*random.NormFloat64())+noise.woodKg*random.NormFloat64())
	r.KWh = max(0, r.KWh*(1+noise.kWhShare*random.NormFloat64())+noise.kWh*random.NormFloat64())
	for _, soc := range []*float64{&r.SocStartPct, &r.SocEndPct} {
		*soc = min(100, max(0, *soc+noise.socPct*random.NormFloat64()))
	}
	if random.Float64() >= noise.badShare {
		return
	}
	switch random.IntN(3) {
	case 0:
		r.WoodAsIsKg *= 2
	case 1:
		r.SocEndPct = swapDigits(r.SocEndPct)
	case 2:
		r.KWh = swapDigits(10*r.KWh) / 10
	}
}

// swapDigits swaps the two digits before the point.
func swapDigits(x float64) float64 {
	whole := math.Floor(x)
	return 10*math.Mod(whole, 10) + math.Mod(math.Floor(whole/10), 10) + x - whole
}
