package scenarios

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"twigwatt/sim/calendar"
)

// texts reads a text or a list of texts.
func texts(raw any, allowed string) ([]string, error) {
	if text, ok := raw.(string); ok {
		return []string{text}, nil
	}
	list, ok := raw.([]any)
	if !ok {
		return nil, refuse(allowed, raw)
	}
	var all []string
	for _, item := range list {
		text, ok := item.(string)
		if !ok {
			text, ok = localDate(item)
		}
		if !ok {
			return nil, refuse(allowed, raw)
		}
		all = append(all, text)
	}
	return all, nil
}

// windows are hours of the day.
type windows struct{ at *[]calendar.Window }

func (w *windows) set(raw any) error {
	list, err := texts(raw, w.allowed())
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return refuse(w.allowed(), raw)
	}
	var all []calendar.Window
	for _, text := range list {
		window, err := calendar.ParseWindow(text)
		if err != nil {
			return err
		}
		all = append(all, window)
	}
	*w.at = calendar.Merge(all)
	return nil
}

func (w *windows) allowed() string { return `a list of hours like ["07:00-21:00"]` }
func (w *windows) show(int) string { return showList(*w.at) }

func showList[T fmt.Stringer](list []T) string {
	quoted := make([]string, len(list))
	for i, item := range list {
		quoted[i] = strconv.Quote(item.String())
	}
	return "[" + strings.Join(quoted, ", ") + "]"
}

// weekdays are days of the week.
type weekdays struct{ at *calendar.Weekdays }

func (w *weekdays) set(raw any) error {
	set, err := union(raw, w.allowed(), calendar.ParseWeekdays)
	if err == nil {
		*w.at = set
	}
	return err
}

func (w *weekdays) allowed() string {
	return `"all", "workdays", "weekend", or days like ["mon", "thu-sat"]`
}
func (w *weekdays) show(int) string { return showNames(w.at.String()) }

// months are months of the year.
type months struct{ at *calendar.Months }

func (m *months) set(raw any) error {
	set, err := union(raw, m.allowed(), calendar.ParseMonths)
	if err == nil {
		*m.at = set
	}
	return err
}

func (m *months) allowed() string { return `"all", or months like "nov-mar" or ["jan", "dec"]` }
func (m *months) show(int) string { return showNames(m.at.String()) }

func showNames(names string) string {
	parts := strings.Split(names, ", ")
	if len(parts) == 1 {
		return strconv.Quote(names)
	}
	return `["` + strings.Join(parts, `", "`) + `"]`
}

func union[S ~uint8 | ~uint16](raw any, allowed string, parse func(string) (S, error)) (S, error) {
	list, err := texts(raw, allowed)
	if err != nil {
		return 0, err
	}
	var all S
	for _, text := range list {
		for part := range strings.SplitSeq(text, ",") {
			set, err := parse(part)
			if err != nil {
				return 0, err
			}
			all |= set
		}
	}
	if all == 0 {
		return 0, refuse(allowed, raw)
	}
	return all, nil
}

// ranges are dates and ranges of dates.
type ranges struct{ at *[]calendar.DateRange }

func (r *ranges) set(raw any) error {
	if date, ok := localDate(raw); ok {
		raw = date
	}
	list, err := texts(raw, r.allowed())
	if err != nil {
		return err
	}
	var all []calendar.DateRange
	for _, text := range list {
		one, err := calendar.ParseDateRange(text)
		if err != nil {
			return err
		}
		all = append(all, one)
	}
	*r.at = all
	return nil
}

func (r *ranges) allowed() string { return `a list of dates like ["2025-07-10..2025-07-24"]` }
func (r *ranges) show(int) string { return showList(*r.at) }

// clock is a time of day in minutes since midnight.
// clock is a time of day; below 0: none.
type clock struct{ at *int }

func (c *clock) set(raw any) error {
	text, ok := raw.(string)
	if !ok {
		return refuse(c.allowed(), raw)
	}
	minute, err := calendar.ParseClock(text)
	if err == nil {
		*c.at = minute
	}
	return err
}

func (c *clock) allowed() string { return `a time of day like "16:30"` }
func (c *clock) show(int) string {
	if *c.at < 0 {
		return "none"
	}
	return strconv.Quote(calendar.Clock(*c.at))
}

// yearly is twelve monthly means.
type yearly struct {
	at    *[12]float64
	in    bounds
	unset bool
}

func (y *yearly) set(raw any) error {
	list, ok := raw.([]any)
	if !ok || len(list) != 12 {
		got := given(raw)
		if ok {
			got = fmt.Sprintf("%d of them", len(list))
		}
		return fmt.Errorf("must be %s, got %s", y.allowed(), got)
	}
	var all [12]float64
	for i, item := range list {
		x, err := numeric(item)
		if err != nil || !y.in.holds(x) {
			return fmt.Errorf("must be %s, got %s for month %d", y.allowed(), given(item), i+1)
		}
		all[i] = x
	}
	*y.at, y.unset = all, false
	return nil
}

func (y *yearly) allowed() string {
	return "twelve monthly means, January first, each " + y.in.String()
}

func (y *yearly) show(places int) string {
	if y.unset {
		return "none"
	}
	parts := make([]string, 12)
	for i, x := range y.at {
		parts[i] = digits(x, places)
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// pairs is a curve: two or more pairs (or as many as least says) whose first numbers rise.
type pairs struct {
	at     *[][2]float64
	least  int
	first  bounds
	second bounds
	names  string // of a pair, as in "[kW, kg/h]"
}

func (p *pairs) set(raw any) error {
	list, ok := raw.([]any)
	if !ok || len(list) < p.least {
		return refuse(p.allowed(), raw)
	}
	var all [][2]float64
	for _, item := range list {
		pair, ok := item.([]any)
		if !ok || len(pair) != 2 {
			return refuse(p.allowed(), raw)
		}
		x, errX := numeric(pair[0])
		y, errY := numeric(pair[1])
		if errX != nil || errY != nil || !p.first.holds(x) || !p.second.holds(y) {
			return fmt.Errorf("must be %s, got %s", p.allowed(), given(item))
		}
		if n := len(all); n > 0 && x <= all[n-1][0] {
			return fmt.Errorf("must be %s, got %g after %g", p.allowed(), x, all[n-1][0])
		}
		all = append(all, [2]float64{x, y})
	}
	*p.at = all
	return nil
}

func (p *pairs) allowed() string {
	return fmt.Sprintf("%d or more pairs %s, the first of them rising, %s and %s", p.least, p.names, p.first, p.second)
}

func (p *pairs) show(places int) string {
	if len(*p.at) == 0 {
		return "none"
	}
	parts := make([]string, len(*p.at))
	for i, pair := range *p.at {
		parts[i] = "[" + digits(pair[0], places) + ", " + digits(pair[1], places) + "]"
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// roomC is a temperature or "outdoor".
type roomC struct {
	at      *float64
	outdoor *bool
	in      bounds
}

func (r *roomC) set(raw any) error {
	if text, ok := raw.(string); ok && text == "outdoor" {
		*r.outdoor = true
		return nil
	}
	x, err := numeric(raw)
	if err != nil || !r.in.holds(x) {
		return refuse(r.allowed(), raw)
	}
	*r.at, *r.outdoor = x, false
	return nil
}

func (r *roomC) allowed() string { return r.in.String() + `, or "outdoor"` }

func (r *roomC) show(places int) string {
	if *r.outdoor {
		return `"outdoor"`
	}
	return digits(*r.at, places)
}

// firstDay is a date or "today".
type firstDay struct {
	at    *calendar.Date
	today func() (calendar.Date, error)
}

func (f *firstDay) set(raw any) error {
	text, ok := raw.(string)
	if !ok {
		text, ok = localDate(raw)
	}
	if ok && text == "today" {
		date, err := f.today()
		if err == nil {
			*f.at = date
		}
		return err
	}
	date, err := calendar.ParseDate(text)
	if !ok || err != nil || date.Year() < 1970 || date.Year() > 2200 {
		return refuse(f.allowed(), raw)
	}
	*f.at = date
	return nil
}

func (f *firstDay) allowed() string { return `a date like 2025-01-31, from 1970 to 2200, or "today"` }
func (f *firstDay) show(int) string { return f.at.String() }

var errNoToday = errors.New(`"today" has no meaning here: give a date like 2025-01-31`)
