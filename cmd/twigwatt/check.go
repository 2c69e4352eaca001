package main

import (
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
)

func checkCommand() *cli.Command {
	return &cli.Command{
		Name:      "check",
		Usage:     "check a scenario and print every value in force with its source",
		ArgsUsage: "[SCENARIO]",
		Flags:     []cli.Flag{jsonFlag(), setFlag()},
		Action: func(c *cli.Context) error {
			s, err := readScenario(c)
			if err != nil {
				return err
			}
			return printReport(c, checkReport(s))
		},
	}
}

// checkReport reports every value in force.
func checkReport(s *scenarios.Scenario) *report.Report {
	return &report.Report{Warnings: s.Warnings, Text: func(t *report.Terminal) { printCheck(t, s) },
		JSON: func() report.Pairs {
			settings := eachOf(s.Settings, func(of *scenarios.Setting) report.Pairs {
				return report.Pairs{{Key: "key", Value: of.Key}, {Key: "value", Value: of.Exact()}, {Key: "unit", Value: of.Unit},
					{Key: "given", Value: of.Given}, {Key: "allowed", Value: of.Allowed()}, {Key: "meaning", Value: of.Meaning}, {Key: "source", Value: sourceOf(of)}}
			})
			return report.Pairs{{Key: "scenario", Value: s.Name}, {Key: "settings", Value: settings},
				{Key: "loads", Value: report.LoadsJSON(s.Household)}}
		}}
}

// nameAndValue are a key without its table, and its value in force with its unit.
func nameAndValue(s *scenarios.Setting) (name, value string) {
	name, value = s.Key[strings.LastIndex(s.Key, ".")+1:], s.InForce()
	if s.Unit != "" && value != "none" {
		value += " " + s.Unit
	}
	return name, value
}

// sourceOf says where the value in force comes from.
func sourceOf(s *scenarios.Setting) string {
	switch {
	case s.Given && s.Line > 0:
		return fmt.Sprintf("given, line %d", s.Line)
	case s.Given:
		return "given by --set"
	case s.InForce() == "none":
		return "not given"
	}
	return s.Source
}

// printCheck writes the values in force, a table of the scenario after another.
func printCheck(b *report.Terminal, s *scenarios.Scenario) {
	fmt.Fprintf(b, "%s: no faults. Every value in force, and where it comes from:\n", s.Name)
	table := ""
	for i, setting := range s.Settings {
		if t := scenarios.Table(setting.Key); t != table || i == 0 {
			if t != "" {
				fmt.Fprintf(b, "\n[%s]\n", t)
			} else {
				b.WriteString("\n")
			}
			table = t
		}
		name, value := nameAndValue(setting)
		const valueColumn, sourceColumn = 28, 46
		lead := fmt.Sprintf("  %-*s%s", valueColumn-2, name, value)
		if len([]rune(lead)) >= sourceColumn { // a long list has lines of its own
			fmt.Fprintln(b, report.Hang("  "+name, valueColumn, value))
			lead = ""
		}
		fmt.Fprintln(b, report.Hang(lead, sourceColumn, sourceOf(setting)))
	}
	report.LoadsText(b, s.Household)
}
