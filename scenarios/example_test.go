package scenarios_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"strings"
	"time"

	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
	"twigwatt/sim/study"
)

// fileOf opens one text under any name, as os.Open would a file.
func fileOf(text string) func(string) (io.ReadCloser, error) {
	return func(string) (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }
}

// Three keys are enough; all others have a default with a source. Regression: the
// defaults.
func ExampleRead() {
	s, err := scenarios.Read("home.toml", fileOf("[load]\nkwh_per_day = 5\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Name, s.Span.Days, "days of", s.Span.StepMinutes, "minutes, plan", s.Rule.By)
	for _, setting := range s.Settings {
		if setting.Key == "battery.kwh" || setting.Key == "engine.light_up_minutes" {
			fmt.Println(setting.Key, "=", setting.InForce(), setting.Unit, "given:", setting.Given)
		}
	}
	// Output:
	// home 365 days of 30 minutes, plan chosen
	// engine.light_up_minutes = 20 min given: false
	// battery.kwh = 12 kWh given: true

}

// All that is wrong comes at once, each fault with its line, what is allowed and what was
// given. Regression: the messages.
func ExampleFaults() {
	_, err := scenarios.Read("home.toml", fileOf("[load]\nkwh_per_day = 5\n[engine]\nkw = nan\n[battery]\nkwh = -3\nkwhh = 4\n"))
	fmt.Println(err)
	var faults fault.Faults
	if errors.As(err, &faults) {
		fmt.Println(len(faults), "faults, the first on line", faults[0].Line, "of", faults[0].Key)
	}
	// Output:
	// home.toml:4: engine.kw: must be a finite number, got NaN
	// home.toml:6: battery.kwh: must be more than 0, at most 10000, got -3
	// home.toml:7: battery.kwhh: no such key; did you mean battery.kwh?
	// 3 faults, the first on line 4 of engine.kw
}

// An embedded example is read by its name, and opens no file. Set puts a key in place of
// the file's, with the same checks. Worked: the values that are set. Regression: the message.
func ExampleSet() {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("days=3"), scenarios.Set("engine.kw=3"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Span.Days, s.Set.KW)
	_, err = scenarios.Read("cabin", nil, scenarios.Set("engine.kw=300"))
	fmt.Println(err)
	// Output:
	// 3 3
	// --set: engine.kw: must be more than 0, at most 100, got 300

}

// A span that begins with the day on which it is read. Worked: the day that is given.
func ExampleToday() {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("start=today"), scenarios.Today(calendar.NewDate(2026, time.October, 10)))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Span.Start)
	// Output:
	// 2026-10-10
}

// From a scenario to the answers. Worked: seven days of four and a half attended hours,
// and 7 · 6 h as the rules allow at most.
func ExampleScenario() {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("days=7"), scenarios.Set("plan.by=same-hours"))
	if err != nil {
		log.Fatal(err)
	}
	year, err := study.Year(context.Background(), s.Household, s.Rule, nil)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Rule.Text(s.Span))
	fmt.Printf("attended %.1f h, at most %.0f a day\n", year.Total.AttendedH, year.MaxHoursADay)
	// Output:
	// same hours every day (16:00 for 4.5 h)
	// attended 31.5 h, at most 6 a day

}

// The manual is the one list of keys. Regression: the lines.
func ExampleManual() {
	for _, setting := range scenarios.Manual() {
		if setting.Key == "battery.kwh" || setting.Key == "plan.short_kg_per_kwh" {
			fmt.Printf("%s [%s] %s: %s; default %q\n", setting.Key, setting.Unit, setting.Meaning, setting.Allowed(), setting.Default)
		}
	}
	// Output:
	// battery.kwh [kWh] size at rated_hours: more than 0, at most 10000; default "volts × amp_hours / 1000"
	// plan.short_kg_per_kwh [kg/kWh] price of a kWh wanted and not had: 0 to 1000000; default "50"

}

// A diary's figures go into a scenario's text, all else as it stands. What was there
// stays as a comment. Worked: the values that are given.
func ExampleEdited() {
	text, err := scenarios.Edited("[load]\nkwh_per_day = 5 # measured\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n",
		[]scenarios.Line{{Key: "engine.kw", Value: "2.5"}, {Key: "load.scale", Value: "1.1", Comment: "from the diary"}})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Print(text)
	// Output:
	// [load]
	// scale = 1.1  # from the diary
	// kwh_per_day = 5 # measured
	// [engine]
	// # was: kw = 2.6
	// kw = 2.5
	// [battery]
	// kwh = 12

}

// A line as it stands in a file, without its table. Worked: the value that is given.
func ExampleLine() {
	fmt.Println(scenarios.Line{Key: "load.scale", Value: "1.1", Comment: "from the diary"})
	fmt.Println(scenarios.Table("load.appliance.freezer.watts"))
	// Output:
	// scale = 1.1  # from the diary
	// load.appliance.freezer

}

// Regression: the names.
func ExampleExamples() {
	fmt.Println(scenarios.Examples())
	// Output:
	// [cabin glade holm orchard saddle]

}

// An example with the files that lie beside it, to start from.
func ExampleExample() {
	text, beside, ok := scenarios.Example("orchard")
	fmt.Println(ok, strings.HasPrefix(string(text), "# orchard: an invented household"))
	for _, file := range beside {
		fmt.Println(file.Name)
	}
	// Output:
	// true true
	// orchard-diary.csv
}

// An embedded file is opened with or without its ending.
func ExampleOpenExample() {
	file, ok := scenarios.OpenExample("orchard-diary")
	if !ok {
		log.Fatal("no such example")
	}
	defer file.Close()
	head := make([]byte, len("date,start,stop"))
	if _, err := io.ReadFull(file, head); err != nil {
		log.Fatal(err)
	}
	fmt.Println(string(head))
	// Output:
	// date,start,stop
}

// A commented scenario with every key passes its own checks.
func ExampleTemplate() {
	s, err := scenarios.Read("mine.toml", fileOf(scenarios.Template()))
	fmt.Println(s != nil, err)
	// Output:
	// true <nil>
}

// What a misspelt key most likely meant, if it is near enough.
func ExampleNear() {
	fmt.Println(scenarios.Near("amp_hour", []string{"volts", "amp_hours", "kwh"}))
	_, near := scenarios.Near("colour", []string{"volts", "amp_hours", "kwh"})
	fmt.Println(near)
	// Output:
	// amp_hours true
	// false
}
