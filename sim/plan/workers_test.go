package plan_test

import (
	"context"
	"runtime"
	"testing"
	"time"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// noneLeft waits until no more goroutines run than did before.
func noneLeft(t *testing.T, before int) {
	t.Helper()
	const tries = 200
	for range tries {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(time.Millisecond)
	}
	t.Errorf("%d goroutines, %d before", runtime.NumGoroutine(), before)
}

// Plans leave no goroutine behind, whether their lives are lived, begun or never asked for; nor
// does one that was interrupted.
func TestAPlanLeavesNoGoroutine(t *testing.T) {
	s, err := readSet([]string{"days=20", "step_minutes=60", "plan.foresight=typical", "load.chore.wash.kwh=1", "load.chore.wash.kw=1"})
	if err != nil {
		t.Fatal(err)
	}
	before := runtime.NumGoroutine()
	for range 3 {
		p, err := plan.New(t.Context(), s.Household, plan.Outlook{Foresight: plan.Typical})
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		watch := func(at sim.Moment, _ *sim.State, _ *sim.Flows) {
			if at.Step == 100 {
				cancel()
			}
		}
		if _, err := sim.Run(ctx, s.Household, p.Chooser(), watch); err != context.Canceled {
			t.Fatalf("interrupted: %v", err)
		}
		p.Chooser()
		if _, err := plan.New(ctx, s.Household, plan.Outlook{Foresight: plan.Typical}); err != context.Canceled {
			t.Fatalf("planned after the end: %v", err)
		}
	}
	noneLeft(t, before)
}
