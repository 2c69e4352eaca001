package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim/handbook"
	"twigwatt/storage/battery"
)

// cautionOf is the caution that a hazard of a sum calls for.
var cautionOf = map[handbook.Hazard]string{
	handbook.Gas: report.GasCaution, handbook.Hopper: report.HopperCaution, handbook.Ash: report.AshCaution,
	handbook.Wood: report.WoodCaution, handbook.Bank: report.BankCaution, handbook.Wiring: report.WiringCaution,
	handbook.HotWater: report.WarmthCaution.Full, handbook.Petrol: report.PetrolCaution.Full}

func calcCommand() *cli.Command {
	command := &cli.Command{
		Name:        "calc",
		Usage:       "the handbook sums the model is made of, one at a time",
		ArgsUsage:   "SUM",
		Description: "twigwatt calc SUM --help shows what a sum takes, with defaults and ranges.",
		Action:      oneOf("sum"),
	}
	for _, s := range handbook.Sums() {
		flags, file := []cli.Flag{jsonFlag()}, " "
		for _, in := range s.Inputs() {
			flags = append(flags, &cli.StringFlag{Name: in.Name, Usage: inputUsage(in)})
		}
		if s.File != "" {
			file = "FILE (" + s.File + ")"
		}
		command.Subcommands = append(command.Subcommands, &cli.Command{Name: s.Name, Usage: s.Usage, Flags: flags,
			ArgsUsage: file, Action: func(c *cli.Context) error { return runSum(c, s) }})
	}
	return command
}

// inputUsage shows fallback and range, as --help prints them.
func inputUsage(in handbook.Input) string {
	limits := strings.Trim(in.Fallback+"; "+in.Allowed, "; ")
	switch {
	case limits == "":
		return in.Meaning
	case in.Fallback == "":
		return in.Meaning + " (" + limits + ")"
	}
	return in.Meaning + " [" + limits + "]"
}

func runSum(c *cli.Context, s handbook.Sum) error {
	if s.File == "" && c.NArg() > 0 {
		return usagef("calc %s takes options only, got %s", s.Name, strings.Join(c.Args().Slice(), " "))
	}
	if s.File != "" && c.NArg() != 1 {
		return usagef("calc %s takes a file of %s", s.Name, s.File)
	}
	results, err := s.Answer(c.String, handbook.File{Name: c.Args().First(), Text: readText})
	if faults := (handbook.Faults)(nil); errors.As(err, &faults) {
		return errors.Join(eachOf(faults, func(fault string) error { return usageError{fault} })...)
	}
	if err != nil {
		return usagef("calc %s: %s", s.Name, err)
	}
	return writeSum(c, s, results)
}

// readText reads a file of a sum.
func readText(name string) ([]byte, error) {
	f, err := openFile(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	const mostBytes = 16 << 20
	text, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	switch {
	case err != nil:
		return nil, unreadable(name, err)
	case len(text) > mostBytes:
		return nil, fmt.Errorf("%s: must be smaller than 16 MB", name)
	}
	return text, nil
}

func writeSum(c *cli.Context, s handbook.Sum, results []handbook.Result) error {
	doc, texts := report.Pairs{{Key: "format", Value: 1}}, []string{}
	for _, r := range results {
		text, value := figures(r)
		doc, texts = append(doc, report.Pair{Key: r.Key, Value: value}), append(texts, text)
	}
	cautions := eachOf(s.Hazards, func(h handbook.Hazard) string { return cautionOf[h] })
	if c.Bool("json") {
		return report.WriteJSON(c.App.Writer, append(doc, report.Pair{Key: "source", Value: s.Source},
			report.Pair{Key: "cautions", Value: cautions}))
	}
	t := &report.Terminal{}
	t.Line("%s", strings.Join(texts, ", "))
	t.Line("Source: %s.", s.Source)
	for _, caution := range cautions {
		t.Line("Take care: %s", caution)
	}
	_, err := io.WriteString(c.App.Writer, t.String())
	return err
}

// figures is a result as text and for the JSON output.
func figures(r handbook.Result) (text string, value any) {
	number := func(x float64) string { return report.Number(x, r.Decimals) }
	value = r.Value
	switch x := r.Value.(type) {
	case nil:
		return r.Label + ": none", nil
	case float64:
		text = number(x)
	case string:
		text = x
	case handbook.Range:
		text = number(x.Low) + " to " + number(x.High)
		value = report.Pairs{{Key: "low", Value: x.Low}, {Key: "high", Value: x.High}}
	case []battery.Cycle:
		each, list := []string{}, []report.Pairs{}
		for _, c := range x {
			each = append(each, report.Number(c.Count, 1)+" of "+number(c.Range)+" around "+number(c.Mean))
			list = append(list, report.Pairs{{Key: "range", Value: c.Range}, {Key: "mean", Value: c.Mean},
				{Key: "count", Value: c.Count}})
		}
		text, value = cmp.Or(strings.Join(each, "; "), "0"), list
	}
	return strings.TrimSpace(r.Label + " " + text + " " + r.Unit), value
}

// numeral writes a number that was given, also one that is none.
func numeral(x float64) string {
	if math.IsInf(x, 0) {
		return "infinity"
	}
	return fmt.Sprint(x)
}
