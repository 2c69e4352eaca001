package scenarios

import (
	"fmt"
	"strings"
)

// live are the keys a new scenario gives; all others stand behind a #.
var live = map[string]string{
	"load.kwh_per_day": "5.5",
	"engine.kw":        "2.6",
	"battery.kwh":      "14.4",
}

// Template returns a commented scenario that passes its own checks, with every
// key, its default, range, meaning and source.
func Template() string {
	var b strings.Builder
	b.WriteString("# A household for twigwatt. Three keys are needed: what the house wants, what the\n" +
		"# engine makes, how big the bank is. Every other key has a default: to change one,\n" +
		"# take the # from the start of its line and of its table's.\n")
	table := ""
	for i, s := range Manual() {
		if t := Table(s.Key); t != table || i == 0 {
			table = t
			if t != "" {
				hash := "# "
				if liveTable(t) {
					hash = ""
				}
				fmt.Fprintf(&b, "\n%s[%s]\n", hash, t)
			}
		}
		leaf := s.Key[strings.LastIndex(s.Key, ".")+1:]
		writeComment(&b, manualLine(s))
		if value, ok := live[s.Key]; ok {
			fmt.Fprintf(&b, "%s = %s\n", leaf, value)
		} else {
			fmt.Fprintf(&b, "# %s = %s\n", leaf, s.Default)
		}
	}
	return b.String()
}

// writeComment writes a comment in lines of at most 80 characters.
func writeComment(b *strings.Builder, text string) {
	const width = 80
	line := "#"
	for _, word := range strings.Fields(text) {
		if len([]rune(line))+1+len([]rune(word)) > width {
			fmt.Fprintln(b, line)
			line = "#  "
		}
		line += " " + word
	}
	fmt.Fprintln(b, line)
}

func liveTable(table string) bool {
	for key := range live {
		if Table(key) == table {
			return true
		}
	}
	return false
}

// manualLine says what a key means, its unit, what it may hold and its source.
func manualLine(s *Setting) string {
	parts := []string{s.Meaning}
	if s.Unit != "" {
		parts[0] += " (" + s.Unit + ")"
	}
	parts = append(parts, s.Allowed())
	if s.Source != yours && s.Source != ours {
		parts = append(parts, "default: "+s.Source)
	}
	return strings.Join(parts, "; ")
}
