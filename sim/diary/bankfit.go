package diary

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Unknowns of the bank's fit: a factor on the scenario's charging efficiency, a
// factor on its load, and kWh out of the wells for each at the terminals.
const (
	chargeMore = iota
	loadFactor
	perDrawn
	bankUnknowns
)

// bankFit is a robust nonlinear fit of the stretches by Gauss–Newton: least squares
// of all three unknowns, or with discharging held the two sums, of runs and of gaps,
// set equal to what the unknowns make of them.
type bankFit struct {
	e          *expecter
	stretches  []stretch
	unknowns   [bankUnknowns]float64
	free       int // the first so many are fitted
	residual   []float64
	weights    []float64
	scale      [2]float64 // of gaps, of runs
	jacobian   *mat.Dense // by the free unknowns, in the scale of each stretch
	pulls      *mat.Dense // what a stretch's residual is weighed by for each
	covariance *mat.Dense // nil where there is none
}

// scaleOf is the scatter of a stretch: that of its kind, growing with the root of its size.
func (b *bankFit) scaleOf(i int) float64 {
	s := &b.stretches[i]
	if s.run {
		return b.scale[1] * math.Sqrt(s.size)
	}
	return b.scale[0] * math.Sqrt(s.size)
}

// look works out residuals, scales and the jacobian at the present values.
func (b *bankFit) look() {
	u := &b.unknowns
	var sizes [2][]float64
	for i := range b.stretches {
		s := &b.stretches[i]
		en := s.energies(b.e.House, u[loadFactor])
		charging := u[chargeMore] * s.curve
		b.residual[i] = s.gainKWh + s.leakKWh - charging*en.in + u[perDrawn]*en.out
		slopes := [bankUnknowns]float64{s.curve * en.in, charging*en.inByLoad - u[perDrawn]*en.outByLoad, -en.out}
		b.jacobian.SetRow(i, slopes[:b.free])
		kind := 0
		if s.run {
			kind = 1
		}
		sizes[kind] = append(sizes[kind], b.residual[i]/math.Sqrt(s.size))
	}
	for kind, residual := range sizes {
		b.scale[kind] = math.Max(spread(residual), exact(b.gains()))
	}
	for i := range b.stretches {
		floats.Scale(1/b.scaleOf(i), b.jacobian.RawRowView(i))
	}
	b.pulls.Copy(b.jacobian)
	if b.free == bankUnknowns {
		return
	}
	// sums, not squares: how long a gap is, and how much a run makes, depend on the use
	// of the days before it, and by their squares days of much use would count less
	for i := range b.stretches {
		pull := math.Sqrt(b.stretches[i].size)
		if b.stretches[i].run {
			b.pulls.SetRow(i, []float64{pull, 0})
		} else {
			b.pulls.SetRow(i, []float64{0, pull})
		}
	}
}

func (b *bankFit) gains() []float64 {
	all := make([]float64, len(b.stretches))
	for i := range all {
		all[i] = b.stretches[i].gainKWh
	}
	return all
}

// hubersTurns of the fit weigh by Huber's rule, which has one answer from any
// start; the bisquare goes on from there.
const (
	hubersTurns  = 10
	tuningHubers = 1.345 // Holland & Welsch 1977 (from memory)
	settledBank  = 1e-7  // of an unknown: its turns end when none moves by more
)

// fitStretches fits the first free unknowns from the scenario's values.
func fitStretches(e *expecter, stretches []stretch, free int) *bankFit {
	n := len(stretches)
	b := &bankFit{e: e, stretches: stretches, free: free, residual: make([]float64, n), weights: make([]float64, n),
		jacobian: mat.NewDense(n, free, nil), pulls: mat.NewDense(n, free, nil),
		unknowns: [bankUnknowns]float64{1, 1, 1 / e.House.Bank.DischargeEfficiency}}
	for turn := range mostTurns {
		b.look()
		b.weigh(turn < hubersTurns)
		step, ok := b.step()
		if !ok {
			break
		}
		still := turn >= hubersTurns
		for j, d := range step {
			still = still && math.Abs(d) <= settledBank*math.Abs(b.unknowns[j])
			b.unknowns[j] += d
		}
		if still {
			break
		}
	}
	b.look()
	b.weigh(false)
	b.keep()
	return b
}

// keep leaves out the stretches that the robust fit all but leaves out and fits
// the others alike: days of much use are longer above the usual than those of
// little are below, and the mean is asked for, not the middle.
//
// Source: reweighted least squares, Rousseeuw & Leroy 1987 (from memory).
func (b *bankFit) keep() {
	for i, w := range b.weights {
		b.weights[i] = 1
		if w < leastWeight {
			b.weights[i] = 0
		}
	}
	for range mostTurns {
		step, ok := b.step()
		if !ok {
			return
		}
		still := true
		for j, d := range step {
			still = still && math.Abs(d) <= settledBank*math.Abs(b.unknowns[j])
			b.unknowns[j] += d
		}
		b.look()
		if still {
			return
		}
	}
}

// step solves for the change of the unknowns that the weighted residuals ask for.
func (b *bankFit) step() (step []float64, ok bool) {
	var slope mat.Dense
	slope.Mul(weighted(b.pulls, b.weights).T(), weighted(b.jacobian, b.weights))
	asked := mat.NewVecDense(b.free, nil)
	for i, r := range b.residual {
		asked.AddScaledVec(asked, b.weights[i]*r/b.scaleOf(i), b.pulls.RowView(i))
	}
	var solved mat.VecDense
	if err := solved.SolveVec(&slope, asked); err != nil {
		return nil, false
	}
	step = solved.RawVector().Data
	return step, allNumbers(step)
}

func (b *bankFit) weigh(hubers bool) {
	for i, r := range b.residual {
		u := r / b.scaleOf(i)
		if hubers {
			b.weights[i] = min(1, tuningHubers/math.Abs(u))
			continue
		}
		b.weights[i], _ = bisquare(u)
	}
}

// Errors of so many stretches before and after belong together, six days' at most:
// one reading of charge ends a run and begins a gap, and days of much use follow one
// another. In a short diary fewer can be told.
const (
	mostNeighbours   = 20
	stretchesForEach = 5
)

func (b *bankFit) neighbours() int { return min(mostNeighbours, len(b.stretches)/stretchesForEach) }

// sandwich is the covariance of the unknowns that allows for errors of
// neighbouring stretches that hang together.
//
// Source: Newey & West 1987, Econometrica 55:703 (from memory), on the M-estimator's
// weighted residuals.
func (b *bankFit) sandwich() *mat.Dense {
	n, free, neighbours := len(b.residual), b.free, b.neighbours()
	psi := make([]float64, n)
	for i, r := range b.residual {
		psi[i] = b.weights[i] * r / b.scaleOf(i)
	}
	meat := mat.NewDense(free, free, nil)
	for i := range n {
		for k := max(0, i-neighbours); k <= min(n-1, i+neighbours); k++ {
			share := 1 - math.Abs(float64(i-k))/float64(neighbours+1)
			for p, pull := range b.pulls.RawRowView(i) {
				floats.AddScaled(meat.RawRowView(p), share*psi[i]*psi[k]*pull, b.pulls.RawRowView(k))
			}
		}
	}
	var bread, inverse, covariance mat.Dense
	bread.Mul(weighted(b.pulls, b.weights).T(), weighted(b.jacobian, b.weights))
	if inverse.Inverse(&bread) != nil {
		return nil
	}
	covariance.Mul(&inverse, meat)
	covariance.Mul(&covariance, inverse.T())
	covariance.Scale(float64(n)/float64(n-free-neighbours), &covariance)
	return &covariance
}

// variance is that of a function of the unknowns with a gradient.
func (b *bankFit) variance(gradient ...float64) float64 {
	sum := 0.0
	for p := range b.free {
		for q := range b.free {
			sum += gradient[p] * gradient[q] * b.covariance.At(p, q)
		}
	}
	return sum
}

// freedom is that of the sandwich: a variance summed over neighbours is known less
// well than one of errors that stand alone.
//
// Source: variance of the Bartlett kernel's estimate, Andrews 1991, Econometrica
// 59:817 (from memory).
func (b *bankFit) freedom() float64 {
	n := float64(len(b.stretches))
	return min(n-float64(b.free), 1.5*n/float64(b.neighbours()+1))
}
