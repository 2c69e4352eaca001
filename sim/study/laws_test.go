package study_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// anyHousehold draws a household that could be one.
func anyHousehold(t *rapid.T) []string {
	from := rapid.IntRange(6, 15).Draw(t, "from")
	set := []string{"step_minutes=60", "start=2025-11-01", "plan.same_start=16:00",
		fmt.Sprintf("seed=%d", rapid.IntRange(1, 1000).Draw(t, "seed")),
		fmt.Sprintf("load.kwh_per_day=%.2f", rapid.Float64Range(2, 9).Draw(t, "load")),
		fmt.Sprintf("load.daily_swing_pct=%.0f", rapid.Float64Range(5, 35).Draw(t, "swing")),
		fmt.Sprintf("load.swing_memory=%.2f", rapid.Float64Range(0, 0.8).Draw(t, "memory")),
		fmt.Sprintf("battery.kwh=%.1f", rapid.Float64Range(6, 26).Draw(t, "bank")),
		fmt.Sprintf("battery.kind=%s", rapid.SampledFrom([]string{"flooded", "agm", "lithium"}).Draw(t, "kind")),
		fmt.Sprintf("tending.hours=[\"%02d:00-%02d:00\"]", from, from+rapid.IntRange(5, 8).Draw(t, "tended")),
		fmt.Sprintf("tending.max_hours_a_day=%d", rapid.IntRange(3, 7).Draw(t, "hours")),
		fmt.Sprintf("tending.max_starts_a_day=%d", rapid.IntRange(1, 2).Draw(t, "starts"))}
	return set
}

func lawRead(t *rapid.T, set ...string) *scenarios.Scenario {
	var options []scenarios.Option
	for _, a := range set {
		options = append(options, scenarios.Set(a))
	}
	s, err := scenarios.Read("home.toml", fileOf(home), options...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// tableKg is what a plan's table weighs in hourly steps: the price, the soft prices and a
// kilogram for each dark step.
func tableKg(s *sim.Summary) float64 { return weighedKg(s) + s.Total.ShortfallH }

// TestKnowingTheDaysIsNeverDearerThanAFixedRun: on what its table weighs, with chores and
// over a few days among them.
func TestKnowingTheDaysIsNeverDearerThanAFixedRun(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	rapid.Check(t, func(t *rapid.T) {
		set := append(anyHousehold(t), fmt.Sprintf("days=%d", rapid.SampledFrom([]int{5, 12, 40}).Draw(t, "days")), "plan.by=chosen", "plan.foresight=exact")
		for chore := range rapid.IntRange(0, 2).Draw(t, "chores") {
			name := fmt.Sprintf("load.chore.c%d.", chore)
			set = append(set, fmt.Sprintf("%skwh=%.2f", name, rapid.Float64Range(0.3, 2.5).Draw(t, "kwh")), fmt.Sprintf("%skw=%.2f", name, rapid.Float64Range(0.4, 2).Draw(t, "kw")),
				fmt.Sprintf("%stimes_per_week=%d", name, rapid.IntRange(1, 9).Draw(t, "times")))
		}
		s := lawRead(t, set...)
		known := *s.Demand // its days as they come, in each life
		known.SwingShare, known.SpreadShare, known.SteadyKW = 0, 0, known.LoadKW
		h := withoutLuck(s.Household).Wanting(&known)
		chooser, err := s.Rule.Chooser(t.Context(), h)
		if err != nil {
			t.Fatal(err)
		}
		chosen, _ := through(t, h, chooser)
		w, err := study.BestWindow(t.Context(), h, 1)
		if err != nil {
			t.Fatal(err)
		}
		if w == nil {
			return
		}
		// full charges are planned by the chance that one falls due, not by the count of days: what chosen runs
		// pay for late ones is left out
		lateKg := h.Prices.FullLateKgPerDay * float64(chosen.Bank.LateDays)
		dearer := func(kg func(*sim.Summary) float64) bool {
			const gridShare, gridKg = 0.0025, 2.0 // of reading between levels
			return kg(chosen)-lateKg > kg(w.Summary)*(1+gridShare)+gridKg
		}
		// the way to do chores is chosen by the price without the kilogram of each dark step
		if dearer(tableKg) && (len(h.Demand.Chores) == 0 || dearer(weighedKg)) {
			t.Fatalf("knowing the days costs %.1f kg (%+v), a fixed run %.1f (%+v)", tableKg(chosen), chosen.Price, tableKg(w.Summary), w.Summary.Price)
		}
	})
}

// TestThePlanExpectsWhatLivesComeTo: what the table says a span costs is the mean of its
// lives, soft prices and the kilogram of each dark step among it.
func TestThePlanExpectsWhatLivesComeTo(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	lives := quick(24, 200)
	households := []struct {
		name string
		set  []string
	}{
		{"flooded", []string{"battery.kwh=14"}},
		{"small bank", []string{"battery.kwh=9", "tending.max_hours_a_day=7"}},
		{"lithium, much memory", []string{"battery.kwh=10", "battery.kind=lithium", "load.swing_memory=0.8"}},
		{"evenings", []string{"battery.kwh=16", `tending.hours=["16:00-22:00"]`}},
		{"two starts", []string{"battery.kwh=10", "tending.max_starts_a_day=2"}},
	}
	for _, household := range households[:quick(2, len(households))] {
		set := append([]string{"step_minutes=60", "plan.same_start=16:00", "start=2025-11-01", "days=" + quick("50", "90"), "load.daily_swing_pct=22", "battery.at_hand_share=1",
			"luck.set_daily_pct=0", "luck.fail_to_light_pct=0", "plan.by=chosen"}, household.set...)
		first := read(t, home, set...)
		p, err := plan.New(t.Context(), first.Household, plan.Outlook{Foresight: plan.Typical})
		if err != nil {
			t.Fatal(err)
		}
		sum, squares := 0.0, 0.0
		for seed := range lives {
			s := read(t, home, append(set, fmt.Sprintf("seed=%d", seed+1))...)
			y, _ := through(t, first.Wanting(s.Demand), p.Chooser())
			kg := tableKg(y)
			sum += kg
			squares += kg * kg
		}
		mean := sum / float64(lives)
		se := math.Sqrt((squares/float64(lives) - mean*mean) / float64(lives))
		t.Logf("%-20s the plan expects %.0f kg, %d lives come to %.0f ± %.0f: %+.1f %%, %+.1f standard errors", household.name, p.PlannedKg(), lives, mean, se,
			100*(mean/p.PlannedKg()-1), (mean-p.PlannedKg())/se)
		const ofGrid = 0.005 // of levels and classes
		if math.Abs(mean-p.PlannedKg()) > 3*se+ofGrid*mean {
			t.Errorf("%s: the plan expects %.0f kg, its lives come to %.0f ± %.0f", household.name, p.PlannedKg(), mean, se)
		}
	}
}

// TestMoreIsNeverDarker: on any household more hours, a bigger bank, a second start, a bigger
// set and a dearer darkness leave no more dark than there was, within the standard error of
// lives that meet the same days. TWIGWATT_FULL=1 draws more households.
func TestMoreIsNeverDarker(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	laws := []struct {
		name       string
		base, more []string
	}{
		{"more hours", []string{"tending.max_hours_a_day=4"}, []string{"tending.max_hours_a_day=5"}},
		{"many more hours", []string{"tending.max_hours_a_day=4"}, []string{"tending.max_hours_a_day=7"}},
		{"a bigger bank", []string{"battery.kwh=9"}, []string{"battery.kwh=13"}},
		{"a much bigger bank", []string{"battery.kwh=9"}, []string{"battery.kwh=26"}},
		{"a second start", []string{"tending.max_starts_a_day=1"}, []string{"tending.max_starts_a_day=2"}},
		{"a bigger set", []string{"engine.kw=2"}, []string{"engine.kw=3"}},
		{"a dearer darkness", []string{"plan.short_kg_per_kwh=20"}, []string{"plan.short_kg_per_kwh=100"}},
		{"a much dearer darkness", []string{"plan.short_kg_per_kwh=100"}, []string{"plan.short_kg_per_kwh=5000"}},
	}
	draws := rapid.Custom(anyHousehold)
	for i := range quick(1, 40) {
		household := append(draws.Example(i), "days=50", "plan.by=chosen", "plan.short_kg_per_kwh=5000")
		for _, law := range laws {
			base, more := darkness(t, append(household[:len(household):len(household)], law.base...)), darkness(t, append(household[:len(household):len(household)], law.more...))
			sum, squares, n := 0.0, 0.0, float64(len(base))
			for life := range base {
				d := more[life] - base[life]
				sum += d / n
				squares += d * d / n
			}
			se := math.Sqrt(max(0, squares-sum*sum) / (n - 1))
			const crumbKWh = 0.05 // of a span: what levels of stored energy leave
			if sum > 3*se+crumbKWh {
				t.Errorf("%s: %.2f ± %.2f kWh darker: %v", law.name, sum, se, household)
			}
		}
	}
}

// darkness is what lives of a household miss, kWh, with what they owe the bank at the end.
func darkness(t *testing.T, set []string) []float64 {
	t.Helper()
	s := read(t, home, set...)
	p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: s.Rule.Foresight})
	if err != nil {
		t.Fatal(err)
	}
	short, err := study.Darkness(t.Context(), s.Household, p, study.UsualLives)
	if err != nil {
		t.Fatal(err)
	}
	return short
}
