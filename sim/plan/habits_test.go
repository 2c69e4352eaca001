package plan_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
	"twigwatt/testdata/worked"
)

// lived lives through a household's span by chosen runs with the scenario's foresight.
func lived(t fataler, s *scenarios.Scenario, o plan.Outlook, watch func(sim.Moment, *sim.State, *sim.Flows)) *sim.Summary {
	o.Foresight = s.Rule.Foresight
	p, err := plan.New(context.Background(), s.Household, o)
	if err != nil {
		t.Fatal(err)
	}
	books, err := sim.Run(context.Background(), s.Household, p.Chooser(), watch)
	if err != nil {
		t.Fatal(err)
	}
	return sim.Summarize(s.Household, books)
}

// A match away from the usual hour has its price: the dearer, the nearer the matches come, and
// the books weigh them so.
func TestMatchesComeToTheUsualHour(t *testing.T) {
	off := map[string]float64{}
	for _, kg := range []string{"0", "0.2", "5"} {
		s, err := readSet([]string{"days=60", "step_minutes=60", "plan.foresight=typical", "tending.hours=[\"08:00-21:00\"]", "plan.usual_start=10:00", "plan.off_usual_kg_per_h=" + kg, "battery.kwh=16"})
		if err != nil {
			t.Fatal(err)
		}
		matches, hours := 0, 0.0
		y := lived(t, s, plan.Outlook{}, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			if f.Match {
				matches++
				hours += math.Abs(float64(at.OfDay) - 10)
			}
		})
		off[kg] = hours / float64(matches)
		if math.Abs(hours-y.Total.OffUsualH) > 1e-9 {
			t.Errorf("at %s kg the books have %g hours from the usual one, the steps %g", kg, y.Total.OffUsualH, hours)
		}
	}
	t.Logf("hours from the usual one in the mean, by price: %v", off)
	if !(off["5"] < off["0.2"] && off["0.2"] < off["0"] && off["5"] < 1) {
		t.Errorf("hours from the usual one: %v", off)
	}
	s, err := readSet([]string{"days=3"})
	if err != nil {
		t.Fatal(err)
	}
	if y := lived(t, s, plan.Outlook{}, nil); y.Total.OffUsualH != 0 || s.House.OffUsualKg(3) != 0 {
		t.Error("a household that is used to no hour has no hours from it")
	}
}

// Opening a hot hopper has its price: the dearer, the fewer openings, and the books count them
// as the wood is burned. Without a price, or with an endless hopper, nobody minds.
func TestHotHoppersAreLeftShut(t *testing.T) {
	openings := map[string]int{}
	for _, kg := range []string{"0", "2", "20"} {
		s, err := readSet([]string{"days=40", "step_minutes=60", "plan.foresight=typical", "tending.hours=[\"08:00-21:00\"]", "tending.max_hours_a_day=8", "tending.max_starts_a_day=2",
			"engine.hopper_as_is_kg=9", "plan.refuel_kg=" + kg})
		if err != nil {
			t.Fatal(err)
		}
		burned, opened := 0.0, 0
		y := lived(t, s, plan.Outlook{}, func(_ sim.Moment, _ *sim.State, f *sim.Flows) {
			if f.Match {
				burned = 0
			}
			if f.Run {
				before := int((burned - 1e-9) / 9)
				if burned == 0 {
					before = 0
				}
				burned += f.Burned.AsIsKg
				opened += int((burned-1e-9)/9) - before
			}
		})
		openings[kg] = y.Total.Refuels
		if opened != y.Total.Refuels {
			t.Errorf("at %s kg the books have %d openings, the steps %d", kg, y.Total.Refuels, opened)
		}
	}
	t.Logf("openings by price: %v", openings)
	if !(openings["20"] < openings["2"] && openings["2"] < openings["0"]) {
		t.Errorf("openings: %v", openings)
	}
}

// An old bank on a small charger is charged full over several evenings, which a plan that saw
// one day alone never would, and the plan loses to no fixed run on its own price.
func TestAFullChargeMayTakeSeveralDays(t *testing.T) {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("step_minutes=60"), scenarios.Set("load.daily_swing_pct=0"), scenarios.Set("load.kwh_per_day=4"),
		scenarios.Set("battery.kwh=19"), scenarios.Set("battery.charger_kw=2"), scenarios.Set(`tending.hours=["17:00-22:00"]`), scenarios.Set("tending.max_hours_a_day=5"))
	if err != nil {
		t.Fatal(err)
	}
	y := lived(t, s, plan.Outlook{}, nil)
	if y.Bank.LongestNotFull > 60 { // a plan that sees one day alone: 365
		t.Errorf("%d days without a full charge", y.Bank.LongestNotFull)
	}
	chosen := y.Price.TotalKg() + y.Price.SoftKg
	for start := 17; start < 22; start++ {
		for stop := start + 1; stop <= 22; stop++ {
			books, err := sim.Run(context.Background(), s.Household, &plan.EveryDay{House: s.House, StartStep: start, StopStep: stop}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if fixed := sim.Summarize(s.Household, books).Price; chosen > fixed.TotalKg()+fixed.SoftKg {
				t.Errorf("chosen runs cost %.0f kg, %d:00 to %d:00 every day %.0f", chosen, start, stop, fixed.TotalKg()+fixed.SoftKg)
			}
		}
	}
}

// A bank that expected days cannot fill, but cheap ones can, is filled now and then:
// the plan does not give it up for the mean day.
func TestCheapDaysFillAnOldBank(t *testing.T) {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("step_minutes=60"), scenarios.Set("battery.kwh=19"), scenarios.Set("battery.charger_kw=2"),
		scenarios.Set(`tending.hours=["17:00-22:00"]`), scenarios.Set("tending.max_hours_a_day=5"))
	if err != nil {
		t.Fatal(err)
	}
	if y := lived(t, s, plan.Outlook{}, nil); y.Bank.LongestNotFull >= s.House.Span.Days {
		t.Errorf("never full in %d days", y.Bank.LongestNotFull)
	}
}

// Any pile can be rationed: a price for stretches of the span, none twice, none beyond it.
func TestAnyPileCanBeRationed(t *testing.T) {
	if testing.Short() {
		t.Skip("many lives: not with -short")
	}
	rapid.Check(t, func(t *rapid.T) {
		set := []string{"step_minutes=60", fmt.Sprintf("days=%d", rapid.IntRange(2, 20).Draw(t, "days")), fmt.Sprintf("load.kwh_per_day=%.1f", rapid.Float64Range(2, 8).Draw(t, "load")),
			fmt.Sprintf("woodpile.stack.a.dry_kg=%.0f", rapid.Float64Range(0, 200).Draw(t, "ready")), fmt.Sprintf("plan.short_kg_per_kwh=%d", rapid.SampledFrom([]int{1, 50, 500, 5000}).Draw(t, "short")),
			fmt.Sprintf("woodpile.stack.b.dry_kg=%.0f", rapid.Float64Range(0, 200).Draw(t, "wet")), fmt.Sprintf("woodpile.stack.b.moisture_pct=%.1f", rapid.Float64Range(15, 24).Draw(t, "moisture")),
			"plan.foresight=" + rapid.SampledFrom([]string{"typical", "exact"}).Draw(t, "foresight")}
		s, err := readSet(set)
		if err != nil {
			t.Fatal(err)
		}
		o := plan.Outlook{Foresight: s.Rule.Foresight, Levels: 31, Classes: 1}
		rations, err := plan.FindRations(context.Background(), s.Household, o)
		if err != nil {
			t.Fatal(err)
		}
		next := 0
		for _, r := range rations {
			if r.FirstDay < next || r.LastDay < r.FirstDay || r.LastDay >= len(s.House.Days) || !(r.WoodKg >= 1) || !(r.DearShare >= 0 && r.DearShare <= 1) {
				t.Fatalf("rations %+v of %d days", rations, len(s.House.Days))
			}
			next = r.LastDay + 1
		}
		o.WoodKg = plan.WoodPrices(rations, len(s.House.Days))
		lived(t, s, o, nil)
	})
}

// A plan that begins within a day goes on as the plan of the whole day would.
func TestAPlanMayBeginWithinADay(t *testing.T) {
	set := []string{"days=20", "step_minutes=60", "plan.foresight=typical", "battery.kwh=9"}
	s, err := readSet(set)
	if err != nil {
		t.Fatal(err)
	}
	var whole, rest []bool
	var at12 sim.State
	lived(t, s, plan.Outlook{}, func(at sim.Moment, state *sim.State, f *sim.Flows) {
		if at.Day == 0 {
			whole = append(whole, f.Run)
			if at.OfDay == 11 {
				at12 = *state
			}
		}
	})
	expected := 0.0
	for _, kw := range s.Demand.ExpectedLoadKW[:12] {
		expected += kw
	}
	p, err := plan.New(context.Background(), s.Household, plan.Outlook{Foresight: plan.Typical, Begins: plan.Beginning{State: at12, OfDay: 12, ExpectedKWh: expected}})
	if err != nil {
		t.Fatal(err)
	}
	c, state := p.Chooser(), at12
	want := sim.Want{LoadKW: s.Demand.LoadKW, OtherKW: s.Demand.OtherKW, Factor: 1}
	s.House.LiveDay(&state, sim.Moment{Step: 12, OfDay: 12}, 24, &want, c, func(_ sim.Moment, _ *sim.State, f *sim.Flows) { rest = append(rest, f.Run) })
	if fmt.Sprint(whole[12:]) != fmt.Sprint(rest) {
		t.Errorf("the whole day goes on %v, one begun at noon %v", whole[12:], rest)
	}
}

// Of a plan that begins at noon with no earlier reading the meter has shown nothing yet: a day
// that goes on as expected is not taken for a cheap one.
func TestHoursBeforeAPlanBeginsTellNothing(t *testing.T) {
	s, err := readSet([]string{"days=3", "step_minutes=60", "plan.foresight=typical"})
	if err != nil {
		t.Fatal(err)
	}
	p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Typical, Begins: plan.Beginning{State: s.Start(), OfDay: 12}})
	if err != nil {
		t.Fatal(err)
	}
	c, state, read := p.Chooser(), s.Start(), 0
	want := sim.Want{LoadKW: s.Demand.ExpectedLoadKW, OtherKW: s.Demand.ExpectedOtherKW, Factor: 1}
	s.House.LiveDay(&state, sim.Moment{Step: 12, OfDay: 12}, 24, &want, c, func(at sim.Moment, _ *sim.State, _ *sim.Flows) {
		if read++; math.Abs(plan.Seen(c)) > 0.2 {
			t.Errorf("at step %d of the day: %.2f standard deviations", at.OfDay, plan.Seen(c))
		}
	})
	if read != 12 {
		t.Errorf("%d steps", read)
	}
}

// What a day has taken by noon changes its run; what it takes after the last hour in which
// somebody tends cannot.
func TestOnlyWhatTheMeterShowedCounts(t *testing.T) {
	run := func(from, to int, factor float64) string {
		s, err := readSet([]string{"days=12", "step_minutes=60", "plan.foresight=typical", "load.kwh_per_day=4", "battery.kwh=12", "tending.hours=[\"13:00-20:00\"]"})
		if err != nil {
			t.Fatal(err)
		}
		copy(s.Demand.LoadKW, s.Demand.ExpectedLoadKW)
		for i := from; i < to; i++ {
			s.Demand.LoadKW[i] *= factor
		}
		var runs []bool
		lived(t, s, plan.Outlook{}, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			if at.Day == 0 {
				runs = append(runs, f.Run)
			}
		})
		return fmt.Sprint(runs)
	}
	usual := run(0, 0, 1)
	if run(20, 24, 3) != usual {
		t.Error("the first day's run changes with what it takes after its last tended hour")
	}
	if run(0, 13, 1.6) == usual {
		t.Error("the test cannot fail: a dear morning changes nothing")
	}
}

// A plan too large to make is refused before it is begun.
func TestAPlanTooLargeIsRefused(t *testing.T) {
	s, err := readSet([]string{"days=3660", "step_minutes=10", "plan.foresight=typical", "tending.hours=[\"00:00-24:00\"]", "tending.max_hours_a_day=12", "tending.max_starts_a_day=2"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := plan.New(context.Background(), s.Household, plan.Outlook{Foresight: plan.Typical}); err == nil {
		t.Error("taken")
	} else if _, ok := err.(*plan.TooLargeError); !ok {
		t.Error(err)
	}
}

// Of runs that cost the same the earliest is chosen. Worked: from its floor the bank must give
// 1 kWh by midnight; an hour's run at any time stores 1.2 (1.5 kW at 0.8), and nothing is
// wanted before 22:00.
func TestOfRunsAlikeTheEarliest(t *testing.T) {
	s := worked.Household("plan.by=chosen", "plan.foresight=exact", "battery.start_pct=50", "plan.spare_kg_per_kwh_h=0",
		"load.appliance.all.hours=22:00-24:00", "tending.hours=09:00-17:00")
	record := sim.NewRecord(s.House)
	y := lived(t, s, plan.Outlook{}, record.Step)
	if got := fmt.Sprint(record.Runs[0]); got != "[{9 10}]" || y.Total.ShortfallKWh > 1e-9 {
		t.Errorf("runs %s, want the first hour; %g kWh short", got, y.Total.ShortfallKWh)
	}
}

// A rule's chooser goes on from where the household stands: with what the meter has shown, and
// with wood rationed.
func TestARuleBeginsWithinADay(t *testing.T) {
	s, err := readSet([]string{"days=6", "step_minutes=60", "plan.foresight=typical", "plan.ration=true", "woodpile.stack.a.dry_kg=20"})
	if err != nil {
		t.Fatal(err)
	}
	begins := plan.Beginning{State: s.Start(), OfDay: 12, ExpectedKWh: 2, SinceFull: 3}
	begins.State.WantedKWh = 3
	for _, rule := range []plan.Rule{s.Rule, {By: plan.ByChosen, Foresight: plan.Typical}} {
		c, rations, err := rule.Rationing(t.Context(), s.Household, begins)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, factor := c.(*plan.Chooser).Plan().Known(); !(factor > 1.05) {
			t.Errorf("rationed %t: half as much again was taken, and the day is thought to want %g of the usual", rule.Rationed, factor)
		}
		whole, err := rule.Chooser(t.Context(), s.Household)
		if err != nil {
			t.Fatal(err)
		}
		if mean, variance, factor := whole.(*plan.Chooser).Plan().Known(); mean != 0 || variance != 1 || factor != 1 {
			t.Errorf("rationed %t: nothing was read, and %g ± %g is known, a factor of %g", rule.Rationed, mean, variance, factor)
		}
		if classes := plan.Classes(c.(*plan.Chooser).Plan()); (classes == 1) != rule.Rationed {
			t.Errorf("rationed %t: %d classes of days", rule.Rationed, classes)
		}
		if (len(rations) > 0) != rule.Rationed {
			t.Errorf("rationed %t: %+v", rule.Rationed, rations)
		}
	}
	other := plan.Rule{By: plan.ByTopUp, StartBelow: 0.6, StopAbove: 0.9, Rationed: true}
	if c, rations, err := other.Rationing(t.Context(), s.Household, begins); err != nil || rations != nil {
		t.Errorf("top-up: %T, %+v, %v", c, rations, err)
	}
}

// With known days chores are done in the cheaper of two ways: as the days come, or each in the
// first of its hours.
func TestKnownChoresAreDoneTheCheaperWay(t *testing.T) {
	for _, hours := range []string{"07:00-21:00", "02:00-09:00", "12:00-20:00"} {
		s, err := readSet([]string{"days=8", "step_minutes=60", "load.kwh_per_day=3", "load.chore.wash.kwh=2", "load.chore.wash.kw=1",
			"load.chore.wash.times_per_week=7", "load.chore.wash.hours=" + hours})
		if err != nil {
			t.Fatal(err)
		}
		p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Exact})
		if err != nil {
			t.Fatal(err)
		}
		asTheyCome, inFirstHours := plan.ChoreWays(p)
		chosen := p.Chooser()
		if got, want := plan.CostKg(chosen), min(asTheyCome, inFirstHours); got != want || asTheyCome == inFirstHours {
			t.Errorf("%s: %g kg; as the days come %g, in the first hours %g", hours, got, asTheyCome, inFirstHours)
		}
	}
}

// A dear day makes the next one likely dear, as far as days remember.
func TestADayRemembersTheLast(t *testing.T) {
	for memory, want := range map[string]float64{"0": 0, "0.8": 1} {
		s, err := readSet([]string{"days=3", "step_minutes=60", "plan.foresight=typical", "load.swing_memory=" + memory})
		if err != nil {
			t.Fatal(err)
		}
		p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Typical, Levels: 41})
		if err != nil {
			t.Fatal(err)
		}
		c := p.Chooser()
		dear := s.Wanting(s.Demand.Changed(1.5, nil))
		copy(dear.Demand.LoadKW, s.Demand.ExpectedLoadKW)
		for i := range 24 {
			dear.Demand.LoadKW[i] *= 1.5
		}
		if _, err := sim.Run(t.Context(), dear, c, func(at sim.Moment, _ *sim.State, _ *sim.Flows) {
			if got := plan.Belief(c); at.Step == 24 && (math.Abs(got) < 0.01) != (want == 0) || at.Step == 24 && got < 0 {
				t.Errorf("memory %s: after a dear day the next is thought to deviate by %g", memory, got)
			}
		}); err != nil {
			t.Fatal(err)
		}
	}
}

// Light-ups that fail cost their wood beforehand: the plan expects about as much more as they
// burn.
func TestFailingLightUpsAreExpected(t *testing.T) {
	planned := map[string]float64{}
	for _, fail := range []string{"0", "50"} {
		s, err := readSet([]string{"days=10", "step_minutes=60", "plan.foresight=typical", "engine.light_up_kg=1.5", "luck.fail_to_light_pct=" + fail})
		if err != nil {
			t.Fatal(err)
		}
		p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Typical, Levels: 41})
		if err != nil {
			t.Fatal(err)
		}
		planned[fail] = p.PlannedKg()
	}
	// at half that fail a match wants twice 1.5 kg: 1.5 kg more for each of ten days' matches, at most
	if more := planned["50"] - planned["0"]; !(more > 5 && more <= 15+1e-9) {
		t.Errorf("with failing light-ups the plan expects %g kg more", more)
	}
}

// Wood that is dear on a day is burned on the days around it.
func TestWoodIsBurnedWhereItIsCheap(t *testing.T) {
	burned := func(woodKg []float64) (onTheThird float64) {
		s, err := readSet([]string{"days=4", "step_minutes=60", "battery.kwh=20"})
		if err != nil {
			t.Fatal(err)
		}
		lived(t, s, plan.Outlook{WoodKg: woodKg}, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			if at.Day == 2 {
				onTheThird += f.Burned.DryKg
			}
		})
		return onTheThird
	}
	if usual, dear := burned(nil), burned([]float64{1, 1, 6, 1}); !(dear < 0.2*usual) {
		t.Errorf("%g kg are burned on the third day, %g where its wood is dear", usual, dear)
	}
}

// A follower keeps the rules of its own house: where its wood is too wet it runs on no day,
// though its leader does.
func TestAFollowerLivesInItsOwnHouse(t *testing.T) {
	s, err := readSet([]string{"days=3", "step_minutes=60", "woodpile.stack.a.dry_kg=500", "woodpile.stack.a.moisture_pct=19"})
	if err != nil {
		t.Fatal(err)
	}
	p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Exact, Levels: 41})
	if err != nil {
		t.Fatal(err)
	}
	wet := s.Household.With(func(spec *sim.Spec) { spec.Pile.MostDryBasis = woodpile.DryBasis(0.15) }).House
	leader := p.Chooser()
	follower := leader.Follower(wet)
	led, state, leaderRan := s.Start(), wet.Start(), false
	for step := range s.Span.Steps() {
		at := s.At(step)
		var f sim.Flows
		led, f = s.Step(led, at, s.Demand.LoadKW[step], 0, leader.Choose(&led, at))
		leaderRan = leaderRan || f.Run
		if state, f = wet.Step(state, at, s.Demand.LoadKW[step], 0, follower.Choose(&state, at)); f.Run {
			t.Fatalf("it ran at %s on wood that is too wet", s.Span.StepTime(step))
		}
	}
	if !leaderRan {
		t.Error("the test cannot fail: the leader never ran")
	}
}
