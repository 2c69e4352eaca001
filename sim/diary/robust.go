package diary

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

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
	covariance *mat.SymDense
	weights    []float64 // 0 to 1
	residual   []float64
	freedom    float64
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
	fit := regression{values: slices.Clone(start), weights: make([]float64, rows), residual: make([]float64, rows),
		freedom: float64(rows - columns)}
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
		next := leastSquares(weighted(x, fit.weights), target).values
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
func sandwich(x *mat.Dense, residual []float64, scale float64) *mat.SymDense {
	rows, columns := x.Dims()
	noTarget, weights := make([]float64, rows), make([]float64, rows)
	psi, slope, sum := make([]float64, rows), 0.0, 0.0
	for i, r := range residual {
		weight, bend := bisquare(r / scale)
		weights[i], psi[i] = weight, weight*r
		slope += bend
		sum += weight
	}
	slope /= sum // of the weighted residual, for each unit of weight
	seen := weighted(x, weights)
	hat := leastSquares(seen, noTarget).inverse
	meat := mat.NewSymDense(columns, nil)
	for i := range rows {
		leverage := mat.Inner(seen.RowView(i), hat, seen.RowView(i))
		room := math.Max(1-leverage, leastRoom)
		meat.SymRankOne(meat, psi[i]*psi[i]/(room*room), x.RowView(i))
	}
	var half, whole mat.Dense
	half.Mul(hat, meat)
	whole.Mul(&half, hat)
	covariance := mat.NewSymDense(columns, nil)
	for p := range columns {
		for q := p; q < columns; q++ {
			covariance.SetSym(p, q, whole.At(p, q)/(slope*slope))
		}
	}
	return covariance
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
	best := leastSquares(x, y).values
	size := make([]float64, rows)
	order := make([]int, rows)
	least := math.Inf(1)
	sort := func(values []float64) (sum float64) {
		residuals(size, x, y, values)
		for i := range size {
			size[i] *= size[i]
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int {
			if size[a] < size[b] {
				return -1
			}
			return 1
		})
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
			if sum := sort(values); sum < least {
				least, best = sum, values
			}
			values = fitRows(x, y, order[:half])
		}
	}
	return best
}

// fitRows fits to some of the rows.
func fitRows(x *mat.Dense, y []float64, of []int) []float64 {
	_, columns := x.Dims()
	some, target := mat.NewDense(len(of), columns, nil), make([]float64, len(of))
	for i, row := range of {
		some.SetRow(i, x.RawRowView(row))
		target[i] = y[row]
	}
	return leastSquares(some, target).values
}

// confidence of every interval.
const confidence = 0.90

// quantile is how many standard errors the interval reaches to each side.
func quantile(freedom float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile((1 + confidence) / 2)
}
