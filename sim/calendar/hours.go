package calendar

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"time"
)

func cut(text, sep string) (before, after string, found bool) {
	before, after, found = strings.Cut(text, sep)
	return strings.TrimSpace(before), strings.TrimSpace(after), found
}

// Clock writes minutes since midnight as 16:30.
func Clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// ParseClock reads 16:30 as minutes since midnight; 24:00 is the day's end.
func ParseClock(text string) (int, error) {
	if text == "24:00" {
		return MinutesADay, nil
	}
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, fmt.Errorf("a time of day must be written like 16:30, from 00:00 to 24:00, got %q", text)
	}
	return t.Hour()*60 + t.Minute(), nil
}

// A Window is a stretch of a day, in minutes since midnight: From included, To not.
type Window struct{ From, To int }

// ParseWindow reads 07:00-21:00. A window may not run over midnight.
func ParseWindow(text string) (Window, error) {
	first, last, ok := cut(text, "-")
	if !ok {
		return Window{}, fmt.Errorf("hours must be written like 07:00-21:00, got %q", text)
	}
	from, errFrom := ParseClock(first)
	to, errTo := ParseClock(last)
	if err := cmp.Or(errFrom, errTo); err != nil {
		return Window{}, err
	}
	if to <= from {
		return Window{}, fmt.Errorf("hours must not run backwards or be empty (over midnight: write two), got %q", text)
	}
	return Window{from, to}, nil
}

// String writes the window as it is read.
func (w Window) String() string { return Clock(w.From) + "-" + Clock(w.To) }

// Merge sorts windows and joins those that touch or overlap.
func Merge(windows []Window) []Window {
	sorted := slices.Clone(windows)
	slices.SortFunc(sorted, func(a, b Window) int { return a.From - b.From })
	var merged []Window
	for _, w := range sorted {
		if n := len(merged); n > 0 && w.From <= merged[n-1].To {
			merged[n-1].To = max(merged[n-1].To, w.To)
			continue
		}
		merged = append(merged, w)
	}
	return merged
}

// OverlapMinutes returns how many minutes of [from, to) lie in the windows,
// which must not overlap one another (Merge sees to that).
func OverlapMinutes(windows []Window, from, to float64) float64 {
	total := 0.0
	for _, w := range windows {
		total += max(0, min(to, float64(w.To))-max(from, float64(w.From)))
	}
	return total
}

// Weekdays is a set of days of the week; bit 0 is Sunday.
type Weekdays uint8

// AllWeek holds every day.
const AllWeek Weekdays = 1<<7 - 1

var namedDays = map[string]Weekdays{"all": AllWeek, "workdays": 0b0111110, "weekend": 0b1000001}

// Holds reports whether the day is in the set.
func (w Weekdays) Holds(d time.Weekday) bool { return w>>d&1 == 1 }

// Count returns the number of days in the set.
func (w Weekdays) Count() int { return bits.OnesCount8(uint8(w)) }

// String names the set: all, workdays, weekend, or the days, from Monday on.
func (w Weekdays) String() string {
	for name, days := range namedDays {
		if w == days {
			return name
		}
	}
	const monday = 1
	return names(int(w), 7, monday, dayName)
}

// ParseWeekdays reads all, workdays, weekend, a day (mon or monday) or a range (mon-fri).
func ParseWeekdays(text string) (Weekdays, error) {
	if days, ok := namedDays[strings.ToLower(strings.TrimSpace(text))]; ok {
		return days, nil
	}
	set, ok := namedRange(text, 7, dayName)
	if !ok {
		return 0, fmt.Errorf("days must be all, workdays, weekend, names (mon) or ranges (mon-fri), got %q", text)
	}
	return Weekdays(set), nil
}

func dayName(i int) string { return time.Weekday(i).String() }

// Months is a set of months of the year; bit 0 is January.
type Months uint16

// AllYear holds every month.
const AllYear Months = 1<<12 - 1

// Holds reports whether the month is in the set.
func (m Months) Holds(month time.Month) bool { return m>>(month-1)&1 == 1 }

// String names the set: all, or the months.
func (m Months) String() string {
	if m == AllYear {
		return "all"
	}
	return names(int(m), 12, 0, monthName)
}

// ParseMonths reads all, a month (jan or january) or a range (nov-mar).
func ParseMonths(text string) (Months, error) {
	if strings.ToLower(strings.TrimSpace(text)) == "all" {
		return AllYear, nil
	}
	set, ok := namedRange(text, 12, monthName)
	if !ok {
		return 0, fmt.Errorf("months must be all, names (jan) or ranges (nov-mar), got %q", text)
	}
	return Months(set), nil
}

func monthName(i int) string { return time.Month(i + 1).String() }

// names lists the first three letters of the n names whose bits are set, from one of them on.
func names(set, n, first int, name func(int) string) string {
	var all []string
	for i := first; i < first+n; i++ {
		if set>>(i%n)&1 == 1 {
			all = append(all, strings.ToLower(name(i % n)[:3]))
		}
	}
	return strings.Join(all, ", ")
}

// namedRange reads NAME or NAME-NAME among n names, each whole or its first three letters,
// as a set of bits; a range may run over the last name to the first.
func namedRange(text string, n int, name func(int) string) (set int, ok bool) {
	from, to, two := cut(text, "-")
	if !two {
		to = from
	}
	indexOf := func(text string) int {
		i := 0
		for i < n && !strings.EqualFold(text, name(i)) && !strings.EqualFold(text, name(i)[:3]) {
			i++
		}
		return i
	}
	first, last := indexOf(from), indexOf(to)
	if first == n || last == n {
		return 0, false
	}
	for i := first; ; i = (i + 1) % n {
		set |= 1 << i
		if i == last {
			return set, true
		}
	}
}
