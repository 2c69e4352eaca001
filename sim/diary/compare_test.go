package diary

import (
	"math"
	"slices"
	"testing"
	"time"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// asExpected is a truth equal to the home's scenario.
func asExpected(scenario *sim.Household) truth {
	idle, perKWh := dated(scenario).fuelLine()
	s := &scenario.House.Set
	return truth{lightUpKg: s.LightUpKg, idleKgH: idle, perKWhKg: perKWh, kw: s.KW, charging: 0.85, discharging: 0.95, loadFactor: 1}
}

// TestCheckAgreesWithADiaryMadeFromTheScenario: what is expected of each row is
// what the diary was made from, and nothing is odd.
func TestCheckAgreesWithADiaryMadeFromTheScenario(t *testing.T) {
	scenario := home(t, nil)
	c := compareRows(dated(scenario), madeUp(scenario, asExpected(scenario), errorsOf{}, 30, 1))
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
	scenario := home(t, nil)
	for _, c := range []struct {
		reason string
		days   int
		slip   func(r *Row)
		want   []Measure
	}{
		{"nothing", 30, func(*Row) {}, nil},
		{"wood doubled", 30, func(r *Row) { r.WoodAsIsKg *= 2 }, []Measure{Wood}},
		{"wood doubled among five rows", 5, func(r *Row) { r.WoodAsIsKg *= 2 }, []Measure{Wood}},
		{"wood halved", 30, func(r *Row) { r.WoodAsIsKg /= 2 }, []Measure{Wood}},
		{"half again the kWh, of which the bank would not have taken much", 30, func(r *Row) { r.KWh *= 1.5 }, []Measure{Wood, Power}},
		{"charge read 40 points low", 30, func(r *Row) { r.SocEndPct -= 40 }, []Measure{ChargeGained, ChargeLost}},
		{"hardly any power", 30, func(r *Row) { r.KWh = 0.1; r.WoodAsIsKg = NotNoted() }, []Measure{Power, ChargeGained}},
	} {
		rows := madeUp(scenario, asExpected(scenario), usualErrors, c.days, 1)
		const slipped = 2
		c.slip(&rows[slipped])
		for i, f := range compareRows(dated(scenario), rows).Findings {
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
	scenario := home(t, nil)
	rows := madeUp(scenario, asExpected(scenario), usualErrors, 30, 1)
	for i := range rows {
		rows[i].WoodAsIsKg *= 1.5
	}
	c := compareRows(dated(scenario), rows)
	if math.Abs(c.UsualWoodRatio-1.5) > 0.05 {
		t.Errorf("usual ratio %g", c.UsualWoodRatio)
	}
	for i, f := range c.Findings {
		if slices.Contains(f.Odd, Wood) {
			t.Errorf("row %d is odd", i)
		}
	}
	rows[9].WoodAsIsKg *= 1.5
	for i, f := range compareRows(dated(scenario), rows).Findings {
		if slices.Contains(f.Odd, Wood) != (i == 9) {
			t.Errorf("row %d: %v", i, f.Odd)
		}
	}
	for i, f := range compareRows(dated(scenario), rows[:5]).Findings { // five rows have no habit yet
		if !slices.Contains(f.Odd, Wood) {
			t.Errorf("of five rows: row %d is not odd", i)
		}
	}
}

// TestWoodOfARunByHand: worked. Four hours with twenty minutes' light-up at 20 %
// moisture: 1.5 kg + idle × 3.667 h + per kWh × 8 kWh, over the heat factor, over
// the oven-dry share 0.8.
func TestWoodOfARunByHand(t *testing.T) {
	scenario := home(t, nil)
	row := aRow(16*60, 20*60, 0)
	row.KWh, row.MoisturePct = 8, 20
	idle, perKWh := dated(scenario).fuelLine()
	want := (1.5 + idle*11/3 + perKWh*8) / scenario.House.Factors.Heat(0.20) / 0.8
	f := compareRows(dated(scenario), []Row{row}).Findings[0]
	if math.Abs(f.WoodAsIsKg.Expected-want) > 1e-9 || math.Abs(f.PowerKW.Noted-24.0/11) > 1e-9 {
		t.Errorf("wood %g, want %g; power %g, want %g", f.WoodAsIsKg.Expected, want, f.PowerKW.Noted, 24.0/11)
	}
	if Noted(f.GainedPct.More()) || Noted(f.LostPct.More()) || len(f.Odd) > 0 || Noted(f.WoodAsIsKg.Noted) {
		t.Errorf("empty cells: %+v", f)
	}
	short := aRow(16*60, 16*60+10, 0) // no more than lit
	short.KWh = 0
	if f := compareRows(dated(scenario), []Row{short}).Findings[0]; f.EngineHours != 0 || math.Abs(f.WoodAsIsKg.Expected-1.5/0.85) > 1e-9 || Noted(f.PowerKW.Noted) {
		t.Errorf("a run shorter than its light-up: %+v", f)
	}
}

// TestCheckAllowsForTheDiarysOwnScatter: where weighing scatters by a fifth, a row
// beyond the margin of a quarter is nothing odd; one of four times the wood is.
func TestCheckAllowsForTheDiarysOwnScatter(t *testing.T) {
	scenario, noise := home(t, nil), usualErrors
	noise.woodShare = 0.2
	rows := madeUp(scenario, asExpected(scenario), noise, 60, 1)
	rows[9].WoodAsIsKg *= 4
	beyond := 0
	for i, f := range compareRows(dated(scenario), rows).Findings {
		if math.Abs(f.WoodAsIsKg.Noted/f.WoodAsIsKg.Expected-1) > woodMargin {
			beyond++
		}
		if slices.Contains(f.Odd, Wood) != (i == 9) {
			t.Errorf("row %d: %v, wood %+v", i, f.Odd, f.WoodAsIsKg)
		}
	}
	if beyond < 5 {
		t.Errorf("only %d rows are beyond the margin", beyond)
	}
}

// TestMarkByHand: worked. Of nine differences about 0 the median of their sizes is 1, a
// robust standard deviation 1.4826, and four of them 5.93.
func TestMarkByHand(t *testing.T) {
	for last, odd := range map[float64]bool{5.8: false, 6.1: true} {
		c := &Comparison{Findings: make([]Finding, 9)}
		for i, x := range []float64{-2, -1, -1, 0, 0, 1, 1, 2, last} {
			c.Findings[i].LostPct.Noted = x
		}
		usual := c.mark(ChargeLost, 0.5, 7, func(f *Finding) float64 { return f.LostPct.Noted })
		if got := c.Odd(); usual != 0 || len(got) > 0 != odd || len(got) > 1 || odd && got[0].LostPct.Noted != last {
			t.Errorf("%g: usually %g, odd %+v", last, usual, got)
		}
	}
}

// TestPowerBeyondTheSetIsOdd: by more than a tenth to either side.
func TestPowerBeyondTheSetIsOdd(t *testing.T) {
	scenario := home(t, nil)
	for kw, odd := range map[float64]bool{0.4 * 0.85: true, 0.4 * 0.95: false, 3.4 * 1.05: false, 3.4 * 1.15: true} {
		row := aRow(14*60, 15*60+20, 0) // an hour of engine
		row.KWh = kw
		if f := compareRows(dated(scenario), []Row{row}).Findings[0]; slices.Contains(f.Odd, Power) != odd {
			t.Errorf("%g kW: %v, of a set that gives %g to %g", kw, f.Odd, f.LeastKW, f.MostKW)
		}
	}
}

// Worked: from 30 January to 2 February are two days of each month; the plan of a
// span of 2025 stands for the same days of 2026. 10 kg as it lies at 15 % are 8.5
// oven-dry, at 20 % 8; what was not noted counts as nothing.
func TestMonthsByHand(t *testing.T) {
	scenario := home(t, nil)
	books := &sim.Books{Days: make([]sim.DayRecord, scenario.House.Span.Days)}
	for i := range books.Days {
		books.Days[i].AttendedH = float64(i)
	}
	row := func(month time.Month, day int, wood, moisture float64) Row {
		return Row{Date: calendar.NewDate(2026, month, day), StartMinute: 16 * 60, StopMinute: 20*60 + 30, WoodAsIsKg: wood, KWh: 9, MoisturePct: moisture}
	}
	rows := []Row{row(time.January, 30, 10, NotNoted()), row(time.February, 1, 10, 20), row(time.February, 2, NotNoted(), NotNoted())}
	rows[2].KWh = NotNoted()
	got := compareMonths(dated(scenario), rows, books)
	want := []Month{
		{First: rows[0].Date, Days: 2, Runs: 1, AttendedH: 4.5, KWh: 9, WoodDryKg: 8.5, PlanAttendedH: 29 + 30},
		{First: rows[1].Date, Days: 2, Runs: 2, AttendedH: 9, KWh: 9, WoodDryKg: 8, PlanAttendedH: 31 + 32},
	}
	if len(got) != len(want) {
		t.Fatalf("got %+v", got)
	}
	for i := range want {
		g := got[i]
		g.WoodDryKg = math.Round(g.WoodDryKg*1e9) / 1e9
		if g != want[i] {
			t.Errorf("got %+v, want %+v", got[i], want[i])
		}
	}
	if compareMonths(dated(scenario), nil, books) != nil {
		t.Error("months of no runs")
	}
}
