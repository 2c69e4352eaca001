package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"twigwatt/sim/money"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// spans names what risk counts: years, where a span is one.
func spans(r *study.RiskAnswer) string {
	if r.Span.Days == 365 || r.Span.Days == 366 {
		return "years"
	}
	return "spans"
}

// A spreadRow is one figure of all spans, with what it is as planned.
type spreadRow struct {
	name string
	study.Spread
	plain    float64
	decimals int
}

var spreadColumns = list[spreadRow]{
	texts("\u00a0", "", func(r *spreadRow) string { return r.name }, nil),
	amounts("one in ten", "", func(r *spreadRow) string { return Number(r.P10, r.decimals) }, nil),
	amounts("half", "", func(r *spreadRow) string { return Number(r.P50, r.decimals) }, nil),
	amounts("nine in ten", "", func(r *spreadRow) string { return Number(r.P90, r.decimals) }, nil),
	amounts("worst", "", func(r *spreadRow) string { return Number(r.Worst, r.decimals) }, nil),
	amounts("as planned", "", func(r *spreadRow) string { return Number(r.plain, r.decimals) }, nil),
}

func spreadRows(r *study.RiskAnswer) []spreadRow {
	rows := []spreadRow{{"days short", r.All.ShortDays, r.Plain.ShortDays, 0}, {"kWh short", r.All.ShortKWh, r.Plain.ShortKWh, 1},
		{"wood burned, dry kg", r.All.WoodDryKg, r.Plain.WoodDryKg, 0}, {"attended hours", r.All.AttendedH, r.Plain.AttendedH, 0}}
	if r.Litres != nil {
		rows = append(rows, spreadRow{"petrol, l", *r.Litres, r.Plain.Litres, 0})
	}
	return rows
}

// causeColumns are what a cause does alone.
var causeColumns = list[study.CauseAlone]{
	texts("cause", "cause", func(c *study.CauseAlone) string { return wordsOf[c.Cause].short },
		func(c *study.CauseAlone) any { return wordsOf[c.Cause].key }),
	figures("days short", "more_shortfall_days", 1, func(c *study.CauseAlone) float64 { return c.ShortDays }),
	figures("kWh short", "more_shortfall_kwh", 1, func(c *study.CauseAlone) float64 { return c.ShortKWh }),
	onlyJSON("shortfall_kwh_p90", func(c *study.CauseAlone) any { return c.ShortKWhP90 }),
	figures("wood dry kg", "more_wood_dry_kg", 0, func(c *study.CauseAlone) float64 { return c.WoodDryKg }),
	figures("hours", "more_attended_hours", 0, func(c *study.CauseAlone) float64 { return c.AttendedH }),
	figures("price kg", "more_price_kg", 0, func(c *study.CauseAlone) float64 { return c.PriceKg }),
}

// monthRangeColumns are the spreads of a calendar month.
var monthRangeColumns = list[study.MonthRange]{
	texts("month", "month", func(m *study.MonthRange) string { return m.Month.String() },
		func(m *study.MonthRange) any { return int(m.Month) }),
	onlyJSON("wood_dry_kg", func(m *study.MonthRange) any { return spreadJSON(m.WoodDryKg) }),
	onlyJSON("attended_hours", func(m *study.MonthRange) any { return spreadJSON(m.AttendedH) }),
	onlyJSON("shortfall_days", func(m *study.MonthRange) any { return spreadJSON(m.ShortDays) }),
	onlyJSON("shortfall_kwh", func(m *study.MonthRange) any { return spreadJSON(m.ShortKWh) }),
	figures("days\nshort\nhalf", "", 0, func(m *study.MonthRange) float64 { return m.ShortDays.P50 }),
	figures("nine in\nten", "", 0, func(m *study.MonthRange) float64 { return m.ShortDays.P90 }),
	figures("kWh\nshort\nhalf", "", 1, func(m *study.MonthRange) float64 { return m.ShortKWh.P50 }),
	figures("nine in\nten", "", 1, func(m *study.MonthRange) float64 { return m.ShortKWh.P90 }),
	figures("wood\ndry kg\nhalf", "", 0, func(m *study.MonthRange) float64 { return m.WoodDryKg.P50 }),
	figures("nine in\nten", "", 0, func(m *study.MonthRange) float64 { return m.WoodDryKg.P90 }),
	figures("hours\nhalf", "", 0, func(m *study.MonthRange) float64 { return m.AttendedH.P50 }),
	figures("nine in\nten", "", 0, func(m *study.MonthRange) float64 { return m.AttendedH.P90 }),
}

// Risk reports how bad it can get.
func Risk(r *study.RiskAnswer) *Report {
	return &Report{Warnings: r.Warnings, More: petrolCautions(r.Household), JSON: func() Pairs { return riskJSON(r) }, Page: func() *Page { return riskPage(r) },
		Text: func(t *Terminal) {
			t.Line("%s", riskAnswer(r))
			for _, line := range riskLines(r) {
				t.Answer(line.Label, line.Text)
			}
			fmt.Fprintf(t, "\nOf %s\n", plural(r.Years, strings.TrimSuffix(spans(r), "s")))
			spreadColumns.text(t, spreadRows(r))
			t.Note("stay at or under these figures; as planned: the mean where nothing fails.")
			if len(r.Causes) > 0 {
				t.WriteString("\nEach cause alone, in the mean more than on expected days; the dearest first\n")
				causeColumns.text(t, r.Causes)
			}
			t.Gap()
			t.Line("%s", monthsLead(r))
			monthRangeColumns.text(t, r.Months)
			for _, line := range riskBasis(r) {
				t.Note(line)
			}
		}}
}

// riskAnswer is the answer in one line.
func riskAnswer(r *study.RiskAnswer) string {
	if r.Stack.DryKg == 0 {
		return say("%s: no wood is burned in nine %s of ten, and up to %s go short", r.Name, spans(r),
			plural(int(r.All.ShortDays.P90), "day"))
	}
	return say("%s: have %s of oven-dry wood ready (%.1f m3 stacked, if it is all %s) "+
		"to have enough in nine %s of ten; in nine of ten at most %s go short", r.Name, Mass(r.Stack.DryKg),
		r.Stack.StackedM3, r.Pile.Species.Key, spans(r), plural(int(r.All.ShortDays.P90), "day"))
}

// monthsLead heads the months; those of several years stand together.
func monthsLead(r *study.RiskAnswer) string {
	if r.Span.Days > 366 {
		return "By month, its days in all years of the span together: half and nine in ten stay at or under"
	}
	return "By month: half and nine in ten stay at or under"
}

func inAHundred(share float64) string { return Number(100*share, 0) + " %" }

// riskLines are what to know beside the answer.
func riskLines(r *study.RiskAnswer) []Answer {
	lines := []Answer{{"Dark", say("no day short in %s of %s", inAHundred(r.NoDarkShare), spans(r))}}
	if r.WinterNoDark != nil {
		lines[0] = Answer{"Winter", say("in %s of %s no day is short from %s; "+
			"in %s none in the whole span", inAHundred(*r.WinterNoDark), spans(r), winterMonths(r), inAHundred(r.NoDarkShare))}
	}
	if len(r.Causes) > 0 && r.Causes[0].PriceKg > 0 {
		worst := r.Causes[0]
		lines = append(lines, Answer{"Cause", say("%s cost most: alone they bring, in the mean, "+
			"%.1f kWh and %.1f days more of dark (price %.0f kg of wood)", wordsOf[worst.Cause].name, worst.ShortKWh,
			worst.ShortDays, worst.PriceKg)})
	}
	if !r.Pile.Endless {
		text := say("ready wood runs out in %s of %s", inAHundred(r.RunsOutShare), spans(r))
		if r.RunsOutShare > 0 && r.Luck.MoistureShare > 0 {
			text += ": burned up, or too wet to gasify in a wet year (max_moisture_pct)"
		}
		lines = append(lines, Answer{"Pile", text})
	}
	if r.Litres != nil {
		lines = append(lines, Answer{"Petrol", say("nine %s in ten do not need more than %.0f l for the stand-by set", spans(r), r.Litres.P90)})
	}
	if r.Cost != nil {
		lines = append(lines, Answer{"Cost", costText(r.Cost)})
	}
	return lines
}

func winterMonths(r *study.RiskAnswer) string {
	if r.South {
		return "April to September"
	}
	return "October to March"
}

// causeWords are a cause of luck in a sentence, as a key, in a table and where there
// is little room.
type causeWords struct{ name, key, short, tick string }

var wordsOf = map[study.Cause]causeWords{
	study.BySwing:        {"the days' swings of load", "daily_swing", "load, day by day", "load: days"},
	study.BySky:          {"the luck of the sky over the panels", "sky", "the sky, day by day", "sky"},
	study.BySet:          {"days on which the set gives more or less", "set_daily", "the set, day by day", "set: days"},
	study.ByLoadYear:     {"years of more or less load", "load_year", "load, year by year", "load: years"},
	study.ByMoisture:     {"years of wetter or drier wood", "moisture", "moisture of the wood", "wet wood"},
	study.ByFailedLights: {"light-ups that fail", "fail_to_light", "light-ups that fail", "light-ups"},
	study.ByRepairs:      {"repairs", "repair", "repairs", "repairs"},
}

// riskBasis says what varied, and what did not know of it.
func riskBasis(r *study.RiskAnswer) []string {
	l := &r.Luck
	vary := say("Varied: the load by %.0f %% from day to day and by %.0f %% from year to year, "+
		"what the set gives by %.0f %% from day to day, the wood by %.1f points of moisture (standard deviations); "+
		"%.0f %% of light-ups fail; %s of repair a year, in one block.",
		100*r.Demand.SwingShare, 100*l.LoadYearShare, 100*l.SetDailyShare,
		100*l.MoistureShare, 100*l.FailShare, plural(l.RepairDays, "day"))
	if r.Demand.SkySpreads() {
		vary += say(" The panels' sky comes by the day, with a memory of %.2f; a year's own brightness beyond that is left out.",
			r.Demand.Sun.Memory())
	}
	known := "The plan (" + r.Rule.Text(r.Span) + ") knows none of it beforehand, and meets each day as it comes."
	if r.Rule.By == plan.ByChosen {
		known = say("The plan (chosen runs, shortfall at %.0f kg of wood a kWh) knows how days spread, "+
			"none of them beforehand, and meets each as it comes.",
			r.Prices.ShortKgPerKWh)
		if len(r.Demand.Chores) > 0 {
			known += " Chores are done when the plan would do them."
		}
	}
	seeds := say("Seeds %d to %d", r.Demand.Seed, r.Demand.Seed+uint64(r.Years)-1)
	if r.Years == 1 {
		seeds = say("Seed %d", r.Demand.Seed)
	}
	return []string{vary, known, say("%s; the days' swings of one are those of year --set seed. "+
		"Left out: winters colder than the place's means, and in what to stack what rots on the pile.", seeds)}
}

func spreadJSON(s study.Spread) Pairs {
	return Pairs{{"p10", s.P10}, {"p50", s.P50}, {"p90", s.P90}, {"worst", s.Worst}}
}

func riskJSON(r *study.RiskAnswer) Pairs {
	runsOut := &r.RunsOutShare
	if r.Pile.Endless {
		runsOut = nil
	}
	return Pairs{{"scenario", r.Name}, {"years", r.Years}, {"seed", r.Demand.Seed}, {"short_kg_per_kwh", r.Prices.ShortKgPerKWh},
		{"wood_dry_kg", spreadJSON(r.All.WoodDryKg)}, {"attended_hours", spreadJSON(r.All.AttendedH)},
		{"shortfall_days", spreadJSON(r.All.ShortDays)}, {"shortfall_kwh", spreadJSON(r.All.ShortKWh)},
		{"standby_litres", orNull(r.Litres, func(s study.Spread) any { return spreadJSON(s) })},
		{"cost_a_year", orNull(r.Cost, func(c money.Cost) any { return rangeJSON(c.WithHours) })},
		{"cost_per_kwh", orNull(r.Cost, func(c money.Cost) any { return rangeJSON(c.WithHours.Over(c.ServedKWh)) })},
		{"no_dark_day_share", r.NoDarkShare},
		{"winter_no_dark_day_share", r.WinterNoDark},
		{"stack_nine_in_ten_dry_kg", r.Stack.DryKg}, {"runs_out_share", runsOut},
		{"without_luck", Pairs{{"wood_dry_kg", r.Plain.WoodDryKg}, {"attended_hours", r.Plain.AttendedH},
			{"shortfall_days", r.Plain.ShortDays}, {"shortfall_kwh", r.Plain.ShortKWh}}},
		{"causes", causeColumns.json(r.Causes)}, {"months", monthRangeColumns.json(r.Months)}}
}

func riskPage(r *study.RiskAnswer) *Page {
	p := &Page{Title: r.Name + ": how bad can it get", Basis: Basis{Again: riskBasis(r)},
		Subtitle: say("%.0f %s of luck, %s each.", float64(r.Years), spans(r), plural(r.Span.Days, "day"))}
	p.Answers = []Answer{{"Stack", underTitle(r.Name, riskAnswer(r))},
		{"Short", say("At most %s in nine %s of ten, %s in half.", plural(int(r.All.ShortDays.P90), "day"),
			spans(r), plural(int(r.All.ShortDays.P50), "day"))}}
	for _, line := range riskLines(r) {
		p.Answers = append(p.Answers, Answer{line.Label, sentence(line.Text)})
	}
	p.Parts = []Part{monthsAtRisk(r)}
	if len(r.Causes) > 0 {
		p.Parts = append(p.Parts, causesAlone(r))
	}
	return p
}

func monthsAtRisk(r *study.RiskAnswer) Part {
	worst := slices.MaxFunc(r.Months, func(a, b study.MonthRange) int { return cmp.Compare(a.ShortKWh.P90, b.ShortKWh.P90) })
	caption := "No month misses anything in nine of ten."
	if worst.ShortKWh.P90 > 0 {
		caption = say("%s can go darkest: at most one in ten of them misses more than %.1f kWh.", worst.Month,
			worst.ShortKWh.P90)
	}
	return Part{ID: "months", Title: "By month", Tall: true, Tables: []Table{
		spreadColumns.table("The whole span: so many stay at or under", spreadRows(r)),
		monthRangeColumns.table(monthsLead(r), r.Months)},
		Caption: caption,
		Chart: chart(r.Months, func(m *study.MonthRange) string { return m.Month.String()[:3] },
			allRows, []panel{{axis: "short, kWh", share: 0.5}, {axis: "wood, dry kg", share: 0.5, thousands: true}},
			curveOf("short: half", "short", bars|hollow,
				func(m *study.MonthRange) float64 { return m.ShortKWh.P50 }),
			curveOf("short: nine in ten", "short", bars,
				func(m *study.MonthRange) float64 { return m.ShortKWh.P90 }),
			curveOf("wood: half", "wood", lower|bars|hollow,
				func(m *study.MonthRange) float64 { return m.WoodDryKg.P50 }),
			curveOf("wood: nine in ten", "wood", lower|bars,
				func(m *study.MonthRange) float64 { return m.WoodDryKg.P90 }))}
}

func causesAlone(r *study.RiskAnswer) Part {
	return Part{ID: "causes", Title: "What hurts most", Tall: true, Caption: causesText(r),
		Tables: []Table{causeColumns.table("Each cause alone, in the mean more than on expected days", r.Causes)},
		Chart: chart(r.Causes, func(c *study.CauseAlone) string { return wordsOf[c.Cause].tick },
			allRows, []panel{{axis: "more short, kWh", share: 0.5}, {axis: "more wood, dry kg", share: 0.5, thousands: true}},
			curveOf("more short", "short", bars, func(c *study.CauseAlone) float64 { return c.ShortKWh }),
			curveOf("more wood", "wood", lower|bars,
				func(c *study.CauseAlone) float64 { return c.WoodDryKg }))}
}

// causesText is what the worst and the next cause do alone.
func causesText(r *study.RiskAnswer) string {
	worst := r.Causes[0]
	text := say("Alone, in the mean over all %s, %s bring %.1f kWh more of dark", spans(r),
		wordsOf[worst.Cause].name, worst.ShortKWh)
	if len(r.Causes) > 1 {
		text += say("; %s %.1f kWh", wordsOf[r.Causes[1].Cause].name, r.Causes[1].ShortKWh)
	}
	return text + "."
}
