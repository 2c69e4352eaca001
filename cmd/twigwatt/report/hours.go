package report

import (
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/money"
	"twigwatt/sim/study"
)

// limitColumns are what a limit on a day's hours comes to.
var limitColumns = list[study.Limit]{
	figures("limit\nh/day", "max_hours", 1, func(l *study.Limit) float64 { return l.MaxHours }),
	figures("attended\nhours", "attended_hours", 0, func(l *study.Limit) float64 { return l.Lives.AttendedH }),
	figures("engine\nhours", "engine_hours", 0, func(l *study.Limit) float64 { return l.Lives.EngineH }),
	figures("days\nshort", "shortfall_days", 1, func(l *study.Limit) float64 { return l.Lives.ShortDaysUp() }),
	figures("nine in\nten", "shortfall_days_p90", 0, func(l *study.Limit) float64 { return l.Lives.ShortDaysP90 }),
	figures("dark\nhours", "shortfall_hours", 0, func(l *study.Limit) float64 { return l.Lives.ShortH }),
	figures("short\nkWh", "shortfall_kwh", 1, func(l *study.Limit) float64 { return l.Lives.ShortKWh }),
	figures("wood\ndry kg", "wood_dry_kg", 0, func(l *study.Limit) float64 { return l.Lives.DryKg }),
	percents("bank\nlowest", "lowest_pct", 0, func(l *study.Limit) float64 { return l.Lives.LowestPct }),
	figures("full\nevery", "days_between_full", 0, func(l *study.Limit) float64 { return l.Summary.Bank.DaysBetweenFull }),
}

// limitCost is what a limit costs.
func limitCost(h *study.HoursAnswer) list[study.Limit] {
	return costColumns(h.Money, func(l *study.Limit) *money.Cost { return l.Summary.Cost })
}

// cardColumns are the wall card's: what is read on the wall, and then what it costs to keep.
var cardColumns, cardCostColumns = list[study.CardRow]{
	monthColumn("January", func(r *study.CardRow) calendar.Date { return r.First }),
	texts("light at", "start", func(r *study.CardRow) string { return cardClock(r, r.StartMinute) }, cardStart),
	texts("stop at", "", func(r *study.CardRow) string { return cardClock(r, r.StartMinute+r.Minutes) }, nil),
	figures("hours", "hours", 1, func(r *study.CardRow) float64 { return float64(r.Minutes) / 60 }),
}, list[study.CardRow]{
	figures("short\nkWh", "shortfall_kwh", 1, func(r *study.CardRow) float64 { return r.ShortfallKWh }),
	figures("wood\ndry kg", "wood_dry_kg", 0, func(r *study.CardRow) float64 { return r.WoodDryKg }),
	figures("chosen runs:\nshort kWh", "chosen_shortfall_kwh", 1, func(r *study.CardRow) float64 { return r.ChosenShortKWh }),
	figures("wood\ndry kg", "chosen_wood_dry_kg", 0, func(r *study.CardRow) float64 { return r.ChosenDryKg }),
}

func cardClock(r *study.CardRow, minute int) string {
	if r.Minutes == 0 {
		return "no run"
	}
	return calendar.Clock(minute)
}

func cardStart(r *study.CardRow) any {
	if r.Minutes == 0 {
		return nil
	}
	return calendar.Clock(r.StartMinute)
}

// Hours reports how many hours a day; its page is the wall card to hang up, with the limits
// under it.
func Hours(h *study.HoursAnswer) *Report {
	card := slices.Concat(cardColumns, cardCostColumns)
	return &Report{Warnings: h.Warnings, Page: func() *Page { return hoursPage(h) },
		Text: func(t *Terminal) {
			t.Line("%s", hoursAnswer(h))
			for _, text := range []string{limitText(h.Lower), limitText(h.Higher), bearingText(h)} {
				if text != "" {
					t.Line("%s", text)
				}
			}
			t.Gap()
			limitColumns.text(t, h.Limits)
			if h.Money != nil {
				t.WriteString("\nWhat each costs, " + h.Money.Unit + "\n")
				slices.Concat(limitColumns[:1], limitCost(h)).text(t, h.Limits)
			}
			if h.Alike != nil {
				t.Note(say("From %.1f h on the limits are alike: more hours than that are not tended, or not wanted.", h.Alike.MaxHours))
			}
			t.Note(limitsBasis(h))
			if h.WoodEnds != nil {
				t.Note(say("From %.1f h on ready wood runs out in the span (%s at the earliest): more hours burn it sooner.",
					h.WoodEnds.MaxHours, dayIn(h.Span, h.WoodEndsOn)))
			}
			t.Gap()
			firstYear := ""
			if aYear := 366; h.Span.Days > aYear {
				firstYear = "; the span's first twelve months"
			}
			t.Line("Wall card: one start and length for each month, at most %.1f h a day%s", h.CardLimitH, firstYear)
			card.text(t, h.Card)
			t.Note("The card is the best in the mean of the same lives; " +
				"its figures, and those of chosen runs, are of the days that the household's seed draws.")
		},
		JSON: func() Pairs {
			return Pairs{{"scenario", h.Name}, {"short_kg_per_kwh", h.ShortKg}, {"lives", h.Lives},
				{"limits", slices.Concat(limitColumns, limitCost(h)).json(h.Limits)},
				{"least_hours", orNull(h.Least, func(l study.Limit) any { return figure(l.MaxHours) })},
				{"wall_card_max_hours", h.CardLimitH}, {"wall_card", card.json(h.Card)}}
		}}
}

func hoursPage(h *study.HoursAnswer) *Page {
	p := &Page{Title: h.Name + ": how many hours a day", Subtitle: underTitle(h.Name, hoursAnswer(h))}
	p.answer("Less", limitText(h.Lower))
	p.answer("More", limitText(h.Higher))
	p.Card = &Card{Title: h.Name + ": when to light", Table: cardColumns.table("Wall card", h.Card), Lines: ShortCautions,
		Lead: say("One start and length for each month, at most %.1f h a day.", h.CardLimitH)}
	cost := slices.Concat(cardColumns[:1], cardCostColumns)
	first, last := &h.Limits[0], &h.Limits[len(h.Limits)-1]
	p.Parts = []Part{{ID: "limits", Title: "What a limit can do", Tall: true,
		Caption: say("With %.1f h a day allowed %.1f days go short in the mean, with %.1f h %.1f. %s",
			first.MaxHours, first.Lives.ShortDaysUp(),
			last.MaxHours, last.Lives.ShortDaysUp(), limitsBasis(h)),
		Chart: chart(h.Limits, func(l *study.Limit) string { return Number(l.MaxHours, 1) + " h" },
			allRows, []panel{{axis: "days short", share: 0.5}, {axis: "attended hours", share: 0.5, thousands: true}},
			curveOf("days short: mean", "short", bars|hollow,
				func(l *study.Limit) float64 { return l.Lives.ShortDays }),
			curveOf("days short: nine in ten", "short", bars,
				func(l *study.Limit) float64 { return l.Lives.ShortDaysP90 }),
			curveOf("attended hours", "engine", lower|bars,
				func(l *study.Limit) float64 { return l.Lives.AttendedH })),
		Tables: []Table{cost.table("What the wall card costs against chosen runs", h.Card),
			limitColumns.table("A span for each limit", h.Limits)}}}
	return p
}

// hoursAnswer is the answer in one line.
func hoursAnswer(h *study.HoursAnswer) string {
	wanted := "without a short day"
	if h.ShortDays > 0 {
		wanted = "with " + plural(h.ShortDays, "short day") + " at most"
	}
	inNine := ""
	if h.Lives > 1 {
		inNine = " in nine lives of ten"
	}
	if least := h.Least; least != nil {
		return say("%s: allow %.1f h a day to get through %s %s%s; that is %.1f h a day in the mean and %s of oven-dry wood",
			h.Name, least.MaxHours, plural(h.Span.Days, "day"), wanted, inNine,
			least.Lives.AttendedH/float64(h.Span.Days), Mass(least.Lives.DryKg))
	}
	fewest := h.Fewest
	text := say("%s: no limit up to %.1f h a day gets through %s %s%s; "+
		"the fewest are %s short, with %.1f h allowed (%.1f kWh in the mean); ",
		h.Name, h.Limits[len(h.Limits)-1].MaxHours, plural(h.Span.Days, "day"), wanted, inNine,
		plural(int(fewest.Lives.ShortDaysP90), "day"), fewest.MaxHours, fewest.Lives.ShortKWh)
	switch out := fewest.Wood.NoWood; {
	case out != nil:
		return text + say("ready wood runs out on %s, and without it no limit helps: see twigwatt wood", dayIn(h.Span, out.Date))
	case h.AgainstIt != study.NoRemedy:
		return text + remedyText(h.AgainstIt, fewest.Summary)
	}
	return text + "widen tending.hours, add to the bank, or want less"
}

// bearingText says what one or two short days more would save.
func bearingText(h *study.HoursAnswer) string {
	if h.Bearing == nil {
		return ""
	}
	return say("If you can bear %s, %.1f h are enough.", plural(h.BearDays, "short day"), h.Bearing.MaxHours)
}

// limitText is what another limit would cost; nil: nothing to say.
func limitText(l *study.Limit) string {
	if l == nil {
		return ""
	}
	short := "no day short"
	if l.Lives.ShortDays > 0 {
		short = say("%.1f days short in the mean, at most %.0f in nine lives of ten, %.1f dark hours (%.1f kWh)",
			l.Lives.ShortDaysUp(), l.Lives.ShortDaysP90, l.Lives.ShortH, l.Lives.ShortKWh)
	}
	return say("With %.1f h: %s, %s of wood.", l.MaxHours, short, Mass(l.Lives.DryKg))
}

// limitsBasis says what the limits' figures are.
func limitsBasis(h *study.HoursAnswer) string {
	return say("Chosen runs under each limit, with shortfall weighed at %.0f kg of wood a kWh: what a limit can do. %s",
		h.ShortKg, livesText(h.Household, h.Lives))
}

// livesText says what figures of lives are.
func livesText(h *sim.Household, n int) string {
	if n == 1 {
		return "One life, in which nothing fails."
	}
	differ := "loads swing from day to day, and what the set gives"
	if h.Demand.SkySpreads() {
		differ = "loads and sky swing from day to day, and what the set gives"
	}
	return say("Means of %d lives whose %s; "+
		"nothing fails. Nine lives in ten have no more short days than is printed, and none a lower charge.", n, differ)
}
