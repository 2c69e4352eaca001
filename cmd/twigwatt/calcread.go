package main

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"

	"twigwatt/storage/battery"
)

// byteOrderMark may stand at the start of a text that was saved on Windows.
const byteOrderMark = "\ufeff"

// readFile reads a file of a sum by one of the readers below.
func readFile[T any](name string, read func(name string, r io.Reader) ([]T, error)) ([]T, error) {
	f, err := openFile(name)
	if err != nil {
		return nil, usageError{err.Error()}
	}
	defer f.Close()
	const mostBytes = 16 << 20
	text, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, usageError{unreadable(name, err).Error()}
	}
	if len(text) > mostBytes {
		return nil, usagef("%s: must be smaller than 16 MB", name)
	}
	return read(name, bytes.NewReader(text))
}

// finite reads a number of a reasonable size, so that sums of such stay numbers.
func finite(cell string) (float64, bool) {
	const most = 1e9
	cell = strings.TrimSpace(cell)
	x, err := strconv.ParseFloat(cell, 64)
	return x, err == nil && math.Abs(x) <= most && strings.Trim(cell, "+-.0123456789eE") == ""
}

// readNumbers reads numbers, one a line, two or more. Empty lines are passed over.
func readNumbers(name string, r io.Reader) ([]float64, error) {
	var all []float64
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		cell := strings.TrimSpace(strings.TrimPrefix(lines.Text(), byteOrderMark))
		if cell == "" {
			continue
		}
		x, ok := finite(cell)
		if !ok {
			return nil, usagef("%s:%d: must be a number, -1e9 to 1e9, got %s", name, n, short(cell))
		}
		all = append(all, x)
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		return nil, usagef("%s: must be numbers, one a line, got a line of more than 64 kB", name)
	} else if err != nil {
		return nil, unreadable(name, err)
	}
	if len(all) < 2 {
		return nil, usagef("%s: must have two numbers or more, got %d", name, len(all))
	}
	return all, nil
}

// readRates reads a discharge table: the header hours,amp_hours, then two numbers
// a row.
func readRates(name string, r io.Reader) ([]battery.Rate, error) {
	const wanted = "the header hours,amp_hours and then two numbers a row"
	in := csv.NewReader(r)
	in.FieldsPerRecord = -1
	var rows []battery.Rate
	for header := true; ; header = false {
		row, err := in.Read()
		if err == io.EOF {
			return rows, nil
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return nil, usagef("%s:%d: must be %s; its quotes do not close", name, bad.Line, wanted)
		}
		if err != nil {
			return nil, unreadable(name, err)
		}
		line, _ := in.FieldPos(0)
		if header {
			if strings.ReplaceAll(strings.TrimPrefix(strings.Join(row, ","), byteOrderMark), " ", "") != "hours,amp_hours" {
				return nil, usagef("%s:%d: must be %s, got %s", name, line, wanted, short(strings.Join(row, ",")))
			}
			continue
		}
		if len(row) != 2 {
			return nil, usagef("%s:%d: must be two numbers, got %s", name, line, short(strings.Join(row, ",")))
		}
		hours, okH := finite(row[0])
		ampHours, okA := finite(row[1])
		if !okH || !okA {
			return nil, usagef("%s:%d: must be two numbers, got %s", name, line, short(strings.Join(row, ",")))
		}
		rows = append(rows, battery.Rate{Hours: hours, AmpHours: ampHours})
	}
}

// short quotes what was given, in the length of a line at most.
func short(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most]) + "…"
	}
	return strconv.Quote(text)
}
