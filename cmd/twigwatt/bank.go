package main

import (
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
)

func bankCommand() *cli.Command {
	return &cli.Command{
		Name:      "bank",
		Usage:     "how big a bank? Sizes against the hardest week and the whole span",
		ArgsUsage: "[SCENARIO]",
		Flags: []cli.Flag{jsonFlag(), setFlag(), jobsFlag(),
			&cli.StringFlag{Name: "kwh", Usage: "`SIZES` at rated_hours, like 8,12,16,24"},
			&cli.StringFlag{Name: "amp-hours", Usage: "`SIZES` instead, at the scenario's battery.volts"},
			&cli.StringFlag{Name: "week", Usage: "the week from a `DATE` of the span instead of the one that wants most"},
			livesFlag(),
			&cli.IntFlag{Name: "engine-out", Usage: "no runs on the week's first `DAYS`"},
			&cli.StringFlag{Name: "report", Usage: "write a page to `FILE`"}},
		Action: bank,
	}
}

func bank(c *cli.Context) error {
	o := study.BankOptions{FirstDay: -1, EngineOut: c.Int("engine-out"), Lives: c.Int("lives")}
	s, err := readForStudy(c)
	if err != nil {
		return err
	}
	o.OfSize = s.OfSize
	if o.SizesKWh, err = sizesOf(c, s); err != nil {
		return err
	}
	if c.IsSet("week") {
		date, err := calendar.ParseDate(c.String("week"))
		if err != nil || date < s.Span.Start || date >= s.Span.End() {
			return usagef("--week must be a date of the span, %s to %s, got %q", s.Span.Start, s.Span.End()-1, c.String("week"))
		}
		o.FirstDay = int(date - s.Span.Start)
	}
	work := begin(c)
	defer work.end()
	o.Passed = work.passed("%d of %d sizes")
	answer, err := study.Bank(c.Context, s.Household, s.Rule, o)
	if err != nil {
		return err
	}
	work.end()
	return write(c, s, report.Bank(answer))
}

// sizesOf are the sizes asked for, in the order asked, or a spread around the
// scenario's own.
func sizesOf(c *cli.Context, own *scenarios.Scenario) ([]float64, error) {
	kWh, ampHours := c.String("kwh"), c.String("amp-hours")
	factor, list, flag := 1.0, kWh, "kwh"
	var sizes []float64
	switch {
	case kWh != "" && ampHours != "":
		return nil, usagef("give --kwh or --amp-hours, not both")
	case ampHours != "":
		if own.Volts == 0 {
			return nil, usagef("--amp-hours needs battery.volts in the scenario")
		}
		factor, list, flag = own.Volts/1000, ampHours, "amp-hours"
	case kWh == "":
		for _, share := range []float64{0.5, 0.75, 1, 1.25, 1.5, 2} {
			sizes = append(sizes, share*own.RatedKWh)
		}
		return sizes, nil
	}
	for cell := range strings.SplitSeq(list, ",") {
		x, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
		if err != nil || !(x*factor > 0 && x*factor <= 1e4) {
			return nil, usagef("--%s must be sizes like 8,12,16, each more than 0, at most 10000 kWh, got %q", flag, cell)
		}
		sizes = append(sizes, x*factor)
	}
	return sizes, nil
}
