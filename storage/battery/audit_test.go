package battery

import (
	"math"
	"testing"
)

// Each figure here is recomputed by a way of its own: a limit, another law, or small steps.

// TestYieldByALimit: emptied at once a bank yields what is at hand, emptied for ever all of it; and
// between, the two wells integrated in small steps run dry when the formula says.
func TestYieldByALimit(t *testing.T) {
	const c, k = 0.32, 1.35
	if got := YieldShare(c, k, 1e-6); math.Abs(got-c) > 1e-5 {
		t.Errorf("at once: %g, want what is at hand, %g", got, c)
	}
	if got := YieldShare(c, k, 1e6); math.Abs(got-1) > 1e-5 {
		t.Errorf("for ever: %g", got)
	}
	for _, hours := range []float64{0.5, 2, 20} {
		const steps = 200_000
		dt, atHand, bound := hours/steps, c, 1-c
		draw := YieldShare(c, k, hours) / hours
		for range steps { // Manwell & McGowan's two equations, k' = k·c·(1 − c)
			flow := k * c * (1 - c) * (bound/(1-c) - atHand/c)
			atHand, bound = atHand+(flow-draw)*dt, bound-flow*dt
		}
		if math.Abs(atHand) > 1e-4 {
			t.Errorf("emptied over %g h: %g is left at hand", hours, atHand)
		}
	}
}

// TestChargeInputIsWhatTheBankTakes: what calc charge says enters a bank is what goes in when it is
// charged minute by minute.
func TestChargeInputIsWhatTheBankTakes(t *testing.T) {
	bank := leadBank()
	bank.AtHandShare, bank.SelfDischargeShare, bank.TemperatureEffects = 1, 0, false
	p := bank.Paced(1.0/60, 20)
	s, inKWh := bank.Rested(0.55*bank.FullKWh), 0.0
	for s.StoredKWh() < 0.95*bank.FullKWh {
		kw := p.AcceptKW(s.StoredKWh())
		inKWh += kw * bank.ChargerEfficiency / 60
		s, _ = p.Move(s, kw, 0, 0)
	}
	toPct := 100 * s.StoredKWh() / bank.FullKWh
	if want := ChargeInput(bank.ChargeCurve, bank.FullKWh, 55, toPct); math.Abs(inKWh/want-1) > 1e-3 {
		t.Errorf("from 55 to %.1f %%: %g kWh went in, the sum says %g", toPct, inKWh, want)
	}
}

// TestTaperByItsTimeConstant: with a charger that is never the limit, what is missing to full falls to
// 1/e in the taper's hours.
func TestTaperByItsTimeConstant(t *testing.T) {
	bank := leadBank()
	bank.AtHandShare, bank.SelfDischargeShare, bank.TemperatureEffects = 1, 0, false
	bank.MaxChargeKW, bank.ChargerKW = 1000, 1000
	p := bank.Paced(1.0/60, 20)
	s := bank.Rested(0.9 * bank.FullKWh)
	for range int(60 * bank.TaperHours) {
		s, _ = p.Move(s, p.AcceptKW(s.StoredKWh()), 0, 0)
	}
	if got := (1 - s.StoredKWh()/bank.FullKWh) / 0.1; math.Abs(got-1/math.E) > 0.005 {
		t.Errorf("of what was missing %.4f is left, want 1/e", got)
	}
}

// TestLeakByTheMonth: steps of an hour for a month leak what a month is said to.
func TestLeakByTheMonth(t *testing.T) {
	bank := leadBank()
	p := bank.Paced(0.5, 20)
	left := 1.0
	for range int(2 * MonthH) {
		left -= p.LeakKWh(left)
	}
	if math.Abs(left-(1-bank.SelfDischargeShare)) > 1e-9 {
		t.Errorf("%g is left after a month, want %g", left, 1-bank.SelfDischargeShare)
	}
}

// TestLifeOfDailyCycles: a bank that goes through 50 % every day lasts its 750 cycles, two years and
// three weeks; with ten years by age alone the two together a sixth less.
func TestLifeOfDailyCycles(t *testing.T) {
	const days = 400
	w := NewWear(DefaultsOf(Flooded).CycleLife)
	for range days {
		w.Add(100)
		w.Add(50)
	}
	w.Finish()
	low, high := LifeYears(w.Damage, days/365.25, 10)
	if want := 750 / 365.25; math.Abs(high/want-1) > 0.005 || math.Abs(low-1/(1/want+0.1)) > 0.01 {
		t.Errorf("%g to %g years, want %g", low, high, want)
	}
}
