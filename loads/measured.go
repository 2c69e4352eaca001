package loads

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"
	"time"

	"twigwatt/sim/calendar"
)

// Measured is a series of mean powers at one even spacing, as a meter writes it.
type Measured struct {
	Name    string
	start   int64 // seconds since 1970 in local standard time
	spacing int64 // seconds
	kWh     []float64
}

const (
	secondsADay  = 24 * 60 * 60
	leastSpacing = 60
	mostSpacing  = 60 * 60
)

const (
	mostLine      = 1 << 10 // bytes; longer ones are no rows
	mostRows      = 6e6     // ten years of minutes, and some
	mostKW        = 1e4     // above it the file holds no house
	byteOrderMark = "\ufeff"
)

// ReadMeasured reads a CSV with the header time,kw (the mean over the interval
// that begins at time) or time,kwh. Times are ISO 8601 without a zone, at one
// even spacing of 1 to 60 minutes, from 1970 to 2200; powers are 0 to 10 000 kW. A
// gap, a repeat or a missing number is an error that names the file's row, and so
// are more than 6 million rows.
func ReadMeasured(name string, r io.Reader) (*Measured, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, mostLine)
	m, column, n := &Measured{Name: name}, "", 0
	for lines.Scan() {
		n++
		text := strings.TrimPrefix(lines.Text(), byteOrderMark)
		if strings.TrimSpace(text) == "" {
			continue
		}
		row := cells(text)
		if column == "" {
			if len(row) != 2 || row[0] != "time" || row[1] != "kw" && row[1] != "kwh" {
				return nil, fmt.Errorf("%s:%d: the header must be time,kw or time,kwh, got %.60q", name, n, text)
			}
			column = row[1]
			continue
		}
		if err := m.add(row, column); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
	}
	switch err := lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, fmt.Errorf("%s:%d: must be a time and a number, got a line of more than %d bytes", name, n+1, mostLine)
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	case column == "":
		return nil, fmt.Errorf("%s:1: must begin with the header time,kw or time,kwh, got an empty file", name)
	case len(m.kWh) < 2:
		return nil, fmt.Errorf("%s: must have two rows or more to show its spacing, got %d", name, len(m.kWh))
	}
	if column == "kw" {
		for i := range m.kWh {
			m.kWh[i] *= float64(m.spacing) / 3600
		}
	} else if peak := m.PeakKW(); peak > mostKW {
		return nil, fmt.Errorf("%s: kwh: must be at most %g kW in the mean of a row, got %g", name, mostKW, peak)
	}
	return m, nil
}

// cells takes a row apart. A cell may stand in quotes; a comma within them parts
// nothing.
func cells(text string) []string {
	var row []string
	quoted, from := false, 0
	for i := 0; i <= len(text); i++ {
		switch {
		case i < len(text) && text[i] == '"':
			quoted = !quoted
		case i == len(text) || text[i] == ',' && !quoted:
			cell := strings.TrimSpace(text[from:i])
			if n := len(cell); n > 1 && cell[0] == '"' && cell[n-1] == '"' {
				cell = strings.TrimSpace(cell[1 : n-1])
			}
			row, from = append(row, cell), i+1
		}
	}
	return row
}

// add checks one row and appends its number.
func (m *Measured) add(row []string, column string) error {
	if len(row) != 2 {
		return fmt.Errorf("must have two cells, time and %s, got %d", column, len(row))
	}
	if len(m.kWh) >= mostRows {
		return fmt.Errorf("must be the last of at most %.0f rows", mostRows)
	}
	at, err := parseTime(row[0])
	if err != nil {
		return err
	}
	cell := row[1]
	if cell == "" {
		return fmt.Errorf("%s: the number is missing", column)
	}
	value, err := strconv.ParseFloat(cell, 64)
	if err != nil || strings.Trim(cell, "+-.0123456789eE") != "" {
		return fmt.Errorf("%s: must be a number like 0.35, got %.60q", column, cell)
	}
	if !(value >= 0 && value <= mostKW) {
		return fmt.Errorf("%s: must be 0 to %g, got %.60s", column, mostKW, cell)
	}
	switch n := int64(len(m.kWh)); n {
	case 0:
		m.start = at
	case 1:
		m.spacing = at - m.start
		if m.spacing < leastSpacing || m.spacing > mostSpacing {
			return fmt.Errorf("time: rows must be 1 to 60 minutes apart, got %g minutes", float64(m.spacing)/60)
		}
	default:
		expected := m.start + n*m.spacing
		switch {
		case at == expected-m.spacing:
			return fmt.Errorf("time: %s stands here a second time", row[0])
		case at < expected:
			return fmt.Errorf("time: must rise by %g minutes to %s, got %s", float64(m.spacing)/60, writeTime(expected), row[0])
		case at > expected:
			return fmt.Errorf("time: a gap: the next row must be %s, got %s", writeTime(expected), row[0])
		}
	}
	m.kWh = append(m.kWh, value)
	return nil
}

var timeLayouts = []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04", "2006-01-02 15:04:05"}

func parseTime(text string) (int64, error) {
	for _, layout := range timeLayouts {
		t, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		if year := t.Year(); year < 1970 || year > 2200 {
			return 0, fmt.Errorf("time: must be in the years 1970 to 2200, got %d", year)
		}
		return t.Unix(), nil
	}
	return 0, fmt.Errorf("time: must be local time like 2025-01-31T16:30 without a zone, got %.60q", text)
}

func writeTime(seconds int64) string { return time.Unix(seconds, 0).UTC().Format(timeLayouts[0]) }

func (m *Measured) end() int64 { return m.start + int64(len(m.kWh))*m.spacing }

// Use says how a file that is shorter than the span was made to serve it.
type Use string

// The ways a file serves a span.
const (
	Covers       Use = "covers the span"
	YearRepeated Use = "one year, used for every year"
	WeekRepeated Use = "whole weeks, repeated by weekday"
)

// useFor decides how the file serves the span.
func (m *Measured) useFor(span calendar.Span) (Use, error) {
	from, to := int64(span.Start)*secondsADay, int64(span.End())*secondsADay
	if m.start <= from && to <= m.end() {
		return Covers, nil
	}
	length := m.end() - m.start
	if m.start%secondsADay == 0 && length%secondsADay == 0 {
		first := calendar.Date(m.start / secondsADay)
		if calendar.Date(m.end()/secondsADay) == first.AYearLater() {
			return YearRepeated, nil
		}
		if length%(7*secondsADay) == 0 {
			return WeekRepeated, nil
		}
	}
	return "", fmt.Errorf("%s: must cover %s to %s, or be one whole year or whole weeks from a midnight; it runs from %s to %s",
		m.Name, span.Start, span.End()-1, writeTime(m.start), writeTime(m.end()))
}

// fileDay returns where in the file, in seconds since 1970, the values of a day stand.
func (m *Measured) fileDay(d calendar.Date, use Use) int64 {
	first := calendar.Date(m.start / secondsADay)
	switch use {
	case YearRepeated:
		day := d.Day()
		if d.Month() == time.February && day == 29 {
			day = 28 // the same evening twice when the file's year has no 29 February
			if leap := calendar.NewDate(first.Year(), time.February, 29); m.holds(leap) && leap.Day() == 29 {
				day = 29
			} else if leap := calendar.NewDate(first.Year()+1, time.February, 29); m.holds(leap) && leap.Day() == 29 {
				day = 29
			}
		}
		there := calendar.NewDate(first.Year(), d.Month(), day)
		if !m.holds(there) || there.Day() != day {
			there = calendar.NewDate(first.Year()+1, d.Month(), day)
		}
		return int64(there) * secondsADay
	case WeekRepeated:
		length := calendar.Date(len(m.kWh)) * calendar.Date(m.spacing) / secondsADay
		offset := ((d-first)%length + length) % length
		return int64(first+offset) * secondsADay
	}
	return int64(d) * secondsADay
}

func (m *Measured) holds(d calendar.Date) bool {
	at := int64(d) * secondsADay
	return m.start <= at && at+secondsADay <= m.end()
}

// meanKW returns the mean power between two moments the file covers.
func (m *Measured) meanKW(from, to int64) float64 {
	sum := 0.0
	for at := from; at < to; {
		row := (at - m.start) / m.spacing
		end := min(to, m.start+(row+1)*m.spacing)
		sum += m.kWh[row] * float64(end-at) / float64(m.spacing)
		at = end
	}
	return sum * 3600 / float64(to-from)
}

// over returns the mean power of each step of the span, and what one who knows
// the file's habits but not its days would expect: the mean of the month, the
// weekday and the time of day.
func (m *Measured) over(span calendar.Span) (actual, expected []float64, use Use, err error) {
	if use, err = m.useFor(span); err != nil {
		return nil, nil, "", err
	}
	perDay, stepS := span.StepsADay(), int64(span.StepMinutes)*60
	actual = make([]float64, span.Steps())
	for step := range actual {
		from := m.fileDay(span.Start+calendar.Date(step/perDay), use) + int64(step%perDay)*stepS
		actual[step] = m.meanKW(from, from+stepS)
	}
	habits := m.habits(span.StepMinutes)
	expected = make([]float64, span.Steps())
	for step := range expected {
		d := calendar.Date(m.fileDay(span.Date(step), use) / secondsADay) // the file's own day: its weekdays are others in another year
		expected[step] = habits.at(d.Month(), d.Weekday(), step%perDay)
	}
	return actual, expected, use, nil
}

// habits are sums over the file's whole days, by month, weekday and step of the day.
type habits struct {
	byMonth [12][7]dayMean
	byWeek  [7]dayMean
	byDay   dayMean
}

type dayMean struct {
	days int
	kw   []float64 // sums
}

func (d *dayMean) add(kw []float64) {
	if d.kw == nil {
		d.kw = make([]float64, len(kw))
	}
	d.days++
	for i := range kw {
		d.kw[i] += kw[i]
	}
}

func (m *Measured) habits(stepMinutes int) *habits {
	var h habits
	perDay, stepS := calendar.MinutesADay/stepMinutes, int64(stepMinutes)*60
	first := calendar.Date((m.start + secondsADay - 1) / secondsADay)
	kw := make([]float64, perDay)
	for d := first; m.holds(d); d++ {
		for i := range kw {
			from := int64(d)*secondsADay + int64(i)*stepS
			kw[i] = m.meanKW(from, from+stepS)
		}
		h.byMonth[d.Month()-1][d.Weekday()].add(kw)
		h.byWeek[d.Weekday()].add(kw)
		h.byDay.add(kw)
	}
	return &h
}

// at falls back on the weekday's mean over all months where the file lacks the
// month, and on the mean day where it lacks the weekday.
func (h *habits) at(month time.Month, weekday time.Weekday, step int) float64 {
	for _, mean := range []*dayMean{&h.byMonth[month-1][weekday], &h.byWeek[weekday], &h.byDay} {
		if mean.days > 0 {
			return mean.kw[step] / float64(mean.days)
		}
	}
	return 0
}

// PeakKW returns the highest mean power in the file.
func (m *Measured) PeakKW() float64 {
	sorted := append([]float64(nil), m.kWh...)
	sort.Float64s(sorted)
	return sorted[len(sorted)-1] * 3600 / float64(m.spacing)
}
