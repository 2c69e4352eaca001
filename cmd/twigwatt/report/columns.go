package report

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"twigwatt/sim/calendar"
)

// A column is what each row of a list tells, once for terminal, page and JSON.
type column[R any] struct {
	title    string // on terminal and page; broken where a terminal breaks it. "": in JSON alone
	key      string // in JSON; "": not there
	decimals int
	unit     string           // behind the figure, as " %"
	number   func(*R) float64 // the figure
	words    func(*R) string  // or text, like a month
	right    bool             // text that stands on the right, as figures do
	value    func(*R) any     // in JSON, where that differs
}

// figures is a column of figures; NaN where there is none.
func figures[R any](title, key string, decimals int, number func(*R) float64) column[R] {
	return column[R]{title: title, key: key, decimals: decimals, number: number}
}

// percents is a column of figures in percent.
func percents[R any](title, key string, decimals int, number func(*R) float64) column[R] {
	return column[R]{title: title, key: key, decimals: decimals, unit: " %", number: number}
}

// texts is a column of words, with what stands for them in JSON (key "": they do not).
func texts[R any](title, key string, words func(*R) string, value func(*R) any) column[R] {
	return column[R]{title: title, key: key, words: words, value: value}
}

// amounts is texts for what is mostly a figure.
func amounts[R any](title, key string, words func(*R) string, value func(*R) any) column[R] {
	return column[R]{title: title, key: key, words: words, right: true, value: value}
}

// monthColumn is a column of months, by their first days, with a layout of the time package.
func monthColumn[R any](layout string, first func(*R) calendar.Date) column[R] {
	return texts("month", "month", func(r *R) string { return first(r).Time().Format(layout) },
		func(r *R) any { return first(r).Time().Format("2006-01") })
}

// onlyJSON is a column that is not shown.
func onlyJSON[R any](key string, value func(*R) any) column[R] {
	return column[R]{key: key, value: value}
}

// A list is the columns of one kind of row.
type list[R any] []column[R]

// cell writes what a column tells of a row.
func (c *column[R]) cell(row *R) string {
	if c.words != nil {
		return c.words(row)
	}
	return Number(c.number(row), c.decimals) + c.unit
}

// json writes the rows as objects.
func (l list[R]) json(rows []R) []Pairs {
	return objects(rows, func(row R) (object Pairs) {
		for _, c := range l {
			switch {
			case c.key == "":
			case c.value != nil:
				object = append(object, Pair{c.key, c.value(&row)})
			case c.words != nil:
				object = append(object, Pair{c.key, c.words(&row)})
			default:
				object = append(object, Pair{c.key, c.number(&row)})
			}
		}
		return object
	})
}

// table writes the rows for a page.
func (l list[R]) table(caption string, rows []R) Table {
	t := Table{Caption: caption, Rows: make([][]string, len(rows))}
	for _, c := range l {
		if c.title == "" {
			continue
		}
		t.Head = append(t.Head, strings.ReplaceAll(strings.TrimSpace(c.title), "\n", " "))
		for i := range rows {
			t.Rows[i] = append(t.Rows[i], c.cell(&rows[i]))
		}
	}
	return t
}

// text writes the rows for a terminal: words on the left of their column, figures on the
// right, the heads above one another.
func (l list[R]) text(t *Terminal, rows []R) {
	var shown list[R]
	deep := 0
	for _, c := range l {
		if c.title != "" {
			shown, deep = append(shown, c), max(deep, strings.Count(c.title, "\n")+1)
		}
	}
	grid := make([]strings.Builder, deep+len(rows))
	for _, c := range shown {
		cells := strings.Split(strings.Repeat("\n", deep-1-strings.Count(c.title, "\n"))+c.title, "\n")
		for i := range rows {
			cells = append(cells, c.cell(&rows[i]))
		}
		wide := 0
		for _, cell := range cells {
			wide = max(wide, utf8.RuneCountInString(cell))
		}
		if c.words != nil && !c.right {
			wide = -wide // on the left
		}
		for i, cell := range cells {
			fmt.Fprintf(&grid[i], "  %*s", wide, cell)
		}
	}
	for i := range grid {
		t.WriteString(strings.TrimRight(grid[i].String(), " ") + "\n")
	}
}
