package report

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"twigwatt/sim/study"
)

// spans names what risk counts: years, where a span is one.
func spans(r *study.Risk) string {
	if r.Span.Days == 365 || r.Span.Days == 366 {
		return "years"
	}
	return "spans"
}

// RiskText writes how bad it can get for a person at a terminal.
func RiskText(w io.Writer, r *study.Risk) error {
	var b strings.Builder
	fmt.Fprintln(&b, Wrap(riskAnswer(r), Width, "  "))
	for _, line := range riskLines(r) {
		fmt.Fprintln(&b, Hang(line.Label, 7, line.Text))
	}
	of := Number(float64(r.Years), 0) + " " + spans(r)
	if r.Years == 1 {
		of = "1 " + strings.TrimSuffix(spans(r), "s")
	}
	fmt.Fprintf(&b, "\nOf %s\n", of)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "                   \tone in ten\thalf\tnine in ten\tworst\tas planned\t")
	for _, row := range rangeRows(r) {
		fmt.Fprintf(t, "%-19s\t%s\t\n", row[0], strings.Join(row[1:], "\t"))
	}
	t.Flush()
	b.WriteString("stay at or under these figures; as planned: the mean where nothing fails.\n")
	if len(r.Causes) > 0 {
		b.WriteString("\nEach cause alone, in the mean more than on expected days; the dearest first\n")
		t = tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(t, "                    \tdays short\tkWh short\twood dry kg\thours\tprice kg\t")
		for _, row := range causeRows(r) {
			fmt.Fprintf(t, "%-20s\t%s\t\n", row[0], strings.Join(row[1:], "\t"))
		}
		t.Flush()
	}
	b.WriteString("\n" + monthsLead(r) + "\n")
	t = tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\t\tdays short\t\tkWh short\t\twood dry kg\t\thours\t")
	fmt.Fprintln(t, "month    \thalf\tnine in ten\thalf\tnine\thalf\tnine\thalf\tnine\t")
	for _, m := range r.Months {
		fmt.Fprintf(t, "%-9s\t%.0f\t%.0f\t%s\t%s\t%s\t%s\t%s\t%s\t\n", m.Month, m.ShortDays.P50, m.ShortDays.P90,
			Number(m.ShortKWh.P50, 1), Number(m.ShortKWh.P90, 1),
			Number(m.WoodDryKg.P50, 0), Number(m.WoodDryKg.P90, 0), Number(m.AttendedH.P50, 0), Number(m.AttendedH.P90, 0))
	}
	t.Flush()
	for _, line := range riskBasis(r) {
		fmt.Fprintln(&b, Wrap(line, Width, ""))
	}
	warnings(&b, r.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// riskAnswer is the answer in one line.
func riskAnswer(r *study.Risk) string {
	if r.Stack.DryKg == 0 {
		return fmt.Sprintf("%s: no wood is burned in nine %s of ten, and up to %s go short", r.Name, spans(r),
			plural(int(r.All.ShortDays.P90), "day"))
	}
	return fmt.Sprintf("%s: have %s of oven-dry wood ready (%s m3 stacked, if it is all %s) to have enough in nine %s of ten; in nine of ten at most %s go short", r.Name, Mass(r.Stack.DryKg),
		Number(r.Stack.StackedM3, 1), r.Species, spans(r), plural(int(r.All.ShortDays.P90), "day"))
}

// monthsLead heads the months; those of several years stand together.
func monthsLead(r *study.Risk) string {
	lead := "By month: half and nine in ten stay at or under"
	if r.Span.Days > 366 {
		lead = "By month, its days in all years of the span together: half and nine in ten stay at or under"
	}
	return Wrap(lead, Width, "  ")
}

func inAHundred(share float64) string { return Number(100*share, 0) + " %" }

// riskLines are what to know beside the answer.
func riskLines(r *study.Risk) []Answer {
	var lines []Answer
	if r.WinterNoDark != nil {
		lines = append(lines, Answer{"Winter", fmt.Sprintf("in %s of %s no day is short from %s; in %s none in the whole span", inAHundred(*r.WinterNoDark), spans(r), winterMonths(r), inAHundred(r.NoDarkShare))})
	} else {
		lines = append(lines, Answer{"Dark", fmt.Sprintf("no day short in %s of %s", inAHundred(r.NoDarkShare), spans(r))})
	}
	if len(r.Causes) > 0 && r.Causes[0].PriceKg > 0 {
		worst := r.Causes[0]
		lines = append(lines, Answer{"Cause", fmt.Sprintf("%s cost most: alone they bring, in the mean, %s kWh and %s days more of dark (price %s kg of wood)", wordsOf(worst.Cause).name, Number(worst.ShortKWh, 1),
			Number(worst.ShortDays, 1), Number(worst.PriceKg, 0))})
	}
	if !r.Endless {
		text := fmt.Sprintf("ready wood runs out in %s of %s", inAHundred(r.RunsOutShare), spans(r))
		if r.RunsOutShare > 0 && r.Luck.MoistureShare > 0 {
			text += ": burned up, or too wet to gasify in a wet year (max_moisture_pct)"
		}
		lines = append(lines, Answer{"Pile", text})
	}
	return lines
}

func winterMonths(r *study.Risk) string {
	if r.South {
		return "April to September"
	}
	return "October to March"
}

// causeWords are a cause of luck in a sentence, as a key, in a table and where there
// is little room.
type causeWords struct{ name, key, short, tick string }

func wordsOf(c study.Cause) causeWords {
	return map[study.Cause]causeWords{
		study.BySwing:        {"the days' swings of load", "daily_swing", "load, day by day", "load: days"},
		study.BySet:          {"days on which the set gives more or less", "set_daily", "the set, day by day", "set: days"},
		study.ByLoadYear:     {"years of more or less load", "load_year", "load, year by year", "load: years"},
		study.ByMoisture:     {"years of wetter or drier wood", "moisture", "moisture of the wood", "wet wood"},
		study.ByFailedLights: {"light-ups that fail", "fail_to_light", "light-ups that fail", "light-ups"},
		study.ByRepairs:      {"repairs", "repair", "repairs", "repairs"},
	}[c]
}

func rangeRows(r *study.Risk) [][]string {
	row := func(name string, s study.Spread, plain float64, decimals int) []string {
		return []string{name, Number(s.P10, decimals), Number(s.P50, decimals), Number(s.P90, decimals),
			Number(s.Worst, decimals), Number(plain, decimals)}
	}
	return [][]string{row("days short", r.All.ShortDays, r.Plain.ShortDays, 0),
		row("kWh short", r.All.ShortKWh, r.Plain.ShortKWh, 1),
		row("wood burned, dry kg", r.All.WoodDryKg, r.Plain.WoodDryKg, 0), row("attended hours", r.All.AttendedH, r.Plain.AttendedH, 0)}
}

func causeRows(r *study.Risk) [][]string {
	var rows [][]string
	for _, c := range r.Causes {
		rows = append(rows, []string{wordsOf(c.Cause).short, Number(c.ShortDays, 1), Number(c.ShortKWh, 1),
			Number(c.WoodDryKg, 0), Number(c.AttendedH, 0), Number(c.PriceKg, 0)})
	}
	return rows
}

// riskBasis says what varied, and what did not know of it.
func riskBasis(r *study.Risk) []string {
	l := &r.Luck
	vary := fmt.Sprintf("Varied: the load by %s %% from day to day and by %s %% from year to year, what the set gives by %s %% from day to day, the wood by %s points of moisture (standard deviations); %s %% of light-ups fail; %s of repair a year, in one block.",
		Number(100*r.SwingShare, 0), Number(100*l.LoadYearShare, 0), Number(100*l.SetDailyShare, 0),
		Number(100*l.MoistureShare, 1), Number(100*l.FailShare, 0), plural(l.RepairDays, "day"))
	plan := "The plan (" + r.PlanText + ") knows none of it beforehand, and meets each day as it comes."
	if r.Chosen {
		plan = fmt.Sprintf("The plan (chosen runs, shortfall at %s kg of wood a kWh) knows how days spread, none of them beforehand, and meets each as it comes.",
			Number(r.ShortKg, 0))
		if r.Chores {
			plan += " Chores are done when the plan would do them."
		}
	}
	seeds := fmt.Sprintf("Seeds %d to %d", r.Seed, r.Seed+uint64(r.Years)-1)
	if r.Years == 1 {
		seeds = fmt.Sprintf("Seed %d", r.Seed)
	}
	return []string{vary, plan, fmt.Sprintf("%s; the days' swings of one are those of year --set seed. Left out: winters colder than the place's means, and in what to stack what rots on the pile.", seeds)}
}

type spreadJSON struct {
	P10   figure `json:"p10"`
	P50   figure `json:"p50"`
	P90   figure `json:"p90"`
	Worst figure `json:"worst"`
}

func spreadOf(s study.Spread) spreadJSON {
	return spreadJSON{figure(s.P10), figure(s.P50), figure(s.P90), figure(s.Worst)}
}

func rangePairs(r study.Range) Pairs {
	return Pairs{{"wood_dry_kg", spreadOf(r.WoodDryKg)}, {"attended_hours", spreadOf(r.AttendedH)},
		{"shortfall_days", spreadOf(r.ShortDays)}, {"shortfall_kwh", spreadOf(r.ShortKWh)}}
}

// RiskJSON writes the spreads with the keys of the manual.
func RiskJSON(w io.Writer, r *study.Risk) error {
	months, causes := []Pairs{}, []Pairs{}
	for _, m := range r.Months {
		months = append(months, append(Pairs{{"month", int(m.Month)}}, rangePairs(m.Range)...))
	}
	for _, c := range r.Causes {
		causes = append(causes, Pairs{{"cause", wordsOf(c.Cause).key}, {"more_shortfall_days", figure(c.ShortDays)},
			{"more_shortfall_kwh", figure(c.ShortKWh)}, {"shortfall_kwh_p90", figure(c.ShortKWhP90)},
			{"more_wood_dry_kg", figure(c.WoodDryKg)}, {"more_attended_hours", figure(c.AttendedH)}, {"more_price_kg", figure(c.PriceKg)}})
	}
	var winter, runsOut any
	if r.WinterNoDark != nil {
		winter = figure(*r.WinterNoDark)
	}
	if !r.Endless {
		runsOut = figure(r.RunsOutShare)
	}
	plain := Pairs{{"wood_dry_kg", figure(r.Plain.WoodDryKg)}, {"attended_hours", figure(r.Plain.AttendedH)},
		{"shortfall_days", figure(r.Plain.ShortDays)}, {"shortfall_kwh", figure(r.Plain.ShortKWh)}}
	all := append(Pairs{{"format", 1}, {"scenario", r.Name}, {"years", r.Years}, {"seed", r.Seed},
		{"short_kg_per_kwh", r.ShortKg}}, rangePairs(r.All)...)
	return WriteJSON(w, append(all, Pairs{{"no_dark_day_share", figure(r.NoDarkShare)},
		{"winter_no_dark_day_share", winter}, {"stack_nine_in_ten_dry_kg", figure(r.Stack.DryKg)},
		{"runs_out_share", runsOut}, {"without_luck", plain}, {"causes", causes}, {"months", months},
		{"warnings", warningsJSON(r.Warnings)}, {"cautions", Cautions}}...))
}
