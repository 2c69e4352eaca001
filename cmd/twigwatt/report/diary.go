package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/diary"
)

// A Diary is what reports on a diary are written from.
type Diary struct {
	Name, Scenario string
	House          *sim.House
	Rows           []diary.Row
	PlanText       string
	Check          *diary.Comparison
	Months         []diary.Month
	Fit            *diary.Fit
	Lines          []Line // that the fit tells, for the scenario
	LoadKWhPerDay  float64
	Warnings       []sim.Warning
}

// A Line is a key of a scenario with a value as it stands in a file.
type Line struct{ Key, Value, Comment string }

// FittedLine writes a fitted figure as it stands in a scenario.
func FittedLine(l diary.Line) Line {
	line := Line{Key: l.Key, Value: significant(l.Value)}
	if l.Told() {
		line.Comment = fmt.Sprintf("%s to %s, %s", significant(l.Low), significant(l.High), plural(l.Rows, "row"))
	}
	if l.Curve != nil {
		var points []string
		for _, p := range l.Curve {
			points = append(points, "["+significant(p[0])+", "+significant(p[1])+"]")
		}
		line.Value = "[" + strings.Join(points, ", ") + "]"
	}
	if l.Comment != "" {
		line.Comment = strings.TrimPrefix(line.Comment+"; "+l.Comment, "; ")
	}
	return line
}

// significant writes a figure with four digits that count.
func significant(x float64) string {
	const digits = 4
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	decimals := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(x)))))
	scale := math.Pow10(decimals)
	return strconv.FormatFloat(math.Round(x*scale)/scale, 'f', -1, 64)
}

// span says from when to when a diary reaches.
func (d *Diary) span() string {
	if len(d.Rows) == 0 {
		return d.Name + ": no runs"
	}
	return fmt.Sprintf("%s: %s from %s to %s", d.Name, plural(len(d.Rows), "run"), DayYear(d.Rows[0].Date),
		DayYear(d.Rows[len(d.Rows)-1].Date))
}

func (d *Diary) odd() []diary.Finding {
	return slices.DeleteFunc(slices.Clone(d.Check.Findings), func(f diary.Finding) bool { return len(f.Odd) == 0 })
}

// oddText says what is odd about a row.
func oddText(f diary.Finding, odd diary.Oddity) string {
	switch odd {
	case diary.OddWood:
		return fmt.Sprintf("wood %s kg, expected %s", Number(f.WoodAsIsKg.Noted, 1), Number(f.WoodAsIsKg.Expected, 1))
	case diary.OddPower:
		return fmt.Sprintf("%s kW in the mean; the set gives %s to %s", Number(f.PowerKW.Noted, 2),
			Number(f.LeastKW, 2), Number(f.MostKW, 2))
	case diary.OddGained:
		return fmt.Sprintf("charge %+.0f %% in the run, expected %+.0f %%", f.GainedPct.Noted, f.GainedPct.Expected)
	case diary.OddLost:
		return fmt.Sprintf("charge %+.0f %% until the next match, expected %+.0f %%", -f.LostPct.Noted, -f.LostPct.Expected)
	}
	return string(odd)
}

// usual says how the diary differs as a rule.
func (d *Diary) usual() []string {
	var all []string
	if x := d.Check.UsualWoodRatio; diary.Noted(x) {
		all = append(all, fmt.Sprintf("As a rule a run takes %s times the wood that the scenario expects for its hours and kWh.", Number(x, 2)))
	}
	if x := d.Check.UsualGainedMorePct; diary.Noted(x) {
		all = append(all, fmt.Sprintf("In a run the bank gains %s, until the next match it loses %s than the scenario expects.", more(x, "points more", "points less"), more(d.Check.UsualLostMorePct, "points more", "points less")))
	}
	if all == nil {
		all = []string{"Eight runs or more tell what is usual."}
	}
	return all
}

// signed writes a small change with its sign, and nothing without one.
func signed(x float64) string {
	text := fmt.Sprintf("%+.3f", x)
	if strings.Trim(text, "+-0.") == "" {
		return "0"
	}
	return text
}

func more(x float64, above, below string) string {
	if x < 0 {
		return Number(-x, 1) + " " + below
	}
	return Number(x, 1) + " " + above
}

// drifts say what moves with time.
func (d *Diary) drifts() []string {
	const daysAMonth = 30.4375
	var all []string
	for _, drift := range []struct {
		diary.Drift
		name, unit string
	}{{d.Fit.WoodDrift, "wood", "kg/kWh"}, {d.Fit.PowerDrift, "power", "kW"}} {
		e := drift.PerDay
		switch {
		case !e.Told():
		case drift.Drifted:
			all = append(all, fmt.Sprintf("The %s drifts: %+.3f %s a month (%s to %s): filter, ash, leaks or wetter wood?", drift.name, e.Value*daysAMonth, drift.unit, signed(e.Low*daysAMonth), signed(e.High*daysAMonth)))
		default:
			all = append(all, fmt.Sprintf("The %s does not drift beyond what chance does (%s to %s %s a month).",
				drift.name, signed(e.Low*daysAMonth), signed(e.High*daysAMonth), drift.unit))
		}
	}
	return all
}

// CheckText writes a diary's comparison for a person at a terminal.
func CheckText(w io.Writer, d *Diary) error {
	var b strings.Builder
	odd := d.odd()
	answer := "none is odd"
	if len(odd) > 0 {
		answer = Number(float64(len(odd)), 0) + " of them look odd against " + d.Scenario
		if len(odd) == 1 {
			answer = "1 of them looks odd against " + d.Scenario
		}
	}
	fmt.Fprintln(&b, Wrap(d.span()+"; "+answer, Width, "  "))
	for _, f := range odd {
		r := &d.Rows[f.Row]
		var texts []string
		for _, kind := range f.Odd {
			texts = append(texts, oddText(f, kind))
		}
		fmt.Fprintln(&b, Wrap(fmt.Sprintf("line %d, %s: %s", r.Line, r.String(), strings.Join(texts, "; ")), Width, "  "))
	}
	b.WriteString("\n")
	for _, text := range append(d.usual(), d.drifts()...) {
		fmt.Fprintln(&b, Wrap(text, Width, "  "))
	}
	b.WriteString("\nNoted, and what the plan does on the same days (" + d.PlanText + ")\n")
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\t\t\thours\t\tkWh\t\twood\tdry kg\t")
	fmt.Fprintln(t, "month   \tdays\truns\tnoted\tplan\tnoted\tplan\tnoted\tplan\t")
	for _, row := range d.monthRows() {
		fmt.Fprintf(t, "%-8s\t%s\t\n", row[0], strings.Join(row[1:], "\t"))
	}
	t.Flush()
	fmt.Fprintln(&b, Wrap("A row is odd by the margins of a judgement (a quarter of the wood, a tenth of the power, 15 points of charge) and, from eight runs on, by four robust standard deviations from the diary's own usual.", Width, ""))
	warnings(&b, d.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (d *Diary) monthRows() [][]string {
	var rows [][]string
	for _, m := range d.Months {
		rows = append(rows, []string{m.First.Time().Format("Jan 2006"), strconv.Itoa(m.Days), strconv.Itoa(m.Runs),
			Number(m.AttendedH, 0), Number(m.PlanAttendedH, 0), Number(m.KWh, 0), Number(m.PlanKWh, 0),
			Number(m.WoodDryKg, 0), Number(m.PlanWoodDryKg, 0)})
	}
	return rows
}

func pairJSON(p diary.Pair) Pairs {
	return Pairs{{"noted", figure(p.Noted)}, {"expected", figure(p.Expected)}}
}

// CheckJSON writes a diary's comparison.
func CheckJSON(w io.Writer, d *Diary) error {
	findings, months := []Pairs{}, []Pairs{}
	for _, f := range d.Check.Findings {
		r := &d.Rows[f.Row]
		odd := []string{}
		for _, kind := range f.Odd {
			odd = append(odd, string(kind))
		}
		findings = append(findings, Pairs{{"line", r.Line}, {"date", r.Date.String()},
			{"start", calendar.Clock(r.StartMinute)}, {"engine_hours", figure(f.EngineHours)}, {"wood_as_is_kg", pairJSON(f.WoodAsIsKg)},
			{"power_kw", pairJSON(f.PowerKW)}, {"gained_pct", pairJSON(f.GainedPct)}, {"lost_pct", pairJSON(f.LostPct)}, {"odd", odd}})
	}
	for _, m := range d.Months {
		months = append(months, Pairs{{"month", m.First.Time().Format("2006-01")}, {"days", m.Days}, {"runs", m.Runs},
			{"attended_hours", figure(m.AttendedH)}, {"plan_attended_hours", figure(m.PlanAttendedH)},
			{"made_kwh", figure(m.KWh)}, {"plan_made_kwh", figure(m.PlanKWh)}, {"wood_dry_kg", figure(m.WoodDryKg)},
			{"plan_wood_dry_kg", figure(m.PlanWoodDryKg)}})
	}
	return WriteJSON(w, Pairs{{"format", 1}, {"diary", d.Name}, {"scenario", d.Scenario}, {"rows", len(d.Rows)},
		{"odd_rows", len(d.odd())}, {"findings", findings},
		{"usual", Pairs{{"wood_ratio", figure(d.Check.UsualWoodRatio)},
			{"gained_more_pct", figure(d.Check.UsualGainedMorePct)}, {"lost_more_pct", figure(d.Check.UsualLostMorePct)}}},
		{"months", months}, {"warnings", warningsJSON(d.Warnings)}, {"cautions", Cautions}})
}
