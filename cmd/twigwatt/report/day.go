package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
)

// A runSheet is a sheet on its way to paper.
type runSheet struct{ *study.Sheet }

// A sheetLine is a moment of the sheet: what to do or what is so, and the caution
// that goes with it.
type sheetLine struct {
	minute        int
	text, caution string
}

// What can hurt, at the moment it can.
const (
	matchCaution = "Flare first, relief lid free. The gas kills without a smell: " +
		"plant in the open, alarms on, never leave it alone."
	onCaution     = "Only on a steady flame, not by the clock."
	refuelCaution = "Engine off before the hopper is opened. The gas kills: " +
		"stand aside, no face over it, no flame. Lid shut, flare again, engine on only on a steady flame."
	frozenCaution = "Never charge a frozen battery: it can burst and throw acid. " +
		"Lithium takes no charge at or below 0 °C. Warm the bank first."
	stopCaution = "Gas stays for hours: vent before any work. " +
		"Ash and char glow for days: quench, lidded metal bin, on stone, away from house and pile."
)

// lines are the first day's moments in order, until its morning after. What can hurt is said
// once, at the first moment it can.
func (d *runSheet) lines() []sheetLine {
	lines := []sheetLine{{d.Minute, "now", ""}}
	match, on := matchCaution, onCaution
	if d.Frozen || d.Frost {
		lines[0].caution, match, on = frozenCaution, frozenCaution+" "+match, frozenCaution+" "+on
	}
	add := func(minute int, caution, format string, args ...any) {
		lines = append(lines, sheetLine{minute, say(format, args...), caution})
	}
	for _, r := range d.Runs {
		if r.Match >= calendar.MinutesADay {
			break
		}
		if !r.Lit {
			add(r.Match, match, "MATCH, hopper full (%.0f kg)", d.HopperAsIsKg)
		}
		if r.EngineOn >= d.Minute && r.EngineOn < r.Stop {
			add(r.EngineOn, on, "ENGINE ON")
		}
		for i, refuel := range r.Refuel {
			if i < len(r.Refuel)-1 {
				add(refuel.Minute, refuelCaution, "REFUEL, %.0f kg", refuel.AsIsKg)
			} else {
				add(refuel.Minute, refuelCaution, "REFUEL, %.0f kg are enough until the stop", math.Ceil(refuel.AsIsKg))
			}
		}
		early := ""
		if r.BeforeRefuel {
			early = " before the hopper is empty: the morning's charge will do"
		}
		add(r.Stop, stopCaution, "STOP%s; %.1f kWh made", early, r.MadeKWh)
	}
	for _, c := range d.Chores {
		if c.Start < calendar.MinutesADay {
			add(c.Start, "", "start %s (%.1f kWh, until %s)", c.Name, c.KWh, calendar.Clock(c.Stop%calendar.MinutesADay))
		}
	}
	for _, p := range d.Petrol {
		if p.Start < calendar.MinutesADay {
			add(p.Start, PetrolCaution.Full, "PETROL SET %s-%s, %.1f l", d.clock(p.Start), d.stopClock(p.Stop), p.Litres)
		}
	}
	if d.DarkMinute >= 0 && d.DarkMinute < d.Mornings[0].Minute {
		add(d.DarkMinute, "", "%s", d.darkText())
	}
	add(d.Mornings[0].Minute, "", "morning")
	slices.SortStableFunc(lines, func(a, b sheetLine) int { return a.minute - b.minute })
	said := map[string]bool{}
	for i := range lines {
		if caution := lines[i].caution; said[caution] {
			lines[i].caution = ""
		} else {
			said[caution] = true
		}
	}
	return lines
}

func (d *runSheet) darkText() string {
	return say("DARK: the bank comes to its floor, "+
		"or the load is over what the inverter gives; %.2f kWh short from here on", d.ShortKWh)
}

// A laterRow is a run of one of the days after the first, or a day without one.
type laterRow struct {
	day        string
	run        *study.SheetRun // nil: none
	morningPct float64         // of the charge, the next morning; NaN: the day's last row tells it
}

// later are the days after the first.
func (d *runSheet) later() []laterRow {
	var rows []laterRow
	next := 0
	for day := 1; day < d.Days; day++ {
		name := d.dateOf(day * calendar.MinutesADay).Time().Format("Mon 2")
		for next < len(d.Runs) && d.Runs[next].Match < day*calendar.MinutesADay {
			next++
		}
		before := len(rows)
		for ; next < len(d.Runs) && d.Runs[next].Match < (day+1)*calendar.MinutesADay; next++ {
			rows = append(rows, laterRow{name, &d.Runs[next], math.NaN()})
			name = ""
		}
		if len(rows) == before {
			rows = append(rows, laterRow{name, nil, math.NaN()})
		}
		rows[len(rows)-1].morningPct = d.Mornings[day].Pct
	}
	return rows
}

// laterColumns are those of the days after the first.
func (d *runSheet) laterColumns() list[laterRow] {
	of := func(title string, tell func(*study.SheetRun) string) column[laterRow] {
		return amounts(title, "", func(r *laterRow) string {
			if r.run == nil {
				return "-"
			}
			return tell(r.run)
		}, nil)
	}
	return list[laterRow]{
		texts("day", "", func(r *laterRow) string { return r.day }, nil),
		of("match", func(r *study.SheetRun) string { return d.clock(r.Match) }),
		of("engine\non", func(r *study.SheetRun) string {
			if r.EngineOn < 0 {
				return "-"
			}
			return d.clock(r.EngineOn)
		}),
		of("refuel", func(r *study.SheetRun) string {
			var at []string
			for _, refuel := range r.Refuel {
				at = append(at, d.clock(refuel.Minute))
			}
			return strings.Join(at, " ")
		}),
		of("stop", func(r *study.SheetRun) string { return d.stopClock(r.Stop) }),
		of("kWh\nmade", func(r *study.SheetRun) string { return say("%.1f", r.MadeKWh) }),
		of("wood\nkg", func(r *study.SheetRun) string { return say("%.0f", r.WoodAsIsKg) }),
		amounts("next\nmorning", "", func(r *laterRow) string {
			if math.IsNaN(r.morningPct) {
				return ""
			}
			return say("%.0f %%", r.morningPct)
		}, nil),
	}
}

// noRunText says why there is no run on the first day.
var noRunText = map[study.NoRun]string{
	study.BankCarries: "the bank carries the house", study.Barred: "tending.days or no_runs bar it",
	study.Away:         "nobody is at home (load.away), and nobody looks after a run then (tending.away_runs)",
	study.Broken:       "the set is broken (tending.breakdown)",
	study.OutsideHours: "it is outside of tending.hours",
	study.HoursUsed:    "the day's hours are used (tending.max_hours_a_day)",
	study.DayOver:      "the day is over, and no run crosses midnight",
	study.NoWood:       "no wood is ready", study.TooLate: "none is allowed any more", study.NotWorthIt: "none is worth its price"}

// answer is what to do, in one line.
func (d *runSheet) answer() string {
	var parts []string
	add := func(format string, args ...any) { parts = append(parts, say(format, args...)) }
	if d.Frozen {
		add("DO NOT CHARGE, THE BANK MAY BE FROZEN: "+
			"at %.0f %% the electrolyte freezes at %.0f °C, and the air around it is at %.0f °C",
			d.ChargePct, battery.FreezesAtC(d.ChargePct), d.AirC)
	}
	if d.Frost {
		add("THE BANK TAKES NO CHARGE: the air around it is at %.0f °C, and lithium is not charged at or below 0 °C", d.AirC)
	}
	for i, r := range d.Runs {
		if r.Match >= calendar.MinutesADay {
			break
		}
		switch {
		case r.StopsNow != study.Runs:
			add("stop now: %s", noRunText[r.StopsNow])
		case r.Lit:
			add("burn on until %s", d.stopClock(r.Stop))
		case i > 0:
			add("again at %s until %s", d.clock(r.Match), d.stopClock(r.Stop))
		case d.Frozen || d.Frost:
			add("only once the bank is warm: light at %s, stop at %s", d.clock(r.Match), d.stopClock(r.Stop))
		default:
			add("light at %s, stop at %s", d.clock(r.Match), d.stopClock(r.Stop))
		}
	}
	if reason, none := noRunText[d.NoRun]; none {
		if d.NoRun == study.BankCarries && d.Sun != nil {
			reason = "the bank and the panels carry the house"
		}
		add("no run today: %s", reason)
	} else if d.BringKg > 0 {
		wood := say("%.0f kg of wood", d.BringKg)
		if d.CrateKg > 0 {
			wood += say(" (%s of %.0f kg)", plural(d.Crates, "crate"), d.CrateKg)
		}
		if d.Days > 1 {
			wood += " for " + plural(d.Days, "day")
		}
		add("bring in %s", wood)
	}
	if d.DarkMinute >= 0 {
		add("dark from %s on", d.dayClock(d.DarkMinute))
	}
	for _, p := range d.Petrol {
		if p.Start < calendar.MinutesADay {
			add("petrol set %s-%s, %.1f l", d.clock(p.Start), d.stopClock(p.Stop), p.Litres)
		}
	}
	return say("%s, %s: %s", d.Name, d.Date.Time().Format("Mon 2 January 2006"), strings.Join(parts, "; "))
}

func (d *runSheet) clock(minute int) string { return calendar.Clock(minute % calendar.MinutesADay) }

// stopClock is a clock that ends a day at 24:00.
func (d *runSheet) stopClock(minute int) string {
	if minute > 0 && minute%calendar.MinutesADay == 0 {
		return "24:00"
	}
	return d.clock(minute)
}

// notes are what to know beside the moments.
func (d *runSheet) notes() []string {
	var notes []string
	add := func(format string, args ...any) { notes = append(notes, say(format, args...)) }
	if d.ChargePct < d.FloorPct {
		add("%.0f %% is under the floor of %.0f %%: until it has risen above that the house has only what the engine gives.",
			d.ChargePct, d.FloorPct)
	}
	if d.Taken != nil && d.Taken.ExpectedKWh != 0 {
		add("%s", d.earlierText())
	}
	if pct := math.Round(d.LearnedPct); pct != 0 {
		took := "more"
		if pct < 0 {
			took = "less"
		}
		add("In the last fortnight, by the diary, the house took %s than expected: "+
			"each day is taken to want %s.", took, aboveOrBelow(pct))
	}
	if d.Sun != nil {
		add("%s", d.sunText())
	}
	if d.Skip != nil {
		add("%s", d.skipText(d.Skip))
	}
	if d.DarkMinute >= d.Mornings[0].Minute {
		add("%s: %s.", d.dayClock(d.DarkMinute), d.darkText())
	}
	var chores []string
	for _, c := range d.Chores {
		if c.Start >= calendar.MinutesADay {
			chores = append(chores, say("%s %s (%.1f kWh)", d.dayClock(c.Start), c.Name, c.KWh))
		}
	}
	var petrol []string
	for _, p := range d.Petrol {
		if p.Start >= calendar.MinutesADay {
			petrol = append(petrol, say("%s-%s (%.1f l)", d.dayClock(p.Start), d.stopClock(p.Stop), p.Litres))
		}
	}
	if len(petrol) > 0 {
		add("Petrol set of the days after: %s.", strings.Join(petrol, ", "))
	}
	if len(chores) > 0 {
		add("Chores of the days after: %s.", strings.Join(chores, ", "))
	}
	asIs, dry, condensate := 0.0, 0.0, 0.0
	for _, r := range d.Runs {
		asIs, dry, condensate = asIs+r.WoodAsIsKg, dry+r.WoodDryKg, condensate+r.CondensateL
	}
	if dry > 0 {
		poison := ""
		if condensate >= 0.05 {
			poison = say(" Condensate to carry away: %.1f l; it is poisonous, wear gloves.", condensate)
		}
		add("Burned from now on: %.0f kg of wood as it lies, %.0f kg oven-dry.%s", asIs, dry, poison)
	}
	for _, due := range d.Due {
		r := d.Runs[due.Run]
		when := say("falls due in that run, at about %s", d.clock(due.Minute))
		if due.Minute <= r.Match {
			when = "is due already"
		}
		moment := "before the match of " + d.dayClock(r.Match) + ", all cold"
		if r.Lit {
			moment = "after the stop, once all is cold"
		}
		add("%s %s: at %.1f engine hours it %s.", serviceText[due.Name], moment, due.AtH, when)
	}
	if d.HoursSoFar < 0 && len(d.Runs) > 0 {
		add("With --hours-so-far the sheet says when ash, filter and oil are due.")
	}
	return notes
}

// sunText is what the panels are expected to give.
func (d *runSheet) sunText() string {
	s, today := d.Sun, ""
	if shown := 0.05; s.TodayKWh >= shown {
		today = say("%.1f kWh until midnight and ", s.TodayKWh)
	}
	if d.Sky != sun.Unsaid {
		return say("Under a %s sky, as you say of the time until tomorrow night, the panels could give "+
			"%s%.1f kWh tomorrow.", d.Sky, today, s.TomorrowKWh)
	}
	return say("The panels are expected to give %s%.1f kWh tomorrow; a dull day would give %.1f, "+
		"a bright one %.1f (--sky dull, usual or bright says what you see).", today, s.TomorrowKWh, s.DullKWh, s.BrightKWh)
}

// earlierText is what the earlier reading tells of the day.
func (d *runSheet) earlierText() string {
	e, taken := d.Taken, "as expected"
	if more := math.Round(d.MorePct); more != 0 {
		taken = aboveOrBelow(more)
	}
	return say("Since %s the house has taken %.1f kWh, where %.1f are expected; "+
		"by what a reading can tell, the whole day is taken to be %s.", d.clock(e.SinceMinute), e.KWh, e.ExpectedKWh, taken)
}

// aboveOrBelow says a whole percentage that is not 0.
func aboveOrBelow(morePct float64) string {
	if morePct < 0 {
		return Number(-morePct, 0) + " % below what is expected"
	}
	return Number(morePct, 0) + " % above what is expected"
}

var serviceText = map[string]string{"ash": "Empty the ash", "filter": "Clean the filter", "oil": "Change the oil"}

// dayClock is a clock, with its weekday where it is not the first day's.
func (d *runSheet) dayClock(minute int) string {
	if minute < calendar.MinutesADay {
		return d.clock(minute)
	}
	return d.dateOf(minute).Time().Format("Mon ") + d.clock(minute)
}

func (d *runSheet) dateOf(minute int) calendar.Date {
	return d.Date + calendar.Date(minute/calendar.MinutesADay)
}

func (d *runSheet) skipText(k *study.Skip) string {
	runs := len(d.Runs) > 0 && d.Runs[0].Match < calendar.MinutesADay
	varied := say("the load varied by %.0f %%", 100*k.SwingShare)
	if k.SkyVaried {
		varied += " and the sky by luck"
	}
	how := say("goes short (%.2f kWh or more) in %d of %d trials with %s", d.Prices.ShortDayKWh, k.Dark, k.Draws, varied)
	if runs {
		how += say("; with the run in %d", k.DarkRuns)
	}
	if k.SwingShare == 0 && !k.SkyVaried { // the draws are all alike
		how = "goes short"
		if k.Dark == 0 {
			how = "does not go short"
		}
		how += " on usual days; with load.daily_swing_pct in the scenario the sheet tells how likely"
	}
	if !runs {
		return "Without a run today, and with tomorrow's as planned, today or tomorrow " + how + "."
	}
	return say("If you skip today's: %.0f %% tomorrow morning, not %.0f %%; today or tomorrow %s.",
		k.MorningPct, d.Mornings[0].Pct, how)
}

// basis says what is expected.
func (d *runSheet) basis() string {
	text := say("Expected: usual days; %s, weighed over %s from the first. "+
		"The hopper is full at each match. Times are standard time, also in summer.", d.Rule.Text(d.Span), plural(d.Span.Days, "day"))
	if d.Prices.FullEveryDays > 0 {
		when := plural(d.SinceFull, "day") + " ago"
		if d.SinceFull == 0 {
			when = "today"
		}
		text += " The bank is taken to have been full " + when + " (--full-days-ago)."
	}
	if d.Guessed {
		text += " Chores due before today this week are taken as done (--chores-done NAME=TIMES says otherwise)."
	}
	return text
}

// Day reports a run sheet; its page prints on A5.
func Day(sheet *study.Sheet) *Report {
	d := &runSheet{sheet}
	return &Report{Warnings: d.Warnings, More: petrolCautions(d.Household), InFull: true,
		JSON: d.json, Page: d.page, Text: func(t *Terminal) {
			t.Line("%s", d.answer())
			const columns = 15
			heading := calendar.Date(-1)
			for _, line := range d.lines() {
				if date := d.dateOf(line.minute); date != heading {
					heading = date
					fmt.Fprintf(t, "\n%s\n", date.Time().Format("Mon 2 January"))
				}
				fmt.Fprintln(t, Hang(fmt.Sprintf("%s  %4.0f %%", d.clock(line.minute), d.PctAt(line.minute)), columns, line.text))
				if line.caution != "" {
					fmt.Fprintln(t, Hang("             !", columns, line.caution))
				}
			}
			if later := d.later(); len(later) > 0 {
				t.Gap()
				t.Line("The days after; what can hurt stands under Take care")
				d.laterColumns().text(t, later)
			}
			t.Gap()
			for _, note := range append(d.notes(), d.basis()) {
				t.Line("%s", note)
			}
		}}
}

func (d *runSheet) json() Pairs {
	runs := objects(d.Runs, func(r study.SheetRun) Pairs {
		refuels := []string{}
		for _, refuel := range r.Refuel {
			refuels = append(refuels, d.stamp(refuel.Minute))
		}
		var engineOn any // none: the run ends before
		if r.EngineOn >= 0 {
			engineOn = d.stamp(r.EngineOn)
		}
		return Pairs{{"date", d.dateOf(r.Match)}, {"match", d.stamp(r.Match)}, {"engine_on", engineOn},
			{"stop", d.stamp(r.Stop)}, {"refuel", refuels}, {"wood_as_is_kg", r.WoodAsIsKg},
			{"wood_dry_kg", r.WoodDryKg}, {"made_kwh", r.MadeKWh}, {"lit", r.Lit}, {"before_refuel", r.BeforeRefuel}}
	})
	chores := objects(d.Chores, func(c study.SheetChore) Pairs {
		return Pairs{{"name", c.Name}, {"start", d.stamp(c.Start)}}
	})
	services := objects(d.Due, func(s study.ServiceDue) Pairs {
		return Pairs{{"name", s.Name}, {"at_engine_hours", s.AtH}, {"time", d.stamp(s.Minute)}}
	})
	var crates any
	if d.CrateKg > 0 {
		crates = d.Crates
	}
	return Pairs{{"scenario", d.Name}, {"date", d.Date}, {"at", d.stamp(d.Minute)}, {"soc_pct", d.ChargePct},
		{"runs", runs}, {"charge", d.chargeColumns().json(d.Charge)}, {"chores", chores},
		{"morning_soc_pct", d.Mornings[0].Pct},
		{"skip", orNull(d.Skip, func(k study.Skip) any {
			return Pairs{{"morning_soc_pct", k.MorningPct}, {"draws", k.Draws},
				{"sky_varied", k.SkyVaried}, {"dark_share", float64(k.Dark) / float64(k.Draws)},
				{"dark_share_with_run", float64(k.DarkRuns) / float64(k.Draws)}, {"daily_swing_pct", 100 * k.SwingShare}}
		})},
		{"day_factor", 1 + d.MorePct/100}, {"learned_factor", 1 + d.LearnedPct/100},
		{"shortfall_kwh", d.ShortKWh}, {"wood_as_is_kg", d.BringKg}, {"crates", crates},
		{"services", services},
		{"standby", objects(d.Petrol, func(p study.PetrolRun) Pairs {
			return Pairs{{"start", d.stamp(p.Start)}, {"stop", d.stamp(p.Stop)}, {"litres", p.Litres}, {"made_kwh", p.MadeKWh}}
		})}, {"sun", orNull(d.Sun, func(s study.SunAhead) any {
			var sky any
			if d.Sky != sun.Unsaid {
				sky = d.Sky
			}
			return Pairs{{"sky", sky}, {"today_kwh", s.TodayKWh}, {"tomorrow_kwh", s.TomorrowKWh},
				{"dull_kwh", s.DullKWh}, {"bright_kwh", s.BrightKWh}}
		})}}
}

// chargeColumns are the expected charge.
func (d *runSheet) chargeColumns() list[study.ChargeAt] {
	return list[study.ChargeAt]{
		texts("time", "time", func(c *study.ChargeAt) string { return d.dayClock(c.Minute) },
			func(c *study.ChargeAt) any { return d.stamp(c.Minute) }),
		percents("charge", "soc_pct", 1, func(c *study.ChargeAt) float64 { return c.Pct }),
	}
}

func (d *runSheet) stamp(minute int) string {
	return d.dateOf(minute).String() + "T" + calendar.Clock(minute%calendar.MinutesADay)
}

func (d *runSheet) page() *Page {
	p := &Page{Title: d.Name + ": run sheet", Subtitle: d.Date.Time().Format("Monday 2 January 2006")}
	p.Card = &Card{Title: d.answer(), Lead: d.basis(), Lines: d.notes(),
		Table: Table{Caption: "Run sheet", Head: []string{"time", "bank", "what"}, Words: true}}
	for _, line := range d.lines() {
		p.Card.Rows = append(p.Card.Rows, []string{d.dayClock(line.minute), say("%.0f %%", d.PctAt(line.minute)), line.text})
		if line.caution != "" {
			p.Card.Rows = append(p.Card.Rows, []string{"", "!", line.caution})
		}
	}
	if later := d.later(); len(later) > 0 {
		p.Parts = append(p.Parts, Part{ID: "later", Title: "The days after",
			Caption: "Each moment with the cautions above: flare first, engine off before a hopper is opened.",
			Tables:  []Table{d.laterColumns().table("The days after", later)}})
	}
	p.Parts = append(p.Parts, Part{ID: "charge", Title: "Expected charge",
		Caption: say("From %.0f %% now to %.0f %% on the first morning; the floor is at %.0f %%.", d.ChargePct,
			d.Mornings[0].Pct, d.FloorPct),
		Chart: chart(d.Charge, func(c *study.ChargeAt) string { return d.dayClock(c.Minute) },
			allRows, []panel{{axis: "charge, %", share: 1, fromZero: true}},
			curveOf("charge", "bank", bold, func(c *study.ChargeAt) float64 { return c.Pct }),
			curveOf("floor", "short", dashed, func(*study.ChargeAt) float64 { return d.FloorPct })),
		Tables: []Table{d.chargeColumns().table("Expected charge", d.Charge)}})
	return p
}
