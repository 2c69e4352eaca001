package diary

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
)

// mostBytes is far more than a lifetime of runs.
const mostBytes = 16 << 20

// Read reads a diary: CSV with a header that names the columns, in any order. All
// but date, start and stop may be missing, or their cells empty. The runs must be in
// the order of time and not overlap. What is wrong comes back as fault.Faults, all of it;
// name stands for the file in them.
func Read(name string, r io.Reader) ([]Row, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(text) > mostBytes {
		return nil, fault.Faults{{File: name, Text: "must be smaller than 16 MB to be a diary"}}
	}
	d := read(name, text)
	if len(d.faults) > 0 {
		return nil, d.faults
	}
	return d.rows, nil
}

// Append returns a diary's bytes with one more run, in its place by time: the old ones
// untouched, the row in the file's own order of columns and with its line ends. A diary that
// is empty or blank gets the header first. It refuses a row that cannot be: out of
// range, over another run, or with a number for which the file has no
// column; and a file that does not read.
func Append(old []byte, row Row) ([]byte, error) {
	row.Note = strings.TrimSpace(row.Note)
	if err := row.check(); err != nil {
		return nil, err
	}
	var records [][]string
	header, before := Columns(), 0 // the line before which it goes; 0: at the end
	if len(bytes.TrimSpace(bytes.TrimPrefix(old, byteOrderMark))) == 0 {
		records = append(records, header)
	} else {
		d := read("the diary", old)
		if len(d.faults) > 0 {
			return nil, d.faults
		}
		at := slices.IndexFunc(d.rows, func(r Row) bool { return r.from() >= row.from() })
		if at < 0 {
			at = len(d.rows)
		}
		if at > 0 {
			if column, text := row.follows(&d.rows[at-1]); text != "" {
				return nil, fmt.Errorf("%s: %s", column, text)
			}
		}
		if at < len(d.rows) {
			if column, text := d.rows[at].follows(&row); text != "" {
				return nil, fmt.Errorf("%s: %s", column, row.overlaps(&d.rows[at]))
			}
			before = d.rows[at].Line
		}
		header = d.header
	}
	cells := row.cells()
	for _, column := range Columns() {
		if cells[column] != "" && !slices.Contains(header, column) {
			return nil, fmt.Errorf("%s: must be empty, for the file has no such column, got %s", column, cells[column])
		}
	}
	record := make([]string, len(header))
	for i, column := range header {
		record[i] = cells[column]
	}
	lineEnd := "\n"
	if i := bytes.IndexByte(old, '\n'); i > 0 && old[i-1] == '\r' {
		lineEnd = "\r\n"
	}
	var text bytes.Buffer
	old, after := cutBefore(old, before)
	text.Write(old)
	if len(old) > 0 && !bytes.HasSuffix(old, []byte("\n")) && !bytes.Equal(old, byteOrderMark) {
		text.WriteString(lineEnd)
	}
	w := csv.NewWriter(&text)
	w.UseCRLF = lineEnd == "\r\n"
	err := w.WriteAll(append(records, record))
	text.Write(after)
	return text.Bytes(), err
}

// cutBefore cuts a text before a line, from 1; 0: at its end.
func cutBefore(text []byte, line int) (before, after []byte) {
	if line == 0 {
		return text, nil
	}
	at := 0
	for range line - 1 {
		at += bytes.IndexByte(text[at:], '\n') + 1
	}
	return text[:at], text[at:]
}

// file is a diary on its way from text to rows.
type file struct {
	name   string
	header []string
	rows   []Row
	faults fault.Faults
	last   *Row // whose date and times were good
}

func (d *file) fault(line int, column, format string, a ...any) {
	d.faults = append(d.faults, fault.Fault{File: d.name, Line: line, Key: column, Text: fmt.Sprintf(format, a...)})
}

var byteOrderMark = []byte("\ufeff")

func read(name string, text []byte) *file {
	d := &file{name: name}
	reader := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, byteOrderMark)))
	reader.FieldsPerRecord = -1
	for {
		cells, err := reader.Read()
		if err == io.EOF {
			break
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			d.fault(bad.StartLine, "", "must be cells between commas, with quotes that close; "+
				"a quote within a quoted cell is written twice")
			continue
		}
		blank := true
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
			blank = blank && cells[i] == ""
		}
		line, _ := reader.FieldPos(0)
		switch {
		case blank:
		case d.header != nil:
			d.readRow(cells, line)
		case !d.readHeader(cells, line):
			return d
		}
	}
	if d.header == nil && len(d.faults) == 0 {
		d.fault(1, "", "must begin with a header of %s, got an empty file", strings.Join(Columns(), ","))
	}
	return d
}

// readHeader reports whether the rows can be read by it.
func (d *file) readHeader(cells []string, line int) bool {
	d.header = cells
	for i, column := range cells {
		switch {
		case !slices.Contains(Columns(), column):
			d.fault(line, "", "columns must be among %s, got %.60q", strings.Join(Columns(), ","), column)
		case slices.Contains(cells[:i], column):
			d.fault(line, column, "must be one column, got two")
		}
	}
	for _, column := range []string{columnDate, columnStart, columnStop} {
		if !slices.Contains(cells, column) {
			d.fault(line, column, "must be a column, got %.120s", strings.Join(cells, ","))
		}
	}
	return len(d.faults) == 0
}

// readRow reads a row's cells and keeps it where nothing is wrong with it.
func (d *file) readRow(cells []string, line int) {
	before := len(d.faults)
	if len(cells) != len(d.header) {
		d.fault(line, "", "must have %d cells like the header, got %d", len(d.header), len(cells))
		return
	}
	cell := func(column string) string {
		if i := slices.Index(d.header, column); i >= 0 {
			return cells[i]
		}
		return ""
	}
	row := Row{Note: fault.Plain(cell(columnNote)), Line: line}
	d.readTimes(&row, cell, line)
	timesAreGood := len(d.faults) == before
	for _, column := range numberColumns {
		*column.cell(&row) = NotNoted()
		text := cell(column.name)
		if text == "" {
			continue
		}
		x, err := strconv.ParseFloat(text, 64)
		switch {
		case err != nil || strings.Trim(text, "+-.0123456789eE") != "":
			d.fault(line, column.name, "must be a number like 3.5, or empty where it was not noted, got %.60q", text)
		case !column.holds(x):
			d.fault(line, column.name, "must be %s, got %.60s", column.allowed, text)
		default:
			*column.cell(&row) = x
		}
	}
	if timesAreGood {
		if column, text := row.follows(d.last); text != "" {
			d.fault(line, column, "%s", text)
		} else {
			d.last = &row
		}
	}
	if len(d.faults) == before {
		d.rows = append(d.rows, row)
	}
}

// readTimes reads a row's date, start and stop.
func (d *file) readTimes(row *Row, cell func(string) string, line int) {
	var err error
	row.Date, err = calendar.ParseDate(cell(columnDate))
	if year := row.Date.Year(); err != nil || year < firstYear || year > lastYear {
		d.fault(line, columnDate, "must be a date like 2025-01-31, from 1970 to 2200, got %.60q", cell(columnDate))
	}
	before := len(d.faults)
	clock := func(column string) int {
		minute, err := calendar.ParseClock(cell(column))
		if err != nil {
			d.fault(line, column, "must be a time of day like 16:30, from 00:00 to 24:00, got %.60q", cell(column))
		}
		return minute
	}
	row.StartMinute, row.StopMinute = clock(columnStart), clock(columnStop)
	if len(d.faults) == before && row.StopMinute <= row.StartMinute {
		d.fault(line, columnStop, "must be after the start on the same day (over midnight: write two runs), got %s after %s",
			cell(columnStop), cell(columnStart))
	}
}
