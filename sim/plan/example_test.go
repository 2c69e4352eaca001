package plan_test

import (
	"context"
	"fmt"
	"log"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/testdata/worked"
)

// runs lives through the span by a chooser and tells each day's runs in steps.
func runs(s *scenarios.Scenario, c sim.Chooser) ([][]sim.Interval, sim.Tally) {
	record := sim.NewRecord(s.House)
	books, err := sim.Run(context.Background(), s.Household, c, record.Step)
	if err != nil {
		log.Fatal(err)
	}
	return record.Runs, books.Total()
}

// Regression: the names.
func ExampleNames() {
	fmt.Println(plan.Names())
	// Output:
	// [chosen same-hours top-up]
}

// Worked: testdata/worked/README.md: 10.3 kg on the first day; on the second the bank
// begins fuller, and still has room for all: 10.3 kg again.
func ExampleEveryDay() {
	s := worked.Household("days=2")
	days, total := runs(s, &plan.EveryDay{House: s.House, StartStep: 17, StopStep: 20})
	fmt.Println(days)
	fmt.Printf("%.1f kg\n", total.BurnedDryKg)
	// Output:
	// [[{17 20}] [{17 20}]]
	// 20.6 kg
}

// A start that nobody tends waits until somebody does. Worked: hours from 18:00 leave
// two.
func ExampleEveryDay_tended() {
	s := worked.Household(`tending.hours=["18:00-21:00"]`)
	days, _ := runs(s, &plan.EveryDay{House: s.House, StartStep: 17, StopStep: 20})
	fmt.Println(days)
	// Output:
	// [[{18 20}]]
}

// Worked: from 02:00 on 50 % is left; the first tended hour is 07:00. It stores 0.88
// kWh, the next 1.6: 74.8 %, which is above 70.
func ExampleWhenLow() {
	s := worked.Household()
	days, _ := runs(s, &plan.WhenLow{House: s.House, StartBelow: 0.55, StopAbove: 0.70})
	fmt.Println(days[0][:1])
	// Output:
	// [{7 9}]
}

// Chosen runs weigh prices ahead, here 50 kg of wood for each kWh missing. Worked: the
// kWh above the floor lasts two hours, the longest run six, and a full bank ten hours
// more: six hours of 0.4 kW are missing, and no plan of one run a day can do better.
func ExampleNew() {
	s := worked.Household("tending.max_hours_a_day=6", "plan.short_kg_per_kwh=50")
	p, err := plan.New(context.Background(), s.Household, plan.Outlook{Foresight: plan.Typical})
	if err != nil {
		log.Fatal(err)
	}
	days, total := runs(s, p.Chooser())
	fmt.Printf("%d run, missing %.1f kWh\n", len(days[0]), total.ShortfallKWh)
	_, total = runs(s, &plan.EveryDay{House: s.House, StartStep: 17, StopStep: 20})
	fmt.Printf("same hours: missing %.1f kWh\n", total.ShortfallKWh)
	// Output:
	// 1 run, missing 2.4 kWh
	// same hours: missing 6.0 kWh
}

// A follower meets another year by the days of its leader, which is
// asked for each step first. A house that is the planned one burns the same; of wetter
// wood it burns more.
func ExampleChooser_Follower() {
	s := worked.Household("days=2", "tending.max_hours_a_day=6")
	for _, wetter := range []float64{0, 0.05} {
		p, err := plan.New(context.Background(), s.Household, plan.Outlook{Foresight: plan.Typical})
		if err != nil {
			log.Fatal(err)
		}
		house := s.House.Wetter(wetter)
		leader := p.Chooser()
		follower := leader.Follower(house)
		ledState, state := s.House.Start(), house.Start()
		ledKg, kg := 0.0, 0.0
		for step := range s.House.Span.Steps() {
			at := s.House.At(step)
			var f sim.Flows
			ledState, f = s.House.Step(ledState, at, s.Demand.LoadKW[step], 0, leader.Choose(&ledState, at))
			ledKg += f.Burned.DryKg
			state, f = house.Step(state, at, s.Demand.LoadKW[step], 0, follower.Choose(&state, at))
			kg += f.Burned.DryKg
		}
		fmt.Printf("%.0f points wetter: the same %t, more %t\n", 100*wetter, kg == ledKg, kg > ledKg)
	}
	// Output:
	// 0 points wetter: the same true, more false
	// 5 points wetter: the same false, more true
}

// Rations make a short pile last: a price of wood for a stretch of days. Regression: the
// stretch; its price is found by halving, and only known to lie above 1.
func ExampleFindRations() {
	s := worked.Household("days=6", "tending.max_hours_a_day=6", "woodpile.stack.shed.dry_kg=55", "woodpile.stack.shed.moisture_pct=15")
	outlook := plan.Outlook{Foresight: plan.Typical, Levels: 41} // a coarse grid, quickly searched
	rations, err := plan.FindRations(context.Background(), s.Household, outlook)
	if err != nil {
		log.Fatal(err)
	}
	for _, r := range rations {
		fmt.Println("days", r.FirstDay, "to", r.LastDay, "lasts:", r.Lasts, "dearer:", r.WoodKg > 1)
	}
	// Output:
	// days 0 to 5 lasts: true dearer: true
}

// Worked: wood is weighed at 3 kg on two days of four; a DearShare of 1 mixes nothing in. With
// a share of a third every third day is dear, the others are eased: evenly spread, the first
// of them eased.
func ExampleWoodPrices() {
	fmt.Println(plan.WoodPrices([]plan.Ration{{FirstDay: 1, LastDay: 2, WoodKg: 3, EasedKg: 2, DearShare: 1}}, 4))
	fmt.Println(plan.WoodPrices([]plan.Ration{{FirstDay: 1, LastDay: 6, WoodKg: 3, EasedKg: 2, DearShare: 0.334}}, 8))
	// Output:
	// [1 3 3 1]
	// [1 2 2 3 2 2 3 1]
}

// Worked: an hour and a half is three half-hours, a little more is four.
func ExampleStepsUp() {
	fmt.Println(plan.StepsUp(1.5, 0.5), plan.StepsUp(1.6, 0.5))
	// Output:
	// 3 4
}
