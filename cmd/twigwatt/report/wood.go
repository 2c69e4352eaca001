package report

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
	"twigwatt/storage/woodpile"
)

// WoodText writes a span's wood for a person at a terminal of 80 columns.
func WoodText(w io.Writer, s *study.Wood) error {
	var b strings.Builder
	fmt.Fprintln(&b, Wrap(fmt.Sprintf("%s: %s of oven-dry wood for %s from %s", s.Name, Mass(s.Need.DryKg),
		plural(s.Span.Days, "day"), DayYear(s.Span.Start)), Width, "  "))
	answer(&b, "Need", needText(s))
	answer(&b, "Ready", readyText(s))
	for _, todo := range woodTodo(s) {
		answer(&b, "DO", todo)
	}
	b.WriteString("\n")
	lotTable(&b, s)
	woodMonths(&b, s)
	b.WriteString("\n")
	cutTable(&b, s)
	b.WriteString("\n")
	fmt.Fprintln(&b, Wrap("Ground for so much each year: "+groundText(s), Width, "  "))
	fmt.Fprintln(&b, Wrap("Char "+charText(s), Width, "  "))
	warnings(&b, s.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func needText(s *study.Wood) string {
	return fmt.Sprintf("%s if it is all %s (%s cords, %s loose m3, %s solid m3, %s as it lies, %s oven-dry), %s h of work", stacked(s.Need.StackedM3), s.Species.Key, Number(s.Need.Cords, 1),
		Number(s.Need.LooseM3, 1), Number(s.Need.SolidM3, 1), Mass(s.Need.AsIsKg), Mass(s.Need.DryKg), Number(s.Need.WorkHours, 0))
}

func groundText(s *study.Wood) string {
	g := &s.Ground
	return fmt.Sprintf("%s to %s ha of coppice (Aylott et al. 2008), or %s ha of grown broadleaf wood (Royal Forestry Society), or %s km of hedge (Wolton 2012).",
		Number(g.CoppiceLeastHa, 2), Number(g.CoppiceMostHa, 2), Number(g.BroadleafHa, 2), Number(g.HedgeM/1000, 1))
}

func charText(s *study.Wood) string {
	low, high := s.Char.KeptRange()
	return fmt.Sprintf("%s kg; its carbon keeps about %s kg of CO2 out of the air for a century, %s to %s (IPCC 2019).",
		Number(s.Char.Kg, 0), Number(s.Char.KeptCO2Kg, 0), Number(low, 0), Number(high, 0))
}

func stacked(m3 float64) string { return Number(m3, 1) + " stacked m3" }

func readyText(s *study.Wood) string {
	switch {
	case s.Endless:
		return "no pile is described: ready wood without end was taken"
	case s.NoWood == nil:
		return "ready wood lasts the span"
	}
	text := fmt.Sprintf("ready wood runs out on %s; %s without a run", dayIn(s.Span, s.NoWood.Date), plural(s.NoDays, "day"))
	if s.NoWood.Date == s.Span.Start {
		text = fmt.Sprintf("no wood is ready as the span begins; %s without a run", plural(s.NoDays, "day"))
	}
	if s.NoWood.Stack != "" {
		text += fmt.Sprintf("; next to be ready is %s, %s oven-dry at %.0f %% moisture", s.NoWood.Stack,
			Mass(s.NoWood.DryKg), 100*s.NoWood.MoistureShare)
	}
	return text
}

// woodTodo says what to cut, split how, by when.
func woodTodo(s *study.Wood) []string {
	if s.Missing == nil {
		return nil
	}
	m := s.Missing
	text := fmt.Sprintf("have %s more of %s ready by %s", stacked(m.StackedM3), s.Species.Key, dayIn(s.Span, m.Before))
	var ways []string
	for _, way := range m.Ways {
		switch {
		case way.By == nil:
			ways = append(ways, string(way.Piece)+": never dry in this air")
		case way.Late:
			ways = append(ways, fmt.Sprintf("%s, under a roof: should have been cut by %s", way.Piece, DayYear(*way.By)))
		default:
			ways = append(ways, fmt.Sprintf("%s, under a roof: cut by %s", way.Piece, DayYear(*way.By)))
		}
	}
	text += " (" + strings.Join(ways, "; ") + ")"
	if len(m.Ways) > 0 && m.Ways[len(m.Ways)-1].Late {
		text += "; that is past: get wood that is dry"
		if m.Before > s.Span.Start {
			text += ", or ration (plan.ration)"
		}
	}
	if logs := s.NoWood.DryLogsKg; logs > 0 {
		return []string{fmt.Sprintf("cut the logs small: %s oven-dry lie there dry enough", Mass(logs)), text}
	}
	return []string{text}
}

// lotTable writes when each stack and cut can be burned.
func lotTable(b *strings.Builder, s *study.Wood) {
	if len(s.Lots) == 0 {
		return
	}
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, strings.Join(lotHead, "\t"))
	for _, row := range lotRows(s) {
		row[0] = shorten(row[0])
		fmt.Fprintln(w, strings.Join(row, "\t"))
	}
	w.Flush()
	b.WriteString("\n")
}

var lotHead = []string{"stack", "lies from", "dry kg", "piece, cover", "can be burned from"}

func lotRows(s *study.Wood) [][]string {
	var rows [][]string
	for _, l := range s.Lots {
		ready := "never dry in this air"
		if l.Ready != nil {
			ready = DayYear(max(*l.Ready, s.Span.Start))
			if l.Piece == woodpile.Log {
				ready = "dry " + ready + ", when cut small"
			}
		}
		rows = append(rows, []string{l.Name, DayYear(l.From), Number(l.DryKg, 0), string(l.Piece) + ", " + string(l.Cover), ready})
	}
	return rows
}

// shorten keeps a household's own name from pushing a table past the terminal.
func shorten(name string) string {
	const most = 16
	if runes := []rune(name); len(runes) > most {
		return string(runes[:most-1]) + "…"
	}
	return name
}

func woodMonths(b *strings.Builder, s *study.Wood) {
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "month    \tneed m3\tneed dry kg\tready as it begins, dry kg\tdays without\t")
	for _, row := range woodMonthRows(s) {
		fmt.Fprintf(w, "%-9s\t%s\t\n", row[0], strings.Join(row[1:], "\t"))
	}
	w.Flush()
}

func woodMonthRows(s *study.Wood) [][]string {
	var rows [][]string
	for i := range s.Months {
		m := &s.Months[i]
		ready := "no end"
		if !s.Endless {
			ready = Number(m.ReadyDryKg, 0)
		}
		rows = append(rows, []string{m.First.Time().Format("Jan 2006"), Number(m.NeedStackedM3, 1),
			Number(m.NeedDryKg, 0), ready, Number(float64(m.DaysWithoutReady), 0)})
	}
	return rows
}

// cutTable writes when wood cut on the first of each month is ready.
func cutTable(b *strings.Builder, s *study.Wood) {
	fmt.Fprintln(b, Wrap(cutLead(s), Width, "  "))
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "cut\tchunk, roof\topen\tsplit, roof\topen\tlog, roof\topen")
	for _, row := range cutRows(s) {
		fmt.Fprintln(w, strings.Join(row, "\t"))
	}
	w.Flush()
}

func cutLead(s *study.Wood) string {
	return fmt.Sprintf("When %s cut on the first of a month is ready in this air (logs: dry, but still to be cut small)", s.Species.Key)
}

func cutRows(s *study.Wood) [][]string {
	var rows [][]string
	const perMonth = 6
	for i := 0; i+perMonth <= len(s.CutTable); i += perMonth {
		cells := []string{s.CutTable[i].Month.Time().Format("Jan 2006")}
		for _, row := range s.CutTable[i : i+perMonth] {
			cells = append(cells, shortDay(row.Ready))
		}
		rows = append(rows, cells)
	}
	return rows
}

func shortDay(d *calendar.Date) string {
	if d == nil {
		return "never"
	}
	return d.Time().Format("2 Jan 06")
}

type woodReportJSON struct {
	Format        int             `json:"format"`
	Scenario      string          `json:"scenario"`
	Species       string          `json:"species"`
	NeedDryKg     figure          `json:"need_dry_kg"`
	NeedAsIsKg    figure          `json:"need_as_is_kg"`
	NeedSolidM3   figure          `json:"need_solid_m3"`
	NeedStackedM3 figure          `json:"need_stacked_m3"`
	NeedLooseM3   figure          `json:"need_loose_m3"`
	NeedCords     figure          `json:"need_cords"`
	WorkHours     figure          `json:"work_hours"`
	Months        []woodMonthJSON `json:"months"`
	RunsOut       *string         `json:"runs_out"`
	CutTable      []cutRowJSON    `json:"cut_table"`
	Lots          []lotJSON       `json:"lots"`
	Missing       *missingJSON    `json:"missing"`
	Ground        groundJSON      `json:"ground"`
	Char          charJSON        `json:"char"`
	Warnings      []warningJSON   `json:"warnings"`
	Cautions      []string        `json:"cautions"`
}

type woodMonthJSON struct {
	Month      string `json:"month"`
	NeedDryKg  figure `json:"need_dry_kg"`
	ReadyDryKg figure `json:"ready_dry_kg"`
}

type cutRowJSON struct {
	Month     string  `json:"month"`
	Piece     string  `json:"piece"`
	Cover     string  `json:"cover"`
	ReadyFrom *string `json:"ready_from"`
}

type lotJSON struct {
	Name      string  `json:"name"`
	From      string  `json:"from"`
	DryKg     figure  `json:"dry_kg"`
	Piece     string  `json:"piece"`
	Cover     string  `json:"cover"`
	ReadyFrom *string `json:"ready_from"`
}

type missingJSON struct {
	DryKg     figure    `json:"dry_kg"`
	StackedM3 figure    `json:"stacked_m3"`
	ReadyBy   string    `json:"ready_by"`
	Ways      []wayJSON `json:"ways"`
}

type wayJSON struct {
	Piece string  `json:"piece"`
	CutBy *string `json:"cut_by"`
}

type groundJSON struct {
	CoppiceLeastHa figure `json:"coppice_least_ha"`
	CoppiceMostHa  figure `json:"coppice_most_ha"`
	BroadleafHa    figure `json:"broadleaf_ha"`
	HedgeM         figure `json:"hedge_m"`
}

// WoodJSON writes a span's wood with the keys of the manual.
func WoodJSON(w io.Writer, s *study.Wood) error {
	n, g := &s.Need, &s.Ground
	doc := woodReportJSON{Format: 1, Scenario: s.Name, Species: s.Species.Key, NeedDryKg: figure(n.DryKg),
		NeedAsIsKg: figure(n.AsIsKg), NeedSolidM3: figure(n.SolidM3),
		NeedStackedM3: figure(n.StackedM3), NeedLooseM3: figure(n.LooseM3), NeedCords: figure(n.Cords), WorkHours: figure(n.WorkHours),
		Months: []woodMonthJSON{}, CutTable: []cutRowJSON{}, Ground: groundJSON{figure(g.CoppiceLeastHa),
			figure(g.CoppiceMostHa), figure(g.BroadleafHa), figure(g.HedgeM)},
		Char:     charJSON{figure(s.Char.Kg), figure(s.Char.CarbonKg), figure(s.Char.KeptCO2Kg)},
		Warnings: warningsJSON(s.Warnings), Cautions: Cautions}
	for i := range s.Months {
		m := &s.Months[i]
		doc.Months = append(doc.Months, woodMonthJSON{m.First.Time().Format("2006-01"), figure(m.NeedDryKg), figure(m.ReadyDryKg)})
	}
	for _, row := range s.CutTable {
		doc.CutTable = append(doc.CutTable, cutRowJSON{row.Month.Time().Format("2006-01"), string(row.Piece),
			string(row.Cover), dateOrNull(row.Ready)})
	}
	doc.Lots = []lotJSON{}
	for _, l := range s.Lots {
		doc.Lots = append(doc.Lots, lotJSON{l.Name, l.From.String(), figure(l.DryKg), string(l.Piece), string(l.Cover),
			dateOrNull(l.Ready)})
	}
	if s.NoWood != nil {
		doc.RunsOut = dateOrNull(&s.NoWood.Date)
	}
	if m := s.Missing; m != nil {
		doc.Missing = &missingJSON{figure(m.DryKg), figure(m.StackedM3), m.Before.String(), []wayJSON{}}
		for _, way := range m.Ways {
			doc.Missing.Ways = append(doc.Missing.Ways, wayJSON{string(way.Piece), dateOrNull(way.By)})
		}
	}
	return WriteJSON(w, doc)
}
