package main

import (
	"fmt"
	"io"

	"github.com/urfave/cli/v2"
)

// reportIsFree reports an error where --report names a file that is no page.
func reportIsFree(c *cli.Context) error {
	if !c.IsSet("report") {
		return nil
	}
	return replaceable(c.String("report"), "<!DOCTYPE html>", "page")
}

// printStudy prints what a study found, and writes its page where --report asks.
func printStudy(c *cli.Context, asJSON, asText, asPage func(io.Writer) error) error {
	print := asText
	if c.Bool("json") {
		print = asJSON
	}
	if err := print(c.App.Writer); err != nil || !c.IsSet("report") {
		return err
	}
	name := c.String("report")
	f, err := createWhole(name)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := asPage(f); err != nil {
		return fmt.Errorf("%s: cannot be written: %w", name, err)
	}
	if err := f.Commit(true); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "wrote "+name)
	return nil
}
