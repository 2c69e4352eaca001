package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/scenarios"
)

func newCommand() *cli.Command {
	return &cli.Command{
		Name:      "new",
		Usage:     "write a commented scenario to start from",
		ArgsUsage: "FILE",
		Flags: []cli.Flag{&cli.StringFlag{Name: "from",
			Usage: "write the embedded `EXAMPLE` instead, and beside it the files it names"}},
		Action: func(c *cli.Context) error {
			all, err := wordsOf(c, 1)
			if err != nil {
				return err
			}
			if len(all) == 0 {
				return usagef("new needs the name of the file to write, like home.toml")
			}
			text, beside := []byte(scenarios.Template()), []scenarios.ExampleFile(nil)
			if c.IsSet("from") {
				var ok bool
				if text, beside, ok = scenarios.Example(c.String("from")); !ok {
					return usagef("--from must be one of %s, got %q", strings.Join(scenarios.Examples(), ", "), c.String("from"))
				}
			}
			// what the scenario names comes first: a scenario that lies there can be used
			files := append(beside, scenarios.ExampleFile{Name: filepath.Base(all[0]), Text: text})
			for i, f := range files {
				name := filepath.Join(filepath.Dir(all[0]), f.Name)
				if slices.ContainsFunc(files[:i], func(other scenarios.ExampleFile) bool { return other.Name == f.Name }) {
					return usagef("%s: must be another name: the example has a file of that name beside it", name)
				}
				if there, err := os.ReadFile(name); i < len(beside) && err == nil && bytes.Equal(there, f.Text) {
					continue // from an earlier time
				}
				if err := isFree(name); err != nil {
					return err
				}
			}
			for _, f := range beside {
				name := filepath.Join(filepath.Dir(all[0]), f.Name)
				if _, err := os.Lstat(name); err == nil {
					continue
				}
				if err := wrote(c, name, writeText(name, neverOver, f.Text)); err != nil {
					return err
				}
			}
			return wrote(c, all[0]+"; change it, then: twigwatt year "+all[0], writeText(all[0], neverOver, text))
		},
	}
}

// isFree reports an error where something stands under a name.
func isFree(name string) error {
	if _, err := os.Lstat(name); err == nil {
		return usagef("%s: exists already, and is never overwritten", name)
	} else if !errors.Is(err, os.ErrNotExist) {
		return unwritable(name, err)
	}
	return nil
}
