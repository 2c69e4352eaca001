package scenarios

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// What a scenario holds at most: far more than a household, and little enough to
// be read at once.
const (
	mostBytes      = 1 << 20
	mostKeys       = 3000
	mostDeep       = 16 // tables in tables, lists in lists
	mostText       = 200
	mostName       = 60
	mostAppliances = 200
	mostChores     = 30
)

// tooMuch reports why a text is not to be handed to the TOML library, which takes
// gigabytes to read what is nested thousands deep; "" where it may be.
func tooMuch(text string) (line int, why string) {
	rows, inText := strings.Split(text, "\n"), false
	if i := slices.IndexFunc(rows, func(row string) bool { return !utf8.ValidString(row) }); i >= 0 {
		return i + 1, "must be text in UTF-8"
	}
	for i, row := range rows {
		if strings.Count(row, `"""`)%2 == 1 || strings.Count(row, "'''")%2 == 1 { // a text of several lines begins or ends
			inText = !inText
		} else if !inText {
			if dots, deep, _ := shapeOf(row); dots > mostDeep || deep > mostDeep {
				return i + 1, fmt.Sprintf("must be nested no more than %d deep", mostDeep)
			}
		}
	}
	return 0, ""
}

// shapeOf counts the dots of a row's key or table, how deep its brackets open, and how many more
// it opens than it closes, outside of quotes and comments.
func shapeOf(row string) (dots, deepest, open int) {
	var quote rune
	commas, inKey := 0, true
	for _, c := range row {
		switch {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '#':
			return dots, deepest, open
		case c == '[' || c == '{':
			open++
			deepest = max(deepest, open)
		case c == ']' || c == '}':
			open--
		case c == '=':
			inKey = false
		case c == ',':
			if inKey { // a row within a list: its dots are those of numbers
				commas++
				dots = 0
			}
		case c == '.' && inKey && commas == 0:
			dots++
		}
	}
	return dots, deepest, open
}

// printable reports whether a text can be printed on a line as it is.
func printable(text string) bool {
	const noBreakSpace, joiner = '\u00a0', '\u200d' // as in some names
	return !strings.ContainsFunc(text, func(c rune) bool { return !unicode.IsPrint(c) && c != noBreakSpace && c != joiner })
}

// OneLine is a text without what would break its line or hide in it, like a file's
// name with a line's end.
func OneLine(text string) string {
	return strings.Map(func(c rune) rune {
		if !unicode.IsPrint(c) {
			return '?'
		}
		return c
	}, text)
}

// nameFault says what is wrong with the name of an appliance, a chore, a stack or a
// cut; "" where nothing is.
func nameFault(name string) string {
	switch {
	case strings.Contains(name, "."):
		return fmt.Sprintf("a name must have no dot in it, got %.60q", name)
	case strings.TrimSpace(name) == "" || utf8.RuneCountInString(name) > mostName || !printable(name):
		return fmt.Sprintf("a name must be 1 to %d letters, digits and the like, got %.60q", mostName, name)
	}
	return ""
}

// tooMany reports a table that names more than it may, once, at the first too many.
func (r *reading) tooMany() bool {
	before := len(r.faults)
	for _, limit := range []struct {
		table string
		most  int
	}{{"load.appliance", mostAppliances}, {"load.chore", mostChores}} { // the pile has a limit of its own
		names := map[string]bool{}
		for _, e := range r.entries {
			if namedTable(e.key) != limit.table || names[e.key[2]] {
				continue
			}
			if names[e.key[2]] = true; len(names) > limit.most {
				r.fault(e.line, limit.table, "must be at most %d of them", limit.most)
				break
			}
		}
	}
	return len(r.faults) > before
}

// misquoted reports a key whose quotes hide a dot: it is not the key it looks like.
func misquoted(key []string) bool {
	if namedTable(key) != "" { // what is wrong with a name is said by nameFault
		key = slices.Concat(key[:2], key[3:])
	}
	return slices.ContainsFunc(key, func(part string) bool { return strings.Contains(part, ".") })
}
