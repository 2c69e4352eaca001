package main

import (
	"fmt"
	"io"

	"github.com/urfave/cli/v2"

	"twigwatt/scenarios"
)

func newCommand() *cli.Command {
	return &cli.Command{
		Name:      "new",
		Usage:     "write a commented scenario to start from",
		ArgsUsage: "FILE",
		Action: func(c *cli.Context) error {
			all, err := words(c, 1)
			if err != nil {
				return err
			}
			if len(all) == 0 {
				return usagef("new needs the name of the file to write, like home.toml")
			}
			f, err := createWhole(all[0])
			if err != nil {
				return err
			}
			if _, err := io.WriteString(f, scenarios.Template()); err != nil {
				f.Discard()
				return fmt.Errorf("%s: cannot be written: %w", all[0], err)
			}
			if err := f.Commit(false); err != nil {
				return err
			}
			fmt.Fprintf(c.App.ErrWriter, "wrote %s; change it, then: twigwatt year %s\n", all[0], all[0])
			return nil
		},
	}
}
