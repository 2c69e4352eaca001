package woodpile_test

import (
	"fmt"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/storage/woodpile"
)

// Worked: the 10 kg at 0.1 burn first, then 5 of the 50 kg at 0.2: 10 · 1.1 + 5 · 1.2 =
// 17 kg as it lay; 15/550/0.64 = 0.0426 stacked m³ (published: white ash weighs 550 kg/m³,
// SOURCES.md, species.csv). Wet wood and logs are not ready.
func ExamplePile_Burn() {
	ash, _ := woodpile.SpeciesOf("ash")
	pile := woodpile.Pile{MostDryBasis: 0.25, SolidPerStacked: 0.64, Stacks: []woodpile.Stack{
		{Name: "wet", Species: ash, Piece: woodpile.Chunk, DryKg: 50, DryBasis: 0.3},
		{Name: "fair", Species: ash, Piece: woodpile.Split, DryKg: 50, DryBasis: 0.2},
		{Name: "dry", Species: ash, Piece: woodpile.Chunk, DryKg: 10, DryBasis: 0.1},
		{Name: "logs", Species: ash, Piece: woodpile.Log, DryKg: 70, DryBasis: 0.05},
	}}
	s := pile.Start()
	fmt.Printf("ready %.0f of %.0f kg\n", pile.ReadyKg(&s), pile.TotalKg(&s))
	b := pile.Burn(&s, 15)
	fmt.Printf("burned %.0f kg as it lay, %.4f stacked m³; left %.0f and %.0f\n", b.AsIsKg, b.StackedM3, s.DryKg[1], s.DryKg[2])
	name, dryKg, dryBasis := pile.NearlyReady(&s)
	fmt.Printf("nearly ready: %s, %.0f kg at %.1f; dry logs: %.0f kg\n", name, dryKg, dryBasis, pile.DryLogsKg(&s))
	// Output:
	// ready 60 of 180 kg
	// burned 17 kg as it lay, 0.0426 stacked m³; left 45 and 0
	// nearly ready: wet, 50 kg at 0.3; dry logs: 70 kg
}

// Worked: in 20 °C and 50 % wood goes to 0.0927 (published, FPL-RN-0268); the deficit is
// 2.338/2 = 1.169 kPa, so chunks keep exp(−0.24 · 1.169/0.8) = 0.7042 of the distance in
// a week: 0.0927 + 0.2073 · 0.7042 = 0.2387. 100 kg lost 6.13 kg of water, and are ready.
func ExamplePile_Night() {
	ash, _ := woodpile.SpeciesOf("ash")
	pile := woodpile.Pile{MostDryBasis: 0.25, Stacks: []woodpile.Stack{
		{Name: "shed", Species: ash, Piece: woodpile.Chunk, Cover: woodpile.Roof, DryKg: 100, DryBasis: 0.30}}}
	s := pile.Start()
	fmt.Printf("%.0f kg ready\n", pile.ReadyKg(&s))
	air := woodpile.DryingIn(20, 50)
	var week woodpile.Moved
	for range 7 {
		week.Add(pile.Night(&s, air))
	}
	fmt.Printf("%.4f, %.2f kg of water gone, %.0f kg ready\n", s.DryBasis[0], week.DriedWaterKg, pile.ReadyKg(&s))
	// Output:
	// 0 kg ready
	// 0.2387, 6.13 kg of water gone, 100 kg ready
}

// Worked: 30 kg at 0.6 onto 10 kg at 0.2 are 40 kg at (18 + 2)/40 = 0.5.
func ExamplePile_Lay() {
	pile := woodpile.Pile{Stacks: []woodpile.Stack{{Name: "hedge", Piece: woodpile.Split, DryKg: 10, DryBasis: 0.2}},
		Cuts: []woodpile.Cut{{Day: 3, Stack: 0, DryKg: 30, DryBasis: 0.6}}}
	s := pile.Start()
	m := pile.Lay(&s, 3)
	fmt.Printf("%.0f kg at %.2f; came with %.0f kg of water\n", s.DryKg[0], s.DryBasis[0], m.CutWaterKg)
	// Output:
	// 40 kg at 0.50; came with 18 kg of water
}

// Worked: the rack holds 20 kg as it lies, 16 kg oven-dry at 0.25. 10 kg burned give
// 10 · 18.5 − 2.443 · 2.5 = 178.89 MJ; 2 % of that evaporates 3.578/2.443 = 1.465 kg, and
// leaves the rack at 0.25 − 1.465/16 = 0.1585. What dries there is not burned; in the evening it
// is what comes next. Air at 100 % dries nothing more.
func ExampleRack() {
	ash, _ := woodpile.SpeciesOf("ash")
	pile := woodpile.Pile{MostDryBasis: 0.25, DryMJKg: 18.5, SolidPerStacked: 0.64,
		Stacks: []woodpile.Stack{{Name: "shed", Species: ash, Piece: woodpile.Chunk, DryKg: 100, DryBasis: 0.25},
			{Piece: woodpile.Chunk}, {Piece: woodpile.Chunk}},
		Rack: &woodpile.Rack{AsIsKg: 20, HeatShare: 0.02, Dries: 1, Dried: 2}}
	s := pile.Start()
	b := pile.Burn(&s, 10)
	fmt.Printf("on the rack %.0f kg at %.4f, %.3f kg of water gone\n", s.DryKg[1], s.DryBasis[1], b.RackWaterKg)
	fmt.Printf("next %.4f", pile.NextDryBasis(&s))
	pile.Night(&s, woodpile.DryingIn(20, 100))
	fmt.Printf(", in the evening %.4f\n", pile.NextDryBasis(&s))
	// Output:
	// on the rack 16 kg at 0.1585, 1.465 kg of water gone
	// next 0.2500, in the evening 0.1585
}

// Endless wood is for a household that describes no pile. Worked: at 0.15/0.85 = 0.176
// of water 17 kg are 20 as it lies.
func ExamplePile_endless() {
	alder, _ := woodpile.SpeciesOf("alder")
	pile := woodpile.Pile{Endless: true, Species: alder, RatedDryBasis: 0.15 / 0.85, SolidPerStacked: 0.64}
	s := pile.Start()
	fmt.Printf("%.1f kg as it lies; ready %g\n", pile.Burn(&s, 17).AsIsKg, pile.ReadyKg(&s))
	// Output:
	// 20.0 kg as it lies; ready +Inf
}

// Published: FPL-RN-0268: 9.271141 % dry basis in 20 °C and 50 %.
func ExampleEquilibriumDryBasis() {
	fmt.Printf("%.2f %% dry basis\n", 100*woodpile.EquilibriumDryBasis(20, 50))
	// Output:
	// 9.27 % dry basis
}

// Worked: half-way between the air's 80 % and rain's 100.
func ExampleOpenHumidityPct() {
	fmt.Printf("%.0f %%\n", woodpile.OpenHumidityPct(80))
	// Output:
	// 90 %
}

// Worked: saturation at 20 °C is 2.338 kPa (published: FAO-56, Table 2.3); half of it is
// missing at 50 %.
func ExampleDeficitKPa() {
	fmt.Printf("%.3f kPa\n", woodpile.DeficitKPa(20, 50))
	// Output:
	// 1.169 kPa
}

// Worked, in air of 20 °C and 50 % all along: to 0.0927, at 0.24 · 1.169/0.8/7 = 0.0501 a day:
// ln(0.2073/0.1573)/0.0501 = 5.5 days from 0.30 to 0.25. In fog at 99 % chunks never come so far.
func ExampleDryFrom() {
	from := calendar.NewDate(2025, time.June, 1)
	dry := func(calendar.Date) (airC, humidityPct float64) { return 20, 50 }
	if ready := woodpile.DryFrom(dry, 0.30, 0.25, from, woodpile.Chunk, woodpile.Roof); ready != nil {
		fmt.Println(*ready)
	}
	fog := func(calendar.Date) (airC, humidityPct float64) { return 5, 99 }
	fmt.Println(woodpile.DryFrom(fog, 0.30, 0.25, from, woodpile.Chunk, woodpile.Roof) == nil)
	// Output:
	// 2025-06-07
	// true
}

// Worked: a day of the week in ExamplePile_Night keeps 0.7042^(1/7) = 0.9511 of the
// distance to 0.0927: 0.0927 + 0.2073 · 0.9511 = 0.2899.
func ExampleDrying_After() {
	fmt.Printf("%.4f\n", woodpile.DryingIn(20, 50).After(0.30, woodpile.Chunk, woodpile.Roof))
	// Output:
	// 0.2899
}

// Published: FIA reference table (SOURCES.md, species.csv): white ash 0.55, green 45.691 %,
// bark 0.5, 89.1 %, 16 % of the wood. Worked: (0.55 · 1.45691 + 0.08 · 1.891)/0.63 = 1.512
// kg as felled for each oven-dry kg.
func ExampleSpeciesOf() {
	ash, ok := woodpile.SpeciesOf("ash")
	fmt.Println(ok, ash.CommonName, ash.Gravity)
	fmt.Printf("%.3f kg as felled\n", 1+ash.GreenWithBarkDryBasis())
	_, ok = woodpile.SpeciesOf("driftwood")
	fmt.Println(ok, len(woodpile.SpeciesKeys()))
	// Output:
	// true white ash 0.55
	// 1.512 kg as felled
	// false 30
}

// Worked: 4 cords · 3.6246 m³ (published, SOURCES.md, row stacking) · 0.64 solid in stacked
// (the same row, of spruce) · 370 kg/m³ (species.csv, alder) = 3433 kg, and back: 9.28 m³.
func ExampleDryKg() {
	alder, _ := woodpile.SpeciesOf("alder")
	dryKg := woodpile.DryKg(4*woodpile.CordM3*0.64, &alder)
	fmt.Printf("%.0f kg oven-dry, %.2f solid m³\n", dryKg, woodpile.SolidM3(dryKg, &alder))
	// Output:
	// 3433 kg oven-dry, 9.28 solid m³
}

// Worked: 365 days of a yearly 2 % leave 0.98.
func ExampleLossPerDay() {
	left := 1.0
	for range 365 {
		left *= 1 - woodpile.LossPerDay(0.02)
	}
	fmt.Printf("%.2f\n", left)
	// Output:
	// 0.98
}
