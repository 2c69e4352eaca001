package genset

import "math"

// A Chain is the sum from an engine's displacement to the wood it wants.
// Volumes of gas are m³ as the source uses them, without a reference state.
//
// Source: FAO Forestry Paper 72, Wood gas as engine fuel (1986), Appendix 1 and 2.
type Chain struct {
	DisplacementCC       float64 // more than 0
	RPM                  float64 // more than 0
	VolumetricEfficiency float64 // this and the other efficiencies: more than 0, at most 1
	AirPerGas            float64 // m³/m³, 0 or more
	GasMJM3              float64 // heat of the gas, more than 0
	EngineEfficiency     float64 // gas to shaft
	AlternatorEfficiency float64 // shaft to AC
	GasifierEfficiency   float64 // wood to cold gas
	WoodMJKg             float64 // heat of wood as it lies, more than 0
	HearthLoad           float64 // m³ of gas per hour and cm² of throat
}

// StandardChain returns the source's own assumptions for an engine.
func StandardChain(displacementCC, rpm float64) Chain {
	return Chain{DisplacementCC: displacementCC, RPM: rpm, VolumetricEfficiency: 0.8, AirPerGas: 1.1, GasMJM3: 4.8,
		EngineEfficiency: 0.28, AlternatorEfficiency: 0.8, GasifierEfficiency: 0.70, WoodMJKg: 17, HearthLoad: 0.9}
}

// ChainResult is what the sum gives.
type ChainResult struct {
	GasM3H, GasKW, ShaftKW, ElectricKW float64
	WoodAsIsKgH, WoodAsIsKgPerKWh      float64
	ThroatCM2, ThroatMM                float64
}

// Result works the sum: a four-stroke engine draws its displacement every other turn.
func (c Chain) Result() ChainResult {
	mixtureM3H := c.DisplacementCC / 1e6 * c.RPM / 2 * 60 * c.VolumetricEfficiency
	var r ChainResult
	r.GasM3H = mixtureM3H / (1 + c.AirPerGas)
	r.GasKW = r.GasM3H * c.GasMJM3 / 3.6
	r.ShaftKW = r.GasKW * c.EngineEfficiency
	r.ElectricKW = r.ShaftKW * c.AlternatorEfficiency
	r.WoodAsIsKgH = r.GasKW * 3.6 / (c.GasifierEfficiency * c.WoodMJKg)
	r.WoodAsIsKgPerKWh = r.WoodAsIsKgH / r.ElectricKW
	r.ThroatCM2 = r.GasM3H / c.HearthLoad
	r.ThroatMM = 10 * math.Sqrt(4*r.ThroatCM2/math.Pi)
	return r
}

// Plausible shares of the chain's electric power for a rating: a small engine
// on wood gas gives about nine tenths of it (common practice, no source).
const (
	LeastPlausibleShare = 0.5
	MostPlausibleShare  = 1.1
)
