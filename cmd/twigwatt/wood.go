package main

import (
	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim/study"
)

func woodCommand() *cli.Command {
	return &cli.Command{
		Name:      "wood",
		Usage:     "the span's wood: what is needed, what is ready, what to cut and when",
		ArgsUsage: "[SCENARIO]",
		Flags:     []cli.Flag{jsonFlag(), setFlag(), &cli.StringFlag{Name: "report", Usage: "write the page to `FILE`"}},
		Action:    wood,
	}
}

func wood(c *cli.Context) error {
	s, err := readForStudy(c)
	if err != nil {
		return err
	}
	answer, err := study.Wood(c.Context, s.Household, s.Rule)
	if err != nil {
		return err
	}
	return write(c, s, report.Wood(answer))
}
