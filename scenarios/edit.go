package scenarios

import (
	"fmt"
	"maps"
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
	var raw map[string]any
	md, err := toml.Decode(text, &raw)
	if err != nil {
		return "", fmt.Errorf("the scenario is no TOML")
	}
	rows, where := strings.Split(text, "\n"), newLines(text)
	comment := func(rows []string) {
		for i, row := range rows {
			rows[i] = "# " + row
		}
	}
	textEnd := ""
	if strings.Contains(text, "\r\n") {
		textEnd = "\r"
	}
	inserts, gone := map[string][]string{}, map[string]bool{}
	for _, edit := range edits {
		for _, rival := range rivalsOf(edit.Key) {
			if gone[rival] {
				continue
			}
			gone[rival] = true
			old, err := rowsOf(rows, md, where, rival)
			if err != nil {
				return "", err
			}
			comment(old)
		}
		old, err := rowsOf(rows, md, where, edit.Key)
		if err != nil {
			return "", err
		}
		if len(old) == 0 {
			table := Table(edit.Key)
			inserts[table] = append(inserts[table], edit.String()+textEnd)
			continue
		}
		comment(old[1:])
		end := ""
		if strings.HasSuffix(old[0], "\r") {
			end = "\r"
		}
		old[0] = "# was: " + strings.TrimSpace(old[0]) + end + "\n" + edit.String() + end
	}
	return insert(rows, inserts), nil
}

// rowsOf are the rows of a key's value; none where the key is not there.
func rowsOf(rows []string, md toml.MetaData, where *lines, key string) ([]string, error) {
	parts := strings.Split(key, ".")
	if !md.IsDefined(parts...) {
		return nil, nil
	}
	first, ok := firstRow(rows, where.of(parts)-1, parts[len(parts)-1])
	if !ok {
		return nil, fmt.Errorf("%s does not stand on a line of its own", key)
	}
	last := first
	for open := opens(rows[first]); open > 0 && last+1 < len(rows); {
		last++
		more := opens(rows[last])
		open += more
	}
	return rows[first : last+1], nil
}

// firstRow looks for KEY = at the value's row and, for a list over several, above.
func firstRow(rows []string, at int, leaf string) (int, bool) {
	own := regexp.MustCompile(`^\s*"?` + regexp.QuoteMeta(leaf) + `"?\s*=`)
	for ; at >= 0 && at < len(rows); at-- {
		if own.MatchString(rows[at]) {
			return at, true
		}
		row := strings.TrimSpace(rows[at])
		if strings.HasPrefix(row, "[") && !strings.HasPrefix(row, "[[") && !strings.Contains(row, ",") {
			return 0, false // the table's head
		}
	}
	return 0, false
}

// insert puts rows under the heads of their tables, those of none before all others, under what is said
// of the file at its top; a table without a head gets one at the end.
func insert(rows []string, inserts map[string][]string) string {
	var out []string
	for _, row := range rows {
		if text := strings.TrimSpace(row); text != "" && !strings.HasPrefix(text, "#") && len(inserts[""]) > 0 {
			out = append(out, inserts[""]...)
			delete(inserts, "")
		}
		out = append(out, row)
		head, _, _ := strings.Cut(strings.TrimSpace(row), "#")
		if head = strings.TrimSpace(head); strings.HasPrefix(head, "[") && strings.HasSuffix(head, "]") {
			table := strings.TrimSpace(head[1 : len(head)-1])
			out = append(out, inserts[table]...)
			delete(inserts, table)
		}
	}
	for _, table := range slices.Sorted(maps.Keys(inserts)) {
		if len(out) > 0 && out[len(out)-1] != "" {
			out = append(out, "")
		}
		if table != "" {
			out = append(out, "["+table+"]")
		}
		out = append(append(out, inserts[table]...), "")
	}
	return strings.Join(out, "\n")
}
