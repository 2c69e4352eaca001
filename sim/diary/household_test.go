package diary

import (
	"math"
	"testing"
	"time"

	"twigwatt/sim/calendar"
)

func TestDayOfSpan(t *testing.T) {
	date := calendar.NewDate
	year := calendar.Span{Start: date(2025, time.January, 1), Days: 365, StepMinutes: 30}
	winter := calendar.Span{Start: date(2024, time.December, 20), Days: 30, StepMinutes: 30}
	long := calendar.Span{Start: date(2024, time.January, 1), Days: 3660, StepMinutes: 60}
	for _, c := range []struct {
		reason string
		span   calendar.Span
		date   calendar.Date
		want   int
	}{
		{"in the span", year, date(2025, time.March, 1), 59},
		{"another year", year, date(2031, time.March, 1), 59},
		{"29 February of a span without one: the day before, which is as near as the day after", year, date(2024, time.February, 29), 58},
		{"the span's own second year", long, date(2025, time.March, 1), 366 + 59},
		{"before a long span: its first year", long, date(2020, time.February, 29), 59},
		{"over the new year", winter, date(2030, time.January, 3), 14},
		{"outside: nearest at the end", winter, date(2030, time.February, 10), 29},
		{"outside a quarter: its last day", calendar.Span{Start: date(2025, time.January, 1), Days: 90}, date(2026, time.July, 1), 89},
		{"outside: nearest at the start", winter, date(2030, time.November, 30), 0},
	} {
		if got := newAlmanac(c.span).day(c.date); got != c.want {
			t.Errorf("%s: day %d, want %d", c.reason, got, c.want)
		}
	}
}

// TestPiecesHoldTheTime: the pieces of a run and of a gap over midnight, worked.
func TestPiecesHoldTheTime(t *testing.T) {
	e := dated(home(t, nil))
	first, next := aRow(23*60+10, 24*60, 0), aRow(60+5, 120, 0)
	next.Date++
	sum := func(pieces []stepPart, ready float64) (hours float64) {
		for _, p := range pieces {
			if p.ready == ready {
				hours += p.hours
			}
		}
		return hours
	}
	run, gap := e.runParts(&first), e.gapParts(&first, &next)
	if lit, on := sum(run, 0), sum(run, 1); math.Abs(lit-1.0/3) > 1e-12 || math.Abs(on-0.5) > 1e-12 || len(run) != 2 {
		t.Errorf("run: %g h of light-up, %g h of engine, %d pieces", lit, on, len(run))
	}
	if got := sum(gap, 0); math.Abs(got-65.0/60) > 1e-12 || len(gap) != 3 || gap[0].day != &e.House.Days[31] || !gap[0].wholeStep || gap[2].wholeStep {
		t.Errorf("gap: %g h in %d pieces", got, len(gap))
	}
}

func TestChoresCount(t *testing.T) {
	scenario := home(t, nil)
	scenario.ChoreKW = make([]float64, scenario.House.Span.Steps())
	scenario.ChoreKW[28] = 0.7 // 14:00
	r := noted(scenario, 15*60, 1, 60, 60)
	sum := 0.0
	for _, p := range dated(scenario).runParts(&r) {
		sum += p.choreKW * p.hours
	}
	if math.Abs(sum-0.35) > 1e-12 {
		t.Errorf("%g kWh of chores", sum)
	}
}
