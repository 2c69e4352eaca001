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
	h := dated(home(t, nil))
	for toPct, want := range map[float64]bool{70: true, 95: true, 100: false} {
		r := noted(h.Household, 18*60, 9, 60, toPct)
		if _, ok := runBalance(h, &r); ok != want {
			t.Errorf("to %g %%: taken %v", toPct, ok)
		}
	}
}

// TestGapsNearTheFloorAreLeftOut: the floor is 30 %; a gap must be expected to end above
// 40 %, however much that takes.
func TestGapsNearTheFloorAreLeftOut(t *testing.T) {
	h := dated(home(t, nil))
	gap := func(fromPct float64) balance {
		before, after := noted(h.Household, 18*60, 9, 60, fromPct), noted(h.Household, 18*60, 9, 80, 80)
		after.Date++
		b, ok := gapBalance(h, &before, &after)
		if !ok {
			t.Fatalf("from %g %%: no balance", fromPct)
		}
		return b
	}
	whole := gap(90)
	losesPct := 100 * (whole.leakKWh + whole.energies(h.House, 1).out/0.95) / 26
	for endPct, want := range map[float64]bool{39: true, 41: false} {
		b := gap(endPct + losesPct)
		if b.nearFloor(h.House, 1) != want {
			t.Errorf("to %g %%: left out %v", endPct, !want)
		}
		if !b.nearFloor(h.House, 3) {
			t.Errorf("to %g %%, with three times the load: kept", endPct)
		}
	}
}

// TestLeakOfABalance: worked. From 60 to 90 % of 26 kWh is 19.5 kWh in the mean; of that a
// half-hour leaks 1 − 0.95^(0.5/730.5), at 5 % a month, and four hours eight times as much.
func TestLeakOfABalance(t *testing.T) {
	h := dated(home(t, nil))
	r := noted(h.Household, 18*60, 9, 60, 90)
	b, _ := runBalance(h, &r)
	// light-up ends within a step: 20 and 10 minutes leak a little more than one step of both
	if want := 8 * 19.5 * (1 - math.Pow(0.95, 0.5/730.5)); math.Abs(b.leakKWh-want) > 1e-5*want {
		t.Errorf("leaked %g kWh, worked %g", b.leakKWh, want)
	}
}

// TestMeanChargeEfficiency: worked. Efficiency falls straight from 0.9 at 70 % to
// 0.6 at 100 %; from 80 to 100 % the mean over what it takes is
// (0.8 − 0.6)/ln(0.8/0.6) = 0.6952.
func TestMeanChargeEfficiency(t *testing.T) {
	h := dated(home(t, func(spec *sim.Spec, _ *loads.Wants) {
		spec.Bank.ChargeCurve = curve.Curve{{X: 0, Y: 90}, {X: 70, Y: 90}, {X: 100, Y: 60}}
	}))
	full := h.House.Bank.FullKWh
	for _, c := range []struct{ from, to, want float64 }{{0.2, 0.6, 0.9}, {0.8, 1, 0.2 / math.Log(0.8/0.6)}, {0.85, 0.85, 0.75}} {
		if got := chargeEfficiency(h.House, c.from*full, c.to*full); math.Abs(got-c.want) > 0.0005 {
			t.Errorf("from %g to %g: %.4f, worked %.4f", c.from, c.to, got, c.want)
		}
	}
}

// TestBalancesAddUpOtherPower: worked. Over an hour 0.5 kW of load doubled and
// 0.3 kW of other power leave 0.7 kW to the bank; with the load at a fifth, 0.2 kW go in.
func TestBalancesAddUpOtherPower(t *testing.T) {
	scenario := home(t, func(spec *sim.Spec, _ *loads.Wants) { spec.Bank.InverterIdleKW = 0.05 })
	b := balance{parts: []stepPart{{hours: 1, loadKW: 0.5, otherKW: 0.3}}}
	if e := b.energies(scenario.House, 2); math.Abs(e.out-(0.7/0.92+0.05)) > 1e-12 || e.in != 0 || math.Abs(e.outByLoad-0.5/0.92) > 1e-12 {
		t.Errorf("deficit: %+v", e)
	}
	if e := b.energies(scenario.House, 0.2); math.Abs(e.in-0.2*0.85) > 1e-12 || math.Abs(e.out-0.05) > 1e-12 || math.Abs(e.inByLoad+0.5*0.85) > 1e-12 {
		t.Errorf("surplus: %+v", e)
	}
}
