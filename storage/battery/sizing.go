package battery

import (
	"fmt"

	"twigwatt/sim/curve"
)

// cellSize is the factor on a battery's size by its temperature in °F.
//
// Source: IEEE 485 (SOURCES.md, row cell size, second hand). It is a sizing
// multiplier, not the reciprocal of a capacity.
var cellSize = curve.Curve{{X: 40, Y: 1.30}, {X: 50, Y: 1.19}, {X: 60, Y: 1.11}, {X: 77, Y: 1.00}, {X: 90, Y: 0.94}}

// CellSizeFactor returns the sizing factor at an air temperature. The table goes
// from 40 to 90 °F (4.4 to 32.2 °C); beyond, its last line goes on.
func CellSizeFactor(airC float64) float64 { return cellSize.At(airC*1.8 + 32) }

// AltitudeShare is the share of a set's power left at an altitude by the rule of
// the published example: 3 % lost for each 1000 ft.
//
// Source: SOURCES.md, row sizing examples (4000 ft turn 2544 W into 2891 W).
func AltitudeShare(altitudeM float64) float64 {
	const feetAMetre, lostPer1000Ft = 1 / 0.3048, 0.03
	return 1 - lostPer1000Ft*altitudeM*feetAMetre/1000
}

// Stage names how a bank is being charged.
type Stage string

// The stages in which a bank gasses.
const (
	Float Stage = "float" // held full
	Boost Stage = "boost" // the last of a charge, at the raised voltage
)

// gassing is the current that makes gas, mA for each Ah, with the standard's factors.
var gassing = map[Kind]map[Stage]float64{
	Flooded: {Float: 5, Boost: 20}, AGM: {Float: 1, Boost: 8}, Gel: {Float: 1, Boost: 8}}

// VentilationM3H returns the air that carries off the hydrogen of a charge, and the free opening
// for it in cm². cells (in series, 2 V each) and ampHours (ten-hour size) must be more than 0. An
// error: what is not so, no such stage, or a kind that does not gas, like lithium.
//
// The standard's 20 mA/Ah in boost hold a fivefold margin over the gas of a healthy flooded cell.
// What the default charging loses near full (see DefaultsOf), were all of it gas, is about as much:
// 20 to 22 mA/Ah from 90 % on. So the air carries off what the model may gas, and the loss is not
// all gas.
//
// Source: EN/IEC 62485-2: Q = 0.05 n I_gas C10 10⁻³, opening 28 Q.
func VentilationM3H(kind Kind, stage Stage, cells, ampHours float64) (airM3H, openingCM2 float64, err error) {
	if !positive(cells, ampHours) {
		return 0, 0, fmt.Errorf("cells and amp-hours must be more than 0, got %g and %g", cells, ampHours)
	}
	mAPerAh := gassing[kind][stage]
	if mAPerAh == 0 {
		return 0, 0, fmt.Errorf("a %s bank does not gas in %s", kind, stage)
	}
	airM3H = 0.05 * cells * mAPerAh * ampHours / 1000
	return airM3H, 28 * airM3H, nil
}
