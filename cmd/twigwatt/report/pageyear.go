package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
	"twigwatt/storage/woodpile"
)

// A Year is what the page of a year is made of.
type Year struct {
	House   *sim.House
	Summary *sim.Summary
	Books   *sim.Books
	Record  *sim.Record
	Window  *study.Window // the best fixed one beside chosen runs, or nil
	Basis
}

// YearPage writes the page of a year.
func YearPage(w io.Writer, y *Year) error {
	s := y.Summary
	p := &Page{Title: fmt.Sprintf("%s: %s from %s", s.Name, plural(s.Span.Days, "day"), DayYear(s.Span.Start)),
		Subtitle: planText(s), Answers: y.answers(), Todo: Todo(s),
		Basis: y.Basis, Cautions: Cautions}
	for _, warning := range s.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	p.Parts = []Part{y.runs(), y.bank(), y.wood(), y.week(), y.flow(), y.worth()}
	return WritePage(w, p)
}

func (y *Year) answers() []Answer {
	s, t := y.Summary, &y.Summary.Total
	run := fmt.Sprintf("%.1f hours a day over the span; the longest day, %s, %.1f hours.", s.AttendedADay,
		dayIn(s.Span, s.LongestDay.Date), s.LongestDay.AttendedH)
	answers := []Answer{{"Run", run}}
	if january, ok := s.Month(time.January); ok {
		answers = []Answer{{"January", fmt.Sprintf("%.1f hours a day.",
			january.Tally.AttendedH/float64(january.Days))}, {"All days", run}}
	}
	left := "Ready wood had no end: no pile is described."
	if !s.Wood.Endless {
		left = fmt.Sprintf("%s oven-dry lie at the end, %s at the start.", Mass(s.Wood.PileEnd.DryKg), Mass(s.Wood.PileStart.DryKg))
	}
	return append(answers, Answer{"Wood", fmt.Sprintf("%s stacked m³ (%s cords, %s as it lies), with %s hours of work in it.", Number(t.BurnedStackedM3, 1),
		Number(t.BurnedStackedM3/woodpile.CordM3, 1), Mass(t.BurnedAsIsKg), Number(s.Wood.WorkHours, 0))},
		Answer{"Dark", sentence(dark(s))}, Answer{"Wood left", left},
		Answer{"Bank", fmt.Sprintf("Lowest %.0f %% of charge, on %s.", s.Bank.LowestPct, dayIn(s.Span, s.Bank.LowestDay))})
}

func sentence(text string) string {
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// longSpan is from how many days on a calendar of days says nothing on a screen.
const longSpan = 400

func (y *Year) runs() Part {
	s := y.Summary
	p := Part{ID: "runs", Title: "When we run", Caption: fmt.Sprintf("The engine ran %s hours on %s; the longest day was %s, %.1f hours.", Number(s.Total.EngineH, 0),
		plural(s.Total.LightUps, "light-up"), dayIn(s.Span, s.LongestDay.Date), s.LongestDay.AttendedH)}
	months := y.monthTable()
	if s.Span.Days <= longSpan {
		p.Still = calendarStill(y.House, y.Books, y.Record)
		days := Table{Caption: "Runs by day", Head: []string{"day", "runs", "hours", "short kWh"}}
		for i := range y.Books.Days {
			d := &y.Books.Days[i]
			days.Rows = append(days.Rows, []string{dayIn(s.Span, d.Date), y.runText(i), fmt.Sprintf("%.1f", d.AttendedH),
				Number(d.ShortfallKWh, 2)})
		}
		p.Tables = []Table{months, days}
		return p
	}
	labels, hours, short := []string{}, []float64{}, []float64{}
	for i := range s.Months {
		m := &s.Months[i]
		labels = append(labels, m.First.Time().Format("Jan 06"))
		hours = append(hours, m.Tally.AttendedH/float64(m.Days))
		short = append(short, float64(m.ShortDays))
	}
	p.Chart = panels(labels, []panel{{axis: "hours a day", share: 0.6}, {axis: "days short", share: 0.4}},
		[]series{{name: "hours a day", colour: "engine", values: hours, bars: true},
			{name: "days short", colour: "short", values: short, panel: 1, bars: true}}, false)
	p.Tables = []Table{months}
	return p
}

func (y *Year) runText(day int) string {
	text := ""
	for i, run := range y.Record.Runs[day] {
		if i > 0 {
			text += ", "
		}
		step := y.House.Span.StepMinutes
		text += calendar.Clock(run.First*step) + "–" + calendar.Clock(run.After*step)
	}
	if text == "" {
		return "none"
	}
	return text
}

func (y *Year) monthTable() Table {
	t := Table{Caption: "The months", Head: []string{"month", "hours a day", "engine h", "wood stacked m³",
		"wood dry kg", "wanted kWh", "short kWh", "days short", "lowest %"}}
	for i := range y.Summary.Months {
		m := &y.Summary.Months[i]
		t.Rows = append(t.Rows, []string{m.First.Time().Format("January 2006"),
			fmt.Sprintf("%.1f", m.Tally.AttendedH/float64(m.Days)), Number(m.Tally.EngineH, 0),
			Number(m.Tally.BurnedStackedM3, 1), Number(m.Tally.BurnedDryKg, 0), Number(m.Tally.LoadKWh, 0),
			Number(m.Tally.ShortfallKWh, 1), fmt.Sprint(m.ShortDays), Number(m.LowestPct, 0)})
	}
	return t
}

// stretches cuts the span into as many days as a chart can show one by one: a
// day, or weeks in a long span.
func (y *Year) stretches() (days int) {
	if y.Summary.Span.Days > 2*longSpan {
		return 7
	}
	return 1
}

func (y *Year) bank() Part {
	s, full := y.Summary, y.House.Bank.FullKWh
	days := y.stretches()
	var labels []string
	var mean, low, high, floor, since []float64
	sinceFull := 0
	table := Table{Caption: "The bank by day", Head: []string{"day", "mean %", "lowest %", "highest %", "days since full"}}
	if days > 1 {
		table.Caption, table.Head[0] = "The bank by week", "week from"
	}
	for i := 0; i < len(y.Books.Days); i += days {
		m, l, h := 0.0, math.Inf(1), 0.0
		end := min(i+days, len(y.Books.Days))
		for j := i; j < end; j++ {
			d := &y.Books.Days[j]
			m, l, h = m+d.MeanKWh/float64(end-i), min(l, d.LowestKWh), max(h, d.HighestKWh)
			sinceFull++
			if d.ReachedFull {
				sinceFull = 0
			}
		}
		labels = append(labels, y.Books.Days[i].Date.Time().Format("2 Jan 06"))
		mean, low, high = append(mean, 100*m/full), append(low, 100*l/full), append(high, 100*h/full)
		floor, since = append(floor, 100*y.House.Days[i].Bank.FloorKWh/full), append(since, float64(sinceFull))
		table.Rows = append(table.Rows, []string{dayIn(s.Span, y.Books.Days[i].Date), Number(100*m/full, 0),
			Number(100*l/full, 0), Number(100*h/full, 0), fmt.Sprint(sinceFull)})
	}
	zero := 0.0
	return Part{ID: "bank", Title: "The bank", Tall: true,
		Caption: fmt.Sprintf("The bank fell to %.0f %% at the lowest, on %s; the longest it went without a full charge was %s.", s.Bank.LowestPct, dayIn(s.Span, s.Bank.LowestDay), plural(s.Bank.LongestNotFull, "day")),
		Still:   lineStill("Charge, mean of the day, and the floor (dashed)", "%", 100, mean, floor),
		Chart: panels(labels, []panel{{axis: "charge, %", share: 0.7, low: &zero},
			{axis: "days since full", share: 0.3, thousand: true}}, []series{
			{name: "mean", colour: "bank", values: mean, width: 2.2},
			{name: "lowest", colour: "bank", values: low, dashed: true}, {name: "highest", colour: "bank", values: high, dotted: true},
			{name: "floor", colour: "short", values: floor, dashed: true, width: 2},
			{name: "days since full", colour: "other", values: since, panel: 1, bars: true}}, true),
		Tables: []Table{table}}
}

func (y *Year) wood() Part {
	s := y.Summary
	p := Part{ID: "wood", Title: "Wood"}
	var labels []string
	var burned, ready, pile, moisture []float64
	table := Table{Caption: "Wood by month", Head: []string{"month", "burned dry kg", "moisture %", "ready dry kg",
		"whole pile dry kg"}}
	day := 0
	for i := range s.Months {
		m := &s.Months[i]
		wet := math.NaN() // nothing was burned
		if m.Tally.BurnedAsIsKg > 0 {
			wet = 100 * (1 - m.Tally.BurnedDryKg/m.Tally.BurnedAsIsKg)
		}
		d := &y.Books.Days[day]
		day += m.Days
		labels = append(labels, m.First.Time().Format("Jan 06"))
		burned, moisture = append(burned, m.Tally.BurnedDryKg), append(moisture, wet)
		row := []string{m.First.Time().Format("January 2006"), Number(m.Tally.BurnedDryKg, 0), moistureCell(wet), "no end", "no end"}
		if !s.Wood.Endless {
			ready, pile = append(ready, d.ReadyDryKg), append(pile, d.PileStart.DryKg)
			row[3], row[4] = Number(d.ReadyDryKg, 0), Number(d.PileStart.DryKg, 0)
		}
		table.Rows = append(table.Rows, row)
	}
	p.Caption = fmt.Sprintf("%s of oven-dry wood were burned", Mass(s.Total.BurnedDryKg))
	all := []series{{name: "burned in the month", colour: "wood", values: burned, bars: true},
		{name: "moisture of what was burned", colour: "other", values: moisture, panel: 1}}
	switch {
	case s.Wood.Endless:
		p.Caption += "; no pile is described, so ready wood had no end."
	case s.Wood.NoWood != nil:
		p.Caption += fmt.Sprintf("; ready wood ran out on %s.", dayIn(s.Span, s.Wood.NoWood.Date))
	default:
		p.Caption += fmt.Sprintf("; of the pile %s are left.", Mass(s.Wood.PileEnd.DryKg))
	}
	if !s.Wood.Endless {
		all = append(all, series{name: "ready as the month begins", colour: "ready", values: ready, width: 2.2},
			series{name: "whole pile", colour: "wood", values: pile, dashed: true})
	}
	p.Tall = true
	p.Still = lineStill("Wood burned by month, and what lay ready as it began (dashed)", "kg", highest(burned, ready), burned, ready)
	p.Chart = panels(labels, []panel{{axis: "oven-dry wood, kg", share: 0.68, thousand: true},
		{axis: "moisture, %", share: 0.32}}, all, false)
	p.Tables = []Table{table}
	return p
}

func moistureCell(wet float64) string {
	if math.IsNaN(wet) {
		return "–"
	}
	return Number(wet, 1)
}

func (y *Year) week() Part {
	span := y.House.Span
	first := y.Books.HardestWeek()
	days := min(7, span.Days)
	perDay := span.StepsADay()
	from, to := first*perDay, (first+days)*perDay
	wide := func(values []float32) []float64 {
		out := make([]float64, 0, to-from)
		for _, v := range values[from:to] {
			out = append(out, float64(v))
		}
		return out
	}
	r := y.Record
	short, missing := wide(r.ShortfallKW), 0.0
	var labels []string
	floor := make([]float64, to-from)
	table := Table{Caption: "Step by step", Head: []string{"time", "load kW", "engine kW", "charge kW",
		"discharge kW", "short kW", "stored kWh"}}
	for i := range short {
		step := from + i
		missing += short[i] * span.StepH()
		floor[i] = y.House.Days[step/perDay].Bank.FloorKWh
		when := span.Date(step).Time().Format("Mon 2 Jan ") + calendar.Clock(step%perDay*span.StepMinutes)
		labels = append(labels, when)
		table.Rows = append(table.Rows, []string{when, Number(float64(r.LoadKW[step]), 2),
			Number(float64(r.EngineKW[step]), 2), Number(float64(r.ChargeKW[step]), 2),
			Number(float64(r.DischargeKW[step]), 2), Number(float64(r.ShortfallKW[step]), 2), Number(float64(r.Stored[step]), 2)})
	}
	week := "The darkest week"
	caption := fmt.Sprintf("The darkest week began on %s: %s kWh were missing.", DayYear(y.Books.Days[first].Date),
		Number(missing, 1))
	const worthTellingKWh = 0.05
	if missing < worthTellingKWh {
		week = "The week with the least in the bank"
		caption = fmt.Sprintf("Nothing was missing; the bank was lowest in the week from %s.", DayYear(y.Books.Days[first].Date))
	}
	stored := wide(r.Stored)
	return Part{ID: "week", Title: week, Caption: caption, Tall: true,
		Still: lineStill("Stored energy through the week, and the floor (dashed)", "kWh", highest(stored, floor),
			stored, floor), Chart: panels(labels, []panel{{axis: "power, kW", share: 0.6}, {axis: "stored, kWh", share: 0.4}}, []series{
			{name: "load", colour: "load", values: wide(r.LoadKW), step: true},
			{name: "engine", colour: "engine", values: wide(r.EngineKW), step: true, width: 2.2},
			{name: "to the bank", colour: "bank", values: wide(r.ChargeKW), step: true, dashed: true},
			{name: "from the bank", colour: "bank", values: wide(r.DischargeKW), step: true, dotted: true},
			{name: "short", colour: "short", values: short, bars: true},
			{name: "stored", colour: "bank", values: wide(r.Stored), panel: 1, width: 2.2},
			{name: "floor", colour: "short", values: floor, panel: 1, dashed: true}}, false), Tables: []Table{table}}
}

func (y *Year) flow() Part {
	f := y.House.Flow(&y.Summary.Total, y.Books.StartKWh, y.Books.EndKWh)
	items, in := flowItems(f)
	table := Table{Caption: "Where the energy went", Head: []string{"share", "kWh", "%"}}
	sum := 0.0
	for _, item := range items {
		table.Rows = append(table.Rows, []string{item.name, Number(item.kWh, 0), Number(100*item.kWh/math.Max(in, 1e-9), 1)})
		sum += item.kWh
	}
	table.Rows = append(table.Rows, []string{"all that went in", Number(in, 0), Number(100*sum/math.Max(in, 1e-9), 1)})
	return Part{ID: "flow", Title: "Where the energy went", Still: flowStill(f), Tables: []Table{table},
		Caption: flowText(f, y.Summary.Total.EngineKWh)}
}

func flowText(f sim.EnergyFlow, madeKWh float64) string {
	text := fmt.Sprintf("Of %s kWh of heat in the wood burned, %s kWh became electricity", Number(f.WoodKWh, 0), Number(madeKWh, 0))
	if f.OtherKWh > 0 {
		return fmt.Sprintf("%s; with %s kWh of other sources %s kWh served the house.", text, Number(f.OtherKWh, 0),
			Number(f.ServedKWh, 0))
	}
	return fmt.Sprintf("%s and %s kWh served the house.", text, Number(f.ServedKWh, 0))
}

func (y *Year) worth() Part {
	s := y.Summary
	p := Part{ID: "worth", Title: "What choosing is worth"}
	table := Table{Caption: "Chosen runs against the best fixed window",
		Head: []string{"plan", "price kg", "days short", "short kWh", "attended h", "wood dry kg"}}
	row := func(name string, s *sim.Summary) {
		table.Rows = append(table.Rows, []string{name, Number(s.Price.TotalKg()+s.Price.SoftKg, 0),
			fmt.Sprint(s.Shortage.Days), Number(s.Total.ShortfallKWh, 1), Number(s.Total.AttendedH, 0), Number(s.Total.BurnedDryKg, 0)})
	}
	row("this plan", s)
	p.Caption = "This plan does not choose: there is nothing to weigh it against."
	labels, own, fixed := []string{}, []float64{}, []float64{}
	for i := range s.Months {
		labels = append(labels, s.Months[i].First.Time().Format("Jan 06"))
		own = append(own, s.Months[i].Tally.AttendedH/float64(s.Months[i].Days))
	}
	all := []series{{name: "this plan", colour: "engine", values: own, bars: true}}
	if w := y.Window; w != nil {
		row(fmt.Sprintf("%s for %.1f h every day", calendar.Clock(w.StartStep*s.Span.StepMinutes),
			float64(w.Steps)*s.Span.StepH()), w.Summary)
		p.Caption = fmt.Sprintf("Chosen runs: %s short, %s kWh. The best run at the same hours every day, for days that nobody knows (%s for %.1f h): %s short, %s kWh.",
			plural(s.Shortage.Days, "day"), Number(s.Total.ShortfallKWh, 1),
			calendar.Clock(w.StartStep*s.Span.StepMinutes), float64(w.Steps)*s.Span.StepH(),
			plural(w.Summary.Shortage.Days, "day"), Number(w.Summary.Total.ShortfallKWh, 1))
		for i := range w.Summary.Months {
			fixed = append(fixed, w.Summary.Months[i].Tally.AttendedH/float64(w.Summary.Months[i].Days))
		}
		all = append(all, series{name: "the best fixed window", colour: "ink", values: fixed, dashed: true, width: 2.2})
	}
	p.Still = lineStill("Hours a day by month, and the best fixed window (dashed)", "h", highest(own, fixed), own, fixed)
	p.Chart = panels(labels, []panel{{axis: "hours a day", share: 1}}, all, false)
	p.Tables = []Table{table}
	return p
}
