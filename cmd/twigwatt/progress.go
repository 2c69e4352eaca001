package main

import (
	"fmt"
	"io"
	"os"
	"time"
)

// progress is one line on a terminal that says how far long work has come.
type progress struct {
	w    io.Writer // nil: no terminal
	last time.Time
	used bool
}

// newProgress shows nothing where w is no terminal.
func newProgress(w io.Writer) *progress {
	if f, ok := w.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 && os.Getenv("TERM") != "dumb" {
			return &progress{w: f}
		}
	}
	return &progress{}
}

// at shows where the work is, at most ten times a second.
func (p *progress) at(format string, args ...any) {
	const between = 100 * time.Millisecond
	if p.w == nil || time.Since(p.last) < between {
		return
	}
	p.last, p.used = time.Now(), true
	fmt.Fprintf(p.w, "\r\x1b[K"+format, args...)
}

// clear takes the line away.
func (p *progress) clear() {
	if p.used {
		fmt.Fprint(p.w, "\r\x1b[K")
		p.used = false
	}
}
