// Package place knows where the household lives: the air through the year,
// the pressure at its altitude and the hours of daylight.
//
// Air is twelve monthly means joined by straight lines at mid-month. There is
// no weather here: a cold snap is the business of the study that asks for one.
package place

import (
	"math"
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
	month := d.Month()
	mid, length := middle(d.Year(), month)
	noon := float64(d) + 0.5
	other, span := int(month), 0.0 // index of the following month
	if noon < mid {
		other = int(month) - 2
		previous := calendar.NewDate(d.Year(), month, 1) - 1
		_, before := middle(previous.Year(), previous.Month())
		span = (length + before) / 2
	} else {
		next := calendar.NewDate(d.Year(), month, 28) + 7
		_, after := middle(next.Year(), next.Month())
		span = (length + after) / 2
	}
	here, there := int(month)-1, (other+12)%12
	share := math.Abs(noon-mid) / span
	join := func(m [12]float64) float64 { return m[here] + share*(m[there]-m[here]) }
	return join(a.MeanC), join(a.HumidityPct)
}

// middle returns the middle of a month, in days since 1970, and its length in days.
func middle(year int, month time.Month) (mid, length float64) {
	first := calendar.NewDate(year, month, 1)
	next := calendar.NewDate(year, month, 28) + 7
	length = float64(calendar.NewDate(next.Year(), next.Month(), 1) - first)
	return float64(first) + length/2, length
}

// ColdestC returns the lowest monthly mean.
func (a Air) ColdestC() float64 {
	coldest := a.MeanC[0]
	for _, c := range a.MeanC {
		coldest = min(coldest, c)
	}
	return coldest
}

// PressurePa returns the pressure of the standard atmosphere at an altitude of
// up to 11 000 m above the sea.
//
// Source: ISO 2533, the layer up to 11 km.
func PressurePa(altitudeM float64) float64 {
	const (
		seaLevelPa    = 101325.0  // ISO 2533
		seaLevelK     = 288.15    // ISO 2533
		lapseKPerM    = 0.0065    // ISO 2533
		gravity       = 9.80665   // m/s2, ISO 2533
		gasJPerKgPerK = 287.05287 // ISO 2533
	)
	return seaLevelPa * math.Pow(1-lapseKPerM*altitudeM/seaLevelK, gravity/(gasJPerKgPerK*lapseKPerM))
}
