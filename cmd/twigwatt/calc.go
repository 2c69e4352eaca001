package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
)

// A sum is one of the handbook sums the model is made of.
type sum struct {
	name, usage string
	source      string // of the formula
	inputs      []input
	cautions    []int  // which of the report's cautions touch it
	file        string // what a file it takes holds; "": none
	work        func(in given) ([]result, error)
}

// An input is a flag of a sum: a number with a range, or one of some words.
type input struct {
	name, meaning string
	fallback      string // "" : none
	least, most   float64
	words         []string // "": any text; nil: a number
}

// number is a number from least to most without a fallback.
func number(name, meaning string, least, most float64) input {
	return input{name: name, meaning: meaning, least: least, most: most}
}

// or gives an input a fallback.
func (i input) or(fallback string) input {
	i.fallback = fallback
	return i
}

// text is one of some words, or any text where there are none.
func text(name, meaning string, words ...string) input {
	if words == nil {
		words = []string{""}
	}
	return input{name: name, meaning: meaning, words: words}
}

// usage shows fallback and range, as --help prints them.
func (i input) usage() string {
	allowed := strings.Join(i.words, ", ")
	if i.words == nil {
		allowed = i.allowed()
	}
	switch {
	case i.fallback != "" && allowed != "":
		return fmt.Sprintf("%s [%s; %s]", i.meaning, i.fallback, allowed)
	case i.fallback != "":
		return fmt.Sprintf("%s [%s]", i.meaning, i.fallback)
	case allowed != "":
		return fmt.Sprintf("%s (%s)", i.meaning, allowed)
	}
	return i.meaning
}

func (i input) allowed() string { return plain(i.least) + " to " + plain(i.most) }

// plain writes a number without an exponent.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// numeral writes a number that was given, also one that is none.
func numeral(x float64) string {
	if math.IsInf(x, 0) {
		return "infinity"
	}
	return fmt.Sprint(x)
}

// given is what the flags of a sum hold.
type given struct {
	numbers map[string]float64
	words   map[string]string
	file    string
}

func (g given) has(name string) bool {
	_, number := g.numbers[name]
	_, word := g.words[name]
	return number || word
}

// only returns the one of some inputs that is given.
func (g given) only(names ...string) (string, error) {
	found := ""
	for _, name := range names {
		if !g.has(name) {
			continue
		}
		if found != "" {
			return "", usagef("give --%s or --%s, not both", found, name)
		}
		found = name
	}
	if found == "" {
		return "", usagef("needs one of --%s", strings.Join(names, ", --"))
	}
	return found, nil
}

// need reports inputs that are missing.
func (g given) need(names ...string) error {
	var missing []string
	for _, name := range names {
		if !g.has(name) {
			missing = append(missing, "--"+name)
		}
	}
	if missing == nil {
		return nil
	}
	return usagef("needs %s", strings.Join(missing, ", "))
}

// A result is a figure of a sum: NaN where there is none, or a text; a range
// where high is set.
type result struct {
	key, label, unit string
	decimals         int
	value, high      float64
	isRange          bool
	text             string // instead of a number
	none             bool
	list             []any // of the JSON output, where text stands for it
}

func figure(key, label, unit string, decimals int, value float64) result {
	return result{key: key, label: label, unit: unit, decimals: decimals, value: value}
}

func word(key, label, value string) result {
	return result{key: key, label: label, text: value, none: value == ""}
}

func (r result) String() string {
	switch {
	case r.none:
		return r.label + ": none"
	case r.text != "":
		return r.label + " " + r.text
	case r.isRange:
		return fmt.Sprintf("%s %s to %s %s", r.label, report.Number(r.value, r.decimals), report.Number(r.high, r.decimals), r.unit)
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s %s", r.label, report.Number(r.value, r.decimals), r.unit))
}

// json returns the figure for the JSON output.
func (r result) json() any {
	switch {
	case r.none:
		return nil
	case r.list != nil:
		return r.list
	case r.text != "":
		return r.text
	case r.isRange:
		return report.Pairs{{Key: "low", Value: r.value}, {Key: "high", Value: r.high}}
	}
	return r.value
}

func calcCommand() *cli.Command {
	command := &cli.Command{
		Name:        "calc",
		Usage:       "the handbook sums the model is made of, one at a time",
		ArgsUsage:   "SUM",
		Description: "twigwatt calc SUM --help shows what a sum takes, with defaults and ranges.",
		Action:      oneOf("sum"),
	}
	for _, s := range sums() {
		command.Subcommands = append(command.Subcommands, s.command())
	}
	return command
}

func (s sum) command() *cli.Command {
	flags := []cli.Flag{jsonFlag()}
	for _, in := range s.inputs {
		flags = append(flags, &cli.StringFlag{Name: in.name, Usage: in.usage()})
	}
	return &cli.Command{Name: s.name, Usage: s.usage, Flags: flags, HideHelpCommand: true, Action: s.run,
		ArgsUsage: argsUsage(s.file)}
}

func argsUsage(file string) string {
	if file == "" {
		return " "
	}
	return "FILE (" + file + ")"
}

func (s sum) run(c *cli.Context) error {
	if s.file == "" && c.NArg() > 0 {
		return usagef("calc %s takes options only, got %s", s.name, strings.Join(c.Args().Slice(), " "))
	}
	if s.file != "" && c.NArg() != 1 {
		return usagef("calc %s takes a file of %s", s.name, s.file)
	}
	in, err := s.read(c)
	if err != nil {
		return err
	}
	in.file = c.Args().First()
	results, err := s.work(in)
	if err != nil {
		return fmt.Errorf("calc %s: %w", s.name, err)
	}
	if c.Bool("json") {
		return s.writeJSON(c.App.Writer, results)
	}
	return s.writeText(c.App.Writer, results)
}

// read takes the flags, each within its range.
func (s sum) read(c *cli.Context) (given, error) {
	g := given{numbers: map[string]float64{}, words: map[string]string{}}
	var errs []error
	for _, in := range s.inputs {
		raw := in.fallback
		if c.IsSet(in.name) {
			raw = c.String(in.name)
		}
		if raw == "" {
			continue
		}
		if in.words != nil {
			if err := in.checkWord(raw); err != nil {
				errs = append(errs, err)
			}
			g.words[in.name] = raw
			continue
		}
		x, ok := finite(raw)
		if !ok || !(x >= in.least && x <= in.most) {
			hint := ""
			if strings.Contains(raw, ",") {
				hint = "; a decimal takes a point (3.5)"
			}
			if !ok {
				errs = append(errs, usagef("--%s must be a number, %s, got %.60q%s", in.name, in.allowed(), raw, hint))
			} else {
				errs = append(errs, usagef("--%s must be %s, got %s", in.name, in.allowed(), raw))
			}
		}
		g.numbers[in.name] = x
	}
	return g, errors.Join(errs...)
}

func (i input) checkWord(raw string) error {
	for _, w := range i.words {
		if w == raw || w == "" {
			return nil
		}
	}
	return usagef("--%s must be one of %s, got %.60q", i.name, strings.Join(i.words, ", "), raw)
}

func (s sum) writeText(w io.Writer, results []result) error {
	parts := make([]string, len(results))
	for i, r := range results {
		parts[i] = r.String()
	}
	var b strings.Builder
	fmt.Fprintln(&b, report.Wrap(strings.Join(parts, ", "), report.Width, "  "))
	fmt.Fprintln(&b, report.Wrap("Source: "+s.source+".", report.Width, "  "))
	for _, i := range s.cautions {
		fmt.Fprintln(&b, report.Wrap("Take care: "+report.Cautions[i], report.Width, "  "))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (s sum) writeJSON(w io.Writer, results []result) error {
	doc := report.Pairs{{Key: "format", Value: 1}}
	for _, r := range results {
		doc = append(doc, report.Pair{Key: r.key, Value: r.json()})
	}
	cautions := []string{}
	for _, i := range s.cautions {
		cautions = append(cautions, report.Cautions[i])
	}
	doc = append(doc, report.Pair{Key: "source", Value: s.source}, report.Pair{Key: "cautions", Value: cautions})
	return report.WriteJSON(w, doc)
}

// Which cautions touch a sum.
const (
	cautionGas  = 0
	cautionHop  = 1 // flare, hopper
	cautionAsh  = 2
	cautionWood = 3
	cautionBank = 4
	cautionWire = 5
)

// sums lists all, in the order of the manual.
func sums() []sum { return slices.Concat(woodSums(), gasSums(), bankSums()) }
