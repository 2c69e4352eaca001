package scenarios

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

// A Line is a key with the value it shall have, as it stands in a file, and a
// comment behind it; "": none.
type Line struct{ Key, Value, Comment string }

// String writes the line without its table.
func (l Line) String() string {
	text := l.Key[strings.LastIndex(l.Key, ".")+1:] + " = " + l.Value
	if l.Comment != "" {
		text += "  # " + l.Comment
	}
	return text
}

// Edited returns a scenario's text with other values, all else as it stands: a key
// that is there is written anew under its old line, which with its rivals becomes a comment, and a key
// that is not there comes first in its table. The text must be a scenario that
// reads; the error names a key that does not stand on a line of its own.
func Edited(text string, edits []Line) (string, error) {
	rows := strings.Split(text, "\n")
	var raw map[string]any
	md, err := toml.Decode(text, &raw)
	if err != nil {
		return "", fmt.Errorf("the scenario is no TOML")
	}
	where := newLines(text)
	inserts, gone := map[string][]string{}, map[string]bool{}
	for _, edit := range edits {
		for _, rival := range rivalsOf(edit.Key) {
			if gone[rival] {
				continue
			}
			gone[rival] = true
			if err := eachRow(rows, md, where, rival, func(row string, first bool) string { return "# " + row }); err != nil {
				return "", err
			}
		}
		found := false
		err := eachRow(rows, md, where, edit.Key, func(row string, first bool) string {
			found = true
			if !first {
				return "# " + row
			}
			kept := "# was: " + strings.TrimSpace(row)
			if strings.HasSuffix(row, "\r") {
				return kept + "\r\n" + edit.String() + "\r"
			}
			return kept + "\n" + edit.String()
		})
		if err != nil {
			return "", err
		}
		if !found {
			table := Table(edit.Key)
			end := ""
			if strings.Contains(text, "\r\n") {
				end = "\r"
			}
			inserts[table] = append(inserts[table], edit.String()+end)
		}
	}
	return insert(rows, inserts), nil
}

// eachRow puts every row of a key's value through a change.
func eachRow(rows []string, md toml.MetaData, where *lines, key string, change func(row string, first bool) string) error {
	parts := strings.Split(key, ".")
	if !md.IsDefined(parts...) {
		return nil
	}
	first, ok := firstRow(rows, where.of(parts)-1, parts[len(parts)-1])
	if !ok {
		return fmt.Errorf("%s does not stand on a line of its own", key)
	}
	open := 0
	for i := first; i < len(rows); i++ {
		open += brackets(rows[i])
		rows[i] = change(rows[i], i == first)
		if open <= 0 {
			break
		}
	}
	return nil
}

// firstRow looks for KEY = at the value's row and, for a list over several, above.
func firstRow(rows []string, at int, leaf string) (int, bool) {
	own := regexp.MustCompile(`^\s*"?` + regexp.QuoteMeta(leaf) + `"?\s*=`)
	for ; at >= 0 && at < len(rows); at-- {
		if own.MatchString(rows[at]) {
			return at, true
		}
		if row := strings.TrimSpace(rows[at]); strings.HasPrefix(row, "[") && !strings.HasPrefix(row,
			"[[") && !strings.Contains(row, ",") {
			return 0, false // the table's head
		}
	}
	return 0, false
}

// brackets counts what a row opens more than it closes, strings and comment left out.
func brackets(row string) int {
	open := 0
	quote := rune(0)
	for _, r := range row {
		switch {
		case quote != 0:
			if r == quote {
				quote = 0
			}
		case r == '"' || r == '\'':
			quote = r
		case r == '#':
			return open
		case r == '[' || r == '{':
			open++
		case r == ']' || r == '}':
			open--
		}
	}
	return open
}

// insert puts rows under the heads of their tables; a table without a head gets
// one at the end.
func insert(rows []string, inserts map[string][]string) string {
	var out []string
	for _, row := range rows {
		out = append(out, row)
		head, _, _ := strings.Cut(strings.TrimSpace(row), "#")
		if head = strings.TrimSpace(head); strings.HasPrefix(head, "[") && strings.HasSuffix(head, "]") {
			table := strings.TrimSpace(head[1 : len(head)-1])
			out = append(out, inserts[table]...)
			delete(inserts, table)
		}
	}
	var left []string
	for table := range inserts {
		left = append(left, table)
	}
	slices.Sort(left)
	for _, table := range left {
		if len(out) > 0 && out[len(out)-1] != "" {
			out = append(out, "")
		}
		out = append(out, "["+table+"]")
		out = append(append(out, inserts[table]...), "")
	}
	return strings.Join(out, "\n")
}
