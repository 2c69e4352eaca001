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
