package scenarios

import (
	"errors"
	"strings"

	"github.com/BurntSushi/toml"
)

// lines finds where in a text a key stands. The library keeps the place of a
// value only for a decoder that fails, so each key is handed to one that does.
type lines struct {
	md     toml.MetaData
	tables map[string]map[string]toml.Primitive // by their keys' parts, each taken apart once
}

func newLines(text string) *lines {
	l := &lines{tables: map[string]map[string]toml.Primitive{}}
	var top map[string]toml.Primitive
	l.md, _ = toml.Decode(text, &top) // the caller has decoded it before
	l.tables[""] = top
	return l
}

// failing is a value that refuses to be decoded.
type failing struct{}

var errHere = errors.New("here")

func (*failing) UnmarshalTOML(any) error { return errHere }

// of returns the line of a key, counted from 1, or 0 where it has none.
func (l *lines) of(key []string) int {
	value, ok := l.table(key[:len(key)-1])[key[len(key)-1]]
	if !ok {
		return 0
	}
	var bad toml.ParseError
	if err := l.md.PrimitiveDecode(value, &failing{}); errors.As(err, &bad) {
		return bad.Position.Line
	}
	return 0
}

// table returns the table of a key, nil where there is none.
func (l *lines) table(key []string) map[string]toml.Primitive {
	name := strings.Join(key, "\x00")
	if table, known := l.tables[name]; known {
		return table
	}
	var table map[string]toml.Primitive
	if value, ok := l.table(key[:len(key)-1])[key[len(key)-1]]; ok && l.md.PrimitiveDecode(value, &table) != nil {
		table = nil
	}
	l.tables[name] = table
	return table
}
