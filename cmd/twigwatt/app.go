package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/urfave/cli/v2"

	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
	"twigwatt/sim/plan"
)

// The exit codes.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2 // wrong use or a wrong scenario
	exitShort       = 3 // --strict, and there was shortfall
	exitInterrupted = 130
)

// usageError is a wrong use of the command line.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

func usagef(format string, args ...any) error { return usageError{fmt.Sprintf(format, args...)} }

// errShort is how --strict ends a year with shortfall.
var errShort = errors.New("there was shortfall (--strict)")

// defaultScenario is what a command takes where none is named.
const defaultScenario = "cabin"

// run is the whole program: results go to stdout, all else to stderr.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(ctx, endings()...)
	defer stop()
	// a reader that went away is a failed write, and no end in the middle of one
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE)
	done := make(chan int, 1)
	go func() {
		out := &remembering{Writer: stdout}
		app := newApp(out, stderr)
		args, err := optionsFirst(app, args)
		if err == nil {
			err = app.RunContext(ctx, append([]string{"twigwatt"}, args...))
		}
		if err == nil { // the help's writer keeps its failures to itself
			err = out.failed
		}
		done <- exitCode(err, stderr)
	}()
	select {
	case code := <-done:
		return code
	case <-ctx.Done():
	}
	const patience = 2 * time.Second
	select {
	case code := <-done:
		return code
	case <-time.After(patience): // it waits for a file that does not come, or is deep in one sum
		sweepUnfinished()
		return exitCode(ctx.Err(), stderr)
	}
}

// remembering is a writer that knows of the first write that failed.
type remembering struct {
	io.Writer
	failed error
}

func (w *remembering) Write(text []byte) (int, error) {
	n, err := w.Writer.Write(text)
	if err != nil && w.failed == nil {
		w.failed = err
	}
	return n, err
}

// endings are the signals that end the program in good order.
func endings() []os.Signal {
	all := []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGQUIT}
	if !signal.Ignored(syscall.SIGHUP) { // as under nohup
		all = append(all, syscall.SIGHUP)
	}
	return all
}

func exitCode(err error, stderr io.Writer) int {
	if err == nil {
		return exitDone
	}
	switch {
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "twigwatt: interrupted; nothing was left half written")
		return exitInterrupted
	case errors.Is(err, errShort):
		fmt.Fprintln(stderr, "twigwatt: "+err.Error())
		return exitShort
	case errors.As(err, new(fault.Faults)):
		fmt.Fprintln(stderr, err.Error())
		return exitUsage
	case errors.As(err, new(usageError)), errors.As(err, new(*plan.TooLargeError)):
		complain(stderr, err)
		return exitUsage
	}
	complain(stderr, err)
	return exitFailed
}

// complain writes an error, each of several that were joined on a line of its own.
func complain(stderr io.Writer, err error) {
	if all, ok := err.(interface{ Unwrap() []error }); ok {
		for _, err := range all.Unwrap() {
			complain(stderr, err)
		}
		return
	}
	fmt.Fprintln(stderr, "twigwatt: "+fault.Plain(err.Error()))
}

// The library has one printer of help for all programs.
func init() { cli.HelpPrinter = printHelp }

func newApp(stdout, stderr io.Writer) *cli.App {
	app := &cli.App{
		Name:      "twigwatt",
		Usage:     "electricity from your own wood: when to run, how much wood, how big a bank",
		UsageText: "twigwatt COMMAND [SCENARIO] [options]",
		Description: "Without SCENARIO a command takes the embedded example " + defaultScenario + ".\n" +
			"Start with: twigwatt year. Then: twigwatt new home.toml, change it, and\n" +
			"twigwatt year home.toml.",
		Version:        version(),
		Writer:         answers{stdout},
		ErrWriter:      stderr,
		ExitErrHandler: func(*cli.Context, error) {},
		Commands: []*cli.Command{yearCommand(), hoursCommand(), woodCommand(), bankCommand(), riskCommand(),
			dayCommand(), openCommand(), diaryCommand(), calcCommand(), checkCommand(), newCommand(), completionCommand()},
		Action: func(c *cli.Context) error {
			switch c.Args().First() {
			case "":
				return cli.ShowAppHelp(c)
			case "help":
				return helpOf(c)
			}
			return unknownWord("command", c.Args().First(), shown(c.App.Commands))
		},
		HideHelpCommand: true,
	}
	onUsage := func(c *cli.Context, err error, _ bool) error { return usageOf(c, err) }
	app.OnUsageError = onUsage
	for _, command := range app.Commands {
		for _, c := range append([]*cli.Command{command}, command.Subcommands...) {
			c.OnUsageError, c.Before, c.HideHelpCommand = onUsage, sound, true
		}
	}
	return app
}

// answers is where results go; its error says so.
type answers struct{ io.Writer }

func (a answers) Write(p []byte) (int, error) {
	n, err := a.Writer.Write(p)
	if err != nil {
		err = unwritable("standard output", err)
	}
	return n, err
}

func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version == "(devel)" {
		return "not released"
	} else if ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unknown"
}

// oneOf is the action of a command that does nothing without one of its subcommands.
func oneOf(kind string) cli.ActionFunc {
	return func(c *cli.Context) error {
		if word := c.Args().First(); word == "" || word == "help" {
			return cli.ShowSubcommandHelp(c)
		}
		return unknownWord(kind, c.Args().First(), shown(c.Command.Subcommands))
	}
}

func unknownWord(kind, word string, commands []*cli.Command) error {
	names := eachOf(commands, func(c *cli.Command) string { return c.Name })
	if near, ok := scenarios.Near(word, names); ok {
		return usagef("no such %s %q; did you mean %s?", kind, word, near)
	}
	return usagef("no such %s %q; there are %s", kind, word, strings.Join(names, ", "))
}

// eachOf makes something of each.
func eachOf[A, B any](all []A, of func(A) B) []B {
	made := make([]B, len(all))
	for i, x := range all {
		made[i] = of(x)
	}
	return made
}

// The options every command takes.
func jsonFlag() cli.Flag { return &cli.BoolFlag{Name: "json", Usage: "print the answers as JSON"} }

func setFlag() cli.Flag {
	return &cli.GenericFlag{Name: "set", Value: &assignments{}, Usage: "override a scenario key, as `KEY=VALUE` (repeatable)"}
}

// assignments are the values of --set; a comma in one is part of it.
type assignments struct{ all []string }

// Set adds one.
func (a *assignments) Set(text string) error {
	a.all = append(a.all, text)
	return nil
}

// String writes them.
func (a *assignments) String() string { return strings.Join(a.all, " ") }

// assigned are the values of an option that may be given more than once.
func assigned(c *cli.Context, option string) []string {
	if given, ok := c.Generic(option).(*assignments); ok {
		return given.all
	}
	return nil
}

// wordsOf returns a command's words, refusing more than it takes.
func wordsOf(c *cli.Context, most int) ([]string, error) {
	all := c.Args().Slice()
	if len(all) > most {
		return nil, usagef("%s takes one file, got %d: %s", c.Command.Name, len(all), strings.Join(all, " "))
	}
	return all, nil
}

// readScenario reads the scenario a command names, with its --set and more.
func readScenario(c *cli.Context, more ...string) (*scenarios.Scenario, error) {
	all, err := wordsOf(c, 1)
	if err != nil {
		return nil, err
	}
	name := defaultScenario
	if len(all) == 1 {
		name = all[0]
	}
	return readNamed(c, name, more...)
}

// today tells scenarios the date.
func today() scenarios.Option { return scenarios.Today(dateOf(time.Now())) }

// standardTime is a moment by the standard time of its zone, which all times of the program are:
// in summer an hour, mostly, behind the clock on the wall.
func standardTime(t time.Time) time.Time {
	offset := func(month time.Month) int {
		_, seconds := time.Date(t.Year(), month, 1, 12, 0, 0, 0, t.Location()).Zone()
		return seconds
	}
	return t.In(time.FixedZone("", min(offset(time.January), offset(time.July))))
}

func dateOf(t time.Time) calendar.Date { return calendar.NewDate(t.Date()) }

// readNamed reads a scenario with a command's --set and more.
func readNamed(c *cli.Context, name string, more ...string) (*scenarios.Scenario, error) {
	options := []scenarios.Option{today()}
	for _, assignment := range slices.Concat(assigned(c, "set"), more) {
		options = append(options, scenarios.Set(assignment))
	}
	s, err := scenarios.Read(name, openFile, options...)
	if errors.Is(err, os.ErrNotExist) || err != nil && !errors.As(err, new(fault.Faults)) {
		return nil, usageError{err.Error()}
	}
	return s, err
}
