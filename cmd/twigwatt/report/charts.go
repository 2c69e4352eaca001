package report

import (
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// Charts are for what is explored: the library's script draws them, with tooltips and zoom,
// and without a script their tables stand alone. What is only looked at is a still (see
// calendarStill, flowStill). A chart's colours are names of the page's own (@@engine), which
// its script fills in for light, dark and print.

// finish sets what go-echarts has no field for.
type finish struct {
	charts.BaseConfigurationVisitor
	grids        []map[string]any
	xAxes, yAxes []map[string]any
	zoom         []map[string]any
	legend       []map[string]any
}

// Visit puts axes and grids into the options.
func (f finish) Visit(chart map[string]interface{}) {
	chart["animation"] = false
	chart["grid"] = f.grids
	chart["xAxis"] = f.xAxes
	chart["yAxis"] = f.yAxes
	chart["axisPointer"] = map[string]any{"link": []map[string]any{{"xAxisIndex": "all"}}}
	if f.zoom != nil {
		chart["dataZoom"] = f.zoom
	}
	chart["legend"] = map[string]any{"show": true, "top": "0", "left": "150", "itemWidth": 26, "itemHeight": 12,
		"textStyle": map[string]any{"color": "@@ink"}, "data": f.legend}
	delete(chart, "color")
	delete(chart, "title")
}

// A line or bars of a chart. Panel is the panel, from above, it is drawn in.
type series struct {
	name, colour string
	values       []float64
	panel        int
	bars, hollow bool // hollow bars are outlined: of two degrees of one thing, or what was planned beside what was
	step         bool
	dashed       bool
	dotted       bool
	stack        string
	width        float64
}

// icon draws in the legend what the series is drawn with.
func (s series) icon() string {
	switch {
	case s.hollow:
		return "path://M0 0h24v12h-24z M3 3v6h18v-6z"
	case s.bars:
		return "rect"
	case s.dashed:
		return "path://M0 4h7v3h-7z M10 4h7v3h-7z M20 4h7v3h-7z"
	case s.dotted:
		return "path://M0 4h3v3h-3z M6 4h3v3h-3z M12 4h3v3h-3z M18 4h3v3h-3z M24 4h3v3h-3z"
	}
	return "path://M0 4h27v3h-27z"
}

// A curve is what a series draws of each row.
type curve[R any] struct {
	series
	of func(*R) float64
}

// chart draws rows in charts above one another; see panels.
func chart[R any](rows []R, label func(*R) string, ps []panel, zoom bool, curves ...curve[R]) any {
	labels, all := make([]string, len(rows)), make([]series, len(curves))
	for i := range rows {
		labels[i] = label(&rows[i])
	}
	for n, c := range curves {
		all[n] = c.series
		for i := range rows {
			all[n].values = append(all[n].values, c.of(&rows[i]))
		}
	}
	return panels(labels, ps, all, zoom)
}

// A panel is one of the charts that stand above one another with one time axis.
type panel struct {
	axis     string // with its unit
	low      *float64
	share    float64 // of the height
	thousand bool
}

func axisLabel() map[string]any { return map[string]any{"color": "@@muted", "fontSize": 12} }

// panels makes the options of charts above one another.
func panels(labels []string, ps []panel, all []series, zoom bool) any {
	line := charts.NewLine()
	line.SetGlobalOptions(charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}))
	bar := charts.NewBar()
	for _, s := range all {
		if s.bars {
			addBars(bar, s)
		} else {
			addLine(line, s)
		}
	}
	line.Overlap(bar)
	f := axesOf(labels, ps, zoom)
	for _, s := range all {
		f.legend = append(f.legend, map[string]any{"name": s.name, "icon": s.icon()})
	}
	line.Accept(f)
	line.Validate()
	options := line.JSON()
	options["progressive"] = 0 // large series are drawn at once, or a print shows part of them
	return options
}

func addBars(bar *charts.Bar, s series) {
	values := make([]opts.BarData, len(s.values))
	for i, v := range s.values {
		values[i] = opts.BarData{Value: rounded(v)}
		if s.hollow { // each by itself: the legend keeps the series' own colour
			values[i].ItemStyle = &opts.ItemStyle{Color: "@@panel", BorderColor: "@@" + s.colour, BorderWidth: 2}
		}
	}
	style := opts.ItemStyle{Color: "@@" + s.colour}
	bar.AddSeries(s.name, values, charts.WithBarChartOpts(opts.BarChart{XAxisIndex: s.panel, YAxisIndex: s.panel,
		Stack: s.stack}), charts.WithItemStyleOpts(style))
}

func addLine(line *charts.Line, s series) {
	values := make([]opts.LineData, len(s.values))
	for i, v := range s.values {
		if values[i] = (opts.LineData{Value: rounded(v)}); math.IsNaN(v) {
			values[i].Value = "-" // the library's word for none
		}
	}
	style := opts.LineStyle{Color: "@@" + s.colour, Width: float32(max(s.width, 1.5))}
	if s.dashed {
		style.Type = "dashed"
	} else if s.dotted {
		style.Type = "dotted"
	}
	chart := opts.LineChart{XAxisIndex: s.panel, YAxisIndex: s.panel, ShowSymbol: opts.Bool(false)}
	if s.step {
		chart.Step = "end"
	}
	line.AddSeries(s.name, values, charts.WithLineChartOpts(chart), charts.WithLineStyleOpts(style),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: "@@" + s.colour}))
}

// axesOf stacks the panels, the lowest with the labels of all.
func axesOf(labels []string, ps []panel, zoom bool) finish {
	f := finish{}
	const head, foot, gap, slider = 15.0, 12.0, 9.0, 8.0 // percent of the height
	room := 100 - head - foot - gap*float64(len(ps)-1)
	if zoom {
		room -= slider
	}
	top := head
	axes := make([]int, len(ps))
	for i, p := range ps {
		axes[i] = i
		height := room * p.share
		f.grids = append(f.grids, map[string]any{"left": 62, "right": 30, "top": percent(top), "height": percent(height)})
		top += height + gap
		last := i == len(ps)-1
		label := withShow(axisLabel(), last)
		if len(labels) <= fewLabels {
			label["interval"] = 0
		}
		f.xAxes = append(f.xAxes, map[string]any{"type": "category", "data": labels, "gridIndex": i, "axisLabel": label,
			"axisLine": map[string]any{"lineStyle": map[string]any{"color": "@@line"}}, "axisTick": map[string]any{"show": last}})
		y := map[string]any{"type": "value", "gridIndex": i, "name": p.axis,
			"nameTextStyle": map[string]any{"color": "@@ink", "align": "left"}, "axisLabel": axisLabel(),
			"axisLine":  map[string]any{"lineStyle": map[string]any{"color": "@@line"}},
			"splitLine": map[string]any{"lineStyle": map[string]any{"color": "@@panel"}}}
		if p.thousand {
			y["axisLabel"].(map[string]any)["formatter"] = "@@thousands"
		}
		if p.low != nil {
			y["min"] = *p.low
		}
		f.yAxes = append(f.yAxes, y)
	}
	if zoom {
		f.zoom = []map[string]any{{"type": "slider", "xAxisIndex": axes, "bottom": 0, "height": 20,
			"textStyle": map[string]any{"color": "@@ink"}}}
	}
	return f
}

// fewLabels are all written, however narrow the chart.
const fewLabels = 6

func withShow(label map[string]any, show bool) map[string]any {
	label["show"] = show
	return label
}

func percent(x float64) string { return Number(x, 2) + "%" }

// rounded keeps three decimals: what a chart shows, in few bytes.
func rounded(x float64) float64 {
	const thousandth = 1000
	return float64(int64(x*thousandth+copysign(0.5, x))) / thousandth
}

func copysign(x, sign float64) float64 {
	if sign < 0 {
		return -x
	}
	return x
}
