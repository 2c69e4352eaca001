// Package loads models what the house wants: the published household, a
// measured file, single appliances, and chores that can wait for a run.
//
// Describe the house in Wants and call Demand for a span: mean powers for each
// step, as they come and as they are expected by one who does not know the
// days' swings. Left out: anything shorter than a step, and power factor.
package loads

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"

	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
	"twigwatt/sim/sun"
)

// Wants describes the house. Shares are 0 to 1.
type Wants struct {
	KWhPerYear  float64 // of the published household in a calendar year; 0: none
	KWhPerDay   float64 // the same as the year's mean day; 0: none
	File        *Measured
	Other       *Measured // any other source's AC power
	Scale       float64   // on household, file and appliances
	Away        []calendar.DateRange
	AwayShare   float64 // of the load that stays while away, beside the appliances that stay on
	SwingShare  float64 // standard deviation of the day's factor
	SwingMemory float64 // correlation from day to day, 0 to below 1
	Seed        uint64
	LatitudeDeg float64 // north is positive; in the south the household's seasons are turned by half a year
	Appliances  []Appliance
	Chores      []Chore
	GrowthShare float64     // by which the load grows from year to year of the span
	NoonMinute  int         // of the clock's day: when the sun stands highest; 0: noon
	Panels      *sun.Panels // nil: none
}

// An Appliance runs in its hours; its mean power is Watts × Count × DutyShare.
type Appliance struct {
	Name      string
	Watts     float64
	Count     float64
	DutyShare float64
	Hours     []calendar.Window // merged
	Days      calendar.Weekdays
	Months    calendar.Months
	AfterDark bool // only between sunset and sunrise
	WhileAway bool // stays on while nobody is at home
}

// A Chore is KWh of work at KW, wanted TimesPerWeek on its days, begun and
// ended within one of its hours. Nobody does chores on away days.
type Chore struct {
	Name         string
	KWh, KW      float64
	TimesPerWeek float64
	Hours        []calendar.Window // merged
	Days         calendar.Weekdays
}

// Minutes returns how long the chore takes.
func (c Chore) Minutes() float64 { return 60 * c.KWh / c.KW }

// Demand is what the house wants through a span, kW means by step. Loads hold no chores.
type Demand struct {
	LoadKW, OtherKW                 []float64 // as the days come
	SteadyKW                        []float64 // the load, were the days to come without their swings
	ExpectedLoadKW, ExpectedOtherKW []float64
	FileUse, OtherUse               Use
	AwayDay                         []bool
	SwingShare, SwingMemory         float64 // by how much days are drawn to differ from what is expected: see Wants
	SpreadShare, SpreadMemory       float64 // by how much they are known to: the same, or as a measured file's days do
	Seed                            uint64  // that the days' swings are drawn by
	Chores                          []Chore

	// Of panels, nil without: at the bank DC behind their charge controllers, at the house AC. The other
	// sources hold the latter besides what their file says.
	Sun                               *sun.Harvest // nil too where the days' sun is known
	SunKW, HouseSunKW                 []float64    // as the days come
	ExpectedSunKW, ExpectedHouseSunKW []float64
	FileOtherKW, ExpectedFileOtherKW  []float64
	SteadyOtherKW                     []float64    // the file's as it comes, with the panels' sun that is expected
	DaySun                            []sun.DaySun // as the days come
}

// A FileError says of a measured file, by its key in a scenario, why it cannot serve a span.
type FileError struct {
	Key string
	Err error
}

// Error names the key.
func (e *FileError) Error() string { return e.Key + ": " + e.Err.Error() }

// Unwrap returns the reason.
func (e *FileError) Unwrap() error { return e.Err }

// Demand works out a span. The error is a FileError.
func (w *Wants) Demand(span calendar.Span) (*Demand, error) {
	steps, perDay := span.Steps(), span.StepsADay()
	d := &Demand{AwayDay: make([]bool, span.Days), SwingShare: w.SwingShare, SwingMemory: w.SwingMemory,
		SpreadShare: w.SwingShare, SpreadMemory: w.SwingMemory,
		Seed: w.Seed, Chores: w.Chores, ExpectedLoadKW: make([]float64, steps),
		OtherKW: make([]float64, steps), ExpectedOtherKW: make([]float64, steps)}
	w.addHousehold(d.ExpectedLoadKW, span)
	w.addAppliances(d.ExpectedLoadKW, span, func(*Appliance) bool { return true })
	d.LoadKW = slices.Clone(d.ExpectedLoadKW)
	var err error
	if w.File != nil {
		var actual, expected []float64
		if actual, expected, d.FileUse, err = w.File.over(span); err != nil {
			return nil, &FileError{"load.file", err}
		}
		floats.Add(d.LoadKW, actual)
		floats.Add(d.ExpectedLoadKW, expected)
		if share, memory := w.File.Spread(); w.SwingShare == 0 && share > 0 {
			d.SpreadShare = share * floats.Sum(actual) / floats.Sum(d.LoadKW) // the rest comes as expected
			d.SpreadMemory = memory
		}
	}
	if w.Other != nil {
		if d.OtherKW, d.ExpectedOtherKW, d.OtherUse, err = w.Other.over(span); err != nil {
			return nil, &FileError{"other.file", err}
		}
	}
	stays := make([]float64, steps) // what is not turned off while away
	w.addAppliances(stays, span, func(a *Appliance) bool { return a.WhileAway })
	d.SteadyKW = d.LoadKW
	if w.SwingShare > 0 {
		d.SteadyKW = make([]float64, steps)
	}
	swing := d.NewSwing(w.Seed)
	nextYear, grown := span.Start.AYearLater(), 1.0
	for day := range span.Days {
		if span.Start+calendar.Date(day) == nextYear {
			nextYear, grown = nextYear.AYearLater(), grown*(1+w.GrowthShare)
		}
		factor, swung := w.Scale*grown, swing.Next()
		steps := func(kw []float64) []float64 { return kw[day*perDay : (day+1)*perDay] }
		if calendar.AnyHolds(w.Away, span.Start+calendar.Date(day)) {
			d.AwayDay[day] = true
			for _, kw := range [][]float64{steps(d.ExpectedLoadKW), steps(d.LoadKW)} {
				for i, stay := range steps(stays) {
					kw[i] = stay + w.AwayShare*(kw[i]-stay)
				}
			}
		}
		floats.Scale(factor, steps(d.ExpectedLoadKW))
		if w.SwingShare > 0 {
			floats.ScaleTo(steps(d.SteadyKW), factor, steps(d.LoadKW))
		}
		floats.Scale(factor*swung, steps(d.LoadKW))
	}
	if w.Panels != nil {
		d.addSun(w.Panels, span)
	}
	return d, nil
}

// Steady is the demand of days that come without their swings and under the sky that is expected,
// though they are known to differ.
func (d *Demand) Steady() *Demand {
	steady := *d
	steady.LoadKW = d.SteadyKW
	if d.SkySpreads() {
		steady.expectSun()
	}
	return &steady
}

// Expected is the demand of days that come as one expects who does not know them.
func (d *Demand) Expected() *Demand {
	expected := *d
	expected.LoadKW, expected.SteadyKW, expected.OtherKW = d.ExpectedLoadKW, d.ExpectedLoadKW, d.ExpectedOtherKW
	if d.SunKW != nil {
		expected.expectSun()
		expected.FileOtherKW, expected.SteadyOtherKW = d.ExpectedFileOtherKW, d.ExpectedOtherKW
		expected.OtherKW = d.ExpectedOtherKW
	}
	return &expected
}

// Part is the demand of some days of a span, of so many steps each; it shares what it holds
// with the whole.
func (d *Demand) Part(firstDay, days, stepsADay int) *Demand {
	part := *d
	for _, kw := range []*[]float64{&part.LoadKW, &part.OtherKW, &part.SteadyKW, &part.ExpectedLoadKW, &part.ExpectedOtherKW,
		&part.SunKW, &part.HouseSunKW, &part.ExpectedSunKW, &part.ExpectedHouseSunKW, &part.FileOtherKW, &part.ExpectedFileOtherKW,
		&part.SteadyOtherKW} {
		if *kw != nil {
			*kw = (*kw)[firstDay*stepsADay : (firstDay+days)*stepsADay]
		}
	}
	if d.Sun != nil {
		part.Sun = d.Sun.Part(firstDay, days)
	}
	if d.DaySun != nil {
		part.DaySun = d.DaySun[firstDay : firstDay+days]
	}
	if d.AwayDay != nil {
		part.AwayDay = d.AwayDay[firstDay : firstDay+days]
	}
	return &part
}

// Changed is the demand with its loads multiplied by a factor, and a power added at each
// step (nil: none).
func (d *Demand) Changed(factor float64, moreKW []float64) *Demand {
	changed := *d
	for _, kw := range []*[]float64{&changed.LoadKW, &changed.SteadyKW, &changed.ExpectedLoadKW} {
		*kw = slices.Clone(*kw)
		for i := range *kw {
			(*kw)[i] *= factor
			if moreKW != nil {
				(*kw)[i] += moreKW[i]
			}
		}
	}
	return &changed
}

// A Swing draws the days' factors, one after another: log-normal with mean 1 and
// the wanted standard deviation, its logarithm an autoregression of the first order.
type Swing struct {
	random       *rand.Rand
	memory       float64
	variance     float64 // of the logarithm
	mean, spread float64 // of the next day's deviation
}

// NewSwing begins the days of a seed; nil where there is no swing.
func (d *Demand) NewSwing(seed uint64) *Swing { return newSwing(seed, d.SwingShare, d.SwingMemory) }

// NewSpread begins days of a seed that differ as the house's are known to, those of a measured
// file too; nil where none do.
func (d *Demand) NewSpread(seed uint64) *Swing { return newSwing(seed, d.SpreadShare, d.SpreadMemory) }

func newSwing(seed uint64, share, memory float64) *Swing {
	if share == 0 {
		return nil
	}
	const stream = 0x7477696777617474 // keeps these draws apart from others of the same seed
	return &Swing{random: rand.New(rand.NewPCG(seed, stream)), memory: memory,
		variance: math.Log1p(share * share), spread: 1}
}

// Starts has the next day's deviation drawn from what is known of it: a normal
// distribution, in standard deviations of the logarithm.
func (s *Swing) Starts(mean, variance float64) {
	if s != nil {
		s.mean, s.spread = mean, math.Sqrt(variance)
	}
}

// Next returns the next day's factor; 1 where there is no swing.
func (s *Swing) Next() float64 {
	if s == nil {
		return 1
	}
	z := s.mean + s.spread*s.random.NormFloat64()
	s.mean, s.spread = s.memory*z, math.Sqrt(1-s.memory*s.memory)
	return math.Exp(math.Sqrt(s.variance)*z - s.variance/2)
}

// addHousehold adds the published household, scaled so that a calendar year holds what is wanted,
// whichever days the span takes of it. In the south its seasons are those of half a year on.
func (w *Wants) addHousehold(kw []float64, span calendar.Span) {
	if w.KWhPerYear == 0 && w.KWhPerDay == 0 {
		return
	}
	scale, perDay := map[int]float64{}, span.StepsADay()
	for day := range span.Days {
		date := span.Start + calendar.Date(day)
		year := date.Year()
		if scale[year] == 0 {
			wanted := w.KWhPerYear + w.KWhPerDay*float64(calendar.DaysInYear(year))
			scale[year] = wanted / h0YearKWh(year, w.turn()) / 1000
		}
		for i, watts := range h0Day(date, w.turn(), span.StepMinutes) {
			kw[day*perDay+i] += watts * scale[year]
		}
	}
}

// mayRun reports whether an appliance may run on a day, and by which sun: one that may run in
// the light too knows no day.
func (w *Wants) mayRun(a *Appliance, date calendar.Date) (day place.Sun, may bool) {
	if a.AfterDark {
		day = place.Daylight(w.LatitudeDeg, date, place.RiseDeg).WithNoonAt(w.NoonMinute)
	}
	return day, a.Days.Holds(date.Weekday()) && a.Months.Holds(date.Month())
}

// addAppliances adds the mean power of some appliances by the minutes of a step in which they may
// run.
func (w *Wants) addAppliances(kw []float64, span calendar.Span, some func(*Appliance) bool) {
	for i := range w.Appliances {
		a := &w.Appliances[i]
		if !some(a) {
			continue
		}
		for day := range span.Days {
			light, may := w.mayRun(a, span.Start+calendar.Date(day))
			for ofDay := 0; may && ofDay < span.StepsADay(); ofDay++ {
				minutes := 0.0
				for _, window := range a.Hours {
					from, to := max(window.From, ofDay*span.StepMinutes), min(window.To, (ofDay+1)*span.StepMinutes)
					if from < to {
						minutes += light.DarkMinutes(float64(from), float64(to))
					}
				}
				share := minutes / float64(span.StepMinutes)
				kw[day*span.StepsADay()+ofDay] += a.Watts * a.Count * a.DutyShare * share / 1000
			}
		}
	}
}

// Coincidence is the highest power of appliances and chores that may run at the
// same moment, in kW, and the names of those.
func (w *Wants) Coincidence(span calendar.Span) (kw float64, names []string) {
	for day := range span.Days {
		uses := w.uses(span.Start + calendar.Date(day))
		for _, u := range uses { // the most runs as one of them begins
			sum, with := 0.0, []string(nil)
			for _, other := range uses {
				if other.from <= u.from && u.from < other.to {
					sum, with = sum+other.kw, append(with, other.name)
				}
			}
			const roundingKW = 1e-12
			if sum > kw+roundingKW {
				kw, names = sum, with
			}
		}
	}
	slices.Sort(names)
	return kw, slices.Compact(names)
}

// use is a stretch of a day in which something may run, in minutes.
type use struct {
	name     string
	kw       float64
	from, to int
}

// uses are those of a day.
func (w *Wants) uses(date calendar.Date) []use {
	var all []use
	for i := range w.Appliances {
		a := &w.Appliances[i]
		day, may := w.mayRun(a, date)
		for _, window := range a.Hours {
			for _, night := range day.Dark() {
				if from, to := max(window.From, night.From), min(window.To, night.To); may && from < to {
					all = append(all, use{a.Name, a.Watts * a.Count / 1000, from, to})
				}
			}
		}
	}
	for _, c := range w.Chores {
		for _, window := range c.Hours {
			if c.Days.Holds(date.Weekday()) {
				all = append(all, use{c.Name, c.KW, window.From, window.To})
			}
		}
	}
	return all
}
