package diary

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A BankFit is what a diary tells of the bank and of the house's use, which are fitted
// together. RoundTripPct is the bank's own, DC: charging × discharging.
type BankFit struct {
	HouseKWhPerDay          Estimate // mean of the diary's dates, without chores
	LoadFactor              Estimate // of the load that the scenario expects
	RoundTripPct            Estimate
	ChargePct, DischargePct Estimate // charging: mean over the charge at which the diary's runs charged

	chargeFactor float64 // on the scenario's charging efficiency
}

func noBank(why Estimate) BankFit {
	return BankFit{HouseKWhPerDay: why, LoadFactor: why, RoundTripPct: why, ChargePct: why, DischargePct: why}
}

// mostElsewhere is the share of the rows that may fall on days the span does not
// hold; the house's use is that of its season. A judgement, no source.
const mostElsewhere = 0.1

// floorTurns: the load that tells which gaps end near the floor is the fit's own.
const floorTurns = 3

// fitBank fits the bank's efficiencies and the house's use together.
func fitBank(h *datedHousehold, rows []Row) (BankFit, []Outlier) {
	if n := h.elsewhere(rows); float64(n) > mostElsewhere*float64(len(rows)) {
		return noBank(notTold(len(rows), "%d of the runs fall on days of the year that the scenario's span does not hold, "+
			"and its load there is not known: fit with a span of a year", n)), nil
	}
	all := balancesOf(h, rows)
	var told []balance
	var withHeld *bankSolver // the discharge efficiency
	for load, turn := 1.0, 0; turn < floorTurns; turn++ {
		before := len(told)
		told = slices.DeleteFunc(slices.Clone(all), func(b balance) bool { return b.nearFloor(h.House, load) })
		if why, ok := enough(h, rows, told); !ok {
			return noBank(why), nil
		}
		if len(told) == before {
			break // the same ones
		}
		withHeld = solveBank(h, told, bankUnknowns-1)
		load = withHeld.unknowns[byLoad]
	}
	s := solveBank(h, told, bankUnknowns)
	whyHeld := s.whyDischargeIsHeld()
	if whyHeld != "" {
		s = withHeld
	}
	return s.figures(rows, whyHeld)
}

// enough reports whether there are balances enough to fit, and why not.
func enough(h *datedHousehold, rows []Row, told []balance) (why Estimate, ok bool) {
	var n [balanceKinds]int
	for i := range told {
		n[told[i].kind]++
	}
	switch {
	case n[overRun] < leastRows:
		return tooFew(n[overRun], "runs that did not spill, with their kWh and the charge at both ends"), false
	case n[overGap] < leastRows:
		return tooFew(n[overGap], "stretches between runs, of up to three days and ending 10 % of the bank or more above its floor, "+
			"with the charge at both ends"), false
	case !(h.loadKWhPerDay(rows) > 0):
		return notTold(len(told), "the scenario expects no load to scale"), false
	}
	return Estimate{}, true
}

// Unknowns of the bank's fit.
const (
	byCharge = iota // a factor on the scenario's charging efficiency
	byLoad          // a factor on its load
	byDraw          // kWh out of the wells for each at the terminals
	bankUnknowns
)

// bankSolver is a robust nonlinear fit of the balances by Gauss–Newton: least squares
// of all three unknowns, or with discharging held the two sums, of runs and of gaps,
// set equal to what the unknowns make of them.
type bankSolver struct {
	h          *datedHousehold
	balances   []balance
	unknowns   [bankUnknowns]float64
	free       int // the first so many are fitted
	residual   []float64
	weights    []float64
	scale      [balanceKinds]float64
	jacobian   *mat.Dense // by the free unknowns, in the scale of each balance
	pulls      *mat.Dense // what a balance's residual is weighed by for each
	covariance *mat.Dense // nil where there is none
}

// hubersTurns of the fit weigh by Huber's rule, which has one answer from any
// start; the bisquare goes on from there.
const (
	hubersTurns  = 10
	tuningHubers = 1.345 // Holland & Welsch 1977 (from memory)
	settledBank  = 1e-7  // of an unknown: its turns end when none moves by more
)

// solveBank fits the first free unknowns from the scenario's values.
func solveBank(h *datedHousehold, balances []balance, free int) *bankSolver {
	n := len(balances)
	s := &bankSolver{h: h, balances: balances, free: free,
		residual: make([]float64, n), weights: make([]float64, n),
		jacobian: mat.NewDense(n, free, nil), pulls: mat.NewDense(n, free, nil),
		unknowns: [bankUnknowns]float64{1, 1, 1 / h.House.Bank.DischargeEfficiency}}
	s.iterate(hubersTurns, func(turn int) {
		if turn < hubersTurns {
			s.weigh(huber)
		} else {
			s.weigh(bisquareWeight)
		}
	})
	// Those that the robust fit all but leaves out are left out and the others fitted alike:
	// days of much use are longer above the usual than those of little are below, and the
	// mean is asked for, not the middle. Source: reweighted least squares, Rousseeuw &
	// Leroy 1987 (from memory).
	s.weigh(func(u float64) float64 {
		if bisquareWeight(u) < leastWeight {
			return 0
		}
		return 1
	})
	s.iterate(0, func(int) {})
	s.covariance = s.sandwich()
	return s
}

// iterate takes so many turns and more, each with its weights, until the unknowns settle.
func (s *bankSolver) iterate(turns int, weigh func(turn int)) {
	for turn := range mostTurns {
		s.look()
		weigh(turn)
		if settled, ok := s.step(); !ok || settled && turn >= turns {
			break
		}
	}
	s.look()
}

func huber(u float64) float64 { return min(1, tuningHubers/math.Abs(u)) }

func bisquareWeight(u float64) float64 {
	weight, _ := bisquare(u)
	return weight
}

func (s *bankSolver) weigh(rule func(u float64) float64) {
	for i, r := range s.residual {
		s.weights[i] = rule(r / s.scaleOf(i))
	}
}

// scaleOf is the scatter of a balance: that of its kind, growing with the root of its size.
func (s *bankSolver) scaleOf(i int) float64 {
	b := &s.balances[i]
	return s.scale[b.kind] * math.Sqrt(b.size)
}

// look works out residuals, scales and the jacobian at the present values.
func (s *bankSolver) look() {
	u := &s.unknowns
	gains := make([]float64, len(s.balances))
	var scatter [balanceKinds][]float64
	for i := range s.balances {
		b := &s.balances[i]
		e := b.energies(s.h.House, u[byLoad])
		charging := u[byCharge] * b.charging
		s.residual[i] = b.gainKWh + b.leakKWh - charging*e.in + u[byDraw]*e.out
		slopes := [bankUnknowns]float64{b.charging * e.in, charging*e.inByLoad - u[byDraw]*e.outByLoad, -e.out}
		s.jacobian.SetRow(i, slopes[:s.free])
		scatter[b.kind] = append(scatter[b.kind], s.residual[i]/math.Sqrt(b.size))
		gains[i] = b.gainKWh
	}
	for kind, residual := range scatter {
		s.scale[kind] = math.Max(spread(residual), exact(gains))
	}
	for i := range s.balances {
		floats.Scale(1/s.scaleOf(i), s.jacobian.RawRowView(i))
	}
	s.pulls.Copy(s.jacobian)
	if s.free == bankUnknowns {
		return
	}
	// sums, not squares: how long a gap is, and how much a run makes, depend on the use
	// of the days before it, and by their squares days of much use would count less
	for i := range s.balances {
		b := &s.balances[i]
		tells := byLoad
		if b.kind == overRun {
			tells = byCharge
		}
		var pulls [bankUnknowns - 1]float64
		pulls[tells] = math.Sqrt(b.size)
		s.pulls.SetRow(i, pulls[:])
	}
}

// step changes the unknowns as the weighted residuals ask for, and reports whether
// none moved by more than settledBank; not ok where nothing can be asked.
func (s *bankSolver) step() (settled, ok bool) {
	asked := mat.NewVecDense(s.free, nil)
	for i, r := range s.residual {
		asked.AddScaledVec(asked, s.weights[i]*r/s.scaleOf(i), s.pulls.RowView(i))
	}
	var change mat.VecDense
	if err := change.SolveVec(s.slope(), asked); err != nil || !allNumbers(change.RawVector().Data) {
		return false, false
	}
	settled = true
	for j, d := range change.RawVector().Data {
		settled = settled && math.Abs(d) <= settledBank*math.Abs(s.unknowns[j])
		s.unknowns[j] += d
	}
	return settled, true
}

// slope is how what is asked changes with the unknowns.
func (s *bankSolver) slope() *mat.Dense {
	var slope mat.Dense
	slope.Mul(weighted(s.pulls, s.weights).T(), weighted(s.jacobian, s.weights))
	return &slope
}

// Errors of so many balances before and after belong together, six days' at most:
// one reading of charge ends a run and begins a gap, and days of much use follow one
// another. In a short diary fewer can be told.
const (
	mostNeighbours  = 20
	balancesForEach = 5
)

func (s *bankSolver) neighbours() int { return min(mostNeighbours, len(s.balances)/balancesForEach) }

// sandwich is the covariance of the unknowns that allows for errors of
// neighbouring balances that belong together.
//
// Source: Newey & West 1987, Econometrica 55:703 (from memory), on the M-estimator's
// weighted residuals.
func (s *bankSolver) sandwich() *mat.Dense {
	n, free, neighbours := len(s.residual), s.free, s.neighbours()
	psi := make([]float64, n)
	for i, r := range s.residual {
		psi[i] = s.weights[i] * r / s.scaleOf(i)
	}
	meat := mat.NewDense(free, free, nil)
	for i := range n {
		for k := max(0, i-neighbours); k <= min(n-1, i+neighbours); k++ {
			share := 1 - math.Abs(float64(i-k))/float64(neighbours+1)
			for p, pull := range s.pulls.RawRowView(i) {
				floats.AddScaled(meat.RawRowView(p), share*psi[i]*psi[k]*pull, s.pulls.RawRowView(k))
			}
		}
	}
	var inverse, covariance mat.Dense
	if inverse.Inverse(s.slope()) != nil {
		return nil
	}
	covariance.Mul(&inverse, meat)
	covariance.Mul(&covariance, inverse.T())
	covariance.Scale(float64(n)/float64(n-free-neighbours), &covariance)
	return &covariance
}

// variance is that of a function of the unknowns with a gradient.
func (s *bankSolver) variance(gradient ...float64) float64 {
	sum := 0.0
	for p := range s.free {
		for q := range s.free {
			sum += gradient[p] * gradient[q] * s.covariance.At(p, q)
		}
	}
	return sum
}

// freedom is that of the sandwich: a variance summed over neighbours is known less
// well than one of errors that stand alone.
//
// Source: variance of the Bartlett kernel's estimate, Andrews 1991, Econometrica
// 59:817 (from memory).
func (s *bankSolver) freedom() float64 {
	n := float64(len(s.balances))
	return min(n-float64(s.free), 1.5*n/float64(s.neighbours()+1))
}

// A discharge efficiency is told no better than by the scenario where its interval
// reaches farther to either side, or where the gaps' scatter is a larger share of what
// they usually took: how much a run makes follows the use of its day, and the two are
// then taken for one another. Judgements, no source.
const (
	widestPoints  = 10
	mostUnevenUse = 0.03
)

// whyDischargeIsHeld says why the scenario's discharge efficiency is held; "" where the
// diary tells it.
func (s *bankSolver) whyDischargeIsHeld() string {
	scenario := s.h.House.Bank.DischargeEfficiency
	why := fmt.Sprintf("discharge efficiency held at the scenario's %g %%: ", 100*scenario)
	if s.covariance == nil {
		return why + "the diary cannot tell it from the house's use"
	}
	var took []float64
	for i := range s.balances {
		if b := &s.balances[i]; b.kind == overGap {
			took = append(took, -b.gainKWh/b.size)
		}
	}
	if s.scale[overGap]/math.Abs(median(took)) > mostUnevenUse {
		return why + "the house's use differs too much from day to day to tell it"
	}
	efficiency := 1 / s.unknowns[byDraw]
	reach := quantile(s.freedom()) * math.Sqrt(s.variance(0, 0, efficiency*efficiency))
	switch {
	case !(efficiency > 0 && efficiency <= 1):
		return why + "the diary puts it beyond what can be"
	case !(100*reach <= widestPoints):
		return why + fmt.Sprintf("the diary tells it, apart from the house's use, to ±%.0f points only", 100*reach)
	}
	return ""
}

// figures reads the figures off the fit, and the rows that it leaves out; whyHeld says why
// discharging is held.
func (s *bankSolver) figures(rows []Row, whyHeld string) (BankFit, []Outlier) {
	n, u := len(s.balances), s.unknowns
	scenarioPct := 100 * s.scenarioCharging()
	if !(s.covariance != nil && u[byCharge] > 0 && u[byLoad] > 0 && scenarioPct > 0) {
		return noBank(notTold(n, "charge and kWh do not fit together: look at both meters and at the bank's size")), nil
	}
	estimate := func(value float64, gradient ...float64) Estimate {
		e := within90(value, s.variance(gradient...), s.freedom(), n)
		if whyHeld != "" {
			e.Why = whyHeld
		}
		return e
	}
	discharging := 1 / u[byDraw]
	roundTripPct := scenarioPct * u[byCharge] * discharging
	f := BankFit{
		LoadFactor:   estimate(u[byLoad], 0, 1, 0),
		ChargePct:    estimate(scenarioPct*u[byCharge], scenarioPct, 0, 0).atMost100(),
		RoundTripPct: estimate(roundTripPct, scenarioPct*discharging, 0, -roundTripPct*discharging).atMost100(),
		DischargePct: held(100*discharging, n, whyHeld),
		chargeFactor: u[byCharge],
	}
	if whyHeld == "" {
		f.DischargePct = estimate(100*discharging, 0, 0, 100*discharging*discharging).atMost100()
	}
	f.HouseKWhPerDay = f.LoadFactor.scaled(s.h.loadKWhPerDay(rows))
	return f, s.outliers()
}

// scenarioCharging is the scenario's charging efficiency, mean over what charged.
func (s *bankSolver) scenarioCharging() float64 {
	in, kept := 0.0, 0.0
	for i := range s.balances {
		if b := &s.balances[i]; b.kind == overRun {
			into := b.energies(s.h.House, s.unknowns[byLoad]).in
			in += into
			kept += into * b.charging
		}
	}
	return kept / in
}

// outliers are of the runs, then of the gaps, that the fit all but leaves out.
func (s *bankSolver) outliers() []Outlier {
	var all [balanceKinds][]Outlier
	measures := [balanceKinds]Measure{overRun: ChargeGained, overGap: ChargeLost}
	for i, w := range s.weights {
		if b := &s.balances[i]; w < leastWeight {
			all[b.kind] = append(all[b.kind], Outlier{b.row, measures[b.kind]})
		}
	}
	return append(all[overRun], all[overGap]...)
}
