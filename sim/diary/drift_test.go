package diary

import (
	"math"
	"testing"
)

// TestMedianSlope: published, Sen 1968, worked example (SOURCES.md).
func TestMedianSlope(t *testing.T) {
	x, y := []float64{1, 2, 3, 4, 10, 12, 18}, []float64{9, 15, 19, 20, 45, 55, 78}
	slope, low, high := medianSlope(x, y, 0.93)
	const rounding = 0.005 // of the paper
	if slope != 4 || math.Abs(low-3.71) > rounding || math.Abs(high-4.38) > rounding {
		t.Errorf("%.4f, %.4f to %.4f; published 4, 3.71 to 4.38", slope, low, high)
	}
}

// TestMedianSlopeWithTies: worked. Kendall's variance (6·5·17 − 3·2·1·9)/18 = 25.33
// and z = 0.96 reach 4.83 of 12 slopes: the 4th and the 9th of
// 1, 1, 1.5, 2, 2, 2, 2, 2, 2, 2.5, 3, 3.
func TestMedianSlopeWithTies(t *testing.T) {
	const share = 0.663 // of the normal within 0.96
	slope, low, high := medianSlope([]float64{1, 1, 2, 2, 3, 3}, []float64{1, 2, 3, 4, 5, 6}, share)
	if slope != 2 || low != 2 || high != 2 {
		t.Errorf("%g, %g to %g", slope, low, high)
	}
}

// TestDriftPerMonth: worked. A year of 365.25 days has twelve months.
func TestDriftPerMonth(t *testing.T) {
	m := Drift{PerDay: Estimate{Value: 12, Low: -12, High: 24, Rows: 9}}.PerMonth()
	if m != (Estimate{Value: 365.25, Low: -365.25, High: 730.5, Rows: 9}) {
		t.Errorf("%+v", m)
	}
}
