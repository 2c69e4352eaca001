package main

import (
	"errors"
	"fmt"
	"runtime"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/study"
)

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

func livesFlag() cli.Flag {
	return &cli.IntFlag{Name: "lives", Value: study.UsualLives, Usage: "count short days in `N` lives whose days differ, 1 to 1000"}
}

func jobsFlag() cli.Flag {
	return &cli.IntFlag{Name: "jobs", Usage: "work on at most `N` cores; 0: on all there are"}
}

// work is what a study does while one waits: on the cores that --jobs allows, telling how far
// it has come.
type work struct {
	*progress
	cores int // before
}

func begin(c *cli.Context) *work {
	w := &work{newProgress(c.App.ErrWriter), runtime.GOMAXPROCS(0)}
	if jobs := c.Int("jobs"); jobs > 0 {
		runtime.GOMAXPROCS(min(jobs, w.cores))
	}
	return w
}

// passed tells how far a study has come.
func (w *work) passed(format string) func(done, of int) {
	return func(done, of int) { w.at(format, done, of) }
}

// end may be called more than once.
func (w *work) end() {
	w.clear()
	runtime.GOMAXPROCS(w.cores)
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
	f, err := createWhole(name)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := r.WritePage(f, basisOf(c, s)); err != nil {
		return unwritable(name, err)
	}
	if err := f.Commit(true); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "wrote "+name)
	return nil
}
