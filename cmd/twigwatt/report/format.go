package report

import (
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"twigwatt/sim/calendar"
)

// Number writes a figure with so many decimals and a space between thousands: 1 424.5; a dash
// where there is none (NaN).
func Number(x float64, decimals int) string {
	if math.IsNaN(x) {
		return "–"
	}
	if math.IsInf(x, 1) {
		return "never"
	}
	text := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	whole, _, _ := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		text = text[:i] + " " + text[i:]
	}
	if x < 0 && strings.Trim(text, "0. ") != "" {
		return "-" + text
	}
	return text
}

// say is fmt.Sprintf that writes each float64 as Number does: %.1f is 1 424.5.
func say(format string, args ...any) string {
	for i, arg := range args {
		if x, ok := arg.(float64); ok {
			args[i] = spaced(x)
		}
	}
	return fmt.Sprintf(format, args...)
}

// spaced is a figure with a space between its thousands.
type spaced float64

// Format writes the figure with the decimals of the verb.
func (x spaced) Format(f fmt.State, _ rune) {
	decimals, _ := f.Precision()
	io.WriteString(f, Number(float64(x), decimals))
}

// Mass writes kilograms, from a tonne on in tonnes.
func Mass(kg float64) string {
	if math.Abs(kg) >= 1000 {
		return Number(kg/1000, 1) + " t"
	}
	return Number(kg, 0) + " kg"
}

// DayMonth writes a date as people do: 14 January.
func DayMonth(d calendar.Date) string { return d.Time().Format("2 January") }

// DayYear writes a date with its year: 14 January 2025.
func DayYear(d calendar.Date) string { return d.Text() }

// dayIn leaves the year out where the span lies in one calendar year.
func dayIn(span calendar.Span, d calendar.Date) string {
	if span.Start.Year() == (span.End() - 1).Year() {
		return DayMonth(d)
	}
	return DayYear(d)
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return Number(float64(n), 0) + " " + one + "s"
}

// Wrap breaks a text into lines of at most width characters, the second and
// later ones indented. The width must be more than the indent's length.
func Wrap(text string, width int, indent string) string {
	var lines []string
	line := ""
	for _, word := range unbroken(text) {
		for runes := []rune(word); len(runes) > width-len(indent); runes = []rune(word) { // a name without spaces
			if line != "" {
				lines, line = append(lines, line), ""
			}
			lines, word = append(lines, string(runes[:width-len(indent)])), string(runes[width-len(indent):])
		}
		switch {
		case line == "":
			line = word
		case len([]rune(line))+1+len([]rune(word)) > width:
			lines = append(lines, line)
			line = indent + word
		default:
			line += " " + word
		}
	}
	return strings.Join(append(lines, line), "\n")
}

// sentence makes a text one, with a capital and a full stop.
func sentence(text string) string { return strings.ToUpper(text[:1]) + text[1:] + "." }

// underTitle is an answer under a title that names the household already.
func underTitle(name, answer string) string { return sentence(strings.TrimPrefix(answer, name+": ")) }

// unbroken returns a text's words, a figure's thousands and its unit being one with it.
func unbroken(text string) []string {
	var words []string
	for _, word := range strings.Fields(text) {
		if n := len(words); n > 0 && endsInDigit.MatchString(words[n-1]) && thousandsOrUnit.MatchString(word) {
			words[n-1] += " " + word
		} else {
			words = append(words, word)
		}
	}
	return words
}

var (
	endsInDigit     = regexp.MustCompile(`[0-9]$`)
	thousandsOrUnit = regexp.MustCompile(`^([0-9]{3}([^0-9].*)?|` + // three digits, and no fourth
		`(%|°C|h|kWh|kW|W|kg|t|l|m3|m³|kg/h|kg/kWh|ha|km|cm²)[.,;:)]*)$`)
)

// Width is the terminal's.
const Width = 80

// Hang writes a text behind a lead that fills so many columns, its later lines
// under its first.
func Hang(lead string, columns int, text string) string {
	under := "\n" + strings.Repeat(" ", columns)
	return fmt.Sprintf("%-*s", columns, lead) + strings.ReplaceAll(Wrap(text, Width-columns, ""), "\n", under)
}
