package report

import (
	"fmt"
	"html/template"
	"strings"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
)

// The calendar's measures, in units of its drawing.
const (
	calendarLeft  = 24.0
	calendarWidth = 132.0
	calendarRight = 14.0
	calendarTop   = 30.0
	dayHeight     = 9.0
	daysInBlock   = 31
)

// calendarStill draws a block a month and a row a day: the run as a bar on the
// tending hours' scale, night shaded, shortfall hatched, days without wood struck out.
func calendarStill(h *sim.House, b *sim.Books, r *sim.Record) template.HTML {
	var out strings.Builder
	first, last := tendingScale(h)
	out.WriteString(`<div class="months">`)
	for from := 0; from < len(b.Days); {
		to := from
		for to < len(b.Days) && b.Days[to].Date.Month() == b.Days[from].Date.Month() {
			to++
		}
		monthBlock(&out, h, b, r, from, to, first, last)
		from = to
	}
	out.WriteString("</div>")
	out.WriteString(calendarLegend)
	return template.HTML(out.String())
}

const calendarLegend = `<ul class="legend">` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><rect class="engine" x="1" y="4" width="30" height="10"/></svg>a run, from match to stop</li>` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><path class="short" d="M2 16 10 2M10 16 18 2M18 16 26 2" stroke-width="2"/></svg>dark: the house went short</li>` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><rect class="night" x="1" y="1" width="30" height="16"/></svg>night</li>` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><path class="nowood" d="M2 9h28" stroke-dasharray="2 2" stroke-width="2"/></svg>no ready wood</li></ul>`

// tendingScale is the hours of the day that hold all tending hours.
func tendingScale(h *sim.House) (first, last int) {
	first, last = 24, 0
	for _, w := range h.Tending.Hours {
		first, last = min(first, w.From/60), max(last, (w.To+59)/60)
	}
	return first, last
}

func monthBlock(out *strings.Builder, h *sim.House, b *sim.Books, r *sim.Record, from, to, first, last int) {
	x := func(minute float64) float64 {
		minute = min(max(minute, float64(60*first)), float64(60*last))
		return calendarLeft + calendarWidth*(minute-float64(60*first))/float64(60*(last-first))
	}
	name := b.Days[from].Date.Time().Format("January")
	if h.Span.Start.Year() != (h.Span.End() - 1).Year() {
		name = b.Days[from].Date.Time().Format("Jan 2006")
	}
	hours, short := 0.0, 0
	for i := from; i < to; i++ {
		hours += b.Days[i].AttendedH
		if b.Days[i].Short(h.Prices.ShortDayKWh) {
			short++
		}
	}
	fmt.Fprintf(out, `<svg viewBox="0 0 %.0f %.0f" role="img" aria-label="%s, %d: %.1f hours a day, %s short">`,
		calendarLeft+calendarWidth+calendarRight,
		calendarTop+dayHeight*daysInBlock+4, name, b.Days[from].Date.Year(), hours/float64(to-from), plural(short, "day"))
	fmt.Fprintf(out, `<text x="0" y="12" font-size="12" font-weight="650">%s</text><text x="%.0f" y="12" text-anchor="end">%.1f h a day</text>`, name,
		calendarLeft+calendarWidth+calendarRight, hours/float64(to-from))
	for hour := (first + 3) / 4 * 4; hour <= last; hour += 4 {
		fmt.Fprintf(out, `<text x="%.1f" y="26" text-anchor="middle" font-size="9">%d</text>`, x(float64(60*hour)), hour)
	}
	for i := from; i < to; i++ {
		dayRow(out, h, &b.Days[i], r, i, x)
	}
	out.WriteString("</svg>")
}

func dayRow(out *strings.Builder, h *sim.House, d *sim.DayRecord, r *sim.Record, day int, x func(float64) float64) {
	y := calendarTop + dayHeight*float64(d.Date.Day()-1)
	if number := d.Date.Day(); number == 1 || number%5 == 0 {
		fmt.Fprintf(out, `<text x="%.0f" y="%.1f" text-anchor="end" font-size="9">%d</text>`, calendarLeft-5, y+7.5, number)
	}
	sun := place.Daylight(h.LatitudeDeg, d.Date, place.RiseDeg)
	night := func(from, to float64) {
		if from, to = x(from), x(to); to > from {
			fmt.Fprintf(out, `<rect class="night" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, from, y, to-from, dayHeight)
		}
	}
	switch sun.Hours {
	case 0:
		night(0, calendar.MinutesADay)
	case 24:
	default:
		night(0, sun.Sunrise)
		night(sun.Sunset, calendar.MinutesADay)
	}
	step := float64(h.Span.StepMinutes)
	for _, run := range r.Runs[day] {
		from, to := x(float64(run.First)*step), x(float64(run.After)*step)
		fmt.Fprintf(out, `<rect class="engine" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, from, y+1.5, to-from, dayHeight-3)
	}
	if d.WithoutReadyWood {
		fmt.Fprintf(out, `<path class="nowood" d="M%.1f %.1fH%.1f" stroke-dasharray="2 2"/>`, calendarLeft,
			y+dayHeight/2, calendarLeft+calendarWidth)
	}
	if d.ShortfallH > 0 {
		shortMarks(out, h, r, day, y, x)
	}
}

// shortMarks hatches the dark steps within the scale, and the row's end.
func shortMarks(out *strings.Builder, h *sim.House, r *sim.Record, day int, y float64, x func(float64) float64) {
	perDay, step := h.Span.StepsADay(), float64(h.Span.StepMinutes)
	var path strings.Builder
	stroke := func(at float64) { fmt.Fprintf(&path, "M%.1f %.1fl3 -7", at, y+8) }
	for i := range perDay {
		if float64(r.ShortfallKW[day*perDay+i])*h.Span.StepH() > 0.001 {
			from, to := x(float64(i)*step), x(float64(i+1)*step)
			for at := from; at < to-1; at += 4 {
				stroke(at)
			}
		}
	}
	for i := range 3 {
		stroke(calendarLeft + calendarWidth + 2 + 3*float64(i))
	}
	fmt.Fprintf(out, `<path class="short" fill="none" stroke-width="1.2" d="%s"/>`, path.String())
}

// A flowItem is a share of the energy.
type flowItem struct {
	name, class string
	kWh         float64
}

func flowItems(f sim.EnergyFlow) (items []flowItem, inKWh float64) {
	items = []flowItem{{"lost in the gasifier (30 % assumed)", "flow-wood", f.GasifierKWh},
		{"lost in the engine", "flow-engine", f.EngineKWh},
		{"lost in the alternator (15 % assumed)", "flow-other", f.AlternatorKWh}, {"served the house", "flow-load", f.ServedKWh},
		{"lost in charging", "flow-bank", f.ChargingKWh}, {"lost in giving", "flow-bank", f.GivingKWh},
		{"the inverter's idle draw", "flow-bank", f.IdleKWh},
		{"leaked away", "flow-bank", f.LeakKWh}, {"made and spilled", "flow-ready", f.SpillKWh}}
	inKWh = f.WoodKWh + f.OtherKWh
	if f.StoredMoreKWh >= 0 {
		items = append(items, flowItem{"stored more than at first", "flow-ready", f.StoredMoreKWh})
	} else {
		inKWh -= f.StoredMoreKWh
	}
	return items, inKWh
}

// flowStill draws where the energy went: a bar for each share of what went in.
func flowStill(f sim.EnergyFlow) template.HTML {
	items, inKWh := flowItems(f)
	var out strings.Builder
	const rowHeight, left, width = 22.0, 238.0, 290.0
	fmt.Fprintf(&out, `<svg viewBox="0 0 600 %.0f" role="img" aria-label="Where the energy went" style="max-width:46rem">`, rowHeight*float64(len(items)))
	at := 0.0
	for i, item := range items {
		share := 0.0
		if inKWh > 0 {
			share = item.kWh / inKWh
		}
		y := rowHeight * float64(i)
		fmt.Fprintf(&out, `<text x="%.0f" y="%.0f" text-anchor="end" font-size="12">%s</text><rect class="plate" x="%.0f" y="%.0f" width="%.0f" height="16"/>`+
			`<rect class="%s" x="%.1f" y="%.0f" width="%.1f" height="16"/><text x="%.1f" y="%.0f" font-size="12">%.1f %%</text>`,
			left-8, y+13, template.HTMLEscapeString(item.name), left, y+1, width, item.class, left+width*at, y+1,
			max(0, width*share), left+width+6, y+13, 100*share)
		at += share
	}
	out.WriteString("</svg>")
	return template.HTML(out.String())
}
