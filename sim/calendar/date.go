// Package calendar counts dates and the even steps of a span in local
// standard time, and reads the ways a household writes them: dates, ranges of
// dates, hours of the day, days of the week and months.
//
// There is no clock here and no time zone: a day has 24 hours all year.
package calendar

import (
	"fmt"
	"slices"
	"strconv"
	"time"
)

// A Date is a day, counted from 1 January 1970. Subtract two for the days between
// them, as int(b − a).
type Date int

// NewDate returns the date of a year, month and day. The day must exist.
func NewDate(year int, month time.Month, day int) Date {
	return dateOf(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

const secondsADay = 24 * 60 * 60

// ParseDate reads a date written as 2025-01-31.
func ParseDate(text string) (Date, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return 0, fmt.Errorf("a date must be written like 2025-01-31, got %q", text)
	}
	return dateOf(t), nil
}

func dateOf(midnight time.Time) Date { return Date(midnight.Unix() / secondsADay) }

// Time returns midnight of the day, in UTC, for the use of package time's formats.
func (d Date) Time() time.Time { return time.Unix(int64(d)*secondsADay, 0).UTC() }

// Year returns the calendar year.
func (d Date) Year() int { return d.Time().Year() }

// Month returns the month of the year.
func (d Date) Month() time.Month { return d.Time().Month() }

// Day returns the day of the month, from 1.
func (d Date) Day() int { return d.Time().Day() }

// YearDay returns the day of the year, from 1.
func (d Date) YearDay() int { return d.Time().YearDay() }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return time.Weekday(((int(d)+4)%7 + 7) % 7) }

// String writes the date as 2025-01-31.
func (d Date) String() string { return d.Time().Format(time.DateOnly) }

// Text writes the date as people do: 14 January 2025.
func (d Date) Text() string { return d.Time().Format("2 January 2006") }

// AYearLater returns the same day of the next year, 1 March for 29 February.
func (d Date) AYearLater() Date { return NewDate(d.Year()+1, d.Month(), d.Day()) }

// DaysInYear returns 365 or 366.
func DaysInYear(year int) int {
	return int(NewDate(year+1, time.January, 1) - NewDate(year, time.January, 1))
}

// A DateRange is every day from First to Last, both included.
type DateRange struct{ First, Last Date }

// ParseDateRange reads "2025-07-10..2025-07-24", or one date alone.
func ParseDateRange(text string) (DateRange, error) {
	from, to, two := cut(text, "..")
	if !two {
		to = from
	}
	first, errFirst := ParseDate(from)
	last, errLast := ParseDate(to)
	switch {
	case errFirst != nil || errLast != nil:
		return DateRange{}, fmt.Errorf("must be a date or a range like 2025-07-10..2025-07-24, got %q", text)
	case last < first:
		return DateRange{}, fmt.Errorf("the range must not end before it begins, got %q", text)
	}
	return DateRange{first, last}, nil
}

// Text writes the range as people do: 18 to 20 February 2025.
func (r DateRange) Text() string {
	switch {
	case r.First == r.Last:
		return r.Last.Text()
	case r.First.Year() == r.Last.Year() && r.First.Month() == r.Last.Month():
		return strconv.Itoa(r.First.Day()) + " to " + r.Last.Text()
	case r.First.Year() == r.Last.Year():
		return r.First.Time().Format("2 January") + " to " + r.Last.Text()
	}
	return r.First.Text() + " to " + r.Last.Text()
}

// Holds reports whether the day lies in the range.
func (r DateRange) Holds(d Date) bool { return r.First <= d && d <= r.Last }

// String writes the range as it is read.
func (r DateRange) String() string {
	if r.First == r.Last {
		return r.First.String()
	}
	return r.First.String() + ".." + r.Last.String()
}

// AnyHolds reports whether the day lies in one of the ranges.
func AnyHolds(ranges []DateRange, d Date) bool {
	return slices.ContainsFunc(ranges, func(r DateRange) bool { return r.Holds(d) })
}
