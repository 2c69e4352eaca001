package study_test

import (
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// TestYearsLoadIsLearned lives households through years whose load differs by 15 % from what is
// expected, by plans that learn it from the last fortnight and by plans that take all years to
// be alike, on the same luck: learning is dark on fewer days and costs less.
func TestYearsLoadIsLearned(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	var learned, alike study.Lives
	for _, household := range []string{"cabin", "saddle", "orchard"} {
		s, err := scenarios.Read(household, nil, scenarios.Set("step_minutes=60"), scenarios.Set("luck.load_year_pct=15"))
		if err != nil {
			t.Fatal(err)
		}
		h := s.WithoutEnd()
		yearsAlike := h.With(func(spec *sim.Spec) { spec.Luck.LoadYearShare = 0 })
		for sum, planned := range map[*study.Lives]*sim.Household{&learned: h, &alike: yearsAlike} {
			p, err := plan.New(t.Context(), planned, plan.Outlook{Foresight: plan.Typical})
			if err != nil {
				t.Fatal(err)
			}
			lives, err := study.LivesBy(t.Context(), h, p, 40, study.BySwing|study.ByLoadYear)
			if err != nil {
				t.Fatal(err)
			}
			sum.PriceKg += lives.PriceKg
			sum.ShortDays += lives.ShortDays
		}
	}
	t.Logf("learned %.0f kg, %.2f dark days; years alike %.0f kg, %.2f", learned.PriceKg/3, learned.ShortDays/3, alike.PriceKg/3, alike.ShortDays/3)
	if learned.PriceKg > alike.PriceKg || learned.ShortDays > 0.93*alike.ShortDays {
		t.Errorf("learning saves too little: %.1f kg and %.2f dark days in the mean of three households",
			(alike.PriceKg-learned.PriceKg)/3, (alike.ShortDays-learned.ShortDays)/3)
	}
}
