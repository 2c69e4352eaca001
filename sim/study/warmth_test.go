package study_test

import (
	"math"
	"testing"

	"twigwatt/sim/genset"
	"twigwatt/sim/study"
)

// A year with a tank: the book closes, the months are the year, what the exchangers take is their share
// of what wood and electricity leave, and the runs are those of the year without one.
func TestAYearWithATank(t *testing.T) {
	tank := []string{"tank.litres=200", "tank.need_l_per_day=168", "tank.exhaust_pct=10", "tank.rooms=true", "tank.room_c=outdoor", "days=200"}
	s := sunny(t, tank...)
	y, err := study.Year(t.Context(), s.Household, s.Rule, nil)
	if err != nil {
		t.Fatal(err)
	}
	plain := sunny(t, "days=200")
	without, err := study.Year(t.Context(), plain.Household, plain.Rule, nil)
	if err != nil {
		t.Fatal(err)
	}
	if without.Summary.Warmth != nil || math.Abs(without.Total.BurnedDryKg-y.Total.BurnedDryKg) > 1e-9 {
		t.Error("the tank changes the runs")
	}
	w := y.Summary.Warmth
	if math.Abs(w.GapKWh) > 1e-9 || w.WorstKWh > 1e-9 {
		t.Errorf("the book misses %g kWh, a step %g", w.GapKWh, w.WorstKWh)
	}
	drawn := 0.0
	for i := range y.Months {
		drawn += y.Months[i].Tally.Warmth.DrawnKWh
	}
	if math.Abs(drawn-w.DrawnKWh) > 1e-9 || !(w.DrawnKWh > 0 && w.RoomsKWh > 0 && w.Lost > 0) {
		t.Errorf("months draw %g kWh of %+v", drawn, w)
	}
	// in each step that is not a light-up's alone more gas than the shaft takes
	left := w.GasKWh - y.Total.EngineKWh/genset.AlternatorEfficiency
	if taken := w.WarmUpKWh + w.IntoKWh + w.LetGoKWh; math.Abs(taken-0.4*left) > 1e-6*left {
		t.Errorf("the exchangers take %.3f kWh of %.3f", taken, left)
	}
	if need := s.Tank.NeedKWh() * float64(s.Span.Days); math.Abs(w.WantedKWh-need) > 1e-9 {
		t.Errorf("%g kWh are wanted, want %g", w.WantedKWh, need)
	}
	const netKWh = 5.0191 // of an oven-dry kg at 15 %, heat_checks.csv
	if want := (w.DrawnKWh + w.RoomsKWh) / (0.65 * netKWh); math.Abs(w.SavedDryKg/want-1) > 0.02 {
		t.Errorf("%.1f kg are saved, want about %.1f", w.SavedDryKg, want)
	}
}
