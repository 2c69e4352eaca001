package scenarios

import (
	"slices"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/money"
	"twigwatt/sim/plan"
	"twigwatt/sim/sun"
	"twigwatt/storage/tank"
)

// A Setting is one key of the scenario file, with its value in force.
type Setting struct {
	Key     string
	Unit    string
	Meaning string
	Source  string // of the default, or of the range where there is none
	Default string // as it is written or in words, "" where there is none
	Given   bool   // by the file or by --set
	Line    int    // where: 0 for a default, below 0 for --set

	value value
	fill  func() // puts the default in force; nil where there is none
	late  bool   // its default depends on other keys
	wrong bool   // its value was refused
}

// Allowed says what the key may hold.
func (s *Setting) Allowed() string { return s.value.allowed() }

// InForce writes the value in force as TOML with six digits, "none" where there is none.
func (s *Setting) InForce() string { return s.value.show(6) }

// Exact is InForce with every digit.
func (s *Setting) Exact() string { return s.value.show(-1) }

// values are where the settings put what is given: into what the household is made of, and
// beside it what build must still work out.
type values struct {
	name, climate string
	spec          sim.Spec
	wants         loads.Wants
	rule          plan.Rule

	appliances          []*loads.Appliance
	chores              []*loads.Chore
	loadFile, otherFile string

	levelKWhM2  *[12]float64 // nil: not known
	sunDays     string
	sunMemory   float64
	noonMinute  int
	groundShare float64
	horizon     sun.Horizon
	arrays      []*panelKeys

	health                               float64 // of the bank, a share of its rated size
	woodCurve                            [][2]float64
	woodIdleKgH, woodPerKWhKg, lightUpKg float64 // as weighed
	weighed                              string

	ratedKWh               float64
	room                   room
	rateTable              [][2]float64
	chargePct              float64
	chargeCurve, cycleLife [][2]float64

	tank     tank.Tank
	tankRoom room
	standby  sim.Standby
	money    money.Prices

	species           string
	rackShare, rackKg float64
	stacks, cuts      []*amount
	sameStart         int // minute of the day
	sameHours         float64
}

// panelKeys are panels as they are written.
type panelKeys struct {
	sun.Array
	wired   string
	snowPct [12]float64
}

// An amount is a stack or a yearly cut as it is written.
type amount struct {
	name, species, piece, cover              string
	dryKg, asIsKg, stackedM3, solidM3, cords float64
	moisturePct                              float64
	on                                       string // of a cut: month and day
}

// list is every setting of a scenario, in the order of the manual: the only
// place where key, unit, default, range, meaning, source and where it goes stand.
type list struct {
	values
	all   []*Setting
	byKey map[string]*Setting
	named map[string]bool // tables with names of the household's own
	today func() (calendar.Date, error)
}

func (l *list) add(s *Setting) *Setting {
	l.all = append(l.all, s)
	l.byKey[s.Key] = s
	return s
}

// val adds a setting whose default is written as in a file; "": it has none.
func (l *list) val(key string, v value, def, meaning, source string) *Setting {
	s := l.add(&Setting{Key: key, Meaning: meaning, Source: source, Default: def, value: v})
	if def != "" {
		s.fill = func() {
			if err := v.set(bare(def)); err != nil {
				panic("scenarios: the default of " + key + ": " + err.Error())
			}
		}
	}
	return s
}

// num adds a number with a fixed default.
func (l *list) num(key, unit string, put func(float64), in bounds, def float64, meaning, source string) *number {
	n := l.opt(key, unit, put, in, meaning, source)
	s := l.byKey[key]
	s.Default, s.fill = trim(def), func() { n.hold(def) }
	return n
}

// whole adds a whole number with a fixed default.
func (l *list) whole(key, unit string, put func(float64), in bounds, def float64, meaning, source string) {
	l.num(key, unit, put, in, def, meaning, source).whole = true
}

// numBy adds a number whose default depends on other keys; NaN from def means none.
func (l *list) numBy(key, unit string, put func(float64), in bounds, words string, def func() float64,
	meaning, source string) *number {
	n := l.opt(key, unit, put, in, meaning, source)
	l.byKey[key].by(words, func() { n.hold(def()) })
	return n
}

// by gives a setting a default that depends on other keys, in words.
func (s *Setting) by(words string, fill func()) *Setting {
	s.Default, s.late, s.fill = words, true, fill
	return s
}

// opt adds a number without a default.
func (l *list) opt(key, unit string, put func(float64), in bounds, meaning, source string) *number {
	n := &number{put: put, in: in, unset: true}
	l.add(&Setting{Key: key, Unit: unit, Meaning: meaning, Source: source, value: n})
	return n
}

// to puts a number where it goes as it is written, share one in percent as a share of 1, count
// one that is whole.
func to(at *float64) func(float64)    { return func(x float64) { *at = x } }
func share(at *float64) func(float64) { return func(x float64) { *at = x / 100 } }
func count(at *int) func(float64)     { return func(x float64) { *at = int(x) } }
func nowhere(float64)                 {}

// given reports whether the file or --set gives a key.
func (l *list) given(key string) bool { s := l.byKey[key]; return s != nil && s.Given }

// x is a number in force as it is written; 0 where there is none.
func (l *list) x(key string) float64 {
	if n := l.byKey[key].value.(*number); !n.unset {
		return n.written
	}
	return 0
}

// inOrder returns the settings table by table.
func (l *list) inOrder() []*Setting {
	rank := func(s *Setting) int {
		table := Table(s.Key)
		if i := slices.Index(order, table); i >= 0 {
			return i
		}
		return slices.Index(order, Table(table))
	}
	sorted := slices.Clone(l.all)
	slices.SortStableFunc(sorted, func(a, b *Setting) int { return rank(a) - rank(b) })
	return sorted
}

// order is that of the tables; named are those with names of the household's own, like
// load.appliance.NAME.
var (
	order = []string{"", "place", "load", "load.appliance", "load.chore", "other", "panels", "engine", "tending", "battery", "tank",
		"standby", "woodpile", "woodpile.stack", "woodpile.cut", "luck", "plan", "money"}
	named = []string{"load.appliance", "load.chore", "panels", "woodpile.stack", "woodpile.cut"}
)

// Manual returns every key with NAME for the household's own names, in order.
func Manual() []*Setting {
	l := newList(func() (calendar.Date, error) { return 0, errNoToday })
	for _, table := range named {
		l.addNamed(table, "NAME")
	}
	return l.inOrder()
}
