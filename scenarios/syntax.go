package scenarios

import (
	"errors"
	"fmt"
	"strings"

	"github.com/BurntSushi/toml"

	"twigwatt/sim/fault"
)

// syntax reports text that is no TOML, with the line that is not.
func (r *reading) syntax(err error, text string) {
	found := fault.Fault{File: fault.Plain(r.file), Text: "must be TOML"}
	var bad toml.ParseError
	if errors.As(err, &bad) {
		found.Line, found.Text = bad.Position.Line, plainSyntax(bad.Message)
		if rows := strings.Split(text, "\n"); found.Line >= 1 && found.Line <= len(rows) {
			found.Text += fmt.Sprintf(", got %.80q", strings.TrimSpace(rows[found.Line-1]))
		}
		if strings.Contains(bad.Message, "','") || strings.Contains(bad.Message, "comma") {
			found.Text += "; a decimal takes a point (3.5)"
		}
	}
	r.faults = append(r.faults, found)
}

// plainSyntax words what the library says of a text that is no TOML.
func plainSyntax(message string) string {
	for _, known := range []struct{ part, plain string }{
		{"is out of range for", "must be a number of a reasonable size"},
		{"invalid datetime", "must be a date or time that exists, like 2025-01-31"},
		{"top-level item to end", "must end the line after the value; a text stands in quotes"},
		{"expected key separator", "must be KEY = VALUE"},
		{"expected value but found", "must have a value; a text stands in quotes"},
		{"invalid UTF-8", "must be text in UTF-8"},
		{"control characters are not allowed", "must have no control characters"},
	} {
		if strings.Contains(message, known.part) {
			return known.plain
		}
	}
	if message == "" {
		return "must be TOML"
	}
	return "must be TOML: " + fault.Plain(message)
}
