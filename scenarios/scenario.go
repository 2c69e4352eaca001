package scenarios

import (
	"maps"
	"math"
	"slices"
	"strings"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
)

// A Scenario is a checked household, ready to run, with how it chooses its runs.
type Scenario struct {
	*sim.Household
	Text     string // as it was read
	Rule     plan.Rule
	Settings []*Setting // every key with its value in force

	RatedKWh        float64 // the bank's size at rated_hours
	Volts           float64 // of the bank; 0: not known
	DryShareWeighed float64 // oven-dry share of a kg of wood as the household weighs it
	LoadScale       float64 // load.scale

	reading *reading // what it was made of
	wants   *loads.Wants
}

// A Change is a key with another value: a number, text, truth, or what the TOML library makes of it.
type Change struct {
	Key   string
	Value any
}

// With is the household with some keys changed: made in memory by the same settings and checks
// as by --set, defaults that depend on them following. No file is read but one that a change
// names. The error is fault.Faults.
func (s *Scenario) With(changes ...Change) (*Scenario, error) {
	r := s.reading.again()
	for _, c := range changes {
		switch x := c.Value.(type) {
		case int:
			c.Value = int64(x)
		case plan.Foresight:
			c.Value = string(x)
		}
		r.change(strings.Split(c.Key, "."), c.Value)
	}
	return r.finish()
}

// again is a reading of the same entries.
func (r *reading) again() *reading {
	return &reading{file: r.file, text: r.text, embedded: r.embedded, open: r.open, today: r.today,
		entries: slices.Clone(r.entries), tableLines: map[string]int{}, measured: maps.Clone(r.measured)}
}

// On is the household with a span of the same length, so many days at least, that begins on a
// date, in typical foresight, at a charge in percent (at most the ceiling). Where its measured
// load does not reach that far, the same day of its own span stands for it, with a warning.
func (s *Scenario) On(date calendar.Date, days int, chargePct float64) (*Scenario, error) {
	at := func(start calendar.Date, days int) (*Scenario, error) {
		const digits = 1e9 // of a share of the ceiling, as it was given in percent
		most := math.Round(100*digits*s.Bank.CeilingShare) / digits
		return s.With(Change{"plan.foresight", plan.Typical}, Change{"battery.start_pct", min(chargePct, most)},
			Change{"start", start.String()}, Change{"days", days})
	}
	on, err := at(date, max(s.Span.Days, days))
	if err != nil {
		same, ok := sameDay(s.Span, date)
		left := int(s.Span.End() - same)
		if !ok || left < days {
			return nil, err
		}
		if on, err = at(same, left); err != nil {
			return nil, err
		}
	}
	on.Warnings = slices.DeleteFunc(on.Warnings, func(w sim.Warning) bool { return w.Code == outsideSpan }) // of another span
	const longDays = 31
	if away := date - s.Span.Start; !s.Pile.Endless && (away > longDays || away < -longDays) {
		on.Warnings.Add("stacks_of_another_day",
			"the stacks are taken to lie on %s as the scenario has them for %s: count them again now and then",
			date.Text(), s.Span.Start.Text())
	}
	if on.Span.Start != date {
		on.Warnings.Add("load_of_another_day", "the measured load does not reach %s; the load from %s on was taken",
			date.Text(), on.Span.Start.Text())
	}
	return on, nil
}

// sameDay is the calendar day in a span.
func sameDay(span calendar.Span, date calendar.Date) (calendar.Date, bool) {
	for d := span.Start; d < span.End(); d++ {
		if d.Month() == date.Month() && d.Day() == date.Day() {
			return d, true
		}
	}
	return 0, false
}

// OfSize is the household with a bank of a rated size.
func (s *Scenario) OfSize(kWh float64) (*sim.Household, error) {
	sized, err := s.With(Change{"battery.kwh", kWh})
	if err != nil {
		return nil, err
	}
	return sized.Household, nil
}
