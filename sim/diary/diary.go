// Package diary reads the household's own log of its runs, compares it with
// what the scenario expects, and fits the scenario's figures to it.
//
// Read and Append keep the file (CSV, a row a run). Compare says, run by run and
// month by month, what was noted and what was to be expected. NewFit estimates the
// fuel line, the set's power, the bank's efficiency and the house's use, each with
// an interval or with the reason why the diary cannot tell it. Left out: runs that
// were not written down, and the wear of the bank: its size is taken as known.
package diary

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"twigwatt/sim/calendar"
)

// A Row is a run as it was noted. NaN stands for what was not noted.
type Row struct {
	Date                    calendar.Date // of the years 1970 to 2200
	StartMinute, StopMinute int           // of the day: the match, 0 to 1439, and the end of the run, after it, to 1440
	WoodAsIsKg              float64       // burned in the run, as weighed, 0 or more
	KWh                     float64       // AC, made by the set in the run, 0 or more
	SocStartPct, SocEndPct  float64       // of the bank, 0 to 100
	MoisturePct             float64       // of the wood, wet basis, 0 to below 60; NaN: that of the ready wood
	Note                    string
	Line                    int // of the file, from 1; 0: not read from one
}

// The columns of a diary.
const (
	columnDate     = "date"
	columnStart    = "start"
	columnStop     = "stop"
	columnWood     = "wood_as_is_kg"
	columnKWh      = "kwh"
	columnSocStart = "soc_start_pct"
	columnSocEnd   = "soc_end_pct"
	columnMoisture = "moisture_pct"
	columnNote     = "note"
)

// Columns returns the columns of a diary in the order of a new one.
func Columns() []string {
	return []string{columnDate, columnStart, columnStop, columnWood, columnKWh, columnSocStart, columnSocEnd,
		columnMoisture, columnNote}
}

// NotNoted is the number of an empty cell.
func NotNoted() float64 { return math.NaN() }

// Noted reports whether a number was noted.
func Noted(x float64) bool { return !math.IsNaN(x) }

// A run is noted in these years.
const firstYear, lastYear = 1970, 2200

// numberColumns are the columns that hold a number, with where it stands in a row. Wood
// and kWh may be so high that no household's run is, lower than slips of the hand: a
// judgement, no source.
var numberColumns = []struct {
	name    string
	allowed string
	holds   func(x float64) bool
	cell    func(r *Row) *float64
}{
	{columnWood, "0 to 10000 kg", upTo(10000), func(r *Row) *float64 { return &r.WoodAsIsKg }},
	{columnKWh, "0 to 10000 kWh", upTo(10000), func(r *Row) *float64 { return &r.KWh }},
	{columnSocStart, "0 to 100 %", upTo(100), func(r *Row) *float64 { return &r.SocStartPct }},
	{columnSocEnd, "0 to 100 %", upTo(100), func(r *Row) *float64 { return &r.SocEndPct }},
	{columnMoisture, "0 to below 60 %, wet basis", func(x float64) bool { return x >= 0 && x < 60 },
		func(r *Row) *float64 { return &r.MoisturePct }},
}

func upTo(most float64) func(x float64) bool {
	return func(x float64) bool { return x >= 0 && x <= most }
}

// from and to are the moments of a run in minutes since 1 January 1970.
func (r *Row) from() int { return int(r.Date)*calendar.MinutesADay + r.StartMinute }
func (r *Row) to() int   { return int(r.Date)*calendar.MinutesADay + r.StopMinute }

// String names the run by its date and times.
func (r *Row) String() string {
	return fmt.Sprintf("%s %s-%s", r.Date, calendar.Clock(r.StartMinute), calendar.Clock(r.StopMinute))
}

// check reports what is wrong with a row taken alone.
func (r *Row) check() error {
	var errs []error
	wrong := func(column, format string, a ...any) {
		errs = append(errs, fmt.Errorf("%s: %s", column, fmt.Sprintf(format, a...)))
	}
	if year := r.Date.Year(); year < firstYear || year > lastYear {
		wrong(columnDate, "must be in the years %d to %d, got %d", firstYear, lastYear, year)
	}
	if !(r.StartMinute >= 0 && r.StartMinute < calendar.MinutesADay) {
		wrong(columnStart, "must be from 00:00 to before 24:00, got %s", calendar.Clock(r.StartMinute))
	}
	if !(r.StopMinute > r.StartMinute && r.StopMinute <= calendar.MinutesADay) {
		wrong(columnStop, "must be after the start on the same day, 24:00 at the latest, got %s, and the start was %s",
			calendar.Clock(r.StopMinute), calendar.Clock(r.StartMinute))
	}
	for _, column := range numberColumns {
		if x := *column.cell(r); Noted(x) && !column.holds(x) {
			wrong(column.name, "must be %s, got %g", column.allowed, x)
		}
	}
	if strings.ContainsFunc(r.Note, unicode.IsControl) {
		wrong(columnNote, "must be one line without control characters, got %q", r.Note)
	}
	return errors.Join(errs...)
}

// follows says what is wrong with a run that comes after another; "" if nothing.
func (r *Row) follows(last *Row) (column, text string) {
	switch {
	case last == nil || r.from() >= last.to():
		return "", ""
	case r.from() == last.from() && r.to() == last.to():
		return columnStart, fmt.Sprintf("must be a run of its own, got the run of %s a second time", last)
	case r.to() <= last.from():
		return columnDate, fmt.Sprintf("must be in the order of time, got %s after the run of %s", r, last)
	default:
		return columnStart, fmt.Sprintf("must not overlap the run of %s, got %s", last, r)
	}
}

// overlaps says that a row cannot stand before another one that it runs into.
func (r *Row) overlaps(next *Row) string {
	if r.from() == next.from() && r.to() == next.to() {
		return fmt.Sprintf("must be a run of its own, got the run of %s a second time", next)
	}
	return fmt.Sprintf("must not overlap the run of %s, got %s", next, r)
}

// cells writes a row by column.
func (r *Row) cells() map[string]string {
	cells := map[string]string{columnDate: r.Date.String(), columnStart: calendar.Clock(r.StartMinute),
		columnStop: calendar.Clock(r.StopMinute), columnNote: r.Note}
	for _, column := range numberColumns {
		if x := *column.cell(r); Noted(x) {
			cells[column.name] = strconv.FormatFloat(x, 'f', -1, 64)
		}
	}
	return cells
}
