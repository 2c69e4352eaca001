package scenarios

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"twigwatt/sim/fault"
)

// assign puts KEY=VALUE among the entries in place of what the file, or --set
// before it, says of that key and of its rivals. VALUE is TOML, or bare text.
func (r *reading) assign(assignment string) {
	key, text, ok := cutAssignment(assignment)
	parts := keyParts(strings.TrimSpace(key))
	if !ok || parts == nil {
		r.fault(ofSet, "", "must be written KEY=VALUE, got %.80q", assignment)
		return
	}
	r.change(parts, bare(strings.TrimSpace(text)))
}

// change puts a value among the entries in place of what is said of its key and of its rivals.
func (r *reading) change(parts []string, value any) {
	key := strings.Join(parts, ".")
	if _, isTable := value.(map[string]any); isTable {
		like := ""
		if slices.Contains(tables, key) || slices.Contains(named, key) {
			like = ": its keys are set one by one, like " + r.keyOf(key)
		}
		r.fault(ofSet, fault.Plain(key), "must be a key and its value, got a table%s", like)
		return
	}
	replaced := append(rivalsOf(key), key)
	r.entries = slices.DeleteFunc(r.entries, func(e entry) bool { return slices.Contains(replaced, strings.Join(e.key, ".")) })
	r.entries = append(r.entries, entry{key: parts, value: value, line: ofSet})
}

// cutAssignment cuts KEY=VALUE at the first = outside quotes that close.
func cutAssignment(assignment string) (key, value string, ok bool) {
	var quote rune
	for i, c := range assignment {
		switch {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case (c == '"' || c == '\'') && strings.ContainsRune(assignment[i+1:], c):
			quote = c
		case c == '=':
			return assignment[:i], assignment[i+1:], true
		}
	}
	return assignment, "", false
}

// keyParts takes a key apart as TOML does, nil where it is none. A name in it may
// hold what a bare key may not, like a space.
func keyParts(key string) []string {
	if strings.ContainsAny(key, "\"'") && !strings.Contains(key, "\n") {
		var raw map[string]any
		if md, err := toml.Decode(key+" = 0", &raw); err == nil && len(md.Keys()) > 0 {
			return md.Keys()[len(md.Keys())-1]
		}
	}
	parts := strings.Split(key, ".")
	if slices.Contains(parts, "") || strings.Count(key, ".") > mostDeep {
		return nil
	}
	return parts
}

// Written is a value of --set as it is written in a file: TOML where it is, else a text in quotes.
func Written(text string) string {
	if value, isText := bare(strings.TrimSpace(text)).(string); isText {
		return strconv.Quote(value)
	}
	return strings.TrimSpace(text)
}

// bare reads a value of --set: TOML where it is, else text.
func bare(text string) any {
	var raw map[string]any
	if tooDeep(text) > 0 {
		return text
	}
	if strings.ContainsAny(text, "#\n") && strings.IndexAny(text, "\"'[") != 0 {
		return text // what follows would be a comment, or another key
	}
	if _, err := toml.Decode("x = "+text, &raw); err == nil && len(raw) == 1 && raw["x"] != nil {
		if _, isTime := raw["x"].(time.Time); !isTime {
			return raw["x"]
		}
	}
	return text
}
