package study

import (
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// A Remedy is something to do against what a span shows.
type Remedy int

// The remedies.
const (
	NoRemedy       Remedy = iota
	ReadyWood             // get more of it: it runs out
	RationedWood          // get more of it: it is rationed until then
	FrostFreeBank         // keep the bank from freezing
	WarmLithium           // keep a lithium bank above 0 °C
	RoomForRuns           // no run fits the rules of tending
	LargerInverter        // or want less at once: most is missed while it gives all it can
	WarmerBank            // the cold keeps much of it out of use
	StartTopUpSooner
	LongerSameHours
	TendBarredDays // let somebody look after a run
	AllowMoreHours // a day
	DearerDarkness // longer runs were not worth it
	LargerBank
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

// advise says what the household needs to do.
func (y *YearAnswer) advise() {
	if y.Wood.NoWood != nil {
		y.Todo = append(y.Todo, ReadyWood)
	}
	if r := y.Ration; r != nil && len(r.Stretches) > 0 {
		y.Todo = append(y.Todo, RationedWood)
	}
	against := map[string]Remedy{"freezing": FrostFreeBank, "lithium_frost": WarmLithium, "no_run_fits": RoomForRuns}
	for _, warning := range y.Warnings {
		if remedy, ok := against[warning.Code]; ok {
			y.Todo = append(y.Todo, remedy)
		}
	}
	if y.Shortage.Days > 0 && len(y.Todo) == 0 {
		y.Todo = append(y.Todo, y.againstDark())
	}
	const fewDays = 20 // a judgement, no source
	y.Then = y.Shortage.Days <= fewDays
}

// againstDark is what to do against short days that neither wood nor frost explains.
func (y *YearAnswer) againstDark() Remedy {
	worst, beside := y.Shortage.WorstDay, besideHours(y.Summary)
	switch {
	case beside != NoRemedy:
		return beside
	case y.Rule.By == plan.ByTopUp:
		return StartTopUpSooner
	case y.Rule.By == plan.BySameHours:
		return LongerSameHours
	case !worst.Tendable:
		return TendBarredDays
	case worst.AttendedH >= y.MaxHoursADay:
		return AllowMoreHours
	}
	return DearerDarkness
}

// hazards are the warnings that only a span could show and that are not known yet,
// each kind once: of what cold does to a bank, and of wood that runs out.
func hazards(all, known []sim.Warning) []sim.Warning {
	var more []sim.Warning
	for _, w := range all {
		same := func(k sim.Warning) bool { return k.Code == w.Code }
		if slices.Contains([]string{"freezing", "lithium_frost", "cold_beyond_table", "never_full", "no_ready_wood"}, w.Code) &&
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
