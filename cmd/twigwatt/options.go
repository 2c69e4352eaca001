package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/scenarios"
	"twigwatt/sim/study"
)

// ranges are what options that count or measure may hold, wherever they stand; none: the most is
// nothing in particular.
var ranges = map[string]struct{ least, most float64 }{
	"every": {0.25, study.MostLimitH}, "short-days": {0, none}, "lives": {1, 1000}, "jobs": {0, none}, "years": {1, 10_000},
	"engine-out": {0, 7}, "days": {1, 7}, "full-days-ago": {0, 3660}, "soc": {0, 100}, "hours-today": {0, 24},
	"hours-so-far": {0, 1e6}, "crate-as-is-kg": {0.5, 1000},
}

const none = math.MaxFloat64

// sound refuses an option that is given and holds nothing, or a number out of its range.
func sound(c *cli.Context) error {
	for _, f := range c.Command.Flags {
		name := f.Names()[0]
		if !c.IsSet(name) {
			continue
		}
		x, got := 0.0, ""
		switch f.(type) {
		case *cli.StringFlag:
			if name != "note" && c.String(name) == "" {
				return usagef("--%s needs a value", name)
			}
			continue
		case *cli.IntFlag:
			x, got = float64(c.Int(name)), strconv.Itoa(c.Int(name))
		case *cli.Float64Flag:
			x, got = c.Float64(name), numeral(c.Float64(name))
		}
		if in, ok := ranges[name]; ok && !(x >= in.least && x <= in.most) {
			if in.most == none {
				return usagef("--%s must be %g or more, got %s", name, in.least, got)
			}
			return usagef("--%s must be %s to %s, got %s", name, numeral(in.least), numeral(in.most), got)
		}
	}
	return nil
}

// usageOf turns the library's complaint about options into one of ours.
func usageOf(c *cli.Context, err error) error {
	text := err.Error()
	word, found := strings.CutPrefix(text, "flag provided but not defined: ")
	if !found {
		return usagef("%s", plainUsage(text))
	}
	var names []string
	flags := c.App.Flags
	if c.Command != nil {
		flags = c.Command.Flags
	}
	for _, f := range flags {
		names = append(names, f.Names()...)
	}
	name := strings.TrimLeft(word, "-")
	if near, ok := scenarios.Near(name, names); ok {
		return usagef("no such option --%s; did you mean --%s?", name, near)
	}
	if c.Command == nil || c.Command.Name == c.App.Name {
		return usagef("no such option --%s; a command comes first: see twigwatt --help", name)
	}
	return usagef("no such option --%s; see %s --help", name, c.Command.HelpName)
}

// plainUsage words the library's complaints about a value.
func plainUsage(text string) string {
	var value, flag string
	if n, _ := fmt.Sscanf(text, "invalid value %q for flag -%s", &value, &flag); n == 2 {
		return fmt.Sprintf("--%s must be a number, whole where it counts, got %q", strings.TrimSuffix(flag, ":"), value)
	}
	if n, _ := fmt.Sscanf(text, "invalid boolean value %q for -%s", &value, &flag); n == 2 {
		return fmt.Sprintf("--%s takes no value, got %q", strings.TrimSuffix(flag, ":"), value)
	}
	if flag, ok := strings.CutPrefix(text, "flag needs an argument: -"); ok {
		return "--" + strings.TrimPrefix(flag, "-") + " needs a value"
	}
	return text
}

// optionsFirst moves a command's options before its words, since the library
// stops reading options at the first word. After -- all are words. An option that
// lacks its value, or is given twice and counts once, is an error.
func optionsFirst(app *cli.App, args []string) ([]string, error) {
	at := slices.IndexFunc(args, func(arg string) bool { return !strings.HasPrefix(arg, "-") })
	if at < 0 {
		return args, nil
	}
	command := named(app.Commands, args[at])
	if command == nil {
		return args, nil
	}
	if at+1 < len(args) {
		if sub := named(command.Subcommands, args[at+1]); sub != nil {
			command, at = sub, at+1
		} else if len(command.Subcommands) > 0 && !strings.HasPrefix(args[at+1], "-") {
			return args[:at+2], nil // a word that is no sum: its options are no matter
		}
	}
	var options, words []string
	given := map[string]bool{}
	head, rest := args[:at+1], args[at+1:]
	if sub := slices.IndexFunc(head, func(arg string) bool { return !strings.HasPrefix(arg, "-") }); sub > 0 && !isOfApp(args[0]) {
		head, rest = head[sub:], slices.Concat(args[:sub], rest) // options before the command
	}
	for i := 0; i < len(rest); i++ {
		arg := rest[i]
		if arg == "--" {
			words = append(words, rest[i+1:]...)
			break
		}
		if len(arg) < 2 || arg[0] != '-' {
			words = append(words, arg)
			continue
		}
		name, _, _ := strings.Cut(strings.TrimLeft(arg, "-"), "=")
		if name == "h" || name == "help" {
			return append(slices.Clone(head), arg), nil
		}
		if given[name] && takesValue(command, "--"+name) && !slices.Contains(repeatable, name) {
			return nil, usagef("--%s is given twice", name)
		}
		given[name] = true
		options = append(options, arg)
		if takesValue(command, arg) {
			if i++; i == len(rest) || isOption(command, rest[i]) {
				return nil, usagef("--%s needs a value", name)
			}
			options = append(options, rest[i])
		}
	}
	if len(words) > 0 {
		words = append([]string{"--"}, words...)
	}
	return slices.Concat(head, options, words), nil
}

// isOption reports a word that is one of a command's options, and so no value.
func isOption(command *cli.Command, word string) bool {
	name, _, _ := strings.Cut(strings.TrimPrefix(word, "--"), "=")
	return strings.HasPrefix(word, "--") && flagOf(command, name) != nil
}

// repeatable are the options that may be given more than once.
var repeatable = []string{"set", "chores-done"}

// isOfApp reports an option that is the program's, not a command's.
func isOfApp(arg string) bool {
	return slices.Contains([]string{"--help", "-h", "--version", "-v"}, arg)
}

func named(commands []*cli.Command, name string) *cli.Command {
	for _, c := range commands {
		if c.HasName(name) {
			return c
		}
	}
	return nil
}

// takesValue reports whether an option written without = takes the next word.
func takesValue(command *cli.Command, arg string) bool {
	if strings.Contains(arg, "=") {
		return false
	}
	f := flagOf(command, strings.TrimLeft(arg, "-"))
	return f != nil && f.(cli.DocGenerationFlag).TakesValue()
}

// flagOf is a command's option of a name, nil where there is none.
func flagOf(command *cli.Command, name string) cli.Flag {
	for _, f := range command.Flags {
		if slices.Contains(f.Names(), name) {
			return f
		}
	}
	return nil
}
