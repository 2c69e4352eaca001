package diary

import (
	"math"
	"testing"
	"time"

	"twigwatt/sim"
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
		{"29 February of a span that holds it late", calendar.Span{Start: date(2025, time.January, 1), Days: 1461}, date(2032, time.February, 29), 3*365 + 59},
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

// TestPartsHoldTheTime: the parts of a run and of a gap over midnight, worked.
func TestPartsHoldTheTime(t *testing.T) {
	h := dated(home(t, nil))
	first, next := aRow(23*60+10, 24*60, 0), aRow(60+5, 120, 0)
	next.Date++
	sum := func(parts []stepPart, ready float64) (hours float64) {
		for _, p := range parts {
			if p.ready == ready {
				hours += p.hours
			}
		}
		return hours
	}
	run, gap := h.runParts(&first), h.gapParts(&first, &next)
	if lit, on := sum(run, 0), sum(run, 1); math.Abs(lit-1.0/3) > 1e-12 || math.Abs(on-0.5) > 1e-12 || len(run) != 2 {
		t.Errorf("run: %g h of light-up, %g h of engine, %d parts", lit, on, len(run))
	}
	if got := sum(gap, 0); math.Abs(got-65.0/60) > 1e-12 || len(gap) != 3 || gap[0].day != &h.House.Days[31] || !gap[0].wholeStep || gap[2].wholeStep {
		t.Errorf("gap: %g h in %d parts", got, len(gap))
	}
}

// TestWhatHouseAndBankTake: worked. From 14:20 to 15:00 chores of 0.7 kW for half an hour
// and other power of 0.3 kW for ten minutes more take 0.7·40/40 − 0.3·10/40 kW of the mean.
func TestWhatHouseAndBankTake(t *testing.T) {
	plain := home(t, nil)
	r := noted(plain, 15*60, 1, 60, 60)
	busy := home(t, nil)
	busy.ChoreKW = make([]float64, busy.House.Span.Steps())
	busy.ChoreKW[28], busy.ChoreKW[29], busy.Demand.ExpectedOtherKW[28] = 0.7, 0.7, 0.3 // from 14:00 and 14:30
	before, after := dated(plain), dated(busy)
	got := after.takesKW(&r, after.runParts(&r)) - before.takesKW(&r, before.runParts(&r))
	if want := 0.7 - 0.3*10/40; math.Abs(got-want) > 1e-12 {
		t.Errorf("%g kW more, worked %g", got, want)
	}
	// with the engine off, the hour draws 0.7 − 0.3/2 kWh more through the inverter
	parts := [2][]stepPart{before.parts(r.from(), r.to(), r.to()), after.parts(r.from(), r.to(), r.to())}
	less, _ := before.electric(parts[0], 60, sim.Engine{})
	more, _ := after.electric(parts[1], 60, sim.Engine{})
	const leakPct = 0.001
	if got, want := less-more, 100*(0.7-0.15)/0.92/0.95/26; math.Abs(got-want) > leakPct {
		t.Errorf("%g points more, worked %g", got, want)
	}
}

// TestWettestWood: wood beyond the gas model's table gives the gas of 45 %, less its water.
func TestWettestWood(t *testing.T) {
	h := dated(home(t, nil))
	wet, wettest := aRow(14*60, 15*60, 0), aRow(14*60, 15*60, 0)
	wet.MoisturePct, wet.WoodAsIsKg, wettest.MoisturePct = 55, 10, 45
	if got, want := h.ratedDryKg(&wet), 4.5*h.House.Factors.Heat(0.45); math.Abs(got-want) > 1e-12 {
		t.Errorf("10 kg at 55 %% are %g kg, want %g", got, want)
	}
	if h.engine(&wet) != h.engine(&wettest) {
		t.Errorf("the set gives %+v, at 45 %% %+v", h.engine(&wet), h.engine(&wettest))
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
