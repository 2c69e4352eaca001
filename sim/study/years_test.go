package study_test

import (
	"math"
	"testing"

	"twigwatt/sim/study"
)

// A span of several years fades the bank by its wear: each year holds less than the last until it is
// replaced, or goes on fading; a span of one year does not. What it fades to is what the days are lived by.
func TestABankFadesOverYears(t *testing.T) {
	year := func(set ...string) *study.YearAnswer {
		s := sunny(t, append([]string{"plan.by=top-up", "plan.start_below_pct=70"}, set...)...)
		y, err := study.Year(t.Context(), s.WithoutEnd(), s.Rule, nil)
		if err != nil {
			t.Fatal(err)
		}
		return y
	}
	if y := year("days=365"); y.Ageing != nil || y.Household.BankHealth != nil {
		t.Error("a year fades")
	}
	y := year("days=2922", "battery.cycle_life=[[50, 5000]]")
	a := y.Ageing
	if len(a.Health) != 8 || a.Health[0] != 1 || len(a.Replaced) == 0 {
		t.Fatalf("%+v", a)
	}
	for i := 1; i < len(a.Health); i++ {
		again := false
		for _, year := range a.Replaced {
			again = again || year == i
		}
		if again != (a.Health[i] == 1) || !again && math.Abs(a.Health[i-1]-a.Health[i]-0.2/a.LifeYears) > 1e-12 || a.Health[i] < 0.8-1e-12 {
			t.Fatalf("year %d: %+v", i, a)
		}
	}
	for day := range y.Household.Days {
		year, ofYear := day/365, day%365
		if full := y.Household.Days[day].Bank.FullKWh; ofYear > 5 && math.Abs(full-a.Health[min(year, 7)]*y.Household.Bank.FullKWh) > 1e-9 {
			t.Fatalf("day %d holds %g kWh", day, full)
		}
	}
	if math.Abs(y.Summary.Books.BankKWh) > 1e-6 || math.Abs(y.Summary.Books.ElectricityKWh) > 1e-6 {
		t.Errorf("%+v", y.Summary.Books)
	}
	kept := year("days=2922", "battery.cycle_life=[[50, 5000]]", "battery.replaced=false").Ageing
	if len(kept.Replaced) > 0 || kept.Health[7] >= 0.8 || kept.Health[7] > kept.Health[6] {
		t.Errorf("%+v", kept)
	}
}

// A load that grows is larger by so much in each year of the span, and what is expected of it too.
func TestALoadThatGrows(t *testing.T) {
	s := sunny(t, "days=1096", "load.growth_pct_year=7", "load.daily_swing_pct=0", "start=2025-01-01")
	still := sunny(t, "days=1096", "load.daily_swing_pct=0", "start=2025-01-01")
	perDay := s.Span.StepsADay()
	for day, want := range map[int]float64{0: 1, 364: 1, 365: 1.07, 729: 1.07, 730: 1.1449, 1095: 1.225043} {
		step := day*perDay + 18
		if got := s.Demand.LoadKW[step] / still.Demand.LoadKW[step]; math.Abs(got-want) > 1e-9 || s.Demand.ExpectedLoadKW[step] != s.Demand.LoadKW[step] {
			t.Errorf("day %d: %.6f times the load, want %g", day, got, want)
		}
	}
}
