package diary

import (
	"math"
	"slices"
	"testing"
	"time"

	"twigwatt/sim/calendar"
)

// asExpected is a truth equal to the home's scenario.
func asExpected(of Household) truth {
	idle, perKWh := newExpecter(of).line()
	s := &of.House.Set
	return truth{lightUpKg: s.LightUpKg, idleKgH: idle, perKWhKg: perKWh, kw: s.KW, charging: 0.85, discharging: 0.95, loadFactor: 1}
}

// TestCheckAgreesWithADiaryMadeFromTheScenario: what is expected of each row is
// what the diary was made from, and nothing is odd.
func TestCheckAgreesWithADiaryMadeFromTheScenario(t *testing.T) {
	of := home(t, nil)
	c := Check(madeUp(of, asExpected(of), errorsOf{}, 30, 1), of)
	const points, share = 1.0, 0.01 // the diary is made by the minute, its taper by straight lines
	for i, f := range c.Findings {
		if len(f.Odd) > 0 {
			t.Errorf("row %d: %v", i, f.Odd)
		}
		if math.Abs(f.WoodAsIsKg.Noted/f.WoodAsIsKg.Expected-1) > 1e-9 {
			t.Errorf("row %d: wood %+v", i, f.WoodAsIsKg)
		}
		if math.Abs(f.GainedPct.Noted-f.GainedPct.Expected) > points {
			t.Errorf("row %d: gained %+v", i, f.GainedPct)
		}
		if i < len(c.Findings)-1 && math.Abs(f.LostPct.Noted-f.LostPct.Expected) > points {
			t.Errorf("row %d: lost %+v", i, f.LostPct)
		}
		if math.Abs(f.PowerKW.Noted/f.PowerKW.Expected-1) > 10*share {
			t.Errorf("row %d: power %+v", i, f.PowerKW)
		}
	}
	if math.Abs(c.UsualWoodRatio-1) > share || math.Abs(c.UsualGainedMorePct) > points || math.Abs(c.UsualLostMorePct) > points {
		t.Errorf("usually %g, %g, %g", c.UsualWoodRatio, c.UsualGainedMorePct, c.UsualLostMorePct)
	}
}

// TestCheckMarksWhatIsOdd: each slip of the pen marks its row, and no other row.
func TestCheckMarksWhatIsOdd(t *testing.T) {
	of := home(t, nil)
	for _, c := range []struct {
		reason string
		days   int
		slip   func(r *Row)
		want   []Oddity
	}{
		{"nothing", 30, func(*Row) {}, nil},
		{"wood doubled", 30, func(r *Row) { r.WoodAsIsKg *= 2 }, []Oddity{OddWood}},
		{"wood doubled among five rows", 5, func(r *Row) { r.WoodAsIsKg *= 2 }, []Oddity{OddWood}},
		{"wood halved", 30, func(r *Row) { r.WoodAsIsKg /= 2 }, []Oddity{OddWood}},
		{"half again the kWh, of which the bank would not have taken much", 30, func(r *Row) { r.KWh *= 1.5 }, []Oddity{OddWood, OddPower}},
		{"charge read 40 points low", 30, func(r *Row) { r.SocEndPct -= 40 }, []Oddity{OddGained, OddLost}},
		{"hardly any power", 30, func(r *Row) { r.KWh = 0.1; r.WoodAsIsKg = NotNoted() }, []Oddity{OddPower, OddGained}},
	} {
		rows := madeUp(of, asExpected(of), usualErrors, c.days, 1)
		const slipped = 2
		c.slip(&rows[slipped])
		for i, f := range Check(rows, of).Findings {
			want := c.want
			if i != slipped {
				want = nil
			}
			if !slices.Equal(f.Odd, want) {
				t.Errorf("%s: row %d of %d is odd by %v, want %v", c.reason, i, len(rows), f.Odd, want)
			}
		}
	}
}

// TestCheckHoldsARowAgainstTheDiarysOwnHabit: a household that burns half again
// as much throughout has no odd row; its usual ratio says so.
func TestCheckHoldsARowAgainstTheDiarysOwnHabit(t *testing.T) {
	of := home(t, nil)
	rows := madeUp(of, asExpected(of), usualErrors, 30, 1)
	for i := range rows {
		rows[i].WoodAsIsKg *= 1.5
	}
	c := Check(rows, of)
	if math.Abs(c.UsualWoodRatio-1.5) > 0.05 {
		t.Errorf("usual ratio %g", c.UsualWoodRatio)
	}
	for i, f := range c.Findings {
		if slices.Contains(f.Odd, OddWood) {
			t.Errorf("row %d is odd", i)
		}
	}
	rows[9].WoodAsIsKg *= 1.5
	for i, f := range Check(rows, of).Findings {
		if slices.Contains(f.Odd, OddWood) != (i == 9) {
			t.Errorf("row %d: %v", i, f.Odd)
		}
	}
	for i, f := range Check(rows[:5], of).Findings { // five rows have no habit yet
		if !slices.Contains(f.Odd, OddWood) {
			t.Errorf("of five rows: row %d is not odd", i)
		}
	}
}

// TestWoodOfARunByHand: worked. Four hours with twenty minutes' light-up at 20 %
// moisture: 1.5 kg + idle × 3.667 h + per kWh × 8 kWh, over the heat factor, over
// the oven-dry share 0.8.
func TestWoodOfARunByHand(t *testing.T) {
	of := home(t, nil)
	row := aRow(16*60, 20*60, 0)
	row.KWh, row.MoisturePct = 8, 20
	idle, perKWh := newExpecter(of).line()
	want := (1.5 + idle*11/3 + perKWh*8) / of.House.Factors.Heat(0.20) / 0.8
	f := Check([]Row{row}, of).Findings[0]
	if math.Abs(f.WoodAsIsKg.Expected-want) > 1e-9 || math.Abs(f.PowerKW.Noted-24.0/11) > 1e-9 {
		t.Errorf("wood %g, want %g; power %g, want %g", f.WoodAsIsKg.Expected, want, f.PowerKW.Noted, 24.0/11)
	}
	if f.GainedPct.Told() || f.LostPct.Told() || len(f.Odd) > 0 || Noted(f.WoodAsIsKg.Noted) {
		t.Errorf("empty cells: %+v", f)
	}
	short := aRow(16*60, 16*60+10, 0) // no more than lit
	short.KWh = 0
	if f := Check([]Row{short}, of).Findings[0]; f.EngineHours != 0 || math.Abs(f.WoodAsIsKg.Expected-1.5/0.85) > 1e-9 || Noted(f.PowerKW.Noted) {
		t.Errorf("a run shorter than its light-up: %+v", f)
	}
}

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
		{"outside: nearest at the start", winter, date(2030, time.November, 30), 0},
	} {
		if got := DayOfSpan(c.span, c.date); got != c.want {
			t.Errorf("%s: day %d, want %d", c.reason, got, c.want)
		}
	}
}

// TestPiecesHoldTheTime: the pieces of a run and of a gap over midnight, worked.
func TestPiecesHoldTheTime(t *testing.T) {
	e := newExpecter(home(t, nil))
	first, next := aRow(23*60+10, 24*60, 0), aRow(60+5, 120, 0)
	next.Date++
	sum := func(pieces []piece, ready float64) (hours float64) {
		for _, p := range pieces {
			if p.ready == ready {
				hours += p.hours
			}
		}
		return hours
	}
	run, gap := e.runPieces(&first), e.gapPieces(&first, &next)
	if lit, on := sum(run, 0), sum(run, 1); math.Abs(lit-1.0/3) > 1e-12 || math.Abs(on-0.5) > 1e-12 || len(run) != 2 {
		t.Errorf("run: %g h of light-up, %g h of engine, %d pieces", lit, on, len(run))
	}
	if got := sum(gap, 0); math.Abs(got-65.0/60) > 1e-12 || len(gap) != 3 || gap[0].day != &e.House.Days[31] || !gap[0].wholeStep || gap[2].wholeStep {
		t.Errorf("gap: %g h in %d pieces", got, len(gap))
	}
}

// TestCheckAllowsForTheDiarysOwnScatter: where weighing scatters by a fifth, a row
// beyond the margin of a quarter is nothing odd; one of four times the wood is.
func TestCheckAllowsForTheDiarysOwnScatter(t *testing.T) {
	of, noise := home(t, nil), usualErrors
	noise.woodShare = 0.2
	rows := madeUp(of, asExpected(of), noise, 60, 1)
	rows[9].WoodAsIsKg *= 4
	beyond := 0
	for i, f := range Check(rows, of).Findings {
		if math.Abs(f.WoodAsIsKg.Noted/f.WoodAsIsKg.Expected-1) > WoodMargin {
			beyond++
		}
		if slices.Contains(f.Odd, OddWood) != (i == 9) {
			t.Errorf("row %d: %v, wood %+v", i, f.Odd, f.WoodAsIsKg)
		}
	}
	if beyond < 5 {
		t.Errorf("only %d rows are beyond the margin", beyond)
	}
}
