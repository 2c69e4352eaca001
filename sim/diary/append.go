package diary

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"twigwatt/sim/calendar"
)

// Append returns a diary's bytes with one more run: the old ones untouched, then
// the row in the file's own order of columns and with its line ends. A diary that
// is empty or blank gets the header first. It refuses a row that cannot be: out of
// range, not after the last one, or with a number for which the file has no
// column; and a file that does not read.
func Append(old []byte, row Row) ([]byte, error) {
	row.Note = strings.TrimSpace(row.Note)
	if err := row.check(); err != nil {
		return nil, err
	}
	fresh := len(bytes.TrimSpace(bytes.TrimPrefix(old, byteOrderMark))) == 0
	header := Columns()
	if !fresh {
		d := read("the diary", old)
		if len(d.faults) > 0 {
			return nil, d.faults
		}
		if column, text := row.follows(d.last); text != "" {
			return nil, fmt.Errorf("%s: %s", column, text)
		}
		header = d.header
	}
	cells := row.cells()
	for _, column := range Columns() {
		if cells[column] != "" && !slices.Contains(header, column) {
			return nil, fmt.Errorf("%s: must be empty, for the file has no such column, got %s", column, cells[column])
		}
	}
	var text bytes.Buffer
	text.Write(old)
	crlf := endsLinesByCRLF(old)
	if len(old) > 0 && !bytes.HasSuffix(old, []byte("\n")) && !bytes.Equal(old, byteOrderMark) {
		text.WriteString(map[bool]string{true: "\r\n", false: "\n"}[crlf])
	}
	w := csv.NewWriter(&text)
	w.UseCRLF = crlf
	if fresh {
		w.Write(header)
	}
	record := make([]string, len(header))
	for i, column := range header {
		record[i] = cells[column]
	}
	w.Write(record)
	w.Flush()
	return text.Bytes(), w.Error()
}

// endsLinesByCRLF goes by the file's first line.
func endsLinesByCRLF(text []byte) bool {
	i := bytes.IndexByte(text, '\n')
	return i > 0 && text[i-1] == '\r'
}

// check reports what is wrong with a row taken alone.
func (r *Row) check() error {
	var errs []error
	fault := func(column, format string, a ...any) {
		errs = append(errs, fmt.Errorf("%s: %s", column, fmt.Sprintf(format, a...)))
	}
	if year := r.Date.Year(); year < firstYear || year > lastYear {
		fault(columnDate, "must be in the years %d to %d, got %d", firstYear, lastYear, year)
	}
	if !(r.StartMinute >= 0 && r.StartMinute < calendar.MinutesADay) {
		fault(columnStart, "must be from 00:00 to before 24:00, got %s", calendar.Clock(r.StartMinute))
	}
	if !(r.StopMinute > r.StartMinute && r.StopMinute <= calendar.MinutesADay) {
		fault(columnStop, "must be after the start on the same day, 24:00 at the latest, got %s, and the start was %s",
			calendar.Clock(r.StopMinute), calendar.Clock(r.StartMinute))
	}
	for _, n := range numbers {
		if x := *n.of(r); Noted(x) && !n.holds(x) {
			fault(n.column, "must be %s, got %g", n.allowed, x)
		}
	}
	if strings.ContainsFunc(r.Note, unicode.IsControl) {
		fault(columnNote, "must be one line without control characters, got %q", r.Note)
	}
	return errors.Join(errs...)
}

// cells writes a row by column.
func (r *Row) cells() map[string]string {
	cells := map[string]string{columnDate: r.Date.String(), columnStart: calendar.Clock(r.StartMinute),
		columnStop: calendar.Clock(r.StopMinute), columnNote: r.Note}
	for _, n := range numbers {
		cells[n.column] = writeNumber(*n.of(r))
	}
	return cells
}
