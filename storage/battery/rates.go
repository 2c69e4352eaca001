package battery

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"
)

// Rate is a row of a maker's discharge table: the amp-hours a full block yields
// when it is emptied evenly over so many hours.
type Rate struct{ Hours, AmpHours float64 }

// RateFit is a two-well model fitted to a discharge table.
type RateFit struct {
	FullAh      float64
	AtHandShare float64
	SettlePerH  float64
	RMSAh       float64 // root of the mean squared residual
}

// FitRates fits full size, at-hand share and settling constant to a discharge
// table of three rows or more by unweighted least squares on amp-hours.
// Hours and amp-hours must be more than 0 and finite, hours no two alike, and
// amp-hours not fall as hours rise; the rows may stand in any order.
//
// For any share and constant the best full size has a closed form, so the
// search is over two numbers, kept in range by log(k) and logit(c).
func FitRates(rows []Rate) (RateFit, error) {
	if len(rows) < 3 {
		return RateFit{}, fmt.Errorf("a discharge table needs 3 rows or more, got %d", len(rows))
	}
	for _, r := range rows {
		if !(r.Hours > 0 && r.AmpHours > 0) || math.IsInf(r.Hours+r.AmpHours, 0) {
			return RateFit{}, fmt.Errorf("hours and amp-hours must be more than 0, got %g and %g", r.Hours, r.AmpHours)
		}
	}
	rows = slices.Clone(rows)
	slices.SortFunc(rows, func(a, b Rate) int { return cmp.Compare(a.Hours, b.Hours) })
	for i := 1; i < len(rows); i++ {
		switch before, r := rows[i-1], rows[i]; {
		case r.Hours == before.Hours:
			return RateFit{}, fmt.Errorf("no two rows may have the same hours, got %g twice", r.Hours)
		case r.AmpHours < before.AmpHours:
			return RateFit{}, fmt.Errorf("amp-hours must not fall as hours rise, got %g in %g h after %g in %g h",
				r.AmpHours, r.Hours, before.AmpHours, before.Hours)
		}
	}
	at := func(x []float64) RateFit {
		fit := RateFit{AtHandShare: 1 / (1 + math.Exp(-x[0])), SettlePerH: math.Exp(x[1])}
		yieldTimesAh, yieldSquared := 0.0, 0.0
		for _, r := range rows {
			y := YieldShare(fit.AtHandShare, fit.SettlePerH, r.Hours)
			yieldTimesAh += y * r.AmpHours
			yieldSquared += y * y
		}
		fit.FullAh = yieldTimesAh / yieldSquared
		squares := 0.0
		for _, r := range rows {
			residual := fit.FullAh*YieldShare(fit.AtHandShare, fit.SettlePerH, r.Hours) - r.AmpHours
			squares += residual * residual
		}
		fit.RMSAh = math.Sqrt(squares / float64(len(rows)))
		return fit
	}
	best := RateFit{RMSAh: math.Inf(1)}
	for _, start := range [][]float64{{-1, 0}, {0, -2}, {-2, 1}} {
		result, err := optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 {
			r := at(x).RMSAh
			return r * r
		}}, start, &optimize.Settings{MajorIterations: 2000}, &optimize.NelderMead{})
		if result == nil {
			return RateFit{}, fmt.Errorf("fitting the discharge table: %w", err)
		}
		if fit := at(result.X); fit.RMSAh < best.RMSAh {
			best = fit
		}
	}
	if math.IsNaN(best.FullAh) || math.IsInf(best.RMSAh, 1) {
		return RateFit{}, fmt.Errorf("no two-well model fits the discharge table")
	}
	return best, nil
}
