package diary

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Columns of the wood of a run: light-up, no load, for each kWh.
const (
	lightUp = iota
	noLoad
	perKWh
	woodColumns
)

var woodNames = [woodColumns]string{"light-up wood", "no-load wood", "wood for each kWh"}

// whyEntangled says why two of the columns cannot be told apart, and what would help.
func whyEntangled(a, b int) string {
	reasons := map[[2]int]string{
		{lightUp, noLoad}: "the runs are all about as long: light-up wood and no-load wood cannot be told apart; vary the length of some runs",
		{lightUp, perKWh}: "the runs all make about as much: light-up wood and wood for each kWh cannot be told apart; vary the length of some runs",
		{noLoad, perKWh}:  "the engine always works about as hard: no-load wood and wood for each kWh cannot be told apart; runs at another power would tell",
	}
	return reasons[[2]int{a, b}]
}

// woodRows are the rows that tell wood, in figures.
type woodRows struct {
	rows   []int
	column [woodColumns][]float64
	dryKg  []float64
	root   []float64 // of the run's length, over the mean one
}

func (e *expecter) woodRows(rows []Row) *woodRows {
	w := &woodRows{}
	for i := range rows {
		r := &rows[i]
		if !Noted(r.WoodAsIsKg) || !Noted(r.KWh) {
			continue
		}
		w.rows = append(w.rows, i)
		w.column[lightUp] = append(w.column[lightUp], 1)
		w.column[noLoad] = append(w.column[noLoad], e.engineHours(r))
		w.column[perKWh] = append(w.column[perKWh], r.KWh)
		w.dryKg = append(w.dryKg, e.ratedDryKg(r))
		w.root = append(w.root, math.Sqrt(float64(r.StopMinute-r.StartMinute)))
	}
	if len(w.root) > 0 {
		floats.Scale(1/(floats.Sum(w.root)/float64(len(w.root))), w.root)
	}
	return w
}

// fitWood fits the fuel line and the light-up. What cannot be told apart, or
// comes out below zero, is held at the scenario's value and the rest fitted anew.
func (f *Fit) fitWood(e *expecter, rows []Row) {
	w := e.woodRows(rows)
	n := len(w.rows)
	estimates := [woodColumns]*Estimate{&f.LightUpKg, &f.WoodIdleKgH, &f.WoodPerKWhKg}
	if n < leastRows {
		for _, estimate := range estimates {
			*estimate = tooFew(n, "runs with their wood and kWh")
		}
		f.points(e, rows, nil)
		return
	}
	idleKgH, perKWhKg := e.line()
	scenario := [woodColumns]float64{e.House.Set.LightUpKg, idleKgH, perKWhKg}
	why := map[int]string{}
	for j := range scenario {
		if !slices.ContainsFunc(w.column[j], func(x float64) bool { return x != 0 }) {
			why[j] = fmt.Sprintf("no run tells the %s", woodNames[j])
		}
	}
	fit, free := w.fit(scenario, why)
	values := scenario
	for k, j := range free {
		*estimates[j] = within90(fit.values[k], fit.covariance.At(k, k), fit.freedom, n)
		values[j] = fit.values[k]
	}
	for j, reason := range why {
		*estimates[j] = held(scenario[j], n, reason)
	}
	for _, j := range free {
		for k, name := range woodNames { // in order
			if why[k] != "" {
				estimates[j].Why = fmt.Sprintf("this rests on the %s held at %.3g", name, scenario[k])
				break
			}
		}
	}
	if len(free) == 0 {
		f.points(e, rows, nil)
		return
	}
	f.outliers(OfWood, w.rows, fit.weights, fit.residual)
	f.points(e, rows, &values)
}

// fit holds columns, with the reason in why, until the others are told apart and
// none comes out below zero; free are the columns fitted.
func (w *woodRows) fit(scenario [woodColumns]float64, why map[int]string) (fit regression, free []int) {
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
			return regression{}, nil
		}
		x := mat.NewDense(len(rest), len(free), nil)
		for k, j := range free {
			x.SetCol(k, w.column[j])
		}
		if condition, a, b := entangled(x); condition > hopelessCondition {
			why[free[a]] = whyEntangled(free[a], free[b])
			continue
		}
		fit = w.robustly(x, rest)
		condition, a, b := entangled(weighted(x, fit.weights)) // but for rows that are wrong
		if condition > hopelessCondition || condition > mostCondition && (fit.vague(a) || fit.vague(b)) {
			why[free[a]] = whyEntangled(free[a], free[b])
			continue
		}
		if k := slices.IndexFunc(fit.values, func(v float64) bool { return !(v >= 0) }); k >= 0 {
			why[free[k]] = fmt.Sprintf("the diary gives less than nothing for the %s", woodNames[free[k]])
			continue
		}
		return fit, free
	}
}

// vagueShare of a value: an interval that reaches farther to either side tells
// nothing that a household could use. A judgement, no source.
const vagueShare = 0.4

// vague reports whether a value's 90 % interval is of no use.
func (r *regression) vague(j int) bool {
	return quantile(r.freedom)*math.Sqrt(r.covariance.At(j, j)) > vagueShare*math.Abs(r.values[j])
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
	fit := robustly(even, target)
	for i, root := range w.root {
		fit.residual[i] *= root
	}
	return fit
}

// leastKWh is what a run must have made to be told by the kWh: less no meter shows.
// A judgement, no source.
const leastKWh = 0.01

// points puts the rows into figures, with the wood of the fit or, without one,
// of the scenario, and fits the drift of the wood.
func (f *Fit) points(e *expecter, rows []Row, values *[woodColumns]float64) {
	var days, beyond []float64
	for i := range rows {
		r := &rows[i]
		hours := e.engineHours(r)
		p := Point{Row: i, WoodDryKg: e.ratedDryKg(r), ExpectedDryKg: NotNoted(), WoodPerKWhKg: NotNoted(), PowerKW: NotNoted()}
		if Noted(r.KWh) && values != nil {
			p.ExpectedDryKg = values[lightUp] + values[noLoad]*hours + values[perKWh]*r.KWh
		} else if Noted(r.KWh) {
			p.ExpectedDryKg = e.ratedDryOfRunKg(r)
		}
		if hours > 0 {
			p.PowerKW = r.KWh / hours
		}
		if r.KWh >= leastKWh {
			p.WoodPerKWhKg = p.WoodDryKg / r.KWh
			if Noted(p.WoodDryKg) {
				days, beyond = append(days, float64(r.Date)), append(beyond, p.ResidualKg()/r.KWh)
			}
		}
		f.Points = append(f.Points, p)
	}
	f.WoodDrift = drift(days, beyond)
}
