package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/diary"
	"twigwatt/sim/fault"
	"twigwatt/sim/plan"
)

func diaryCommand() *cli.Command {
	page := &cli.StringFlag{Name: "report", Usage: "write a page to `FILE`"}
	return &cli.Command{
		Name:        "diary",
		Usage:       "the household's own log of runs: add to it, check it, fit the scenario to it",
		ArgsUsage:   "add, check or fit",
		Description: "A diary is CSV, a row a run: " + strings.Join(diary.Columns(), ",") + ".",
		Action:      oneOf("diary command"),
		Subcommands: []*cli.Command{
			{Name: "add", Usage: "add a run to a diary", ArgsUsage: "FILE", Action: diaryAdd, Flags: []cli.Flag{jsonFlag(),
				&cli.StringFlag{Name: "date", Usage: "`DATE`, by default today"},
				&cli.StringFlag{Name: "start", Usage: "`TIME` of the match, like 16:30"},
				&cli.StringFlag{Name: "stop", Usage: "`TIME` of the stop, like 21:00"},
				&cli.Float64Flag{Name: "wood-as-is-kg", Usage: "wood burned, as weighed, `KG`"},
				&cli.Float64Flag{Name: "kwh", Usage: "made by the set, `KWH`"},
				&cli.Float64Flag{Name: "soc-start-pct", Usage: "charge at the match, `PERCENT`"},
				&cli.Float64Flag{Name: "soc-end-pct", Usage: "charge at the stop, `PERCENT`"},
				&cli.Float64Flag{Name: "moisture-pct",
					Usage: "of the wood, wet basis, `PERCENT`; without: that of the scenario's ready wood"},
				&cli.StringFlag{Name: "note", Usage: "a `WORD` or more"}}},
			{Name: "check", Usage: "compare a diary with what the scenario expects", ArgsUsage: "FILE [SCENARIO]",
				Action: diaryCheck, Flags: []cli.Flag{jsonFlag(), setFlag(), page}},
			{Name: "fit", Usage: "fit the scenario's figures to a diary", ArgsUsage: "FILE [SCENARIO]", Action: diaryFit,
				Flags: []cli.Flag{jsonFlag(), setFlag(), page,
					&cli.StringFlag{Name: "out", Usage: "write a scenario with the fitted figures to `FILE`"}}},
		},
	}
}

// diaryAdd adds a run: the whole file is written anew beside the old one, and then
// takes its name.
func diaryAdd(c *cli.Context) error {
	if c.NArg() != 1 {
		return usagef("diary add takes the name of a diary, like runs.csv")
	}
	row, err := rowOf(c)
	if err != nil {
		return err
	}
	name := c.Args().First()
	if info, err := os.Lstat(name); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s: cannot be written: it is no plain file", name)
	}
	unlock, err := lock(c.Context, name)
	if err != nil {
		return err
	}
	defer func() { unlock() }()
	old, err := os.ReadFile(name)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return unreadable(name, err)
	}
	text, err := diary.Append(old, row)
	if err != nil {
		return aboutFile(name, err)
	}
	rows, err := diary.Read(name, bytes.NewReader(text))
	if err != nil {
		return err
	}
	if err := writeText(name, overOlder, text); err != nil {
		return err
	}
	unlock() // the row stands, whether or not somebody reads of it
	unlock = func() {}
	return printReport(c, &report.Report{Text: func(t *report.Terminal) {
		fmt.Fprintf(t, "%s: added %s, run %d\n", name, row.String(), len(rows))
	}, JSON: func() report.Pairs {
		return report.Pairs{{Key: "diary", Value: name}, {Key: "rows", Value: len(rows)}, {Key: "added", Value: row.String()}}
	}})
}

// aboutFile puts a file's name before each line of an error about it.
func aboutFile(name string, err error) error {
	var faults fault.Faults
	if errors.As(err, &faults) {
		for i := range faults {
			faults[i].File = name
		}
		return faults
	}
	if all, ok := err.(interface{ Unwrap() []error }); ok {
		var told []error
		for _, err := range all.Unwrap() {
			told = append(told, aboutFile(name, err))
		}
		return errors.Join(told...)
	}
	return usagef("%s: %s", name, err)
}

// rowOf reads a run from the options, and reports all that is wrong with them at once.
func rowOf(c *cli.Context) (diary.Row, error) {
	latest := dateOf(time.Now())
	r := diary.Row{Date: latest, Note: c.String("note")}
	var errs []error
	wrong := func(format string, a ...any) { errs = append(errs, usagef(format, a...)) }
	var err error
	if c.IsSet("date") {
		if r.Date, err = calendar.ParseDate(c.String("date")); err != nil {
			wrong("--date must be a date like 2025-01-31, got %.60q", c.String("date"))
		} else if r.Date > latest {
			wrong("--date must be today (%s) or before, got %s", latest, r.Date)
		}
	}
	clock := func(option string) int {
		minute, err := calendar.ParseClock(c.String(option))
		if err != nil {
			wrong("--%s must be a time like 16:30, got %.60q", option, c.String(option))
		}
		return minute
	}
	number := func(option string) float64 {
		x := c.Float64(option)
		if !c.IsSet(option) {
			return diary.NotNoted()
		}
		if !diary.Noted(x) || math.IsInf(x, 0) {
			wrong("--%s must be a number, got %s", option, numeral(x))
		}
		return x
	}
	r.StartMinute, r.StopMinute = clock("start"), clock("stop")
	r.WoodAsIsKg, r.KWh = number("wood-as-is-kg"), number("kwh")
	r.SocStartPct, r.SocEndPct, r.MoisturePct = number("soc-start-pct"), number("soc-end-pct"), number("moisture-pct")
	return r, errors.Join(errs...)
}

// readDiary reads the diary and the scenario that a command names.
func readDiary(c *cli.Context) ([]diary.Row, *scenarios.Scenario, error) {
	all := c.Args().Slice()
	if len(all) < 1 || len(all) > 2 {
		return nil, nil, usagef("diary %s takes a diary and a scenario, like: twigwatt diary %s runs.csv home.toml",
			c.Command.Name, c.Command.Name)
	}
	name, scenario := all[0], defaultScenario
	if len(all) == 2 {
		scenario = all[1]
	}
	rows, err := readRuns(name)
	if err != nil {
		return nil, nil, err
	}
	s, err := readNamed(c, scenario)
	return rows, s, err
}

// readRuns reads a diary.
func readRuns(name string) ([]diary.Row, error) {
	f, err := openDiary(name)
	if err != nil {
		return nil, usageError{err.Error()}
	}
	defer f.Close()
	return diary.Read(name, f)
}

// openDiary opens a diary, or an embedded one of that name.
func openDiary(name string) (io.ReadCloser, error) {
	f, err := openFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		if example, ok := scenarios.OpenExample(name); ok {
			return example, nil
		}
	}
	return f, err
}

// A diaryQuestion is what a command asks of a diary.
type diaryQuestion int

const (
	asksComparison diaryQuestion = iota
	asksFit
)

// diaryOf answers a question; a page shows both answers. The scenario's year is planned
// for the comparison alone.
func diaryOf(c *cli.Context, asked diaryQuestion) (*report.Diary, *scenarios.Scenario, error) {
	if err := pageIsFree(c); err != nil {
		return nil, nil, err
	}
	rows, s, err := readDiary(c)
	if err != nil {
		return nil, nil, err
	}
	d := &report.Diary{Name: c.Args().First(), Scenario: s.Name, Rows: rows, PlanText: s.Rule.Text(s.Span)}
	if asked == asksComparison || c.IsSet("report") {
		chooser, _, err := s.Rule.Rationing(c.Context, s.Household, plan.Beginning{})
		if err != nil {
			return nil, nil, err
		}
		books, err := sim.Run(c.Context, s.Household, chooser, nil)
		if err != nil {
			return nil, nil, err
		}
		d.Comparison = diary.Compare(rows, s.Household, books)
		d.Warnings = slices.Concat(s.Warnings, d.Comparison.Warnings)
	}
	if asked == asksFit || c.IsSet("report") {
		d.Fit = diary.NewFit(rows, s.Household)
		d.Settings = d.Fit.Settings(diary.Terms{DryShareWeighed: s.DryShareWeighed, LoadScale: s.LoadScale})
		d.Warnings = slices.Concat(s.Warnings, d.Fit.Warnings)
	}
	return d, s, nil
}

func diaryCheck(c *cli.Context) error {
	d, s, err := diaryOf(c, asksComparison)
	if err != nil {
		return err
	}
	return write(c, s, report.DiaryCheck(d))
}

func diaryFit(c *cli.Context) error {
	if c.IsSet("out") {
		if err := isFree(c.String("out")); err != nil {
			return err
		}
	}
	if err := differ("out", c.String("out"), "report", c.String("report")); err != nil {
		return err
	}
	d, s, err := diaryOf(c, asksFit)
	if err != nil {
		return err
	}
	var out *wholeFile
	var failed error
	if c.IsSet("out") {
		out, failed = fittedScenario(c, d, s)
		if wrongUse := (usageError{}); errors.As(failed, &wrongUse) {
			return failed
		}
		defer out.Discard()
	}
	err = errors.Join(write(c, s, report.DiaryFit(d)), failed) // the answers stand, whatever becomes of the file
	if out != nil {                                            // and it is written whether or not the rest was
		err = errors.Join(err, wrote(c, c.String("out"), out.Commit(neverOver)))
	}
	return err
}

// fittedScenario writes the scenario with the fitted figures beside where it shall
// stand, once it reads without a fault.
func fittedScenario(c *cli.Context, d *report.Diary, s *scenarios.Scenario) (*wholeFile, error) {
	name := c.String("out")
	if len(assigned(c, "set")) > 0 {
		return nil, usagef("--out writes the scenario's file and knows no --set: write those values into it first")
	}
	if len(d.Settings) == 0 {
		return nil, usagef("--out: the diary tells no figure, and there is nothing to write")
	}
	lines := eachOf(d.Settings, func(of diary.FittedSetting) scenarios.Line { return scenarios.Line(report.FittedLine(of)) })
	text, err := scenarios.Edited(s.Text, lines)
	if err == nil {
		_, err = scenarios.Read(name, func(file string) (io.ReadCloser, error) {
			if file == name {
				return io.NopCloser(strings.NewReader(text)), nil
			}
			return openFile(file)
		}, today())
	}
	if err != nil {
		return nil, fmt.Errorf("%s: the fitted figures cannot be written into the scenario; paste the lines by hand: %w", name, err)
	}
	f, err := createWhole(name)
	if err != nil {
		return nil, err
	}
	if _, err := io.WriteString(f, text); err != nil {
		f.Discard()
		return nil, unwritable(name, err)
	}
	return f, nil
}
