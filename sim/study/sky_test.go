package study_test

import (
	"math"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
	"twigwatt/sim/sun"
)

// sunny is a household of the examples with panels.
func sunny(t *testing.T, set ...string) *scenarios.Scenario {
	t.Helper()
	options := []scenarios.Option{scenarios.Set("step_minutes=60")}
	for _, assignment := range set {
		options = append(options, scenarios.Set(assignment))
	}
	s, err := scenarios.Read("cabin", nil, options...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A plan that weighs skies costs less on days that nobody knows than one that takes the sun for what
// is expected of it, and leaves fewer of them dark.
func TestPlansWeighSkies(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	for _, wired := range []string{"bank", "house"} {
		set := []string{"panels.roof.kw_peak=2", "panels.roof.wired=" + wired, "days=150", "start=2025-02-01"}
		drawn := sunny(t, set...)
		price := func(of *scenarios.Scenario) *study.Lives {
			p, err := plan.New(t.Context(), of.Household, plan.Outlook{Foresight: plan.Typical})
			if err != nil {
				t.Fatal(err)
			}
			_, lives, err := study.LiveChosen(t.Context(), drawn.Household, p, 20, nil)
			if err != nil {
				t.Fatal(err)
			}
			return lives
		}
		weighs, takes := price(drawn), price(sunny(t, append(set, "place.sun_days=usual")...))
		if !(weighs.PriceKg < 0.95*takes.PriceKg) || !(weighs.ShortDays < takes.ShortDays/2) {
			t.Errorf("wired to the %s: %.0f kg and %.1f short days by a plan that weighs skies, %.0f kg and %.1f by one that does not",
				wired, weighs.PriceKg, weighs.ShortDays, takes.PriceKg, takes.ShortDays)
		}
	}
}

// What a plan expects to pay is what lives come to, in the sun too.
func TestAPlanInTheSunComesToWhatItExpects(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	s := sunny(t, "panels.roof.kw_peak=1")
	p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Typical})
	if err != nil {
		t.Fatal(err)
	}
	_, lives, err := study.LiveChosen(t.Context(), s.Household, p, 40, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := lives.PriceKg, p.PlannedKg(); math.Abs(got/want-1) > 0.03 {
		t.Errorf("lives come to %.0f kg, the plan expects %.0f", got, want)
	}
}

// The luck of the first life is that of the household's own days, its sky among it; a life without the
// sky's luck has the sun that is expected, and one in which each day is usual knows no luck of it.
func TestTheFirstLifesSkyIsTheHouseholds(t *testing.T) {
	s := sunny(t, "panels.roof.kw_peak=1.5", "panels.shed.kw_peak=0.5", "panels.shed.wired=house", "plan.by=same-hours", "plan.same_start=16:00",
		"plan.same_hours=3", "luck.set_daily_pct=0", "days=120")
	y, err := study.Year(t.Context(), s.Household, s.Rule, nil)
	if err != nil {
		t.Fatal(err)
	}
	if d := s.Demand; d.Sun == nil || sameSun(d.SunKW, d.ExpectedSunKW) || sameSun(d.HouseSunKW, d.ExpectedHouseSunKW) {
		t.Fatal("the days come as they are expected")
	}
	r, err := study.Risk(t.Context(), s.Household, s.Rule, study.RiskOptions{Years: 1})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := r.Plain.WoodDryKg, y.Total.BurnedDryKg; math.Abs(got-want) > 1e-6 {
		t.Errorf("the first life burns %.6f kg, the household %.6f", got, want)
	}
	if steady := r.Steady.WoodDryKg; math.Abs(steady-y.Total.BurnedDryKg) < 1 {
		t.Error("days as expected burn as much as drawn ones")
	}
	if !hasCause(r, study.BySky) {
		t.Error("the sky is no cause")
	}
	usual := sunny(t, "panels.roof.kw_peak=1.5", "place.sun_days=usual", "days=40")
	if r := riskOf(t, usual, 2); hasCause(r, study.BySky) {
		t.Error("usual days have a sky that varies")
	}
	if d := usual.Demand; !sameSun(d.SunKW, d.ExpectedSunKW) {
		t.Error("usual days do not come as expected")
	}
}

func sameSun(a, b []float64) bool {
	for i := range a {
		if math.Abs(a[i]-b[i]) > 1e-12 {
			return false
		}
	}
	return true
}

func hasCause(r *study.RiskAnswer, cause study.Cause) bool {
	for _, c := range r.Causes {
		if c.Cause == cause {
			return true
		}
	}
	return false
}

// The hardest week is net of the panels, and its days bring the share of the usual sun that the
// scenario says, all alike in their lives.
func TestTheHardestWeekIsDull(t *testing.T) {
	s := sunny(t, "panels.roof.kw_peak=3", "place.snap_sun_pct=30")
	first := study.HardestWeek(s.Household)
	week := study.Week(s.Household, first, 0)
	perDay := s.Span.StepsADay()
	for i, kw := range week.Demand.SunKW {
		if want := 0.3 * s.Demand.ExpectedSunKW[first*perDay+i]; math.Abs(kw-want) > 1e-12 || week.Demand.ExpectedSunKW[i] != kw {
			t.Fatalf("step %d: %g kW, want %g", i, kw, want)
		}
	}
	if week.Demand.SkySpreads() {
		t.Error("the week's sky varies")
	}
	net := func(first int) float64 {
		sum := 0.0
		for step := first * perDay; step < (first+7)*perDay; step++ {
			sum += s.Demand.LoadKW[step] - s.Demand.OtherKW[step] - 0.3*s.Demand.ExpectedSunKW[step]*s.Bank.InverterEfficiency
		}
		return sum
	}
	for other := range s.Span.Days - 6 {
		if net(other) > net(first)+1e-6 {
			t.Fatalf("the week from day %d wants %.3f, that from day %d %.3f", first, net(first), other, net(other))
		}
	}
}

// With a full charge overdue, a run in the morning leaves the last of it to the sun, a bright day wants
// no run at all, and a dull one a longer one: the best full charge is the one that panels finish.
func TestTheSunFinishesTheCharge(t *testing.T) {
	if testing.Short() {
		t.Skip("chores under many skies: not with -short")
	}
	read := func() *scenarios.Scenario {
		s, err := scenarios.Read("glade", nil)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	own := read()
	date := calendar.NewDate(2026, 4, 20)
	made := map[sun.Said]float64{}
	for _, said := range sun.Saids() {
		s, err := own.On(date, 2, 62)
		if err != nil {
			t.Fatal(err)
		}
		e := evening(s, 7*60, 62)
		e.Date, e.SinceFull, e.Sky = date, 20, said
		got := sheet(t, s, e)
		highest := 0.0
		for _, at := range got.Charge {
			highest = max(highest, at.Pct)
		}
		if highest < 97 {
			t.Errorf("%s: the bank comes to %.1f %%", said, highest)
		}
		for _, r := range got.Runs {
			if made[said] += r.MadeKWh; said == sun.Usual && (r.Stop > 13*60 || got.PctAt(r.Stop) > 95) {
				t.Errorf("a usual sky: the run ends at %d with %.0f %%", r.Stop, got.PctAt(r.Stop))
			}
		}
		if a := got.Sun; !(a.DullKWh < a.TomorrowKWh || said == sun.Dull) || !(a.BrightKWh > a.TomorrowKWh || said == sun.Bright) {
			t.Errorf("%s: %+v", said, a)
		}
		if got.Skip.SkyVaried {
			t.Errorf("%s: the trials' sky varies", said)
		}
	}
	if !(made[sun.Dull] > made[sun.Usual] && made[sun.Usual] > made[sun.Bright]) {
		t.Errorf("the engine makes %v", made)
	}
}

// The book of the sun closes in the year of a household that wires panels both ways: to a milliwatt-hour
// in every step, and its months are the year.
func TestTheBookOfTheSun(t *testing.T) {
	if testing.Short() {
		t.Skip("chores under many skies: not with -short")
	}
	s, err := scenarios.Read("glade", nil)
	if err != nil {
		t.Fatal(err)
	}
	var kWh, unusedKWh, houseKWh float64
	y, err := study.Year(t.Context(), s.Household, s.Rule, func(_ sim.Moment, _ *sim.State, f *sim.Flows) {
		kWh += f.Sun.KW * s.Span.StepH()
		unusedKWh += f.Sun.UnusedKW * s.Span.StepH()
		houseKWh += f.HouseSunKW * s.Span.StepH()
	})
	if err != nil {
		t.Fatal(err)
	}
	sun := y.Summary.Sun
	if math.Abs(sun.GapKWh()) > 1e-6 || y.Summary.Books.WorstSunKWh > 1e-6 {
		t.Errorf("the book misses %g kWh, a step %g", sun.GapKWh(), y.Summary.Books.WorstSunKWh)
	}
	if math.Abs(sun.MadeKWh()-sun.ToHouseKWh()-sun.BankKWh-sun.AllUnusedKWh()) > 1e-6 || math.Abs(kWh+houseKWh-sun.MadeKWh()) > 1e-6 ||
		math.Abs(unusedKWh-sun.UnusedKWh) > 1e-6 {
		t.Errorf("%+v, of the steps %g and %g, unused %g", sun, kWh, houseKWh, unusedKWh)
	}
	months, plain := 0.0, 0.0
	for i := range y.Months {
		months += y.Months[i].Tally.Sun.MadeKWh()
	}
	for _, day := range s.Demand.DaySun {
		plain += day.LevelKWhM2
	}
	if math.Abs(months-sun.MadeKWh()) > 1e-6 || math.Abs(plain-sun.LevelKWhM2) > 1e-6 || !(sun.LevelKWhM2 > 1000 && sun.PlaneKWhM2 > 1000) {
		t.Errorf("months %g kWh, year %g; level %g and %g", months, sun.MadeKWh(), plain, sun.LevelKWhM2)
	}
	least := math.Inf(1)
	for first := range len(y.Books.Days) - 6 {
		week := 0.0
		for i := range 7 {
			week += y.Books.Days[first+i].Sun.MadeKWh()
		}
		least = min(least, week)
	}
	if math.Abs(least-sun.DullWeekKWh) > 1e-6 {
		t.Errorf("the dullest week brings %g, want %g", sun.DullWeekKWh, least)
	}
	if y.Summary.Books.ElectricityKWh > 1e-6 || math.Abs(y.Summary.Books.BankKWh) > 1e-6 {
		t.Errorf("%+v", y.Summary.Books)
	}
}
