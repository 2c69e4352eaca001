package diary

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// Worked: from 30 January to 2 February are two days of each month; the plan of a
// span of 2025 stands for the same days of 2026. 10 kg as it lies at 15 % are 8.5
// oven-dry, at 20 % 8; what was not noted counts as nothing.
func TestMonthsByHand(t *testing.T) {
	of := home(t, nil)
	books := &sim.Books{Days: make([]sim.DayRecord, of.House.Span.Days)}
	for i := range books.Days {
		books.Days[i].AttendedH = float64(i)
	}
	row := func(month time.Month, day int, wood, moisture float64) Row {
		return Row{Date: calendar.NewDate(2026, month, day), StartMinute: 16 * 60, StopMinute: 20*60 + 30, WoodAsIsKg: wood, KWh: 9, MoisturePct: moisture}
	}
	rows := []Row{row(time.January, 30, 10, NotNoted()), row(time.February, 1, 10, 20), row(time.February, 2, NotNoted(), NotNoted())}
	rows[2].KWh = NotNoted()
	got := Months(rows, of, books)
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
	if Months(nil, of, books) != nil {
		t.Error("months of no runs")
	}
}

func TestRunsOfAnotherSeasonTellNoBank(t *testing.T) {
	of := home(t, func(spec *sim.Spec, _ *loads.Wants) { spec.Span.Days = 31 })
	rows := sameLength(home(t, nil), 240, 1.5, 2, 2.5, 3)
	july := slices.Clone(rows)
	for i := range july {
		july[i].Date = calendar.NewDate(2025, time.July, 1) + calendar.Date(i)
	}
	if got := Elsewhere(july, of.House.Span); got != len(july) {
		t.Errorf("%d of %d runs in July are elsewhere than in January", got, len(july))
	}
	if f := NewFit(july, of); f.LoadFactor.Told() || f.RoundTripPct.Told() || !strings.Contains(f.LoadFactor.Why, "does not hold") {
		t.Errorf("July's use by a span of January: %+v", f.LoadFactor)
	}
}
