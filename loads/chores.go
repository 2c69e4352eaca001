package loads

import "twigwatt/sim/calendar"

// Due returns how often a chore is wanted on each day of the span: its times a
// week spread evenly over its days, those away left out.
func (c Chore) Due(span calendar.Span, away []bool) []int {
	due := make([]int, span.Days)
	const rounding = 1e-9 // of a time: seven sevenths must make one
	owed := 0.5           // so that one a week falls in the week's middle
	for day := range due {
		if !c.Days.Holds((span.Start + calendar.Date(day)).Weekday()) || away[day] {
			continue
		}
		owed += c.TimesPerWeek / float64(c.Days.Count())
		due[day] = int(owed + rounding)
		owed -= float64(due[day])
	}
	return due
}

// FirstHours places each chore as early in its hours as it can begin, one time
// behind the other, and returns the kW of every step. What does not fit into
// the day's hours is returned in kWh.
func FirstHours(chores []Chore, span calendar.Span, away []bool) (kw []float64, unplacedKWh float64) {
	kw = make([]float64, span.Steps())
	for _, c := range chores {
		for day, times := range c.Due(span, away) {
			unplaced := c.placeFirst(kw, day*calendar.MinutesADay, span.StepMinutes, times)
			unplacedKWh += c.KWh * float64(unplaced)
		}
	}
	return kw, unplacedKWh
}

// placeFirst places a number of times on the day that begins at dayMinute of the
// span and returns how many found no room.
func (c Chore) placeFirst(kw []float64, dayMinute, stepMinutes, times int) (unplaced int) {
	length := c.Minutes()
	for _, window := range c.Hours {
		for at := float64(window.From); times > 0 && at+length <= float64(window.To)+roundingMinutes; at += length {
			AddKW(kw, float64(dayMinute)+at, length, stepMinutes, c.KW)
			times--
		}
	}
	return times
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
