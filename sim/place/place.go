// Package place knows where the household lives: the air through the year,
// the pressure at its altitude and the hours of daylight.
//
// Air is twelve monthly means joined by straight lines at mid-month. There is
// no weather here: a cold snap is the business of the study that asks for one.
package place

import (
	_ "embed"
	"encoding/csv"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"twigwatt/sim/calendar"
)

// Air is a year of air: the mean of each month, January first. Temperature in
// °C, relative humidity in percent (0 to 100).
type Air struct {
	MeanC       [12]float64
	HumidityPct [12]float64
}

// OnDay returns the air at noon of the day: the monthly means, taken to hold at
// the middle of their months and joined by straight lines.
func (a Air) OnDay(d calendar.Date) (airC, humidityPct float64) {
	year, month, noon := d.Year(), d.Month(), float64(d)+0.5
	other := month + 1
	if noon < middle(year, month) {
		other = month - 1
	}
	share := (noon - middle(year, month)) / (middle(year, other) - middle(year, month))
	here, there := month-1, (other+11)%12
	join := func(m *[12]float64) float64 { return m[here] + share*(m[there]-m[here]) }
	return join(&a.MeanC), join(&a.HumidityPct)
}

// middle returns the middle of a month, in days since 1970; months 0 and 13 are those of the
// years before and after.
func middle(year int, month time.Month) float64 {
	return float64(calendar.NewDate(year, month, 1)+calendar.NewDate(year, month+1, 1)) / 2
}

// ColdestC returns the lowest monthly mean.
func (a Air) ColdestC() float64 { return slices.Min(a.MeanC[:]) }

// Sources of each place: testdata/published/SOURCES.md, row climate_normals.csv.
//
//go:embed climate_normals.csv
var climateNormals string

// Climates returns the names of the published climates, in the table's order.
func Climates() []string { return readClimates().names }

// Climate returns a published climate by name.
func Climate(name string) (Air, bool) {
	air, ok := readClimates().air[name]
	return air, ok
}

type climates struct {
	names []string
	air   map[string]Air
}

var readClimates = sync.OnceValue(func() climates {
	rows, err := csv.NewReader(strings.NewReader(climateNormals)).ReadAll()
	if err != nil {
		panic("climate_normals.csv: " + err.Error())
	}
	all := climates{air: map[string]Air{}}
	for _, row := range rows[1:] {
		name, quantity := row[0], row[1]
		air, known := all.air[name]
		if !known {
			all.names = append(all.names, name)
		}
		means := &air.HumidityPct
		if quantity == "air_c" {
			means = &air.MeanC
		}
		for month := range means {
			if means[month], err = strconv.ParseFloat(row[2+month], 64); err != nil {
				panic("climate_normals.csv: " + err.Error())
			}
		}
		all.air[name] = air
	}
	return all
})

// PressurePa returns the pressure of the standard atmosphere at an altitude of
// up to 11 000 m above the sea.
//
// Source: ISO 2533, the layer up to 11 km.
func PressurePa(altitudeM float64) float64 {
	const (
		seaLevelPa    = 101325.0
		seaLevelK     = 288.15
		lapseKPerM    = 0.0065
		gravity       = 9.80665 // m/s2
		gasJPerKgPerK = 287.05287
	)
	return seaLevelPa * math.Pow(1-lapseKPerM*altitudeM/seaLevelK, gravity/(gasJPerKgPerK*lapseKPerM))
}

// HeatOfVaporisationMJKg is the heat that water in wood takes to evaporate at 25 °C.
//
// Source: EN 14918 / ISO 18125 (0.02443 MJ/kg for each percent).
const HeatOfVaporisationMJKg = 2.443

// SaturationKPa returns the vapour pressure of water over water in air of airC.
//
// Source: Tetens' formula, as FAO-56 equation 11.
func SaturationKPa(airC float64) float64 { return 0.6108 * math.Exp(17.27*airC/(airC+237.3)) }
