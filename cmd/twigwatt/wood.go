package main

import (
	"io"

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
		Flags:     []cli.Flag{jsonFlag(), setFlag(), &cli.StringFlag{Name: "report", Usage: "write the page to `FILE`"}},
		Action:    wood,
	}
}

func wood(c *cli.Context) error {
	if err := studyIsSound(c); err != nil {
		return err
	}
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
	return printStudy(c, func(out io.Writer) error { return report.WoodJSON(out, w) },
		func(out io.Writer) error { return report.WoodText(out, w) },
		func(out io.Writer) error { return report.WoodPage(out, w, basisOf(c, s)) })
}
