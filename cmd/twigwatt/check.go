package main

import (
	"fmt"
	"io"
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
			if c.Bool("json") {
				return report.WriteJSON(c.App.Writer, checkDocument(s))
			}
			return printCheck(c.App.Writer, s)
		},
	}
}

type settingJSON struct {
	Key     string `json:"key"`
	Value   string `json:"value"`
	Unit    string `json:"unit"`
	Given   bool   `json:"given"`
	Meaning string `json:"meaning"`
	Source  string `json:"source"`
}

type checkJSON struct {
	Format   int           `json:"format"`
	Scenario string        `json:"scenario"`
	Settings []settingJSON `json:"settings"`
	Warnings []warningJSON `json:"warnings"`
	Cautions []string      `json:"cautions"`
}

type warningJSON struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

func checkDocument(s *scenarios.Scenario) checkJSON {
	doc := checkJSON{Format: 1, Scenario: s.Name, Warnings: []warningJSON{}, Cautions: report.Cautions}
	for _, setting := range s.Settings {
		doc.Settings = append(doc.Settings, settingJSON{setting.Key, setting.Exact(), setting.Unit, setting.Given,
			setting.Meaning, sourceOf(setting)})
	}
	for _, warning := range s.Warnings {
		doc.Warnings = append(doc.Warnings, warningJSON(warning))
	}
	return doc
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
func printCheck(w io.Writer, s *scenarios.Scenario) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: no faults. Every value in force, and where it comes from:\n", s.Name)
	table := ""
	for i, setting := range s.Settings {
		key := setting.Key
		if t := scenarios.Table(key); t != table || i == 0 {
			if t != "" {
				fmt.Fprintf(&b, "\n[%s]\n", t)
			} else {
				b.WriteString("\n")
			}
			table = t
		}
		value := setting.InForce()
		if setting.Unit != "" && value != "none" {
			value += " " + setting.Unit
		}
		const valueColumn, sourceColumn = 28, 46
		lead := fmt.Sprintf("  %-*s%s", valueColumn-2, key[strings.LastIndex(key, ".")+1:], value)
		if len([]rune(lead)) >= sourceColumn { // a long list has lines of its own
			fmt.Fprintln(&b, report.Hang("  "+key[strings.LastIndex(key, ".")+1:], valueColumn, value))
			lead = ""
		}
		fmt.Fprintln(&b, report.Hang(lead, sourceColumn, sourceOf(setting)))
	}
	if len(s.Warnings) > 0 {
		b.WriteString("\nWarnings\n")
		for _, warning := range s.Warnings {
			fmt.Fprintln(&b, report.Wrap("- "+warning.Text, report.Width, "  "))
		}
	}
	report.Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}
