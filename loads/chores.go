package loads

import "twigwatt/sim/calendar"

// Due returns how often a chore is wanted on each day of the span: its times a week spread evenly
// over its days, those away left out. Weeks begin on Monday, so that a day's chores are the same
// wherever a span begins in its week. away has a value for each day of the span.
func (c Chore) Due(span calendar.Span, away []bool) []int {
	due := make([]int, span.Days)
	const rounding = 1e-9 // of a time: seven sevenths must make one
	owed := 0.5           // so that one a week falls in the week's middle
	monday := -((int(span.Start.Weekday()) + 6) % 7)
	for day := monday; day < span.Days; day++ {
		if !c.Days.Holds((span.Start + calendar.Date(day)).Weekday()) || day >= 0 && away[day] {
			continue
		}
		owed += c.TimesPerWeek / float64(c.Days.Count())
		times := int(owed + rounding)
		owed -= float64(times)
		if day >= 0 {
			due[day] = times
		}
	}
	return due
}

// A Start is when a chore begins, in minutes from the span's start.
type Start struct {
	Chore  Chore
	Minute float64
}

// FirstStarts places each chore as early in its hours as it can begin, one time
// behind the other. What does not fit into the day's hours is returned in kWh.
func FirstStarts(chores []Chore, span calendar.Span, away []bool) (starts []Start, unplacedKWh float64) {
	for _, c := range chores {
		for day, times := range c.Due(span, away) {
			for _, window := range c.Hours {
				at := float64(window.From)
				for ; times > 0 && at+c.Minutes() <= float64(window.To)+roundingMinutes; times-- {
					starts = append(starts, Start{c, float64(day*calendar.MinutesADay) + at})
					at += c.Minutes()
				}
			}
			unplacedKWh += c.KWh * float64(times)
		}
	}
	return starts, unplacedKWh
}

// FirstHours returns the kW of every step of the chores as FirstStarts has them.
func FirstHours(chores []Chore, span calendar.Span, away []bool) (kw []float64, unplacedKWh float64) {
	kw = make([]float64, span.Steps())
	starts, unplacedKWh := FirstStarts(chores, span, away)
	for _, s := range starts {
		AddKW(kw, s.Minute, s.Chore.Minutes(), span.StepMinutes, s.Chore.KW)
	}
	return kw, unplacedKWh
}

const roundingMinutes = 1e-6

// AddKW adds a power that lasts from a minute of the span for a length in minutes.
func AddKW(kw []float64, from, length float64, stepMinutes int, power float64) {
	step, to := float64(stepMinutes), from+length
	for i := int(from / step); i < len(kw) && float64(i)*step < to; i++ {
		covered := min(to, float64(i+1)*step) - max(from, float64(i)*step)
		kw[i] += power * covered / step
	}
}
