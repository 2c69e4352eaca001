package loads

import "twigwatt/sim/calendar"

// A Source is what a part of the load comes from.
type Source string

// The sources.
const (
	FromProfile   Source = "profile" // the published household
	FromFile      Source = "file"    // measured
	FromAppliance Source = "appliance"
	FromChore     Source = "chore"
)

// A Part is what one thing of the house wants, in the mean of a span's days as they are expected,
// absences and scale in it.
type Part struct {
	Name      string
	Source    Source
	KWhPerDay float64
}

// Parts tells the house's wants apart. The error is a FileError.
func (w *Wants) Parts(span calendar.Span) (parts []Part, err error) {
	add := func(name string, source Source, with func(alone *Wants)) {
		alone := Wants{Scale: w.Scale, Away: w.Away, AwayShare: w.AwayShare, LatitudeDeg: w.LatitudeDeg,
			NoonMinute: w.NoonMinute, GrowthShare: w.GrowthShare}
		with(&alone)
		d, failed := alone.Demand(span)
		if failed != nil {
			err = failed
			return
		}
		kWh := 0.0
		for _, kw := range d.ExpectedLoadKW {
			kWh += kw * span.StepH()
		}
		parts = append(parts, Part{name, source, kWh / float64(span.Days)})
	}
	if w.KWhPerYear > 0 || w.KWhPerDay > 0 {
		add("household", FromProfile, func(alone *Wants) { alone.KWhPerYear, alone.KWhPerDay = w.KWhPerYear, w.KWhPerDay })
	}
	if w.File != nil {
		add(w.File.Name, FromFile, func(alone *Wants) { alone.File = w.File })
	}
	for _, a := range w.Appliances {
		add(a.Name, FromAppliance, func(alone *Wants) { alone.Appliances = []Appliance{a} })
	}
	for _, c := range w.Chores {
		const daysAWeek = 7
		times := 0
		for _, due := range c.Due(span, w.away(span)) {
			times += due
		}
		if span.Days >= daysAWeek {
			parts = append(parts, Part{c.Name, FromChore, c.KWh * float64(times) / float64(span.Days)})
		} else {
			parts = append(parts, Part{c.Name, FromChore, c.KWh * c.TimesPerWeek / daysAWeek})
		}
	}
	return parts, err
}

// away are the days on which nobody is at home.
func (w *Wants) away(span calendar.Span) []bool {
	away := make([]bool, span.Days)
	for day := range away {
		away[day] = calendar.AnyHolds(w.Away, span.Start+calendar.Date(day))
	}
	return away
}
