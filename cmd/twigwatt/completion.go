package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"twigwatt/scenarios"
	"twigwatt/sim/plan"
)

// The scripts ask the program what may stand where the cursor is; files the shell
// adds by itself.
var completionScripts = map[string]string{
	"bash": `_twigwatt() {
  local cur="${COMP_WORDS[COMP_CWORD]}"
  local IFS=$'\n'
  COMPREPLY=($(compgen -W "$(twigwatt completion list -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)" -- "$cur"))
  case "$cur" in
    -*) ;;
    *) test $COMP_CWORD -gt 1 && COMPREPLY+=($(compgen -f -- "$cur")) ;;
  esac
}
complete -o default -F _twigwatt twigwatt
`,
	"zsh": `#compdef twigwatt
_twigwatt() {
  local -a all
  all=(${(f)"$(twigwatt completion list -- "${(@)words[2,CURRENT]}" 2>/dev/null)"})
  compadd -a all
  _files
}
compdef _twigwatt twigwatt
`,
	"fish": `complete -c twigwatt -a '(twigwatt completion list -- (commandline -opc)[2..] (commandline -ct) 2>/dev/null)'
`,
}

func completionCommand() *cli.Command {
	command := &cli.Command{
		Name:      "completion",
		Usage:     "shell completion for bash, zsh or fish",
		ArgsUsage: "bash, zsh or fish",
		Description: "bash: source <(twigwatt completion bash)\n" +
			"zsh:  source <(twigwatt completion zsh)\n" +
			"fish: twigwatt completion fish | source",
		Action: oneOf("shell"),
	}
	for _, shell := range []string{"bash", "zsh", "fish"} {
		command.Subcommands = append(command.Subcommands, &cli.Command{Name: shell,
			Usage: "print the script for " + shell, Action: func(c *cli.Context) error {
				if c.NArg() > 0 {
					return usagef("completion %s takes no more words, got %s", shell, strings.Join(c.Args().Slice(), " "))
				}
				_, err := fmt.Fprint(c.App.Writer, completionScripts[shell])
				return err
			}})
	}
	command.Subcommands = append(command.Subcommands, &cli.Command{Name: "list", Hidden: true, Action: func(c *cli.Context) error {
		for _, word := range candidates(c.App, c.Args().Slice()) {
			fmt.Fprintln(c.App.Writer, word)
		}
		return nil
	}})
	return command
}

// shown are the commands that a user may name.
func shown(all []*cli.Command) []*cli.Command {
	return slices.DeleteFunc(slices.Clone(all), func(c *cli.Command) bool { return c.Hidden || c.Name == "help" })
}

// candidates are what may stand in place of the last of the words, begun or empty:
// commands, then options, keys after --set, plans after --plan, else examples.
func candidates(app *cli.App, words []string) []string {
	before, current := words, ""
	if n := len(words); n > 0 {
		before, current = words[:n-1], words[n-1]
	}
	all, command := app.Commands, (*cli.Command)(nil)
	for len(before) > 0 && len(all) > 0 {
		next := named(all, before[0])
		if next == nil {
			break
		}
		command, all, before = next, next.Subcommands, before[1:]
	}
	last := ""
	if len(before) > 0 {
		last = before[len(before)-1]
	}
	var found []string
	switch {
	case len(all) > 0:
		found = eachOf(shown(all), func(c *cli.Command) string { return c.Name })
	case last == "--set":
		found = eachOf(scenarios.Manual(), func(s *scenarios.Setting) string { return s.Key + "=" })
	case last == "--plan":
		found = plan.Names()
	case last == "--from":
		found = scenarios.Examples()
	case command != nil && strings.HasPrefix(last, "-") && takesValue(command, last):
		// a value of the household's own, or a file
	case strings.HasPrefix(current, "-"):
		found = eachOf(command.Flags, func(f cli.Flag) string { return "--" + f.Names()[0] })
	case strings.Contains(command.ArgsUsage, "SCENARIO"):
		found = scenarios.Examples()
	}
	return slices.DeleteFunc(found, func(word string) bool { return !strings.HasPrefix(word, current) })
}
