package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
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
	at    *float64
	in    bounds
	whole bool
	unset bool
}

func (n *number) set(raw any) error {
	x, err := numeric(raw)
	if err != nil {
		return err
	}
	if n.whole && x != math.Trunc(x) || !n.in.holds(x) {
		return refuse(n.allowed(), raw)
	}
	*n.at, n.unset = x, false
	return nil
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
	return digits(*n.at, places)
}

// choice is one word of a list.
type choice struct {
	at *string
	of []string
}

func (c *choice) set(raw any) error {
	text, ok := raw.(string)
	if !ok || !slices.Contains(c.of, text) {
		err := refuse(c.allowed(), raw)
		if near, found := Near(text, c.of); ok && found {
			err = fmt.Errorf("%w; did you mean %q?", err, near)
		}
		return err
	}
	*c.at = text
	return nil
}

func (c *choice) allowed() string {
	quoted := make([]string, len(c.of))
	for i, word := range c.of {
		quoted[i] = strconv.Quote(word)
	}
	return "one of " + strings.Join(quoted, ", ")
}

func (c *choice) show(int) string { return orNone(*c.at) }

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
