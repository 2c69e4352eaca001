package genset

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
