// Package fault holds what is wrong with a file that a household wrote: where it
// stands, what is allowed, and what was given.
//
// A reader gathers Faults, all of them at once, and returns them as its error. Left
// out: whatever hinders reading the file at all.
package fault

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// A Fault is one thing wrong with a file.
type Fault struct {
	File string
	Line int    // from 1; 0 or less: not of a line
	Key  string // or column; "": of none
	Text string // what is allowed, and what was given
}

// String writes the fault on a line, with nothing in it that a terminal would obey.
func (f Fault) String() string {
	where := f.File
	if f.Line > 0 {
		where = fmt.Sprintf("%s:%d", f.File, f.Line)
	}
	if f.Key != "" {
		where += ": " + f.Key
	}
	return Plain(where + ": " + f.Text)
}

// Plain is a text on one line as it can be shown: what does not print is written as its escape, like
// what moves a cursor, turns the direction of writing or ends a line. Spaces that do not break and
// joiners of letters stand in some names, and stay.
func Plain(text string) string {
	var b strings.Builder
	for _, c := range text {
		const noBreakSpace, joiner = '\u00a0', '\u200d'
		if unicode.IsPrint(c) || c == noBreakSpace || c == joiner {
			b.WriteRune(c)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(c), "'"))
		}
	}
	return b.String()
}

// PlainLines is Plain of each line of a text.
func PlainLines(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = Plain(lines[i])
	}
	return strings.Join(lines, "\n")
}

// Faults is everything wrong with a file, in its order.
type Faults []Fault

// Error writes each fault on its line.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].String()
	}
	return strings.Join(lines, "\n")
}
