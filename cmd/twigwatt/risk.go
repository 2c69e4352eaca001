package main

import (
	"io"
	"slices"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

const mostYears = 10_000

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
	years := c.Int("years")
	if years < 1 || years > mostYears {
		return usagef("--years must be 1 to %d, got %d", mostYears, years)
	}
	if err := studyIsSound(c); err != nil {
		return err
	}
	own, err := readScenario(c)
	if err != nil {
		return err
	}
	warnings := own.Warnings
	if own.Foresight == string(plan.Exact) { // no figure may come from a plan that knew the luck
		if own, err = readScenario(c, "plan.foresight=typical"); err != nil {
			return err
		}
		warnings = append(own.Warnings, sim.Warning{Code: "typical_foresight",
			Text: "plan.foresight is exact; risk plans with typical foresight, since luck is not known beforehand"})
	}
	defer limitJobs(c)()
	show := newProgress(c.App.ErrWriter)
	defer show.clear()
	r, err := study.NewRisk(c.Context, &study.Gamble{House: own.House, Wants: own.Wants, Luck: own.Luck(),
		Seed: own.Wants.Seed, Years: years,
		Make:   own.Chooser,
		For:    own.ChooserFor,
		Passed: func(passed, of int) { show.at("%d of %d spans", passed, of) }})
	if err != nil {
		return err
	}
	r.Name, r.PlanText, r.Chosen, r.Warnings = own.Name, own.PlanText(), own.Plan == plan.ByChosen, slices.Concat(warnings, r.Hazards)
	show.clear()
	return printStudy(c, func(w io.Writer) error { return report.RiskJSON(w, r) },
		func(w io.Writer) error { return report.RiskText(w, r) },
		func(w io.Writer) error { return report.RiskPage(w, r, basisOf(c, own)) })
}
