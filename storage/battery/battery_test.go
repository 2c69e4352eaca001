package battery

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim/curve"
)

func TestTwoHalfStepsOfDischargeEqualOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bank := leadBank()
		bank.AtHandShare = rapid.Float64Range(0.05, 1).Draw(t, "c")
		bank.SettlePerH = rapid.Float64Range(0.01, 20).Draw(t, "k")
		bank.SelfDischargeShare = 0 // a leak taken as the step begins is not two of half the length
		whole, half := bank.Paced(1, 20), bank.Paced(0.5, 20)
		s := bank.Rested(bank.FullKWh * rapid.Float64Range(0.5, 1).Draw(t, "charge"))
		_, most := whole.Draw(s, 0)
		kw := most * rapid.Float64Range(0, 1).Draw(t, "share")
		once, _ := whole.Move(s, 0, kw, 0)
		twice, _ := half.Move(s, 0, kw, 0)
		twice, _ = half.Move(twice, 0, kw, 0)
		const toleranceKWh = 1e-9 // rounding
		if math.Abs(once.AtHandKWh-twice.AtHandKWh) > toleranceKWh || math.Abs(once.BoundKWh-twice.BoundKWh) > toleranceKWh {
			t.Fatalf("%+v and %+v", once, twice)
		}
	})
}

func TestMoveKeepsEnergyAndLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bank := leadBank()
		bank.AtHandShare = rapid.SampledFrom([]float64{1, 0.32, 0.05}).Draw(t, "c")
		bank.CeilingShare = rapid.Float64Range(0.6, 1).Draw(t, "ceiling")
		// a curve that rises: acceptance reads it at the start, Move half-way
		pct := rapid.Float64Range(20, 100)
		bank.ChargeCurve = curve.Curve{{X: 0, Y: pct.Draw(t, "low")}, {X: 100, Y: pct.Draw(t, "high")}}
		p := bank.Paced(rapid.SampledFrom([]float64{1.0 / 6, 0.5, 1}).Draw(t, "h"), rapid.Float64Range(-20, 35).Draw(t, "air"))
		s := bank.Rested(bank.FullKWh * bank.CeilingShare * rapid.Float64Range(0, 1).Draw(t, "charge"))
		for range 20 {
			stored := s.StoredKWh()
			idle, most := p.Draw(s, bank.InverterIdleKW)
			in, out := 0.0, most*rapid.Float64Range(0, 1).Draw(t, "out")
			if rapid.Bool().Draw(t, "charging") {
				in, out = p.AcceptKW(stored)*rapid.Float64Range(0, 1).Draw(t, "in"), 0
			}
			next, lost := p.Move(s, in, out, idle)
			const toleranceKWh = 1e-9 // rounding
			gap := stored + in*p.StepH - out*p.StepH - lost.TotalKWh() - next.StoredKWh()
			if math.Abs(gap) > toleranceKWh {
				t.Fatalf("the books miss %g kWh", gap)
			}
			if lost.LeakKWh < 0 || lost.ChargeKWh < -toleranceKWh || lost.DischargeKWh < 0 || lost.IdleKWh < 0 {
				t.Fatalf("a loss below zero: %+v", lost)
			}
			if next.StoredKWh() > p.CeilingKWh+toleranceKWh {
				t.Fatalf("%g kWh over the ceiling", next.StoredKWh()-p.CeilingKWh)
			}
			if next.StoredKWh() < min(p.FloorKWh, stored-lost.LeakKWh)-toleranceKWh {
				t.Fatalf("%g kWh under the floor", p.FloorKWh-next.StoredKWh())
			}
			if next.AtHandKWh < 0 || next.BoundKWh < -toleranceKWh || next.AtHandKWh > bank.AtHandShare*bank.FullKWh+toleranceKWh {
				t.Fatalf("a well past its ends: %+v", next)
			}
			s = next
		}
	})
}

// Worked, on a store of 10 kWh that takes all at 0 % and nothing at 100 %, straight between: 2 kWh
// into an empty one are read half-way, at 1 kWh: 0.9 of them stay. With a leak of a tenth in the
// step and full to the ceiling it takes what leaks, 0.8 kWh at an efficiency of 0.2; above the
// ceiling nothing, and in the cold of 0 °C (86/97.2 of the size) 11.5 % of what lies between floor
// and ceiling stays back.
func TestChargingByHand(t *testing.T) {
	bank := Bank{Kind: Flooded, FullKWh: 10, FloorShare: 0.2, CeilingShare: 0.8, AtHandShare: 1, SettlePerH: 1,
		MaxChargeKW: 99, TaperHours: 1e-6, ChargeCurve: curve.Curve{{X: 0, Y: 100}, {X: 100, Y: 0}}, DischargeEfficiency: 1,
		ChargerKW: 99, ChargerEfficiency: 1, InverterKW: 1, InverterEfficiency: 1}
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}
	s, _ := bank.Paced(1, 20).Move(State{}, 2, 0, 0)
	near("stored of 2 kWh", s.AtHandKWh, 1.8)
	near("accepted above the ceiling", bank.Paced(1, 20).AcceptKW(9), 0)
	bank.SelfDischargeShare = 0.1
	near("accepted at the ceiling, kWh a month", bank.Paced(MonthH, 20).AcceptKW(8)*MonthH, 0.8/0.2)
	bank.TemperatureEffects = true
	near("floor in the cold", bank.Paced(1, 0).FloorKWh, 2+6*(1-86/97.2))
	near("self-discharge in great heat", SelfDischargeAt(0.5, 60), 1)
	_, most := bank.Paced(0.1, 20).Draw(State{AtHandKWh: 8}, 0)
	near("the inverter's most", most, 1)
}

func TestUnknownKindPanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	DefaultsOf("nickel")
}

func count(series ...float64) (cycles []Cycle) {
	r := NewRainflow(func(c Cycle) { cycles = append(cycles, c) })
	for _, x := range series {
		r.Add(x)
	}
	r.Finish()
	return cycles
}

// Counts and damage do not depend on values between the turning points, and the
// halves make as many as there are turns.
func TestRainflowSeesTurningPointsOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		series := rapid.SliceOfN(rapid.Float64Range(0, 100), 2, 40).Draw(t, "series")
		var fine []float64
		for i, x := range series {
			if i > 0 {
				fine = append(fine, (x+series[i-1])/2)
			}
			fine = append(fine, x, x)
		}
		a, b := count(series...), count(fine...)
		if len(a) != len(b) {
			t.Fatalf("%v and %v", a, b)
		}
		for i := range a {
			if math.Abs(a[i].Range-b[i].Range) > 1e-12 || a[i].Count != b[i].Count {
				t.Fatalf("%v and %v", a, b)
			}
		}
	})
}

// Cycled alike every day, a bank lasts the curve's cycles. Published: 750 at 50 %, 225 at 80 %.
func TestLifeOfABankCycledAlikeEqualsTheCurve(t *testing.T) {
	for _, c := range []struct{ depth, cycles float64 }{{50, 750}, {80, 225}} {
		w := NewWear(DefaultsOf(Flooded).CycleLife)
		w.Add(100)
		for range 365 {
			w.Add(100 - c.depth)
			w.Add(100)
		}
		w.Finish()
		if _, high := LifeYears(w.Damage, 1, 1000); math.Abs(high-c.cycles/365) > 1e-9 {
			t.Errorf("at %g %%: %g years, want %g", c.depth, high, c.cycles/365)
		}
	}
	if got := CyclesToEnd(DefaultsOf(Lithium).CycleLife, 40); got != 12000 {
		t.Errorf("one point, half the depth: %g cycles", got)
	}
}

// TestSeldomFullBanksLiveShorter: worked. Full every fortnight: as counted. Five times as seldom, or
// never: half of 10 years is 5, a quarter of 6 is 1.5; of 20 years at most 6. Half of the way
// there (42 days: (42 − 14)/56) both have fallen half as far.
func TestSeldomFullBanksLiveShorter(t *testing.T) {
	for _, c := range []struct{ days, every, low, high, wantLow, wantHigh float64 }{
		{3, 14, 6, 10, 6, 10},
		{14, 14, 6, 10, 6, 10},
		{42, 14, 6, 10, 6 - 0.5*4.5, 10 - 0.5*5},
		{70, 14, 6, 10, 1.5, 5},
		{math.Inf(1), 14, 6, 10, 1.5, 5},
		{math.Inf(1), 14, 8, 20, 2, 6},
		{math.Inf(1), 0, 6, 10, 6, 10}, // wanted never
	} {
		if low, high := SeldomFull(c.low, c.high, c.days, c.every); math.Abs(low-c.wantLow) > 1e-12 || math.Abs(high-c.wantHigh) > 1e-12 {
			t.Errorf("full every %g days: %g to %g years, want %g to %g", c.days, low, high, c.wantLow, c.wantHigh)
		}
	}
}
