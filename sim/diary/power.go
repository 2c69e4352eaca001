package diary

import "gonum.org/v1/gonum/mat"

// roomToSpare is how much more than a run's mean power the house and the bank
// must take for the engine to count as not held back: a judgement, no source.
const roomToSpare = 1.05

// heldBack reports whether the bank may have held the engine back at the run's
// end: house and bank together take less than its mean power with room to spare.
func (e *expecter) heldBack(r *Row, pieces []piece) bool {
	return e.takesKW(r, pieces) < roomToSpare*r.KWh/e.engineHours(r)
}

// takesKW is what the house, in the mean of the run's engine hours, and the bank,
// at its end, take of the engine.
func (e *expecter) takesKW(r *Row, pieces []piece) float64 {
	netKWh, hours := 0.0, 0.0
	for i := range pieces {
		p := &pieces[i]
		netKWh += (p.loadKW + p.choreKW - p.otherKW) * p.hours * p.ready
		hours += p.hours * p.ready
	}
	return netKWh/hours + e.dayOf(r.Date).Bank.AcceptKW(r.SocEndPct/100*e.House.Bank.FullKWh)
}

// fitPower fits the set's power to the runs in which the bank did not hold the
// engine back.
func (f *Fit) fitPower(e *expecter, rows []Row) {
	var told []int
	var kWh, ratedHours, days, kw []float64
	noted := 0
	for i := range rows {
		r := &rows[i]
		hours := e.engineHours(r)
		if hours == 0 || !Noted(r.KWh) || !Noted(r.SocEndPct) {
			continue
		}
		noted++
		factor := e.powerFactor(r)
		if !(factor > 0) || e.heldBack(r, e.runPieces(r)) {
			continue
		}
		told = append(told, i)
		kWh, ratedHours = append(kWh, r.KWh), append(ratedHours, hours*factor)
		days, kw = append(days, float64(r.Date)), append(kw, r.KWh/(hours*factor))
	}
	f.PowerDrift = drift(days, kw)
	n := len(told)
	if n < leastRows {
		f.KW = notTold(n, "%d or more runs are needed in which the bank did not hold the engine back; of %d with their kWh and charge there are %d", leastRows, noted, n)
		f.PowerDrift.PerDay = f.KW
		return
	}
	fit := robustly(mat.NewDense(n, 1, ratedHours), kWh)
	if !(fit.values[0] > 0) {
		f.KW = notTold(n, "the runs made no electricity")
		return
	}
	f.KW = within90(fit.values[0], fit.covariance.At(0, 0), fit.freedom, n)
	f.outliers(OfPower, told, fit.weights, fit.residual)
}
