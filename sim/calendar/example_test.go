package calendar_test

import (
	"fmt"
	"time"

	"twigwatt/sim/calendar"
)

// Worked: 24 h of 20-minute steps are 72, three days 216; in the leap year 2024
// the third day from 28 February is 1 March.
func ExampleSpan() {
	span := calendar.Span{Start: calendar.NewDate(2024, time.February, 28), Days: 3, StepMinutes: 20}
	fmt.Println(span.Steps(), "steps,", span.StepsADay(), "a day, up to", span.End()-1)
	fmt.Printf("%.3f h each\n", span.StepH())
	// Output:
	// 216 steps, 72 a day, up to 2024-03-01
	// 0.333 h each
}

// Worked: step 122 is the 50th of the second day's 72, 50 · 20 = 1000 minutes or
// 16 h 40 min after its midnight.
func ExampleSpan_StepTime() {
	span := calendar.Span{Start: calendar.NewDate(2024, time.February, 28), Days: 3, StepMinutes: 20}
	fmt.Println(span.StepTime(122))
	fmt.Println(span.Date(122))
	// Output:
	// 2024-02-29T16:40
	// 2024-02-29
}

// Worked: a Date counts days, so that a week later is 7 more; the last day of
// January is the year's 31st.
func ExampleDate() {
	d, err := calendar.ParseDate("2025-01-31")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(d, d.Weekday(), "day", d.YearDay(), "of", calendar.DaysInYear(d.Year()))
	fmt.Println(d + 7)
	// Output:
	// 2025-01-31 Friday day 31 of 365
	// 2025-02-07
}

// Worked: 2025 has no 29 February.
func ExampleDate_AYearLater() {
	fmt.Println(calendar.NewDate(2024, time.May, 3).AYearLater())
	fmt.Println(calendar.NewDate(2024, time.February, 29).AYearLater())
	// Output:
	// 2025-05-03
	// 2025-03-01
}

// A date that is not there is refused. Regression: the message.
func ExampleParseDate() {
	_, err := calendar.ParseDate("2025-02-29")
	fmt.Println(err)
	// Output:
	// a date must be written like 2025-01-31, got "2025-02-29"
}

// Both ends belong to a range. Worked: 15 days from the 10th to the 24th.
func ExampleParseDateRange() {
	r, err := calendar.ParseDateRange("2025-07-10..2025-07-24")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r, "is", int(r.Last-r.First)+1, "days")
	fmt.Println(r.Holds(r.Last), r.Holds(r.Last+1))
	// Output:
	// 2025-07-10..2025-07-24 is 15 days
	// true false
}

// Days away in two ranges, one of them a single day.
func ExampleAnyHolds() {
	var away []calendar.DateRange
	for _, text := range []string{"2025-07-10..2025-07-24", "2025-12-24"} {
		r, err := calendar.ParseDateRange(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		away = append(away, r)
	}
	fmt.Println(calendar.AnyHolds(away, calendar.NewDate(2025, time.December, 24)))
	fmt.Println(calendar.AnyHolds(away, calendar.NewDate(2025, time.December, 25)))
	// Output:
	// true
	// false
}

// Worked: 7 · 60 = 420, 21 · 60 = 1260. Regression: the message.
func ExampleParseWindow() {
	w, err := calendar.ParseWindow("07:00-21:00")
	fmt.Println(w.From, w.To, w, err)
	_, err = calendar.ParseWindow("21:00-07:00")
	fmt.Println(err)
	// Output:
	// 420 1260 07:00-21:00 <nil>
	// hours must not run backwards or be empty (over midnight: write two), got "21:00-07:00"
}

// Windows that touch or overlap are one. Worked: 90 minutes are 01:30, 600 to 720 10:00 to 12:00.
func ExampleMerge() {
	fmt.Println(calendar.Merge([]calendar.Window{
		{From: 600, To: 700}, {From: 0, To: 60}, {From: 660, To: 720}, {From: 60, To: 90}}))
	// Output:
	// [00:00-01:30 10:00-12:00]
}

// Worked: from 01:00 to 11:00 there are 30 minutes of the first window and 60 of the second.
func ExampleOverlapMinutes() {
	windows := []calendar.Window{{From: 0, To: 90}, {From: 600, To: 720}}
	fmt.Printf("%.0f\n", calendar.OverlapMinutes(windows, 60, 660))
	// Output:
	// 90
}

// Worked: 16 · 60 + 30.
func ExampleClock() {
	fmt.Println(calendar.Clock(990), calendar.Clock(calendar.MinutesADay))
	// Output:
	// 16:30 24:00
}

// Worked: 16 · 60 + 30 = 990. Regression: the message.
func ExampleParseClock() {
	minute, err := calendar.ParseClock("16:30")
	fmt.Println(minute, err)
	_, err = calendar.ParseClock("4pm")
	fmt.Println(err)
	// Output:
	// 990 <nil>
	// a time of day must be written like 16:30, from 00:00 to 24:00, got "4pm"
}

// A range of months may run over the turn of the year.
func ExampleParseMonths() {
	heating, err := calendar.ParseMonths("nov-mar")
	fmt.Println(heating, err)
	fmt.Println(heating.Holds(time.January), heating.Holds(time.July))
	// Output:
	// jan, feb, mar, nov, dec <nil>
	// true false
}

// A range of days may run over the week's end. Worked: Saturday, Sunday, Monday are three.
func ExampleParseWeekdays() {
	days, err := calendar.ParseWeekdays("sat-mon")
	fmt.Println(days, err)
	fmt.Println(days.Count(), "days, Monday", days.Holds(time.Monday), "Tuesday", days.Holds(time.Tuesday))
	// Output:
	// mon, sat, sun <nil>
	// 3 days, Monday true Tuesday false
}
