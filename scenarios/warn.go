package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"twigwatt/loads"
	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/sim/plan"
	"twigwatt/sim/sun"
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
	s.warnOfSun(l)
	s.warnOfTank(l)
	const muchPetrol = 30
	if s.Standby != nil && s.Standby.LitresKept > muchPetrol {
		s.Warnings.Add("petrol_kept", "more than %d l of petrol are kept: local law may allow less, it must not stand in the house, "+
			"and it grows stale within a year", muchPetrol)
	}
}

// warnOfTank says what is strange about a tank.
func (s *Scenario) warnOfTank(l *list) {
	if s.Tank == nil {
		return
	}
	if s.Tank.JacketShare > 0 && !l.given("tank.jacket_pct") {
		s.Warnings.Add("tank_air_cooled", "tank.jacket_pct (%s) is that of a water-cooled engine: an air-cooled one has no such heat, "+
			"set it to 0", trim(100*s.Tank.JacketShare))
	}
	const usualLeft = 1 - genset.EngineEfficiency // of the gas heat, at full power
	left := genset.GasifierEfficiency * usualLeft
	if taken := (s.Tank.JacketShare + s.Tank.ExhaustShare) * left; s.Tank.ExhaustShare > 0 && taken+l.rackShare > left {
		s.Warnings.Add("tank_and_rack",
			"tank and rack together want %.0f %% of the wood's heat, and %.0f %% are left beside the shaft: "+
				"lower woodpile.rack_pct or tank.exhaust_pct", 100*(taken+l.rackShare), 100*left)
	}
}

// warnOfSun says what is strange about panels and their sun.
func (s *Scenario) warnOfSun(l *list) {
	panels := s.wants.Panels
	if panels == nil && (l.levelKWhM2 == nil || !l.given("place.sun_kwh_m2")) {
		return
	}
	var bright, dark, low, snowy []string
	for month, kWhM2 := range l.levelKWhM2 {
		const darkKWhM2, freezingC, flatDeg, lowDeg = 0.1, -2.0, 45.0, 10.0
		m, name := l.monthOfSun(month), time.Month(month + 1).String()[:3]
		if m.Clearness(kWhM2) > brightClearness {
			bright = append(bright, name)
		}
		if m.OutsideKWhM2() < sun.DarkKWhM2 && kWhM2 > darkKWhM2 {
			dark = append(dark, name)
		}
		if panels == nil {
			continue
		}
		noonDeg := 90 - math.Abs(s.LatitudeDeg-m.Days[len(m.Days)/2].DeclinationDeg)
		if kWhM2 > 0 && noonDeg < lowDeg && m.OutsideKWhM2() >= sun.DarkKWhM2 {
			low = append(low, name)
		}
		if s.Air.MeanC[month] < freezingC && slices.ContainsFunc(panels.Arrays, func(a sun.Array) bool {
			return a.TiltDeg < flatDeg && a.SnowShare == [12]float64{}
		}) {
			snowy = append(snowy, name)
		}
	}
	listed := func(months []string) string { return strings.Join(months, ", ") }
	if len(bright) > 0 {
		s.Warnings.Add("sun_bright", "place.sun_kwh_m2: more than %.0f %% of the sun outside the air reaches the ground in %s: "+
			"few places are so clear", 100*brightClearness, listed(bright))
	}
	if len(dark) > 0 {
		s.Warnings.Add("sun_in_polar_night", "place.sun_kwh_m2: the sun hardly rises in %s at latitude %s: "+
			"what is said of it there was left out", listed(dark), trim(s.LatitudeDeg))
	}
	if panels == nil {
		return
	}
	if len(low) > 0 {
		s.Warnings.Add("sun_low", "the sun stands under 10° at noon in %s: what panels give then is uncertain", listed(low))
	}
	if len(snowy) > 0 {
		s.Warnings.Add("snow_on_panels",
			"in %s it freezes, and panels flatter than 45° hold snow: give panels.NAME.snow_pct", listed(snowy))
	}
	const highDeg, farDeg = 45.0, 5.0
	if !l.given("place.horizon") && math.Abs(s.LatitudeDeg) > highDeg {
		s.Warnings.Add("no_horizon", "without place.horizon the sun is taken to rise over flat land: trees 15° high all round "+
			"leave a quarter to three quarters of December's sun")
	}
	if level, ok := place.LevelOf(l.climate); ok &&
		!l.given("place.sun_kwh_m2") && math.Abs(s.LatitudeDeg-level.LatitudeDeg) > farDeg {
		s.Warnings.Add("sun_of_elsewhere", "the sun is that of %s, at latitude %s, but place.latitude is %s: "+
			"give place.sun_kwh_m2", l.climate, trim(level.LatitudeDeg), trim(s.LatitudeDeg))
	}
	atBank := slices.ContainsFunc(panels.Arrays, func(a sun.Array) bool { return !a.AtHouse })
	frost := 0
	for i := range s.House.Days {
		if s.House.Days[i].Bank.RefusesCharge {
			frost++
		}
	}
	if atBank && frost > 0 {
		s.Warnings.Add("panels_in_frost", "on %d days a lithium bank at or below 0 °C takes no charge: "+
			"what the house does not want of the panels then is unused", frost)
	}
	if s.wants.Other != nil {
		s.Warnings.Add("sun_twice", "%s gives power beside the panels: where it holds theirs already, leave one out", l.otherFile)
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
