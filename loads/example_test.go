package loads_test

import (
	"fmt"
	"strings"
	"time"

	"twigwatt/loads"
	"twigwatt/sim/calendar"
)

// Worked: five lamps of 12 W, on for 60 % of the time, are 36 W; in the hour from
// 17:00 they run for half of it. 4.5 h · 0.036 kW = 0.162 kWh.
func ExampleWants_Demand() {
	evening, err := calendar.ParseWindow("17:30-22:00")
	if err != nil {
		fmt.Println(err)
		return
	}
	lamps := loads.Appliance{Name: "lamps", Watts: 12, Count: 5, DutyShare: 0.6,
		Hours: []calendar.Window{evening}, Days: calendar.AllWeek, Months: calendar.AllYear}
	wants := loads.Wants{Scale: 1, Appliances: []loads.Appliance{lamps}}
	d, err := wants.Demand(calendar.Span{Start: calendar.NewDate(2025, time.January, 1), Days: 1, StepMinutes: 60})
	if err != nil {
		fmt.Println(err)
		return
	}
	sumKWh := 0.0
	for _, kw := range d.LoadKW {
		sumKWh += kw * 1 // h
	}
	fmt.Printf("%.3f kW from 17:00, %.3f from 18:00, %.3f kWh\n", d.LoadKW[17], d.LoadKW[18], sumKWh)
	// Output:
	// 0.018 kW from 17:00, 0.036 from 18:00, 0.162 kWh
}

// Worked: the published household (VDEW M-32/99, H0) is scaled to the year: 6 · 365 = 2190 kWh. Of
// a day away the wanted share stays. Regression: the days of January and July.
func ExampleWants_household() {
	span := calendar.Span{Start: calendar.NewDate(2025, time.January, 1), Days: 365, StepMinutes: 60}
	wants := loads.Wants{KWhPerDay: 6, Scale: 1}
	home, err := wants.Demand(span)
	if err != nil {
		fmt.Println(err)
		return
	}
	wants.Away, wants.AwayShare = []calendar.DateRange{{First: span.Start, Last: span.Start}}, 0.3
	away, err := wants.Demand(span)
	if err != nil {
		fmt.Println(err)
		return
	}
	byMonth, sum := map[time.Month]float64{}, 0.0
	for step, kw := range home.LoadKW {
		byMonth[span.Date(step).Month()] += kw
		sum += kw
	}
	fmt.Printf("%.0f kWh; January %.1f, July %.1f a day\n", sum, byMonth[time.January]/31, byMonth[time.July]/31)
	fmt.Println(away.AwayDay[0], away.AwayDay[1])
	fmt.Printf("%.2f of the load at noon\n", away.LoadKW[12]/home.LoadKW[12])
	// Output:
	// 2190 kWh; January 7.2, July 4.9 a day
	// true false
	// 0.30 of the load at noon
}

// Worked: the kettle's 2 kW, the iron's 1.5 and the washing's 0.9 may meet from 07:30 to 08:00;
// the lamps never meet them.
func ExampleWants_Coincidence() {
	appliance := func(name string, watts float64, from, to int) loads.Appliance {
		return loads.Appliance{Name: name, Watts: watts, Count: 1, DutyShare: 0.1,
			Hours: []calendar.Window{{From: from, To: to}}, Days: calendar.AllWeek, Months: calendar.AllYear}
	}
	wants := loads.Wants{
		Appliances: []loads.Appliance{appliance("kettle", 2000, 7*60, 8*60), appliance("iron", 1500, 7*60+15, 7*60+45),
			appliance("lamps", 60, 18*60, 22*60)},
		Chores: []loads.Chore{{Name: "washing", KWh: 1.2, KW: 0.9, TimesPerWeek: 2,
			Hours: []calendar.Window{{From: 7*60 + 30, To: 12 * 60}}, Days: calendar.AllWeek}},
	}
	kw, names := wants.Coincidence(calendar.Span{Start: calendar.NewDate(2025, time.January, 6), Days: 7, StepMinutes: 30})
	fmt.Printf("%.1f kW: %s\n", kw, strings.Join(names, ", "))
	// Output:
	// 4.4 kW: iron, kettle, washing
}

// Published: VDEW M-05/2000 (SOURCES.md, row seasonal factor).
func ExampleSeasonFactor() {
	for _, yearDay := range []int{1, 202, 365} {
		fmt.Printf("day %3d: %.4f\n", yearDay, loads.SeasonFactor(yearDay))
	}
	// Output:
	// day   1: 1.2420
	// day 202: 0.7847
	// day 365: 1.2572
}

// Worked: from Monday on 0.5 and 3/7 a day are owed: 0.93, 1.36, 0.79, 1.21, 0.64,
// 1.07, 0.5, and each whole one is a time. A week later it is the same. With the first Tuesday
// away it is 0.93, –, 1.36, 0.79, 1.21, 0.64, 1.07, and then 0.5, 0.93, 1.36, 0.79, 1.21, 0.64, 1.07.
func ExampleChore_Due() {
	washing := loads.Chore{Name: "washing", KWh: 1.2, KW: 0.8, TimesPerWeek: 3, Days: calendar.AllWeek}
	span := calendar.Span{Start: calendar.NewDate(2025, time.January, 6), Days: 14, StepMinutes: 60}
	away := make([]bool, span.Days)
	fmt.Println(washing.Due(span, away))
	away[1] = true
	fmt.Println(washing.Due(span, away))
	// Output:
	// [0 1 0 1 0 1 0 0 1 0 1 0 1 0]
	// [0 0 1 0 1 0 1 0 0 1 0 1 0 1]
}

// Worked: 1.2 kWh at 0.8 kW take 90 minutes, so that of two times a day one fits
// into the hours and one does not. It fills half of the hour from 09:00 and the next.
func ExampleFirstHours() {
	washing := loads.Chore{Name: "washing", KWh: 1.2, KW: 0.8, TimesPerWeek: 14,
		Hours: []calendar.Window{{From: 9*60 + 30, To: 11*60 + 30}}, Days: calendar.AllWeek}
	span := calendar.Span{Start: calendar.NewDate(2025, time.January, 6), Days: 2, StepMinutes: 60}
	kw, unplacedKWh := loads.FirstHours([]loads.Chore{washing}, span, make([]bool, span.Days))
	fmt.Printf("%.0f minutes; %.1f kW from 09:00, %.1f from 10:00, %.1f from 11:00; unplaced %.1f kWh\n",
		washing.Minutes(), kw[9], kw[10], kw[24+11], unplacedKWh)
	// Output:
	// 90 minutes; 0.4 kW from 09:00, 0.8 from 10:00, 0.0 from 11:00; unplaced 2.4 kWh
}

// Worked: two times a day, one behind the other.
func ExampleFirstStarts() {
	washing := loads.Chore{Name: "washing", KWh: 1.2, KW: 0.8, TimesPerWeek: 14,
		Hours: []calendar.Window{{From: 9 * 60, To: 15 * 60}}, Days: calendar.AllWeek}
	span := calendar.Span{Start: calendar.NewDate(2025, time.January, 6), Days: 1, StepMinutes: 60}
	starts, unplacedKWh := loads.FirstStarts([]loads.Chore{washing}, span, make([]bool, span.Days))
	for _, s := range starts {
		fmt.Println(calendar.Clock(int(s.Minute)), s.Chore.Name)
	}
	fmt.Printf("unplaced %.1f kWh\n", unplacedKWh)
	// Output:
	// 09:00 washing
	// 10:30 washing
	// unplaced 0.0 kWh
}

// Worked: 2 kW from 00:45 to 01:15 are half of the second half-hour and half of the third.
func ExampleAddKW() {
	kw := make([]float64, 4)
	loads.AddKW(kw, 45, 30, 30, 2)
	fmt.Println(kw)
	// Output:
	// [0 1 1 0]
}

// Worked: 1 kWh in half an hour is 2 kW. Regression: the message.
func ExampleReadMeasured() {
	m, err := loads.ReadMeasured("house.csv", strings.NewReader("time,kwh\n2025-01-01T00:00,0.5\n2025-01-01T00:30,1\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f kW at most\n", m.PeakKW())
	gap := "time,kw\n2025-01-01T00:00,0.5\n2025-01-01T00:30,1\n2025-01-01T01:30,1\n"
	_, err = loads.ReadMeasured("house.csv", strings.NewReader(gap))
	fmt.Println(err)
	// Output:
	// 2.0 kW at most
	// house.csv:4: time: a gap: the next row must be 2025-01-01T01:00, got 2025-01-01T01:30
}

// A week on the meter, 0.1 kW on Monday to 0.7 on Sunday, serves any span. Worked: a
// Wednesday in June is as the Wednesday that was measured.
func ExampleMeasured() {
	var text strings.Builder
	text.WriteString("time,kw\n")
	for hour := range 7 * 24 {
		fmt.Fprintf(&text, "2025-01-%02dT%02d:00,0.%d\n", 6+hour/24, hour%24, 1+hour/24)
	}
	m, err := loads.ReadMeasured("house.csv", strings.NewReader(text.String()))
	if err != nil {
		fmt.Println(err)
		return
	}
	wants := loads.Wants{File: m, Scale: 1}
	d, err := wants.Demand(calendar.Span{Start: calendar.NewDate(2025, time.June, 4), Days: 1, StepMinutes: 60})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(d.FileUse)
	fmt.Printf("%.1f kW\n", d.LoadKW[0])
	// Output:
	// whole weeks, repeated by weekday
	// 0.3 kW
}

// The same seed gives the same days; without a swing every day is the usual one. Regression: the
// factors.
func ExampleSwing() {
	demand := loads.Demand{SwingShare: 0.2, SwingMemory: 0.5}
	swing := demand.NewSwing(1)
	fmt.Printf("%.2f %.2f %.2f\n", swing.Next(), swing.Next(), swing.Next())
	demand.SwingShare = 0
	fmt.Println(demand.NewSwing(1).Next())
	// Output:
	// 1.34 1.17 0.95
	// 1
}
