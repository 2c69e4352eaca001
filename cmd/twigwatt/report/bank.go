package report

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"twigwatt/sim/study"
	"twigwatt/storage/battery"
)

// BankText writes how big a bank for a person at a terminal.
func BankText(w io.Writer, b *study.Bank) error {
	var out strings.Builder
	fmt.Fprintln(&out, Wrap(bankAnswer(b), Width, "  "))
	fmt.Fprintln(&out, Wrap(weekText(b), Width, "  "))
	out.WriteString("\n")
	sizeTables(&out, b)
	fmt.Fprintln(&out, Wrap(fmt.Sprintf("Chosen runs, with shortfall weighed at %s kg of wood a kWh: what a size can do. %s Cycles, life and losses are those of the days as the household's seed draws them. Life: rainflow and Miner's sum on cycle_life with calendar life (SOURCES.md, cycle life), a range.",
		Number(b.ShortKg, 0), livesText(b.Lives)), Width, ""))
	for _, text := range []string{inverterText(b), ventilationText(b)} {
		if text != "" {
			fmt.Fprintln(&out, Wrap(text, Width, ""))
		}
	}
	if b.Least != nil {
		out.WriteString("\n")
		leastWeek(&out, b.Least)
	}
	warnings(&out, b.Warnings)
	Closing(&out)
	_, err := io.WriteString(w, out.String())
	return err
}

// sizeTables write each size in the week, and over the span.
func sizeTables(out *strings.Builder, b *study.Bank) {
	out.WriteString("In that week\n")
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tdays\tnine in\tshort\tbank\tspare\tengine\tdays without\tbears\t")
	fmt.Fprintln(t, "  kWh\tshort\tten\tkWh\tlowest\tleft\thours\tengine\tmore\t")
	for i := range b.Sizes {
		s := &b.Sizes[i]
		m := s.WeekLives
		fmt.Fprintf(t, "%s\t%s\t%.0f\t%s\t%.0f %%\t%.1f %%\t%s\t%s\t%s %%\t\n", Number(s.KWh, 1),
			Number(m.ShortDaysUp(), 1), m.ShortDaysP90, Number(m.ShortKWh, 1), m.LowestPct, s.SpareLeftPct,
			Number(m.EngineH, 0), Number(s.DaysWithoutEngine, 1), Number(s.BearsMorePct, 0))
	}
	t.Flush()
	fmt.Fprintln(out, Wrap(fmt.Sprintf("A size carries the week where nine lives in ten have no short day, and %s %% of the bank or more stay to spare above the floor (and the cold on it) as the household's own days come.",
		Number(b.SparePct, 0)), Width, ""))
	fmt.Fprintf(out, "\nOver the span, %s\n", plural(b.Span.Days, "day"))
	t = tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tdays\tnine in\tfull cycles\tyears\tlost kWh\t")
	fmt.Fprintln(t, "  kWh\tshort\tten\ta year\tof life\ta year\t")
	for i := range b.Sizes {
		s := &b.Sizes[i]
		life := strings.TrimSuffix(strings.TrimSuffix(LifeText(s.Span.Bank.LifeLowYears, s.Span.Bank.LifeHighYears), "s"), " year")
		fmt.Fprintf(t, "%s\t%s\t%.0f\t%s\t%s\t%s\t\n", Number(s.KWh, 1), Number(s.SpanLives.ShortDaysUp(), 1),
			s.SpanLives.ShortDaysP90, Number(aYear(b, s.Span.Bank.FullCycles), 0), life, Number(aYear(b, s.Span.Total.Lost.TotalKWh()), 0))
	}
	t.Flush()
}

// leastWeek writes the recommended size's week, a row a day.
func leastWeek(out *strings.Builder, s *study.Size) {
	fmt.Fprintf(out, "The week with %s kWh\n", Number(s.KWh, 1))
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "day   \thours\twanted kWh\tmade kWh\tlowest\thighest\t")
	for i := range s.WeekBooks.Days {
		d := &s.WeekBooks.Days[i]
		full := s.WeekHouse.Bank.FullKWh
		fmt.Fprintf(t, "%-6s\t%s\t%s\t%s\t%.0f %%\t%.0f %%\t\n", d.Date.Time().Format("Mon 2"), Number(d.AttendedH, 1),
			Number(d.LoadKWh, 1), Number(d.EngineKWh, 1), 100*d.LowestKWh/full, 100*d.HighestKWh/full)
	}
	t.Flush()
}

func aYear(b *study.Bank, x float64) float64 { return x * 365.25 / float64(b.Span.Days) }

func bankAnswer(b *study.Bank) string {
	if b.Least == nil {
		text := fmt.Sprintf("%s: none of these sizes carries the hardest week with %s %% to spare above the floor%s",
			b.Name, Number(b.SparePct, 0), nineOfTen(b.Lives))
		const nearlyAll = 0.95
		if s := largest(b); s != nil && besideHours(s.Week) == "" && s.Week.Total.AttendedH >= nearlyAll*s.Week.MaxHoursADay*float64(s.Week.Span.Days) {
			text += fmt.Sprintf("; with %s kWh the set runs nearly all the hours it may: allow more hours a day, or want less", Number(s.KWh, 1))
		} else if s != nil && besideHours(s.Week) != "" {
			text += "; " + besideHours(s.Week)
		} else if s != nil {
			text += "; ask for larger ones with --kwh, or want less"
		}
		return text
	}
	return fmt.Sprintf("%s: %s kWh is the least of these that carries the hardest week with %s %% to spare above the floor%s; it bears %s %% more load before dark", b.Name, Number(b.Least.KWh, 1),
		Number(b.SparePct, 0), nineOfTen(b.Lives), Number(b.Least.BearsMorePct, 0)) + overTheSpan(b)
}

// overTheSpan says what the recommended size leaves dark in the rest of the span.
func overTheSpan(b *study.Bank) string {
	days := b.Least.SpanLives.ShortDaysP90
	if days == 0 {
		return ""
	}
	return fmt.Sprintf("; over the whole span up to %s still go short in nine lives of ten", plural(int(days), "day"))
}

// nineOfTen ends a sentence on what no day is short in.
func nineOfTen(lives int) string {
	if lives == 1 {
		return ""
	}
	return " and no day short in nine lives of ten"
}

// largest is the largest size, nil where there is none.
func largest(b *study.Bank) *study.Size {
	var most *study.Size
	for i := range b.Sizes {
		if s := &b.Sizes[i]; most == nil || s.KWh > most.KWh {
			most = s
		}
	}
	return most
}

func weekText(b *study.Bank) string {
	text := fmt.Sprintf("The week from %s, with a cold snap on it: the air at %s °C, the load at %s %%, the bank at %s %% as it begins", DayYear(b.WeekStart), Number(b.Snap.AirC, 1), Number(100*b.Snap.LoadShare, 0), Number(b.StartPct, 0))
	if b.EngineOut > 0 {
		out := plural(b.EngineOut, "day")
		if b.EngineOut == 1 {
			out = "day"
		}
		text += ", and no engine on its first " + out
	}
	return text + "."
}

// carriedText is what the sizes come to without the engine.
func carriedText(b *study.Bank) string {
	most := largest(b)
	if most == nil {
		return "No size was asked for."
	}
	least := &b.Sizes[0]
	for i := range b.Sizes {
		if b.Sizes[i].KWh < least.KWh {
			least = &b.Sizes[i]
		}
	}
	return fmt.Sprintf("From full and without the engine, %s kWh carry the house for %s days of such a week, %s kWh for %s.", Number(least.KWh, 1), Number(least.DaysWithoutEngine, 1),
		Number(most.KWh, 1), Number(most.DaysWithoutEngine, 1))
}

// inverterText says where more load is ended by the inverter, which no size helps.
func inverterText(b *study.Bank) string {
	var sizes []string
	inverterKW := 0.0
	for i := range b.Sizes {
		if s := &b.Sizes[i]; s.InverterEnds {
			sizes, inverterKW = append(sizes, Number(s.KWh, 1)), s.WeekHouse.Bank.InverterKW
		}
	}
	if len(sizes) == 0 {
		return ""
	}
	at := "at " + strings.Join(sizes, ", ") + " kWh"
	if len(sizes) == len(b.Sizes) {
		at = "at each size"
	}
	return fmt.Sprintf("With still more load than it bears, %s, most of what is missed passes the inverter's %s kW: there a larger inverter helps, and no bank.", at, Number(inverterKW, 1))
}

// ventilationText says what air a lead-acid bank wants, for the recommended size.
func ventilationText(b *study.Bank) string {
	s := b.Least
	if s == nil {
		s = largest(b)
	}
	if s == nil {
		return ""
	}
	// the product of cells and amp-hours is the energy: 2 V a cell
	air, opening, err := battery.VentilationM3H(s.WeekHouse.Bank.Kind, battery.Boost, s.KWh*1000/2, 1)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("Ventilation for %s kWh while it charges hard: %s m³ of air an hour, a free opening of %s cm² (EN/IEC 62485-2, boost).", Number(s.KWh, 1), Number(air, 1), Number(opening, 0))
}

type sizeJSON struct {
	KWh               figure `json:"kwh"`
	ShortfallDays     figure `json:"shortfall_days"`
	ShortDaysP90      figure `json:"shortfall_days_p90"`
	ShortfallKWh      figure `json:"shortfall_kwh"`
	ShortfallHours    figure `json:"shortfall_hours"`
	LowestPct         figure `json:"lowest_pct"`
	SparePct          figure `json:"spare_left_pct"`
	EngineHours       figure `json:"engine_hours"`
	DaysWithoutEngine figure `json:"days_without_engine"`
	YearShortfallDays figure `json:"year_shortfall_days"`
	YearShortDaysP90  figure `json:"year_shortfall_days_p90"`
	FullCyclesYear    figure `json:"full_cycles_year"`
	LifeYearsLow      figure `json:"life_years_low"`
	LifeYearsHigh     figure `json:"life_years_high"`
	LostKWhYear       figure `json:"lost_kwh_year"`
	BearsMorePct      figure `json:"bears_more_pct"`
}

// BankJSON writes the sizes with the keys of the manual.
func BankJSON(w io.Writer, b *study.Bank) error {
	sizes := []sizeJSON{}
	for i := range b.Sizes {
		s, m := &b.Sizes[i], b.Sizes[i].WeekLives
		sizes = append(sizes, sizeJSON{figure(s.KWh), figure(m.ShortDaysUp()), figure(m.ShortDaysP90),
			figure(m.ShortKWh), figure(m.ShortH), figure(m.LowestPct), figure(s.SpareLeftPct), figure(m.EngineH),
			figure(s.DaysWithoutEngine), figure(s.SpanLives.ShortDaysUp()), figure(s.SpanLives.ShortDaysP90),
			figure(aYear(b, s.Span.Bank.FullCycles)), figure(s.Span.Bank.LifeLowYears), figure(s.Span.Bank.LifeHighYears),
			figure(aYear(b, s.Span.Total.Lost.TotalKWh())), figure(s.BearsMorePct)})
	}
	var least any
	if b.Least != nil {
		least = figure(b.Least.KWh)
	}
	return WriteJSON(w, Pairs{{"format", 1}, {"scenario", b.Name}, {"short_kg_per_kwh", b.ShortKg},
		{"week_start", b.WeekStart.String()}, {"engine_out_days", b.EngineOut}, {"lives", b.Lives},
		{"sizes", sizes}, {"least_kwh", least}, {"warnings", warningsJSON(b.Warnings)}, {"cautions", Cautions}})
}

// BankPage writes the sizes and the recommended one's week as a page.
func BankPage(w io.Writer, b *study.Bank, basis Basis) error {
	p := &Page{Basis: basis, Title: b.Name + ": how big a bank", Subtitle: weekText(b),
		Answers: []Answer{{"Bank", underTitle(b.Name, bankAnswer(b))}}, Cautions: Cautions}
	if text := ventilationText(b); text != "" {
		p.Answers = append(p.Answers, Answer{"Air", text})
	}
	if text := inverterText(b); text != "" {
		p.Answers = append(p.Answers, Answer{"Peaks", text})
	}
	labels, short, carried := []string{}, []float64{}, []float64{}
	table := Table{Caption: "Each size", Head: []string{"kWh", "days short in the week", "nine in ten", "short kWh",
		"lowest %", "spare left %", "engine h", "days without engine", "bears more %", "days short in the span",
		"nine in ten", "cycles a year", "years of life", "lost kWh a year"}}
	for i := range b.Sizes {
		s := &b.Sizes[i]
		labels = append(labels, Number(s.KWh, 1)+" kWh")
		m := s.WeekLives
		short, carried = append(short, m.ShortKWh), append(carried, s.DaysWithoutEngine)
		table.Rows = append(table.Rows, []string{Number(s.KWh, 1), Number(m.ShortDaysUp(), 1),
			Number(m.ShortDaysP90, 0), Number(m.ShortKWh, 1), Number(m.LowestPct, 0), Number(s.SpareLeftPct, 1),
			Number(m.EngineH, 0), Number(s.DaysWithoutEngine, 1),
			Number(s.BearsMorePct, 0), Number(s.SpanLives.ShortDaysUp(), 1), Number(s.SpanLives.ShortDaysP90, 0),
			Number(aYear(b, s.Span.Bank.FullCycles), 0), LifeText(s.Span.Bank.LifeLowYears, s.Span.Bank.LifeHighYears),
			Number(aYear(b, s.Span.Total.Lost.TotalKWh()), 0)})
	}
	p.Parts = []Part{{ID: "sizes", Title: "Each size in the hardest week",
		Caption: carriedText(b) + " " + livesText(b.Lives), Tall: true,
		Chart: panels(labels, []panel{{axis: "short, kWh", share: 0.5}, {axis: "days carried", share: 0.5}},
			[]series{{name: "short", colour: "short", values: short, bars: true},
				{name: "days carried without engine", colour: "bank", values: carried, panel: 1, bars: true}}, false),
		Tables: []Table{table}}}
	if s := b.Least; s != nil {
		week := (&Year{House: s.WeekHouse, Summary: s.Week, Books: s.WeekBooks, Record: s.WeekRecord}).week()
		week.Title = "The week with " + Number(s.KWh, 1) + " kWh"
		p.Parts = append(p.Parts, week)
	}
	for _, warning := range b.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}
