package genset

import (
	"fmt"
	"math"

	"twigwatt/sim/curve"
	"twigwatt/sim/place"
)

// Heats of combustion in kJ/mol, burned at 25 °C, and the molar volume of an
// ideal gas at 0 °C and 101.325 kPa.
//
// Source: ISO 6976:2016.
const (
	coKJMol       = 282.98
	h2GrossKJMol  = 285.83
	h2NetKJMol    = 241.817
	ch4GrossKJMol = 890.58
	ch4NetKJMol   = 802.554
	litresAMol    = 22.414
	oxygenInAir   = 0.21
)

// A Gas is shares of its dry volume, 0 to 1; what is not named does not burn.
type Gas struct{ CO, H2, CH4, CO2, N2 float64 }

// NetMJNm3 returns the net heating value in MJ/Nm³.
func (g Gas) NetMJNm3() float64 {
	return (g.CO*coKJMol + g.H2*h2NetKJMol + g.CH4*ch4NetKJMol) / litresAMol
}

// GrossMJNm3 returns the gross heating value in MJ/Nm³.
func (g Gas) GrossMJNm3() float64 {
	return (g.CO*coKJMol + g.H2*h2GrossKJMol + g.CH4*ch4GrossKJMol) / litresAMol
}

// AirPerGas returns the air that burns the gas, m³/m³.
func (g Gas) AirPerGas() float64 { return (g.CO/2 + g.H2/2 + 2*g.CH4) / oxygenInAir }

// MixtureMJNm3 returns the net heat in a Nm³ of gas with its air.
func (g Gas) MixtureMJNm3() float64 { return g.NetMJNm3() / (1 + g.AirPerGas()) }

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
	MostMoisture  = 0.45 // wet basis
	LeastReactorC = 600.0
	MostReactorC  = 1000.0
	LeastDryMJKg  = 17.0
	MostDryMJKg   = 20.0
	CharBelowC    = 725.0 // below it real gas would leave char, and the model does not
	UsualReactorC = 800.0
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

// A Feed is the wood that goes into the gasifier, and how hot it gets there.
type Feed struct {
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
	return m.co*thermoCO.kJMol(kelvin) + m.co2*thermoCO2.kJMol(kelvin) + m.h2*thermoH2.kJMol(kelvin) +
		m.h2o*thermoH2O.kJMol(kelvin) + m.ch4*thermoCH4.kJMol(kelvin) + m.n2*thermoN2.kJMol(kelvin)
}

// Producer is the gas of a wood at equilibrium: no loss, no tar, no solid
// carbon, and so an upper bound.
type Producer struct {
	Gas              Gas
	GasNm3PerDryKg   float64 // dry gas
	EquivalenceRatio float64
	ColdGas          float64 // net heat of the gas over that of the wood as it lies
	gas              moles
	air              float64 // mol O2 for each mol of wood
}

// MJPerDryKg returns the net heat of the gas of an oven-dry kg.
func (p Producer) MJPerDryKg() float64 { return p.Gas.NetMJNm3() * p.GasNm3PerDryKg }

// CheckRange reports what of a wood is outside the model's range.
func (f Feed) CheckRange() error {
	for _, c := range []struct {
		name, unit     string
		x, least, most float64
	}{
		{"moisture", "%", 100 * f.Moisture, 0, 100 * MostMoisture},
		{"reactor", "°C", f.ReactorC, LeastReactorC, MostReactorC},
		{"net heat when dry", "MJ/kg", f.DryMJKg, LeastDryMJKg, MostDryMJKg},
	} {
		if !(c.x >= c.least && c.x <= c.most) {
			return fmt.Errorf("%s must be %g to %g %s, got %g", c.name, c.least, c.most, c.unit, c.x)
		}
	}
	return nil
}

// waterMoles is the moisture of a mol of wood.
func (f Feed) waterMoles() float64 {
	return f.Moisture / (1 - f.Moisture) * woodGMol / waterGMol
}

// heatInKJ is the enthalpy of wood with its water, from the elements at 25 °C.
func (f Feed) heatInKJ() float64 {
	wood := f.DryMJKg*woodGMol + co2FormationKJMol + woodH/2*steamFormationKJMol
	return wood + f.waterMoles()*waterFormationKJMol
}

// Gasify returns the gas of a wood within the model's range. Air is found by
// halving on the heat balance; where even the least air that gasifies all carbon
// leaves heat over, that least air is an error.
//
// Source: Zainal et al. 2001; the closed form for each air is our own working.
func (f Feed) Gasify() (Producer, error) {
	if err := f.CheckRange(); err != nil {
		return Producer{}, err
	}
	kelvin := f.ReactorC + zeroCK
	surplus := func(air float64) float64 { return f.heatInKJ() - f.equilibrium(air, kelvin).heatKJ(kelvin) }
	low, high := max(0, (1-woodO-f.waterMoles())/2), burnsWithO2
	if surplus(low) > 0 || surplus(high) < 0 {
		return Producer{}, fmt.Errorf("no air between %.3f and %.3f mol O2 for each mol of wood keeps the reactor at %g °C",
			low, high, f.ReactorC)
	}
	low, high = curve.Bisect(low, high, curve.LastBit, func(air float64) bool { return surplus(air) < 0 })
	air := low + (high-low)/2
	gas := f.equilibrium(air, kelvin)
	p := Producer{gas: gas, air: air, EquivalenceRatio: air / burnsWithO2}
	dry := gas.dry()
	p.Gas = Gas{CO: gas.co / dry, H2: gas.h2 / dry, CH4: gas.ch4 / dry, CO2: gas.co2 / dry, N2: gas.n2 / dry}
	p.GasNm3PerDryKg = dry * litresAMol / woodGMol
	p.ColdGas = p.MJPerDryKg() / NetHeatPerDryKg(f.DryMJKg, f.Moisture)
	return p, nil
}

// equilibrium returns the gas of a mol of wood with so much O2 at T. Methane is
// found by halving: what the methane constant asks for falls as methane rises.
func (f Feed) equilibrium(air, kelvin float64) moles {
	k1, k2 := methaneConstant(kelvin), shiftConstant(kelvin)
	water := f.waterMoles()
	hydrogen, oxygen := woodH/2+water, woodO+water+2*air
	with := func(ch4 float64) moles {
		carbon, h := 1-ch4, hydrogen-2*ch4
		a, b := h-oxygen+2*carbon, oxygen-2*carbon
		s := carbon + a + k2*b
		co := 2 * carbon * a / (s + math.Sqrt(max(0, s*s-4*(1-k2)*carbon*a)))
		return moles{co: co, co2: carbon - co, h2: a - co, h2o: b + co, ch4: ch4, n2: nitrogenPerO2 * air}
	}
	low, high := curve.Bisect(0, max(0, min(1, hydrogen/2, (hydrogen+2-oxygen)/4)), curve.LastBit, func(ch4 float64) bool {
		m := with(ch4)
		return ch4*m.wet()-k1*m.h2*m.h2 < 0
	})
	return with(low + (high-low)/2)
}

// CondensateLPerDryKg returns the water that a cooler takes out of the wet gas
// of an oven-dry kg: what is beyond saturation at gasC.
func (p Producer) CondensateLPerDryKg(gasC float64) float64 {
	const atmosphereKPa = 101.325
	saturated := place.SaturationKPa(gasC)
	if saturated >= atmosphereKPa {
		return 0
	}
	stays := p.gas.dry() * saturated / (atmosphereKPa - saturated)
	return max(0, p.gas.h2o-stays) * waterGMol / woodGMol
}
