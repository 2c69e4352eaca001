package loads

import (
	_ "embed"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"sync"
	"time"

	"twigwatt/sim/calendar"
)

// Source: standard household load profile H0, VDEW report M-32/99 (1999),
// published by BDEW; W for 1000 kWh a year, stamped by the quarter-hour's start.
//
//go:embed household_h0_quarter_hours.csv
var h0Table string

const (
	quarterMinutes = 15
	quarters       = calendar.MinutesADay / quarterMinutes
)

// h0Profile holds W for 1000 kWh a year by season, kind of day and quarter-hour.
type h0Profile [3][3][quarters]float64

const (
	winter = iota
	transition
	summer
)

const (
	workday = iota
	saturday
	sunday
)

var readH0 = sync.OnceValue(func() *h0Profile {
	rows, err := csv.NewReader(strings.NewReader(h0Table)).ReadAll()
	if err != nil || len(rows) != quarters+1 {
		panic("household_h0_quarter_hours.csv: not the published table")
	}
	var p h0Profile
	for q, row := range rows[1:] {
		for column, cell := range row[1:] {
			watts, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				panic("household_h0_quarter_hours.csv: " + err.Error())
			}
			p[column/3][column%3][q] = watts
		}
	}
	return &p
})

// h0Season returns the season of a day: winter 1 November to 20 March, summer
// 15 May to 14 September, transition the rest.
//
// Source: VDEW M-32/99.
func h0Season(d calendar.Date) int {
	switch monthDay := int(d.Month())*100 + d.Day(); {
	case monthDay >= 1101 || monthDay <= 320:
		return winter
	case monthDay >= 515 && monthDay <= 914:
		return summer
	}
	return transition
}

// h0DayKind returns the kind of a day. 24 and 31 December count as Saturday unless they are
// Sundays. No public holidays are kept: they are the country's, and the profile is used anywhere.
//
// Source: VDEW M-32/99. Only with those Sundays left as they are does 2023 sum
// to the published 997.4.
func h0DayKind(d calendar.Date) int {
	switch {
	case d.Weekday() == time.Sunday:
		return sunday
	case d.Weekday() == time.Saturday, d.Month() == time.December && (d.Day() == 24 || d.Day() == 31):
		return saturday
	}
	return workday
}

// SeasonFactor returns what the profile of a day of the year (from 1) is
// multiplied by. The profile means nothing without it.
//
// Source: VDEW M-05/2000, pp. 19–20, rounded to 4 decimals.
func SeasonFactor(yearDay int) float64 {
	t := float64(yearDay)
	f := -3.92e-10*t*t*t*t + 3.2e-7*t*t*t - 7.02e-5*t*t + 2.1e-3*t + 1.24
	return math.Round(f*1e4) / 1e4
}

// turn is by how many days the household's seasons are turned: by half a year in the south (a
// judgement, no source). The profile was measured in the north; the kind of the day stays its own.
func (w *Wants) turn() calendar.Date {
	const halfAYear = 182
	if w.LatitudeDeg < 0 {
		return halfAYear
	}
	return 0
}

// h0Of returns the profile of a day and what it is multiplied by.
func h0Of(d, turn calendar.Date) (profile *[quarters]float64, factor float64) {
	season := d + turn
	return &readH0()[h0Season(season)][h0DayKind(d)], SeasonFactor(season.YearDay())
}

// h0Day returns the mean watts for 1000 kWh a year of each step of a day.
func h0Day(d, turn calendar.Date, stepMinutes int) []float64 {
	profile, factor := h0Of(d, turn)
	day := make([]float64, calendar.MinutesADay/stepMinutes)
	for i := range day {
		day[i] = factor * meanOverMinutes(profile, i*stepMinutes, (i+1)*stepMinutes)
	}
	return day
}

func meanOverMinutes(profile *[quarters]float64, from, to int) float64 {
	sum := 0.0
	for minute := from; minute < to; {
		q := minute / quarterMinutes
		end := min(to, (q+1)*quarterMinutes)
		sum += profile[q] * float64(end-minute)
		minute = end
	}
	return sum / float64(to-from)
}

// h0YearKWh returns what a calendar year of the profile with its factor sums to.
func h0YearKWh(year int, turn calendar.Date) float64 {
	sum := 0.0
	for d := calendar.NewDate(year, time.January, 1); d.Year() == year; d++ {
		profile, factor := h0Of(d, turn)
		sum += factor * meanOverMinutes(profile, 0, calendar.MinutesADay) * 24 / 1000
	}
	return sum
}
