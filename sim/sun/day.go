// Package sun models the sun's energy: a day's outside the air and on level ground, hour by hour on a
// plane of panels, and what sky a day may have.
//
// On makes a Day of a latitude and a date. Clearness, the day's energy on level ground over that
// outside the air, makes hours of it (Level, Outside), parts it into light from the sun and from the
// sky (DiffuseShare, Day.Parted), and a Plane gathers both. A Sky is the spread of clearness about a
// month's mean. Energies are kWh/m², hour angles radians from noon, shares 0 to 1. Left out: the
// clock's distance from the sun (a quarter of an hour at most), spectrum, and shade but that of a
// horizon.
package sun

import (
	"math"

	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
)

const (
	rad = math.Pi / 180

	// solarKWM2 is the sun's power outside the air at its mean distance, kW/m².
	//
	// Source: World Radiation Center, 1367 W/m² (from memory; the published tables use it).
	solarKWM2 = 1.367
)

// DistanceAU returns the sun's distance at noon of a day, in its mean distance.
//
// Source: Astronomical Almanac, approximate coordinates of the sun (from memory).
func DistanceAU(d calendar.Date) float64 {
	const year2000 = 10957 // days from 1970-01-01
	anomaly := (357.529 + 0.98560028*float64(d-year2000)) * rad
	return 1.00014 - 0.01671*math.Cos(anomaly) - 0.00014*math.Cos(2*anomaly)
}

// A Day is the sun's way over a latitude on a day.
type Day struct {
	LatitudeDeg, DeclinationDeg float64 // north is positive
	NormalKWM2                  float64 // outside the air, square to the sun
	Sunset                      float64 // hour angle of the sun's centre on a flat horizon, 0 to π
	OutsideKWhM2                float64 // outside the air, level, in the day

	u, v float64 // height of the sun: its sine is u + v cos ω
}

// On returns a day of a latitude (−90 to 90°).
func On(latitudeDeg float64, d calendar.Date) Day {
	distance := DistanceAU(d)
	return NewDay(latitudeDeg, place.Declination(d), solarKWM2/(distance*distance))
}

// NewDay returns a day of a latitude (−90 to 90°) and a declination of the sun, with its power outside
// the air in kW/m², square to the sun.
//
// Source: Duffie & Beckman, Solar Engineering of Thermal Processes, eq. 1.6.10 and 1.10.3.
func NewDay(latitudeDeg, declinationDeg, normalKWM2 float64) Day {
	d := Day{LatitudeDeg: latitudeDeg, DeclinationDeg: declinationDeg, NormalKWM2: normalKWM2,
		u: math.Sin(latitudeDeg*rad) * math.Sin(declinationDeg*rad),
		v: math.Cos(latitudeDeg*rad) * math.Cos(declinationDeg*rad)}
	d.Sunset = math.Acos(max(-1, min(1, -math.Tan(latitudeDeg*rad)*math.Tan(declinationDeg*rad))))
	d.OutsideKWhM2 = 24 / math.Pi * normalKWM2 * (d.v*math.Sin(d.Sunset) + d.u*d.Sunset)
	if d.OutsideKWhM2 < 0 { // rounding, in polar night
		d.OutsideKWhM2 = 0
	}
	return d
}

// Hours returns how long the sun's centre stands over a flat horizon.
func (d *Day) Hours() float64 { return 2 * d.Sunset * 12 / math.Pi }

// SinHeight returns the sine of the sun's height at an hour angle.
func (d *Day) SinHeight(hourAngle float64) float64 { return d.u + d.v*math.Cos(hourAngle) }

// clip cuts a stretch of hour angles to where the sun is up.
func (d *Day) clip(from, to float64) (float64, float64) {
	return max(from, -d.Sunset), min(to, d.Sunset)
}

// Level returns the share of the day's energy on level ground that comes between two hour angles, in
// the mean of many days.
//
// Source: Collares-Pereira & Rabl 1979, Solar Energy 22:155; with u + v cos ω for the sun's height, so
// that polar days come right too.
func (d *Day) Level(from, to float64) float64 {
	if d.OutsideKWhM2 == 0 {
		return 0
	}
	a := 0.409 + 0.5016*math.Sin(d.Sunset-60*rad)
	b := 0.6609 - 0.4767*math.Sin(d.Sunset-60*rad)
	energy := func(w float64) float64 {
		return a*d.u*w + (a*d.v+b*d.u)*math.Sin(w) + b*d.v*(w/2+math.Sin(2*w)/4)
	}
	return d.share(energy, from, to)
}

// Outside returns the share of the day's energy outside the air that comes between two hour angles.
func (d *Day) Outside(from, to float64) float64 {
	if d.OutsideKWhM2 == 0 {
		return 0
	}
	return d.share(func(w float64) float64 { return d.u*w + d.v*math.Sin(w) }, from, to)
}

func (d *Day) share(energy func(hourAngle float64) float64, from, to float64) float64 {
	if from, to = d.clip(from, to); from >= to {
		return 0
	}
	return (energy(to) - energy(from)) / (energy(d.Sunset) - energy(-d.Sunset))
}

// DiffuseShare returns the share of a day's level energy that comes from the sky, not straight from
// the sun, by the day's clearness (0 to 1).
//
// Source: Erbs, Klein & Duffie 1982, Solar Energy 28:293.
func (d *Day) DiffuseShare(clearness float64) float64 {
	k := clearness
	if d.Sunset <= 81.4*rad {
		if k >= 0.715 {
			return 0.143
		}
		return 1 - 0.2727*k + 2.4495*k*k - 11.9514*k*k*k + 9.3879*k*k*k*k
	}
	if k >= 0.722 {
		return 0.175
	}
	return 1 + 0.2832*k - 2.5557*k*k + 0.8448*k*k*k
}

// A Light is the energy of a stretch of a day on level ground, kWh/m².
type Light struct {
	Beam, Diffuse float64 // straight from the sun, and from the sky
	Outside       float64 // outside the air
}

// Level is all that comes on level ground.
func (l Light) Level() float64 { return l.Beam + l.Diffuse }

// Parted returns what comes between two hour angles of a day of a clearness, where the air's pressure
// is a share of that at the sea. No more comes straight from the sun than through a clear sky.
//
// Source: the diffuse part by the curve of the energy outside the air (Liu & Jordan 1960); the clear
// sky's beam, Meinel & Meinel 1976, 0.7^(air mass^0.678); air mass, Kasten & Young 1989 (from memory).
func (d *Day) Parted(clearness, from, to, pressureShare float64) Light {
	share := part{level: d.Level(from, to), outside: d.Outside(from, to), clearBeam: d.clearBeam(from, to, pressureShare)}
	return d.parted(clearness, d.DiffuseShare(clearness), &share)
}

// A part is what of a day's light comes between two hour angles, whatever the day's clearness.
type part struct {
	level, outside float64 // shares of the day's
	clearBeam      float64 // kWh/m², on level ground
}

// parted returns a part's light where so much of the day's comes from the sky.
func (d *Day) parted(clearness, diffuseShare float64, p *part) Light {
	dayKWh := clearness * d.OutsideKWhM2
	level := dayKWh * p.level
	diffuse := min(level, max(diffuseShare*dayKWh*p.outside, level-p.clearBeam))
	return Light{Beam: level - diffuse, Diffuse: diffuse, Outside: d.OutsideKWhM2 * p.outside}
}

// clearBeam is what comes straight from the sun through a clear sky between two hour angles, on level
// ground.
func (d *Day) clearBeam(from, to, pressureShare float64) float64 {
	from, to = d.clip(from, to)
	sinHeight := d.SinHeight((from + to) / 2)
	if from >= to || sinHeight <= 0 {
		return 0
	}
	heightDeg := math.Asin(min(1, sinHeight)) / rad
	airMass := pressureShare / (sinHeight + 0.50572*math.Pow(heightDeg+6.07995, -1.6364))
	hours := (to - from) * 12 / math.Pi
	return d.NormalKWM2 * math.Pow(0.7, math.Pow(airMass, 0.678)) * sinHeight * hours
}
