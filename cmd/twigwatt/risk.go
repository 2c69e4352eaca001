package main

import (
	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim/study"
)

func riskCommand() *cli.Command {
	return &cli.Command{
		Name:      "risk",
		Usage:     "how bad can it get? Spans of luck: loads, wood, light-ups, repairs",
		ArgsUsage: "[SCENARIO]",
		Flags: []cli.Flag{jsonFlag(), setFlag(), jobsFlag(),
			&cli.IntFlag{Name: "years", Value: 100, Usage: "`N` spans of luck, 1 to 10000"},
			&cli.StringFlag{Name: "report", Usage: "write a page to `FILE`"}},
		Action: risk,
	}
}

func risk(c *cli.Context) error {
	s, err := readForStudy(c)
	if err != nil {
		return err
	}
	work := begin(c)
	defer work.end()
	answer, err := study.Risk(c.Context, s.Household, s.Rule,
		study.RiskOptions{Years: c.Int("years"), Passed: work.passed("%d of %d spans")})
	if err != nil {
		return err
	}
	work.end()
	return write(c, s, report.Risk(answer))
}
