package diary

import (
	"fmt"
	"math"
	"slices"
)

// widestPoints is the half of a discharge efficiency's interval, in points, beyond
// which the diary tells it no better than the scenario: a judgement, no source.
const widestPoints = 10

// meanCurve is the scenario's charging efficiency, mean over what charged.
func (b *bankFit) meanCurve() float64 {
	in, kept := 0.0, 0.0
	for i := range b.stretches {
		if s := &b.stretches[i]; s.run {
			into := s.energies(b.e.House, b.unknowns[loadFactor]).in
			in += into
			kept += into * s.curve
		}
	}
	return kept / in
}

// mostUnevenUse is the scatter of what the gaps took, of their usual size, above which
// discharging is not told: how much a run makes follows the use of its day, and the
// two are then taken for one another. A judgement, no source.
const mostUnevenUse = 0.03

func (b *bankFit) unevenUse() float64 {
	var took []float64
	for i := range b.stretches {
		if s := &b.stretches[i]; !s.run {
			took = append(took, -s.gainKWh/s.size)
		}
	}
	return b.scale[0] / math.Abs(median(took))
}

// whyDischarge says why the discharge efficiency is held; "" where the diary tells it.
func (b *bankFit) whyDischarge(scenario float64) string {
	at := fmt.Sprintf("discharge efficiency held at the scenario's %g %%: ", 100*scenario)
	if b.covariance == nil {
		return at + "the diary cannot tell it from the house's use"
	}
	if b.unevenUse() > mostUnevenUse {
		return at + "the house's use differs too much from day to day to tell it"
	}
	efficiency := 1 / b.unknowns[perDrawn]
	reach := quantile(b.freedom()) * math.Sqrt(b.variance(0, 0, efficiency*efficiency))
	switch {
	case !(efficiency > 0 && efficiency <= 1):
		return at + "the diary puts it beyond what can be"
	case !(100*reach <= widestPoints):
		return at + fmt.Sprintf("the diary tells it, apart from the house's use, to ±%.0f points only", 100*reach)
	}
	return ""
}

// mostElsewhere is the share of the rows that may fall on days the span does not
// hold; the house's use is that of its season. A judgement, no source.
const mostElsewhere = 0.1

// floorTurns: the load that tells which gaps end near the floor is the fit's own.
const floorTurns = 3

// fitBank fits the bank's efficiencies and the house's use together.
func (f *Fit) fitBank(e *expecter, rows []Row) {
	if n := Elsewhere(rows, e.House.Span); float64(n) > mostElsewhere*float64(len(rows)) {
		f.noBank(notTold(len(rows), "%d of the runs fall on days of the year that the scenario's span does not hold, and its load there is not known: fit with a span of a year", n))
		return
	}
	all := e.stretches(rows)
	var stretches []stretch
	var heldFit *bankFit
	for load, turn := 1.0, 0; turn < floorTurns; turn++ {
		before := len(stretches)
		stretches = slices.DeleteFunc(slices.Clone(all), func(s stretch) bool { return s.nearFloor(e.House, load) })
		if why, ok := e.enough(rows, stretches); !ok {
			f.noBank(why)
			return
		}
		if len(stretches) == before {
			break // the same ones
		}
		heldFit = fitStretches(e, stretches, bankUnknowns-1)
		load = heldFit.unknowns[loadFactor]
	}
	b := fitStretches(e, stretches, bankUnknowns)
	b.covariance = b.sandwich()
	reason := b.whyDischarge(e.House.Bank.DischargeEfficiency)
	if reason != "" {
		b = heldFit
		b.covariance = b.sandwich()
	}
	f.takeBank(b, rows, reason)
}

// enough reports whether there are stretches enough to fit, and why not.
func (e *expecter) enough(rows []Row, stretches []stretch) (why Estimate, ok bool) {
	runs := 0
	for i := range stretches {
		if stretches[i].run {
			runs++
		}
	}
	switch gaps := len(stretches) - runs; {
	case runs < leastRows:
		return tooFew(runs, "runs that did not spill, with their kWh and the charge at both ends"), false
	case gaps < leastRows:
		return tooFew(gaps, "stretches between runs, of up to three days and well above the floor, with the charge at both ends"), false
	case !(e.loadKWhPerDay(rows) > 0):
		return notTold(len(stretches), "the scenario expects no load to scale"), false
	}
	return Estimate{}, true
}

func (f *Fit) noBank(why Estimate) {
	for _, estimate := range []*Estimate{&f.HouseKWhPerDay, &f.LoadFactor, &f.RoundTripPct, &f.ChargePct, &f.DischargePct} {
		*estimate = why
	}
}

// takeBank reads the figures off a fit; reason says why discharging is held.
func (f *Fit) takeBank(b *bankFit, rows []Row, reason string) {
	n, u := len(b.stretches), b.unknowns
	curve := b.meanCurve()
	if !(b.covariance != nil && u[chargeMore] > 0 && u[loadFactor] > 0 && curve > 0) {
		f.noBank(notTold(n, "charge and kWh do not fit together: look at both meters and at the bank's size"))
		return
	}
	freedom := b.freedom()
	f.LoadFactor = within90(u[loadFactor], b.variance(0, 1, 0), freedom, n)
	f.HouseKWhPerDay = f.LoadFactor.scaled(b.e.loadKWhPerDay(rows))
	f.ChargePct = within90(100*curve*u[chargeMore], b.variance(100*curve, 0, 0), freedom, n)
	discharging := 1 / u[perDrawn]
	roundTrip := 100 * curve * u[chargeMore] * discharging
	f.RoundTripPct = within90(roundTrip, b.variance(100*curve*discharging, 0, -roundTrip*discharging), freedom, n)
	if reason != "" {
		f.DischargePct = held(100*discharging, n, reason)
		for _, estimate := range []*Estimate{&f.LoadFactor, &f.HouseKWhPerDay, &f.ChargePct, &f.RoundTripPct} {
			estimate.Why = reason
		}
	} else {
		f.DischargePct = within90(100*discharging, b.variance(0, 0, 100*discharging*discharging), freedom, n)
	}
	f.chargeMore = u[chargeMore]
	for _, estimate := range []*Estimate{&f.ChargePct, &f.DischargePct, &f.RoundTripPct} {
		estimate.capAt100()
	}
	f.bankOutliers(b)
}

// capAt100 cuts off what no efficiency can be; one that lies wholly beyond is not told.
func (e *Estimate) capAt100() {
	if e.Low > 100 {
		*e = notTold(e.Rows, "the diary puts it above 100 %%: look at the meters of charge and kWh, and at the bank's size")
		return
	}
	if e.Told() {
		e.Value, e.High = min(e.Value, 100), min(e.High, 100)
	}
}

func (f *Fit) bankOutliers(b *bankFit) {
	for _, kind := range []Of{OfRun, OfGap} {
		var rows []int
		var weights, residual []float64
		for i := range b.stretches {
			if b.stretches[i].run == (kind == OfRun) {
				rows, weights, residual = append(rows, b.stretches[i].row), append(weights, b.weights[i]), append(residual, b.residual[i])
			}
		}
		f.outliers(kind, rows, weights, residual)
	}
}
