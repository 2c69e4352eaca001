package genset

import (
	"fmt"
	"math"
)

// The model's wood, CH1.44O0.66, free of ash and water.
//
// Source: Zainal et al. 2001, Energy Conversion and Management 42:1499.
const (
	woodH         = 1.44
	woodO         = 0.66
	woodGMol      = 24.022
	waterGMol     = 18.015
	burnsWithO2   = 1.03 // mol of O2 that burns a mol of the wood
	nitrogenPerO2 = 3.76
	gasJMolK      = 8.314462618
	standardK     = 298.15
	zeroCK        = 273.15

	co2FormationKJMol   = -393.51
	steamFormationKJMol = -241.826
	waterFormationKJMol = -285.83
)

// Range of the producer-gas model.
const (
	MostMoisture    = 0.45 // wet basis
	LeastReactorC   = 600.0
	MostReactorC    = 1000.0
	LeastDryMJKg    = 17.0
	MostDryMJKg     = 20.0
	CharBelowC      = 725.0 // below it real gas would leave char, and the model does not
	UsualReactorC   = 800.0
	usualCondensesC = 45.0 // gas after the cooler where nothing is said
)

// species of the gas, with Cp/R = a + bT + cT² + d/T² (T in K) and the heat of formation at 25 °C.
//
// Source: Smith & Van Ness, from memory (testdata/published/heat_capacity.csv).
type thermo struct{ a, b, c, d, formationKJMol float64 }

var (
	thermoH2  = thermo{3.249, 0.422e-3, 0, 0.083e5, 0}
	thermoCO  = thermo{3.376, 0.557e-3, 0, -0.031e5, -110.525}
	thermoCO2 = thermo{5.457, 1.045e-3, 0, -1.157e5, co2FormationKJMol}
	thermoH2O = thermo{3.470, 1.450e-3, 0, 0.121e5, steamFormationKJMol}
	thermoCH4 = thermo{1.702, 9.081e-3, -2.164e-6, 0, -74.6}
	thermoN2  = thermo{3.280, 0.593e-3, 0, 0.040e5, 0}
)

// kJMol returns the enthalpy at T (K), from the elements at 25 °C.
func (t thermo) kJMol(kelvin float64) float64 {
	k, k0 := kelvin, standardK
	sensible := t.a*(k-k0) + t.b/2*(k*k-k0*k0) + t.c/3*(k*k*k-k0*k0*k0) - t.d*(1/k-1/k0)
	return t.formationKJMol + gasJMolK*sensible/1000
}

// methaneConstant is K1 = CH4·(all wet moles)/H2² at 1 atm.
//
// Source: Zainal et al. 2001, with the total moles the paper leaves out.
func methaneConstant(kelvin float64) float64 {
	t := kelvin
	return math.Exp(7082.848/t - 6.567*math.Log(t) + 7.466e-3/2*t - 2.164e-6/6*t*t + 0.701e5/(2*t*t) + 32.541)
}

// shiftConstant is K2 = CO2·H2/(CO·H2O).
//
// Source: Zainal et al. 2001.
func shiftConstant(kelvin float64) float64 {
	t := kelvin
	return math.Exp(5870.53/t + 1.86*math.Log(t) - 2.7e-4*t - 58200/(t*t) - 18.007)
}

// Wood is what goes into the gasifier.
type Wood struct {
	Moisture float64 // wet basis, 0 to MostMoisture
	DryMJKg  float64 // net heat when oven-dry, LeastDryMJKg to MostDryMJKg
	ReactorC float64 // °C, LeastReactorC to MostReactorC
}

// moles of a mol of wood's gas, wet.
type moles struct{ co, co2, h2, h2o, ch4, n2 float64 }

func (m moles) wet() float64 { return m.co + m.co2 + m.h2 + m.h2o + m.ch4 + m.n2 }
func (m moles) dry() float64 { return m.wet() - m.h2o }

// heatKJ returns the enthalpy of the gas at T.
func (m moles) heatKJ(kelvin float64) float64 {
	return m.co*thermoCO.kJMol(kelvin) + m.co2*thermoCO2.kJMol(kelvin) + m.h2*thermoH2.kJMol(kelvin) + m.h2o*thermoH2O.kJMol(kelvin) +
		m.ch4*thermoCH4.kJMol(kelvin) + m.n2*thermoN2.kJMol(kelvin)
}

// Producer is the gas of a wood at equilibrium: no loss, no tar, no solid
// carbon, and so an upper bound.
type Producer struct {
	Gas              Gas
	GasNm3PerDryKg   float64 // dry gas
	WaterKgPerDryKg  float64 // steam in the wet gas
	EquivalenceRatio float64
	ColdGas          float64 // net heat of the gas over that of the wood as it lies
	gas              moles
	air              float64 // mol O2 for each mol of wood
}

// MJPerDryKg returns the net heat of the gas of an oven-dry kg.
func (p Producer) MJPerDryKg() float64 { return p.Gas.NetMJNm3() * p.GasNm3PerDryKg }

// CheckRange reports what of a wood is outside the model's range.
func (w Wood) CheckRange() error {
	for _, c := range []struct {
		name, unit     string
		x, least, most float64
	}{
		{"moisture", "%", 100 * w.Moisture, 0, 100 * MostMoisture},
		{"reactor", "°C", w.ReactorC, LeastReactorC, MostReactorC},
		{"net heat when dry", "MJ/kg", w.DryMJKg, LeastDryMJKg, MostDryMJKg},
	} {
		if !(c.x >= c.least && c.x <= c.most) {
			return fmt.Errorf("%s must be %g to %g %s, got %g", c.name, c.least, c.most, c.unit, c.x)
		}
	}
	return nil
}

// waterMoles is the moisture of a mol of wood.
func (w Wood) waterMoles() float64 {
	return w.Moisture / (1 - w.Moisture) * woodGMol / waterGMol
}

// heatInKJ is the enthalpy of wood with its water, from the elements at 25 °C.
func (w Wood) heatInKJ() float64 {
	wood := w.DryMJKg*woodGMol + co2FormationKJMol + woodH/2*steamFormationKJMol
	return wood + w.waterMoles()*waterFormationKJMol
}

// Gasify returns the gas of a wood within the model's range. Air is found by
// halving on the heat balance; where even the least air that gasifies all carbon
// leaves heat over, that least air is an error.
//
// Source: Zainal et al. 2001; the closed form for each air is our own working.
func (w Wood) Gasify() (Producer, error) {
	if err := w.CheckRange(); err != nil {
		return Producer{}, err
	}
	kelvin := w.ReactorC + zeroCK
	surplus := func(air float64) float64 { return w.heatInKJ() - w.equilibrium(air, kelvin).heatKJ(kelvin) }
	low, high := math.Max(0, (1-woodO-w.waterMoles())/2), burnsWithO2
	if surplus(low) > 0 || surplus(high) < 0 {
		return Producer{}, fmt.Errorf("no air between %.3f and %.3f mol O2 for each mol of wood keeps the reactor at %g °C", low, high, w.ReactorC)
	}
	air := bisect(surplus, low, high)
	gas := w.equilibrium(air, kelvin)
	p := Producer{gas: gas, air: air, EquivalenceRatio: air / burnsWithO2}
	dry := gas.dry()
	p.Gas = Gas{CO: gas.co / dry, H2: gas.h2 / dry, CH4: gas.ch4 / dry, CO2: gas.co2 / dry, N2: gas.n2 / dry}
	p.GasNm3PerDryKg = dry * litresAMol / woodGMol
	p.WaterKgPerDryKg = gas.h2o * waterGMol / woodGMol
	p.ColdGas = p.MJPerDryKg() / NetHeatPerDryKg(w.DryMJKg, w.Moisture)
	return p, nil
}

// equilibrium returns the gas of a mol of wood with so much O2 at T. Methane is
// found by halving: what the methane constant asks for falls as methane rises.
func (w Wood) equilibrium(air, kelvin float64) moles {
	k1, k2 := methaneConstant(kelvin), shiftConstant(kelvin)
	water := w.waterMoles()
	hydrogen, oxygen := woodH/2+water, woodO+water+2*air
	with := func(ch4 float64) moles {
		carbon, h := 1-ch4, hydrogen-2*ch4
		a, b := h-oxygen+2*carbon, oxygen-2*carbon
		s := carbon + a + k2*b
		co := 2 * carbon * a / (s + math.Sqrt(math.Max(0, s*s-4*(1-k2)*carbon*a)))
		return moles{co: co, co2: carbon - co, h2: a - co, h2o: b + co, ch4: ch4, n2: nitrogenPerO2 * air}
	}
	most := math.Min(math.Min(1, hydrogen/2), (hydrogen+2-oxygen)/4)
	ch4 := bisect(func(ch4 float64) float64 {
		m := with(ch4)
		return ch4*m.wet() - k1*m.h2*m.h2
	}, 0, math.Max(0, most))
	return with(ch4)
}

// bisect returns where a rising function passes zero between low and high, to
// the last bit; the end nearer to it where it does not.
func bisect(f func(float64) float64, low, high float64) float64 {
	const halvings = 200
	for range halvings {
		middle := low + (high-low)/2
		if middle == low || middle == high {
			break
		}
		if f(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return low + (high-low)/2
}

// SaturationKPa returns the vapour pressure of water over water at airC.
//
// Source: Tetens' formula, as FAO-56 equation 11.
func SaturationKPa(airC float64) float64 { return 0.6108 * math.Exp(17.27*airC/(airC+237.3)) }

// CondensateLPerDryKg returns the water that a cooler takes out of the wet gas
// of an oven-dry kg: what is beyond saturation at gasC.
func (p Producer) CondensateLPerDryKg(gasC float64) float64 {
	const atmosphereKPa = 101.325
	saturated := SaturationKPa(gasC)
	if saturated >= atmosphereKPa {
		return 0
	}
	stays := p.gas.dry() * saturated / (atmosphereKPa - saturated)
	return math.Max(0, p.gas.h2o-stays) * waterGMol / woodGMol
}

// CoolerFactor returns the power at a gas temperature over that at the rated
// one: a denser mixture, its temperature the mean of gas and air by volume.
//
// Check: FEMA/ORNL-6404 section 2, about 1 % of power for each 10 °F.
func CoolerFactor(gasC, ratedGasC, airC, airPerGas float64) float64 {
	mixtureK := func(gasC float64) float64 { return (gasC + zeroCK + airPerGas*(airC+zeroCK)) / (1 + airPerGas) }
	return mixtureK(ratedGasC) / mixtureK(gasC)
}

// UsualAirPerGas is the air need of wood gas where its make is not known.
//
// Source: FAO Forestry Paper 72, Appendix 1.
const UsualAirPerGas = 1.1
