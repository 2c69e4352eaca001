package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"twigwatt/sim"
	"twigwatt/sim/money"
	"twigwatt/sim/study"
)

// weekColumns are what a size comes to in the hardest week, spanColumns over the span.
var weekColumns, spanColumns = list[study.Size]{
	figures("days\nshort", "shortfall_days", 1, func(s *study.Size) float64 { return s.WeekLives.ShortDaysUp() }),
	figures("nine in\nten", "shortfall_days_p90", 0, func(s *study.Size) float64 { return s.WeekLives.ShortDaysP90 }),
	figures("short\nkWh", "shortfall_kwh", 1, func(s *study.Size) float64 { return s.WeekLives.ShortKWh }),
	onlyJSON("shortfall_hours", func(s *study.Size) any { return s.WeekLives.ShortH }),
	percents("bank\nlowest", "lowest_pct", 0, func(s *study.Size) float64 { return s.WeekLives.LowestPct }),
	percents("spare\nleft", "spare_left_pct", 1, func(s *study.Size) float64 { return s.SpareLeftPct }),
	figures("engine\nhours", "engine_hours", 0, func(s *study.Size) float64 { return s.WeekLives.EngineH }),
	figures("days without\nengine", "days_without_engine", 1, func(s *study.Size) float64 { return s.DaysWithoutEngine }),
	percents("bears\nmore", "bears_more_pct", 0, func(s *study.Size) float64 { return s.BearsMorePct }),
}, list[study.Size]{
	figures("days\nshort", "year_shortfall_days", 1, func(s *study.Size) float64 { return s.SpanLives.ShortDaysUp() }),
	figures("nine in\nten", "year_shortfall_days_p90", 0, func(s *study.Size) float64 { return s.SpanLives.ShortDaysP90 }),
	figures("full cycles\na year", "full_cycles_year", 0, func(s *study.Size) float64 { return s.FullCyclesAYear }),
	amounts("years\nof life", "", func(s *study.Size) string {
		life := LifeText(s.Span.Bank.LifeLowYears, s.Span.Bank.LifeHighYears)
		return strings.TrimSuffix(strings.TrimSuffix(life, "s"), " year")
	}, nil),
	figures("days between\nfull charges", "days_between_full", 0,
		func(s *study.Size) float64 { return s.Span.Bank.DaysBetweenFull }),
	onlyJSON("life_years_low", func(s *study.Size) any { return s.Span.Bank.LifeLowYears }),
	onlyJSON("life_years_high", func(s *study.Size) any { return s.Span.Bank.LifeHighYears }),
	figures("lost kWh\na year", "lost_kwh_year", 0, func(s *study.Size) float64 { return s.LostKWhAYear }),
}

// sizeCost is what a size costs.
func sizeCost(b *study.BankAnswer) list[study.Size] {
	return costColumns(b.Money, func(s *study.Size) *money.Cost { return s.Span.Cost })
}

// cheapestText names the cheapest size that carries the week.
func cheapestText(b *study.BankAnswer) string {
	if b.Cheapest == nil {
		return ""
	}
	return say("Cheapest of those that carry the week: %s, by its price, its life and the wood and hours with it.",
		sizeText(b, b.Cheapest.KWh))
}

// sizeColumns name a size: in amp-hours first where the household speaks of them.
func sizeColumns(b *study.BankAnswer) list[study.Size] {
	ampHours := func(s *study.Size) float64 { return s.KWh * 1000 / b.Bank.Volts }
	kWh := figures("\nkWh", "kwh", 1, func(s *study.Size) float64 { return s.KWh })
	if b.Bank.Volts == 0 {
		return list[study.Size]{kWh, onlyJSON("amp_hours", func(*study.Size) any { return nil })}
	}
	return list[study.Size]{figures("\nAh", "amp_hours", 0, ampHours), kWh}
}

// sizeText names a size.
func sizeText(b *study.BankAnswer, kWh float64) string {
	if b.Bank.Volts == 0 {
		return say("%.1f kWh", kWh)
	}
	return say("%.0f Ah at %s V (%.1f kWh)", kWh*1000/b.Bank.Volts, strconv.FormatFloat(b.Bank.Volts, 'g', 6, 64), kWh)
}

// Bank reports how big a bank.
func Bank(b *study.BankAnswer) *Report {
	size := sizeColumns(b)
	all := slices.Concat(size, weekColumns, spanColumns, sizeCost(b))
	return &Report{Warnings: b.Warnings, Page: func() *Page { return bankPage(b, all) },
		Text: func(t *Terminal) {
			t.Line("%s", bankAnswer(b))
			t.Line("%s", weekText(b))
			t.WriteString("\nIn that week\n")
			slices.Concat(size, weekColumns).text(t, b.Sizes)
			t.Note(say("A size carries the week where nine lives in ten have no short day, "+
				"and %s %% of the bank or more stay to spare above the floor (and the cold on it) "+
				"as the household's own days come.", sparePct(b)))
			fmt.Fprintf(t, "\nOver the span, %s\n", plural(b.Span.Days, "day"))
			slices.Concat(size, spanColumns).text(t, b.Sizes)
			if b.Money != nil {
				t.WriteString("\nWhat each costs, " + b.Money.Unit + "\n")
				slices.Concat(size, sizeCost(b)).text(t, b.Sizes)
				t.Note(cheapestText(b))
			}
			t.Note(say("Chosen runs, with shortfall weighed at %.0f kg of wood a kWh: what a size can do. "+
				"%s Cycles, life and losses are those of the days as the household's seed draws them. "+
				"Life: rainflow and Miner's sum on cycle_life with calendar life (SOURCES.md, cycle life), a range.",
				b.ShortKg, livesText(b.Household, b.Lives)))
			t.Note(inverterText(b))
			t.Note(airText(b))
			if s := b.Least; s != nil {
				t.Gap()
				fmt.Fprintf(t, "The week with %s kWh\n", Number(s.KWh, 1))
				weekDayColumns(s.Week.Household).text(t, s.Week.Books.Days)
			}
		},
		JSON: func() Pairs {
			return Pairs{{"scenario", b.Name}, {"short_kg_per_kwh", b.ShortKg}, {"week_start", b.WeekStart},
				{"engine_out_days", b.EngineOut}, {"lives", b.Lives}, {"sizes", all.json(b.Sizes)},
				{"least_kwh", orNull(b.Least, func(s study.Size) any { return figure(s.KWh) })},
				{"cheapest_kwh", orNull(b.Cheapest, func(s study.Size) any { return figure(s.KWh) })}}
		}}
}

// weekDayColumns are a day of the recommended size's week.
func weekDayColumns(week *sim.Household) list[sim.DayRecord] {
	fullKWh := week.Bank.FullKWh
	panels := figures("panels kWh", "", 1, func(d *sim.DayRecord) float64 { return d.Sun.MadeKWh() })
	if week.Demand.SunKW == nil {
		panels.title = ""
	}
	return list[sim.DayRecord]{
		texts("day", "", func(d *sim.DayRecord) string { return d.Date.Time().Format("Mon 2") }, nil),
		figures("hours", "", 1, func(d *sim.DayRecord) float64 { return d.AttendedH }),
		figures("wanted kWh", "", 1, func(d *sim.DayRecord) float64 { return d.LoadKWh }),
		figures("made kWh", "", 1, func(d *sim.DayRecord) float64 { return d.EngineKWh }),
		panels,
		percents("lowest", "", 0, func(d *sim.DayRecord) float64 { return 100 * d.LowestKWh / fullKWh }),
		percents("highest", "", 0, func(d *sim.DayRecord) float64 { return 100 * d.HighestKWh / fullKWh }),
	}
}

func bankPage(b *study.BankAnswer, columns list[study.Size]) *Page {
	p := &Page{Title: b.Name + ": how big a bank", Subtitle: weekText(b),
		Answers: []Answer{{"Bank", underTitle(b.Name, bankAnswer(b))}}}
	p.answer("Air", airText(b))
	p.answer("Peaks", inverterText(b))
	if b.Money != nil {
		p.answer("Cheapest", cheapestText(b))
	}
	caption := say("From full and without the engine, %.1f kWh carry the house for %.1f days of such a week, %.1f kWh for %.1f. %s",
		b.Smallest.KWh, b.Smallest.DaysWithoutEngine,
		b.Largest.KWh, b.Largest.DaysWithoutEngine, livesText(b.Household, b.Lives))
	p.Parts = []Part{{ID: "sizes", Title: "Each size in the hardest week", Caption: caption, Tall: true,
		Chart: chart(b.Sizes, func(s *study.Size) string { return Number(s.KWh, 1) + " kWh" },
			allRows, []panel{{axis: "short, kWh", share: 0.5}, {axis: "days carried", share: 0.5}},
			curveOf("short", "short", bars, func(s *study.Size) float64 { return s.WeekLives.ShortKWh }),
			curveOf("days carried without engine", "bank", lower|bars,
				func(s *study.Size) float64 { return s.DaysWithoutEngine })),
		Tables: []Table{columns.table("Each size in the week, then over the span", b.Sizes)}}}
	if s := b.Least; s != nil {
		week := weekPart(s.Week)
		week.Title = "The week with " + Number(s.KWh, 1) + " kWh"
		p.Parts = append(p.Parts, week)
	}
	return p
}

func sparePct(b *study.BankAnswer) string { return Number(100*b.Prices.SpareShare, 0) }

func bankAnswer(b *study.BankAnswer) string {
	inNine := ""
	if b.Lives > 1 {
		inNine = " and no day short in nine lives of ten"
	}
	if s := b.Least; s != nil {
		text := say("%s: %s is the smallest of these that carries the hardest week with %s %% to spare "+
			"above the floor%s; it bears %.0f %% more load before dark",
			b.Name, sizeText(b, s.KWh), sparePct(b), inNine, s.BearsMorePct)
		if days := s.SpanLives.ShortDaysP90; days > 0 {
			text += say("; over the whole span up to %s still go short in nine lives of ten", plural(int(days), "day"))
		}
		return text
	}
	text := say("%s: none of these sizes carries the hardest week with %s %% to spare above the floor%s",
		b.Name, sparePct(b), inNine)
	switch b.AgainstIt {
	case study.LongerRunToFill, study.MoreHoursToFill, study.ChargerToFill, study.SmallerBankToFill, study.UseLessToFill:
		return say("%s: those of these sizes that carry the hardest week are hardly ever full, and would sulphate; DO %s",
			b.Name, remedyText(b.AgainstIt, b.Largest.Week.Summary))
	case study.NoRemedy:
		return text
	case study.AllowMoreHours:
		return text + say("; with %.1f kWh the set runs nearly all the hours it may: allow more hours a day, or want less",
			b.Largest.KWh)
	case study.LargerBank:
		return text + "; ask for larger ones with --kwh, or want less"
	}
	return text + "; " + remedyText(b.AgainstIt, b.Largest.Week.Summary)
}

func weekText(b *study.BankAnswer) string {
	sky := ""
	if b.Demand.SunKW != nil {
		sky = say("the sun at %.0f %% of the usual, ", 100*b.Snap.SunShare)
	}
	text := say("The week from %s, with a cold snap on it: the air at %.1f °C, the load at %.0f %%, "+
		"%sthe bank at %.0f %% as it begins",
		DayYear(b.WeekStart), b.Snap.AirC, 100*b.Snap.LoadShare, sky, 100*b.StartShare)
	switch {
	case b.EngineOut == 1:
		text += ", and no engine on its first day"
	case b.EngineOut > 1:
		text += ", and no engine on its first " + plural(b.EngineOut, "day")
	}
	return text + "."
}

// inverterText says where more load is ended by the inverter, which no size helps.
func inverterText(b *study.BankAnswer) string {
	var sizes []string
	inverterKW := 0.0
	for i := range b.Sizes {
		if s := &b.Sizes[i]; s.InverterEnds {
			sizes, inverterKW = append(sizes, Number(s.KWh, 1)), s.Week.Household.Bank.InverterKW
		}
	}
	if len(sizes) == 0 {
		return ""
	}
	at := "at " + strings.Join(sizes, ", ") + " kWh"
	if len(sizes) == len(b.Sizes) {
		at = "at each size"
	}
	return say("With still more load than it bears, %s, most of what is missed passes the inverter's %.1f kW: "+
		"there a larger inverter helps, and no bank.",
		at, inverterKW)
}

// airText says what air a lead-acid bank wants.
func airText(b *study.BankAnswer) string {
	if b.Air == nil {
		return ""
	}
	return say("Ventilation for %.1f kWh while it charges hard: "+
		"%.1f m³ of air an hour, a free opening of %.0f cm² (EN/IEC 62485-2, boost).",
		b.Air.KWh, b.Air.M3H, b.Air.OpeningCm2)
}
