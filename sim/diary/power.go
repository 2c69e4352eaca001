package diary

import "gonum.org/v1/gonum/mat"

// A PowerFit is what a diary tells of the set's power.
type PowerFit struct {
	KW         Estimate // on wood at the rated moisture, in the air kw was rated in
	PowerDrift Drift    // kW at the rated moisture, of runs that the bank did not hold back
}

// roomToSpare is how much more than a run's mean power the house and the bank
// must take for the engine to count as not held back: a judgement, no source.
const roomToSpare = 1.05

// fitPower fits the set's power to the runs in which the bank did not hold the
// engine back: house and bank together take more than its mean power with room to spare.
func fitPower(h *datedHousehold, rows []Row) (PowerFit, []Outlier) {
	var told []int
	var kWh, ratedHours, days, kw []float64
	noted := 0
	for i := range rows {
		r := &rows[i]
		hours := h.engineHours(r)
		if hours == 0 || !Noted(r.KWh) || !Noted(r.SocEndPct) {
			continue
		}
		noted++
		factor := h.engine(r).MostKW / h.House.Set.KW
		if !(factor > 0) || h.takesKW(r, h.runParts(r)) < roomToSpare*r.KWh/hours {
			continue
		}
		told = append(told, i)
		kWh, ratedHours = append(kWh, r.KWh), append(ratedHours, hours*factor)
		days, kw = append(days, float64(r.Date)), append(kw, r.KWh/(hours*factor))
	}
	n := len(told)
	if n < leastRows {
		why := notTold(n, "%d or more runs are needed in which the bank did not hold the engine back; of %d with their "+
			"kWh and charge there are %d", leastRows, noted, n)
		return PowerFit{KW: why, PowerDrift: Drift{PerDay: why}}, nil
	}
	f := PowerFit{PowerDrift: drift(days, kw)}
	fit := robustly(mat.NewDense(n, 1, ratedHours), kWh)
	if !(fit.values[0] > 0) {
		f.KW = notTold(n, "the runs made no electricity")
		return f, nil
	}
	f.KW = fit.estimate(0)
	return f, outliers(Power, told, fit.weights)
}
