package sun

import (
	"math"
	"slices"
)

// A Horizon is hills and trees around, in order of their direction, straight between them and closing
// round; none: flat.
type Horizon []Hill

// A Hill is a point of a horizon: a direction (0 to below 360°) and a height (0 to 90°).
type Hill struct{ CompassDeg, HeightDeg float64 }

// HeightDeg returns how high the horizon stands in a direction.
func (h Horizon) HeightDeg(compassDeg float64) float64 {
	if len(h) == 0 {
		return 0
	}
	compassDeg = math.Mod(compassDeg+720, 360)
	i, _ := slices.BinarySearchFunc(h, compassDeg, func(p Hill, at float64) int {
		if p.CompassDeg <= at {
			return -1
		}
		return 1
	})
	before, after := h[(i+len(h)-1)%len(h)], h[i%len(h)]
	width := math.Mod(after.CompassDeg-before.CompassDeg+360, 360)
	if width == 0 { // one point alone
		return before.HeightDeg
	}
	share := math.Mod(compassDeg-before.CompassDeg+360, 360) / width
	return before.HeightDeg + share*(after.HeightDeg-before.HeightDeg)
}

// SkyShare returns the share of the sky's light that is left to a plane that faces a direction: 1 less
// the mean of sin² of the horizon's height over the half-circle faced (a rule of ours, no source).
func (h Horizon) SkyShare(facesDeg float64) float64 {
	if len(h) == 0 {
		return 1
	}
	const degrees = 180
	sum := 0.0
	for i := range degrees {
		sin := math.Sin(h.HeightDeg(facesDeg-90+float64(i)+0.5) * rad)
		sum += sin * sin
	}
	return 1 - sum/degrees
}

// CompassDeg returns where the sun stands at an hour angle, from north over east.
func (d *Day) CompassDeg(hourAngle float64) float64 {
	sinL, cosL := math.Sincos(d.LatitudeDeg * rad)
	sinD, cosD := math.Sincos(d.DeclinationDeg * rad)
	east := -cosD * math.Sin(hourAngle)
	north := sinD*cosL - cosD*sinL*math.Cos(hourAngle)
	return math.Mod(math.Atan2(east, north)/rad+360, 360)
}

// hidden reports whether the sun stands behind the horizon at an hour angle.
func (d *Day) hidden(h Horizon, hourAngle float64) bool {
	if len(h) == 0 {
		return false
	}
	height := math.Asin(max(-1, min(1, d.SinHeight(hourAngle)))) / rad
	return height < h.HeightDeg(d.CompassDeg(hourAngle))
}
