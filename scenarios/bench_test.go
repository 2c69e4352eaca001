package scenarios_test

import (
	"context"
	"errors"
	"io"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// noFiles refuses to open anything: the embedded examples need no file.
func noFiles(name string) (io.ReadCloser, error) { return nil, errors.New("no files here") }

func cabin(tb testing.TB, set ...string) *scenarios.Scenario {
	tb.Helper()
	var options []scenarios.Option
	for _, assignment := range set {
		options = append(options, scenarios.Set(assignment))
	}
	s, err := scenarios.Read("cabin", noFiles, options...)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

func BenchmarkYearSameHours(b *testing.B) {
	s := cabin(b, "step_minutes=60", "plan.by=same-hours", "plan.same_start=16:00", "plan.same_hours=5")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := sim.Run(context.Background(), s.Household, chooser(b, s), nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	for b.Loop() {
		cabin(b)
	}
}

// chooser makes the chooser of the plan in force.
func chooser(tb testing.TB, s *scenarios.Scenario) sim.Chooser {
	tb.Helper()
	c, _, err := s.Rule.Rationing(context.Background(), s.Household, plan.Beginning{})
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

func BenchmarkYearChosen(b *testing.B) {
	for _, bench := range []struct {
		name string
		set  []string
	}{
		{"hourly", []string{"step_minutes=60"}},
		{"hourly-with-panels", []string{"step_minutes=60", "panels.roof.kw_peak=1"}},
		{"hourly-with-panels-at-the-house", []string{"step_minutes=60", "panels.roof.kw_peak=1", "panels.roof.wired=house"}},
		{"ten-years-hourly", []string{"step_minutes=60", "days=3652"}},
		{"half-hourly-two-starts", []string{"step_minutes=30", "tending.max_starts_a_day=2"}},
		{"half-hourly-two-starts-with-panels", []string{"step_minutes=30", "tending.max_starts_a_day=2", "panels.roof.kw_peak=1"}},
	} {
		b.Run(bench.name, func(b *testing.B) {
			s := cabin(b, append(bench.set, "plan.by=chosen")...)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := sim.Run(context.Background(), s.Household, chooser(b, s), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
