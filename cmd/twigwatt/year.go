package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
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
			&cli.StringFlag{Name: "report", Value: "twigwatt-report.html", Usage: "write the page to `FILE`"},
			&cli.BoolFlag{Name: "no-report", Usage: "write no page"},
		},
		Action: year,
	}
}

func year(c *cli.Context) error {
	var more []string
	if c.IsSet("plan") {
		more = append(more, "plan.by="+c.String("plan"))
	}
	if c.Bool("no-report") && c.IsSet("report") {
		return usagef("--no-report and --report contradict one another: give one or the other")
	}
	if err := differ("trace", c.String("trace"), "report", c.String("report")); err != nil {
		return err
	}
	s, err := readScenario(c, more...)
	if err != nil {
		return err
	}
	traced, fileErr := createTrace(c.String("trace"))
	defer traced.Discard()
	y, err := simulate(c, s, traced, &fileErr)
	if err != nil {
		return err
	}
	summary := y.Summary
	if err := rationing(c, s, summary); err != nil {
		return err
	}
	if y.Window, err = bestWindow(c, s); err != nil {
		return err
	}
	if c.Bool("json") {
		err = report.YearJSON(c.App.Writer, summary, y.Window)
	} else {
		err = report.YearText(c.App.Writer, summary, y.Window)
	}
	if traced != nil && fileErr == nil {
		if fileErr = traced.Commit(true); fileErr == nil {
			fmt.Fprintln(c.App.ErrWriter, "wrote "+traced.name)
		}
	}
	// the answers stand even if a file could not be written, and the files if nobody reads the answers
	if err := errors.Join(err, fileErr, writePage(c, s, y)); err != nil {
		return err
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

// writePage writes the year's page, unless it is not wanted: with --json it is
// only where --report asks for it.
func writePage(c *cli.Context, s *scenarios.Scenario, y *report.Year) error {
	if c.Bool("no-report") || c.Bool("json") && !c.IsSet("report") {
		return nil
	}
	y.Basis = basisOf(c, s)
	return writeReport(c, func(w io.Writer) error { return report.YearPage(w, y) })
}

// basisOf is what the results of a scenario rest on.
func basisOf(c *cli.Context, s *scenarios.Scenario) report.Basis {
	return report.Basis{Rests: restsOn(s), Text: s.Text, Again: again(c, s)}
}

// again says how to make the same results again: the command with its options but
// for where files go, the plan, the version.
func again(c *cli.Context, s *scenarios.Scenario) []string {
	words := append([]string{c.Command.HelpName}, c.Args().Slice()...)
	for _, f := range c.Command.Flags {
		name := f.Names()[0]
		if !c.IsSet(name) || slices.Contains([]string{"json", "report", "no-report", "trace", "out", "jobs"}, name) {
			continue
		}
		switch f := f.(type) {
		case *cli.BoolFlag:
			words = append(words, "--"+name)
		case *cli.GenericFlag:
			for _, value := range f.Value.(*assignments).all {
				words = append(words, "--"+name, value)
			}
		default:
			words = append(words, "--"+name, fmt.Sprint(c.Value(name)))
		}
	}
	for i, word := range words {
		if i > 0 && strings.ContainsAny(word, " \"'*?[]{}()<>|&;$`\\#~") {
			words[i] = "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
		}
	}
	lines := []string{scenarios.OneLine(strings.Join(words, " ")), "version: " + c.App.Version + "; plan: " + s.Plan}
	for _, setting := range s.Settings {
		if setting.Key == "seed" {
			lines = append(lines, "seed "+setting.InForce())
		}
	}
	return lines
}

// restsOn is every value in force, a table for each of the scenario's.
func restsOn(s *scenarios.Scenario) []report.Table {
	var tables []report.Table
	for _, setting := range s.Settings {
		name := scenarios.Table(setting.Key)
		caption := "[" + name + "]"
		if name == "" {
			caption = "The span"
		}
		if n := len(tables); n == 0 || tables[n-1].Caption != caption {
			tables = append(tables, report.Table{Caption: caption, Head: []string{"key", "value", "meaning", "source"}})
		}
		value := setting.InForce()
		if setting.Unit != "" && value != "none" {
			value += " " + setting.Unit
		}
		last := &tables[len(tables)-1]
		last.Rows = append(last.Rows, []string{setting.Key[strings.LastIndex(setting.Key, ".")+1:], value, setting.Meaning, sourceOf(setting)})
	}
	return tables
}

// simulate runs the span, with a trace into a file if there is one. What is wrong
// with the file alone goes to fileErr: the answers stand.
func simulate(c *cli.Context, s *scenarios.Scenario, traced *wholeFile, fileErr *error) (*report.Year, error) {
	record := sim.NewRecord(s.House)
	watch := record.Step
	flush := func() error { return nil }
	if traced != nil {
		trace := report.NewTrace(traced, s.House)
		flush = trace.Flush
		watch = func(at sim.Moment, s *sim.State, f *sim.Flows) {
			record.Step(at, s, f)
			trace.Step(at, s, f)
		}
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
		*fileErr = unwritable(traced.name, err)
	}
	summary := sim.Summarize(s.House, books, s.Warnings)
	summary.Name, summary.Plan, summary.PlanText, summary.Foresight = s.Name, s.Plan, s.PlanText(), s.Foresight
	summary.Seed, summary.SwingShare = s.Wants.Seed, s.Wants.SwingShare
	if chosen, ok := chooser.(*plan.Chooser); ok && len(s.Wants.Chores) > 0 {
		chores := chosen.Chores()
		summary.Chores = &chores
	}
	return &report.Year{House: s.House, Summary: summary, Books: books, Record: record}, nil
}

// bestWindow finds what chosen runs are worth: the fixed window that is best on the same
// spread of days; nil for other plans.
func bestWindow(c *cli.Context, s *scenarios.Scenario) (*study.Window, error) {
	if s.Plan != plan.ByChosen {
		return nil, nil
	}
	return study.BestWindow(c.Context, s.House, s.Demand, s.Steady(), s.ChoreKW(), s.Chance(study.UsualLives))
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
