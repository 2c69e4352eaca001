package report

import (
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"
)

// Charts are for what is explored: the library's script draws them, with tooltips and zoom,
// and without a script their tables stand alone. What is only looked at is a still (see
// calendarStill, flowStill). A chart's colours are names of the page's own (@@engine), which
// its script fills in for light, dark and print.

// finish sets what go-echarts has no field for.
type finish struct {
	charts.BaseConfigurationVisitor
	grids, xAxes, yAxes, zoom, legend []object
}

type object = map[string]any

// Visit puts axes and grids into the options.
func (f finish) Visit(chart map[string]any) {
	chart["animation"] = false
	chart["grid"], chart["xAxis"], chart["yAxis"] = f.grids, f.xAxes, f.yAxes
	chart["axisPointer"] = object{"link": []object{{"xAxisIndex": "all"}}}
	if f.zoom != nil {
		chart["dataZoom"] = f.zoom
	}
	chart["legend"] = object{"show": true, "top": "0", "left": "150", "itemWidth": 26, "itemHeight": 12,
		"textStyle": object{"color": "@@ink"}, "data": f.legend}
	delete(chart, "color")
	delete(chart, "title")
}

// A look is how a curve is drawn, and where; none of these is a thin line in the upper panel.
type look int

const (
	bars   look = 1 << iota
	hollow      // bars in outline: of two degrees of one thing, or what was planned beside what was
	stairs
	dashed
	dotted
	bold   // 2 wide
	widest // 2.2 wide
	lower  // in the lower panel
	piled  // bars on top of one another
)

func (l look) is(part look) bool { return l&part != 0 }

// icon draws in the legend what the curve is drawn with.
func (l look) icon() string {
	switch {
	case l.is(hollow):
		return "path://M0 0h24v12h-24z M3 3v6h18v-6z"
	case l.is(bars):
		return "rect"
	case l.is(dashed):
		return "path://M0 4h7v3h-7z M10 4h7v3h-7z M20 4h7v3h-7z"
	case l.is(dotted):
		return "path://M0 4h3v3h-3z M6 4h3v3h-3z M12 4h3v3h-3z M18 4h3v3h-3z M24 4h3v3h-3z"
	}
	return "path://M0 4h27v3h-27z"
}

// A curve is a line or bars of a figure of each row.
type curve[R any] struct {
	name, colour string
	look
	of func(*R) float64
}

func curveOf[R any](name, colour string, drawn look, of func(*R) float64) curve[R] {
	return curve[R]{name, colour, drawn, of}
}

// A panel is one of the charts that stand above one another with one axis of rows.
type panel struct {
	axis      string  // with its unit
	share     float64 // of the height
	fromZero  bool
	thousands bool // has figures of a thousand and more
}

// A reach is whether a chart shows all rows, or can be zoomed.
type reach bool

const (
	allRows  reach = false
	zoomable reach = true
)

// chart draws rows in panels above one another.
func chart[R any](rows []R, label func(*R) string, zoom reach, panels []panel, curves ...curve[R]) any {
	labels := make([]string, len(rows))
	for i := range rows {
		labels[i] = label(&rows[i])
	}
	line := charts.NewLine()
	line.SetGlobalOptions(charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}))
	f := axesOf(labels, panels, zoom)
	var barSeries []charts.SingleSeries
	for _, c := range curves {
		f.legend = append(f.legend, object{"name": c.name, "icon": c.icon()})
		if c.is(bars) {
			barSeries = append(barSeries, c.series(rows))
		} else {
			line.MultiSeries = append(line.MultiSeries, c.series(rows))
		}
	}
	line.MultiSeries = append(line.MultiSeries, barSeries...)
	line.Accept(f)
	line.Validate()
	options := line.JSON()
	options["progressive"] = 0 // large series are drawn at once, or a print shows part of them
	return options
}

// series makes the library's of a curve.
func (c curve[R]) series(rows []R) charts.SingleSeries {
	type point struct {
		Value     any             `json:"value"`
		ItemStyle *opts.ItemStyle `json:"itemStyle,omitempty"`
	}
	points := make([]point, len(rows))
	for i := range rows {
		const decimals = 1000 // three: what a chart shows, in few bytes
		x := c.of(&rows[i])
		if points[i].Value = math.Round(decimals*x)/decimals + 0; math.IsNaN(x) { // + 0: no minus zero
			points[i].Value = "-" // the library's word for none
		}
		if c.is(hollow) { // each by itself: the legend keeps the curve's own colour
			points[i].ItemStyle = &opts.ItemStyle{Color: "@@panel", BorderColor: "@@" + c.colour, BorderWidth: 2}
		}
	}
	s := charts.SingleSeries{Name: c.name, Type: types.ChartBar, Data: points,
		ItemStyle: &opts.ItemStyle{Color: "@@" + c.colour}}
	if c.is(lower) {
		s.XAxisIndex, s.YAxisIndex = 1, 1
	}
	if c.is(piled) {
		s.Stack = "all"
	}
	if c.is(bars) {
		return s
	}
	style := opts.LineStyle{Color: "@@" + c.colour, Width: 1.5}
	switch {
	case c.is(dashed):
		style.Type = "dashed"
	case c.is(dotted):
		style.Type = "dotted"
	}
	switch {
	case c.is(widest):
		style.Width = 2.2
	case c.is(bold):
		style.Width = 2
	}
	s.Type, s.LineStyle, s.ShowSymbol = types.ChartLine, &style, opts.Bool(false)
	if c.is(stairs) {
		s.Step = "end"
	}
	return s
}

// axesOf stacks the panels, the lowest with the labels of all.
func axesOf(labels []string, panels []panel, zoom reach) finish {
	f := finish{}
	const head, foot, gap, slider = 15.0, 12.0, 9.0, 8.0 // percent of the height
	room := 100 - head - foot - gap*float64(len(panels)-1)
	if zoom {
		room -= slider
	}
	top := head
	axes := make([]int, len(panels))
	line := object{"lineStyle": object{"color": "@@line"}}
	label := func() object { return object{"color": "@@muted", "fontSize": 12} }
	for i, p := range panels {
		axes[i] = i
		height := room * p.share
		f.grids = append(f.grids, object{"left": 62, "right": 30, "top": percent(top), "height": percent(height)})
		top += height + gap
		last := i == len(panels)-1
		x, y := label(), label()
		x["show"] = last
		if len(labels) <= fewLabels {
			x["interval"] = 0
		}
		if p.thousands {
			y["formatter"] = "@@thousands"
		}
		f.xAxes = append(f.xAxes, object{"type": "category", "data": labels, "gridIndex": i, "axisLabel": x,
			"axisLine": line, "axisTick": object{"show": last}})
		f.yAxes = append(f.yAxes, object{"type": "value", "gridIndex": i, "name": p.axis, "axisLabel": y,
			"nameTextStyle": object{"color": "@@ink", "align": "left"}, "axisLine": line,
			"splitLine": object{"lineStyle": object{"color": "@@panel"}}})
		if p.fromZero {
			f.yAxes[i]["min"] = 0
		}
	}
	if zoom {
		f.zoom = []object{{"type": "slider", "xAxisIndex": axes, "bottom": 0, "height": 20,
			"textStyle": object{"color": "@@ink"}}}
	}
	return f
}

// fewLabels are all written, however narrow the chart.
const fewLabels = 6

func percent(x float64) string { return Number(x, 2) + "%" }
