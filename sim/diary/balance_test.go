package diary

import (
	"math"
	"testing"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/curve"
)

// noted is a run on the home's first day from 14:00 with its kWh and charge.
func noted(scenario *sim.Household, stop int, kWh, fromPct, toPct float64) Row {
	r := aRow(14*60, stop, 0)
	r.Date = scenario.House.Span.Start
	r.KWh, r.SocStartPct, r.SocEndPct = kWh, fromPct, toPct
	return r
}

// TestRunsThatMayHaveSpilledAreLeftOut: a full bank takes nothing, and the house
// less than the set's least power.
func TestRunsThatMayHaveSpilledAreLeftOut(t *testing.T) {
	e := dated(home(t, nil))
	for toPct, want := range map[float64]bool{70: true, 95: true, 100: false} {
		r := noted(e.Household, 18*60, 9, 60, toPct)
		if _, ok := runBalance(e, &r); ok != want {
			t.Errorf("to %g %%: taken %v", toPct, ok)
		}
	}
}

// TestGapsNearTheFloorAreLeftOut: the floor is 30 %; a night of some 25 points must
// be expected to end above 40 %.
func TestGapsNearTheFloorAreLeftOut(t *testing.T) {
	e := dated(home(t, nil))
	for fromPct, want := range map[float64]bool{50: true, 90: false} {
		before, after := noted(e.Household, 18*60, 9, 60, fromPct), noted(e.Household, 18*60, 9, 80, 80)
		after.Date++
		s, ok := gapBalance(e, &before, &after)
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
	e := dated(home(t, func(spec *sim.Spec, _ *loads.Wants) {
		spec.Bank.ChargeCurve = curve.Curve{{X: 0, Y: 90}, {X: 70, Y: 90}, {X: 100, Y: 60}}
	}))
	full := e.House.Bank.FullKWh
	for _, c := range []struct{ from, to, want float64 }{{0.2, 0.6, 0.9}, {0.8, 1, 0.2 / math.Log(0.8/0.6)}, {0.85, 0.85, 0.75}} {
		if got := chargeEfficiency(e.House, c.from*full, c.to*full); math.Abs(got-c.want) > 0.0005 {
			t.Errorf("from %g to %g: %.4f, worked %.4f", c.from, c.to, got, c.want)
		}
	}
}

// TestSumsAreSetEqual: with discharging held, what was noted of the stretches kept
// adds up to what the fit makes of them, over runs and over gaps, short and long.
func TestSumsAreSetEqual(t *testing.T) {
	scenario := home(t, nil)
	rows := madeUp(scenario, someTruth, usualErrors, 120, 8)
	var some []Row
	for i, r := range rows {
		if i%5 != 3 {
			some = append(some, r)
		}
	}
	e := dated(scenario)
	b := solveBank(e, balancesOf(e, some), bankUnknowns-1)
	var sums, days [2]float64
	for i, s := range b.balances {
		kind := 0
		if s.kind == overRun {
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

// TestStretchesAddUpOtherPower: worked. Over an hour 0.5 kW of load doubled and
// 0.3 kW of other power leave 0.7 kW to the bank; with the load at a fifth, 0.2 kW go in.
func TestStretchesAddUpOtherPower(t *testing.T) {
	scenario := home(t, func(spec *sim.Spec, _ *loads.Wants) { spec.Bank.InverterIdleKW = 0.05 })
	s := balance{parts: []stepPart{{hours: 1, loadKW: 0.5, otherKW: 0.3}}}
	if e := s.energies(scenario.House, 2); math.Abs(e.out-(0.7/0.92+0.05)) > 1e-12 || e.in != 0 || math.Abs(e.outByLoad-0.5/0.92) > 1e-12 {
		t.Errorf("deficit: %+v", e)
	}
	if e := s.energies(scenario.House, 0.2); math.Abs(e.in-0.2*0.85) > 1e-12 || math.Abs(e.out-0.05) > 1e-12 || math.Abs(e.inByLoad+0.5*0.85) > 1e-12 {
		t.Errorf("surplus: %+v", e)
	}
}
