package report

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"twigwatt/sim"
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

// A wallCalendar draws a block a month and a row a day: the run as a bar on the
// tending hours' scale, night shaded, shortfall hatched, days without wood struck out.
type wallCalendar struct {
	strings.Builder
	house       *sim.House
	books       *sim.Books
	record      *sim.Record
	first, last int // hours of the scale: they hold all tending hours
}

func calendarStill(h *sim.House, b *sim.Books, r *sim.Record) template.HTML {
	c := &wallCalendar{house: h, books: b, record: r, first: 24}
	for _, w := range h.Tending.Hours {
		c.first, c.last = min(c.first, w.From/60), max(c.last, (w.To+59)/60)
	}
	c.WriteString(`<div class="months">`)
	for from, to := 0, 0; from < len(b.Days); from = to {
		for to = from; to < len(b.Days) && b.Days[to].Date.Month() == b.Days[from].Date.Month(); to++ {
		}
		c.month(from, to)
	}
	c.WriteString("</div>" + calendarLegend)
	return template.HTML(c.String())
}

const calendarLegend = `<ul class="legend">` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><rect class="engine" x="1" y="4" width="30" height="10"/>` +
	`</svg>a run, from match to stop</li>` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><path class="short" d="M2 16 10 2M10 16 18 2M18 16 26 2" stroke-width="2"/>` +
	`</svg>dark: the house went short</li>` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><rect class="night" x="1" y="1" width="30" height="16"/></svg>night</li>` +
	`<li><svg viewBox="0 0 32 18" aria-hidden="true"><path class="nowood" d="M2 9h28" stroke-dasharray="2 2" stroke-width="2"/>` +
	`</svg>no ready wood</li></ul>`

// x is where a minute of the day stands on the scale.
func (c *wallCalendar) x(minute float64) float64 {
	first, last := float64(60*c.first), float64(60*c.last)
	return calendarLeft + calendarWidth*(min(max(minute, first), last)-first)/(last-first)
}

// bar is a rectangle from one minute to another; none where it has no width.
func (c *wallCalendar) bar(class string, from, to, y, height float64) {
	if from, to = c.x(from), c.x(to); to > from {
		fmt.Fprintf(c, `<rect class="%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, class, from, y, to-from, height)
	}
}

// month draws the days from one to before another.
func (c *wallCalendar) month(from, to int) {
	date, span := c.books.Days[from].Date, c.house.Span
	name := date.Time().Format("January")
	if span.Start.Year() != (span.End() - 1).Year() {
		name = date.Time().Format("Jan 2006")
	}
	hours, short := 0.0, 0
	for _, d := range c.books.Days[from:to] {
		hours += d.AttendedH
		if d.Short(c.house.Prices.ShortDayKWh) {
			short++
		}
	}
	const width = calendarLeft + calendarWidth + calendarRight
	aDay := hours / float64(to-from)
	fmt.Fprintf(c, `<svg viewBox="0 0 %.0f %.0f" role="img" aria-label="%s, %d: %.1f hours a day, %s short">`, width,
		calendarTop+dayHeight*daysInBlock+4, name, date.Year(), aDay, plural(short, "day"))
	fmt.Fprintf(c, `<text x="0" y="12" font-size="12" font-weight="650">%s</text>`+
		`<text x="%.0f" y="12" text-anchor="end">%.1f h a day</text>`,
		name, width, aDay)
	for hour := (c.first + 3) / 4 * 4; hour <= c.last; hour += 4 {
		fmt.Fprintf(c, `<text x="%.1f" y="26" text-anchor="middle" font-size="9">%d</text>`, c.x(float64(60*hour)), hour)
	}
	for day := from; day < to; day++ {
		c.day(day)
	}
	c.WriteString("</svg>")
}

func (c *wallCalendar) day(day int) {
	d := &c.books.Days[day]
	y := calendarTop + dayHeight*float64(d.Date.Day()-1)
	if number := d.Date.Day(); number == 1 || number%5 == 0 {
		fmt.Fprintf(c, `<text x="%.0f" y="%.1f" text-anchor="end" font-size="9">%d</text>`, calendarLeft-5, y+7.5, number)
	}
	sun := place.Daylight(c.house.LatitudeDeg, d.Date, place.RiseDeg).WithNoonAt(c.house.NoonMinute)
	for _, night := range sun.Dark() {
		c.bar("night", float64(night.From), float64(night.To), y, dayHeight)
	}
	step := float64(c.house.Span.StepMinutes)
	for _, run := range c.record.Runs[day] {
		c.bar("engine", float64(run.First)*step, float64(run.After)*step, y+1.5, dayHeight-3)
	}
	if d.WithoutReadyWood {
		fmt.Fprintf(c, `<path class="nowood" d="M%.1f %.1fH%.1f" stroke-dasharray="2 2"/>`, calendarLeft,
			y+dayHeight/2, calendarLeft+calendarWidth)
	}
	if d.ShortfallH > 0 {
		c.short(day, y)
	}
}

// short hatches the dark steps within the scale, and the row's end.
func (c *wallCalendar) short(day int, y float64) {
	span := c.house.Span
	perDay, step := span.StepsADay(), float64(span.StepMinutes)
	c.WriteString(`<path class="short" fill="none" stroke-width="1.2" d="`)
	stroke := func(at float64) { fmt.Fprintf(c, "M%.1f %.1fl3 -7", at, y+8) }
	for i, shortKW := range c.record.ShortfallKW[day*perDay : (day+1)*perDay] {
		if float64(shortKW)*span.StepH() > 0.001 {
			for at := c.x(float64(i) * step); at < c.x(float64(i+1)*step)-1; at += 4 {
				stroke(at)
			}
		}
	}
	for i := range 3 {
		stroke(calendarLeft + calendarWidth + 2 + 3*float64(i))
	}
	c.WriteString(`"/>`)
}

// A flowItem is a share of the energy.
type flowItem struct {
	name, class string
	kWh         float64
}

func flowItems(f sim.EnergyFlow) (items []flowItem, inKWh float64) {
	items = []flowItem{{"lost in the gasifier (30 % assumed)", "flow-wood", f.GasifierKWh},
		{"lost in the engine", "flow-engine", f.EngineKWh}, {"hot water drawn", "flow-ready", f.HotWaterKWh},
		{"into rooms", "flow-ready", f.RoomsKWh}, {"lost by the hot tank", "flow-other", f.TankKWh},
		{"lost in the alternator (15 % assumed)", "flow-other", f.AlternatorKWh}, {"served the house", "flow-load", f.ServedKWh},
		{"lost in charging", "flow-bank", f.ChargingKWh}, {"lost in giving", "flow-bank", f.GivingKWh},
		{"the inverter's idle draw", "flow-bank", f.IdleKWh},
		{"leaked away", "flow-bank", f.LeakKWh}, {"made and spilled", "flow-ready", f.SpillKWh}}
	ofTank := func(item flowItem) bool { // nothing to tell without a tank
		return item.kWh == 0 && slices.Contains([]string{"hot water drawn", "into rooms", "lost by the hot tank"}, item.name)
	}
	items = slices.DeleteFunc(items, ofTank)
	if f.SunUnusedKWh > 0 {
		items = append(items, flowItem{"sun that nobody took", "flow-sun", f.SunUnusedKWh})
	}
	inKWh = f.WoodKWh + f.OtherKWh + f.SunKWh + f.StandbyKWh
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
	fmt.Fprintf(&out, `<svg viewBox="0 0 600 %.0f" role="img" aria-label="Where the energy went" style="max-width:46rem">`,
		rowHeight*float64(len(items)))
	at := 0.0
	for i, item := range items {
		share := 0.0
		if inKWh > 0 {
			share = item.kWh / inKWh
		}
		y := rowHeight * float64(i)
		fmt.Fprintf(&out, `<text x="%.0f" y="%.0f" text-anchor="end" font-size="12">%s</text>`+
			`<rect class="plate" x="%.0f" y="%.0f" width="%.0f" height="16"/>`+
			`<rect class="%s" x="%.1f" y="%.0f" width="%.1f" height="16"/><text x="%.1f" y="%.0f" font-size="12">%.1f %%</text>`,
			left-8, y+13, template.HTMLEscapeString(item.name), left, y+1, width, item.class, left+width*at, y+1,
			max(0, width*share), left+width+6, y+13, 100*share)
		at += share
	}
	out.WriteString("</svg>")
	return template.HTML(out.String())
}
