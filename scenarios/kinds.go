package scenarios

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"twigwatt/sim/calendar"
	"twigwatt/sim/sun"
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
		return listed(v, given)
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

// listed writes a list as TOML does.
func listed[T any](all []T, write func(T) string) string {
	parts := make([]string, len(all))
	for i, item := range all {
		parts[i] = write(item)
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// localDate writes a date of TOML; a time, or a date with one, is none.
func localDate(raw any) (string, bool) {
	t, ok := raw.(time.Time)
	return t.Format(time.DateOnly), ok && t.Location().String() == "date-local"
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

// parsed is a value that is read by a function of its own.
type parsed[T any] struct {
	at    *T
	words string                   // what is allowed
	read  func(raw any) (T, error) // errOther: it is anything else than what is allowed
	write func(x T, places int) string
}

var errOther = errors.New("something else")

func (p *parsed[T]) set(raw any) error {
	x, err := p.read(raw)
	if errors.Is(err, errOther) {
		return refuse(p.words, raw)
	}
	if err == nil {
		*p.at = x
	}
	return err
}

func (p *parsed[T]) allowed() string        { return p.words }
func (p *parsed[T]) show(places int) string { return p.write(*p.at, places) }

// plain writes what has no digits to round.
func plain[T any](write func(T) string) func(T, int) string {
	return func(x T, _ int) string { return write(x) }
}

// quoted writes what has a text of its own.
func quoted[T fmt.Stringer](x T) string { return strconv.Quote(x.String()) }

// fromText reads a text.
func fromText[T any](read func(string) (T, error)) func(any) (T, error) {
	return func(raw any) (T, error) {
		if text, ok := raw.(string); ok {
			return read(text)
		}
		var none T
		return none, errOther
	}
}

// choice is one word of a list.
func choice[T ~string](at *T, of []T) value {
	words := make([]string, len(of))
	for i, word := range of {
		words[i] = string(word)
	}
	allowed := `one of "` + strings.Join(words, `", "`) + `"`
	return &parsed[T]{at, allowed, fromText(func(text string) (T, error) {
		if slices.Contains(words, text) {
			return T(text), nil
		}
		if near, found := Near(text, words); found {
			return "", fmt.Errorf("%w; did you mean %q?", refuse(allowed, text), near)
		}
		return "", errOther
	}), plain(func(x T) string { return orNone(string(x)) })}
}

func orNone(text string) string {
	if text == "" {
		return "none"
	}
	return strconv.Quote(text)
}

// oneOf is an integer of a list.
func oneOf(at *int, of ...int) value {
	allowed := "one of " + strings.Trim(strings.Join(strings.Fields(fmt.Sprint(of)), ", "), "[]")
	return &parsed[int]{at, allowed, func(raw any) (int, error) {
		x, err := numeric(raw)
		if n := int(x); err == nil && float64(n) == x && slices.Contains(of, n) {
			return n, nil
		}
		return 0, errOther
	}, plain(strconv.Itoa)}
}

// words is any text that fits on a line.
func words(at *string) value {
	return text(at, func(line string) error {
		if utf8.RuneCountInString(line) > mostText || !printable(line) {
			return fmt.Errorf("must be a text of at most %d letters, digits and the like, got %.60q", mostText, line)
		}
		return nil
	})
}

// file is the name of a file.
func file(at *string) value { return text(at, func(string) error { return nil }) }

// text is a text that is not empty and passes a check.
func text(at *string, check func(string) error) value {
	return &parsed[string]{at, "a text", fromText(func(text string) (string, error) {
		if strings.TrimSpace(text) == "" {
			return "", errOther
		}
		return text, check(text)
	}), plain(orNone)}
}

// flag is true or false.
func flag(at *bool) value {
	return &parsed[bool]{at, "true or false", func(raw any) (bool, error) {
		if x, ok := raw.(bool); ok {
			return x, nil
		}
		return false, errOther
	}, plain(strconv.FormatBool)}
}

// texts reads a text or a list of texts; a date is one.
func texts(raw any) ([]string, error) {
	list, ok := raw.([]any)
	if !ok {
		list = []any{raw}
	}
	var all []string
	for _, item := range list {
		text, ok := item.(string)
		if !ok {
			text, ok = localDate(item)
		}
		if !ok {
			return nil, errOther
		}
		all = append(all, text)
	}
	return all, nil
}

// each reads a list of texts one by one.
func each[T any](read func(string) (T, error)) func(any) ([]T, error) {
	return func(raw any) ([]T, error) {
		list, err := texts(raw)
		var all []T
		for _, text := range list {
			x, err := read(text)
			if err != nil {
				return nil, err
			}
			all = append(all, x)
		}
		return all, err
	}
}

func showList[T fmt.Stringer](list []T) string { return listed(list, quoted[T]) }

// windows are hours of the day.
func windows(at *[]calendar.Window) value {
	return &parsed[[]calendar.Window]{at, `a list of hours like ["07:00-21:00"]`, func(raw any) ([]calendar.Window, error) {
		all, err := each(calendar.ParseWindow)(raw)
		if err == nil && len(all) == 0 {
			err = errOther
		}
		return calendar.Merge(all), err
	}, plain(showList[calendar.Window])}
}

// ranges are dates and ranges of dates.
func ranges(at *[]calendar.DateRange) value {
	return &parsed[[]calendar.DateRange]{at, `a list of dates like ["2025-07-10..2025-07-24"]`,
		each(calendar.ParseDateRange), plain(showList[calendar.DateRange])}
}

// weekdays are days of the week.
func weekdays(at *calendar.Weekdays) value {
	return &parsed[calendar.Weekdays]{at, `"all", "workdays", "weekend", or days like ["mon", "thu-sat"]`,
		union(calendar.ParseWeekdays), plain(showNames[calendar.Weekdays])}
}

// months are months of the year.
func months(at *calendar.Months) value {
	return &parsed[calendar.Months]{at, `"all", or months like "nov-mar" or ["jan", "dec"]`,
		union(calendar.ParseMonths), plain(showNames[calendar.Months])}
}

func showNames[T fmt.Stringer](set T) string {
	if names := strings.Split(set.String(), ", "); len(names) > 1 {
		return listed(names, strconv.Quote)
	}
	return quoted(set)
}

// union reads sets and puts them together.
func union[S ~uint8 | ~uint16](read func(string) (S, error)) func(any) (S, error) {
	return func(raw any) (S, error) {
		list, err := texts(raw)
		if err != nil || len(list) == 0 {
			return 0, errOther
		}
		var all S
		for part := range strings.SplitSeq(strings.Join(list, ","), ",") {
			set, err := read(part)
			if err != nil {
				return 0, err
			}
			all |= set
		}
		return all, nil
	}
}

// clock is a time of day in minutes since midnight; below 0: none.
func clock(at *int) value {
	return &parsed[int]{at, `a time of day like "16:30"`, fromText(calendar.ParseClock), plain(func(minute int) string {
		if minute < 0 {
			return "none"
		}
		return strconv.Quote(calendar.Clock(minute))
	})}
}

// clockWithin is a time of day between two, in minutes since midnight.
func clockWithin(at *int, first, last int) value {
	allowed := fmt.Sprintf("a time of day from %q to %q", calendar.Clock(first), calendar.Clock(last))
	return &parsed[int]{at, allowed, fromText(func(text string) (int, error) {
		minute, err := calendar.ParseClock(text)
		if err == nil && (minute < first || minute > last) {
			err = errOther
		}
		return minute, err
	}), plain(func(minute int) string { return strconv.Quote(calendar.Clock(minute)) })}
}

// around is a horizon: points of a compass direction and a height, in any order.
func around(at *sun.Horizon) value {
	const allowed = "a list of pairs [compass, height], 0 to 360 and 0 to 60, no direction twice"
	return &parsed[sun.Horizon]{at, allowed, func(raw any) (horizon sun.Horizon, err error) {
		list, ok := raw.([]any)
		if !ok {
			return nil, errOther
		}
		for _, item := range list {
			pair, ok := item.([]any)
			if !ok || len(pair) != 2 {
				return nil, refuse(allowed, item)
			}
			compass, errC := numeric(pair[0])
			height, errH := numeric(pair[1])
			if errC != nil || errH != nil || !from(0, 360).holds(compass) || !from(0, 60).holds(height) {
				return nil, refuse(allowed, item)
			}
			horizon = append(horizon, sun.Hill{CompassDeg: math.Mod(compass, 360), HeightDeg: height})
		}
		slices.SortFunc(horizon, func(a, b sun.Hill) int { return cmp.Compare(a.CompassDeg, b.CompassDeg) })
		for i := 1; i < len(horizon); i++ {
			if horizon[i].CompassDeg == horizon[i-1].CompassDeg {
				return nil, fmt.Errorf("must be %s, got %g twice", allowed, horizon[i].CompassDeg)
			}
		}
		return horizon, nil
	}, func(horizon sun.Horizon, places int) string {
		return listed(horizon, func(p sun.Hill) string {
			return listed([]float64{p.CompassDeg, p.HeightDeg}, func(x float64) string { return digits(x, places) })
		})
	}}
}

// monthDay is a day of every year, written 03-15.
func monthDay(at *string) value {
	return &parsed[string]{at, `a month and day like "03-15"`, fromText(func(text string) (string, error) {
		if _, err := calendar.ParseDate("2024-" + text); err != nil {
			return "", errOther
		}
		return text, nil
	}), plain(orNone)}
}

// firstDay is a date or "today".
func firstDay(at *calendar.Date, today func() (calendar.Date, error)) value {
	return &parsed[calendar.Date]{at, `a date like 2025-01-31, from 1970 to 2200, or "today"`, func(raw any) (calendar.Date, error) {
		list, err := texts(raw)
		if err != nil || len(list) != 1 {
			return 0, errOther
		}
		if list[0] == "today" {
			return today()
		}
		date, err := calendar.ParseDate(list[0])
		if err != nil || date.Year() < 1970 || date.Year() > 2200 {
			return 0, errOther
		}
		return date, nil
	}, plain(calendar.Date.String)}
}

var errNoToday = errors.New(`"today" has no meaning here: give a date like 2025-01-31`)

// room is the air around the bank: a temperature, or that of outdoors.
type room struct {
	c       float64
	outdoor bool
}

// roomC is a temperature or "outdoor".
func roomC(at *room, in bounds) value {
	return &parsed[room]{at, in.String() + `, or "outdoor"`, func(raw any) (room, error) {
		if raw == "outdoor" {
			return room{at.c, true}, nil
		}
		x, err := numeric(raw)
		if err != nil || !in.holds(x) {
			return room{}, errOther
		}
		return room{x, false}, nil
	}, plain(func(r room) string {
		if r.outdoor {
			return `"outdoor"`
		}
		return digits(r.c, -1)
	})}
}

// yearly is twelve monthly means.
func yearly(at *[12]float64, in bounds) value {
	allowed := "twelve monthly means, January first, each " + in.String()
	return &parsed[[12]float64]{at, allowed, func(raw any) (means [12]float64, err error) {
		list, ok := raw.([]any)
		switch {
		case !ok:
			return means, errOther
		case len(list) != len(means):
			return means, fmt.Errorf("must be %s, got %d of them", allowed, len(list))
		}
		for month, item := range list {
			x, err := numeric(item)
			if err != nil || !in.holds(x) {
				return means, fmt.Errorf("must be %s, got %s for month %d", allowed, given(item), month+1)
			}
			means[month] = x
		}
		return means, nil
	}, func(means [12]float64, places int) string {
		return listed(means[:], func(x float64) string { return digits(x, places) })
	}}
}

// maybeYearly is twelve monthly means, or none.
func maybeYearly(at **[12]float64, in bounds) value {
	var means [12]float64
	twelve := yearly(&means, in).(*parsed[[12]float64])
	return &parsed[*[12]float64]{at, twelve.words, func(raw any) (*[12]float64, error) {
		means, err := twelve.read(raw)
		return &means, err
	}, func(means *[12]float64, places int) string {
		if means == nil {
			return "none"
		}
		return twelve.write(*means, places)
	}}
}

// pairs is a curve: so many pairs at least, whose first numbers rise, named as in "[kW, kg/h]".
func pairs(at *[][2]float64, least int, first, second bounds, names string) value {
	allowed := fmt.Sprintf("%d or more pairs %s, the first of them rising, %s and %s", least, names, first, second)
	return &parsed[[][2]float64]{at, allowed, func(raw any) (all [][2]float64, err error) {
		list, ok := raw.([]any)
		if !ok || len(list) < least {
			return nil, errOther
		}
		for _, item := range list {
			pair, ok := item.([]any)
			if !ok || len(pair) != 2 {
				return nil, errOther
			}
			x, errX := numeric(pair[0])
			y, errY := numeric(pair[1])
			if errX != nil || errY != nil || !first.holds(x) || !second.holds(y) {
				return nil, refuse(allowed, item)
			}
			if n := len(all); n > 0 && x <= all[n-1][0] {
				return nil, fmt.Errorf("must be %s, got %g after %g", allowed, x, all[n-1][0])
			}
			all = append(all, [2]float64{x, y})
		}
		return all, nil
	}, func(all [][2]float64, places int) string {
		if len(all) == 0 {
			return "none"
		}
		return listed(all, func(pair [2]float64) string {
			return listed(pair[:], func(x float64) string { return digits(x, places) })
		})
	}}
}
