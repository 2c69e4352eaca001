// Package report writes answers as text of 80 columns, JSON, CSV and one offline
// HTML page.
//
// Each question has a function that takes its answer and makes a Report of it, like
// Year(*study.YearAnswer); a Report writes itself as text, JSON and page. What stands in a
// list of all three is told once, as its columns. A page is a list of Parts, each with a
// caption that is a finding. The package formats and computes nothing: every figure comes
// ready from the packages that own it. Left out: languages other than English, and units
// other than the metric ones beside cords.
package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
)

// A Report is an answer ready to be written.
type Report struct {
	Text     func(*Terminal)
	After    func(*Terminal) // of the text, under the warnings; nil: nothing
	JSON     func() Pairs    // between the format and the warnings
	Page     func() *Page    // nil: there is none
	Warnings []sim.Warning
	More     []Caution // beside those that always hold
	InFull   bool      // the text ends with all cautions in full, as a sheet that is carried to the plant
}

// WriteText writes the answer for a person at a terminal of 80 columns, warnings and cautions
// behind it.
func (r *Report) WriteText(w io.Writer) error {
	t := &Terminal{}
	r.Text(t)
	if len(r.Warnings) > 0 {
		t.Gap()
		t.WriteString("Warnings\n")
		for _, warning := range r.Warnings {
			t.Line("- %s", warning.Text)
		}
	}
	if r.After != nil {
		t.Gap()
		r.After(t)
	}
	if r.InFull {
		t.WriteString("\nTake care\n")
		for _, caution := range r.cautions() {
			t.Line("- %s", caution)
		}
	} else {
		t.Closing()
		for _, caution := range r.More {
			fmt.Fprintln(t, "  "+caution.Short)
		}
	}
	_, err := io.WriteString(w, fault.PlainLines(t.String()))
	return err
}

// WriteJSON writes the answer with the keys of the manual.
func (r *Report) WriteJSON(w io.Writer) error {
	warnings := objects(r.Warnings, func(w sim.Warning) Pairs { return Pairs{{"code", w.Code}, {"text", w.Text}} })
	document := append(Pairs{{"format", 1}}, r.JSON()...)
	return WriteJSON(w, append(document, Pair{"warnings", warnings}, Pair{"cautions", r.cautions()}))
}

// cautions are all that hold, in full.
func (r *Report) cautions() []string {
	all := slices.Clone(Cautions)
	for _, caution := range r.More {
		all = append(all, caution.Full)
	}
	return all
}

// WritePage writes the answer as a page, the same bytes for the same answer.
func (r *Report) WritePage(w io.Writer, basis Basis) error {
	p := r.Page()
	basis.Again = append(basis.Again, p.Again...)
	p.Basis, p.Cautions = basis, r.cautions()
	for _, warning := range r.Warnings {
		p.Warnings = append(p.Warnings, warning.Text)
	}
	return WritePage(w, p)
}

// A Terminal gathers a text of 80 columns.
type Terminal struct{ strings.Builder }

// Line writes a paragraph whose later lines are indented; its figures are those of say.
func (t *Terminal) Line(format string, args ...any) {
	fmt.Fprintln(t, Wrap(say(format, args...), Width, "  "))
}

// Note writes a paragraph; nothing where there is no text.
func (t *Terminal) Note(text string) {
	if text != "" {
		fmt.Fprintln(t, Wrap(text, Width, ""))
	}
}

// Answer writes a sentence under a word.
func (t *Terminal) Answer(label, text string) { fmt.Fprintln(t, Hang(label, 7, text)) }

// Gap writes an empty line.
func (t *Terminal) Gap() { t.WriteString("\n") }

// Closing writes the heading and the four lines of caution that end every text.
func (t *Terminal) Closing() {
	t.WriteString("\nTake care\n")
	for _, line := range ShortCautions {
		fmt.Fprintln(t, "  "+line)
	}
}

// figure is a number of the JSON output: six decimals at most, so that machines
// that round differently print the same; null where there is none (NaN).
type figure float64

// MarshalJSON writes the figure.
func (f figure) MarshalJSON() ([]byte, error) {
	x := math.Round(float64(f)*1e6) / 1e6
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	if x == 0 {
		x = 0 // no minus
	}
	return strconv.AppendFloat(nil, x, 'f', -1, 64), nil
}

// A Pair is a key of a JSON object with its value; Pairs keep their order.
type Pair struct {
	Key   string
	Value any
}

// Pairs is a JSON object whose keys stand as given. Numbers among its values are
// figures, dates stand as 2025-01-31, and null for a date or number that there is not.
type Pairs []Pair

// MarshalJSON writes the object.
func (p Pairs) MarshalJSON() ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	out.WriteByte('{')
	for i, pair := range p {
		if i > 0 {
			out.WriteByte(',')
		}
		if err := encoder.Encode(pair.Key); err != nil {
			return nil, err
		}
		out.WriteByte(':')
		switch x := pair.Value.(type) {
		case float64:
			pair.Value = figure(x)
		case *float64:
			pair.Value = orNull(x, func(x float64) any { return figure(x) })
		case calendar.Date:
			pair.Value = x.String()
		case *calendar.Date:
			pair.Value = orNull(x, func(d calendar.Date) any { return d.String() })
		}
		if err := encoder.Encode(pair.Value); err != nil {
			return nil, err
		}
	}
	out.WriteByte('}')
	return out.Bytes(), nil
}

// objects writes each row as an object; no row is [] to a reader, not null.
func objects[R any](rows []R, object func(R) Pairs) []Pairs {
	all := make([]Pairs, len(rows))
	for i, row := range rows {
		all[i] = object(row)
	}
	return all
}

// orNull is a value, null where there is none.
func orNull[T any](x *T, write func(T) any) any {
	if x == nil {
		return nil
	}
	return write(*x)
}

// WriteJSON writes a document indented, with < and > as they are.
func WriteJSON(w io.Writer, document any) error {
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(document)
}
