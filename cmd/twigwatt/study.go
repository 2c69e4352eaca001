package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strconv"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
)

// A question is what a command asks of a scenario; it calls passed as parts of its work are done.
type question func(c *cli.Context, s *scenarios.Scenario, passed func(done, of int)) (*report.Report, error)

// studyCommand is a command that asks a question of a scenario and writes the answer and its
// page. Where it works through several of something, --jobs says on how many cores.
func studyCommand(name, usage, several string, ask question, page string, flags ...cli.Flag) *cli.Command {
	all := []cli.Flag{jsonFlag(), setFlag()}
	if several != "" {
		all = append(all, &cli.IntFlag{Name: "jobs", Usage: "work on at most `N` cores; 0: on all there are"})
	}
	all = append(append(all, flags...), &cli.StringFlag{Name: "report", Usage: page})
	return &cli.Command{Name: name, Usage: usage, ArgsUsage: "[SCENARIO]", Flags: all, Action: func(c *cli.Context) error {
		s, err := readForStudy(c)
		if err != nil {
			return err
		}
		r, err := atWork(c, s, ask, several)
		if err != nil {
			return err
		}
		return write(c, s, r)
	}}
}

// readForStudy reads the scenario a study is asked of, once --report names no file but a page.
func readForStudy(c *cli.Context) (*scenarios.Scenario, error) {
	if err := pageIsFree(c); err != nil {
		return nil, err
	}
	return readScenario(c)
}

func pageIsFree(c *cli.Context) error {
	if !c.IsSet("report") {
		return nil
	}
	return replaceable(c.String("report"), pageBegins, "page of this program")
}

// atWork asks on the cores that --jobs allows. On a terminal one line says how far the work has
// come, at most ten times a second.
func atWork(c *cli.Context, s *scenarios.Scenario, ask question, several string) (*report.Report, error) {
	cores := runtime.GOMAXPROCS(0)
	if jobs := c.Int("jobs"); jobs > 0 {
		runtime.GOMAXPROCS(min(jobs, cores))
	}
	defer runtime.GOMAXPROCS(cores)
	const clear, between = "\r\x1b[K", 100 * time.Millisecond
	shows, last := isTerminal(c.App.ErrWriter), time.Time{}
	defer func() {
		if !last.IsZero() {
			fmt.Fprint(c.App.ErrWriter, clear)
		}
	}()
	told, tells := c.Context.Value(progress{}).(func(done, of int))
	return ask(c, s, func(done, of int) {
		if tells {
			told(done, of)
		}
		if shows && time.Since(last) >= between {
			last = time.Now()
			fmt.Fprintf(c.App.ErrWriter, clear+"%d of %d %s", done, of, several)
		}
	})
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok || os.Getenv("TERM") == "dumb" {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// write prints an answer, and writes its page where --report asks.
func write(c *cli.Context, s *scenarios.Scenario, r *report.Report) error {
	err := printReport(c, r)
	if c.IsSet("report") { // whether or not somebody still reads the answers
		err = errors.Join(err, writeReport(c, s, r))
	}
	return err
}

// printReport prints an answer as text or JSON.
func printReport(c *cli.Context, r *report.Report) error {
	if c.Bool("json") {
		return r.WriteJSON(c.App.Writer)
	}
	return r.WriteText(c.App.Writer)
}

// writeReport writes a page where --report says.
func writeReport(c *cli.Context, s *scenarios.Scenario, r *report.Report) error {
	name := c.String("report")
	if err := replaceable(name, pageBegins, "page of this program"); err != nil {
		return err
	}
	err := writeWhole(name, overOlder, func(w io.Writer) error { return r.WritePage(w, basisOf(c, s)) })
	return wrote(c, name, err)
}

func hoursCommand() *cli.Command {
	return studyCommand("hours", "how many hours a day? A span for each limit, and the wall card", "limits", hours,
		"write the wall card as a page to `FILE`",
		&cli.Float64Flag{Name: "every", Value: 1, Usage: "limits every so many `HOURS` from 0 to 12"},
		&cli.IntFlag{Name: "short-days", Usage: "`DAYS` of the span that may be short"}, livesFlag())
}

func livesFlag() cli.Flag {
	return &cli.IntFlag{Name: "lives", Value: study.UsualLives, Usage: "count short days in `N` lives whose days differ, 1 to 1000"}
}

func hours(c *cli.Context, s *scenarios.Scenario, passed func(done, of int)) (*report.Report, error) {
	answer, err := study.Hours(c.Context, s.Household, s.Rule, study.HoursOptions{EveryH: c.Float64("every"),
		ShortDays: c.Int("short-days"), Lives: c.Int("lives"), Passed: passed})
	if err != nil {
		return nil, err
	}
	return report.Hours(answer), nil
}

func woodCommand() *cli.Command {
	return studyCommand("wood", "the span's wood: what is needed, what is ready, what to cut and when", "", wood,
		"write the page to `FILE`")
}

func wood(c *cli.Context, s *scenarios.Scenario, _ func(done, of int)) (*report.Report, error) {
	answer, err := study.Wood(c.Context, s.Household, s.Rule)
	if err != nil {
		return nil, err
	}
	return report.Wood(answer), nil
}

func riskCommand() *cli.Command {
	return studyCommand("risk", "how bad can it get? Spans of luck: loads, wood, light-ups, repairs", "spans", risk,
		"write a page to `FILE`", &cli.IntFlag{Name: "years", Value: 100, Usage: "`N` spans of luck, 1 to 10000"})
}

func risk(c *cli.Context, s *scenarios.Scenario, passed func(done, of int)) (*report.Report, error) {
	answer, err := study.Risk(c.Context, s.Household, s.Rule, study.RiskOptions{Years: c.Int("years"), Passed: passed})
	if err != nil {
		return nil, err
	}
	return report.Risk(answer), nil
}

func bankCommand() *cli.Command {
	return studyCommand("bank", "how big a bank? Sizes against the hardest week and the whole span", "sizes", bank,
		"write a page to `FILE`",
		&cli.StringFlag{Name: "kwh", Usage: "`SIZES` at rated_hours, like 8,12,16,24"},
		&cli.StringFlag{Name: "amp-hours", Usage: "`SIZES` instead, at the scenario's battery.volts"},
		&cli.StringFlag{Name: "week", Usage: "the week from a `DATE` of the span instead of the one that wants most"},
		livesFlag(), &cli.IntFlag{Name: "engine-out", Usage: "no runs on the week's first `DAYS`"})
}

func bank(c *cli.Context, s *scenarios.Scenario, passed func(done, of int)) (*report.Report, error) {
	sizes, err := sizesOf(c, s)
	if err != nil {
		return nil, err
	}
	o := study.BankOptions{SizesKWh: sizes, OfSize: s.OfSize, FirstDay: -1, EngineOut: c.Int("engine-out"),
		Lives: c.Int("lives"), Passed: passed}
	if c.IsSet("week") {
		date, err := calendar.ParseDate(c.String("week"))
		if err != nil || date < s.Span.Start || date >= s.Span.End() {
			return nil, usagef("--week must be a date of the span, %s to %s, got %q", s.Span.Start, s.Span.End()-1, c.String("week"))
		}
		o.FirstDay = int(date - s.Span.Start)
	}
	answer, err := study.Bank(c.Context, s.Household, s.Rule, o)
	if err != nil {
		return nil, err
	}
	return report.Bank(answer), nil
}

// sizesOf are the sizes asked for, in the order asked, or a spread around the
// scenario's own.
func sizesOf(c *cli.Context, own *scenarios.Scenario) ([]float64, error) {
	kWh, ampHours := c.String("kwh"), c.String("amp-hours")
	factor, list, flag := 1.0, kWh, "kwh"
	var sizes []float64
	switch {
	case kWh != "" && ampHours != "":
		return nil, usagef("give --kwh or --amp-hours, not both")
	case ampHours != "":
		if own.Volts == 0 {
			return nil, usagef("--amp-hours needs battery.volts in the scenario")
		}
		factor, list, flag = own.Volts/1000, ampHours, "amp-hours"
	case kWh == "":
		for _, share := range []float64{0.5, 0.75, 1, 1.25, 1.5, 2} {
			sizes = append(sizes, share*own.RatedKWh)
		}
		return sizes, nil
	}
	for cell := range strings.SplitSeq(list, ",") {
		x, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
		if err != nil || !(x*factor > 0 && x*factor <= 1e4) {
			return nil, usagef("--%s must be sizes like 8,12,16, each more than 0, at most 10000 kWh, got %q", flag, cell)
		}
		sizes = append(sizes, x*factor)
	}
	return sizes, nil
}
