package main

import "github.com/urfave/cli/v2"

func diaryCommand() *cli.Command { return &cli.Command{Name: "diary"} }
