package report

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
	"twigwatt/storage/woodpile"
)

// lotColumns are the stacks and cuts, with from when each can be burned.
func lotColumns(s *study.WoodAnswer) list[study.Lot] {
	return list[study.Lot]{
		texts("stack", "name", func(l *study.Lot) string { return shorten(l.Name) }, func(l *study.Lot) any { return l.Name }),
		texts("lies from", "from", func(l *study.Lot) string { return DayYear(l.From) },
			func(l *study.Lot) any { return l.From.String() }),
		figures("dry kg", "dry_kg", 0, func(l *study.Lot) float64 { return l.DryKg }),
		texts("piece, cover", "", func(l *study.Lot) string { return string(l.Piece) + ", " + string(l.Cover) }, nil),
		onlyJSON("piece", func(l *study.Lot) any { return string(l.Piece) }),
		onlyJSON("cover", func(l *study.Lot) any { return string(l.Cover) }),
		texts("can be burned from", "ready_from", func(l *study.Lot) string { return readyFrom(s, l) },
			func(l *study.Lot) any { return orNull(l.Ready, func(d calendar.Date) any { return d.String() }) }),
	}
}

func readyFrom(s *study.WoodAnswer, l *study.Lot) string {
	switch {
	case l.Ready == nil:
		return "never dry in this air"
	case l.Piece == woodpile.Log:
		return "dry " + DayYear(max(*l.Ready, s.Span.Start)) + ", when cut small"
	}
	return DayYear(max(*l.Ready, s.Span.Start))
}

// needColumns are a month's need and what lies ready.
func needColumns(s *study.WoodAnswer) list[study.WoodMonth] {
	return list[study.WoodMonth]{
		monthColumn("Jan 2006", func(m *study.WoodMonth) calendar.Date { return m.First }),
		figures("need\nstacked m3", "", 1, func(m *study.WoodMonth) float64 { return m.NeedStackedM3 }),
		figures("need\ndry kg", "need_dry_kg", 0, func(m *study.WoodMonth) float64 { return m.NeedDryKg }),
		amounts("ready as it\nbegins, dry kg", "ready_dry_kg", func(m *study.WoodMonth) string {
			if s.Pile.Endless {
				return "no end"
			}
			return Number(m.ReadyDryKg, 0)
		}, func(m *study.WoodMonth) any { return figure(m.ReadyDryKg) }),
		figures("days\nwithout", "", 0, func(m *study.WoodMonth) float64 { return float64(m.DaysWithoutReady) }),
	}
}

// cutJSON is a single way to cut; on terminal and page they stand month by month.
func cutJSON(c study.CutRow) Pairs {
	return Pairs{{"month", c.Month.Time().Format("2006-01")}, {"piece", c.Piece}, {"cover", c.Cover}, {"ready_from", c.Ready}}
}

// A cutMonth is a month's ways, in the order of the cut table.
type cutMonth []study.CutRow

func cutMonths(s *study.WoodAnswer) []cutMonth {
	var months []cutMonth
	for rows := range slices.Chunk(s.CutTable, cutWays) {
		months = append(months, rows)
	}
	return months
}

const cutWays = 6 // three pieces, each under a roof and in the open

// cutMonthColumns are when wood cut on the first of a month is ready, by piece and cover.
func cutMonthColumns(s *study.WoodAnswer) list[cutMonth] {
	all := list[cutMonth]{texts("cut", "", func(m *cutMonth) string { return (*m)[0].Month.Time().Format("Jan 2006") }, nil)}
	for i, way := range s.CutTable[:min(cutWays, len(s.CutTable))] {
		all = append(all, texts(string(way.Piece)+",\n"+string(way.Cover), "",
			func(m *cutMonth) string { return shortDay((*m)[i].Ready) }, nil))
	}
	return all
}

// Wood reports a span's wood; its page is to pin up at the pile.
func Wood(s *study.WoodAnswer) *Report {
	return &Report{Warnings: s.Warnings, JSON: func() Pairs { return woodJSON(s) }, Page: func() *Page { return woodPage(s) },
		Text: func(t *Terminal) {
			t.Line("%s: %s of oven-dry wood for %s from %s", s.Name, Mass(s.Need.DryKg), plural(s.Span.Days, "day"), DayYear(s.Span.Start))
			t.Answer("Need", needText(s))
			t.Answer("Ready", readyText(s))
			for _, todo := range woodTodo(s) {
				t.Answer("DO", todo)
			}
			t.Gap()
			if len(s.Lots) > 0 {
				lotColumns(s).text(t, s.Lots)
				t.Gap()
			}
			needColumns(s).text(t, s.Months)
			t.Gap()
			t.Line("%s", cutLead(s))
			cutMonthColumns(s).text(t, cutMonths(s))
			t.Gap()
			t.Line("Ground for so much each year: %s", groundText(s))
			t.Line("Char %s", charText(s))
		}}
}

func needText(s *study.WoodAnswer) string {
	return say("%s if it is all %s (%.1f cords, %.1f loose m3, %.1f solid m3, %s as it lies, %s oven-dry), "+
		"%.0f h of work", stacked(s.Need.StackedM3), s.Pile.Species.Key, s.Need.Cords,
		s.Need.LooseM3, s.Need.SolidM3, Mass(s.Need.AsIsKg), Mass(s.Need.DryKg), s.Need.WorkHours)
}

func groundText(s *study.WoodAnswer) string {
	g := &s.Ground
	return say("%.2f to %.2f ha of coppice (Aylott et al. 2008), "+
		"or %.2f ha of grown broadleaf wood (Royal Forestry Society), or %.1f km of hedge (Wolton 2012).",
		g.CoppiceLeastHa, g.CoppiceMostHa, g.BroadleafHa, g.HedgeM/1000)
}

func charText(s *study.WoodAnswer) string {
	low, high := s.Char.KeptRange()
	return say("%.0f kg; its carbon keeps about %.0f kg of CO2 out of the air for a century, %.0f to %.0f (IPCC 2019).",
		s.Char.Kg, s.Char.KeptCO2Kg, low, high)
}

func stacked(m3 float64) string { return Number(m3, 1) + " stacked m3" }

func readyText(s *study.WoodAnswer) string {
	switch {
	case s.Pile.Endless:
		return "no pile is described: ready wood without end was taken"
	case s.NoWood == nil:
		return "ready wood lasts the span"
	}
	text := say("ready wood runs out on %s; %s without a run", dayIn(s.Span, s.NoWood.Date), plural(s.NoDays, "day"))
	if s.NoWood.Date == s.Span.Start {
		text = say("no wood is ready as the span begins; %s without a run", plural(s.NoDays, "day"))
	}
	if s.NoWood.Stack != "" {
		text += say("; next to be ready is %s, %s oven-dry at %.0f %% moisture", s.NoWood.Stack,
			Mass(s.NoWood.DryKg), 100*s.NoWood.MoistureShare)
	}
	return text
}

// woodTodo says what to cut, split how, by when.
func woodTodo(s *study.WoodAnswer) []string {
	if s.Missing == nil {
		return nil
	}
	m := s.Missing
	text := say("have %s more of %s ready by %s", stacked(m.StackedM3), s.Pile.Species.Key, dayIn(s.Span, m.Before))
	ways := make([]string, len(m.Ways))
	for i, way := range m.Ways {
		switch {
		case way.By == nil:
			ways[i] = string(way.Piece) + ": never dry in this air"
		case way.Late:
			ways[i] = say("%s, under a roof: should have been cut by %s", way.Piece, DayYear(*way.By))
		default:
			ways[i] = say("%s, under a roof: cut by %s", way.Piece, DayYear(*way.By))
		}
	}
	text += " (" + strings.Join(ways, "; ") + ")"
	if len(m.Ways) > 0 && m.Ways[len(m.Ways)-1].Late {
		text += "; that is past: get wood that is dry"
		if m.Before > s.Span.Start {
			text += ", or ration (plan.ration)"
		}
	}
	todo := []string{text}
	if logs := s.NoWood.DryLogsKg; logs > 0 {
		todo = slices.Insert(todo, 0, say("cut the logs small: %s oven-dry lie there dry enough", Mass(logs)))
	}
	if ways := waysOut(s); ways != "" {
		todo = append(todo, ways)
	}
	return todo
}

// waysOut are those by which wood that lies there too wet can be burned sooner; "": none lies there.
func waysOut(s *study.WoodAnswer) string {
	out := s.NoWood
	if out.Stack == "" {
		return ""
	}
	text := say("or burn %s sooner (%.0f %%): mix it with drier wood, for a mix burns at its mean", out.Stack, 100*out.MoistureShare)
	if slices.ContainsFunc(s.Lots, func(l study.Lot) bool { return l.Name == out.Stack && l.Piece != woodpile.Chunk }) {
		text += "; split it smaller, for chunks dry soonest"
	}
	if s.Pile.Rack == nil {
		text += "; dry it on a rack over the set (woodpile.rack_pct)"
	}
	const wettest = 45 // the gas model's end, percent
	if pct := math.Ceil(100 * out.MoistureShare); pct <= wettest {
		text += say("; or allow it with woodpile.wettest_pct = %.0f, at the price of tar, an unsteady flame and more condensate", pct)
	}
	return text
}

// shorten keeps a household's own name from pushing a table past the terminal.
func shorten(name string) string {
	const most = 16
	if runes := []rune(name); len(runes) > most {
		return string(runes[:most-1]) + "…"
	}
	return name
}

func cutLead(s *study.WoodAnswer) string {
	return say("When %s cut on the first of a month is ready in this air (logs: dry, but still to be cut small)", s.Pile.Species.Key)
}

func shortDay(d *calendar.Date) string {
	if d == nil {
		return "never"
	}
	return d.Time().Format("2 Jan 06")
}

func woodJSON(s *study.WoodAnswer) Pairs {
	n, g := &s.Need, &s.Ground
	return Pairs{{"scenario", s.Name}, {"species", s.Pile.Species.Key}, {"need_dry_kg", n.DryKg}, {"need_as_is_kg", n.AsIsKg},
		{"need_solid_m3", n.SolidM3}, {"need_stacked_m3", n.StackedM3}, {"need_loose_m3", n.LooseM3}, {"need_cords", n.Cords},
		{"work_hours", n.WorkHours}, {"months", needColumns(s).json(s.Months)}, {"runs_out", runsOut(s.NoWood)},
		{"cut_table", objects(s.CutTable, cutJSON)}, {"lots", lotColumns(s).json(s.Lots)},
		{"missing", orNull(s.Missing, func(m study.Missing) any {
			return Pairs{{"dry_kg", m.DryKg}, {"stacked_m3", m.StackedM3}, {"ready_by", m.Before},
				{"ways", objects(m.Ways, wayJSON)}}
		})},
		{"ground", Pairs{{"coppice_least_ha", g.CoppiceLeastHa}, {"coppice_most_ha", g.CoppiceMostHa},
			{"broadleaf_ha", g.BroadleafHa}, {"hedge_m", g.HedgeM}}},
		{"char", charJSON(&s.Char)}}
}

// wayJSON is a way to have what is missing ready in time.
func wayJSON(w study.CutWay) Pairs { return Pairs{{"piece", w.Piece}, {"cut_by", w.By}} }

func woodPage(s *study.WoodAnswer) *Page {
	p := &Page{Title: s.Name + ": the wood", Todo: woodTodo(s), Subtitle: say("%s of oven-dry wood for %s from %s.",
		Mass(s.Need.DryKg), plural(s.Span.Days, "day"), DayYear(s.Span.Start))}
	p.Answers = []Answer{{"Need", sentence(needText(s))}, {"Ready", sentence(readyText(s))},
		{"Ground for so much each year", groundText(s)}, {"Char", charText(s)}}
	cut := Part{ID: "cut", Title: "What is cut when", Caption: cutLead(s) + "."}
	if len(s.Lots) > 0 {
		cut.Tables = append(cut.Tables, lotColumns(s).table("The stacks", s.Lots))
	}
	cut.Tables = append(cut.Tables, cutMonthColumns(s).table("Ready to burn from", cutMonths(s)))
	p.Parts = []Part{woodByMonth(s), cut}
	return p
}

func woodByMonth(s *study.WoodAnswer) Part {
	curves := []curve[study.WoodMonth]{{"needed in the month", "wood", bars,
		func(m *study.WoodMonth) float64 { return m.NeedDryKg }}}
	if !s.Pile.Endless {
		curves = append(curves, curveOf("ready as the month begins", "ready", widest,
			func(m *study.WoodMonth) float64 { return m.ReadyDryKg }))
	}
	caption := "No month needs wood."
	most := slices.MaxFunc(s.Months, func(a, b study.WoodMonth) int { return cmp.Compare(a.NeedDryKg, b.NeedDryKg) })
	if most.NeedDryKg > 0 {
		caption = say("%s needs most, %s oven-dry; %s.", most.First.Time().Format("January 2006"), Mass(most.NeedDryKg), readyText(s))
	}
	return Part{ID: "months", Title: "Need and ready wood", Caption: caption,
		Chart: chart(s.Months, func(m *study.WoodMonth) string { return m.First.Time().Format("Jan 06") },
			allRows, []panel{{axis: "oven-dry wood, kg", share: 1, thousands: true}}, curves...),
		Tables: []Table{needColumns(s).table("By month", s.Months)}}
}
