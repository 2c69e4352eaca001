package sun

import (
	"math"
	"time"

	"twigwatt/sim/calendar"
)

// A Month is the days of a calendar month at a latitude.
type Month struct{ Days []Day }

// MonthOn returns a month of a year at a latitude (−90 to 90°).
func MonthOn(latitudeDeg float64, year int, month time.Month) Month {
	var m Month
	for d := calendar.NewDate(year, month, 1); d.Month() == month; d++ {
		m.Days = append(m.Days, On(latitudeDeg, d))
	}
	return m
}

// OutsideKWhM2 is the mean day's energy outside the air, on level ground.
func (m Month) OutsideKWhM2() float64 {
	sum := 0.0
	for i := range m.Days {
		sum += m.Days[i].OutsideKWhM2
	}
	return sum / float64(len(m.Days))
}

// DarkKWhM2: a month with less outside the air in its mean day has no sun worth the name.
const DarkKWhM2 = 0.05

// Clearness returns the clearness of a month whose mean day has so much energy on level ground,
// kWh/m², exact for the month's total; 0 in polar night.
func (m Month) Clearness(levelKWhM2 float64) float64 {
	outside := m.OutsideKWhM2()
	if outside < DarkKWhM2 {
		return 0
	}
	return levelKWhM2 / outside
}

// A Gathered is what a month's mean day brings.
type Gathered struct {
	Light    Light   // on level ground, kWh/m²
	PlaneKWh float64 // on the plane, kWh/m²
	PowerKWh float64 // by the power that was asked for
}

// classes are the kinds of days of one chance that a month's expected day is the mean of: one, of the
// mean clearness, would err by 40 % in a winter month, twenty err by 0.03 %.
const classes = 20

// Gather returns the mean day of a month of a clearness on a plane, over twenty kinds of days, with
// power in kW for each kW/m² on the plane. pressureShare is the air's, over that at the sea.
func (m Month) Gather(clearness float64, p Plane, pressureShare float64, power func(planeKWM2 float64) float64) Gathered {
	var g Gathered
	if !(clearness > 0) {
		return g
	}
	const steps, stepH = 48, 0.5
	sky := NewSky(clearness)
	kinds := sky.Classes(classes)
	for i := range m.Days {
		d := &m.Days[i]
		for step := range steps {
			from := (float64(step)*stepH - 12) * math.Pi / 12
			to := from + stepH*math.Pi/12
			clippedFrom, clippedTo := d.clip(from, to)
			if clippedFrom >= clippedTo {
				continue
			}
			for _, k := range kinds {
				l := d.Parted(k, from, to, pressureShare)
				plane := p.Gather(d, l, (clippedFrom+clippedTo)/2, 1)
				g.Light.Beam += l.Beam
				g.Light.Diffuse += l.Diffuse
				g.Light.Outside += l.Outside
				g.PlaneKWh += plane
				g.PowerKWh += power(plane/stepH) * stepH
			}
		}
	}
	each := 1 / float64(len(m.Days)*classes)
	g.Light = Light{g.Light.Beam * each, g.Light.Diffuse * each, g.Light.Outside * each}
	g.PlaneKWh, g.PowerKWh = g.PlaneKWh*each, g.PowerKWh*each
	return g
}
