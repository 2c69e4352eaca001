package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
)

// printHelp writes the help of the program or of a command, in 80 columns.
func printHelp(w io.Writer, _ string, of any) {
	b := &report.Terminal{}
	switch of := of.(type) {
	case *cli.App:
		fmt.Fprintln(b, report.Wrap(of.Name+": "+of.Usage, report.Width, "  "))
		fmt.Fprintf(b, "\n  %s\n\n", of.UsageText)
		helpRows(b, commandRows(of.Commands))
		b.WriteString("\n")
		for line := range strings.SplitSeq(of.Description, "\n") {
			fmt.Fprintln(b, report.Wrap(line, report.Width, "  "))
		}
		fmt.Fprintln(b, report.Wrap("A command's options: twigwatt COMMAND --help. This is version: "+of.Version+".",
			report.Width, "  "))
		b.Closing()
	case *cli.Command:
		fmt.Fprintln(b, report.Wrap(of.HelpName+": "+of.Usage, report.Width, "  "))
		fmt.Fprintln(b)
		fmt.Fprintln(b, report.Hang("", 2, of.HelpName+" "+of.ArgsUsage+" [options]"))
		if of.Description != "" {
			fmt.Fprintln(b)
			for line := range strings.SplitSeq(of.Description, "\n") {
				fmt.Fprintln(b, report.Wrap(line, report.Width, "  "))
			}
		}
		if rows := commandRows(shown(of.Subcommands)); len(rows) > 0 {
			fmt.Fprintln(b)
			helpRows(b, rows)
		}
		if rows := optionRows(of.VisibleFlags()); len(rows) > 0 {
			fmt.Fprintln(b)
			helpRows(b, rows)
		}
	}
	io.WriteString(w, b.String())
}

func commandRows(all []*cli.Command) [][2]string {
	var rows [][2]string
	for _, c := range all {
		if !c.Hidden && c.Name != "help" {
			rows = append(rows, [2]string{c.Name, c.Usage})
		}
	}
	return rows
}

// optionRows are a command's options: how each is written, and what it means. The
// word in backquotes of a meaning stands for its value.
func optionRows(flags []cli.Flag) [][2]string {
	var rows [][2]string
	for _, f := range flags {
		name := "--" + f.Names()[0]
		meaning := ""
		if documented, ok := f.(cli.DocGenerationFlag); ok {
			meaning = documented.GetUsage()
		}
		if name == "--help" {
			meaning = "this help"
		}
		value := ""
		if before, rest, ok := strings.Cut(meaning, "`"); ok {
			word, after, _ := strings.Cut(rest, "`")
			value, meaning = word, before+word+after
			switch { // where the word says no more than the option itself
			case after == "" && strings.HasSuffix(before, ", "):
				meaning = strings.TrimSuffix(before, ", ")
			case before == "" && strings.HasPrefix(after, ", "):
				meaning = strings.TrimPrefix(after, ", ")
			}
		} else if _, isBool := f.(*cli.BoolFlag); !isBool {
			value = "X"
		}
		if fallback := fallbackOf(f); fallback != "" {
			meaning += " (" + fallback + ")"
		}
		rows = append(rows, [2]string{strings.TrimSpace(name + " " + value), meaning})
	}
	return rows
}

// fallbackOf is what an option holds where it is not given, "" where nothing.
func fallbackOf(f cli.Flag) string {
	switch f := f.(type) {
	case *cli.StringFlag:
		return f.Value
	case *cli.IntFlag:
		if f.Value != 0 {
			return strconv.Itoa(f.Value)
		}
	case *cli.Float64Flag:
		if f.Value != 0 {
			return strconv.FormatFloat(f.Value, 'f', -1, 64)
		}
	}
	return ""
}

// helpRows writes names and meanings in two columns.
func helpRows(b io.Writer, rows [][2]string) {
	columns := 0
	for _, row := range rows {
		columns = max(columns, len(row[0])+4)
	}
	const most = 28 // a longer name stands on a line of its own
	columns = min(columns, most)
	for _, row := range rows {
		lead := "  " + row[0]
		if len(lead)+2 > columns {
			fmt.Fprintln(b, lead)
			lead = ""
		}
		fmt.Fprintln(b, report.Hang(lead, columns, row[1]))
	}
}

// helpOf answers twigwatt help COMMAND.
func helpOf(c *cli.Context) error {
	words := c.Args().Slice()[1:]
	all := c.App.Commands
	var command *cli.Command
	for _, word := range words {
		if len(all) == 0 {
			return usagef("%s has no commands of its own, got %q", command.Name, word)
		}
		if command = named(all, word); command == nil {
			return unknownWord("command", word, shown(all))
		}
		all = command.Subcommands
	}
	if command == nil {
		printHelp(c.App.Writer, "", c.App)
		return nil
	}
	if command.HelpName == "" {
		command.HelpName = "twigwatt " + strings.Join(words, " ")
	}
	printHelp(c.App.Writer, "", command)
	return nil
}
