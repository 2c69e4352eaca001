package loads

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
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

// ReadMeasured reads a CSV with the header time,kw (the mean over the interval
// that begins at time) or time,kwh. Times are ISO 8601 without a zone, at one
// even spacing of 1 to 60 minutes. The error names the file's row.
func ReadMeasured(name string, r io.Reader) (*Measured, error) {
	reader := csv.NewReader(r)
	reader.FieldsPerRecord = -1
	reader.ReuseRecord = true
	header, err := reader.Read()
	if err != nil {
		return nil, fmt.Errorf("%s:1: must begin with the header time,kw or time,kwh: %w", name, endIsEmpty(err))
	}
	header[0] = strings.TrimPrefix(header[0], "\ufeff")
	for i := range header {
		header[i] = strings.TrimSpace(header[i])
	}
	if len(header) != 2 || header[0] != "time" || header[1] != "kw" && header[1] != "kwh" {
		return nil, fmt.Errorf("%s:1: the header must be time,kw or time,kwh, got %q", name, strings.Join(header, ","))
	}
	column := header[1]
	m := &Measured{Name: name}
	for {
		row, err := reader.Read()
		if err == io.EOF {
			break
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return nil, fmt.Errorf("%s:%d: %w", name, bad.Line, bad.Err)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := reader.FieldPos(0)
		if err := m.add(row, column); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, line, err)
		}
	}
	if len(m.kWh) < 2 {
		return nil, fmt.Errorf("%s: must have two rows or more to show its spacing, got %d", name, len(m.kWh))
	}
	if column == "kw" {
		for i := range m.kWh {
			m.kWh[i] *= float64(m.spacing) / 3600
		}
	}
	return m, nil
}

func endIsEmpty(err error) error {
	if err == io.EOF {
		return errors.New("the file is empty")
	}
	return err
}

// add checks one row and appends its number.
func (m *Measured) add(row []string, column string) error {
	if len(row) != 2 {
		return fmt.Errorf("must have two cells, time and %s, got %d", column, len(row))
	}
	at, err := parseTime(strings.TrimSpace(row[0]))
	if err != nil {
		return err
	}
	cell := strings.TrimSpace(row[1])
	if cell == "" {
		return fmt.Errorf("%s: the number is missing", column)
	}
	value, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsNaN(value) || math.IsInf(value, 0) {
		return fmt.Errorf("%s: must be a number like 0.35, got %q", column, cell)
	}
	if value < 0 {
		return fmt.Errorf("%s: must be 0 or more, got %s", column, cell)
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
		if t, err := time.Parse(layout, text); err == nil {
			return t.Unix(), nil
		}
	}
	return 0, fmt.Errorf("time: must be local time like 2025-01-31T16:30 without a zone, got %q", text)
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
