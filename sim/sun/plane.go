package sun

import "math"

// A Plane is how panels stand.
type Plane struct {
	TiltDeg     float64 // 0 level, 90 upright
	FacesDeg    float64 // compass: 90 east, 180 south
	GroundShare float64 // of the light that the ground sends back
	SkyShare    float64 // of the sky that is not hidden by hills and trees, 1: all of it
}

// CosIncidence returns the cosine of the angle between the sun and the plane's normal at an hour
// angle; below 0 the sun stands behind it.
//
// Source: Duffie & Beckman, eq. 1.6.2.
func (p Plane) CosIncidence(d *Day, hourAngle float64) float64 {
	latitude, declination := d.LatitudeDeg*rad, d.DeclinationDeg*rad
	tilt, faces := p.TiltDeg*rad, (p.FacesDeg-180)*rad
	sinD, cosD := math.Sincos(declination)
	sinL, cosL := math.Sincos(latitude)
	sinT, cosT := math.Sincos(tilt)
	sinF, cosF := math.Sincos(faces)
	sinW, cosW := math.Sincos(hourAngle)
	return sinD*sinL*cosT - sinD*cosL*sinT*cosF + cosD*cosL*cosT*cosW + cosD*sinL*sinT*cosF*cosW + cosD*sinT*sinF*sinW
}

// Gather returns the energy on the plane, kWh/m², of light on level ground that comes around an hour
// angle; open is the share of that time in which no hill hides the sun.
//
// Source: Hay, Davies, Klucher and Reindl, as in Duffie & Beckman, eq. 2.16.7.
func (p Plane) Gather(d *Day, l Light, hourAngle, open float64) float64 {
	level := l.Level()
	if level <= 0 {
		return 0
	}
	ratio := 0.0 // of the beam on the plane to that on level ground
	if sinHeight := d.SinHeight(hourAngle); sinHeight > 0 {
		ratio = max(0, p.CosIncidence(d, hourAngle)) / sinHeight
	}
	return p.view().gather(l, ratio*open)
}

// A view is what of the sky and of the ground a plane sees.
type view struct{ sky, bright, ground float64 }

func (p Plane) view() view {
	cosT := math.Cos(p.TiltDeg * rad)
	return view{sky: (1 + cosT) / 2 * p.SkyShare, bright: math.Pow(math.Sin(p.TiltDeg*rad/2), 3), ground: p.GroundShare * (1 - cosT) / 2}
}

// gather returns the energy on the plane of light on level ground, more than 0, where the beam on the
// plane is so many times that on level ground.
func (v view) gather(l Light, ratio float64) float64 {
	level := l.Level()
	around := 0.0 // share of the diffuse light that comes from around the sun
	if l.Outside > 0 {
		around = min(1, l.Beam/l.Outside)
	}
	bright := 1 + math.Sqrt(l.Beam/level)*v.bright // towards the horizon
	return (l.Beam+around*l.Diffuse)*ratio + l.Diffuse*(1-around)*v.sky*bright + level*v.ground
}

// CellC returns a cell's temperature in air of airC, with so many kW/m² on its plane, where it stands
// warmsC above the air at 1 kW/m².
//
// Source: Ross 1976 (from memory): 21 °C above the air in the open, 26 on a rack, 34 on a roof.
func CellC(planeKWM2, airC, warmsC float64) float64 { return airC + warmsC*planeKWM2 }

// PowerShare returns a cell's power at a temperature over that at 25 °C, where it loses a share for
// each °C; never below 0.
//
// Source: IEC 61215 (rated at 25 °C and 1 kW/m²).
func PowerShare(cellC, lossPerC float64) float64 {
	const ratedC = 25
	return max(0, 1-lossPerC*(cellC-ratedC))
}
