package sim_test

import (
	"context"
	"fmt"
	"log"
	"math"
	"time"

	"twigwatt/sim"
	"twigwatt/storage/battery"
	"twigwatt/testdata/worked"
)

// evenings is a chooser: it burns from 17:00 to 20:00, as far as the rules let it.
type evenings struct{ house *sim.House }

func (e evenings) Choose(s *sim.State, at sim.Moment) sim.Command {
	return sim.Command{Run: e.house.MustRun(s, at) || at.OfDay >= 17 && at.OfDay < 20 && e.house.MayRun(s, at)}
}

// Worked: an hour without the set draws 0.4 · 1.25 = 0.5 of the 6 kWh. From 5 kWh, an hour
// that begins with a match: half of it gives power, 1.5 kW at most; 0.4 serve the house,
// 1.1 · 0.8 = 0.88 are stored; 1.5 + 0.5 + 1.5 = 3.5 kg. The state that was given stays.
func ExampleHouse_Step() {
	house := worked.Household().House
	start := house.Start()
	s, f := house.Step(start, house.At(0), 0.4, 0, sim.Command{})
	fmt.Printf("%.1f kW from the bank, stored %.2f, before %.2f\n", f.DischargeKW, s.Bank.StoredKWh(), start.Bank.StoredKWh())
	s.Bank = battery.State{AtHandKWh: 5}
	s, f = house.Step(s, house.At(17), 0.4, 0, sim.Command{Run: true})
	fmt.Printf("made %.1f kW, %.1f to the bank, stored %.2f; burned %.1f kg\n", f.EngineKW, f.ChargeKW, s.Bank.StoredKWh(), f.Burned.DryKg)
	// Output:
	// 0.4 kW from the bank, stored 5.50, before 6.00
	// made 1.5 kW, 1.1 to the bank, stored 5.88; burned 3.5 kg
}

// Worked: the same hour after a light-up that failed begins to give power with its end:
// none in this step, and 2 · 1.5 = 3 kg.
func ExampleCommand() {
	house := worked.Household().House
	_, f := house.Step(house.Start(), house.At(17), 0.4, 0, sim.Command{Run: true, Failed: 1})
	fmt.Printf("ready for %.1f of the hour, burned %.1f kg\n", f.Ready, f.Burned.DryKg)
	// Output:
	// ready for 0.0 of the hour, burned 3.0 kg
}

// Tending: nobody is there at six in the morning, nor longer than an hour a day here.
func ExampleHouse_MayRun() {
	house := worked.Household("tending.max_hours_a_day=1").House
	s := house.Start()
	fmt.Println(house.MayRun(&s, house.At(6)), house.MayRun(&s, house.At(17)))
	s, _ = house.Step(s, house.At(17), 0.4, 0, sim.Command{Run: true})
	fmt.Println(house.MayRun(&s, house.At(18)))
	// Output:
	// false true
	// false
}

// Worked: testdata/worked/README.md. The bank is at its floor from 02:00 to 17:00: 15 h ·
// 0.4 = 6 kWh are missing; made 1.5 + 2.4 + 2.4 = 6.3 kWh with 3.5 + 3.4 + 3.4 = 10.3 kg;
// 5 + 0.88 + 1.6 + 1.6 − 4 · 0.5 = 7.08 kWh are left.
func ExampleRun() {
	s := worked.Household()
	watch := func(at sim.Moment, state *sim.State, f *sim.Flows) {
		if f.Match {
			fmt.Println("match at", s.House.Span.StepTime(at.Step))
		}
	}
	books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, watch)
	if err != nil {
		log.Fatal(err)
	}
	t := books.Total()
	fmt.Printf("made %.1f kWh with %.1f kg, missing %.1f kWh, left %.2f\n", t.EngineKWh, t.BurnedDryKg, t.ShortfallKWh, books.EndKWh)
	// Output:
	// match at 2025-03-03T17:00
	// made 6.3 kWh with 10.3 kg, missing 6.0 kWh, left 7.08
}

// Nothing comes from nowhere. Worked, as in ExampleRun: 6.3 made + 6 h · 0.4 from the bank
// = 9.6 wanted − 6 missing + 1.1 + 2 + 2 to the bank. The bank gained 1.08 kWh.
func ExampleBooks() {
	s := worked.Household()
	books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, nil)
	if err != nil {
		log.Fatal(err)
	}
	t := books.Total()
	fmt.Printf("%.1f + %.1f = %.1f - %.1f + %.1f\n", t.EngineKWh, t.DischargeKWh, t.LoadKWh, t.ShortfallKWh, t.ChargeKWh)
	fmt.Printf("the bank gained %.2f kWh\n", t.BankGainKWh())
	const rounding = 1e-9 // kWh
	fmt.Println(math.Abs(t.ElectricityGapKWh()) < rounding, books.StepGapKWh < rounding)
	// Output:
	// 6.3 + 2.4 = 9.6 - 6.0 + 5.1
	// the bank gained 1.08 kWh
	// true true
}

// Worked, as in ExampleRun: three attended hours of which half a one lights up; at 50 kg
// for each kWh missing 6 · 50 = 300 kg; the bank, from 60 % of 10 kWh down to its floor.
func ExampleSummarize() {
	s := worked.Household("plan.short_kg_per_kwh=50")
	books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, nil)
	if err != nil {
		log.Fatal(err)
	}
	y := sim.Summarize(s.Household, books)
	fmt.Printf("attended %.1f h, engine %.1f h, %d light-up\n", y.Total.AttendedH, y.Total.EngineH, y.Total.LightUps)
	fmt.Printf("%d short day, the worst %s; lowest charge %.0f %%\n", y.Shortage.Days, y.Shortage.WorstDay.Date, y.Bank.LowestPct)
	fmt.Printf("price: wood %.1f kg, shortfall %.0f kg\n", y.Price.WoodKg, y.Price.ShortKg)
	// Output:
	// attended 3.0 h, engine 2.5 h, 1 light-up
	// 1 short day, the worst 2025-03-03; lowest charge 50 %
	// price: wood 10.3 kg, shortfall 300 kg
}

// Worked: of ten days from 27 March five lie in March, and three hours are attended on
// each. The span has no July.
func ExampleSummary_Month() {
	s := worked.Household("start=2025-03-27", "days=10")
	books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, nil)
	if err != nil {
		log.Fatal(err)
	}
	y := sim.Summarize(s.Household, books)
	march, touched := y.Month(time.March)
	fmt.Println(march.Days, "days,", march.Tally.AttendedH, "h", touched)
	_, touched = y.Month(time.July)
	fmt.Println(touched)
	// Output:
	// 5 days, 15 h true
	// false
}

// Worked: the first of nine days alike misses most, for its bank began emptier: the
// darkest seven are from there.
func ExampleBooks_DarkestWeek() {
	s := worked.Household("days=9")
	books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, nil)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("from day", books.DarkestWeek())
	// Output:
	// from day 0
}

// A Record keeps what a chart draws. Worked, as in ExampleRun: a run from the 17th step
// of each day up to the 20th.
func ExampleRecord() {
	s := worked.Household()
	record := sim.NewRecord(s.House)
	if _, err := sim.Run(context.Background(), s.Household, evenings{s.House}, record.Step); err != nil {
		log.Fatal(err)
	}
	fmt.Println(record.Runs[0])
	fmt.Printf("stored %.2f kWh as the run ends\n", record.Stored[19])
	// Output:
	// [{17 20}]
	// stored 9.08 kWh as the run ends
}

// Where the energy went. Worked: all that went in came out, or is stored; 3.6 kWh were
// served; charging lost a fifth of 5.1 kWh, giving a quarter of 2.4 besides.
func ExampleHouse_Flow() {
	s := worked.Household()
	books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, nil)
	if err != nil {
		log.Fatal(err)
	}
	t := books.Total()
	f := s.House.Flow(&t, books.StartKWh, books.EndKWh)
	lost := f.GasifierKWh + f.EngineKWh + f.AlternatorKWh + f.ChargingKWh + f.GivingKWh + f.IdleKWh + f.LeakKWh
	fmt.Printf("served %.2f, charging %.2f, giving %.2f kWh\n", f.ServedKWh, f.ChargingKWh, f.GivingKWh)
	fmt.Println(math.Abs(f.WoodKWh+f.OtherKWh-lost-f.ServedKWh-f.SpillKWh-f.StoredMoreKWh) < 1e-9)
	// Output:
	// served 3.60, charging 1.02, giving 0.60 kWh
	// true
}

// In a year whose wood is wetter the set gives less, and a kWh takes more wood.
// Regression: the factor.
func ExampleHouse_Wetter() {
	usual := worked.Household().House
	wetter := usual.Wetter(0.05)
	dryBasis := usual.Pile.RatedDryBasis
	fmt.Printf("heat %.2f, in the wetter year %.2f\n", usual.HeatFactor(dryBasis), wetter.HeatFactor(dryBasis))
	// Output:
	// heat 1.00, in the wetter year 0.97
}

// What the rules and the bank's air bring is told as data. Regression: the code.
func ExampleHouse_Hazards() {
	for _, w := range worked.Household("battery.ceiling_pct=90").House.Hazards(50) {
		fmt.Println(w.Code)
	}
	// Output:
	// never_full
}
