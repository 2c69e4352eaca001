package diary

import (
	"math"
	"slices"

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

// mostDriftRows bounds the pairs of which a drift is the median; of more runs so many, evenly
// spread, are taken.
const mostDriftRows = 1200

// spreadOut takes so many of a list at most, evenly spread over it, the first and the last among
// them.
func spreadOut(x []float64, most int) []float64 {
	if len(x) <= most {
		return x
	}
	taken := make([]float64, most)
	for i := range taken {
		taken[i] = x[i*(len(x)-1)/(most-1)]
	}
	return taken
}

// drift fits how y moves by the day. One that over the whole diary comes to less than a single
// run's scatter about it is not reported.
func drift(days, y []float64) Drift {
	days, y = spreadOut(days, mostDriftRows), spreadOut(y, mostDriftRows)
	if len(y) < leastRows {
		return Drift{PerDay: tooFew(len(y), "runs")}
	}
	slope, low, high := medianSlope(days, y, confidence)
	if !Noted(slope) {
		return Drift{PerDay: notTold(len(y), "the runs are all of one day")}
	}
	about := make([]float64, len(y))
	for i := range y {
		about[i] = y[i] - slope*days[i]
	}
	middle := median(slices.Clone(about))
	for i := range about {
		about[i] = math.Abs(about[i] - middle)
	}
	const normal = 1.4826 // standard deviation for each median absolute one, of a normal distribution
	over := math.Abs(slope) * (slices.Max(days) - slices.Min(days))
	return Drift{PerDay: Estimate{Value: slope, Low: low, High: high, Rows: len(y)},
		Drifted: (low > 0 || high < 0) && over > normal*median(about)}
}
