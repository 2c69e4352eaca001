package battery

import "fmt"

// cellSize is the factor on a battery's size by its temperature in °F.
//
// Source: IEEE 485 (cell_size_factor.csv, second hand). It is a sizing
// multiplier, not the reciprocal of a capacity.
var cellSize = table{{40, 1.30}, {50, 1.19}, {60, 1.11}, {77, 1.00}, {90, 0.94}}

// CellSizeFactor returns the sizing factor at an air temperature. The table goes
// from 40 to 90 °F (4.4 to 32.2 °C); beyond, its last line goes on.
func CellSizeFactor(airC float64) float64 { return cellSize.at(airC*1.8 + 32) }

// AltitudeShare is the share of a set's power left at an altitude by the rule of
// the published example: 3 % lost for each 1000 ft.
//
// Source: SOURCES.md, row sizing examples (4000 ft turn 2544 W into 2891 W).
func AltitudeShare(altitudeM float64) float64 {
	const feetAMetre, lostPer1000Ft = 1 / 0.3048, 0.03
	return 1 - lostPer1000Ft*altitudeM*feetAMetre/1000
}

// VentilationM3H returns the air that carries off the hydrogen of a charge, and
// the free opening for it in cm². stage is float or boost; cells (in series, 2 V
// each) and ampHours (ten-hour size) must be more than 0. An error: what is not so,
// no such stage, or a kind that does not gas, like lithium.
//
// Source: EN/IEC 62485-2: Q = 0.05 n I_gas C10 10⁻³, opening 28 Q; the gassing
// current in mA/Ah holds the standard's factors.
func VentilationM3H(kind Kind, stage string, cells, ampHours float64) (airM3H, openingCM2 float64, err error) {
	if !(cells > 0 && ampHours > 0) {
		return 0, 0, fmt.Errorf("cells and amp-hours must be more than 0, got %g and %g", cells, ampHours)
	}
	gassing := map[Kind]map[string]float64{Flooded: {"float": 5, "boost": 20}, AGM: {"float": 1, "boost": 8},
		Gel: {"float": 1, "boost": 8}}[kind][stage]
	if gassing == 0 {
		return 0, 0, fmt.Errorf("a %s bank does not gas in %s", kind, stage)
	}
	airM3H = 0.05 * cells * gassing * ampHours / 1000
	return airM3H, 28 * airM3H, nil
}

// CapacityPct returns the capacity in percent of that at 25 °C.
//
// Source: battery_temperature.csv; beyond −15 and 40 °C its last line goes on.
func CapacityPct(airC float64) float64 { return max(0, capacityByAir.at(airC)) }
