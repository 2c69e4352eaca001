package scenarios

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"twigwatt/sim/calendar"
)

// value is a place in the settings that knows what may be put into it.
type value interface {
	set(raw any) error // raw as the TOML library decodes it; the error says what is allowed and what was given
	allowed() string
	show(places int) string // with so many digits, −1 for all
}

func refuse(allowed string, raw any) error {
	return fmt.Errorf("must be %s, got %s", allowed, given(raw))
}

// given writes a raw value as the household wrote it, without any type of Go.
func given(raw any) string {
	switch v := raw.(type) {
	case string:
		return fmt.Sprintf("%.80q", v)
	case float64:
		switch {
		case math.IsNaN(v):
			return "NaN"
		case math.IsInf(v, 0):
			return "infinity"
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	case []any:
		parts := make([]string, len(v))
		for i := range v {
			parts[i] = given(v[i])
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case map[string]any, []map[string]any:
		return "a table"
	case time.Time:
		if date, ok := localDate(v); ok {
			return date
		}
		return v.Format("2006-01-02T15:04:05")
	}
	return fmt.Sprint(raw)
}

// localDate writes a date of TOML; a time, or a date with one, is none.
func localDate(raw any) (string, bool) {
	t, ok := raw.(time.Time)
	if !ok || t.Location().String() != "date-local" {
		return "", false
	}
	return t.Format(time.DateOnly), true
}

// numeric reads an integer or a finite decimal.
func numeric(raw any) (float64, error) {
	switch v := raw.(type) {
	case int64:
		return float64(v), nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, refuse("a finite number", raw)
		}
		return v, nil
	}
	err := refuse("a number", raw)
	if text, ok := raw.(string); ok && strings.Contains(text, ",") {
		err = fmt.Errorf("%w; a decimal takes a point (3.5)", err)
	}
	return 0, err
}

// span of a number: from low to high, low itself left out where open.
type bounds struct {
	low, high float64
	open      bool
}

func from(low, high float64) bounds  { return bounds{low, high, false} }
func above(low, high float64) bounds { return bounds{low, high, true} }

func (b bounds) holds(x float64) bool { return (x > b.low || !b.open && x == b.low) && x <= b.high }

func (b bounds) String() string {
	low, high := trim(b.low), trim(b.high)
	switch {
	case b.open && math.IsInf(b.high, 1):
		return "more than " + low
	case math.IsInf(b.high, 1):
		return low + " or more"
	case b.open:
		return "more than " + low + ", at most " + high
	}
	return low + " to " + high
}

// trim writes a number with six digits, a whole one with all.
func trim(x float64) string { return digits(x, 6) }

// digits writes a number with so many digits, −1 for all it has.
func digits(x float64, n int) string {
	const mostWhole = 1 << 53
	if x == math.Trunc(x) && math.Abs(x) <= mostWhole {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', n, 64)
}

// number is a decimal; with whole, an integer. An unset number has no value in force.
type number struct {
	put     func(float64) // where it goes
	in      bounds
	whole   bool
	unset   bool
	written float64
}

func (n *number) set(raw any) error {
	x, err := numeric(raw)
	if err != nil {
		return err
	}
	if n.whole && x != math.Trunc(x) || !n.in.holds(x) {
		return refuse(n.allowed(), raw)
	}
	n.hold(x)
	return nil
}

// hold puts a number in force, none where it is NaN.
func (n *number) hold(x float64) {
	n.written, n.unset = x, math.IsNaN(x)
	n.put(x)
}

func (n *number) allowed() string {
	if n.whole {
		return "a whole number, " + n.in.String()
	}
	return n.in.String()
}

func (n *number) show(places int) string {
	if n.unset {
		return "none"
	}
	return digits(n.written, places)
}

// choice is one word of a list.
type choice[T ~string] struct {
	at *T
	of []T
}

func (c *choice[T]) set(raw any) error {
	text, ok := raw.(string)
	if !ok || !slices.Contains(c.of, T(text)) {
		err := refuse(c.allowed(), raw)
		if near, found := Near(text, wordsOf(c.of)); ok && found {
			err = fmt.Errorf("%w; did you mean %q?", err, near)
		}
		return err
	}
	*c.at = T(text)
	return nil
}

func wordsOf[T ~string](of []T) []string {
	all := make([]string, len(of))
	for i, word := range of {
		all[i] = string(word)
	}
	return all
}

func (c *choice[T]) allowed() string { return `one of "` + strings.Join(wordsOf(c.of), `", "`) + `"` }

func (c *choice[T]) show(int) string { return orNone(string(*c.at)) }

func orNone(text string) string {
	if text == "" {
		return "none"
	}
	return strconv.Quote(text)
}

// oneOf is an integer of a list.
type oneOf struct {
	at *int
	of []int64
}

func (o *oneOf) set(raw any) error {
	x, err := numeric(raw)
	n := int64(x)
	if err != nil || float64(n) != x || !slices.Contains(o.of, n) {
		return refuse(o.allowed(), raw)
	}
	*o.at = int(n)
	return nil
}

func (o *oneOf) allowed() string {
	return "one of " + strings.Trim(strings.Join(strings.Fields(fmt.Sprint(o.of)), ", "), "[]")
}

func (o *oneOf) show(int) string { return strconv.Itoa(*o.at) }

// words is any text.
type words struct{ at *string }

func (w *words) set(raw any) error {
	text, ok := raw.(string)
	if !ok || strings.TrimSpace(text) == "" {
		return refuse(w.allowed(), raw)
	}
	if utf8.RuneCountInString(text) > mostText || !printable(text) {
		return fmt.Errorf("must be %s of at most %d letters, digits and the like, got %.60q", w.allowed(), mostText, text)
	}
	*w.at = text
	return nil
}

func (w *words) allowed() string { return "a text" }
func (w *words) show(int) string { return orNone(*w.at) }

// file is the name of a file.
type file struct{ at *string }

func (f *file) set(raw any) error {
	text, ok := raw.(string)
	if !ok || strings.TrimSpace(text) == "" {
		return refuse(f.allowed(), raw)
	}
	*f.at = text
	return nil
}

func (f *file) allowed() string { return "a text" }
func (f *file) show(int) string { return orNone(*f.at) }

// flag is true or false.
type flag struct{ at *bool }

func (f *flag) set(raw any) error {
	v, ok := raw.(bool)
	if !ok {
		return refuse(f.allowed(), raw)
	}
	*f.at = v
	return nil
}

func (f *flag) allowed() string { return "true or false" }
func (f *flag) show(int) string { return strconv.FormatBool(*f.at) }

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

// clock is a time of day in minutes since midnight; below 0: none.
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

// monthDay is a day of every year, written 03-15.
type monthDay struct{ at *string }

func (m *monthDay) set(raw any) error {
	text, ok := raw.(string)
	if _, err := calendar.ParseDate("2024-" + text); !ok || err != nil {
		return refuse(m.allowed(), raw)
	}
	*m.at = text
	return nil
}

func (m *monthDay) allowed() string { return `a month and day like "03-15"` }
func (m *monthDay) show(int) string { return orNone(*m.at) }
