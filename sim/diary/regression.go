package diary

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// leastSquares fits y to the columns of x, which must be independent. Columns are
// scaled to unit length first, so that their units do not cost digits.
//
// Source: Golub & Van Loan, Matrix Computations: least squares by the QR
// factorization (from memory); checked on NIST's certified data.
func leastSquares(x *mat.Dense, y []float64) (values []float64) {
	rows, columns := x.Dims()
	scaled, lengths := unitColumns(x)
	var qr mat.QR
	qr.Factorize(scaled)
	values = make([]float64, columns)
	// a condition error only warns: a fit whose columns depend on one another was refused before
	_ = qr.SolveTo(mat.NewDense(columns, 1, values), false, mat.NewDense(rows, 1, slices.Clone(y)))
	for j, length := range lengths {
		values[j] /= length
	}
	return values
}

// inverseOfSquares returns the inverse of XᵀX: times the variance of a residual, the
// covariance of the values that least squares fit to the columns of x.
func inverseOfSquares(x *mat.Dense) *mat.SymDense {
	_, columns := x.Dims()
	scaled, lengths := unitColumns(x)
	var qr mat.QR
	qr.Factorize(scaled)
	var r mat.Dense
	qr.RTo(&r)
	upper := mat.NewTriDense(columns, mat.Upper, r.RawMatrix().Data[:columns*columns])
	var back mat.TriDense
	_ = back.InverseTri(upper)
	for i, length := range lengths {
		for j := i; j < columns; j++ {
			back.SetTri(i, j, back.At(i, j)/length)
		}
	}
	var inverse mat.SymDense
	inverse.SymOuterK(1, &back)
	return &inverse
}

// unitColumns returns x with each column scaled to unit length, and the lengths.
func unitColumns(x *mat.Dense) (scaled *mat.Dense, lengths []float64) {
	rows, columns := x.Dims()
	scaled = mat.NewDense(rows, columns, nil)
	lengths = make([]float64, columns)
	for j := range columns {
		column := mat.Col(nil, j, x)
		lengths[j] = floats.Norm(column, 2)
		if lengths[j] == 0 {
			lengths[j] = 1
		}
		floats.Scale(1/lengths[j], column)
		scaled.SetCol(j, column)
	}
	return scaled, lengths
}

// weighted returns the rows of x times the roots of their weights.
func weighted(x *mat.Dense, weights []float64) *mat.Dense {
	w := mat.DenseCopyOf(x)
	for i, weight := range weights {
		floats.Scale(math.Sqrt(weight), w.RawRowView(i))
	}
	return w
}

// tuningBisquare keeps 95 % of least squares' efficiency on normal residuals.
//
// Source: Holland & Welsch 1977 (from memory), for the bisquare of Beaton & Tukey 1974.
const tuningBisquare = 4.685

// bisquare returns the weight of a residual in robust standard deviations, and
// the derivative of the weighted residual.
func bisquare(u float64) (weight, slope float64) {
	t := (u / tuningBisquare) * (u / tuningBisquare)
	if t >= 1 {
		return 0, 0
	}
	return (1 - t) * (1 - t), (1 - t) * (1 - 5*t)
}

// regression is a robust linear fit.
type regression struct {
	values     []float64
	covariance *mat.Dense
	weights    []float64 // 0 to 1
	residual   []float64
	freedom    float64
}

// estimate is one of its values.
func (r *regression) estimate(j int) Estimate {
	return within90(r.values[j], r.covariance.At(j, j), r.freedom, len(r.residual))
}

// vagueShare of a value: an interval that reaches farther to either side tells
// nothing that a household could use. A judgement, no source.
const vagueShare = 0.4

// vague reports whether a value's 90 % interval is of no use.
func (r *regression) vague(j int) bool {
	return quantile(r.freedom)*math.Sqrt(r.covariance.At(j, j)) > vagueShare*math.Abs(r.values[j])
}

// Iterations end when no value moves by more than settled of its size.
const (
	mostTurns = 100
	settled   = 1e-10
)

// robustly fits y to the columns of x, which must be independent and fewer than
// the rows, and is not led astray by a minority of bad rows.
func robustly(x *mat.Dense, y []float64) regression {
	return reweighted(x, y, trimmedStart(x, y))
}

// reweighted fits by iteratively reweighted least squares with Tukey's bisquare
// from a start; the scale is the residuals' MAD, taken anew each time.
//
// Source: Beaton & Tukey 1974 (from memory; checked on published results for the
// stack-loss data).
func reweighted(x *mat.Dense, y, start []float64) regression {
	rows, columns := x.Dims()
	fit := regression{values: slices.Clone(start), freedom: float64(rows - columns),
		weights: make([]float64, rows), residual: make([]float64, rows)}
	target := make([]float64, rows)
	scale := 0.0
	weigh := func() {
		residuals(fit.residual, x, y, fit.values)
		scale = math.Max(spread(fit.residual), exact(y))
		for i, r := range fit.residual {
			fit.weights[i], _ = bisquare(r / scale)
		}
	}
	for range mostTurns {
		weigh()
		for i, w := range fit.weights {
			target[i] = math.Sqrt(w) * y[i]
		}
		next := leastSquares(weighted(x, fit.weights), target)
		if !allNumbers(next) {
			break
		}
		still := true
		for j := range next {
			still = still && math.Abs(next[j]-fit.values[j]) <= settled*(math.Abs(next[j])+settled)
		}
		fit.values = next
		if still {
			break
		}
	}
	weigh()
	fit.covariance = sandwich(x, fit.residual, scale)
	return fit
}

// exact is the scale below which residuals are the rounding of exact data.
func exact(y []float64) float64 {
	largest := 0.0
	for _, v := range y {
		largest = math.Max(largest, math.Abs(v))
	}
	const rounding = 1e-12
	return rounding * (1 + largest)
}

func residuals(into []float64, x *mat.Dense, y, values []float64) {
	for i := range into {
		into[i] = y[i]
		for j, v := range values {
			into[i] -= x.At(i, j) * v
		}
	}
}

func allNumbers(x []float64) bool {
	return !slices.ContainsFunc(x, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// sandwich is the covariance of a robust fit's values that holds also where some
// rows scatter more than others, as long runs do.
//
// Source: Huber 1981, Robust Statistics, 7.6 (the M-estimator's slope), with each
// row's own scatter and leverage as in the third form of MacKinnon & White 1985
// (both from memory; checked by coverage).
func sandwich(x *mat.Dense, residual []float64, scale float64) *mat.Dense {
	rows, columns := x.Dims()
	weights, psi := make([]float64, rows), make([]float64, rows)
	slope, sum := 0.0, 0.0
	for i, r := range residual {
		weight, bend := bisquare(r / scale)
		weights[i], psi[i] = weight, weight*r
		slope += bend
		sum += weight
	}
	slope /= sum // of the weighted residual, for each unit of weight
	seen := weighted(x, weights)
	hat := inverseOfSquares(seen)
	meat := mat.NewSymDense(columns, nil)
	for i := range rows {
		leverage := mat.Inner(seen.RowView(i), hat, seen.RowView(i))
		room := math.Max(1-leverage, leastRoom)
		meat.SymRankOne(meat, psi[i]*psi[i]/(room*room), x.RowView(i))
	}
	var covariance mat.Dense
	covariance.Product(hat, meat, hat)
	covariance.Scale(1/(slope*slope), &covariance)
	return &covariance
}

// leastRoom keeps a row that alone decides a value from counting without end.
const leastRoom = 0.01

// Starts of the trimmed fit. With a fifth of the rows bad, half of all draws of
// three rows are good ones.
const (
	trimmedStarts = 60
	trimmedTurns  = 3
	trimmedSeed   = 0x7477696764696172
)

// trimmedStart returns the values with the least sum of the smaller half of the
// squared residuals among fits to seeded draws, each improved by fitting anew to
// the rows it fits best.
//
// Source: least trimmed squares, Rousseeuw 1984; concentration steps, Rousseeuw &
// Van Driessen 2006 (from memory).
func trimmedStart(x *mat.Dense, y []float64) []float64 {
	rows, columns := x.Dims()
	half := (rows + columns + 1) / 2
	random := rand.New(rand.NewPCG(trimmedSeed, uint64(rows)))
	best := leastSquares(x, y)
	size := make([]float64, rows)
	order := make([]int, rows)
	least := math.Inf(1)
	halfOfSquares := func(values []float64) (sum float64) {
		residuals(size, x, y, values)
		for i := range size {
			size[i] *= size[i]
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(size[a], size[b]) })
		for _, i := range order[:half] {
			sum += size[i]
		}
		return sum
	}
	for start := range trimmedStarts {
		values := best
		if start > 0 {
			values = fitRows(x, y, random.Perm(rows)[:columns])
		}
		for range trimmedTurns {
			if !allNumbers(values) {
				break
			}
			if sum := halfOfSquares(values); sum < least {
				least, best = sum, values
			}
			values = fitRows(x, y, order[:half])
		}
	}
	return best
}

// fitRows fits to some of the rows.
func fitRows(x *mat.Dense, y []float64, chosen []int) []float64 {
	_, columns := x.Dims()
	some, target := mat.NewDense(len(chosen), columns, nil), make([]float64, len(chosen))
	for i, row := range chosen {
		some.SetRow(i, x.RawRowView(row))
		target[i] = y[row]
	}
	return leastSquares(some, target)
}

// confidence of every interval.
const confidence = 0.90

// quantile is how many standard errors the interval reaches to each side.
func quantile(freedom float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile((1 + confidence) / 2)
}

// mostCondition is the condition number of the scaled columns above which they are
// hard to tell apart; where an interval is of no use either, they are said not to be.
//
// Source: Belsley, Kuh & Welsch 1980, Regression Diagnostics: harm from about 30
// on (from memory).
const mostCondition = 30

// hopelessCondition is that above which nothing can be told, however many rows.
const hopelessCondition = 300

// leastSingular stands for zero, so that shares can be taken.
const leastSingular = 1e-100

// toldByFew is the share of the rows that are left out before columns are called
// told apart: what one or two rows tell alone may be their errors. A judgement, no source.
const toldByFew = 0.05

// entangled returns the condition number of the columns of x, each scaled to unit
// length, and the two columns with the largest share in its smallest singular
// value. The rows that stand out most in that direction are left out.
//
// Source: Belsley, Kuh & Welsch 1980, variance-decomposition proportions (from memory).
func entangled(x *mat.Dense) (condition float64, a, b int) {
	rows, columns := x.Dims()
	if columns == 1 {
		return 1, 0, 0
	}
	if !allNumbers(x.RawMatrix().Data) {
		return math.Inf(1), 0, 1
	}
	_, all := singularValues(x)
	scaled, _ := unitColumns(x)
	order, out := make([]int, rows), make([]float64, rows)
	for i := range order {
		order[i] = i
		out[i] = math.Abs(mat.Dot(scaled.RowView(i), all.ColView(columns-1)))
	}
	slices.SortStableFunc(order, func(i, k int) int { return cmp.Compare(out[i], out[k]) })
	keep := max(columns, rows-int(math.Ceil(toldByFew*float64(rows))))
	kept := mat.NewDense(keep, columns, nil)
	for k, i := range order[:keep] {
		kept.SetRow(k, x.RawRowView(i))
	}
	singular, v := singularValues(kept)
	last := columns - 1
	share := func(j int) float64 {
		sum := 0.0
		for k := range singular {
			sum += math.Pow(v.At(j, k)/singular[k], 2)
		}
		return math.Pow(v.At(j, last)/singular[last], 2) / sum
	}
	most := make([]int, columns)
	for j := range most {
		most[j] = j
	}
	slices.SortStableFunc(most, func(i, j int) int { return cmp.Compare(share(j), share(i)) })
	return singular[0] / singular[last], min(most[0], most[1]), max(most[0], most[1])
}

// singularValues are those of x with its columns scaled to unit length, the
// largest first, with their directions as columns.
func singularValues(x *mat.Dense) (singular []float64, directions *mat.Dense) {
	scaled, _ := unitColumns(x)
	var svd mat.SVD
	if !svd.Factorize(scaled, mat.SVDThin) {
		panic("diary: no singular values") // numbers alone come here
	}
	singular = svd.Values(nil)
	for i := range singular {
		singular[i] = math.Max(singular[i], leastSingular)
	}
	directions = new(mat.Dense)
	svd.VTo(directions)
	return singular, directions
}

// normalMAD is the median of the absolute value of a standard normal number.
const normalMAD = 0.6744897501960817

// median sorts x and returns its median.
func median(x []float64) float64 {
	slices.Sort(x)
	n := len(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return (x[n/2-1] + x[n/2]) / 2
}

// spread is the robust standard deviation of residuals about zero.
func spread(residual []float64) float64 {
	size := make([]float64, len(residual))
	for i, r := range residual {
		size[i] = math.Abs(r)
	}
	return median(size) / normalMAD
}
