package loads

import (
	"slices"

	"gonum.org/v1/gonum/floats"

	"twigwatt/sim/calendar"
	"twigwatt/sim/sun"
)

// addSun adds what the panels give through a span: as the days come, and as they are expected.
func (d *Demand) addSun(panels *sun.Panels, span calendar.Span) {
	d.Sun = panels.Over(span)
	d.sunOf(span.Days, span.StepsADay(), d.Sun.NewDraws(panels.Seed))
}

// sunOf works out the days' sun by draws of their skies; nil: as they are expected.
func (d *Demand) sunOf(days, perDay int, draws *sun.Draws) {
	fresh := func() []float64 { return make([]float64, days*perDay) }
	d.SunKW, d.HouseSunKW, d.ExpectedSunKW, d.ExpectedHouseSunKW = fresh(), fresh(), fresh(), fresh()
	d.DaySun = make([]sun.DaySun, days)
	for day := range days {
		of := func(kw []float64) []float64 { return kw[day*perDay : (day+1)*perDay] }
		expected := d.Sun.Expected(day, of(d.ExpectedSunKW), of(d.ExpectedHouseSunKW))
		if draws == nil {
			copy(of(d.SunKW), of(d.ExpectedSunKW))
			copy(of(d.HouseSunKW), of(d.ExpectedHouseSunKW))
			d.DaySun[day] = expected
			continue
		}
		d.DaySun[day] = d.Sun.Drawn(day, draws.Next(), of(d.SunKW), of(d.HouseSunKW))
	}
	d.FileOtherKW, d.ExpectedFileOtherKW = d.OtherKW, d.ExpectedOtherKW
	d.addHouseSun()
}

// addHouseSun adds the panels at the house to the other sources of the file.
func (d *Demand) addHouseSun() {
	with := func(otherKW, sunKW []float64) []float64 {
		return floats.AddTo(make([]float64, len(otherKW)), otherKW, sunKW)
	}
	d.OtherKW, d.SteadyOtherKW = with(d.FileOtherKW, d.HouseSunKW), with(d.FileOtherKW, d.ExpectedHouseSunKW)
	d.ExpectedOtherKW = with(d.ExpectedFileOtherKW, d.ExpectedHouseSunKW)
}

// In is the demand of days of which the sky of the first is as said, and known. Days come as they are
// expected.
func (d *Demand) In(said sun.Said, days, perDay int) *Demand {
	if d.Sun == nil || said == sun.Unsaid {
		return d
	}
	return d.under(d.Sun.In(said, days), perDay)
}

// under is the demand of days that come as they are expected under other skies.
func (d *Demand) under(sky *sun.Harvest, perDay int) *Demand {
	known := *d
	known.Sun = sky
	known.OtherKW, known.ExpectedOtherKW = d.FileOtherKW, d.ExpectedFileOtherKW
	known.sunOf(d.Sun.Days(), perDay, nil)
	return &known
}

// Brightest is the demand of days of the brightest kind of sky, all known.
func (d *Demand) Brightest(perDay int) *Demand { return d.under(d.Sun.Brightest(), perDay) }

// UsualSun is the demand where every day brings a share of what is expected of the sun, known
// beforehand.
func (d *Demand) UsualSun(share float64) *Demand {
	if d.Sun == nil {
		return d
	}
	usual := *d
	usual.Sun = nil
	scaled := func(kw []float64) []float64 {
		kw = slices.Clone(kw)
		floats.Scale(share, kw)
		return kw
	}
	usual.ExpectedSunKW, usual.ExpectedHouseSunKW = scaled(d.ExpectedSunKW), scaled(d.ExpectedHouseSunKW)
	usual.SunKW, usual.HouseSunKW = usual.ExpectedSunKW, usual.ExpectedHouseSunKW
	usual.addHouseSun()
	return &usual
}

// SkySpreads reports whether the sun of days that come differs from what is expected of it.
func (d *Demand) SkySpreads() bool { return d.Sun != nil && d.Sun.ByLuck() }

// expectSun gives a demand the sun that is expected.
func (d *Demand) expectSun() {
	d.OtherKW, d.SunKW, d.HouseSunKW = d.SteadyOtherKW, d.ExpectedSunKW, d.ExpectedHouseSunKW
}
