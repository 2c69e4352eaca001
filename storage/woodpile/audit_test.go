package woodpile

import (
	"math"
	"testing"
)

// Each figure here is recomputed by a way of its own: a limit, another source, or a balance.

// TestEquilibriumAtItsLimits: in dry air wood comes to nothing, in air that is saturated to near its
// fibre saturation, 28 to 30 % dry basis at 20 °C (Wood Handbook, from memory: table 4-2 ends at 95 %).
func TestEquilibriumAtItsLimits(t *testing.T) {
	if got := EquilibriumDryBasis(20, 0); math.Abs(got) > 1e-12 {
		t.Errorf("in dry air %g", got)
	}
	if got := EquilibriumDryBasis(20, 99); got < 0.25 || got > 0.32 {
		t.Errorf("in saturated air %g", got)
	}
	// Simpson's rule of thumb for 50 % and 20 °C, 9.2 % (Wood Handbook, from memory)
	if got := EquilibriumDryBasis(20, 50); math.Abs(got-0.092) > 0.002 {
		t.Errorf("in an airy room %g", got)
	}
}

// TestDeficitByAnotherFormula: Magnus' formula with the constants of the meteorologists (6.112 hPa,
// 17.62, 243.12 °C; from memory) against FAO-56's, within half a percent from −5 to 35 °C.
func TestDeficitByAnotherFormula(t *testing.T) {
	for airC := -5.0; airC <= 35; airC += 5 {
		want := 0.6112 * math.Exp(17.62*airC/(243.12+airC)) * (1 - 0.7)
		if got := DeficitKPa(airC, 70); math.Abs(got/want-1) > 0.005 {
			t.Errorf("at %g °C: %.5f kPa, by Magnus %.5f", airC, got, want)
		}
	}
}

// TestDryingByItsHalfLife: in air of the usual deficit split wood under a roof halves its distance to
// equilibrium in ln 2/0.18 weeks.
func TestDryingByItsHalfLife(t *testing.T) {
	const airC = 20.0
	humidity := 100 * (1 - usualDeficitKPa/DeficitKPa(airC, 0))
	towards := EquilibriumDryBasis(airC, humidity)
	d, u := DryingIn(airC, humidity), towards+0.4
	days := 7 * math.Ln2 / splitPerWeek
	for range int(math.Round(days)) {
		u = d.After(u, Split, Roof)
	}
	if got := u - towards; math.Abs(got-0.2) > 0.005 {
		t.Errorf("after %.0f days %.4f is left of 0.4", days, got)
	}
}

// TestLossByTheYear: days of loss make the year's.
func TestLossByTheYear(t *testing.T) {
	left := 1.0
	for range 365 {
		left -= left * LossPerDay(0.02)
	}
	if math.Abs(left-0.98) > 1e-12 {
		t.Errorf("%g is left of a year's wood, want 0.98", left)
	}
}

// TestGreenWoodByItsWaterAndBark: a cubic metre of solid alder with its bark, weighed as wood and bark
// apart, holds the water that the table's moisture with bark says.
func TestGreenWoodByItsWaterAndBark(t *testing.T) {
	for _, key := range SpeciesKeys() {
		s, _ := SpeciesOf(key)
		if _, measured := felledWetBasis[key]; measured {
			continue
		}
		woodKg, barkKg := 1000*s.Gravity, 1000*s.BarkPerWood*s.BarkGravity
		waterKg := woodKg*s.GreenDryBasis + barkKg*s.BarkDryBasis
		if got, want := s.GreenWithBarkDryBasis(), waterKg/(woodKg+barkKg); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %g, want %g", key, got, want)
		}
		if wet := WetBasis(s.GreenWithBarkDryBasis()); wet < 0.25 || wet > 0.65 {
			t.Errorf("%s is felled at %.0f %%", key, 100*wet)
		}
	}
}
