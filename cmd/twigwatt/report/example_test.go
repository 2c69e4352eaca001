package report_test

import (
	"bytes"
	"context"
	"fmt"
	"log"
	"os"
	"strings"
	"time"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/diary"
	"twigwatt/sim/study"
)

// shortSpan runs a few days of the embedded cabin at the same hours.
func shortSpan(watch func(h *sim.House) func(sim.Moment, *sim.State, *sim.Flows)) *study.YearAnswer {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("days=2"), scenarios.Set("plan.by=same-hours"))
	if err != nil {
		log.Fatal(err)
	}
	y, err := study.Year(context.Background(), s.Household, s.Rule, watch(s.House))
	if err != nil {
		log.Fatal(err)
	}
	return y
}

func nobody(*sim.House) func(sim.Moment, *sim.State, *sim.Flows) { return nil }

// A figure has a space between thousands, and never a minus before nothing. Worked: what
// is given, rounded.
func ExampleNumber() {
	fmt.Println(report.Number(1424.5, 1), report.Number(-0.04, 1), report.Number(-1234567, 0))
	// Output:
	// 1 424.5 0.0 -1 234 567
}

// Worked: 3140 kg are 3.14 tonnes.
func ExampleMass() {
	fmt.Println(report.Mass(940.4), report.Mass(3140))
	// Output:
	// 940 kg 3.1 t
}

// Worked: the date that is given.
func ExampleDayMonth() {
	d := calendar.NewDate(2025, time.January, 14)
	fmt.Println(report.DayMonth(d) + "; " + report.DayYear(d))
	// Output:
	// 14 January; 14 January 2025
}

// Worked: years are rounded; a range that rounds to one year is told as one.
func ExampleLifeText() {
	fmt.Println(report.LifeText(3.1, 5.2) + "; " + report.LifeText(6.8, 7.2))
	// Output:
	// 3 to 5 years; 7 years
}

// Worked: no line is longer than 28 characters, the later ones' indent among them.
func ExampleWrap() {
	fmt.Println(report.Wrap("from 26 February 2027 on there is no ready wood on 34 days", 28, "  "))
	// Output:
	// from 26 February 2027 on
	//   there is no ready wood on
	//   34 days
}

// Worked: 80 characters to a line, seven of them the lead's.
func ExampleHang() {
	fmt.Println(report.Hang("DO", 7, "ready wood runs out on 26 February 2027: 34 days without a run: see twigwatt wood"))
	// Output:
	// DO     ready wood runs out on 26 February 2027: 34 days without a run: see
	//        twigwatt wood
}

// Pairs keep their order, and < stays as it is. Worked: the numbers are those given.
func ExampleWriteJSON() {
	err := report.WriteJSON(os.Stdout, report.Pairs{{Key: "wanted_kwh", Value: 6.25}, {Key: "text", Value: "< 3 h"}, {Key: "days", Value: []int{1, 2}}})
	if err != nil {
		log.Fatal(err)
	}
	// Output:
	// {
	//   "wanted_kwh": 6.25,
	//   "text": "< 3 h",
	//   "days": [
	//     1,
	//     2
	//   ]
	// }

}

// Two days for a person at a terminal. Worked: two runs of 4.5 h are 9 h; each gives power
// 20 minutes after the match, 8.33 h in all (printed whole). Regression: the words.
func ExampleYear() {
	var text strings.Builder
	if err := report.Year(shortSpan(nobody), report.BooksInFull).WriteText(&text); err != nil {
		log.Fatal(err)
	}
	for _, line := range strings.SplitN(text.String(), "\n", 3)[:2] {
		fmt.Println(line)
	}
	// Output:
	// cabin: 2 days from 1 January 2025, same hours every day (16:00 for 4.5 h)
	// Run    4.5 h a day (9 h, engine 8 h); January 4.5 h; longest 4.5 h

}

// A trace is shown each step. Worked: the header and 2 · 48 steps.
func ExampleNewTrace() {
	var csv bytes.Buffer
	var trace *report.Trace
	shortSpan(func(h *sim.House) func(sim.Moment, *sim.State, *sim.Flows) {
		trace = report.NewTrace(&csv, h)
		return trace.Step
	})
	if err := trace.Flush(); err != nil {
		log.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(csv.String()), "\n")
	fmt.Println(len(lines), lines[0] == report.TraceHead, lines[1][:len("2025-01-01T00:00")])
	// Output:
	// 97 true 2025-01-01T00:00
}

// A page is one file: a title, a card to hang up, parts with their tables. Names in it are
// text, whatever they hold.
func ExampleWritePage() {
	table := report.Table{Caption: "Runs", Head: []string{"day", "light", "stop"}, Rows: [][]string{{"Mon", "16:30", "21:00"}}}
	page := report.Page{Title: "An evening at <home>", Card: &report.Card{Title: "Runs", Table: table},
		Answers: []report.Answer{{Label: "Run", Text: "4.5 h"}}, Parts: []report.Part{{ID: "runs", Title: "Runs", Caption: "One run", Tables: []report.Table{table}}}}
	var html bytes.Buffer
	if err := report.WritePage(&html, &page); err != nil {
		log.Fatal(err)
	}
	fmt.Println(strings.HasPrefix(html.String(), "<!DOCTYPE html>"))
	fmt.Println(strings.Contains(html.String(), "<title>An evening at &lt;home&gt;</title>"), strings.Contains(html.String(), "at <home>"))
	// Output:
	// true
	// true false
}

// A fitted figure as it stands in a scenario. Regression: how many digits are kept.
func ExampleFittedLine() {
	line := report.FittedLine(diary.FittedSetting{Key: "engine.kw", Estimate: diary.Estimate{Value: 2.6123, Low: 2.58, High: 2.65, Rows: 120}})
	fmt.Println(line.Key, "=", line.Value)
	// Output:
	// engine.kw = 2.612

}

// Every text ends with four lines of caution.
func ExampleTerminal_Closing() {
	var b report.Terminal
	b.Closing()
	for i, caution := range report.ShortCautions {
		fmt.Println(i+1, strings.Contains(b.String(), caution))
	}
	// Output:
	// 1 true
	// 2 true
	// 3 true
	// 4 true
}
