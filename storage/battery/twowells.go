package battery

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"twigwatt/sim/curve"
)

// YieldShare returns the share of a full, rested bank that it yields when it is
// emptied by constant power over hours (more than 0).
//
// Source: Manwell & McGowan 1993, the two-well equations solved for an at-hand
// well that is empty at the end.
func YieldShare(atHandShare, settlePerH, hours float64) float64 {
	c, kt := atHandShare, settlePerH*hours
	return c * kt / (1 - math.Exp(-kt) + c*(kt-1+math.Exp(-kt)))
}

// positive reports whether all are more than 0 and finite.
func positive(all ...float64) bool {
	for _, x := range all {
		if !(x > 0 && x <= math.MaxFloat64) {
			return false
		}
	}
	return true
}

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
		if !positive(r.Hours, r.AmpHours) {
			return RateFit{}, fmt.Errorf("hours and amp-hours must be more than 0, got %g and %g", r.Hours, r.AmpHours)
		}
	}
	rows = slices.SortedFunc(slices.Values(rows), func(a, b Rate) int { return cmp.Compare(a.Hours, b.Hours) })
	for i, r := range rows[1:] {
		switch before := rows[i]; {
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
	problem := optimize.Problem{Func: func(x []float64) float64 { r := at(x).RMSAh; return r * r }}
	best := RateFit{RMSAh: math.Inf(1)}
	for _, start := range [][]float64{{-1, 0}, {0, -2}, {-2, 1}} {
		result, err := optimize.Minimize(problem, start, &optimize.Settings{MajorIterations: 2000}, &optimize.NelderMead{})
		if result == nil {
			return RateFit{}, fmt.Errorf("fitting the discharge table: %w", err)
		}
		if fit := at(result.X); fit.RMSAh < best.RMSAh {
			best = fit
		}
	}
	if !positive(best.FullAh) {
		return RateFit{}, fmt.Errorf("no two-well model fits the discharge table")
	}
	return best, nil
}

// A Current is drawn steadily for some hours.
type Current struct{ Amps, Hours float64 }

// mostPieces bounds how long a run-down is followed.
const mostPieces = 10_000_000

// Rundown returns the hours until the at-hand well of a full, rested battery of
// two wells is first empty under currents that repeat. Amp-hours, share (at most 1)
// and constant must be more than 0; currents 0 or more, not all 0. An error: what is
// not so, or a battery that outlasts ten million pieces of the draw.
//
// Source: Manwell & McGowan 1993, the closed form for each steady piece.
func Rundown(ampHours, atHandShare, settlePerH float64, draw []Current) (float64, error) {
	if !(positive(ampHours, atHandShare, settlePerH) && atHandShare <= 1) {
		return 0, fmt.Errorf("amp-hours, share at hand (at most 1) and settling constant must be more than 0, got %g, %g and %g",
			ampHours, atHandShare, settlePerH)
	}
	drawnAh := 0.0
	for _, d := range draw {
		if !(positive(d.Hours) && (d.Amps == 0 || positive(d.Amps))) {
			return 0, fmt.Errorf("a draw must be 0 A or more for more than no time, got %g A for %g h", d.Amps, d.Hours)
		}
		drawnAh += d.Amps * d.Hours
	}
	if drawnAh == 0 {
		return 0, fmt.Errorf("a draw of nothing at all never runs a battery down")
	}
	c, k := atHandShare, settlePerH
	// at hand and all after a steady current for t hours
	after := func(atHand, all, amps, t float64) float64 {
		e := math.Exp(-k * t)
		return atHand*e + all*c*(1-e) - amps*((1-e)+c*(k*t-1+e))/k
	}
	atHand, all, hours := c*ampHours, ampHours, 0.0
	for piece := range mostPieces {
		d := draw[piece%len(draw)]
		left := after(atHand, all, d.Amps, d.Hours)
		if left <= 0 {
			_, empty := curve.Bisect(0, d.Hours, curve.LastBit,
				func(t float64) bool { return after(atHand, all, d.Amps, t) > 0 })
			return hours + empty, nil
		}
		atHand = left
		all -= d.Amps * d.Hours
		hours += d.Hours
	}
	return 0, fmt.Errorf("the battery outlasts %d pieces of the draw", mostPieces)
}
