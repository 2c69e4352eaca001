package study

import (
	"context"
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// A Remedy is something to do against what a span shows.
type Remedy int

// The remedies.
const (
	NoRemedy      Remedy = iota
	ReadyWood            // get more of it: it runs out
	RationedWood         // get more of it: it is rationed until then
	FrostFreeBank        // keep the bank from freezing
	WarmLithium          // keep a lithium bank above 0 °C
	RoomForRuns          // no run fits the rules of tending
	RestInverter         // it idles for much of what is wanted
	CoolerBank           // heat ages it
	CutLess              // wood: more is cut than burned, and much is left
	AgainstDark          // what Cures name
	UseLess              // nothing else that was tried helps against the dark

	// what fills a bank that is seldom full
	LongerRunToFill // once a fortnight
	MoreHoursToFill // a day, once a fortnight
	ChargerToFill   // a bigger one
	SmallerBankToFill
	UseLessToFill // nothing else that was tried fills it
	RaiseCeiling  // it never counts as full under 97 %

	// what is tried against the dark
	LargerInverter // or want less at once: most is missed while it gives all it can
	WarmerBank     // the cold keeps much of it out of use
	StartTopUpSooner
	LongerSameHours
	SameHoursInTending // they lie outside of tending.hours
	ChosenRuns
	AllowMoreHours // a day
	SecondStart    // a day
	LongerTending  // tending.hours
	LongerTendingAndHours
	DearerDarkness // longer runs were not worth it
	DrierWood
	LargerCharger
	LargerBank
	LargerSet
)

// besideHours is what helps where the inverter or the cold is what makes dark.
func besideHours(s *sim.Summary) Remedy {
	const mostly, muchCold = 0.5, 10.0 // a share, and percent of the bank; judgements, no source
	switch {
	case s.Shortage.WorstDay == nil:
		return NoRemedy
	case s.Shortage.OverInverterShare >= mostly:
		return LargerInverter
	case s.Shortage.ColdPct >= muchCold:
		return WarmerBank
	}
	return NoRemedy
}

// advise says what the household needs to do. The errors are those of plan.New.
func (y *YearAnswer) advise(ctx context.Context) error {
	const fewDays = 20 // a judgement, no source
	y.Then = y.Shortage.Days <= fewDays
	y.Todo = y.shown()
	if seldomFull(y.Household, &y.Bank) {
		fill, err := toFill(ctx, y.Household)
		if err != nil {
			return err
		}
		y.Todo = append(y.Todo, fill)
	}
	if y.Shortage.Days == 0 {
		return nil
	}
	cures, dark, err := y.cures(ctx)
	switch y.Cures = cures; {
	case len(cures) > 0:
		y.Todo = append(y.Todo, AgainstDark)
	case dark || len(y.Todo) == 0:
		y.Todo = append(y.Todo, UseLess)
	}
	return err
}

// shown are the remedies against what the span itself shows, but for the dark.
func (y *YearAnswer) shown() (todo []Remedy) {
	if y.Wood.NoWood != nil {
		todo = append(todo, ReadyWood)
	}
	if r := y.Ration; r != nil && len(r.Stretches) > 0 {
		todo = append(todo, RationedWood)
	}
	against := map[string]Remedy{"freezing": FrostFreeBank, "lithium_frost": WarmLithium, "no_run_fits": RoomForRuns,
		"idle_inverter": RestInverter, "hot_bank": CoolerBank}
	for _, warning := range y.Warnings {
		if remedy, ok := against[warning.Code]; ok {
			todo = append(todo, remedy)
		}
	}
	if m := &y.Total; !y.Wood.Endless && m.Moved.CutDryKg > muchCut*m.BurnedDryKg && y.Wood.PileEnd.DryKg > muchLeft*m.BurnedDryKg {
		todo = append(todo, CutLess)
	}
	return todo
}

// What more is cut than burned, and what is left at the end, of what is burned in the span, for a
// household to be told to cut less. Judgements, no source.
const muchCut, muchLeft = 1.25, 1.5

// hazards are the warnings that only a span could show and that are not known yet,
// each kind once: of what cold does to a bank, and of wood that runs out.
func hazards(all, known []sim.Warning) []sim.Warning {
	var more []sim.Warning
	for _, w := range all {
		same := func(k sim.Warning) bool { return k.Code == w.Code }
		if slices.Contains([]string{"freezing", "lithium_frost", "cold_beyond_table", "never_full", "no_ready_wood", "tar"}, w.Code) &&
			!slices.ContainsFunc(known, same) && !slices.ContainsFunc(more, same) {
			more = append(more, w)
		}
	}
	return more
}

// notRationed warns that a study does not make a short pile last.
func notRationed(rule plan.Rule) []sim.Warning {
	if !rule.Rationed {
		return nil
	}
	return []sim.Warning{{Code: "not_rationed",
		Text: "plan.ration is left out here: wood is burned as it is wanted, until there is none"}}
}
