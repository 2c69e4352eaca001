package diary

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/curve"
)

// noted is a run on the home's first day from 14:00 with its kWh and charge.
func noted(of Household, stop int, kWh, fromPct, toPct float64) Row {
	r := aRow(14*60, stop, 0)
	r.Date = of.House.Span.Start
	r.KWh, r.SocStartPct, r.SocEndPct = kWh, fromPct, toPct
	return r
}

// TestRunsThatMayHaveSpilledAreLeftOut: a full bank takes nothing, and the house
// less than the set's least power.
func TestRunsThatMayHaveSpilledAreLeftOut(t *testing.T) {
	e := newExpecter(home(t, nil))
	for toPct, want := range map[float64]bool{70: true, 95: true, 100: false} {
		r := noted(e.Household, 18*60, 9, 60, toPct)
		if _, ok := e.runStretch(&r); ok != want {
			t.Errorf("to %g %%: taken %v", toPct, ok)
		}
	}
}

// TestGapsNearTheFloorAreLeftOut: the floor is 30 %; a night of some 25 points must
// be expected to end above 40 %.
func TestGapsNearTheFloorAreLeftOut(t *testing.T) {
	e := newExpecter(home(t, nil))
	for fromPct, want := range map[float64]bool{50: true, 90: false} {
		before, after := noted(e.Household, 18*60, 9, 60, fromPct), noted(e.Household, 18*60, 9, 80, 80)
		after.Date++
		s, ok := e.gapStretch(&before, &after)
		if !ok || s.nearFloor(e.House, 1) != want {
			t.Errorf("from %g %%: left out %v", fromPct, !want)
		}
		if ok && !s.nearFloor(e.House, 3) {
			t.Errorf("from %g %% with three times the load: kept", fromPct)
		}
	}
}

// TestMeanChargeEfficiency: worked. Efficiency falls straight from 0.9 at 70 % to
// 0.6 at 100 %; from 80 to 100 % the mean over what it takes is
// (0.8 − 0.6)/ln(0.8/0.6) = 0.6952.
func TestMeanChargeEfficiency(t *testing.T) {
	e := newExpecter(home(t, func(spec *sim.Spec, _ *loads.Wants) {
		spec.Bank.ChargeCurve = curve.Curve{{X: 0, Y: 90}, {X: 70, Y: 90}, {X: 100, Y: 60}}
	}))
	full := e.House.Bank.FullKWh
	for _, c := range []struct{ from, to, want float64 }{{0.2, 0.6, 0.9}, {0.8, 1, 0.2 / math.Log(0.8/0.6)}, {0.85, 0.85, 0.75}} {
		if got := e.chargeEfficiency(c.from*full, c.to*full); math.Abs(got-c.want) > 0.0005 {
			t.Errorf("from %g to %g: %.4f, worked %.4f", c.from, c.to, got, c.want)
		}
	}
}

// TestSumsAreSetEqual: with discharging held, what was noted of the stretches kept
// adds up to what the fit makes of them, over runs and over gaps, short and long.
func TestSumsAreSetEqual(t *testing.T) {
	of := home(t, nil)
	rows := madeUp(of, someTruth, usualErrors, 120, 8)
	var some []Row
	for i, r := range rows {
		if i%5 != 3 {
			some = append(some, r)
		}
	}
	e := newExpecter(of)
	b := fitStretches(e, e.stretches(some), bankUnknowns-1)
	var sums, days [2]float64
	for i, s := range b.stretches {
		kind := 0
		if s.run {
			kind = 1
		}
		sums[kind] += b.weights[i] * b.residual[i]
		days[kind] = math.Max(days[kind], s.size)
	}
	const rounding = 1e-4 // kWh, of some thousand
	if math.Abs(sums[0]) > rounding || math.Abs(sums[1]) > rounding || days[0] < 1.5 {
		t.Errorf("gaps miss %g kWh, runs %g; the longest gap has %g days", sums[0], sums[1], days[0])
	}
}

func TestChoresCount(t *testing.T) {
	of := home(t, nil)
	of.ChoreKW = make([]float64, of.House.Span.Steps())
	of.ChoreKW[28] = 0.7 // 14:00
	r := noted(of, 15*60, 1, 60, 60)
	sum := 0.0
	for _, p := range newExpecter(of).runPieces(&r) {
		sum += p.choreKW * p.hours
	}
	if math.Abs(sum-0.35) > 1e-12 {
		t.Errorf("%g kWh of chores", sum)
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

func TestNoEfficiencyIsAbove100(t *testing.T) {
	e := Estimate{Value: 101, Low: 95, High: 107, Rows: 9}
	if e.capAt100(); !e.Told() || e.Value != 100 || e.High != 100 || e.Low != 95 {
		t.Errorf("%+v", e)
	}
	e = Estimate{Value: 104, Low: 101, High: 107, Rows: 9}
	if e.capAt100(); e.Told() || e.Held || e.Why == "" {
		t.Errorf("%+v", e)
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

// TestSandwichByHand: worked. Four rows of a mean with residuals 1, −1, 2, −2, all of
// full weight, and a leverage of a quarter each: 10/0.75²/4² = 1.1111.
func TestSandwichByHand(t *testing.T) {
	const farAway = 1e6 // scale: every weight is 1
	got := sandwich(mat.NewDense(4, 1, []float64{1, 1, 1, 1}), []float64{1, -1, 2, -2}, farAway).At(0, 0)
	if want := 10 / 0.5625 / 16; math.Abs(got-want) > 1e-9 {
		t.Errorf("%.10f, worked %.10f", got, want)
	}
}
