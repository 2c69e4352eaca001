package main

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"net/http"
	"slices"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/study"
)

// try answers what a year comes to with other values, quickly: in hourly steps and without what is
// compared with it, unless the own step is asked for.
func (s *server) try(w http.ResponseWriter, r *http.Request) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	s.work(w, r, func(ctx context.Context) (int, []byte) {
		y, err := quickYear(ctx, s.scenario, a.Options["step"] == "own", a.options())
		if err != nil {
			return told(err)
		}
		return document(report.Tried(y))
	})
}

// options are the values that a page sets.
func (a *asking) options() (all []scenarios.Option) {
	for _, key := range slices.Sorted(maps.Keys(a.Set)) {
		all = append(all, scenarios.Set(key+"="+a.Set[key]))
	}
	return all
}

// document is an answer of one line.
func document(of any) (int, []byte) {
	text, err := json.Marshal(of)
	if err != nil {
		return told(err)
	}
	return http.StatusOK, append(text, '\n')
}

// told is an answer that says what is wrong.
func told(err error) (int, []byte) {
	faults, status := faultsIn(err)
	text, _ := json.Marshal(map[string]any{"faults": faults})
	return status, append(text, '\n')
}

// mapped answers how many days are dark by limits on the hours a day and sizes of the bank, around the
// household's own.
func (s *server) mapped(w http.ResponseWriter, r *http.Request) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	s.work(w, r, func(ctx context.Context) (int, []byte) {
		own, err := scenarios.Read(s.scenario, openFile, append([]scenarios.Option{today()}, a.options()...)...)
		if err != nil {
			return told(err)
		}
		limits, sizes := []float64{2, 3, 4, 5, 6, 8, 10}, []float64{}
		for _, share := range []float64{0.5, 0.75, 1, 1.25, 1.5, 2} {
			sizes = append(sizes, math.Round(10*share*own.RatedKWh)/10)
		}
		type cell struct{ limit, size float64 }
		var cells []cell
		for _, limit := range limits {
			for _, size := range sizes {
				cells = append(cells, cell{limit, size})
			}
		}
		passed, _ := ctx.Value(progress{}).(func(done, of int))
		dark, err := study.SideBySide(cells, passed, func(c cell) (int, error) {
			tried := append(a.options(), scenarios.Set(fmt.Sprintf("tending.max_hours_a_day=%g", c.limit)), scenarios.Set(fmt.Sprintf("battery.kwh=%g", c.size)))
			y, err := quickYear(ctx, s.scenario, false, tried)
			if err != nil {
				return 0, err
			}
			return y.Shortage.Days, nil
		})
		if err != nil {
			return told(err)
		}
		return document(report.Pairs{{Key: "max_hours", Value: limits}, {Key: "kwh", Value: sizes}, {Key: "shortfall_days", Value: dark},
			{Key: "own", Value: report.Pairs{{Key: "max_hours", Value: own.Tending.MaxHoursADay}, {Key: "kwh", Value: own.RatedKWh}}}})
	})
}

// quickYear lives a year of a scenario with other values.
func quickYear(ctx context.Context, name string, ownStep bool, options []scenarios.Option) (*study.YearAnswer, error) {
	options = append([]scenarios.Option{today()}, options...)
	scenario, err := scenarios.Read(name, openFile, options...)
	const hourly = 60
	if err == nil && !ownStep && scenario.Span.StepMinutes < hourly {
		scenario, err = scenarios.Read(name, openFile, append(options, scenarios.Set("step_minutes=60"))...)
	}
	if err != nil {
		return nil, err
	}
	return study.Quick(ctx, scenario.Household, scenario.Rule, !ownStep)
}

// yearOf is a year with its report, as the command has it.
func yearOf(c *cli.Context) (*scenarios.Scenario, *report.Report, error) {
	s, err := readScenario(c)
	if err != nil {
		return nil, nil, err
	}
	y, err := study.Year(c.Context, s.Household, s.Rule, nil)
	if err != nil {
		return nil, nil, err
	}
	return s, report.Year(y, report.BooksInALine), nil
}
