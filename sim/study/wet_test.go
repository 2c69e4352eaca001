package study_test

import (
	"fmt"
	"strings"
	"testing"

	"twigwatt/sim"
	"twigwatt/sim/study"
)

const wetPile = home + `
[woodpile.stack.wet]
dry_kg = 4000
moisture_pct = 24
piece = "split"
`

// TestWetterWoodMayBeBurned: wood over max_moisture_pct is not burned, unless wettest_pct allows it:
// then with less power and more condensate, and every answer that burns it warns of tar.
func TestWetterWoodMayBeBurned(t *testing.T) {
	set := []string{"days=14", "step_minutes=60", "plan.by=chosen", "start=2025-01-06"}
	barred, allowed := read(t, wetPile, set...), read(t, wetPile, append(set, "woodpile.wettest_pct=26")...)
	warned := func(where string, all []sim.Warning, want bool) {
		t.Helper()
		if got := strings.Contains(fmt.Sprint(all), "tar and an unsteady flame above 20 %"); got != want {
			t.Errorf("%s: warned of tar %t, want %t: %v", where, got, want, all)
		}
	}
	year := func(h *sim.Household) *study.YearAnswer {
		t.Helper()
		y, err := study.Year(t.Context(), h, barred.Rule, nil)
		if err != nil {
			t.Fatal(err)
		}
		return y
	}
	dark, lit, dry := year(barred.Household), year(allowed.Household), year(allowed.WithoutEnd())
	if dark.Total.EngineH > 0 || lit.Total.EngineH == 0 {
		t.Fatalf("engine hours %g and %g", dark.Total.EngineH, lit.Total.EngineH)
	}
	if perKWh := func(y *study.YearAnswer) float64 { return y.Total.BurnedDryKg / y.Total.EngineKWh }; perKWh(lit) < 1.03*perKWh(dry) ||
		lit.Total.CondensateL/lit.Total.BurnedDryKg < 1.3*dry.Total.CondensateL/dry.Total.BurnedDryKg {
		t.Errorf("wet wood: %.3f kg a kWh and %.1f l of condensate, dry: %.3f and %.1f", perKWh(lit), lit.Total.CondensateL, perKWh(dry), dry.Total.CondensateL)
	}
	warned("barred", dark.Warnings, false)
	warned("year", lit.Warnings, true)
	h, err := study.Hours(t.Context(), allowed.Household, allowed.Rule, study.HoursOptions{EveryH: 6, Lives: 1})
	if err != nil {
		t.Fatal(err)
	}
	warned("hours", h.Warnings, true)
	warned("bank", bankOf(t, allowed, study.BankOptions{SizesKWh: []float64{14}, FirstDay: 0, Lives: 1}).Warnings, true)
	r, err := study.Risk(t.Context(), allowed.Household, allowed.Rule, study.RiskOptions{Years: 2})
	if err != nil {
		t.Fatal(err)
	}
	warned("risk", r.Warnings, true)
	w, err := study.Wood(t.Context(), allowed.Household, allowed.Rule)
	if err != nil {
		t.Fatal(err)
	}
	warned("wood", w.Warnings, true)
	warned("day", sheet(t, allowed, evening(allowed, 10*60, 55)).Warnings, true)
}

// TestVeryWetWoodWarnsByWhicheverKey: also where max_moisture_pct itself is high, and in endless wood.
func TestVeryWetWoodWarnsByWhicheverKey(t *testing.T) {
	for set, want := range map[string]bool{"woodpile.max_moisture_pct=24": false, "woodpile.max_moisture_pct=32": true} {
		y, _ := run(t, read(t, strings.Replace(wetPile, "= 24", "= 31", 1), "days=14", "step_minutes=60", "plan.same_start=16:00", "start=2025-01-06", set))
		if got := strings.Contains(fmt.Sprint(y.Warnings), "tar and an unsteady flame above 25 %"); got != want {
			t.Errorf("%s: warned of tar %t: %v", set, got, y.Warnings)
		}
	}
	endless, _ := run(t, read(t, home, "days=14", "step_minutes=60", "plan.same_start=16:00", "engine.rated_moisture_pct=28"))
	if !strings.Contains(fmt.Sprint(endless.Warnings), "tar and an unsteady flame") {
		t.Error("endless wood of 28 % is burned, and nothing is said")
	}
}

// TestNeedGoesByTheWoodThatIsBurned: a pile at 24 % needs more oven-dry wood than one at 15 %.
func TestNeedGoesByTheWoodThatIsBurned(t *testing.T) {
	need := func(moisture string) float64 {
		s := read(t, strings.Replace(wetPile, "= 24", "= "+moisture, 1), "days=20", "step_minutes=60", "plan.same_start=16:00", "woodpile.max_moisture_pct=30", "start=2025-01-06")
		w, err := study.Wood(t.Context(), s.Household, s.Rule)
		if err != nil {
			t.Fatal(err)
		}
		return w.Need.DryKg
	}
	if dry, wet := need("15"), need("24"); wet < 1.025*dry {
		t.Errorf("at 24 %% %.1f kg are needed, at 15 %% %.1f", wet, dry)
	}
}

// TestAFifthOfAPointDoesNotDarkenAYear: wood that lies a fifth of a point under what is ready has no
// dark year for a wet one: damper air works on it slowly, and the place's own air dries it too.
func TestAFifthOfAPointDoesNotDarkenAYear(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	s := read(t, strings.Replace(wetPile, "= 24", "= 19.8", 1), "days="+quick("120", "365"), "start=2025-03-01", "step_minutes=60", "plan.same_start=16:00",
		"luck.moisture_points=3", "woodpile.stack.wet.dry_kg=9000", "luck.load_year_pct=0", "luck.repair_days=0", "luck.fail_to_light_pct=0", "luck.set_daily_pct=0")
	r, err := study.Risk(t.Context(), s.Household, s.Rule, study.RiskOptions{Years: 20})
	if err != nil {
		t.Fatal(err)
	}
	if worst := r.All.ShortDays.Worst; worst > 0.5*float64(s.Span.Days) {
		t.Errorf("the worst year is dark on %g of %d days for its moisture", worst, s.Span.Days)
	}
}
