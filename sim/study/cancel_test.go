package study_test

import (
	"context"
	"reflect"
	"runtime"
	"testing"
	"time"

	"twigwatt/sim"
	"twigwatt/sim/study"
)

// A question that is interrupted answers with the context's error and leaves no goroutine.
func TestAnInterruptedQuestionLeavesNothing(t *testing.T) {
	s := read(t, home, "days=30", "step_minutes=60", "plan.by=chosen", "load.daily_swing_pct=20")
	for question, ask := range map[string]func(context.Context, func(done, of int)) error{
		"year": func(ctx context.Context, passed func(int, int)) error {
			_, err := study.Year(ctx, s.Household, s.Rule, func(sim.Moment, *sim.State, *sim.Flows) { passed(1, 1) })
			return err
		},
		"hours": func(ctx context.Context, passed func(int, int)) error {
			_, err := study.Hours(ctx, s.Household, s.Rule, study.HoursOptions{EveryH: 4, Lives: 5, Passed: passed})
			return err
		},
		"bank": func(ctx context.Context, passed func(int, int)) error {
			_, err := study.Bank(ctx, s.Household, s.Rule, study.BankOptions{SizesKWh: []float64{6, 8, 10, 12}, FirstDay: -1, Lives: 5, Passed: passed,
				OfSize: func(kWh float64) (*sim.Household, error) { passed(1, 4); return s.OfSize(kWh) }})
			return err
		},
		"wood": func(ctx context.Context, passed func(int, int)) error {
			passed(0, 1)
			_, err := study.Wood(ctx, s.Household, s.Rule)
			return err
		},
		"risk": func(ctx context.Context, passed func(int, int)) error {
			_, err := study.Risk(ctx, s.Household, s.Rule, study.RiskOptions{Years: 20, Passed: passed})
			return err
		},
		"day": func(ctx context.Context, passed func(int, int)) error {
			passed(0, 1)
			_, err := study.Day(ctx, s.Household, s.Rule, evening(s, 900, 60))
			return err
		},
	} {
		before := runtime.NumGoroutine()
		ctx, cancel := context.WithCancel(t.Context())
		if err := ask(ctx, func(int, int) { cancel() }); err != context.Canceled {
			t.Errorf("%s: got %v", question, err)
		}
		for try := 0; runtime.NumGoroutine() > before && try < 200; try++ {
			time.Sleep(time.Millisecond)
		}
		if now := runtime.NumGoroutine(); now > before {
			t.Errorf("%s: %d goroutines, %d before", question, now, before)
		}
	}
}

// What is asked of a household leaves it as it was, its warnings among it.
func TestAQuestionLeavesTheHouseholdAsItWas(t *testing.T) {
	set := []string{"days=16", "step_minutes=60", "plan.by=chosen", "plan.ration=true", "woodpile.stack.a.dry_kg=100", "battery.ceiling_pct=95"}
	s, before := read(t, withAll, set...), read(t, withAll, set...)
	roomy := append(s.Warnings[:len(s.Warnings):len(s.Warnings)], make([]sim.Warning, 8)...)
	s.Warnings = roomy[:len(s.Warnings)]
	if _, err := study.Hours(t.Context(), s.Household, s.Rule, study.HoursOptions{EveryH: 6, Lives: 2}); err != nil {
		t.Fatal(err)
	}
	bankOf(t, s, study.BankOptions{SizesKWh: []float64{8}, FirstDay: 2, EngineOut: 2, Lives: 2})
	riskOf(t, s, 2)
	sheet(t, s, evening(s, 23*60+50, 40))
	if _, err := study.Year(t.Context(), s.Household, s.Rule, nil); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(s.Household, before.Household) {
		t.Error("the household changed")
	}
	for _, w := range roomy[len(s.Warnings):] {
		if w != (sim.Warning{}) {
			t.Errorf("a warning was written behind the household's own: %s", w.Code)
		}
	}
}
