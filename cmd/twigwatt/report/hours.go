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
	for _, line := range hourMoreOrLess(h) {
		fmt.Fprintln(&b, Wrap(line, Width, "  "))
	}
	b.WriteString("\n")
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "limit\tattended\tengine\tdays\tdark\tshort\twood\tbank\t")
	fmt.Fprintln(t, "h a day\thours\thours\tshort\thours\tkWh\tdry kg\tlowest\t")
	for _, l := range h.Limits {
		fmt.Fprintf(t, "%s\t%s\t%s\t%d\t%s\t%s\t%s\t%.0f %%\t\n", Number(l.MaxHours, 1), Number(l.Total.AttendedH, 0), Number(l.Total.EngineH, 0), l.Shortage.Days,
			Number(l.Total.ShortfallH, 1), Number(l.Total.ShortfallKWh, 1), Number(l.Total.BurnedDryKg, 0), l.Bank.LowestPct)
	}
	t.Flush()
	fmt.Fprintln(&b, Wrap(fmt.Sprintf("Chosen runs under each limit, with shortfall weighed at %s kg of wood a kWh: what a limit can do.", Number(h.ShortKg, 0)), Width, ""))
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
		fmt.Fprintf(t, "%-9s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", r.First.Time().Format("January"), cardClock(r, r.StartMinute), cardClock(r, r.StartMinute+r.Minutes),
			Number(float64(r.Minutes)/60, 1), Number(r.ShortfallKWh, 1), Number(r.WoodDryKg, 0), Number(r.ChosenShortKWh, 1), Number(r.ChosenDryKg, 0))
	}
	t.Flush()
	warnings(&b, h.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
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
		text := fmt.Sprintf("%s: no limit up to %s h a day gets through %s %s; the fewest are %s short (%s kWh), with %s h allowed", h.Name, Number(h.Limits[len(h.Limits)-1].MaxHours, 1),
			plural(h.Span.Days, "day"), wanted, plural(fewest.Shortage.Days, "day"), Number(fewest.Total.ShortfallKWh, 1), Number(fewest.MaxHours, 1))
		if out := fewest.Wood.NoWood; out != nil {
			text += fmt.Sprintf("; ready wood runs out on %s, and without it no limit helps: see twigwatt wood", dayIn(h.Span, out.Date))
		} else {
			text += "; " + moreThanHours(fewest.Summary)
		}
		return text
	}
	return fmt.Sprintf("%s: allow %s h a day to get through %s %s; that is %s h a day in the mean and %s of oven-dry wood", h.Name, Number(h.Least.MaxHours, 1),
		plural(h.Span.Days, "day"), wanted, Number(h.Least.AttendedADay, 1), Mass(h.Least.Total.BurnedDryKg))
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
	return fmt.Sprintf("With %s h a day allowed %s go short, with %s h %s; shortfall is weighed at %s kg of wood a kWh.", Number(first.MaxHours, 1), plural(first.Shortage.Days, "day"),
		Number(last.MaxHours, 1), Number(float64(last.Shortage.Days), 0), Number(h.ShortKg, 0))
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
			if l.Shortage.Days > 0 {
				short = fmt.Sprintf("%s short, %s dark hours (%s kWh)", plural(l.Shortage.Days, "day"), Number(l.Total.ShortfallH, 1), Number(l.Total.ShortfallKWh, 1))
			}
			lines = append(lines, fmt.Sprintf("With %s h: %s, %s of wood.", Number(l.MaxHours, 1), short, Mass(l.Total.BurnedDryKg)))
		}
	}
	return lines
}

type limitJSON struct {
	MaxHours       figure `json:"max_hours"`
	AttendedHours  figure `json:"attended_hours"`
	EngineHours    figure `json:"engine_hours"`
	ShortfallDays  int    `json:"shortfall_days"`
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
		limits = append(limits, limitJSON{figure(l.MaxHours), figure(l.Total.AttendedH), figure(l.Total.EngineH), l.Shortage.Days, figure(l.Total.ShortfallH),
			figure(l.Total.ShortfallKWh), figure(l.Total.BurnedDryKg), figure(l.Bank.LowestPct)})
	}
	for _, r := range h.Card {
		row := cardJSON{Month: r.First.Time().Format("2006-01"), Hours: figure(float64(r.Minutes) / 60), ShortfallKWh: figure(r.ShortfallKWh), WoodDryKg: figure(r.WoodDryKg),
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
	return WriteJSON(w, Pairs{{"format", 1}, {"scenario", h.Name}, {"short_kg_per_kwh", h.ShortKg}, {"limits", limits}, {"least_hours", least},
		{"wall_card_max_hours", h.CardLimit}, {"wall_card", card}, {"warnings", warningsJSON(h.Warnings)}, {"cautions", Cautions}})
}

// HoursPage writes the wall card as a page to hang up, with the limits under it.
func HoursPage(w io.Writer, h *study.Hours, basis Basis) error {
	p := &Page{Basis: basis, Title: h.Name + ": how many hours a day", Subtitle: underTitle(h.Name, hoursAnswer(h)), Cautions: Cautions}
	for i, line := range hourMoreOrLess(h) {
		p.Answers = append(p.Answers, Answer{[]string{"Less", "More"}[min(i, 1)], line})
	}
	p.Card = &Card{Title: h.Name + ": when to light", Lead: fmt.Sprintf("One start and length for each month, at most %s h a day.", Number(h.CardLimit, 1)),
		Table: Table{Caption: "Wall card", Head: []string{"month", "light at", "stop at", "hours"}}, Lines: ShortCautions}
	card := Table{Caption: "What the wall card costs against chosen runs", Head: []string{"month", "short kWh", "wood dry kg", "chosen: short kWh", "chosen: dry kg"}}
	for _, r := range h.Card {
		month := r.First.Time().Format("January")
		p.Card.Rows = append(p.Card.Rows, []string{month, cardClock(r, r.StartMinute), cardClock(r, r.StartMinute+r.Minutes), Number(float64(r.Minutes)/60, 1)})
		card.Rows = append(card.Rows, []string{month, Number(r.ShortfallKWh, 1), Number(r.WoodDryKg, 0), Number(r.ChosenShortKWh, 1), Number(r.ChosenDryKg, 0)})
	}
	labels, hours, dark := []string{}, []float64{}, []float64{}
	limits := Table{Caption: "A span for each limit", Head: []string{"limit h", "attended h", "days short", "dark h", "short kWh", "wood dry kg"}}
	for _, l := range h.Limits {
		labels = append(labels, Number(l.MaxHours, 1)+" h")
		hours, dark = append(hours, l.Total.AttendedH), append(dark, float64(l.Shortage.Days))
		limits.Rows = append(limits.Rows, []string{Number(l.MaxHours, 1), Number(l.Total.AttendedH, 0), fmt.Sprint(l.Shortage.Days), Number(l.Total.ShortfallH, 1),
			Number(l.Total.ShortfallKWh, 1), Number(l.Total.BurnedDryKg, 0)})
	}
	p.Parts = []Part{{ID: "limits", Title: "What a limit can do", Caption: limitsText(h), Tall: true,
		Chart: panels(labels, []panel{{axis: "days short", share: 0.5}, {axis: "attended hours", share: 0.5, thousand: true}},
			[]series{{name: "days short", colour: "short", values: dark, bars: true}, {name: "attended hours", colour: "engine", values: hours, panel: 1, bars: true}}, false),
		Tables: []Table{card, limits}}}
	for _, warning := range h.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}
