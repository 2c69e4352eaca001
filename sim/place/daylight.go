package place

import (
	"math"

	"twigwatt/sim/calendar"
)

// Heights of the sun's centre at which a day is said to begin and end, in degrees.
const (
	GeometricDeg = 0.0    // centre on a flat horizon (FAO-56)
	RiseDeg      = -0.833 // upper limb, with refraction (common almanac definition)
)

// A Sun is the sun's day in minutes of solar time since midnight. In polar night Hours is 0
// and the sun sets as it rises, at midnight; in polar day Hours is 24, from midnight to midnight.
type Sun struct {
	Hours           float64
	Sunrise, Sunset float64
}

// Daylight returns the sun's day at a latitude (−90 to 90°, north positive),
// counted while the sun's centre stands above heightDeg.
//
// Source: the almanac's declination (see Declination) in FAO Irrigation and Drainage Paper 56 (Allen
// et al. 1998), equations 25 and 34; the height enters as in the almanacs' sunrise equation.
func Daylight(latitudeDeg float64, d calendar.Date, heightDeg float64) Sun {
	const rad = math.Pi / 180
	latitude := latitudeDeg * rad
	declination := Declination(d) * rad
	cosine := (math.Sin(heightDeg*rad) - math.Sin(latitude)*math.Sin(declination)) /
		(math.Cos(latitude) * math.Cos(declination))
	switch {
	case cosine >= 1:
		return Sun{}
	case cosine <= -1:
		return Sun{Hours: 24, Sunset: calendar.MinutesADay}
	}
	half := math.Acos(cosine) * 12 / math.Pi // hours from noon; FAO-56, eq. 34
	return Sun{Hours: 2 * half, Sunrise: 60 * (12 - half), Sunset: 60 * (12 + half)}
}

// WithNoonAt returns the sun's day by a clock that shows a minute of the day as the sun stands highest;
// 0: at noon. Where it sets after midnight, it does so early on the same day.
func (s Sun) WithNoonAt(minute int) Sun {
	if minute == 0 || s.Hours == 0 || s.Hours == 24 {
		return s
	}
	later := float64(minute - calendar.MinutesADay/2)
	s.Sunrise, s.Sunset = s.Sunrise+later, s.Sunset+later
	return s
}

// DarkMinutes returns how many minutes of [from, to), counted from midnight (0 to 1440),
// lie between sunset and sunrise.
func (s Sun) DarkMinutes(from, to float64) float64 {
	light := 0.0
	for _, turned := range [...]float64{-calendar.MinutesADay, 0, calendar.MinutesADay} { // yesterday's and tomorrow's sun
		light += max(0, min(to, s.Sunset+turned)-max(from, s.Sunrise+turned))
	}
	return to - from - min(light, to-from)
}

// Dark returns the stretches of the day between sunset and sunrise, to the minute.
func (s Sun) Dark() []calendar.Window {
	switch s.Hours {
	case 0:
		return []calendar.Window{{From: 0, To: calendar.MinutesADay}}
	case 24:
		return nil
	}
	const day = calendar.MinutesADay
	rise, set := int(math.Ceil(s.Sunrise)), int(s.Sunset)
	switch {
	case set > day:
		return []calendar.Window{{From: set - day, To: rise}}
	case rise < 0:
		return []calendar.Window{{From: set, To: rise + day}}
	}
	return []calendar.Window{{From: 0, To: rise}, {From: set, To: day}}
}
