package place

import (
	"math"

	"twigwatt/sim/calendar"
)

// Declination returns the sun's declination in degrees at noon of a day, north positive.
//
// Source: Astronomical Almanac, approximate coordinates of the sun (from memory): D is in days
// from noon of 1 January 2000.
func Declination(d calendar.Date) float64 {
	const rad, year2000 = math.Pi / 180, 10957 // days from 1970-01-01
	days := float64(d - year2000)
	anomaly := (357.529 + 0.98560028*days) * rad
	meanLongitude := 280.459 + 0.98564736*days
	longitude := (meanLongitude + 1.915*math.Sin(anomaly) + 0.020*math.Sin(2*anomaly)) * rad
	obliquity := (23.439 - 0.00000036*days) * rad
	return math.Asin(math.Sin(obliquity)*math.Sin(longitude)) / rad
}
