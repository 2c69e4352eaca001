package report

import (
	"fmt"
	"io"

	"twigwatt/sim/study"
)

// WoodPage writes a span's wood as a page to pin up at the pile.
func WoodPage(w io.Writer, s *study.Wood, basis Basis) error {
	p := &Page{Basis: basis, Title: s.Name + ": the wood", Subtitle: fmt.Sprintf("%s of oven-dry wood for %s from %s.", Mass(s.Need.DryKg), plural(s.Span.Days, "day"), DayYear(s.Span.Start)),
		Todo: woodTodo(s), Cautions: Cautions}
	p.Answers = []Answer{{"Need", sentence(needText(s))}, {"Ready", sentence(readyText(s))},
		{"Ground for so much each year", groundText(s)}, {"Char", charText(s)}}
	p.Parts = []Part{woodByMonth(s), {ID: "cut", Title: "What is cut when", Caption: cutLead(s) + ".",
		Tables: []Table{{Caption: "Ready to burn from", Head: []string{"cut", "chunk, roof", "chunk, open",
			"split, roof", "split, open", "log, roof", "log, open"}, Rows: cutRows(s)}}}}
	if len(s.Lots) > 0 {
		p.Parts[1].Tables = append([]Table{{Caption: "The stacks", Head: lotHead, Rows: lotRows(s)}}, p.Parts[1].Tables...)
	}
	for _, warning := range s.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}

func woodByMonth(s *study.Wood) Part {
	var labels []string
	var need, ready []float64
	most := 0
	for i := range s.Months {
		m := &s.Months[i]
		labels = append(labels, m.First.Time().Format("Jan 06"))
		need, ready = append(need, m.NeedDryKg), append(ready, m.ReadyDryKg)
		if m.NeedDryKg > s.Months[most].NeedDryKg {
			most = i
		}
	}
	all := []series{{name: "needed in the month", colour: "wood", values: need, bars: true}}
	if !s.Endless {
		all = append(all, series{name: "ready as the month begins", colour: "ready", values: ready, width: 2.2})
	}
	caption := "No month needs wood."
	if len(s.Months) > 0 && s.Months[most].NeedDryKg > 0 {
		caption = fmt.Sprintf("%s needs most, %s oven-dry; %s.", s.Months[most].First.Time().Format("January 2006"),
			Mass(s.Months[most].NeedDryKg), readyText(s))
	}
	return Part{ID: "months", Title: "Need and ready wood", Caption: caption,
		Chart: panels(labels, []panel{{axis: "oven-dry wood, kg", share: 1, thousand: true}}, all, false),
		Tables: []Table{{Caption: "By month", Head: []string{"month", "need stacked m³", "need dry kg",
			"ready as it begins, dry kg", "days without"}, Rows: woodMonthRows(s)}}}
}
