package diary

import (
	"fmt"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// An almanac finds the day of a span, from 0, that stands for a date: the date itself,
// or its calendar day in the first year of the span that holds it; where none does,
// the day of the span nearest to it in the year.
type almanac struct {
	span calendar.Span
	days [daysInLeapYear]int // by the day of a leap year, from 0
}

const daysInLeapYear = 366

// leapDay is a date's day of a leap year, from 0.
func leapDay(d calendar.Date) int {
	return calendar.NewDate(2024, d.Month(), d.Day()).YearDay() - 1
}

func newAlmanac(span calendar.Span) *almanac {
	a, own := &almanac{span: span}, map[int]int{}
	for day := min(span.Days, 4*daysInLeapYear+1) - 1; day >= 0; day-- { // the first year of several stays
		own[leapDay(span.Start+calendar.Date(day))] = day
	}
	for i := range a.days {
		for away, found := 0, false; !found; away++ {
			if a.days[i], found = own[(i-away+daysInLeapYear)%daysInLeapYear]; !found {
				a.days[i], found = own[(i+away)%daysInLeapYear]
			}
		}
	}
	return a
}

func (a *almanac) day(date calendar.Date) int {
	if i := int(date - a.span.Start); i >= 0 && i < a.span.Days {
		return i
	}
	return a.days[leapDay(date)]
}

// elsewhere counts the rows whose calendar day the span does not hold: another day
// of the year stands for it.
func (a *almanac) elsewhere(rows []Row) int {
	n := 0
	for i := range rows {
		if stands := a.span.Start + calendar.Date(a.day(rows[i].Date)); leapDay(stands) != leapDay(rows[i].Date) {
			n++
		}
	}
	return n
}

// warnings are those about rows that another day of the year stands for.
func (a *almanac) warnings(rows []Row) []sim.Warning {
	n := a.elsewhere(rows)
	if n == 0 {
		return nil
	}
	const text = "%d of the runs fall on days of the year that the scenario's span does not hold; " +
		"the nearest days stand for them, with their load and plan"
	return []sim.Warning{{Code: "other_season", Text: fmt.Sprintf(text, n)}}
}
