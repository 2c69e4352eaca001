package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/diary"
)

// A Diary is what reports on a diary are written from. A page takes both answers, text and JSON
// the one they are about.
type Diary struct {
	Name, Scenario string
	Rows           []diary.Row
	PlanText       string
	Comparison     *diary.Comparison
	Fit            *diary.Fit
	Settings       []diary.FittedSetting // that the fit tells
	Warnings       []sim.Warning
}

// diaryMonths are a month's columns, noted beside planned.
var diaryMonths = list[diary.Month]{
	monthColumn("Jan 2006", func(m *diary.Month) calendar.Date { return m.First }),
	figures("days", "days", 0, func(m *diary.Month) float64 { return float64(m.Days) }),
	figures("runs", "runs", 0, func(m *diary.Month) float64 { return float64(m.Runs) }),
	figures("hours\nnoted", "attended_hours", 0, func(m *diary.Month) float64 { return m.AttendedH }),
	figures("hours\nplan", "plan_attended_hours", 0, func(m *diary.Month) float64 { return m.PlanAttendedH }),
	figures("kWh\nnoted", "made_kwh", 0, func(m *diary.Month) float64 { return m.KWh }),
	figures("kWh\nplan", "plan_made_kwh", 0, func(m *diary.Month) float64 { return m.PlanKWh }),
	figures("wood dry\nkg noted", "wood_dry_kg", 0, func(m *diary.Month) float64 { return m.WoodDryKg }),
	figures("wood dry\nkg plan", "plan_wood_dry_kg", 0, func(m *diary.Month) float64 { return m.PlanWoodDryKg }),
}

// fittedColumns are a fitted figure's.
var fittedColumns = list[diary.Figure]{
	texts("figure", "", func(f *diary.Figure) string { return f.Name }, nil),
	amounts("scenario", "", func(f *diary.Figure) string {
		if !diary.Noted(f.Scenario) {
			return "by charge"
		}
		return Number(f.Scenario, figureDecimals(*f))
	}, nil),
	amounts("diary", "", func(f *diary.Figure) string {
		switch {
		case f.Held:
			return Number(f.Value, figureDecimals(*f)) + " held"
		case f.Told():
			return Number(f.Value, figureDecimals(*f))
		}
		return "not told"
	}, nil),
	amounts("nine in ten", "", func(f *diary.Figure) string {
		if f.Held || !f.Told() {
			return ""
		}
		return Number(f.Low, figureDecimals(*f)) + " to " + Number(f.High, figureDecimals(*f))
	}, nil),
	figures("rows", "", 0, func(f *diary.Figure) float64 { return float64(f.Rows) }),
}

// figureDecimals are the same for all that stands in a figure's row.
func figureDecimals(f diary.Figure) int {
	size := f.Value
	if !diary.Noted(size) || size == 0 {
		size = f.Scenario
	}
	return min(3, significantDecimals(size))
}

// span says from when to when a diary reaches.
func (d *Diary) span() string {
	if len(d.Rows) == 0 {
		return d.Name + ": no runs"
	}
	return say("%s: %s from %s to %s", d.Name, plural(len(d.Rows), "run"), DayYear(d.Rows[0].Date),
		DayYear(d.Rows[len(d.Rows)-1].Date))
}

// oddText says what is odd about a row.
func oddText(f diary.Finding) string {
	texts := make([]string, len(f.Odd))
	for i, measure := range f.Odd {
		switch measure {
		case diary.Wood:
			texts[i] = say("wood %.1f kg, expected %.1f", f.WoodAsIsKg.Noted, f.WoodAsIsKg.Expected)
		case diary.Power:
			texts[i] = say("%.2f kW in the mean; the set gives %.2f to %.2f", f.PowerKW.Noted, f.LeastKW, f.MostKW)
		case diary.ChargeGained:
			texts[i] = fmt.Sprintf("charge %+.0f %% in the run, expected %+.0f %%", f.GainedPct.Noted, f.GainedPct.Expected)
		case diary.ChargeLost:
			texts[i] = fmt.Sprintf("charge %+.0f %% until the next match, expected %+.0f %%", -f.LostPct.Noted, -f.LostPct.Expected)
		}
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
		all = append(all, say("As a rule a run takes %.2f times the wood that the scenario expects for its hours and kWh.",
			x))
	}
	if x := c.UsualGainedMorePct; diary.Noted(x) {
		all = append(all, say("In a run the bank gains %s, until the next match it loses %s than the scenario expects.",
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
		if text := fmt.Sprintf("%+.3f", x); strings.Trim(text, "+-0.") != "" {
			return text
		}
		return "0"
	}
	var all []string
	add := func(d diary.Drift, name, unit string) {
		switch e := d.PerMonth(); {
		case !e.Told():
		case d.Drifted:
			all = append(all, fmt.Sprintf("The %s drifts: %+.3f %s a month (%s to %s): filter, ash, leaks or wetter wood?",
				name, e.Value, unit, signed(e.Low), signed(e.High)))
		default:
			all = append(all, say("The %s does not drift beyond what chance does (%s to %s %s a month).",
				name, signed(e.Low), signed(e.High), unit))
		}
	}
	add(wood, "wood", "kg/kWh")
	add(power, "power", "kW")
	return all
}

// DiaryCheck reports how a diary compares with what the scenario expects.
func DiaryCheck(d *Diary) *Report {
	c := d.Comparison
	return &Report{Warnings: d.Warnings, Page: d.page, Text: func(t *Terminal) {
		odd := c.Odd()
		switch n := len(odd); n {
		case 0:
			t.Line("%s; none is odd", d.span())
		case 1:
			t.Line("%s; 1 of them looks odd against %s", d.span(), d.Scenario)
		default:
			t.Line("%s; %.0f of them look odd against %s", d.span(), float64(n), d.Scenario)
		}
		for _, f := range odd {
			r := &d.Rows[f.Row]
			t.Line("line %d, %s: %s", r.Line, r.String(), oddText(f))
		}
		t.Gap()
		for _, text := range append(usual(c), drifts(c.WoodDrift, c.PowerDrift)...) {
			t.Line("%s", text)
		}
		t.Gap()
		t.Note("Noted, and what the plan does on the same days (" + d.PlanText + ")")
		diaryMonths.text(t, c.Months)
		t.Note("A row is odd by the margins of a judgement (a quarter of the wood, a tenth of the power, 15 points of " +
			"charge) and, from eight runs on, by four robust standard deviations from the diary's own usual.")
	}, JSON: func() Pairs {
		findings := objects(c.Findings, func(f diary.Finding) Pairs {
			return append(runJSON(&d.Rows[f.Row]), Pairs{{"engine_hours", f.EngineHours},
				{"wood_as_is_kg", besideJSON(f.WoodAsIsKg)}, {"power_kw", besideJSON(f.PowerKW)},
				{"gained_pct", besideJSON(f.GainedPct)}, {"lost_pct", besideJSON(f.LostPct)},
				{"odd", append([]diary.Measure{}, f.Odd...)}}...)
		})
		return append(d.json(), Pairs{{"odd_rows", len(c.Odd())}, {"findings", findings},
			{"usual", Pairs{{"wood_ratio", c.UsualWoodRatio}, {"gained_more_pct", c.UsualGainedMorePct},
				{"lost_more_pct", c.UsualLostMorePct}}}, {"months", diaryMonths.json(c.Months)}}...)
	}}
}

// DiaryFit reports what a diary tells of the scenario's figures.
func DiaryFit(d *Diary) *Report {
	f := d.Fit
	return &Report{Warnings: d.Warnings, Page: d.page, Text: func(t *Terminal) {
		all, told := f.Figures(), 0
		for _, figure := range all {
			if figure.Told() {
				told++
			}
		}
		t.Line("%s; it tells %d of %d figures of %s", d.span(), told, len(all), d.Scenario)
		t.Gap()
		fittedColumns.text(t, all)
		t.Note("Wood is oven-dry, at the rated moisture. An interval holds the true figure nine times in ten where the " +
			"rest of the scenario is right: charger, inverter, the bank's size, the chores' hours, the daily shape of the load, " +
			"and what is held.")
		for _, why := range whys(all) {
			t.Line("%s", why)
		}
		if len(d.Settings) > 0 {
			t.WriteString("\nPaste into the scenario, or write a new one with --out FILE\n" + pasteText(d.Settings))
		}
		for i, text := range append(drifts(f.WoodDrift, f.PowerDrift), d.leftOut()...) {
			if i == 0 {
				t.Gap()
			}
			t.Line("%s", text)
		}
	}, JSON: func() Pairs {
		told := Pairs{}
		for _, figure := range f.Figures() {
			told = append(told, Pair{figure.Key, append(estimateJSON(figure.Estimate), Pair{"scenario", figure.Scenario})})
		}
		lines := objects(d.Settings, func(s diary.FittedSetting) Pairs {
			return Pairs{{"key", s.Key}, {"value", FittedLine(s).Value}}
		})
		outliers := objects(f.Outliers, func(o diary.Outlier) Pairs {
			return append(runJSON(&d.Rows[o.Row]), Pair{"of", fittedMeasures[o.Measure]})
		})
		return append(d.json(), Pairs{{"fit", told},
			{"drift", Pairs{{"wood_kg_per_kwh_a_day", estimateJSON(f.WoodDrift.PerDay)}, {"wood_drifted", f.WoodDrift.Drifted},
				{"power_kw_a_day", estimateJSON(f.PowerDrift.PerDay)}, {"power_drifted", f.PowerDrift.Drifted}}},
			{"lines", lines}, {"outliers", outliers}}...)
	}}
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
	for i, why := range reasons {
		reasons[i] = sentence(strings.Join(names[why], ", ") + ": " + why)
	}
	return reasons
}

// leftOut names the rows that a fit leaves out.
func (d *Diary) leftOut() []string {
	const most = 6
	var all []string
	for i, o := range d.Fit.Outliers {
		if i == most {
			return append(all, say("And %d more.", len(d.Fit.Outliers)-most))
		}
		r := &d.Rows[o.Row]
		all = append(all, say("Left out as odd: line %d, %s (%s).", r.Line, r.String(), fittedMeasures[o.Measure]))
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
		line.Comment = say("%s to %s, %s", significant(s.Low), significant(s.High), plural(s.Rows, "row"))
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
			fmt.Fprintln(&b, Wrap("# "+l.Comment, Width, "# "))
		}
		b.WriteString(text + "\n")
	}
	return b.String()
}

// json is what all answers about a diary begin with.
func (d *Diary) json() Pairs {
	return Pairs{{"diary", d.Name}, {"scenario", d.Scenario}, {"rows", len(d.Rows)}}
}

func runJSON(r *diary.Row) Pairs {
	return Pairs{{"line", r.Line}, {"date", r.Date}, {"start", calendar.Clock(r.StartMinute)}}
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

// page shows wood for each kWh, runs against the plan, what drifts.
func (d *Diary) page() *Page {
	p := &Page{Title: d.Name + ": the diary", Subtitle: d.span() + ", against " + d.Scenario + ".",
		Parts: []Part{d.fitPart(), d.woodPart(), d.planPart()}}
	p.answer("Odd", say("%s of %d.", plural(len(d.Comparison.Odd()), "run"), len(d.Rows)))
	for _, text := range usual(d.Comparison) {
		p.answer("Usual", text)
	}
	for _, text := range drifts(d.Fit.WoodDrift, d.Fit.PowerDrift) {
		p.answer("Drift", text)
	}
	table := fittedColumns.table("", d.Fit.Figures())
	for i, f := range d.Fit.Figures() {
		if row := table.Rows[i]; f.Told() {
			p.answer("Fitted", say("%s: %s (%s), in the scenario %s.", row[0], row[2], row[3], row[1]))
		}
	}
	return p
}

func (d *Diary) fitPart() Part {
	columns := slices.Concat(fittedColumns, list[diary.Figure]{texts("why", "", func(f *diary.Figure) string { return f.Why }, nil)})
	return Part{ID: "fit", Title: "Your own set", Tables: []Table{columns.table("Fitted to the diary", d.Fit.Figures())},
		Caption: "What the diary tells of your own set, each figure with the interval that holds the true one nine times in " +
			"ten where the rest of the scenario is right."}
}

// A pictured is a run with what is odd about it.
type pictured struct {
	diary.FittedRun
	row *diary.Row
	odd string
}

// drawn is a figure of a run, none where it is left out: it would press the others flat.
func (p *pictured) drawn(x float64) float64 {
	if p.LeftOut {
		return diary.NotNoted()
	}
	return x
}

func (d *Diary) woodPart() Part {
	runs, leftOut := make([]pictured, len(d.Fit.Runs)), 0
	for i, run := range d.Fit.Runs {
		runs[i] = pictured{run, &d.Rows[i], oddText(d.Comparison.Findings[i])}
		if run.LeftOut {
			leftOut++
		}
	}
	columns := list[pictured]{
		texts("run", "", func(p *pictured) string { return p.row.String() }, nil),
		figures("wood kg/kWh", "", 2, func(p *pictured) float64 { return p.WoodPerKWhKg }),
		figures("expected", "", 2, func(p *pictured) float64 { return p.ExpectedPerKWhKg }),
		figures("power kW", "", 2, func(p *pictured) float64 { return p.PowerKW }),
		texts("odd", "", func(p *pictured) string { return p.odd }, nil),
	}
	caption := "Oven-dry wood for each kWh made, and the mean power, run by run."
	if found := drifts(d.Fit.WoodDrift, d.Fit.PowerDrift); len(found) > 0 {
		caption = found[0]
	}
	if leftOut > 0 {
		caption += say(" Left out of the lines as odd: %s.", plural(leftOut, "run"))
	}
	return Part{ID: "wood", Title: "Wood for each kWh", Caption: caption, Tall: true,
		Tables: []Table{columns.table("Run by run", runs)},
		Chart: chart(runs, func(p *pictured) string { return p.row.Date.Time().Format("2 Jan") },
			zoomable, []panel{{axis: "wood, dry kg/kWh", share: 0.5}, {axis: "power, kW", share: 0.5}},
			curveOf("noted", "wood", bold, func(p *pictured) float64 { return p.drawn(p.WoodPerKWhKg) }),
			curveOf("expected of such a run", "wood", dashed,
				func(p *pictured) float64 { return p.drawn(p.ExpectedPerKWhKg) }),
			curveOf("power", "engine", lower|bold, func(p *pictured) float64 { return p.drawn(p.PowerKW) }))}
}

func (d *Diary) planPart() Part {
	hours, planned := d.Comparison.AttendedH()
	return Part{ID: "plan", Title: "Runs against the plan", Tall: true,
		Caption: say("%.0f attended hours noted, %.0f planned on the same days (%s).", hours,
			planned, d.PlanText),
		Tables: []Table{diaryMonths.table("By month", d.Comparison.Months)},
		Chart: chart(d.Comparison.Months, func(m *diary.Month) string { return m.First.Time().Format("Jan 06") },
			allRows, []panel{{axis: "attended hours", share: 0.5}, {axis: "wood, dry kg", share: 0.5, thousands: true}},
			curveOf("noted", "engine", bars, func(m *diary.Month) float64 { return m.AttendedH }),
			curveOf("planned", "engine", bars|hollow,
				func(m *diary.Month) float64 { return m.PlanAttendedH }),
			curveOf("wood noted", "wood", lower|bars, func(m *diary.Month) float64 { return m.WoodDryKg }),
			curveOf("wood planned", "wood", lower|bars|hollow,
				func(m *diary.Month) float64 { return m.PlanWoodDryKg }))}
}
