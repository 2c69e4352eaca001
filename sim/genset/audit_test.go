package genset

import (
	"math"
	"testing"

	"twigwatt/sim/place"
)

// Each figure here is recomputed by a way of its own: a limit, another law, or a balance.

// TestGrossIsNetAndTheWatersHeat: a gas's two heats differ by that of the water it makes, 44.01 kJ/mol
// at 25 °C (from memory): one mole of H2 makes one, of CH4 two, of CO none.
func TestGrossIsNetAndTheWatersHeat(t *testing.T) {
	const vapourKJMol = 44.01
	for _, g := range []Gas{{CO: 1}, {H2: 1}, {CH4: 1}, {CO: 0.2, H2: 0.16, CH4: 0.02}} {
		want := (g.H2 + 2*g.CH4) * vapourKJMol / litresAMol
		if got := g.GrossMJNm3() - g.NetMJNm3(); math.Abs(got-want) > 0.001 {
			t.Errorf("%+v: %.4f MJ/Nm³, want %.4f", g, got, want)
		}
	}
}

// TestCondensateIsNoMoreThanTheWoodsWater: water and hydrogen of the wood are all that can condense:
// its moisture, and nine times its hydrogen (woodH of 24.022 g/mol).
func TestCondensateIsNoMoreThanTheWoodsWater(t *testing.T) {
	hydrogen := woodH * 1.008 / woodGMol
	for _, moisture := range []float64{0, 0.15, 0.3, 0.45} {
		f, err := NewFactors(0.15, 18.5, 5)
		if err != nil {
			t.Fatal(err)
		}
		most := moisture/(1-moisture) + 9*hydrogen
		if got := f.CondensateL(moisture); got < 0 || got > most {
			t.Errorf("at %g: %g l of water from wood that holds or makes %g", moisture, got, most)
		}
	}
}

// TestPowerFallsWithTheAirsDensity: between the sea and 2000 m power goes nearly as the pressure, a
// little faster for the engine's own friction: SAE J1349 against the gas law.
func TestPowerFallsWithTheAirsDensity(t *testing.T) {
	for _, altitudeM := range []float64{500, 1000, 2000} {
		density := place.PressurePa(altitudeM) / place.PressurePa(0)
		power := PowerFactor(altitudeM, 25) / PowerFactor(0, 25)
		if !(power < density && power > 1-1.3*(1-density)) {
			t.Errorf("at %g m: power %.4f, density %.4f", altitudeM, power, density)
		}
	}
}

// TestCoolerByTheGasLaw: were there no air in the mixture, power would go as the gas's density, by
// absolute temperature; with its own volume of air that does not warm, by half of it.
func TestCoolerByTheGasLaw(t *testing.T) {
	if got, want := CoolerFactor(50, 20, 20, 0), (20+zeroCK)/(50+zeroCK); math.Abs(got-want) > 1e-12 {
		t.Errorf("gas alone: %g, want %g", got, want)
	}
	if got, want := CoolerFactor(50, 20, 20, 1), (20+zeroCK)/(35+zeroCK); math.Abs(got-want) > 1e-12 {
		t.Errorf("with its own volume of air: %g, want %g", got, want)
	}
}

// TestFuelLineByTheChain: the default line's wood, times its heat and the chain's three efficiencies,
// is the power it is for.
func TestFuelLineByTheChain(t *testing.T) {
	const kw, dryMJKg, moisture = 3.0, 18.5, 0.15
	idle, perKWh := DefaultLine(kw, dryMJKg, moisture)
	set := Set{KW: kw, Line: StraightLine(idle, perKWh, kw)}
	heatKW := set.FullKgH() * NetHeatPerDryKg(dryMJKg, moisture) / 3.6
	if got := heatKW * GasifierEfficiency * EngineEfficiency * AlternatorEfficiency; math.Abs(got-kw) > 1e-9 {
		t.Errorf("%g kW, want %g", got, kw)
	}
	// field use, Stassen 1995 (SOURCES.md): about 1.4 kg of wood a kWh at full load; a good small set takes less
	if perKWhFull := set.FullKgH() / kw / (1 - moisture); perKWhFull < 1.0 || perKWhFull > 1.9 {
		t.Errorf("%.2f kg as it lies a kWh at full load", perKWhFull)
	}
}
