package diary

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Drift is how a figure moves with time.
type Drift struct {
	PerDay  Estimate // of the figure's unit a day
	Drifted bool     // the interval does not hold 0
}

// PerMonth is how it moves in the mean month.
func (d Drift) PerMonth() Estimate {
	const daysAMonth = 30.4375
	return d.PerDay.scaled(daysAMonth)
}

// medianSlope returns the median of the slopes between all pairs of points with
// different x, and the interval that holds it at
// a share of confidence. Without two different x it is NaN.
//
// Source: Sen 1968, J. Am. Stat. Assoc. 63:1379; ties by the variance of Kendall's
// score (from memory).
func medianSlope(x, y []float64, share float64) (slope, low, high float64) {
	var slopes []float64
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	if len(slopes) == 0 {
		return NotNoted(), NotNoted(), NotNoted()
	}
	slope = median(slopes) // sorts them
	n := float64(len(x))
	variance := n * (n - 1) * (2*n + 5)
	for _, ties := range [][]float64{x, y} {
		counts := map[float64]float64{}
		for _, v := range ties {
			counts[v]++
		}
		for _, t := range counts { // whole numbers: their sum is the same in any order
			variance -= t * (t - 1) * (2*t + 5)
		}
	}
	reach := distuv.UnitNormal.Quantile((1+share)/2) * math.Sqrt(max(0, variance)/18)
	pairs := float64(len(slopes))
	last := len(slopes) - 1
	lower := int(math.Round((pairs-reach)/2)) - 1
	upper := int(math.Round((pairs + reach) / 2))
	return slope, slopes[min(max(lower, 0), last)], slopes[min(max(upper, 0), last)]
}

// drift fits how y moves by the day.
func drift(days, y []float64) Drift {
	if len(y) < leastRows {
		return Drift{PerDay: tooFew(len(y), "runs")}
	}
	slope, low, high := medianSlope(days, y, confidence)
	if !Noted(slope) {
		return Drift{PerDay: notTold(len(y), "the runs are all of one day")}
	}
	return Drift{PerDay: Estimate{Value: slope, Low: low, High: high, Rows: len(y)}, Drifted: low > 0 || high < 0}
}
