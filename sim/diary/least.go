package diary

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// solution is a linear least-squares fit.
type solution struct {
	values   []float64
	inverse  *mat.SymDense // of XᵀX: times the variance of a residual, the covariance of the values
	residual []float64
}

// leastSquares fits y to the columns of x, which must be independent. Columns are
// scaled to unit length first, so that their units do not cost digits.
//
// Source: Golub & Van Loan, Matrix Computations: least squares by the QR
// factorization (from memory); checked on NIST's certified data.
func leastSquares(x *mat.Dense, y []float64) solution {
	rows, columns := x.Dims()
	scaled, lengths := unitColumns(x)
	var qr mat.QR
	qr.Factorize(scaled)
	s := solution{values: make([]float64, columns), residual: slices.Clone(y), inverse: mat.NewSymDense(columns, nil)}
	values := mat.NewDense(columns, 1, s.values)
	// a condition error only warns: a fit whose columns depend on one another was refused before
	_ = qr.SolveTo(values, false, mat.NewDense(rows, 1, slices.Clone(y)))
	var r mat.Dense
	qr.RTo(&r)
	upper := mat.NewTriDense(columns, mat.Upper, nil)
	for i := range columns {
		for j := i; j < columns; j++ {
			upper.SetTri(i, j, r.At(i, j))
		}
	}
	var back mat.TriDense
	_ = back.InverseTri(upper)
	for i := range columns {
		s.values[i] /= lengths[i]
		for j := i; j < columns; j++ {
			sum := 0.0
			for k := range columns {
				sum += back.At(i, k) * back.At(j, k)
			}
			s.inverse.SetSym(i, j, sum/(lengths[i]*lengths[j]))
		}
	}
	for i := range rows {
		s.residual[i] -= floats.Dot(x.RawRowView(i), s.values)
	}
	return s
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
