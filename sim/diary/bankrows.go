package diary

import (
	"math"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// A stretch is a run, or the time between two runs, of which the charge is noted
// at both ends. What happened in it is one equation of the bank's fit:
//
//	gained + leaked = charging·in − out/discharging
//
// with in and out the energies at the bank's terminals. Load is scaled by a factor.
type stretch struct {
	row     int // the run, or the one before
	run     bool
	fromKWh float64 // stored
	gainKWh float64
	leakKWh float64
	madeKWh float64 // in a run
	size    float64 // by which its scatter grows: days of a gap, 1 of a run
	// efficiency of charging that the scenario's curve gives, mean over the charge gained
	curve  float64
	pieces []piece
}

// energies are those at the bank's terminals by the load's factor, kWh, with
// their derivatives.
type energies struct{ in, out, inByLoad, outByLoad float64 }

// energies works out a stretch. In the engine hours of a run its energy serves
// the house first; in the light-up and between runs the bank does, and its
// inverter idles.
func (s *stretch) energies(h *sim.House, loadFactor float64) energies {
	var e energies
	bank := &h.Bank
	balance := func(surplusKWh, loadKWh float64) {
		if surplusKWh >= 0 {
			e.in += surplusKWh * bank.ChargerEfficiency
			e.inByLoad -= loadKWh * bank.ChargerEfficiency
			return
		}
		e.out -= surplusKWh / bank.InverterEfficiency
		e.outByLoad += loadKWh / bank.InverterEfficiency
	}
	engineKWh, engineLoadKWh, engineH := s.madeKWh, 0.0, 0.0
	for i := range s.pieces {
		p := &s.pieces[i]
		surplusKWh, loadKWh := (p.otherKW-p.choreKW-loadFactor*p.loadKW)*p.hours, p.loadKW*p.hours
		if p.ready > 0 {
			engineKWh += surplusKWh
			engineLoadKWh += loadKWh
			engineH += p.hours
			continue
		}
		balance(surplusKWh, loadKWh)
		e.out += bank.InverterIdleKW * p.hours
	}
	if engineH > 0 {
		balance(engineKWh, engineLoadKWh)
	}
	return e
}

// stretches are those of a diary that tell of the bank, in the order of time. Left
// out are runs that may have spilled and gaps of more than three days.
func (e *expecter) stretches(rows []Row) []stretch {
	var all []stretch
	for i := range rows {
		r := &rows[i]
		if s, ok := e.runStretch(r); ok {
			s.row = i
			all = append(all, s)
		}
		if i+1 < len(rows) {
			if s, ok := e.gapStretch(r, &rows[i+1]); ok {
				s.row = i
				all = append(all, s)
			}
		}
	}
	return all
}

func (e *expecter) runStretch(r *Row) (stretch, bool) {
	if !Noted(r.KWh) || e.engineHours(r) == 0 {
		return stretch{}, false
	}
	s, ok := e.stretch(e.runPieces(r), r.SocStartPct, r.SocEndPct)
	s.run, s.madeKWh, s.size = true, r.KWh, 1
	return s, ok && e.takesKW(r, s.pieces) >= e.House.Set.LeastKW
}

func (e *expecter) gapStretch(before, after *Row) (stretch, bool) {
	minutes := after.from() - before.to()
	if minutes <= 0 || minutes > longestGapDays*calendar.MinutesADay {
		return stretch{}, false
	}
	s, ok := e.stretch(e.gapPieces(before, after), before.SocEndPct, after.SocStartPct)
	s.size = float64(minutes) / calendar.MinutesADay
	return s, ok
}

// nearFloorPct is how far above the floor a gap must be expected to end: nearer,
// on a day of much use the house may have been dark, and less was drawn than it
// wanted. By what is expected, not by what was noted, or the days of much use
// alone would be left out. A judgement, no source.
const nearFloorPct = 10

// nearFloor reports whether a gap is expected to end near the floor, with the
// load scaled by a factor.
func (s *stretch) nearFloor(h *sim.House, loadFactor float64) bool {
	if s.run {
		return false
	}
	en := s.energies(h, loadFactor)
	end := s.fromKWh - s.leakKWh + s.curve*en.in - en.out/h.Bank.DischargeEfficiency
	floor := s.pieces[len(s.pieces)-1].day.Bank.FloorKWh
	return end < floor+nearFloorPct/100.0*h.Bank.FullKWh
}

func (e *expecter) stretch(pieces []piece, fromPct, toPct float64) (stretch, bool) {
	if !Noted(fromPct) || !Noted(toPct) {
		return stretch{}, false
	}
	full := e.House.Bank.FullKWh
	from, to := fromPct/100*full, toPct/100*full
	s := stretch{fromKWh: from, gainKWh: to - from, pieces: pieces, curve: e.chargeEfficiency(from, to)}
	stored := (from + to) / 2 // in the mean
	for i := range pieces {
		bank := pieces[i].day.Bank
		kept := 1 - bank.LeakKWh(1) // in a step
		s.leakKWh += stored * (1 - math.Pow(kept, pieces[i].hours/bank.StepH))
	}
	return s, true
}

// chargeEfficiency is the scenario's, mean over charging from one stored energy
// to another: what is gained over what it takes.
func (e *expecter) chargeEfficiency(from, to float64) float64 {
	bank := e.House.Days[0].Bank
	if to <= from {
		return bank.ChargeEfficiency(from)
	}
	const slices = 20
	takes := 0.0
	for i := range slices {
		takes += (to - from) / slices / bank.ChargeEfficiency(from+(to-from)*(float64(i)+0.5)/slices)
	}
	return (to - from) / takes
}

// loadKWhPerDay is the load expected on the mean day from a diary's first to its last.
func (e *expecter) loadKWhPerDay(rows []Row) float64 {
	first, last := rows[0].Date, rows[len(rows)-1].Date
	perDay, sum := e.House.Span.StepsADay(), 0.0
	for date := first; date <= last; date++ {
		step := e.almanac.day(date) * perDay
		for _, kw := range e.Demand.ExpectedLoadKW[step : step+perDay] {
			sum += kw * e.House.Span.StepH()
		}
	}
	return sum / float64(last-first+1)
}
