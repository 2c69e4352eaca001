package study_test

import (
	"math"
	"slices"
	"testing"

	"twigwatt/sim/study"
)

// TestABankThatIsNeverFullIsNotPromisedItsLife: a lead-acid bank too large for its set and hours is
// never full, its life falls, DO says what would fill it, and bank does not recommend its size.
func TestABankThatIsNeverFullIsNotPromisedItsLife(t *testing.T) {
	for _, c := range []struct {
		reason string
		set    []string
		want   study.Remedy
	}{
		{"a longer run would do", []string{"battery.kwh=14", "plan.same_hours=2", "tending.max_hours_a_day=9"}, study.LongerRunToFill},
		{"hours are short", []string{"battery.kwh=14", "plan.same_hours=3", "tending.max_hours_a_day=3"}, study.MoreHoursToFill},
		{"the ceiling is low", []string{"battery.kwh=14", "plan.same_hours=5", "battery.ceiling_pct=90"}, study.RaiseCeiling},
		{"the charger is small", []string{"battery.kwh=14", "plan.same_hours=6", "battery.charger_kw=0.8", "load.kwh_per_day=3", `tending.hours=["12:00-18:00"]`}, study.ChargerToFill},
	} {
		s := read(t, home, append([]string{"days=60", "step_minutes=60", "plan.same_start=12:00"}, c.set...)...)
		y, err := study.Year(t.Context(), s.Household, s.Rule, nil)
		if err != nil {
			t.Fatal(err)
		}
		if b := &y.Bank; !b.SeldomFull || !math.IsInf(b.DaysBetweenFull, 1) || b.LifeHighYears > 6 {
			t.Errorf("%s: full every %g days, %g to %g years", c.reason, b.DaysBetweenFull, b.LifeLowYears, b.LifeHighYears)
		}
		if !slices.Contains(y.Todo, c.want) {
			t.Errorf("%s: remedies %d, want %d", c.reason, y.Todo, c.want)
		}
	}
	lithium := read(t, home, "days=60", "step_minutes=60", "battery.kind=lithium", "plan.same_start=16:00", "plan.same_hours=2")
	if y, _ := run(t, lithium); y.Bank.SeldomFull {
		t.Error("lithium is not hurt by being seldom full")
	}
}

// TestASizeThatCannotBeFilledIsNotRecommended.
func TestASizeThatCannotBeFilledIsNotRecommended(t *testing.T) {
	s := read(t, home, "days=120", "step_minutes=60", "load.kwh_per_day=2", "tending.max_hours_a_day=3", "plan.by=chosen")
	b := bankOf(t, s, study.BankOptions{SizesKWh: []float64{10, 150}, FirstDay: 0, Lives: 2})
	huge := b.Sizes[1]
	if !huge.Carries || huge.Span.Bank.DaysBetweenFull < 70 {
		t.Fatalf("150 kWh: carries %t, full every %g days: the test cannot fail", huge.Carries, huge.Span.Bank.DaysBetweenFull)
	}
	if b.Least != nil && b.Least.KWh == 150 {
		t.Error("150 kWh are recommended, and hardly ever full")
	}
}
