package genset

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/testdata/published"
)

// Published: ISO 6976:2016 (heats_of_combustion.csv), volumes at 22.414 l/mol.
func TestHeatsOfCombustion(t *testing.T) {
	pure := map[string]Gas{"CO": {CO: 1}, "H2": {H2: 1}, "CH4": {CH4: 1}}
	for _, row := range published.Rows(t, "heats_of_combustion.csv") {
		gross, _ := strconv.ParseFloat(row[1], 64)
		net, _ := strconv.ParseFloat(row[3], 64)
		within(t, row[0]+" net", pure[row[0]].NetMJNm3(), net, 1e-4)
		within(t, row[0]+" gross", pure[row[0]].GrossMJNm3(), gross/22.414, 1e-9)
	}
}

// Published: Zainal et al. 2001 (from memory), as SOURCES.md states it: the row
// with ±1.0 on H2 and CO, ±0.5 on CO2 and CH4 (exact factor: 0.20), ±2.2 on N2.
func TestPublishedEquilibrium(t *testing.T) {
	row := published.Rows(t, "producer_gas.csv")[1]
	p, err := Feed{Moisture: 0.20, DryMJKg: 18.5, ReactorC: 800}.Gasify()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		got       float64
		column    int
		tolerance float64
	}{{"CO", p.Gas.CO, 1, 1.0}, {"H2", p.Gas.H2, 2, 1.0}, {"CH4", p.Gas.CH4, 3, 0.5},
		{"CO2", p.Gas.CO2, 4, 0.5}, {"N2", p.Gas.N2, 5, 2.2}} {
		want, _ := strconv.ParseFloat(row[c.column], 64)
		if math.Abs(100*c.got-want) > c.tolerance {
			t.Errorf("%s: %.2f %%, published %.2f", c.name, 100*c.got, want)
		}
	}
	if math.Abs(100*p.Gas.CH4-0.20) > 0.01 {
		t.Errorf("CH4 with the exact factor: %.3f %%, want 0.20", 100*p.Gas.CH4)
	}
}

// Published: SOURCES.md, producer_gas.csv: K1(1073.15 K) = 0.0467, K2 = 1.108;
// stoichiometric air of the fuel 5.888 kg/kg.
func TestEquilibriumConstants(t *testing.T) {
	within(t, "K1", methaneConstant(1073.15), 0.0467, 0.001)
	within(t, "K2", shiftConstant(1073.15), 1.108, 0.001)
	const airGMolO2 = 31.998 + nitrogenPerO2*28.014
	within(t, "air", burnsWithO2*airGMolO2/woodGMol, 5.888, 0.002)
}

// The heat capacities are the constants' own: the shift reaction's heat from the
// table is the slope of its constant (van 't Hoff).
func TestHeatCapacitiesAgreeWithTheConstants(t *testing.T) {
	const step = 0.01
	for _, kelvin := range []float64{900, 1073.15, 1250} {
		rise := math.Log(shiftConstant(kelvin+step)) - math.Log(shiftConstant(kelvin-step))
		slope := gasJMolK / 1000 * kelvin * kelvin * rise / (2 * step)
		shift := thermoCO2.kJMol(kelvin) + thermoH2.kJMol(kelvin) - thermoCO.kJMol(kelvin) - thermoH2O.kJMol(kelvin)
		if math.Abs(slope-shift) > 0.2 { // kJ/mol: the constants are rounded
			t.Errorf("at %g K: %.2f kJ/mol from the constant, %.2f from the table", kelvin, slope, shift)
		}
	}
}

// Published: testdata/published/heat_capacity.csv.
func TestThermoTable(t *testing.T) {
	ours := map[string]thermo{
		"H2": thermoH2, "CO": thermoCO, "CO2": thermoCO2, "H2O": thermoH2O, "CH4": thermoCH4, "N2": thermoN2}
	for _, row := range published.Rows(t, "heat_capacity.csv") {
		var x [5]float64
		for i := range x {
			x[i], _ = strconv.ParseFloat(row[i+1], 64)
		}
		if want := (thermo{x[0], x[1], x[2], x[3], x[4]}); ours[row[0]] != want {
			t.Errorf("%s: %v, published %v", row[0], ours[row[0]], want)
		}
	}
}

// TestEachEquationHolds: atoms, both constants and the heat balance, over the whole range.
func TestEachEquationHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Feed{Moisture: rapid.Float64Range(0, MostMoisture).Draw(t, "moisture"),
			DryMJKg:  rapid.Float64Range(LeastDryMJKg, MostDryMJKg).Draw(t, "heat"),
			ReactorC: rapid.Float64Range(LeastReactorC, MostReactorC).Draw(t, "reactor")}
		p, err := w.Gasify()
		if err != nil {
			t.Fatal(err)
		}
		m, water := p.gas, w.Moisture/(1-w.Moisture)*woodGMol/waterGMol
		kelvin := w.ReactorC + 273.15
		const tolerance = 1e-9
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"carbon", m.co + m.co2 + m.ch4, 1},
			{"hydrogen", 2*m.h2 + 2*m.h2o + 4*m.ch4, 1.44 + 2*water},
			{"oxygen", m.co + 2*m.co2 + m.h2o, 0.66 + water + 2*p.air},
			{"nitrogen", m.n2, 3.76 * p.air},
			{"methane", m.ch4 * m.wet(), methaneConstant(kelvin) * m.h2 * m.h2},
			{"shift", m.co2 * m.h2, shiftConstant(kelvin) * m.co * m.h2o},
			{"heat, MJ", m.heatKJ(kelvin) / 1000, (w.DryMJKg*24.022 - 393.51 - 0.72*241.826 - 285.83*water) / 1000},
		} {
			if !(math.Abs(c.got-c.want) <= tolerance) {
				t.Fatalf("%s: %.12g, want %.12g (%+v)", c.name, c.got, c.want, w)
			}
		}
		for name, x := range map[string]float64{"CO": m.co, "CO2": m.co2, "H2": m.h2, "H2O": m.h2o, "CH4": m.ch4, "N2": m.n2} {
			if !(x >= -tolerance) {
				t.Fatalf("%s: %g mol", name, x)
			}
		}
		if !(p.ColdGas > 0.4 && p.ColdGas < 1) {
			t.Fatalf("cold gas %g", p.ColdGas)
		}
	})
}

func TestProducerRefusesWhatItIsNotMadeFor(t *testing.T) {
	for _, w := range []Feed{{0.46, 18.5, 800}, {-0.1, 18.5, 800}, {0.2, 16, 800}, {0.2, 18.5, 599},
		{0.2, math.NaN(), 800}, {math.NaN(), 18.5, 800}} {
		if _, err := w.Gasify(); err == nil {
			t.Errorf("%+v was gasified", w)
		}
	}
}

func TestMoreMoistureNeverMakesMorePower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rated := rapid.Float64Range(0, 0.4).Draw(t, "rated")
		f, err := NewFactors(rated, rapid.Float64Range(17, 20).Draw(t, "heat"), 45)
		if err != nil {
			t.Fatal(err)
		}
		a := rapid.Float64Range(0, 0.45).Draw(t, "drier")
		b := rapid.Float64Range(a, 0.45).Draw(t, "wetter")
		if f.Power(b) > f.Power(a) || f.Heat(b) > f.Heat(a) || f.CondensateL(b) < f.CondensateL(a)-1e-9 {
			t.Fatalf("at %g: %g, %g; at %g: %g, %g", a, f.Power(a), f.Heat(a), b, f.Power(b), f.Heat(b))
		}
		if math.Abs(f.Power(rated)-1) > 1e-12 || math.Abs(f.Heat(rated)-1) > 1e-12 || f.Power(0) > 1 {
			t.Fatalf("at the rated moisture %g: %g, %g", rated, f.Power(rated), f.Heat(rated))
		}
	})
}

func TestCondensateFallsWithTheGasTemperature(t *testing.T) {
	p, err := Feed{Moisture: 0.3, DryMJKg: 18.5, ReactorC: 800}.Gasify()
	if err != nil {
		t.Fatal(err)
	}
	cold, warm, steam := p.CondensateLPerDryKg(20), p.CondensateLPerDryKg(50), p.gas.h2o*waterGMol/woodGMol
	if !(cold > warm && warm > 0 && cold < steam) || p.CondensateLPerDryKg(120) != 0 {
		t.Errorf("%g l at 20 °C, %g at 50, of %g kg of steam", cold, warm, steam)
	}
}
