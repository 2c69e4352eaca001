package loads

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"twigwatt/sim/calendar"
)

func read(t *testing.T, text string) *Measured {
	t.Helper()
	m, err := ReadMeasured("house.csv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestMeasuredFileFaultsNameTheRow(t *testing.T) {
	const head = "time,kw\n2025-01-01T00:00,0.1\n2025-01-01T00:30,0.2\n"
	for _, c := range []struct{ text, want string }{
		{"", "house.csv:1: must begin with the header"},
		{"when,kw\n", "house.csv:1: the header must be time,kw or time,kwh, got \"when,kw\""},
		{head + "2025-01-01T01:30,0.1\n", "house.csv:4: time: a gap: the next row must be 2025-01-01T01:00, got 2025-01-01T01:30"},
		{head + "2025-01-01T00:30,0.1\n", "house.csv:4: time: 2025-01-01T00:30 stands here a second time"},
		{head + "2025-01-01T00:15,0.1\n", "house.csv:4: time: must rise"},
		{head + "2025-01-01T01:00,-0.1\n", "house.csv:4: kw: must be 0 to 10000, got -0.1"},
		{head + "2025-01-01T01:00,\n", "house.csv:4: kw: the number is missing"},
		{head + "2025-01-01T01:00,NaN\n", "house.csv:4: kw: must be a number"},
		{head + "2025-01-01T01:00,\"0,5\"\n", "house.csv:4: kw: must be a number"},
		{head + "2025-01-01T01:00Z,0.1\n", "house.csv:4: time: must be local time"},
		{head + "2025-01-01T01:00\n", "house.csv:4: must have two cells"},
		{head + strings.Repeat("x", mostLine), "house.csv:4: must be a time and a number, got a line of more than 1024 bytes"},
		{head + "\n" + strings.Repeat("\"", 5*mostLine+1), "house.csv:5: must be a time and a number, got a line of more than 1024 bytes"},
		{head + "2025-01-01T01:00,\"0.5\n", "house.csv:4: must be a time and a number; its quotes do not close"},
		{"time,kw\n2025-01-01T00:00,1\n2025-01-01T02:00,1\n", "house.csv:3: time: rows must be 1 to 60 minutes apart, got 120"},
		{"time,kw\n2025-01-01T00:00,1\n", "house.csv: must have two rows or more"},
	} {
		_, err := ReadMeasured("house.csv", strings.NewReader(c.text))
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%q:\n got %v\nwant %s", c.text, err, c.want)
		}
	}
}

// series writes a file of one row an hour from a day, its power by value.
func series(start string, days int, column string, value func(at time.Time) float64) string {
	var b strings.Builder
	b.WriteString("time," + column + "\n")
	at, _ := time.Parse(time.DateOnly, start)
	for range days * 24 {
		fmt.Fprintf(&b, "%s,%g\n", at.Format("2006-01-02T15:04"), value(at))
		at = at.Add(time.Hour)
	}
	return b.String()
}

func TestFileThatCoversTheSpan(t *testing.T) {
	m := read(t, "time,kwh\n2025-01-01T00:00,0.5\n2025-01-01T00:30,1\n")
	if got := m.meanKW(m.start, m.start+3600); math.Abs(got-1.5) > 1e-12 {
		t.Errorf("0.5 and 1 kWh in an hour are %g kW", got)
	}
	if got := m.meanKW(m.start+600, m.start+2400); math.Abs(got-(1*20+2*10)/30.0) > 1e-12 {
		t.Errorf("a step over two rows: %g kW", got) // worked: 20 minutes at 1 kW, 10 at 2
	}
	day := read(t, series("2025-01-01", 3, "kw", func(at time.Time) float64 { return float64(at.YearDay()) }))
	actual, _, use, err := day.over(span(t, "2025-01-02", 1, 30))
	if err != nil || use != Covers || actual[47] != 2 {
		t.Errorf("%v %v %g", err, use, actual[47])
	}
}

func TestYearFileServesEveryYear(t *testing.T) {
	byDate := func(at time.Time) float64 { return float64(at.Month()) + float64(at.Day())/100 }
	for _, c := range []struct {
		start      string
		days       int
		date       string
		want       float64
		wantReason string
	}{
		{"2023-01-01", 365, "2025-07-15", 7.15, "by date"},
		{"2023-01-01", 365, "2024-02-29", 2.28, "no 29 February in the file: the day before again"},
		{"2024-01-01", 366, "2028-02-29", 2.29, "the file's own 29 February"},
		{"2023-07-01", 366, "2025-03-05", 3.05, "a year from July on"},
		{"2023-07-01", 366, "2025-08-05", 8.05, "its other half"},
		{"2023-07-01", 366, "2028-02-29", 2.29, "its 29 February in its second half"},
	} {
		m := read(t, series(c.start, c.days, "kw", byDate))
		actual, _, use, err := m.over(span(t, c.date, 1, 60))
		if err != nil || use != YearRepeated || math.Abs(actual[5]-c.want) > 1e-9 {
			t.Errorf("%s for %s: %v %q %g, want %g: %s", c.start, c.date, err, use, actual, c.want, c.wantReason)
		}
	}
}

func TestWeekFileRepeatsByWeekday(t *testing.T) {
	byHour := func(at time.Time) float64 { return float64(at.Weekday()) + float64(at.Hour())/100 }
	m := read(t, series("2025-01-01", 7, "kw", byHour))
	s := span(t, "2025-06-10", 20, 60)
	actual, expected, use, err := m.over(s)
	if err != nil || use != WeekRepeated {
		t.Fatal(err, use)
	}
	for step := range actual {
		want := float64(s.Date(step).Weekday()) + float64(step%24)/100
		near(t, "actual", actual[step], want, 1e-9)
		near(t, "expected", expected[step], want, 1e-9)
	}
}

// The file's Saturdays and Sundays stand on other weekdays of another year: what
// is expected of a day must be what its file day's weekday holds.
func TestAYearFileIsExpectedByItsOwnWeekdays(t *testing.T) {
	weekend := func(at time.Time) float64 {
		if at.Weekday() == time.Saturday || at.Weekday() == time.Sunday {
			return 1
		}
		return 0
	}
	m := read(t, series("2023-01-01", 365, "kw", weekend))
	actual, expected, _, err := m.over(span(t, "2025-01-01", 365, 60))
	if err != nil {
		t.Fatal(err)
	}
	for step := range actual {
		near(t, "expected", expected[step], actual[step], 1e-12)
	}
}

func TestFileThatServesNothingIsRefused(t *testing.T) {
	tenDays := series("2025-01-01", 10, "kw", func(time.Time) float64 { return 1 })
	rows := strings.SplitAfter(tenDays, "\n")
	weekFromSix := strings.Join(append(rows[:1:1], rows[7:7+7*24]...), "") // 06:00 to 06:00
	for _, text := range []string{tenDays, weekFromSix} {
		_, _, _, err := read(t, text).over(span(t, "2025-06-10", 20, 60))
		if err == nil || !strings.Contains(err.Error(), "must cover 2025-06-10 to 2025-06-29") {
			t.Error(err)
		}
	}
}

// Worked: three Mondays of a January at 1, 3 and 5 kW: one expects of each the mean of the other
// two. What a day itself comes to changes nothing of what is expected of it.
func TestExpectedIsTheMeanOfTheOtherDaysLikeIt(t *testing.T) {
	expected := func(days int, last float64) []float64 {
		m := read(t, series("2025-01-06", days, "kw", func(at time.Time) float64 {
			switch at.Day() {
			case 6, 13, 20:
				return float64(at.Day()/7)*2 + 1 // 1, 3, 5
			case 26:
				return last
			}
			return 0
		}))
		_, expected, _, err := m.over(span(t, "2025-01-06", days, 60))
		if err != nil {
			t.Fatal(err)
		}
		return expected
	}
	kw := expected(21, 0)
	near(t, "the first Monday", kw[0], 4, 1e-12)
	near(t, "the second", kw[7*24], 3, 1e-12)
	near(t, "the third", kw[14*24], 2, 1e-12)
	near(t, "Tuesday", kw[24], 0, 0)
	near(t, "a Sunday of 9 kW among others of none", expected(21, 9)[20*24], 0, 1e-12)
	near(t, "the other Sundays", expected(21, 9)[13*24], 4.5, 1e-12)
	// ten days: of the Thursday alone the other nine days are told, 1 and 3 kW on two of them
	near(t, "a weekday that stands alone", expected(10, 0)[3*24], 4.0/9, 1e-12)
}

func FuzzLoadFile(f *testing.F) {
	f.Add("time,kw\n2025-01-01T00:00,0.1\n2025-01-01T00:30,0.2\n")
	f.Add("time,kwh\n2025-01-01 00:00:00,1e300\n2025-01-01 00:01:00,0\n")
	f.Add("\"" + strings.Repeat("x", 5*mostLine)) // quotes that never close
	f.Add("\ufefftime,kw\r\n2024-02-29T23:59,1\r\n2024-03-01T00:00,2\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadMeasured("f.csv", strings.NewReader(text))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "f.csv:") {
				t.Fatalf("the error does not name the file: %v", err)
			}
			return
		}
		// what was read covers its own days, with no power below zero
		first := calendar.Date((m.start + secondsADay - 1) / secondsADay)
		if m.start < 0 || !m.holds(first) {
			return
		}
		actual, expected, _, err := m.over(calendar.Span{Start: first, Days: 1, StepMinutes: 20})
		if err != nil {
			t.Fatal(err)
		}
		for i := range actual {
			if !(actual[i] >= 0) || !(expected[i] >= 0) {
				t.Fatalf("step %d: %g, expected %g", i, actual[i], expected[i])
			}
		}
	})
}

// TestSpreadOfMeasuredDays: days drawn with a swing of 20 % and a memory of 0.5, written to a file,
// are told to spread by about as much; days all alike by nothing, and a week by nothing known.
func TestSpreadOfMeasuredDays(t *testing.T) {
	drawn := Demand{SwingShare: 0.2, SwingMemory: 0.5}
	days := func(n int, swing *Swing) *Measured {
		var factor float64
		return read(t, series("2025-01-01", n, "kw", func(at time.Time) float64 {
			if at.Hour() == 0 {
				factor = swing.Next()
			}
			return 0.3 * factor
		}))
	}
	share, memory := days(365, drawn.NewSwing(3)).Spread()
	// worked: of each month and weekday there are about 4.35 days; the other 3.35 spread too: 0.2·√(1 + 1/3.35)
	near(t, "share", share, 0.2*math.Sqrt(1+1/3.35), 0.02)
	near(t, "memory, a little low: means of few days follow them", memory, 0.5, 0.15)
	for name, m := range map[string]*Measured{"alike": days(365, nil), "a week": days(7, drawn.NewSwing(3))} {
		if share, memory := m.Spread(); share > 1e-12 {
			t.Errorf("%s: %g, %g", name, share, memory)
		}
	}
	w := Wants{File: days(365, drawn.NewSwing(3)), Scale: 1}
	d := demand(t, w, span(t, "2025-01-01", 365, 60))
	near(t, "known to differ", d.SpreadShare, share, 1e-12)
	if d.SwingShare != 0 || d.NewSwing(1) != nil || d.NewSpread(1) == nil {
		t.Errorf("drawn to differ by %g: the file holds its own days", d.SwingShare)
	}
	w.SwingShare, w.SwingMemory = 0.1, 0.3
	if d := demand(t, w, span(t, "2025-01-01", 365, 60)); d.SpreadShare != 0.1 || d.SpreadMemory != 0.3 {
		t.Errorf("what the household says stands: %g, %g", d.SpreadShare, d.SpreadMemory)
	}
}
