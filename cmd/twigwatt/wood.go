package main

import (
	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim"
	"twigwatt/sim/study"
)

func woodCommand() *cli.Command {
	return &cli.Command{
		Name:      "wood",
		Usage:     "the span's wood: what is needed, what is ready, what to cut and when",
		ArgsUsage: "[SCENARIO]",
		Flags:     []cli.Flag{jsonFlag(), setFlag()},
		Action:    wood,
	}
}

func wood(c *cli.Context) error {
	s, err := readScenario(c)
	if err != nil {
		return err
	}
	chooser, err := s.ChooserFor(c.Context, s.House) // without rationing: what is missing is the question
	if err != nil {
		return err
	}
	books, err := sim.Run(c.Context, s.House, s.Demand, chooser, nil)
	if err != nil {
		return err
	}
	need, err := study.Need(c.Context, s.House, s.Demand, s.ChooserFor)
	if err != nil {
		return err
	}
	summary := sim.Summarize(s.House, books, s.Warnings)
	w := study.WoodOf(s.House, books, need, summary.Wood.NoWood)
	w.Name, w.Warnings = s.Name, summary.Warnings
	if c.Bool("json") {
		return report.WoodJSON(c.App.Writer, w)
	}
	return report.WoodText(c.App.Writer, w)
}
