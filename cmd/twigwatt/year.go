package main

import (
	"fmt"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/loads"
	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

func yearCommand() *cli.Command {
	return &cli.Command{
		Name:      "year",
		Usage:     "simulate the span and print what it comes to",
		ArgsUsage: "[SCENARIO]",
		Flags: []cli.Flag{
			jsonFlag(), setFlag(),
			&cli.StringFlag{Name: "plan", Usage: "how runs are chosen, `BY` chosen, same-hours or top-up"},
			&cli.StringFlag{Name: "trace", Usage: "write every step to `FILE.csv`"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 if there was shortfall"},
			&cli.StringFlag{Name: "report", Usage: "write the page to `FILE` (not built yet)"},
			&cli.BoolFlag{Name: "no-report", Usage: "write no page"},
		},
		Action: year,
	}
}

func year(c *cli.Context) error {
	if c.IsSet("report") {
		return usagef("the page (--report) is not built yet")
	}
	var more []string
	if c.IsSet("plan") {
		more = append(more, "plan.by="+c.String("plan"))
	}
	s, err := readScenario(c, more...)
	if err != nil {
		return err
	}
	summary, traced, err := simulate(c, s, c.String("trace"))
	if err != nil {
		return err
	}
	window, err := bestWindow(c, s, summary)
	if err != nil {
		return err
	}
	if c.Bool("json") {
		err = report.YearJSON(c.App.Writer, summary, window)
	} else {
		err = report.YearText(c.App.Writer, summary, window)
	}
	if err != nil {
		return fmt.Errorf("printing the year: %w", err)
	}
	if traced != nil { // the answers stand even if a file could not be written
		if err := traced.Commit(true); err != nil {
			return err
		}
		fmt.Fprintln(c.App.ErrWriter, "wrote "+traced.name)
	}
	if c.Bool("strict") && summary.Total.ShortfallH > 0 {
		return errShort
	}
	return nil
}

// simulate runs the span, with a trace if a file is named for it.
func simulate(c *cli.Context, s *scenarios.Scenario, traceName string) (*sim.Summary, *wholeFile, error) {
	var file *wholeFile
	var trace *report.Trace
	var watch func(sim.Moment, *sim.State, *sim.Flows)
	if traceName != "" {
		var err error
		if file, err = createWhole(traceName); err != nil {
			return nil, nil, err
		}
		trace = report.NewTrace(file, s.House)
		watch = trace.Step
	}
	chooser, err := s.Chooser(c.Context)
	var books *sim.Books
	if err == nil {
		books, err = sim.Run(c.Context, s.House, s.Demand, chooser, watch)
	}
	if err == nil && trace != nil {
		err = trace.Flush()
	}
	if err != nil {
		if file != nil {
			file.Discard()
		}
		return nil, nil, err
	}
	summary := sim.Summarize(s.House, books, s.Warnings)
	summary.Name, summary.Plan, summary.PlanText, summary.Foresight = s.Name, s.Plan, s.PlanText(), s.Foresight
	return summary, file, nil
}

// bestWindow finds what chosen runs are worth: the best fixed window with at
// least the same attended hours; nil for other plans.
func bestWindow(c *cli.Context, s *scenarios.Scenario, summary *sim.Summary) (*study.Window, error) {
	if s.Plan != plan.ByChosen {
		return nil, nil
	}
	choreKW, _ := loads.FirstHours(s.Wants.Chores, s.House.Span, s.Demand.AwayDay)
	return study.BestWindow(c.Context, s.House, s.Demand, choreKW, summary.Total.AttendedH)
}
