package loads

import (
	"math"
	"testing"
	"testing/quick"

	"twigwatt/sim/calendar"
)

func span(t *testing.T, start string, days, minutes int) calendar.Span {
	t.Helper()
	date, err := calendar.ParseDate(start)
	if err != nil {
		t.Fatal(err)
	}
	return calendar.Span{Start: date, Days: days, StepMinutes: minutes}
}

func demand(t *testing.T, w Wants, s calendar.Span) *Demand {
	t.Helper()
	d, err := w.Demand(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

func factors(d Demand, days int) []float64 {
	swing, all := d.NewSwing(d.Seed), make([]float64, days)
	for i := range all {
		all[i] = swing.Next()
	}
	return all
}

// Worked: a log-normal factor of mean 1 and deviation 0.3 whose logarithms
// remember half; with 40 000 days the mean's own error is 0.3·√3/200 = 0.0026.
func TestSwingKeepsItsMeanDeviationAndMemory(t *testing.T) {
	d := Demand{SwingShare: 0.3, SwingMemory: 0.5, Seed: 1}
	const days = 40_000
	f := factors(d, days)
	mean, squares, logs := 0.0, 0.0, make([]float64, days)
	for i, x := range f {
		mean += x / days
		squares += x * x / days
		logs[i] = math.Log(x)
	}
	near(t, "mean", mean, 1, 0.01)
	near(t, "deviation", math.Sqrt(squares-mean*mean), 0.3, 0.01)
	variance := math.Log1p(0.09)
	memory := 0.0
	for i := 1; i < days; i++ {
		memory += (logs[i] + variance/2) * (logs[i-1] + variance/2) / variance / (days - 1)
	}
	near(t, "memory", memory, 0.5, 0.02)
	again := factors(d, 10)
	for i := range again {
		if again[i] != f[i] {
			t.Fatal("the same seed gave another day")
		}
	}
	d.Seed = 2
	if factors(d, 1)[0] == f[0] {
		t.Error("another seed gave the same day")
	}
}

func TestExpectedLoadHasNoSwing(t *testing.T) {
	s := span(t, "2025-01-01", 30, 60)
	still := demand(t, Wants{KWhPerDay: 6, Scale: 1}, s)
	swinging := demand(t, Wants{KWhPerDay: 6, Scale: 1, SwingShare: 0.3, Seed: 1}, s)
	different := false
	for i := range still.LoadKW {
		near(t, "expected", swinging.ExpectedLoadKW[i], still.LoadKW[i], 1e-12)
		different = different || swinging.LoadKW[i] != still.LoadKW[i]
	}
	if !different {
		t.Error("the actual load does not swing")
	}
}

func TestAwayAndScale(t *testing.T) {
	s := span(t, "2025-07-09", 2, 60)
	r, _ := calendar.ParseDateRange("2025-07-10..2025-07-24")
	d := demand(t, Wants{KWhPerDay: 6, Scale: 1.5, Away: []calendar.DateRange{r}, AwayShare: 0.3}, s)
	plain := demand(t, Wants{KWhPerDay: 6, Scale: 1}, s)
	near(t, "at home", d.LoadKW[12], 1.5*plain.LoadKW[12], 1e-12)
	near(t, "away", d.LoadKW[36], 0.3*1.5*plain.LoadKW[36], 1e-12)
	near(t, "away, expected", d.ExpectedLoadKW[36], d.LoadKW[36], 1e-12)
}

// Worked: a 60 W lamp, two of them, half the time, 17:30 to 22:00, on hourly steps.
func TestAppliance(t *testing.T) {
	days, _ := calendar.ParseWeekdays("workdays")
	months, _ := calendar.ParseMonths("nov-mar")
	lamp := Appliance{Name: "lamp", Watts: 60, Count: 2, DutyShare: 0.5, Days: days, Months: months,
		Hours: []calendar.Window{{From: 17*60 + 30, To: 22 * 60}}}
	monday := demand(t, Wants{Scale: 1, Appliances: []Appliance{lamp}}, span(t, "2025-11-03", 1, 60))
	near(t, "half of the first hour", monday.LoadKW[17], 0.03, 1e-12)
	near(t, "the second", monday.LoadKW[18], 0.06, 1e-12)
	near(t, "after", monday.LoadKW[22], 0, 0)
	for _, s := range []string{"2025-11-02", "2025-10-31"} { // a Sunday; a Friday in October
		if d := demand(t, Wants{Scale: 1, Appliances: []Appliance{lamp}}, span(t, s, 1, 60)); d.LoadKW[18] != 0 {
			t.Errorf("%s: the lamp burns", s)
		}
	}
}

func TestAfterDarkFollowsTheSun(t *testing.T) {
	lamp := Appliance{Watts: 1000, Count: 1, DutyShare: 1, Days: calendar.AllWeek, Months: calendar.AllYear,
		Hours: []calendar.Window{{From: 0, To: 1440}}, AfterDark: true}
	d := demand(t, Wants{Scale: 1, LatitudeDeg: 50, Appliances: []Appliance{lamp}}, span(t, "2002-01-01", 1, 10))
	dark := 0.0
	for _, kw := range d.LoadKW {
		dark += kw / 6
	}
	near(t, "dark hours", dark, 24-8.15, 0.05) // published: day_length.csv, 50° N on 1 January 2002
}

func TestChoresComeAsOftenAsWanted(t *testing.T) {
	if err := quick.Check(func(times, kinds uint8) bool {
		days := calendar.Weekdays(kinds&0x7f | 1)
		c := Chore{TimesPerWeek: float64(times%14) / 2, Days: days}
		sum := 0
		s := calendar.Span{Start: 20000, Days: 14 * 7, StepMinutes: 60}
		for day, n := range c.Due(s, make([]bool, s.Days)) {
			if n > 0 && !days.Holds((s.Start + calendar.Date(day)).Weekday()) {
				return false
			}
			sum += n
		}
		return sum == int(14*c.TimesPerWeek)
	}, nil); err != nil {
		t.Error(err)
	}
}

// Two appliances that follow one another within a step do not coincide.
func TestCoincidenceIsJudgedByTheMinute(t *testing.T) {
	one := func(name string, from, to int) Appliance {
		return Appliance{Name: name, Watts: 2500, Count: 1, DutyShare: 1,
			Hours: []calendar.Window{{From: from, To: to}}, Days: calendar.AllWeek, Months: calendar.AllYear}
	}
	w := Wants{Appliances: []Appliance{one("kettle", 420, 430), one("oven", 440, 450)}}
	kw, names := w.Coincidence(span(t, "2025-01-01", 1, 30))
	near(t, "kW", kw, 2.5, 1e-12)
	if len(names) != 1 {
		t.Errorf("names: %v", names)
	}
}
