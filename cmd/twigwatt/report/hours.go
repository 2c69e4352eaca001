package report

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
)

// HoursText writes how many hours a day for a person at a terminal.
func HoursText(w io.Writer, h *study.Hours) error {
	var b strings.Builder
	fmt.Fprintln(&b, Wrap(hoursAnswer(h), Width, "  "))
	for _, line := range append(hourMoreOrLess(h), shortDaysSave(h)) {
		if line != "" {
			fmt.Fprintln(&b, Wrap(line, Width, "  "))
		}
	}
	b.WriteString("\n")
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "limit\tattended\tengine\tdays\tnine in\tdark\tshort\twood\tbank\t")
	fmt.Fprintln(t, "h a day\thours\thours\tshort\tten\thours\tkWh\tdry kg\tlowest\t")
	for _, l := range h.Limits {
		m := l.Lives
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%.0f\t%s\t%s\t%s\t%.0f %%\t\n", Number(l.MaxHours, 1), Number(m.AttendedH, 0),
			Number(m.EngineH, 0), Number(m.ShortDaysUp(), 1), m.ShortDaysP90,
			Number(m.ShortH, 1), Number(m.ShortKWh, 1), Number(m.DryKg, 0), m.LowestPct)
	}
	t.Flush()
	if l := alikeFrom(h); l != nil {
		fmt.Fprintln(&b, Wrap(fmt.Sprintf("From %s h on the limits are alike: more hours than that are not tended, or not wanted.", Number(l.MaxHours, 1)), Width, ""))
	}
	fmt.Fprintln(&b, Wrap(limitsBasis(h), Width, ""))
	if text := woodText(h); text != "" {
		fmt.Fprintln(&b, Wrap(text, Width, ""))
	}
	b.WriteString("\n")
	card := fmt.Sprintf("Wall card: one start and length for each month, at most %s h a day", Number(h.CardLimit, 1))
	if aYear := 366; h.Span.Days > aYear {
		card += "; the span's first twelve months"
	}
	fmt.Fprintln(&b, Wrap(card, Width, "  "))
	t = tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\t\t\t\tshort\twood\tchosen runs:\twood\t")
	fmt.Fprintln(t, "month    \tlight at\tstop at\thours\tkWh\tdry kg\tshort kWh\tdry kg\t")
	for _, r := range h.Card {
		fmt.Fprintf(t, "%-9s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", r.First.Time().Format("January"),
			cardClock(r, r.StartMinute), cardClock(r, r.StartMinute+r.Minutes),
			Number(float64(r.Minutes)/60, 1), Number(r.ShortfallKWh, 1), Number(r.WoodDryKg, 0),
			Number(r.ChosenShortKWh, 1), Number(r.ChosenDryKg, 0))
	}
	t.Flush()
	fmt.Fprintln(&b, Wrap(cardBasis(h), Width, ""))
	warnings(&b, h.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// limitsBasis says what the limits' figures are.
func limitsBasis(h *study.Hours) string {
	return fmt.Sprintf("Chosen runs under each limit, with shortfall weighed at %s kg of wood a kWh: what a limit can do. %s", Number(h.ShortKg, 0), livesText(h.Lives))
}

// livesText says what figures of lives are.
func livesText(n int) string {
	if n == 1 {
		return "One life, in which nothing fails."
	}
	return fmt.Sprintf("Means of %d lives whose loads swing from day to day, and what the set gives; nothing fails. Nine lives in ten have no more short days than is printed, and none a lower charge.", n)
}

// cardBasis says what the wall card's figures are.
func cardBasis(h *study.Hours) string {
	return "The card is the best in the mean of the same lives; its figures, and those of chosen runs, are of the days that the household's seed draws."
}

// alikeFrom is the first limit of those that bind nothing any more; nil where the last one
// still does.
func alikeFrom(h *study.Hours) *study.Limit {
	last := len(h.Limits) - 1
	first := last
	for first > 0 && *h.Limits[first-1].Lives == *h.Limits[last].Lives {
		first--
	}
	if first == last {
		return nil
	}
	return &h.Limits[first]
}

func cardClock(r study.CardRow, minute int) string {
	if r.Minutes == 0 {
		return "no run"
	}
	return calendar.Clock(minute)
}

// hoursAnswer is the answer in one line.
func hoursAnswer(h *study.Hours) string {
	wanted := "without a short day"
	if h.ShortDays > 0 {
		wanted = "with " + plural(h.ShortDays, "short day") + " at most"
	}
	if h.Least == nil {
		fewest := h.Fewest()
		text := fmt.Sprintf("%s: no limit up to %s h a day gets through %s %s%s; the fewest are %s short, with %s h allowed (%s kWh in the mean)", h.Name, Number(h.Limits[len(h.Limits)-1].MaxHours, 1),
			plural(h.Span.Days, "day"), wanted, inNineOfTen(h), plural(int(fewest.Lives.ShortDaysP90), "day"),
			Number(fewest.MaxHours, 1), Number(fewest.Lives.ShortKWh, 1))
		if out := fewest.Wood.NoWood; out != nil {
			text += fmt.Sprintf("; ready wood runs out on %s, and without it no limit helps: see twigwatt wood", dayIn(h.Span, out.Date))
		} else {
			text += "; " + moreThanHours(fewest.Summary)
		}
		return text
	}
	return fmt.Sprintf("%s: allow %s h a day to get through %s %s%s; that is %s h a day in the mean and %s of oven-dry wood", h.Name, Number(h.Least.MaxHours, 1),
		plural(h.Span.Days, "day"), wanted, inNineOfTen(h), Number(h.Least.Lives.AttendedH/float64(h.Span.Days), 1),
		Mass(h.Least.Lives.DryKg))
}

// inNineOfTen ends a sentence on short days.
func inNineOfTen(h *study.Hours) string {
	if h.Lives == 1 {
		return ""
	}
	return " in nine lives of ten"
}

// shortDaysSave says what one or two short days more would save.
func shortDaysSave(h *study.Hours) string {
	if h.Least == nil {
		return ""
	}
	for more := 1; more <= 2; more++ {
		if l := h.LeastFor(h.ShortDays + more); l != nil && l.MaxHours < h.Least.MaxHours {
			return fmt.Sprintf("If you can bear %s, %s h are enough.", plural(h.ShortDays+more, "short day"), Number(l.MaxHours, 1))
		}
	}
	return ""
}

// moreThanHours says what helps where no limit on the hours does.
func moreThanHours(s *sim.Summary) string {
	if text := besideHours(s); text != "" {
		return text
	}
	return "widen tending.hours, add to the bank, or want less"
}

// limitsText is what the limits come to.
func limitsText(h *study.Hours) string {
	first, last := &h.Limits[0], &h.Limits[len(h.Limits)-1]
	return fmt.Sprintf("With %s h a day allowed %s days go short in the mean, with %s h %s. %s",
		Number(first.MaxHours, 1), Number(first.Lives.ShortDaysUp(), 1),
		Number(last.MaxHours, 1), Number(last.Lives.ShortDaysUp(), 1), limitsBasis(h))
}

// woodText says from which limit on ready wood runs out.
func woodText(h *study.Hours) string {
	for i := range h.Limits {
		if l := &h.Limits[i]; l.Wood.NoWood != nil {
			return fmt.Sprintf("From %s h on ready wood runs out in the span (%s at the earliest): more hours burn it sooner.", Number(l.MaxHours, 1), dayIn(h.Span, earliestNoWood(h)))
		}
	}
	return ""
}

func earliestNoWood(h *study.Hours) calendar.Date {
	first := h.Span.End()
	for i := range h.Limits {
		if out := h.Limits[i].Wood.NoWood; out != nil {
			first = min(first, out.Date)
		}
	}
	return first
}

// hourMoreOrLess says what a limit to either side would cost.
func hourMoreOrLess(h *study.Hours) []string {
	var lines []string
	for i := range h.Limits {
		if h.Least == nil || &h.Limits[i] != h.Least {
			continue
		}
		for _, j := range []int{i - 1, i + 1} {
			if j < 0 || j >= len(h.Limits) {
				continue
			}
			l := h.Limits[j]
			short := "no day short"
			if l.Lives.ShortDays > 0 {
				short = fmt.Sprintf("%s days short in the mean, at most %.0f in nine lives of ten, %s dark hours (%s kWh)",
					Number(l.Lives.ShortDaysUp(), 1), l.Lives.ShortDaysP90,
					Number(l.Lives.ShortH, 1), Number(l.Lives.ShortKWh, 1))
			}
			lines = append(lines, fmt.Sprintf("With %s h: %s, %s of wood.", Number(l.MaxHours, 1), short, Mass(l.Lives.DryKg)))
		}
	}
	return lines
}

type limitJSON struct {
	MaxHours       figure `json:"max_hours"`
	AttendedHours  figure `json:"attended_hours"`
	EngineHours    figure `json:"engine_hours"`
	ShortfallDays  figure `json:"shortfall_days"`
	ShortDaysP90   figure `json:"shortfall_days_p90"`
	ShortfallHours figure `json:"shortfall_hours"`
	ShortfallKWh   figure `json:"shortfall_kwh"`
	WoodDryKg      figure `json:"wood_dry_kg"`
	LowestPct      figure `json:"lowest_pct"`
}

type cardJSON struct {
	Month              string  `json:"month"`
	Start              *string `json:"start"`
	Hours              figure  `json:"hours"`
	ShortfallKWh       figure  `json:"shortfall_kwh"`
	WoodDryKg          figure  `json:"wood_dry_kg"`
	ChosenShortfallKWh figure  `json:"chosen_shortfall_kwh"`
	ChosenWoodDryKg    figure  `json:"chosen_wood_dry_kg"`
}

// HoursJSON writes the limits and the wall card with the keys of the manual.
func HoursJSON(w io.Writer, h *study.Hours) error {
	limits, card := []limitJSON{}, []cardJSON{}
	for _, l := range h.Limits {
		m := l.Lives
		limits = append(limits, limitJSON{figure(l.MaxHours), figure(m.AttendedH), figure(m.EngineH),
			figure(m.ShortDaysUp()), figure(m.ShortDaysP90), figure(m.ShortH),
			figure(m.ShortKWh), figure(m.DryKg), figure(m.LowestPct)})
	}
	for _, r := range h.Card {
		row := cardJSON{Month: r.First.Time().Format("2006-01"), Hours: figure(float64(r.Minutes) / 60),
			ShortfallKWh: figure(r.ShortfallKWh), WoodDryKg: figure(r.WoodDryKg),
			ChosenShortfallKWh: figure(r.ChosenShortKWh), ChosenWoodDryKg: figure(r.ChosenDryKg)}
		if r.Minutes > 0 {
			start := calendar.Clock(r.StartMinute)
			row.Start = &start
		}
		card = append(card, row)
	}
	var least any
	if h.Least != nil {
		least = figure(h.Least.MaxHours)
	}
	return WriteJSON(w, Pairs{{"format", 1}, {"scenario", h.Name}, {"short_kg_per_kwh", h.ShortKg},
		{"lives", h.Lives}, {"limits", limits}, {"least_hours", least},
		{"wall_card_max_hours", h.CardLimit}, {"wall_card", card}, {"warnings", warningsJSON(h.Warnings)}, {"cautions", Cautions}})
}

// HoursPage writes the wall card as a page to hang up, with the limits under it.
func HoursPage(w io.Writer, h *study.Hours, basis Basis) error {
	p := &Page{Basis: basis, Title: h.Name + ": how many hours a day", Subtitle: underTitle(h.Name, hoursAnswer(h)),
		Cautions: Cautions}
	for i, line := range hourMoreOrLess(h) {
		p.Answers = append(p.Answers, Answer{[]string{"Less", "More"}[min(i, 1)], line})
	}
	p.Card = &Card{Title: h.Name + ": when to light", Lead: fmt.Sprintf("One start and length for each month, at most %s h a day.", Number(h.CardLimit, 1)),
		Table: Table{Caption: "Wall card", Head: []string{"month", "light at", "stop at", "hours"}}, Lines: ShortCautions}
	card := Table{Caption: "What the wall card costs against chosen runs",
		Head: []string{"month", "short kWh", "wood dry kg", "chosen: short kWh", "chosen: dry kg"}}
	for _, r := range h.Card {
		month := r.First.Time().Format("January")
		p.Card.Rows = append(p.Card.Rows, []string{month, cardClock(r, r.StartMinute),
			cardClock(r, r.StartMinute+r.Minutes), Number(float64(r.Minutes)/60, 1)})
		card.Rows = append(card.Rows, []string{month, Number(r.ShortfallKWh, 1), Number(r.WoodDryKg, 0),
			Number(r.ChosenShortKWh, 1), Number(r.ChosenDryKg, 0)})
	}
	labels, hours, dark, nine := []string{}, []float64{}, []float64{}, []float64{}
	limits := Table{Caption: "A span for each limit", Head: []string{"limit h", "attended h", "days short",
		"nine in ten", "dark h", "short kWh", "wood dry kg"}}
	for _, l := range h.Limits {
		m := l.Lives
		labels = append(labels, Number(l.MaxHours, 1)+" h")
		hours, dark, nine = append(hours, m.AttendedH), append(dark, m.ShortDays), append(nine, m.ShortDaysP90)
		limits.Rows = append(limits.Rows, []string{Number(l.MaxHours, 1), Number(m.AttendedH, 0),
			Number(m.ShortDaysUp(), 1), Number(m.ShortDaysP90, 0), Number(m.ShortH, 1),
			Number(m.ShortKWh, 1), Number(m.DryKg, 0)})
	}
	p.Parts = []Part{{ID: "limits", Title: "What a limit can do", Caption: limitsText(h), Tall: true,
		Chart: panels(labels, []panel{{axis: "days short", share: 0.5}, {axis: "attended hours", share: 0.5, thousand: true}},
			[]series{{name: "days short: mean", colour: "short", values: dark, bars: true, hollow: true},
				{name: "days short: nine in ten", colour: "short", values: nine, bars: true},
				{name: "attended hours", colour: "engine", values: hours, panel: 1, bars: true}}, false),
		Tables: []Table{card, limits}}}
	for _, warning := range h.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}
