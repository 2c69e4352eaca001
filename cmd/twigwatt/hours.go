package main

import (
	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim/study"
)

func hoursCommand() *cli.Command {
	return &cli.Command{
		Name:      "hours",
		Usage:     "how many hours a day? A span for each limit, and the wall card",
		ArgsUsage: "[SCENARIO]",
		Flags: []cli.Flag{jsonFlag(), setFlag(), jobsFlag(),
			&cli.Float64Flag{Name: "every", Value: 1, Usage: "limits every so many `HOURS` from 0 to 12"},
			&cli.IntFlag{Name: "short-days", Value: 0, Usage: "`DAYS` of the span that may be short"}, livesFlag(),
			&cli.StringFlag{Name: "report", Usage: "write the wall card as a page to `FILE`"}},
		Action: hours,
	}
}

func hours(c *cli.Context) error {
	o := study.HoursOptions{EveryH: c.Float64("every"), ShortDays: c.Int("short-days"), Lives: c.Int("lives")}
	s, err := readForStudy(c)
	if err != nil {
		return err
	}
	work := begin(c)
	defer work.end()
	o.Passed = work.passed("%d of %d limits")
	answer, err := study.Hours(c.Context, s.Household, s.Rule, o)
	if err != nil {
		return err
	}
	work.end()
	return write(c, s, report.Hours(answer))
}
