package scenarios

import (
	"fmt"
	"strings"
	"time"

	"twigwatt/loads"
	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/plan"
)

// warn adds what is strange about a scenario that can run.
func (s *Scenario) warn(l *list) {
	if s.wants.KWhPerYear > 0 || s.wants.KWhPerDay > 0 {
		s.Warnings.Add("inverter_not_judged", "the published household is a mean of many homes: "+
			"one house has higher peaks, so this load cannot judge the inverter")
	}
	s.warnOfDates(l)
	s.warnOfSums()
	if kw, names := s.wants.Coincidence(s.House.Span); kw > s.Bank.InverterKW {
		text := strings.Join(names, ", ") + " may run at the same time: "
		if len(names) == 1 {
			text = names[0] + " alone wants "
		}
		s.Warnings.Add("inverter_small", "%s%.1f kW, more than the inverter's %s kW", text, kw, trim(s.Bank.InverterKW))
	}
	const lowPct = 60
	if l.chargePct > 0 && len(l.chargeCurve) == 0 && l.chargePct < lowPct {
		s.Warnings.Add("charge_efficiency_low", "a constant charging efficiency of %s %% is low: "+
			"it should hold over the whole charge, not its end alone", trim(l.chargePct))
	}
	if usual := s.Prices.UsualMinute; usual >= 0 && (usual >= calendar.MinutesADay || s.TendedAhead(usual/s.Span.StepMinutes) == 0) {
		s.Warnings.Add("usual_start_untended", "plan.usual_start (%s) is not in tending.hours: "+
			"every match is away from it", calendar.Clock(usual))
	} else if usual < 0 && l.given("plan.off_usual_kg_per_h") {
		s.Warnings.Add("no_usual_start", "plan.off_usual_kg_per_h weighs nothing without plan.usual_start")
	}
	if l.given("engine.displacement_cc") && l.given("engine.rpm") {
		s.warnOfRating(l.x("engine.displacement_cc"), l.x("engine.rpm"))
	}
	for _, f := range []struct {
		file string
		use  loads.Use
	}{{l.loadFile, s.Demand.FileUse}, {l.otherFile, s.Demand.OtherUse}} {
		if f.use == loads.WeekRepeated {
			s.Warnings.Add("weeks_repeated", "%s holds whole weeks: they are repeated by weekday all through the "+
				"span, summer and winter alike", f.file)
		}
	}
	if file := s.wants.File; file != nil && file.AsTheyCome() {
		s.Warnings.Add("days_as_they_come", "%s holds a week or less: its days cannot be told from its habits, and are "+
			"expected as they come; plans know them beforehand", l.loadFile)
	}
	for _, stack := range l.stacks {
		if !l.given("woodpile.stack." + stack.name + ".moisture_pct") {
			s.Warnings.Add("moisture_assumed", "the moisture of the stack %s was not given: "+
				"taken as %s %%", stack.name, trim(stack.moisturePct))
		}
	}
	const fewDegrees, temperate = 3, 20.0 // a climate without seasons says nothing
	january, july := s.Air.MeanC[time.January-1], s.Air.MeanC[time.July-1]
	disagree := func(coldest, half string) {
		s.Warnings.Add("seasons_disagree", "the air is coldest in %s, but latitude %s is in the %s: "+
			"give place.latitude and the air of one place",
			coldest, trim(s.LatitudeDeg), half)
	}
	switch {
	case s.LatitudeDeg > temperate && january > july+fewDegrees:
		disagree("July", "north")
	case s.LatitudeDeg < -temperate && july > january+fewDegrees:
		disagree("January", "south")
	}
	if s.Rule.By == plan.ByTopUp && s.Rule.StopAbove >= s.Bank.CeilingShare {
		s.Warnings.Add("stops_at_ceiling", "plan.stop_above_pct (%s) is not under battery.ceiling_pct (%s): "+
			"runs stop at the ceiling", trim(100*s.Rule.StopAbove), trim(100*s.Bank.CeilingShare))
	}
	if s.Rule.By == plan.BySameHours {
		s.warnOfSameHours(l.sameHours)
	}
}

func (s *Scenario) warnOfRating(cc, rpm float64) {
	chain := genset.StandardChain(cc, rpm).Result().ElectricKW
	if alternatorKW := s.House.Set.AlternatorKW; alternatorKW > 0 && alternatorKW < chain {
		return // the engine could give more than its alternator
	}
	share := s.House.Set.KW / chain
	text := ""
	switch {
	case share > genset.MostPlausibleShare:
		text = "more than such an engine gives on wood gas"
	case share < genset.LeastPlausibleShare:
		text = "less than half of what such an engine gives on wood gas"
	default:
		return
	}
	s.Warnings.Add("engine_implausible", "engine.kw (%s) is %s: an engine of %s cm³ at %s a minute makes about %.1f kW (FAO 72)",
		trim(s.House.Set.KW), text, trim(cc), trim(rpm), chain)
}

// outsideSpan is the code of a warning of dates that the span does not hold.
const outsideSpan = "outside_span"

// warnOfDates says which dates of a list do nothing, for the span does not hold them.
func (s *Scenario) warnOfDates(l *list) {
	for _, of := range []struct {
		key    string
		ranges []calendar.DateRange
	}{{"load.away", s.wants.Away}, {"tending.no_runs", s.Tending.NoRuns}, {"tending.breakdown", s.Tending.Breakdown}} {
		for _, r := range of.ranges {
			if r.Last >= s.Span.Start && r.First < s.Span.End() {
				continue
			}
			at := of.key
			if line := l.byKey[of.key].Line; line > 0 {
				at = fmt.Sprintf("line %d, %s", line, of.key)
			}
			dates := r.First.String()
			if r.Last != r.First {
				dates += " to " + r.Last.String()
			}
			s.Warnings.Add(outsideSpan, "%s: %s lies outside the span, %s to %s, and does nothing", at, dates,
				s.Span.Start, s.Span.End()-1)
		}
	}
	for _, cut := range l.cuts {
		if len(cut.cutDays(s.Span)) == 0 {
			s.Warnings.Add(outsideSpan, "woodpile.cut.%s: its day lies outside the span, %s to %s: nothing is cut",
				cut.name, s.Span.Start, s.Span.End()-1)
		}
	}
}

// warnOfSums says what a whole house's load and single appliances add up to.
func (s *Scenario) warnOfSums() {
	var whole []string
	wholeKWh, appliancesKWh, appliances := 0.0, 0.0, 0
	for _, part := range s.Loads {
		switch part.Source {
		case loads.FromProfile, loads.FromFile:
			whole, wholeKWh = append(whole, part.Name), wholeKWh+part.KWhPerDay
		case loads.FromAppliance:
			appliances, appliancesKWh = appliances+1, appliancesKWh+part.KWhPerDay
		}
	}
	if len(whole) == 0 || len(whole) == 1 && appliances == 0 {
		return
	}
	s.Warnings.Add("load_adds_up", "%s (%.1f kWh a day) and the appliances (%.1f) add up to %.1f kWh a day: "+
		"where one holds the other already, leave it out", strings.Join(whole, " and "), wholeKWh, appliancesKWh,
		wholeKWh+appliancesKWh)
}

// warnOfSameHours tells where the rules or the steps change the wanted hours.
func (s *Scenario) warnOfSameHours(wantedH float64) {
	stepH := s.House.Span.StepH()
	steps := float64(s.Rule.Steps) * stepH
	if steps > wantedH+1e-9 {
		s.Warnings.Add("same_hours_rounded", "same_hours (%s h) was rounded up to whole steps: %s h", trim(wantedH), trim(steps))
	}
	legal, stop := 0, min(s.Rule.StartStep+s.Rule.Steps, s.House.Span.StepsADay())
	for step := s.Rule.StartStep; step < stop; step++ { // one run, from the first step at which it may begin
		if s.House.TendedAhead(step) >= s.House.MinSteps() && stop-step >= s.House.MinSteps() {
			legal = min(s.House.TendedAhead(step), stop-step, s.House.MaxSteps())
			break
		}
	}
	if legal < s.Rule.Steps {
		s.Warnings.Add("same_hours_cut", "of the %s h from %s the tending rules leave %s h", trim(steps),
			calendar.Clock(s.Rule.StartStep*s.House.Span.StepMinutes), trim(float64(legal)*stepH))
	}
}
