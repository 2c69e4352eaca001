package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/fault"
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
			&cli.BoolFlag{Name: "books", Usage: "print the books, entry by entry"},
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
	var trace *report.Trace
	watch := func(sim.Moment, *sim.State, *sim.Flows) {}
	if traced != nil {
		trace = report.NewTrace(traced, s.House)
		watch = trace.Step
	}
	y, err := study.Year(c.Context, s.Household, s.Rule, watch)
	if err != nil {
		return err
	}
	if traced != nil {
		fileErr = errors.Join(fileErr, finishTrace(c, traced, trace))
	}
	kept := report.BooksInALine
	if c.Bool("books") {
		kept = report.BooksInFull
	}
	r := report.Year(y, kept)
	err = printReport(c, r)
	if !c.Bool("no-report") && (!c.Bool("json") || c.IsSet("report")) { // with --json only where it is asked for
		fileErr = errors.Join(fileErr, writeReport(c, s, r))
	}
	// the answers stand even if a file could not be written, and the files if nobody reads the answers
	if err := errors.Join(err, fileErr); err != nil {
		return err
	}
	if c.Bool("strict") && y.Shortage.WorstDay != nil {
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

// finishTrace puts a trace in its place.
func finishTrace(c *cli.Context, f *wholeFile, trace *report.Trace) error {
	if err := trace.Flush(); err != nil {
		return unwritable(f.name, err)
	}
	return wrote(c, f.name, f.Commit(overOlder))
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
	seed := slices.IndexFunc(s.Settings, func(of *scenarios.Setting) bool { return of.Key == "seed" })
	return []string{fault.Plain(strings.Join(words, " ")), "version: " + c.App.Version + "; plan: " + s.Rule.By,
		"seed " + s.Settings[seed].InForce()}
}

// restsOn is every value in force, a table for each of the scenario's.
func restsOn(s *scenarios.Scenario) []report.Table {
	var tables []report.Table
	for _, setting := range s.Settings {
		caption := "The span"
		if table := scenarios.Table(setting.Key); table != "" {
			caption = "[" + table + "]"
		}
		if n := len(tables); n == 0 || tables[n-1].Caption != caption {
			tables = append(tables, report.Table{Caption: caption, Head: []string{"key", "value", "meaning", "source"}})
		}
		name, value := nameAndValue(setting)
		last := &tables[len(tables)-1]
		last.Rows = append(last.Rows, []string{name, value, setting.Meaning, sourceOf(setting)})
	}
	return tables
}
