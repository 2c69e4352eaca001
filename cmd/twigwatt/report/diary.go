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

// A Diary is what reports on a diary are written from. A page takes both answers, the
// others the one they are about.
type Diary struct {
	Name, Scenario string
	Rows           []diary.Row
	PlanText       string
	Comparison     *diary.Comparison
	Fit            *diary.Fit
	Settings       []diary.FittedSetting // that the fit tells
	Warnings       []sim.Warning
}

// monthColumns are those of a month, noted beside planned.
var monthColumns = []struct {
	over, title string // at a terminal
	head, key   string // on a page and in JSON
	value       func(m *diary.Month) float64
}{
	{"", "days", "days", "days", func(m *diary.Month) float64 { return float64(m.Days) }},
	{"", "runs", "runs", "runs", func(m *diary.Month) float64 { return float64(m.Runs) }},
	{"hours", "noted", "hours", "attended_hours", func(m *diary.Month) float64 { return m.AttendedH }},
	{"", "plan", "plan", "plan_attended_hours", func(m *diary.Month) float64 { return m.PlanAttendedH }},
	{"kWh", "noted", "kWh", "made_kwh", func(m *diary.Month) float64 { return m.KWh }},
	{"", "plan", "plan", "plan_made_kwh", func(m *diary.Month) float64 { return m.PlanKWh }},
	{"wood", "noted", "wood dry kg", "wood_dry_kg", func(m *diary.Month) float64 { return m.WoodDryKg }},
	{"dry kg", "plan", "plan", "plan_wood_dry_kg", func(m *diary.Month) float64 { return m.PlanWoodDryKg }},
}

func monthRows(months []diary.Month) [][]string {
	var rows [][]string
	for i := range months {
		row := []string{months[i].First.Time().Format("Jan 2006")}
		for _, column := range monthColumns {
			row = append(row, Number(column.value(&months[i]), 0))
		}
		rows = append(rows, row)
	}
	return rows
}

// figureHeads are the columns of fitted figures behind their names.
var figureHeads = []string{"scenario", "diary", "nine in ten", "rows"}

// figureRow is a figure's name, what the scenario has for it, and what the diary tells.
func figureRow(f diary.Figure) []string {
	size := f.Value
	if !diary.Noted(size) || size == 0 {
		size = f.Scenario
	}
	decimals := min(3, significantDecimals(size))
	inScenario, value, interval := "by charge", "not told", ""
	if diary.Noted(f.Scenario) {
		inScenario = Number(f.Scenario, decimals)
	}
	switch {
	case f.Held:
		value = Number(f.Value, decimals) + " held"
	case f.Told():
		value, interval = Number(f.Value, decimals), Number(f.Low, decimals)+" to "+Number(f.High, decimals)
	}
	return []string{f.Name, inScenario, value, interval, strconv.Itoa(f.Rows)}
}

// span says from when to when a diary reaches.
func (d *Diary) span() string {
	if len(d.Rows) == 0 {
		return d.Name + ": no runs"
	}
	return fmt.Sprintf("%s: %s from %s to %s", d.Name, plural(len(d.Rows), "run"), DayYear(d.Rows[0].Date),
		DayYear(d.Rows[len(d.Rows)-1].Date))
}

// oddText says what is odd about a row.
func oddText(f diary.Finding) string {
	var texts []string
	for _, measure := range f.Odd {
		text := ""
		switch measure {
		case diary.Wood:
			text = fmt.Sprintf("wood %s kg, expected %s", Number(f.WoodAsIsKg.Noted, 1), Number(f.WoodAsIsKg.Expected, 1))
		case diary.Power:
			text = fmt.Sprintf("%s kW in the mean; the set gives %s to %s", Number(f.PowerKW.Noted, 2),
				Number(f.LeastKW, 2), Number(f.MostKW, 2))
		case diary.ChargeGained:
			text = fmt.Sprintf("charge %+.0f %% in the run, expected %+.0f %%", f.GainedPct.Noted, f.GainedPct.Expected)
		case diary.ChargeLost:
			text = fmt.Sprintf("charge %+.0f %% until the next match, expected %+.0f %%", -f.LostPct.Noted,
				-f.LostPct.Expected)
		}
		texts = append(texts, text)
	}
	return strings.Join(texts, "; ")
}

// usual says how a diary differs as a rule.
func usual(c *diary.Comparison) []string {
	more := func(x float64) string {
		if x < 0 {
			return Number(-x, 1) + " points less"
		}
		return Number(x, 1) + " points more"
	}
	var all []string
	if x := c.UsualWoodRatio; diary.Noted(x) {
		all = append(all, fmt.Sprintf("As a rule a run takes %s times the wood that the scenario expects for its hours and kWh.",
			Number(x, 2)))
	}
	if x := c.UsualGainedMorePct; diary.Noted(x) {
		all = append(all, fmt.Sprintf("In a run the bank gains %s, until the next match it loses %s than the scenario expects.",
			more(x), more(c.UsualLostMorePct)))
	}
	if all == nil {
		all = []string{"Eight runs or more tell what is usual."}
	}
	return all
}

// drifts say what moves with time.
func drifts(wood, power diary.Drift) []string {
	signed := func(x float64) string {
		text := fmt.Sprintf("%+.3f", x)
		if strings.Trim(text, "+-0.") == "" {
			return "0"
		}
		return text
	}
	var all []string
	for _, drift := range []struct {
		diary.Drift
		name, unit string
	}{{wood, "wood", "kg/kWh"}, {power, "power", "kW"}} {
		e := drift.PerMonth()
		interval := signed(e.Low) + " to " + signed(e.High)
		switch {
		case !e.Told():
		case drift.Drifted:
			all = append(all, fmt.Sprintf("The %s drifts: %+.3f %s a month (%s): filter, ash, leaks or wetter wood?",
				drift.name, e.Value, drift.unit, interval))
		default:
			all = append(all, fmt.Sprintf("The %s does not drift beyond what chance does (%s %s a month).",
				drift.name, interval, drift.unit))
		}
	}
	return all
}

// wrapped writes texts as lines of a terminal's width, their later ones indented.
func wrapped(b *strings.Builder, indent string, texts ...string) {
	for _, text := range texts {
		fmt.Fprintln(b, Wrap(text, Width, indent))
	}
}

// CheckText writes a diary's comparison for a person at a terminal.
func CheckText(w io.Writer, d *Diary) error {
	c := d.Comparison
	var b strings.Builder
	odd := c.Odd()
	answer := "none is odd"
	if len(odd) > 0 {
		answer = Number(float64(len(odd)), 0) + " of them look odd against " + d.Scenario
		if len(odd) == 1 {
			answer = "1 of them looks odd against " + d.Scenario
		}
	}
	wrapped(&b, "  ", d.span()+"; "+answer)
	for _, f := range odd {
		r := &d.Rows[f.Row]
		wrapped(&b, "  ", fmt.Sprintf("line %d, %s: %s", r.Line, r.String(), oddText(f)))
	}
	b.WriteString("\n")
	wrapped(&b, "  ", append(usual(c), drifts(c.WoodDrift, c.PowerDrift)...)...)
	b.WriteString("\nNoted, and what the plan does on the same days (" + d.PlanText + ")\n")
	over, titles := "", "month   "
	for _, column := range monthColumns {
		over, titles = over+"\t"+column.over, titles+"\t"+column.title
	}
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "%s\t\n%s\t\n", over, titles)
	for _, row := range monthRows(c.Months) {
		fmt.Fprintf(t, "%-8s\t%s\t\n", row[0], strings.Join(row[1:], "\t"))
	}
	t.Flush()
	wrapped(&b, "", "A row is odd by the margins of a judgement (a quarter of the wood, a tenth of the power, 15 points of "+
		"charge) and, from eight runs on, by four robust standard deviations from the diary's own usual.")
	warnings(&b, d.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// FitText writes a fit for a person at a terminal.
func FitText(w io.Writer, d *Diary) error {
	var b strings.Builder
	all := d.Fit.Figures()
	told := 0
	for _, f := range all {
		if f.Told() {
			told++
		}
	}
	wrapped(&b, "  ", fmt.Sprintf("%s; it tells %d of %d figures of %s", d.span(), told, len(all), d.Scenario))
	b.WriteString("\n")
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "%24s\t%s\t\n", "", strings.Join(figureHeads, "\t"))
	for _, f := range all {
		row := figureRow(f)
		fmt.Fprintf(t, "%-23s\t%s\t\n", row[0], strings.Join(row[1:], "\t"))
	}
	t.Flush()
	wrapped(&b, "", "Wood is oven-dry, at the rated moisture. An interval holds the true figure nine times in ten where the "+
		"rest of the scenario is right: charger, inverter, the bank's size, the chores' hours, the daily shape of the load, "+
		"and what is held.")
	wrapped(&b, "  ", whys(all)...)
	if len(d.Settings) > 0 {
		b.WriteString("\nPaste into the scenario, or write a new one with --out FILE\n" + pasteText(d.Settings))
	}
	if more := append(drifts(d.Fit.WoodDrift, d.Fit.PowerDrift), d.leftOut()...); len(more) > 0 {
		b.WriteString("\n")
		wrapped(&b, "  ", more...)
	}
	warnings(&b, d.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// whys say what the diary cannot tell, each reason once.
func whys(figures []diary.Figure) []string {
	var reasons []string
	names := map[string][]string{}
	for _, f := range figures {
		if f.Why == "" {
			continue
		}
		if names[f.Why] == nil {
			reasons = append(reasons, f.Why)
		}
		name, _, _ := strings.Cut(f.Name, ",")
		names[f.Why] = append(names[f.Why], name)
	}
	var all []string
	for _, why := range reasons {
		all = append(all, sentence(strings.Join(names[why], ", ")+": "+why))
	}
	return all
}

// leftOut names the rows that a fit leaves out.
func (d *Diary) leftOut() []string {
	const most = 6
	var all []string
	for i, o := range d.Fit.Outliers {
		if i == most {
			return append(all, fmt.Sprintf("And %d more.", len(d.Fit.Outliers)-most))
		}
		r := &d.Rows[o.Row]
		all = append(all, fmt.Sprintf("Left out as odd: line %d, %s (%s).", r.Line, r.String(), fittedMeasures[o.Measure]))
	}
	return all
}

// fittedMeasures say what of a row is fitted.
var fittedMeasures = map[diary.Measure]string{
	diary.Wood:         "wood",
	diary.Power:        "power",
	diary.ChargeGained: "charge over the run",
	diary.ChargeLost:   "charge until the next run",
}

// A ScenarioLine is a key of a scenario with a value as it stands in a file.
type ScenarioLine struct{ Key, Value, Comment string }

// FittedLine writes a fitted setting as it stands in a scenario.
func FittedLine(s diary.FittedSetting) ScenarioLine {
	line := ScenarioLine{Key: s.Key, Value: significant(s.Value)}
	if s.Told() {
		line.Comment = fmt.Sprintf("%s to %s, %s", significant(s.Low), significant(s.High), plural(s.Rows, "row"))
	}
	if s.Curve != nil {
		var points []string
		for _, p := range s.Curve {
			points = append(points, "["+significant(p.X)+", "+significant(p.Y)+"]")
		}
		line.Value = "[" + strings.Join(points, ", ") + "]"
	}
	if s.Comment != "" {
		line.Comment = strings.TrimPrefix(line.Comment+"; "+s.Comment, "; ")
	}
	return line
}

// significantDecimals are those with which four digits count.
func significantDecimals(x float64) int {
	const digits = 4
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return digits
	}
	return max(0, digits-1-int(math.Floor(math.Log10(math.Abs(x)))))
}

// significant writes a figure with four digits that count.
func significant(x float64) string {
	scale := math.Pow10(significantDecimals(x))
	return strconv.FormatFloat(math.Round(x*scale)/scale, 'f', -1, 64)
}

// pasteText is lines under the heads of their tables.
func pasteText(settings []diary.FittedSetting) string {
	var b strings.Builder
	table := ""
	for _, s := range settings {
		l := FittedLine(s)
		dot := strings.LastIndex(l.Key, ".")
		if l.Key[:dot] != table {
			table = l.Key[:dot]
			fmt.Fprintf(&b, "[%s]\n", table)
		}
		text := l.Key[dot+1:] + " = " + l.Value
		if l.Comment != "" && len(text)+4+len(l.Comment) <= Width {
			text += "  # " + l.Comment
		} else if l.Comment != "" {
			wrapped(&b, "# ", "# "+l.Comment)
		}
		b.WriteString(text + "\n")
	}
	return b.String()
}

// writeJSON writes answers about a diary between what all of them begin and end with.
func (d *Diary) writeJSON(w io.Writer, answers ...Pair) error {
	return WriteJSON(w, slices.Concat(
		Pairs{{"format", 1}, {"diary", d.Name}, {"scenario", d.Scenario}, {"rows", len(d.Rows)}}, answers,
		Pairs{{"warnings", warningsJSON(d.Warnings)}, {"cautions", Cautions}}))
}

func runJSON(r *diary.Row) Pairs {
	return Pairs{{"line", r.Line}, {"date", r.Date.String()}, {"start", calendar.Clock(r.StartMinute)}}
}

func besideJSON(n diary.NotedExpected) Pairs {
	return Pairs{{"noted", n.Noted}, {"expected", n.Expected}}
}

func estimateJSON(e diary.Estimate) Pairs {
	var why any
	if e.Why != "" {
		why = e.Why
	}
	return Pairs{{"value", e.Value}, {"low", e.Low}, {"high", e.High}, {"rows", e.Rows}, {"held", e.Held}, {"why", why}}
}

// CheckJSON writes a diary's comparison.
func CheckJSON(w io.Writer, d *Diary) error {
	c := d.Comparison
	findings, months := []Pairs{}, []Pairs{}
	for _, f := range c.Findings {
		odd := append([]diary.Measure{}, f.Odd...)
		findings = append(findings, append(runJSON(&d.Rows[f.Row]), Pairs{{"engine_hours", f.EngineHours},
			{"wood_as_is_kg", besideJSON(f.WoodAsIsKg)}, {"power_kw", besideJSON(f.PowerKW)},
			{"gained_pct", besideJSON(f.GainedPct)}, {"lost_pct", besideJSON(f.LostPct)}, {"odd", odd}}...))
	}
	for i := range c.Months {
		month := Pairs{{"month", c.Months[i].First.Time().Format("2006-01")}}
		for _, column := range monthColumns {
			month = append(month, Pair{column.key, column.value(&c.Months[i])})
		}
		months = append(months, month)
	}
	return d.writeJSON(w, Pairs{{"odd_rows", len(c.Odd())}, {"findings", findings},
		{"usual", Pairs{{"wood_ratio", c.UsualWoodRatio}, {"gained_more_pct", c.UsualGainedMorePct},
			{"lost_more_pct", c.UsualLostMorePct}}}, {"months", months}}...)
}

// FitJSON writes a fit with the keys of the manual.
func FitJSON(w io.Writer, d *Diary) error {
	f := d.Fit
	figures, lines, outliers := Pairs{}, []Pairs{}, []Pairs{}
	for _, figure := range f.Figures() {
		told := append(estimateJSON(figure.Estimate), Pair{"scenario", figure.Scenario})
		figures = append(figures, Pair{figure.Key, told})
	}
	for _, s := range d.Settings {
		lines = append(lines, Pairs{{"key", s.Key}, {"value", FittedLine(s).Value}})
	}
	for _, o := range f.Outliers {
		outliers = append(outliers, append(runJSON(&d.Rows[o.Row]), Pair{"of", fittedMeasures[o.Measure]}))
	}
	return d.writeJSON(w, Pairs{{"fit", figures},
		{"drift", Pairs{{"wood_kg_per_kwh_a_day", estimateJSON(f.WoodDrift.PerDay)}, {"wood_drifted", f.WoodDrift.Drifted},
			{"power_kw_a_day", estimateJSON(f.PowerDrift.PerDay)}, {"power_drifted", f.PowerDrift.Drifted}}},
		{"lines", lines}, {"outliers", outliers}}...)
}

// DiaryPage writes a diary's page: wood for each kWh, runs against the plan, what drifts.
func DiaryPage(w io.Writer, d *Diary, basis Basis) error {
	p := &Page{Basis: basis, Title: d.Name + ": the diary", Subtitle: d.span() + ", against " + d.Scenario + ".",
		Cautions: Cautions, Parts: []Part{d.fitPart(), d.woodPart(), d.planPart()}}
	answer := func(label string, texts ...string) {
		for _, text := range texts {
			p.Answers = append(p.Answers, Answer{label, text})
		}
	}
	answer("Odd", fmt.Sprintf("%s of %d.", plural(len(d.Comparison.Odd()), "run"), len(d.Rows)))
	answer("Usual", usual(d.Comparison)...)
	answer("Drift", drifts(d.Fit.WoodDrift, d.Fit.PowerDrift)...)
	for _, f := range d.Fit.Figures() {
		if row := figureRow(f); f.Told() {
			answer("Fitted", fmt.Sprintf("%s: %s (%s), in the scenario %s.", row[0], row[2], row[3], row[1]))
		}
	}
	for _, warning := range d.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}

func (d *Diary) fitPart() Part {
	table := Table{Caption: "Fitted to the diary", Head: slices.Concat([]string{""}, figureHeads, []string{"why"})}
	for _, f := range d.Fit.Figures() {
		table.Rows = append(table.Rows, append(figureRow(f), f.Why))
	}
	return Part{ID: "fit", Title: "Your own set", Tables: []Table{table}, Caption: "What the diary tells of your own set, " +
		"each figure with the interval that holds the true one nine times in ten where the rest of the scenario is right."}
}

func (d *Diary) woodPart() Part {
	var labels []string
	var wood, expected, power []float64
	leftOut, nothing := 0, diary.NotNoted()
	table := Table{Caption: "Run by run", Head: []string{"run", "wood kg/kWh", "expected", "power kW", "odd"}}
	for i, run := range d.Fit.Runs {
		r := &d.Rows[i]
		labels = append(labels, r.Date.Time().Format("2 Jan"))
		table.Rows = append(table.Rows, []string{r.String(), orDash(run.WoodPerKWhKg), orDash(run.ExpectedPerKWhKg),
			orDash(run.PowerKW), oddText(d.Comparison.Findings[i])})
		if run.LeftOut { // would press the others flat
			leftOut++
			run.WoodPerKWhKg, run.ExpectedPerKWhKg, run.PowerKW = nothing, nothing, nothing
		}
		wood, expected = append(wood, run.WoodPerKWhKg), append(expected, run.ExpectedPerKWhKg)
		power = append(power, run.PowerKW)
	}
	caption := "Oven-dry wood for each kWh made, and the mean power, run by run."
	if found := drifts(d.Fit.WoodDrift, d.Fit.PowerDrift); len(found) > 0 {
		caption = found[0]
	}
	if leftOut > 0 {
		caption += fmt.Sprintf(" Left out of the lines as odd: %s.", plural(leftOut, "run"))
	}
	return Part{ID: "wood", Title: "Wood for each kWh", Caption: caption, Tall: true, Tables: []Table{table},
		Chart: panels(labels, []panel{{axis: "wood, dry kg/kWh", share: 0.5}, {axis: "power, kW", share: 0.5}},
			[]series{{name: "noted", colour: "wood", values: wood, width: 2},
				{name: "expected of such a run", colour: "wood", values: expected, dashed: true},
				{name: "power", colour: "engine", values: power, panel: 1, width: 2}}, true)}
}

func orDash(x float64) string {
	if !diary.Noted(x) {
		return "–"
	}
	return Number(x, 2)
}

func (d *Diary) planPart() Part {
	var labels []string
	var noted, plan, wood, planWood []float64
	for _, m := range d.Comparison.Months {
		labels = append(labels, m.First.Time().Format("Jan 06"))
		noted, plan = append(noted, m.AttendedH), append(plan, m.PlanAttendedH)
		wood, planWood = append(wood, m.WoodDryKg), append(planWood, m.PlanWoodDryKg)
	}
	heads := []string{"month"}
	for _, column := range monthColumns {
		heads = append(heads, column.head)
	}
	hours, planned := d.Comparison.AttendedH()
	return Part{ID: "plan", Title: "Runs against the plan", Tall: true,
		Caption: fmt.Sprintf("%s attended hours noted, %s planned on the same days (%s).", Number(hours, 0),
			Number(planned, 0), d.PlanText),
		Chart: panels(labels, []panel{{axis: "attended hours", share: 0.5}, {axis: "wood, dry kg", share: 0.5, thousand: true}},
			[]series{{name: "noted", colour: "engine", values: noted, bars: true},
				{name: "planned", colour: "engine", values: plan, bars: true, hollow: true},
				{name: "wood noted", colour: "wood", values: wood, panel: 1, bars: true},
				{name: "wood planned", colour: "wood", values: planWood, panel: 1, bars: true, hollow: true}}, false),
		Tables: []Table{{Caption: "By month", Head: heads, Rows: monthRows(d.Comparison.Months)}}}
}
