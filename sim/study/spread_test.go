package study_test

import (
	"os"
	"strconv"
	"sync"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// spreads are households whose plans are tried on days that nobody knows: the four
// examples and ten variants, in hourly steps, with wood without end.
var spreads = []struct {
	name, from string
	set        []string
}{
	{"cabin", "cabin", nil},
	{"holm", "holm", []string{"load.daily_swing_pct=18"}},
	{"saddle", "saddle", nil},
	{"orchard", "orchard", nil},
	{"small bank", "cabin", []string{"battery.amp_hours=500", "tending.max_hours_a_day=8"}},
	{"large bank", "cabin", []string{"battery.amp_hours=900"}},
	{"two starts", "cabin", []string{"tending.max_starts_a_day=2"}},
	{"swing 30", "cabin", []string{"load.daily_swing_pct=30"}},
	{"swing 25, small bank", "cabin", []string{"load.daily_swing_pct=25", "battery.amp_hours=500", "tending.max_hours_a_day=8"}},
	{"evenings only", "cabin", []string{`tending.hours=["17:00-22:00"]`, "battery.amp_hours=800"}},
	{"no Sundays", "cabin", []string{"tending.days=mon-sat", "battery.amp_hours=1000", "tending.max_hours_a_day=9"}},
	{"lithium, memory 0.7", "cabin", []string{"battery.kind=lithium", "load.swing_memory=0.7", "battery.amp_hours=400"}},
	{"no memory", "cabin", []string{"load.swing_memory=0"}},
	{"more load", "cabin", []string{"load.kwh_per_day=8", "tending.max_hours_a_day=8", "battery.amp_hours=800"}},
}

// TestPlansThatKnowTheSpread lives households through years that nobody knows, by three
// plans on the same luck: one made for the mean day, the household's own, and one that
// knows the days. Of what knowing the days would save, the own plan must save two thirds.
// TWIGWATT_YEARS=100 lives more years.
func TestPlansThatKnowTheSpread(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	households, years, days, least := spreads[:1], 4, "120", 0.5
	if full() {
		households, years, days, least = spreads, 10, "365", 0.66
	}
	if n, err := strconv.Atoi(os.Getenv("TWIGWATT_YEARS")); err == nil {
		households, years, days = spreads, n, "365"
	}
	type sums struct{ kg, shortKWh, shortDays, hours float64 }
	all := map[string]*sums{"mean day": {}, "own": {}, "known": {}}
	for _, household := range households {
		at := func(seed int) *scenarios.Scenario {
			var options []scenarios.Option
			for _, set := range append([]string{"step_minutes=60", "days=" + days, "seed=" + strconv.Itoa(seed)}, household.set...) {
				options = append(options, scenarios.Set(set))
			}
			s, err := scenarios.Read(household.from, nil, options...)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		planned := func(h *sim.Household, foresight plan.Foresight) *plan.Plan {
			p, err := plan.New(t.Context(), h, plan.Outlook{Foresight: foresight})
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		first := at(1).WithoutEnd()
		own := planned(first, plan.Typical)
		// the mean day: what is expected, with no spread and a soft price on spare energy instead
		unspread := *first.Demand
		unspread.SwingShare, unspread.SpreadShare = 0, 0
		meanDay := planned(first.Wanting(&unspread).With(func(spec *sim.Spec) { spec.Prices.SpareKgPerKWhH = 0.5 }), plan.Typical)
		var lock sync.Mutex
		var workers sync.WaitGroup
		here := map[string]*sums{"mean day": {}, "own": {}, "known": {}}
		seeds := make(chan int)
		for range 2 {
			workers.Go(func() {
				for seed := range seeds {
					h := first.Wanting(at(seed).Demand)
					for name, p := range map[string]*plan.Plan{"mean day": meanDay, "own": own, "known": planned(h, plan.Exact)} {
						y, _ := through(t, h, p.Chooser())
						lock.Lock()
						for _, sum := range []*sums{here[name], all[name]} {
							sum.kg += weighedKg(y) / float64(years)
							sum.shortKWh += y.Total.ShortfallKWh / float64(years)
							sum.shortDays += float64(y.Shortage.Days) / float64(years)
							sum.hours += y.Total.AttendedH / float64(years)
						}
						lock.Unlock()
					}
				}
			})
		}
		for seed := 1; seed <= years; seed++ {
			seeds <- seed
		}
		close(seeds)
		workers.Wait()
		t.Logf("%-21s mean day %6.0f kg, own %6.0f, known %6.0f: %3.0f %% of the gap; dark %.1f, %.1f, %.1f kWh on %.1f, %.1f, %.1f days; %.0f, %.0f, %.0f h", household.name,
			here["mean day"].kg, here["own"].kg, here["known"].kg, 100*(here["mean day"].kg-here["own"].kg)/(here["mean day"].kg-here["known"].kg),
			here["mean day"].shortKWh, here["own"].shortKWh, here["known"].shortKWh, here["mean day"].shortDays, here["own"].shortDays, here["known"].shortDays,
			here["mean day"].hours, here["own"].hours, here["known"].hours)
	}
	n := float64(len(households))
	for _, name := range []string{"mean day", "own", "known"} {
		t.Logf("%-9s %.0f kg, %.2f kWh dark on %.2f days, %.0f h", name, all[name].kg/n, all[name].shortKWh/n, all[name].shortDays/n, all[name].hours/n)
	}
	closed := (all["mean day"].kg - all["own"].kg) / (all["mean day"].kg - all["known"].kg)
	t.Logf("%.1f %% of the gap between the mean day and known days is closed", 100*closed)
	if closed < least {
		t.Errorf("%.1f %% of the gap is closed, want %.0f %%", 100*closed, 100*least)
	}
}
