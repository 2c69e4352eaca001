// Package fault holds what is wrong with a file that a household wrote: where it
// stands, what is allowed, and what was given.
//
// A reader gathers Faults, all of them at once, and returns them as its error. Left
// out: whatever hinders reading the file at all.
package fault

import (
	"fmt"
	"strings"
)

// A Fault is one thing wrong with a file.
type Fault struct {
	File string
	Line int    // from 1; 0 or less: not of a line
	Key  string // or column; "": of none
	Text string // what is allowed, and what was given
}

// String writes the fault on a line.
func (f Fault) String() string {
	where := f.File
	if f.Line > 0 {
		where = fmt.Sprintf("%s:%d", f.File, f.Line)
	}
	if f.Key == "" {
		return where + ": " + f.Text
	}
	return where + ": " + f.Key + ": " + f.Text
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
