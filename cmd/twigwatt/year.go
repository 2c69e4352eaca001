package main

import (
	"fmt"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/loads"
	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
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
	traced, fileErr := createTrace(c.String("trace"))
	defer traced.Discard()
	summary, err := simulate(c, s, traced, &fileErr)
	if err != nil {
		return err
	}
	if err := rationing(c, s, summary); err != nil {
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
	if traced != nil && fileErr == nil {
		fileErr = traced.Commit(true)
	}
	if fileErr != nil { // the answers stand even if a file could not be written
		return fileErr
	}
	if traced != nil {
		fmt.Fprintln(c.App.ErrWriter, "wrote "+traced.name)
	}
	if c.Bool("strict") && summary.Shortage.WorstDay != nil {
		return errShort
	}
	return nil
}

// createTrace opens the file of the trace, if one is wanted.
func createTrace(name string) (*wholeFile, error) {
	if name == "" {
		return nil, nil
	}
	if err := replaceable(name, report.TraceHead, "trace"); err != nil {
		return nil, err
	}
	return createWhole(name)
}

// simulate runs the span, with a trace into a file if there is one. What is wrong
// with the file alone goes to fileErr: the answers stand.
func simulate(c *cli.Context, s *scenarios.Scenario, traced *wholeFile, fileErr *error) (*sim.Summary, error) {
	var watch func(sim.Moment, *sim.State, *sim.Flows)
	flush := func() error { return nil }
	if traced != nil {
		trace := report.NewTrace(traced, s.House)
		watch, flush = trace.Step, trace.Flush
	}
	chooser, err := s.Chooser(c.Context)
	var books *sim.Books
	if err == nil {
		books, err = sim.Run(c.Context, s.House, s.Demand, chooser, watch)
	}
	if err != nil {
		return nil, err
	}
	if err := flush(); err != nil {
		*fileErr = fmt.Errorf("%s: cannot be written: %w", traced.name, err)
	}
	summary := sim.Summarize(s.House, books, s.Warnings)
	summary.Name, summary.Plan, summary.PlanText, summary.Foresight = s.Name, s.Plan, s.PlanText(), s.Foresight
	if chosen, ok := chooser.(*plan.Chosen); ok && len(s.Wants.Chores) > 0 {
		chores := chosen.Chores()
		summary.Chores = &chores
	}
	return summary, nil
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

// rationing tells what rationed wood costs, beside the same span with wood
// without end.
func rationing(c *cli.Context, s *scenarios.Scenario, summary *sim.Summary) error {
	if !s.Rationed {
		return nil
	}
	free, err := study.Need(c.Context, s.House, s.Demand, s.ChooserFor)
	if err != nil {
		return err
	}
	r := &sim.Rationing{MissingDryKg: max(0, free.Total.BurnedDryKg-summary.Total.BurnedDryKg),
		MoreShortKWh: summary.Total.ShortfallKWh - free.Total.ShortfallKWh, MoreShortDays: summary.Shortage.Days - free.Shortage.Days}
	for _, stretch := range s.Rations {
		days := calendar.DateRange{First: s.House.Days[stretch.FirstDay].Date, Last: s.House.Days[stretch.LastDay].Date}
		r.Stretches = append(r.Stretches, sim.RationedStretch{DateRange: days, WoodKg: stretch.WoodKg, Lasts: stretch.Lasts})
	}
	summary.Ration = r
	return nil
}
