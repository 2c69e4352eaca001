package diary

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"twigwatt/testdata/published"
)

// table reads a regression's table: a column of ones, then all columns but the
// last so many; y is column response.
func table(t *testing.T, name string, columns, response int) (x *mat.Dense, y []float64) {
	t.Helper()
	rows := published.Rows(t, name)
	x = mat.NewDense(len(rows), columns+1, nil)
	for i, row := range rows {
		x.Set(i, 0, 1)
		for j := range columns {
			x.Set(i, j+1, published.Number(t, row[j]))
		}
		y = append(y, published.Number(t, row[response]))
	}
	return x, y
}

// certified are the estimates and standard errors of a table.
func certified(t *testing.T, name string) (values, standardErrors []float64) {
	t.Helper()
	for _, row := range published.Rows(t, "regression_certified.csv") {
		if row[0] != name {
			continue
		}
		values = append(values, published.Number(t, row[2]))
		if row[3] != "" {
			standardErrors = append(standardErrors, published.Number(t, row[3]))
		}
	}
	return values, standardErrors
}

// digits is how many significant digits two numbers share.
func digits(got, want float64) float64 {
	return -math.Log10(math.Max(math.Abs(got-want)/math.Abs(want), 1e-16))
}

// TestLeastSquaresOnCertifiedData: published, NIST Statistical Reference Datasets
// (SOURCES.md).
func TestLeastSquaresOnCertifiedData(t *testing.T) {
	for _, c := range []struct {
		name              string
		columns, response int
		digits            float64
	}{
		{"norris", 1, 1, 9},
		{"longley", 6, 6, 7},
	} {
		x, y := table(t, c.name+".csv", c.columns, c.response)
		values, standardErrors := certified(t, c.name)
		fitted, inverse := leastSquares(x, y), inverseOfSquares(x)
		residual, squares := make([]float64, len(y)), 0.0
		residuals(residual, x, y, fitted)
		for _, r := range residual {
			squares += r * r
		}
		variance := squares / float64(len(y)-len(values))
		for j := range values {
			if got := digits(fitted[j], values[j]); got < c.digits {
				t.Errorf("%s: value %d has %.1f digits: %.15g, certified %.15g", c.name, j, got, fitted[j], values[j])
			}
			if got := digits(math.Sqrt(variance*inverse.At(j, j)), standardErrors[j]); got < c.digits {
				t.Errorf("%s: standard error %d has %.1f digits", c.name, j, got)
			}
		}
	}
}

// TestBisquareOnStackLoss: published results for Brownlee's stack-loss data, from
// the least-squares start (SOURCES.md). rlm stops at 1e-4.
func TestBisquareOnStackLoss(t *testing.T) {
	const tolerance = 1e-3
	x, y := table(t, "stack_loss.csv", 3, 3)
	values, _ := certified(t, "stack_loss")
	fit := reweighted(x, y, leastSquares(x, y))
	for j, want := range values {
		if math.Abs(fit.values[j]-want) > tolerance*math.Abs(want) {
			t.Errorf("value %d: %.6f, published %.6f", j, fit.values[j], want)
		}
	}
	for i, row := range published.Rows(t, "stack_loss.csv") {
		if want := published.Number(t, row[4]); math.Abs(fit.weights[i]-want) > tolerance {
			t.Errorf("weight of row %d: %.5f, published %.5f", i+1, fit.weights[i], want)
		}
	}
}

// TestRobustStartOnStackLoss: days 1, 3, 4 and 21 of the stack-loss data are known
// to be out of line (Rousseeuw & Leroy 1987, from memory); from the trimmed start
// they weigh less than any other.
func TestRobustStartOnStackLoss(t *testing.T) {
	x, y := table(t, "stack_loss.csv", 3, 3)
	fit := robustly(x, y)
	bad := map[int]bool{0: true, 2: true, 3: true, 20: true}
	heaviest, lightest := 0.0, 1.0
	for i, w := range fit.weights {
		if bad[i] {
			heaviest = math.Max(heaviest, w)
		} else {
			lightest = math.Min(lightest, w)
		}
	}
	if heaviest >= lightest {
		t.Errorf("a bad day weighs %.3f, a good one %.3f: %.3f", heaviest, lightest, fit.weights)
	}
}

// TestBisquareIsTheDerivative: the slope of u·weight(u), worked by differences.
func TestBisquareIsTheDerivative(t *testing.T) {
	const step = 1e-6
	for u := -6.0; u <= 6; u += 0.37 {
		above, _ := bisquare(u + step)
		below, _ := bisquare(u - step)
		_, slope := bisquare(u)
		if got := (above*(u+step) - below*(u-step)) / (2 * step); math.Abs(got-slope) > 1e-6 {
			t.Errorf("at %.2f: %.6f, by differences %.6f", u, slope, got)
		}
	}
}

// TestConditionOfLongleysData: published, Belsley, Kuh & Welsch 1980: 43 275 with
// columns of unit length and a constant (from memory).
func TestConditionOfLongleysData(t *testing.T) {
	x, _ := table(t, "longley.csv", 6, 6)
	singular, _ := singularValues(x)
	if got := singular[0] / singular[len(singular)-1]; math.Abs(got-43275) > 0.5 {
		t.Errorf("condition number %.1f", got)
	}
}

// TestAFewRowsDoNotTellColumnsApart: forty runs of 4 h and one of 1 h among them.
// By all rows the condition number is below 30; without that row there is none.
func TestAFewRowsDoNotTellColumnsApart(t *testing.T) {
	x := mat.NewDense(40, 2, nil)
	for i := range 40 {
		x.SetRow(i, []float64{1, 4})
	}
	x.Set(11, 1, 1)
	singular, _ := singularValues(x)
	if all := singular[0] / singular[1]; all > mostCondition {
		t.Fatalf("by all rows %g", all)
	}
	if got, a, b := entangled(x); got <= mostCondition || a != 0 || b != 1 {
		t.Errorf("without the one %g, columns %d and %d", got, a, b)
	}
}

// TestSandwichByHand: worked. Four rows of a mean with residuals 1, −1, 2, −2, all of
// full weight, and a leverage of a quarter each: 10/0.75²/4² = 1.1111.
func TestSandwichByHand(t *testing.T) {
	const farAway = 1e6 // scale: every weight is 1
	got := sandwich(mat.NewDense(4, 1, []float64{1, 1, 1, 1}), []float64{1, -1, 2, -2}, farAway).At(0, 0)
	if want := 10 / 0.5625 / 16; math.Abs(got-want) > 1e-9 {
		t.Errorf("%.10f, worked %.10f", got, want)
	}
}

// TestAMinorityDoesNotLeadAstray: twelve of thirty rows lie far out, on a line of their
// own, and least squares follows them.
func TestAMinorityDoesNotLeadAstray(t *testing.T) {
	x, y := mat.NewDense(30, 2, nil), make([]float64, 30)
	for i := range y {
		at := float64(i) / 10
		if i%5 < 2 {
			at = 20 + at
		} else {
			y[i] = 1 + 2*at
		}
		x.SetRow(i, []float64{1, at})
	}
	if v := leastSquares(x, y); v[1] > 1 {
		t.Fatalf("least squares is not led astray: %v", v)
	}
	if v := robustly(x, y).values; math.Abs(v[0]-1) > 1e-9 || math.Abs(v[1]-2) > 1e-9 {
		t.Errorf("%v, made from 1 and 2", v)
	}
}

// TestExactRowsAreFitted: no scatter is no hindrance.
func TestExactRowsAreFitted(t *testing.T) {
	x, y := mat.NewDense(10, 1, nil), make([]float64, 10)
	for i := range y {
		x.Set(i, 0, float64(i+1))
		y[i] = 2 * float64(i+1)
	}
	fit := robustly(x, y)
	if e := fit.estimate(0); !(math.Abs(e.Value-2) < 1e-9 && e.High-e.Low < 1e-9 && slices.Min(fit.weights) > 0.99) {
		t.Errorf("%+v, weights %v", e, fit.weights)
	}
}
