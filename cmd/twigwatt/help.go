package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
)

// printHelp writes the help of the program or of a command, in 80 columns.
func printHelp(w io.Writer, _ string, of any) {
	b := &report.Terminal{}
	switch of := of.(type) {
	case *cli.App:
		b.Line("%s: %s", of.Name, of.Usage)
		fmt.Fprintf(b, "\n  %s\n\n", of.UsageText)
		helpRows(b, commandRows(of.Commands))
		describe(b, of.Description)
		b.Line("A command's options: twigwatt COMMAND --help. This is version: %s.", of.Version)
		b.Closing()
	case *cli.Command:
		b.Line("%s: %s", of.HelpName, of.Usage)
		fmt.Fprintln(b, "\n"+report.Hang("", 2, of.HelpName+" "+of.ArgsUsage+" [options]"))
		if of.Description != "" {
			describe(b, of.Description)
		}
		for _, rows := range [][][2]string{commandRows(of.Subcommands), optionRows(of.VisibleFlags())} {
			if len(rows) > 0 {
				b.Gap()
				helpRows(b, rows)
			}
		}
	}
	io.WriteString(w, b.String())
}

// describe writes the lines of a description under an empty one.
func describe(b *report.Terminal, text string) {
	b.Gap()
	for line := range strings.SplitSeq(text, "\n") {
		b.Line("%s", line)
	}
}

func commandRows(all []*cli.Command) [][2]string {
	var rows [][2]string
	for _, c := range shown(all) {
		rows = append(rows, [2]string{c.Name, c.Usage})
	}
	return rows
}

// optionRows are a command's options: how each is written, and what it means. The
// word in backquotes of a meaning stands for its value.
func optionRows(flags []cli.Flag) [][2]string {
	var rows [][2]string
	for _, f := range flags {
		documented := f.(cli.DocGenerationFlag)
		name, meaning, value := "--"+f.Names()[0], documented.GetUsage(), ""
		if name == "--help" {
			meaning = "this help"
		}
		if before, rest, ok := strings.Cut(meaning, "`"); ok {
			word, after, _ := strings.Cut(rest, "`")
			value, meaning = word, before+word+after
			switch { // where the word says no more than the option itself
			case after == "" && strings.HasSuffix(before, ", "):
				meaning = strings.TrimSuffix(before, ", ")
			case before == "" && strings.HasPrefix(after, ", "):
				meaning = strings.TrimPrefix(after, ", ")
			}
		} else if documented.TakesValue() {
			value = "X"
		}
		if fallback := documented.GetValue(); fallback != "" && fallback != "0" { // "0" stands for none
			meaning += " (" + fallback + ")"
		}
		rows = append(rows, [2]string{strings.TrimSpace(name + " " + value), meaning})
	}
	return rows
}

// helpRows writes names and meanings in two columns.
func helpRows(b io.Writer, rows [][2]string) {
	const most = 28 // a longer name stands on a line of its own
	columns := 0
	for _, row := range rows {
		columns = min(max(columns, len(row[0])+4), most)
	}
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
