// Package scenarios turns the household's scenario file into a checked House.
//
// Read takes a file (TOML) or the name of an embedded example, puts every key
// through the one list of settings, and returns either a Scenario or every
// fault at once, each with file, line, key, what is allowed and what was given. Left
// out: whatever a household does not write down, and units other than the keys'.
package scenarios

import (
	"cmp"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"twigwatt/loads"
	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
)

// An Option changes how a scenario is read.
type Option func(*reading)

// Set overrides a key, as KEY=VALUE, with the same checks as the file.
func Set(assignment string) Option {
	return func(r *reading) { r.assignments = append(r.assignments, assignment) }
}

// Today says what day start = "today" means.
func Today(d calendar.Date) Option {
	return func(r *reading) { r.today = func() (calendar.Date, error) { return d, nil } }
}

// reading is a scenario on its way from text to House.
type reading struct {
	file        string
	text        string
	embedded    bool // an example: so are the files it names
	open        func(string) (io.ReadCloser, error)
	assignments []string
	today       func() (calendar.Date, error)
	list        *list
	entries     []entry
	faults      fault.Faults
	tableLines  map[string]int
	measured    map[string]*loads.Measured // files of loads that were read, by name
}

// entry is a key or table as the file or --set gives it.
type entry struct {
	key   []string
	value any
	line  int // ofSet for --set
}

// ofSet stands for the line of what --set gave.
const ofSet = -1

// Read reads a scenario. A name without a path or an ending may be an embedded
// example; any other is opened, as are the files it names, beside it. What is
// wrong comes back as fault.Faults, but for a file that cannot be opened.
func Read(name string, open func(string) (io.ReadCloser, error), options ...Option) (*Scenario, error) {
	r := &reading{file: name, open: open, tableLines: map[string]int{}, measured: map[string]*loads.Measured{},
		today: func() (calendar.Date, error) { return 0, errNoToday }}
	for _, option := range options {
		option(r)
	}
	if err := r.load(name); err != nil {
		return nil, err
	}
	if !r.decode() {
		return nil, r.faults
	}
	for _, assignment := range r.assignments {
		r.assign(assignment)
	}
	return r.finish()
}

// finish makes the scenario of the entries.
func (r *reading) finish() (*Scenario, error) {
	if r.tooMany() {
		return nil, r.faults
	}
	r.list = newList(r.today)
	r.list.name = fault.Plain(strings.TrimSuffix(path.Base(strings.ReplaceAll(r.file, `\`, "/")), ".toml"))
	r.enter()
	r.fill()
	r.check()
	var scenario *Scenario
	if len(r.faults) == 0 {
		scenario = r.build()
	}
	if len(r.faults) > 0 {
		slices.SortStableFunc(r.faults, func(a, b fault.Fault) int {
			return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line)) // "--set" sorts before a name
		})
		return nil, r.faults
	}
	return scenario, nil
}

// load reads the scenario's text.
func (r *reading) load(name string) error {
	bareName := !strings.ContainsAny(name, `/\.`)
	if text, err := examples.ReadFile(name + ".toml"); bareName && err == nil {
		r.text, r.embedded = string(text), true
		return nil
	}
	f, err := r.open(name)
	if err != nil && bareName {
		return fmt.Errorf("%s: no such file, and no embedded example of that name (there is: %s)", name,
			strings.Join(Examples(), ", "))
	}
	if err != nil {
		return err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if len(text) > mostBytes {
		return fault.Faults{{File: fault.Plain(name), Text: "must be smaller than 1 MB to be a scenario"}}
	}
	r.text = string(text)
	return nil
}

// decode takes the text apart into entries; false where it is no TOML.
func (r *reading) decode() bool {
	text := r.text
	if line, why := tooMuch(text); why != "" {
		r.fault(line, "", "%s", why)
		return false
	}
	var raw map[string]any
	md, err := toml.Decode(text, &raw)
	if err != nil {
		r.syntax(err, text)
		return false
	}
	if n := len(md.Keys()); n > mostKeys {
		r.fault(0, "", "must have at most %d keys, got %d", mostKeys, n)
		return false
	}
	where := newLines(text)
	for _, key := range md.Keys() {
		r.entries = append(r.entries, entry{key: key, value: at(raw, key), line: where.of(key)})
	}
	return true
}

// at walks a decoded document to a key. Inside a list of tables it stops at the
// list: its keys are reported with it.
func at(raw map[string]any, key []string) any {
	var value any = raw
	for _, part := range key {
		table, ok := value.(map[string]any)
		if !ok {
			return value
		}
		value = table[part]
	}
	return value
}

// enter puts the entries through the list.
func (r *reading) enter() {
	var reported []string // unknown tables: their keys need no line of their own
	for _, e := range r.entries {
		name := strings.Join(e.key, ".")
		if misquoted(e.key) {
			r.fault(e.line, "", "no such key, with a dot within quotes: %.80q", name)
			reported = append(reported, name)
			continue
		}
		if slices.ContainsFunc(reported, func(table string) bool { return strings.HasPrefix(name, table+".") }) {
			continue
		}
		r.makeNamed(e)
		if _, isTable := e.value.(map[string]any); isTable && r.isTable(e.key) {
			r.tableLines[name] = e.line
			continue
		}
		if _, isList := e.value.([]map[string]any); isList {
			reported = append(reported, name)
			one := name
			if slices.Contains(named, name) {
				one += ".NAME"
			}
			r.fault(e.line, name, "must not be a list of tables [[%s]]: write [%s]", name, one)
			continue
		}
		if !r.put(e, name) {
			reported = append(reported, name)
		}
	}
}

// makeNamed makes the settings of load.appliance.NAME and its like when an
// entry first names it.
func (r *reading) makeNamed(e entry) {
	table, own := namedTable(e.key)
	if _, isTable := e.value.(map[string]any); table == "" || nameFault(own) != "" || !isTable && e.key[len(e.key)-1] == own &&
		strings.Join(e.key, ".") == table+"."+own {
		return
	}
	if name := table + "." + own; !r.list.named[name] {
		r.list.named[name] = true
		r.list.addNamed(table, own)
		r.tableLines[name] = e.line
	}
}

// namedTable returns the table of a key in which names of the household's own stand, and the name
// that stands there; "" where it stands in none.
func namedTable(key []string) (table, own string) {
	for deep := 1; deep < len(key); deep++ {
		if table := strings.Join(key[:deep], "."); slices.Contains(named, table) {
			return table, key[deep]
		}
	}
	return "", ""
}

func (r *reading) isTable(key []string) bool {
	name := strings.Join(key, ".")
	return slices.Contains(tables, name) || slices.Contains(named, name) || r.list.named[name]
}

// tables are the top-level tables.
var tables = []string{"place", "load", "other", "panels", "engine", "tending", "battery", "tank", "standby", "woodpile", "luck", "plan", "money"}

// put gives a value to a key; false where there is no such key.
func (r *reading) put(e entry, name string) bool {
	s, known := r.list.byKey[name]
	table, own := namedTable(e.key)
	switch {
	case known:
		s.Given, s.Line = true, e.line
		if err := s.value.set(e.value); err != nil {
			s.wrong = true
			r.fault(e.line, name, "%s", err)
		}
	case r.isTable(e.key):
		r.fault(e.line, name, "is a table: its keys stand in it, like %s", r.keyOf(name))
	case slices.Contains(named, Table(name)) && r.isLeaf(Table(name), own):
		r.fault(e.line, name, "must stand in a table with a name of your own: [%s.NAME], or %s.NAME.%s", table, table, own)
	case table != "" && nameFault(own) != "":
		r.fault(e.line, name, "%s", nameFault(own))
	default:
		text := "no such key"
		if _, isTable := e.value.(map[string]any); isTable {
			text = "no such table"
		}
		if near, ok := Near(name, r.words()); ok {
			text += "; did you mean " + near + "?"
		}
		r.fault(e.line, name, "%s", text)
	}
	return known
}

// isLeaf reports whether a named table has such a key in each of its names.
func (r *reading) isLeaf(table, leaf string) bool {
	return slices.ContainsFunc(Manual(), func(s *Setting) bool { return s.Key == table+".NAME."+leaf })
}

// keyOf returns a key of a table, for an example.
func (r *reading) keyOf(table string) string {
	for _, s := range Manual() {
		if strings.HasPrefix(s.Key, table+".") {
			return s.Key
		}
	}
	return table + ".KEY"
}

// words are every key and table, for near matches.
func (r *reading) words() []string {
	all := slices.Concat(tables, named)
	slices.Sort(all)
	all = slices.Compact(all)
	for _, s := range r.list.all {
		all = append(all, s.Key)
	}
	return all
}

// fill puts the defaults in force, last those that depend on other keys.
func (r *reading) fill() {
	for _, late := range []bool{false, true} {
		for _, s := range r.list.all {
			if !s.Given && s.fill != nil && s.late == late {
				s.fill()
				if r.list.given("battery.rate_table") && (s.Key == "battery.at_hand_share" || s.Key == "battery.settle_per_h") {
					s.Source = "a fit to battery.rate_table"
				}
			}
		}
	}
}

func (r *reading) fault(line int, key, format string, args ...any) {
	f := fault.Fault{File: fault.Plain(r.file), Line: line, Key: shortened(fault.Plain(key), mostText),
		Text: shortened(fault.Plain(fmt.Sprintf(format, args...)), mostFault)}
	if line == ofSet {
		f.File, f.Line = "--set", 0
	}
	r.faults = append(r.faults, f)
}

// faultAt blames a setting where it stands or, where it is missing, its table.
func (r *reading) faultAt(key, format string, args ...any) {
	line := r.tableLines[Table(key)]
	if s := r.list.byKey[key]; s != nil && s.Given {
		line = s.Line
	}
	r.fault(line, key, format, args...)
}

// Table returns the table a key stands in, "" for those at the top.
func Table(key string) string { return key[:max(0, strings.LastIndex(key, "."))] }
