package loads

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/floats"

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
	leastSpacing = 60 // seconds
	mostSpacing  = 60 * 60

	mostLine      = 1 << 10 // bytes; longer ones are no rows
	mostRows      = 6e6     // ten years of minutes, and some
	mostKW        = 1e4     // above it the file holds no house
	byteOrderMark = "\ufeff"
)

// ReadMeasured reads a CSV with the header time,kw (the mean over the interval that begins at time)
// or time,kwh. Times are ISO 8601 without a zone, at one even spacing of 1 to 60 minutes, from 1970
// to 2200; powers are 0 to 10 000 kW. A gap, a repeat or a missing number is an error that names
// the file's row, and so are more than 6 million rows.
func ReadMeasured(name string, r io.Reader) (*Measured, error) {
	lines := &shortLines{Reader: r, line: 1}
	in := bufio.NewReader(lines)
	if mark, _ := in.Peek(len(byteOrderMark)); string(mark) == byteOrderMark {
		in.Discard(len(byteOrderMark))
	}
	rows := csv.NewReader(in)
	rows.FieldsPerRecord, rows.TrimLeadingSpace, rows.ReuseRecord = -1, true, true
	m, column := &Measured{Name: name}, ""
	for {
		row, err := rows.Read()
		if err == io.EOF {
			break
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		switch bad, isBad := err.(*csv.ParseError); {
		case isBad:
			return nil, fmt.Errorf("%s:%d: must be a time and a number; its quotes do not close", name, bad.StartLine)
		case err == bufio.ErrTooLong:
			return nil, fmt.Errorf("%s:%d: must be a time and a number, got a line of more than %d bytes",
				name, lines.line, mostLine)
		case err != nil:
			return nil, fmt.Errorf("%s: %w", name, err)
		case len(row) == 1 && row[0] == "":
			continue
		case column != "":
			err = m.add(row, column)
		case len(row) == 2 && row[0] == "time" && (row[1] == "kw" || row[1] == "kwh"):
			column = row[1]
		default:
			err = fmt.Errorf("the header must be time,kw or time,kwh, got %.60q", strings.Join(row, ","))
		}
		if err != nil {
			line, _ := rows.FieldPos(0)
			return nil, fmt.Errorf("%s:%d: %w", name, line, err)
		}
	}
	switch {
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

// shortLines fails with bufio.ErrTooLong where a line is no row, so that a file that holds no
// lines fills no memory.
type shortLines struct {
	io.Reader
	line, length int // its number, from 1, and its bytes so far
}

func (s *shortLines) Read(into []byte) (int, error) {
	n, err := s.Reader.Read(into)
	for i, b := range into[:n] {
		if s.length++; b == '\n' {
			s.line, s.length = s.line+1, 0
		}
		if s.length >= mostLine {
			return i + 1, bufio.ErrTooLong
		}
	}
	return n, err
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
	value, err := strconv.ParseFloat(cell, 64)
	switch {
	case cell == "":
		return fmt.Errorf("%s: the number is missing", column)
	case err != nil || strings.ContainsAny(cell, "xXnN"): // hexadecimals, inf and nan are no numbers of a meter
		return fmt.Errorf("%s: must be a number like 0.35, got %.60q", column, cell)
	case !(value >= 0 && value <= mostKW):
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
		if t, err := time.Parse(layout, text); err == nil {
			if year := t.Year(); year < 1970 || year > 2200 {
				return 0, fmt.Errorf("time: must be in the years 1970 to 2200, got %d", year)
			}
			return t.Unix(), nil
		}
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

// fileDay returns the day of the file whose values serve a day. Where a year file has no
// 29 February its 28th serves twice.
func (m *Measured) fileDay(d calendar.Date, use Use) calendar.Date {
	first := calendar.Date(m.start / secondsADay)
	switch use {
	case YearRepeated:
		for _, day := range []int{d.Day(), 28} {
			for year := first.Year(); year <= first.Year()+1; year++ {
				if there := calendar.NewDate(year, d.Month(), day); m.holds(there) && there.Day() == day {
					return there
				}
			}
		}
	case WeekRepeated:
		length := calendar.Date(m.end()-m.start) / secondsADay
		return first + ((d-first)%length+length)%length
	}
	return d
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

// over returns the mean power of each step of the span, and what one who knows the file's habits
// but not its days would expect: the mean of the days like it, without the day itself. Of a file
// of a week or less nothing is known but its days: each is expected as it comes.
func (m *Measured) over(span calendar.Span) (actual, expected []float64, use Use, err error) {
	if use, err = m.useFor(span); err != nil {
		return nil, nil, "", err
	}
	actual, expected = make([]float64, 0, span.Steps()), make([]float64, 0, span.Steps())
	habits := m.habits(span.StepMinutes)
	for day := range span.Days {
		there := m.fileDay(span.Start+calendar.Date(day), use)
		kw := m.day(there, span.StepMinutes)
		actual = append(actual, kw...)
		// by the file's own day: its weekdays are others in another year
		expected = append(expected, habits.without(there, kw)...)
	}
	return actual, expected, use, nil
}

// AsTheyCome reports whether the file is too short to expect its days by others like them.
func (m *Measured) AsTheyCome() bool {
	const days = 7
	return m.end()-m.start <= days*secondsADay
}

// Spread returns by how much the file's days differ from what is expected of them: the standard
// deviation of a day's factor, at most 1, and its correlation with the last day's, 0 to 0.9. That
// the mean of a few days like it is itself uncertain counts: a plan errs by both. Both are 0 for a
// file too short to tell.
func (m *Measured) Spread() (share, memory float64) {
	if m.AsTheyCome() {
		return 0, 0
	}
	habits := m.habits(calendar.MinutesADay)
	var deviations []float64
	for d := calendar.Date((m.start + secondsADay - 1) / secondsADay); m.holds(d); d++ {
		kw, deviation := m.day(d, calendar.MinutesADay), 0.0
		if expected := habits.without(d, kw)[0]; expected > 0 {
			deviation = kw[0]/expected - 1
		}
		deviations = append(deviations, deviation)
	}
	n := len(deviations)
	square := floats.Dot(deviations, deviations)
	if n < 2 || square == 0 {
		return 0, 0
	}
	const most, mostMemory = 1, 0.9
	memory = floats.Dot(deviations[1:], deviations[:n-1]) / square
	return min(most, math.Sqrt(square/float64(n))), max(0, min(mostMemory, memory))
}

// day returns the mean power of each step of a day that the file holds.
func (m *Measured) day(d calendar.Date, stepMinutes int) []float64 {
	kw, stepS := make([]float64, calendar.MinutesADay/stepMinutes), int64(stepMinutes)*60
	for i := range kw {
		from := int64(d)*secondsADay + int64(i)*stepS
		kw[i] = m.meanKW(from, from+stepS)
	}
	return kw
}

// A habit is what days are alike in: month and weekday, or (month 0) weekday alone.
type habit struct {
	month   time.Month
	weekday time.Weekday
}

// habitsOf are a day's, the narrowest first.
func habitsOf(d calendar.Date) [2]habit {
	return [2]habit{{d.Month(), d.Weekday()}, {0, d.Weekday()}}
}

// habits are the days of a file, added up by what they are alike in.
type habits struct {
	sums       map[habit]*daySum
	all        daySum
	asTheyCome bool
}

// A daySum is days added up, kW by step.
type daySum struct {
	kw   []float64
	days float64
}

func (s *daySum) add(kw []float64) {
	if s.days++; s.days == 1 {
		s.kw = slices.Clone(kw)
	} else {
		floats.Add(s.kw, kw)
	}
}

// habits adds up the days that the file holds.
func (m *Measured) habits(stepMinutes int) *habits {
	h := &habits{sums: map[habit]*daySum{}, asTheyCome: m.AsTheyCome()}
	for d := calendar.Date((m.start + secondsADay - 1) / secondsADay); m.holds(d); d++ {
		kw := m.day(d, stepMinutes)
		h.all.add(kw)
		for _, of := range habitsOf(d) {
			if h.sums[of] == nil {
				h.sums[of] = &daySum{}
			}
			h.sums[of].add(kw)
		}
	}
	return h
}

// without is the mean of the days like one of the file's, that day left out: those of its month
// and weekday, else of its weekday, else all.
func (h *habits) without(d calendar.Date, kw []float64) []float64 {
	like := &h.all
	for _, of := range habitsOf(d) {
		if sum := h.sums[of]; sum != nil && sum.days > 1 {
			like = sum
			break
		}
	}
	if h.asTheyCome || like.days < 2 {
		return kw
	}
	mean := make([]float64, len(kw))
	for i := range mean {
		mean[i] = max(0, (like.kw[i]-kw[i])/(like.days-1)) // rounding leaves no power below zero
	}
	return mean
}

// PeakKW returns the highest mean power in the file.
func (m *Measured) PeakKW() float64 { return slices.Max(m.kWh) * 3600 / float64(m.spacing) }
