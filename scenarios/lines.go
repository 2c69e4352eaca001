package scenarios

import (
	"errors"

	"github.com/BurntSushi/toml"
)

// lines finds where in a text a key stands. The library keeps the place of a
// value only for a decoder that fails, so each key is handed to one that does.
type lines struct {
	md  toml.MetaData
	top map[string]toml.Primitive
}

func newLines(text string) *lines {
	l := &lines{}
	l.md, _ = toml.Decode(text, &l.top) // the caller has decoded it before
	return l
}

// failing is a value that refuses to be decoded.
type failing struct{}

var errHere = errors.New("here")

func (*failing) UnmarshalTOML(any) error { return errHere }

// of returns the line of a key, counted from 1, or 0 where it has none.
func (l *lines) of(key []string) int {
	table := l.top
	for i, part := range key {
		value, ok := table[part]
		if !ok {
			return 0
		}
		if i < len(key)-1 {
			var next map[string]toml.Primitive
			if err := l.md.PrimitiveDecode(value, &next); err == nil {
				table = next
				continue
			}
		}
		var bad toml.ParseError
		if err := l.md.PrimitiveDecode(value, &failing{}); errors.As(err, &bad) {
			return bad.Position.Line
		}
	}
	return 0
}
