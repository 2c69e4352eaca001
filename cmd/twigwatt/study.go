package main

import (
	"errors"
	"fmt"
	"io"
	"runtime"

	"github.com/urfave/cli/v2"

	"twigwatt/sim/study"
)

// studyIsSound reports an error where --jobs is below 0 or --report names a file
// that is no page.
func studyIsSound(c *cli.Context) error {
	if jobs := c.Int("jobs"); jobs < 0 {
		return usagef("--jobs must be 0 or more, got %d", jobs)
	}
	if !c.IsSet("report") {
		return nil
	}
	return replaceable(c.String("report"), pageBegins, "page of this program")
}

const mostLives = 1000

func livesFlag() cli.Flag {
	return &cli.IntFlag{Name: "lives", Value: study.UsualLives, Usage: "count short days in `N` lives whose days differ, 1 to 1000"}
}

// livesOf reads --lives.
func livesOf(c *cli.Context) (int, error) {
	n := c.Int("lives")
	if n < 1 || n > mostLives {
		return 0, usagef("--lives must be 1 to %d, got %d", mostLives, n)
	}
	return n, nil
}

func jobsFlag() cli.Flag {
	return &cli.IntFlag{Name: "jobs", Usage: "work on at most `N` cores; 0: on all there are"}
}

// limitJobs keeps the work to the cores that --jobs allows; call what it returns
// when the work is done.
func limitJobs(c *cli.Context) func() {
	before := runtime.GOMAXPROCS(0)
	if jobs := c.Int("jobs"); jobs > 0 {
		runtime.GOMAXPROCS(min(jobs, before))
	}
	return func() { runtime.GOMAXPROCS(before) }
}

// printStudy prints what a study found, and writes its page where --report asks.
func printStudy(c *cli.Context, asJSON, asText, asPage func(io.Writer) error) error {
	print := asText
	if c.Bool("json") {
		print = asJSON
	}
	err := print(c.App.Writer)
	if c.IsSet("report") { // whether or not somebody still reads the answers
		err = errors.Join(err, writeReport(c, asPage))
	}
	return err
}

// writeReport writes a page where --report says.
func writeReport(c *cli.Context, asPage func(io.Writer) error) error {
	name := c.String("report")
	if err := replaceable(name, pageBegins, "page of this program"); err != nil {
		return err
	}
	f, err := createWhole(name)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := asPage(f); err != nil {
		return unwritable(name, err)
	}
	if err := f.Commit(true); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "wrote "+name)
	return nil
}
