package diary

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A WoodFit is what a diary tells of the wood that runs take: oven-dry, of the rated
// moisture.
type WoodFit struct {
	WoodIdleKgH, WoodPerKWhKg, LightUpKg Estimate
	WoodDrift                            Drift       // kg/kWh beyond what a run of that length and power takes
	Runs                                 []FittedRun // one for each row
}

// A FittedRun is a row beside the fit of its wood; NaN where it does not tell.
type FittedRun struct {
	WoodDryKg        float64 // turned into wood of the rated moisture
	ExpectedDryKg    float64 // of the fit; of the scenario where it tells nothing
	WoodPerKWhKg     float64
	ExpectedPerKWhKg float64
	PowerKW          float64 // mean over the engine hours
	LeftOut          bool    // by a fit, as odd
}

// Columns of the wood of a run.
const (
	lightUp = iota // kg
	noLoad         // kg/h
	perKWh         // kg
	woodColumns
)

type woodValues [woodColumns]float64

var woodNames = [woodColumns]string{"light-up wood", "no-load wood", "wood for each kWh"}

// whyEntangled says why two of the columns cannot be told apart, and what would help.
var whyEntangled = map[[2]int]string{
	{lightUp, noLoad}: "the runs are all about as long: light-up wood and no-load wood cannot be told apart; " +
		"vary the length of some runs",
	{lightUp, perKWh}: "the runs all make about as much: light-up wood and wood for each kWh cannot be told apart; " +
		"vary the length of some runs",
	{noLoad, perKWh}: "the engine always works about as hard: " +
		"no-load wood and wood for each kWh cannot be told apart; runs at another power would tell",
}

// fitWood fits the fuel line and the light-up.
func fitWood(h *datedHousehold, rows []Row) (WoodFit, []Outlier) {
	idleKgH, perKWhKg := h.fuelLine()
	scenario := woodValues{h.House.Set.LightUpKg, idleKgH, perKWhKg}
	estimates, values, odd := newWoodRows(h, rows).estimates(scenario)
	f := WoodFit{LightUpKg: estimates[lightUp], WoodIdleKgH: estimates[noLoad], WoodPerKWhKg: estimates[perKWh]}
	expectedDryKg := h.expectedDryKg
	if values != nil {
		expectedDryKg = func(r *Row) float64 {
			return values[lightUp] + values[noLoad]*h.engineHours(r) + values[perKWh]*r.KWh
		}
	}
	f.Runs, f.WoodDrift = fittedRuns(h, rows, expectedDryKg)
	return f, odd
}

// leastKWh is what a run must have made to be told by the kWh: less no meter shows.
// A judgement, no source.
const leastKWh = 0.01

// fittedRuns puts the rows beside the wood expected of them, and fits the drift of what
// they take beyond it.
func fittedRuns(h *datedHousehold, rows []Row, expectedDryKg func(r *Row) float64) ([]FittedRun, Drift) {
	runs := make([]FittedRun, len(rows))
	var days, beyond []float64
	for i := range rows {
		r := &rows[i]
		run := &runs[i]
		*run = FittedRun{h.ratedDryKg(r), NotNoted(), NotNoted(), NotNoted(), NotNoted(), false}
		if hours := h.engineHours(r); hours > 0 {
			run.PowerKW = r.KWh / hours
		}
		if !Noted(r.KWh) {
			continue
		}
		run.ExpectedDryKg = expectedDryKg(r)
		if r.KWh > 0 {
			run.ExpectedPerKWhKg = run.ExpectedDryKg / r.KWh
		}
		if r.KWh >= leastKWh {
			run.WoodPerKWhKg = run.WoodDryKg / r.KWh
			if Noted(run.WoodDryKg) {
				days, beyond = append(days, float64(r.Date)), append(beyond, (run.WoodDryKg-run.ExpectedDryKg)/r.KWh)
			}
		}
	}
	return runs, drift(days, beyond)
}

// woodRows are the rows that tell wood, in figures.
type woodRows struct {
	rows   []int
	column [woodColumns][]float64
	dryKg  []float64
	root   []float64 // of the run's length, over the mean one
}

func newWoodRows(h *datedHousehold, rows []Row) *woodRows {
	w := &woodRows{}
	for i := range rows {
		r := &rows[i]
		if !Noted(r.WoodAsIsKg) || !Noted(r.KWh) {
			continue
		}
		w.rows = append(w.rows, i)
		w.column[lightUp] = append(w.column[lightUp], 1)
		w.column[noLoad] = append(w.column[noLoad], h.engineHours(r))
		w.column[perKWh] = append(w.column[perKWh], r.KWh)
		w.dryKg = append(w.dryKg, h.ratedDryKg(r))
		w.root = append(w.root, math.Sqrt(float64(r.StopMinute-r.StartMinute)))
	}
	if len(w.root) > 0 {
		floats.Scale(1/(floats.Sum(w.root)/float64(len(w.root))), w.root)
	}
	return w
}

// estimates fits the columns. What cannot be told apart, or comes out below zero, is
// held at the scenario's value and the rest fitted anew; values are those fitted and
// held, nil where nothing is told.
func (w *woodRows) estimates(scenario woodValues) (all [woodColumns]Estimate, values *woodValues, odd []Outlier) {
	n := len(w.rows)
	if n < leastRows {
		for j := range all {
			all[j] = tooFew(n, "runs with their wood and kWh")
		}
		return all, nil, nil
	}
	fit, free, why := w.fit(scenario)
	restsOn := ""
	for j, reason := range why {
		if reason == "" {
			continue
		}
		all[j] = held(scenario[j], n, reason)
		if restsOn == "" {
			restsOn = fmt.Sprintf("this rests on the %s held at %.3g", woodNames[j], scenario[j])
		}
	}
	if len(free) == 0 {
		return all, nil, nil
	}
	for k, j := range free {
		all[j] = fit.estimate(k)
		if restsOn != "" {
			all[j].Why = restsOn
		}
		scenario[j] = fit.values[k]
	}
	return all, &scenario, outliers(Wood, w.rows, fit.weights)
}

// fit fits the free columns: the others are held at the scenario's values, with the
// reason in why, until these are told apart and none comes out below zero.
func (w *woodRows) fit(scenario woodValues) (fit regression, free []int, why [woodColumns]string) {
	for j := range why {
		if !slices.ContainsFunc(w.column[j], func(x float64) bool { return x != 0 }) {
			why[j] = fmt.Sprintf("no run tells the %s", woodNames[j])
		}
	}
	for {
		free = free[:0]
		rest := slices.Clone(w.dryKg)
		for j := range scenario {
			if why[j] == "" {
				free = append(free, j)
				continue
			}
			for i, x := range w.column[j] {
				rest[i] -= scenario[j] * x
			}
		}
		if len(free) == 0 {
			return regression{}, nil, why
		}
		x := mat.NewDense(len(rest), len(free), nil)
		for k, j := range free {
			x.SetCol(k, w.column[j])
		}
		if condition, a, b := entangled(x); condition > hopelessCondition {
			why[free[a]] = whyEntangled[[2]int{free[a], free[b]}]
			continue
		}
		fit = w.robustly(x, rest)
		condition, a, b := entangled(weighted(x, fit.weights)) // but for rows that are wrong
		if condition > hopelessCondition || condition > mostCondition && (fit.vague(a) || fit.vague(b)) {
			why[free[a]] = whyEntangled[[2]int{free[a], free[b]}]
			continue
		}
		if k := slices.IndexFunc(fit.values, func(v float64) bool { return !(v >= 0) }); k >= 0 {
			why[free[k]] = fmt.Sprintf("the diary gives less than nothing for the %s", woodNames[free[k]])
			continue
		}
		return fit, free, why
	}
}

// robustly fits the rows, each less heavy by the root of its run's length: what
// scales and moisture meters get wrong grows with the wood, though not all of it.
// A judgement, no source.
func (w *woodRows) robustly(x *mat.Dense, y []float64) regression {
	even, target := mat.DenseCopyOf(x), slices.Clone(y)
	for i, root := range w.root {
		floats.Scale(1/root, even.RawRowView(i))
		target[i] /= root
	}
	return robustly(even, target)
}
