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
	mostFault      = 1000 // letters of what is wrong, that name what is allowed
	mostName       = 60
	mostAppliances = 200
	mostChores     = 30
	mostArrays     = 20
	mostChoreTimes = 210 // a week: each is placed by trying it at every hour
)

// tooMuch reports why a text is not to be handed to the TOML library, which takes
// gigabytes to read what is nested thousands deep; "" where it may be.
func tooMuch(text string) (line int, why string) {
	rows := strings.Split(text, "\n")
	if i := slices.IndexFunc(rows, func(row string) bool { return !utf8.ValidString(row) }); i >= 0 {
		return i + 1, "must be text in UTF-8"
	}
	if line := tooDeep(text); line > 0 {
		return line, fmt.Sprintf("must be nested no more than %d deep", mostDeep)
	}
	return 0, ""
}

// tooDeep returns the line on which brackets open or a key has dots deeper than is allowed,
// whether or not the text is TOML otherwise; 0: on none. Quotes and comments are passed over.
func tooDeep(text string) int {
	line, open, dots := 1, 0, 0
	for len(text) > 0 {
		step := 1
		switch c := text[0]; c {
		case '#':
			step = strings.IndexByte(text, '\n')
		case '"', '\'':
			step = quotedBytes(text)
			line += strings.Count(text[:step], "\n")
		case '\n':
			line++
			dots = 0
		case '[', '{':
			open++
			dots = 0
		case ']', '}':
			open = max(0, open-1)
			dots = 0
		case '=', ',':
			dots = 0
		case '.':
			dots++
		}
		if open > mostDeep || dots > mostDeep {
			return line
		}
		if step < 0 {
			return 0
		}
		text = text[step:]
	}
	return 0
}

// quotedBytes returns how long the quoted text is that a text begins with: of one line, or of several
// between three quotes. One that does not end goes to the end of its line, or of all.
func quotedBytes(text string) int {
	quote := text[:1]
	if several := strings.Repeat(quote, 3); strings.HasPrefix(text, several) {
		quote = several
	}
	for i := len(quote); i < len(text); i++ {
		switch {
		case text[i] == '\\' && quote[0] == '"':
			i++ // what is escaped ends nothing
		case strings.HasPrefix(text[i:], quote):
			return i + len(quote)
		case text[i] == '\n' && len(quote) == 1:
			return i
		}
	}
	return len(text)
}

// opens returns how many more brackets a row opens than it closes, outside of quotes and comments.
func opens(row string) (open int) {
	for step := 1; len(row) > 0 && row[0] != '#'; row, step = row[step:], 1 {
		switch row[0] {
		case '"', '\'':
			step = quotedBytes(row)
		case '[', '{':
			open++
		case ']', '}':
			open--
		}
	}
	return open
}

// printable reports whether a text can be printed on a line as it is.
func printable(text string) bool {
	const noBreakSpace, joiner = '\u00a0', '\u200d' // as in some names
	return !strings.ContainsFunc(text, func(c rune) bool { return !unicode.IsPrint(c) && c != noBreakSpace && c != joiner })
}

// shortened is a text of so many letters at most.
func shortened(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

// nameFault says what is wrong with the name of an appliance, a chore, panels, a stack or a
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
	}{{"load.appliance", mostAppliances}, {"load.chore", mostChores}, {"panels", mostArrays}} { // the pile has a limit of its own
		names := map[string]bool{}
		for _, e := range r.entries {
			table, own := namedTable(e.key)
			if table != limit.table || names[own] {
				continue
			}
			if names[own] = true; len(names) > limit.most {
				r.fault(e.line, limit.table, "must be at most %d of them", limit.most)
				break
			}
		}
	}
	return len(r.faults) > before
}

// misquoted reports a key whose quotes hide a dot: it is not the key it looks like.
func misquoted(key []string) bool {
	if table, _ := namedTable(key); table != "" { // what is wrong with a name is said by nameFault
		deep := strings.Count(table, ".") + 1
		key = slices.Concat(key[:deep], key[deep+1:])
	}
	return slices.ContainsFunc(key, func(part string) bool { return strings.Contains(part, ".") })
}
