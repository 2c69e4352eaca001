package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"twigwatt/sim/calendar"
	"twigwatt/sim/diary"
)

// A fitted figure, with what the scenario says of it.
type fitted struct {
	key, name string
	diary.Estimate
	scenario float64
}

// shown is the figure and its interval in words.
func (f *fitted) shown() (value, interval string) {
	switch {
	case f.Held:
		return f.write(f.Value) + " held", ""
	case f.Told():
		return f.write(f.Value), f.write(f.Low) + " to " + f.write(f.High)
	}
	return "not told", ""
}

// figures are those of a fit, in the manual's order.
func (d *Diary) figures() []fitted {
	h, f := d.House, d.Fit
	first, last := h.Set.Line[0], h.Set.Line[len(h.Set.Line)-1]
	perKWh := (last.Y - first.Y) / (last.X - first.X)
	roundTrip := diary.NotNoted()
	if len(h.Bank.ChargeCurve) == 1 {
		roundTrip = h.Bank.ChargeCurve[0].Y * h.Bank.DischargeEfficiency
	}
	house := d.LoadKWhPerDay
	if f.LoadFactor.Told() && f.LoadFactor.Value > 0 { // on the diary's own days
		house = f.HouseKWhPerDay.Value / f.LoadFactor.Value
	}
	return []fitted{
		{"wood_idle_kg_h", "wood at no load, kg/h", f.WoodIdleKgH, first.Y - perKWh*first.X},
		{"wood_per_kwh_kg", "wood for each kWh, kg", f.WoodPerKWhKg, perKWh},
		{"light_up_kg", "wood of a light-up, kg", f.LightUpKg, h.Set.LightUpKg},
		{"kw", "the set's power, kW", f.KW, h.Set.KW},
		{"round_trip_pct", "the bank, in and out, %", f.RoundTripPct, roundTrip},
		{"house_kwh_per_day", "the house, kWh a day", f.HouseKWhPerDay, house},
	}
}

// FitText writes a fit for a person at a terminal.
func FitText(w io.Writer, d *Diary) error {
	var b strings.Builder
	all := d.figures()
	told := 0
	for _, f := range all {
		if f.Told() {
			told++
		}
	}
	fmt.Fprintln(&b, Wrap(fmt.Sprintf("%s; it tells %d of %d figures of %s", d.span(), told, len(all), d.Scenario), Width, "  "))
	b.WriteString("\n")
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "                        \tscenario\tdiary\tnine in ten\trows\t")
	for _, f := range all {
		value, interval := f.shown()
		fmt.Fprintf(t, "%-23s\t%s\t%s\t%s\t%d\t\n", f.name, f.inScenario(), value, interval, f.Rows)
	}
	t.Flush()
	fmt.Fprintln(&b, Wrap("Wood is oven-dry, at the rated moisture. An interval holds the true figure nine times in ten where the rest of the scenario is right: charger, inverter, the bank's size, the chores' hours, the daily shape of the load, and what is held.", Width, ""))
	for _, text := range d.whys() {
		fmt.Fprintln(&b, Wrap(text, Width, "  "))
	}
	if len(d.Lines) > 0 {
		b.WriteString("\nPaste into the scenario, or write a new one with --out FILE\n")
		b.WriteString(pasteText(d.Lines))
	}
	more := append(d.drifts(), d.outlierTexts()...)
	if len(more) > 0 {
		b.WriteString("\n")
	}
	for _, text := range more {
		fmt.Fprintln(&b, Wrap(text, Width, "  "))
	}
	warnings(&b, d.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// inScenario is the figure that the scenario gives.
func (f *fitted) inScenario() string {
	if !diary.Noted(f.scenario) {
		return "by charge"
	}
	return f.write(f.scenario)
}

// write writes one of a row's figures, all with the same decimals.
func (f *fitted) write(x float64) string {
	size := f.Value
	if !diary.Noted(size) || size == 0 {
		size = f.scenario
	}
	const digits, most = 4, 3
	decimals := most
	if size := math.Abs(size); size >= 1 {
		decimals = min(most, max(0, digits-1-int(math.Floor(math.Log10(size)))))
	}
	return Number(x, decimals)
}

// whys say what the diary cannot tell, each reason once.
func (d *Diary) whys() []string {
	var reasons []string
	names := map[string][]string{}
	for _, f := range d.figures() {
		if f.Why == "" {
			continue
		}
		if names[f.Why] == nil {
			reasons = append(reasons, f.Why)
		}
		name, _, _ := strings.Cut(f.name, ",")
		names[f.Why] = append(names[f.Why], name)
	}
	var all []string
	for _, why := range reasons {
		all = append(all, sentence(strings.Join(names[why], ", ")+": "+why))
	}
	return all
}

// pasteText is lines under the heads of their tables.
func pasteText(lines []Line) string {
	var b strings.Builder
	table := ""
	for _, l := range lines {
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

// outlierTexts name the rows that a fit leaves out.
func (d *Diary) outlierTexts() []string {
	const most = 6
	var all []string
	for i, o := range d.Fit.Outliers {
		if i == most {
			all = append(all, fmt.Sprintf("And %d more.", len(d.Fit.Outliers)-most))
			break
		}
		r := &d.Rows[o.Row]
		all = append(all, fmt.Sprintf("Left out as odd: line %d, %s (%s).", r.Line, r.String(), o.Of))
	}
	return all
}

func estimateJSON(e diary.Estimate) Pairs {
	var why any
	if e.Why != "" {
		why = e.Why
	}
	return Pairs{{"value", figure(e.Value)}, {"low", figure(e.Low)}, {"high", figure(e.High)}, {"rows", e.Rows},
		{"held", e.Held}, {"why", why}}
}

// FitJSON writes a fit with the keys of the manual.
func FitJSON(w io.Writer, d *Diary) error {
	fit, lines, outliers := Pairs{}, []Pairs{}, []Pairs{}
	for _, f := range d.figures() {
		fit = append(fit, Pair{f.key, append(estimateJSON(f.Estimate), Pair{"scenario", figure(f.scenario)})})
	}
	for _, l := range d.Lines {
		lines = append(lines, Pairs{{"key", l.Key}, {"value", l.Value}})
	}
	for _, o := range d.Fit.Outliers {
		r := &d.Rows[o.Row]
		outliers = append(outliers, Pairs{{"line", r.Line}, {"date", r.Date.String()},
			{"start", calendar.Clock(r.StartMinute)}, {"of", string(o.Of)}})
	}
	return WriteJSON(w, Pairs{{"format", 1}, {"diary", d.Name}, {"scenario", d.Scenario}, {"rows", len(d.Rows)}, {"fit", fit},
		{"drift", Pairs{{"wood_kg_per_kwh_a_day", estimateJSON(d.Fit.WoodDrift.PerDay)},
			{"wood_drifted", d.Fit.WoodDrift.Drifted}, {"power_kw_a_day", estimateJSON(d.Fit.PowerDrift.PerDay)},
			{"power_drifted", d.Fit.PowerDrift.Drifted}}},
		{"lines", lines}, {"outliers", outliers}, {"warnings", warningsJSON(d.Warnings)}, {"cautions", Cautions}})
}

// DiaryPage writes a diary's page: wood for each kWh, runs against the plan, what drifts.
func DiaryPage(w io.Writer, d *Diary, basis Basis) error {
	p := &Page{Basis: basis, Title: d.Name + ": the diary", Subtitle: d.span() + ", against " + d.Scenario + ".", Cautions: Cautions}
	odd := d.odd()
	p.Answers = []Answer{{"Odd", fmt.Sprintf("%s of %d.", plural(len(odd), "run"), len(d.Rows))}}
	for _, text := range d.usual() {
		p.Answers = append(p.Answers, Answer{"Usual", text})
	}
	for _, text := range d.drifts() {
		p.Answers = append(p.Answers, Answer{"Drift", text})
	}
	for _, f := range d.figures() {
		if f.Told() {
			value, interval := f.shown()
			p.Answers = append(p.Answers, Answer{"Fitted", fmt.Sprintf("%s: %s (%s), in the scenario %s.", f.name, value,
				interval, f.inScenario())})
		}
	}
	p.Parts = []Part{d.fitPart(), d.woodPart(), d.planPart()}
	for _, warning := range d.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}

func (d *Diary) woodPart() Part {
	var labels []string
	var wood, expected, power []float64
	out := map[int]bool{}
	for _, o := range d.Fit.Outliers {
		out[o.Row] = true
	}
	table := Table{Caption: "Run by run", Head: []string{"run", "wood kg/kWh", "expected", "power kW", "odd"}}
	for i := range d.Fit.Points {
		pt := &d.Fit.Points[i]
		r := &d.Rows[pt.Row]
		labels = append(labels, r.Date.Time().Format("2 Jan"))
		want := diary.NotNoted()
		if r.KWh > 0 {
			want = pt.ExpectedDryKg / r.KWh
		}
		if out[pt.Row] { // would press the others flat
			wood, expected, power = append(wood, diary.NotNoted()), append(expected, diary.NotNoted()), append(power, diary.NotNoted())
		} else {
			wood, expected, power = append(wood, pt.WoodPerKWhKg), append(expected, want), append(power, pt.PowerKW)
		}
		var texts []string
		for _, kind := range d.Check.Findings[pt.Row].Odd {
			texts = append(texts, oddText(d.Check.Findings[pt.Row], kind))
		}
		table.Rows = append(table.Rows, []string{r.String(), orDash(pt.WoodPerKWhKg), orDash(want), orDash(pt.PowerKW),
			strings.Join(texts, "; ")})
	}
	caption := "Oven-dry wood for each kWh made, and the mean power, run by run."
	if drifts := d.drifts(); len(drifts) > 0 {
		caption = drifts[0]
	}
	if len(out) > 0 {
		caption += fmt.Sprintf(" Left out of the lines as odd: %s.", plural(len(out), "run"))
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
	hours, planned := 0.0, 0.0
	for _, m := range d.Months {
		labels = append(labels, m.First.Time().Format("Jan 06"))
		noted, plan = append(noted, m.AttendedH), append(plan, m.PlanAttendedH)
		wood, planWood = append(wood, m.WoodDryKg), append(planWood, m.PlanWoodDryKg)
		hours, planned = hours+m.AttendedH, planned+m.PlanAttendedH
	}
	return Part{ID: "plan", Title: "Runs against the plan", Tall: true,
		Caption: fmt.Sprintf("%s attended hours noted, %s planned on the same days (%s).", Number(hours, 0),
			Number(planned, 0), d.PlanText),
		Chart: panels(labels, []panel{{axis: "attended hours", share: 0.5}, {axis: "wood, dry kg", share: 0.5, thousand: true}},
			[]series{{name: "noted", colour: "engine", values: noted, bars: true},
				{name: "planned", colour: "engine", values: plan, bars: true, hollow: true},
				{name: "wood noted", colour: "wood", values: wood, panel: 1, bars: true},
				{name: "wood planned", colour: "wood", values: planWood, panel: 1, bars: true, hollow: true}}, false),
		Tables: []Table{{Caption: "By month", Head: []string{"month", "days", "runs", "hours", "plan", "kWh", "plan",
			"wood dry kg", "plan"}, Rows: d.monthRows()}}}
}

func (d *Diary) fitPart() Part {
	table := Table{Caption: "Fitted to the diary", Head: []string{"", "scenario", "diary", "nine in ten", "rows", "why"}}
	for _, f := range d.figures() {
		value, interval := f.shown()
		table.Rows = append(table.Rows, []string{f.name, f.inScenario(), value, interval, fmt.Sprint(f.Rows), f.Why})
	}
	caption := "What the diary tells of your own set, each figure with the interval that holds the true one nine times in ten where the rest of the scenario is right."
	return Part{ID: "fit", Title: "Your own set", Caption: caption, Tables: []Table{table}}
}
