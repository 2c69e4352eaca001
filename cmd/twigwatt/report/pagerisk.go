package report

import (
	"fmt"
	"io"

	"twigwatt/sim/study"
)

// RiskPage writes the spreads as a page.
func RiskPage(w io.Writer, r *study.Risk, basis Basis) error {
	p := &Page{Basis: basis, Title: r.Name + ": how bad can it get",
		Subtitle: fmt.Sprintf("%s %s of luck, %s each.", Number(float64(r.Years), 0), spans(r),
			plural(r.Span.Days, "day")), Cautions: Cautions}
	p.Answers = []Answer{{"Stack", underTitle(r.Name, riskAnswer(r))},
		{"Short", fmt.Sprintf("At most %s in nine %s of ten, %s in half.", plural(int(r.All.ShortDays.P90), "day"),
			spans(r), plural(int(r.All.ShortDays.P50), "day"))}}
	for _, line := range riskLines(r) {
		p.Answers = append(p.Answers, Answer{line.Label, sentence(line.Text)})
	}
	p.Parts = []Part{monthsAtRisk(r)}
	if len(r.Causes) > 0 {
		p.Parts = append(p.Parts, causesAlone(r))
	}
	p.Again = append(p.Again, riskBasis(r)...)
	for _, warning := range r.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}

func monthsAtRisk(r *study.Risk) Part {
	var labels []string
	var half, nine, halfKg, nineKg []float64
	table := Table{Caption: monthsLead(r), Head: []string{"month", "days short", "nine in ten", "kWh short",
		"nine in ten", "wood dry kg", "nine in ten", "attended hours", "nine in ten"}}
	worst := study.MonthRange{}
	for _, m := range r.Months {
		labels = append(labels, m.Month.String()[:3])
		half, nine = append(half, m.ShortKWh.P50), append(nine, m.ShortKWh.P90)
		halfKg, nineKg = append(halfKg, m.WoodDryKg.P50), append(nineKg, m.WoodDryKg.P90)
		table.Rows = append(table.Rows, []string{m.Month.String(), Number(m.ShortDays.P50, 0),
			Number(m.ShortDays.P90, 0), Number(m.ShortKWh.P50, 1), Number(m.ShortKWh.P90, 1),
			Number(m.WoodDryKg.P50, 0), Number(m.WoodDryKg.P90, 0), Number(m.AttendedH.P50, 0), Number(m.AttendedH.P90, 0)})
		if worst.Month == 0 || m.ShortKWh.P90 > worst.ShortKWh.P90 {
			worst = m
		}
	}
	caption := "No month misses anything in nine of ten."
	if worst.ShortKWh.P90 > 0 {
		caption = fmt.Sprintf("%s can go darkest: at most one in ten of them misses more than %s kWh.", worst.Month,
			Number(worst.ShortKWh.P90, 1))
	}
	whole := Table{Caption: "The whole span: so many stay at or under",
		Head: []string{"", "one in ten", "half", "nine in ten", "the worst", "as planned"}, Rows: rangeRows(r)}
	return Part{ID: "months", Title: "By month", Tall: true, Tables: []Table{whole, table},
		Caption: caption,
		Chart: panels(labels, []panel{{axis: "short, kWh", share: 0.5}, {axis: "wood, dry kg", share: 0.5, thousand: true}},
			[]series{{name: "short: half", colour: "short", values: half, bars: true, hollow: true},
				{name: "short: nine in ten", colour: "short", values: nine, bars: true},
				{name: "wood: half", colour: "wood", values: halfKg, panel: 1, bars: true, hollow: true},
				{name: "wood: nine in ten", colour: "wood", values: nineKg, panel: 1, bars: true}}, false)}
}

func causesAlone(r *study.Risk) Part {
	var labels []string
	var short, wood []float64
	for _, c := range r.Causes {
		labels = append(labels, wordsOf(c.Cause).tick)
		short, wood = append(short, c.ShortKWh), append(wood, c.WoodDryKg)
	}
	table := Table{Caption: "Each cause alone, in the mean more than on expected days",
		Head: []string{"cause", "days short", "kWh short", "wood dry kg", "hours", "price kg"}, Rows: causeRows(r)}
	return Part{ID: "causes", Title: "What hurts most", Tall: true, Tables: []Table{table}, Caption: causesText(r),
		Chart: panels(labels, []panel{{axis: "more short, kWh", share: 0.5}, {axis: "more wood, dry kg", share: 0.5, thousand: true}},
			[]series{{name: "more short", colour: "short", values: short, bars: true},
				{name: "more wood", colour: "wood", values: wood, panel: 1, bars: true}}, false)}
}

// causesText is what the worst and the next cause do alone.
func causesText(r *study.Risk) string {
	if len(r.Causes) == 0 {
		return "No cause of luck is at work."
	}
	worst := r.Causes[0]
	text := fmt.Sprintf("Alone, in the mean over all %s, %s bring %s kWh more of dark", spans(r),
		wordsOf(worst.Cause).name, Number(worst.ShortKWh, 1))
	if len(r.Causes) > 1 {
		text += fmt.Sprintf("; %s %s kWh", wordsOf(r.Causes[1].Cause).name, Number(r.Causes[1].ShortKWh, 1))
	}
	return text + "."
}
