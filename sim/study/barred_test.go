package study_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// runsByDay are a span's runs by the day, under a rule.
func runsByDay(t *testing.T, set ...string) ([][]sim.Interval, *sim.Summary) {
	t.Helper()
	s := read(t, withAll, append([]string{"start=2025-01-06", "days=30", "step_minutes=60", "plan.same_start=16:00"}, set...)...)
	record := recorded(t, s)
	summary, _ := run(t, s)
	return record.Runs, summary
}

// TestABreakdownIsNotForeseen: up to the day on which the set breaks a household runs as one whose
// set never breaks, whichever its plan and foresight; then not at all until it is mended. Days
// without runs that are known beforehand change what is done before them.
func TestABreakdownIsNotForeseen(t *testing.T) {
	const first, last = 12, 15 // 18 to 21 January
	dates := `=["2025-01-18..2025-01-21"]`
	for _, rule := range []string{"plan.by=chosen", "plan.by=same-hours", "plan.by=top-up"} {
		for _, foresight := range []plan.Foresight{plan.Typical, plan.Exact} {
			set := []string{rule, "plan.foresight=" + string(foresight)}
			whole, _ := runsByDay(t, set...)
			broken, summary := runsByDay(t, append(set, "tending.breakdown"+dates)...)
			if diff := cmp.Diff(whole[:first], broken[:first]); diff != "" {
				t.Errorf("%v: the breakdown was foreseen:\n%s", set, diff)
			}
			for day := first; day <= last; day++ {
				if len(broken[day]) > 0 {
					t.Errorf("%v: a run on day %d, when the set is broken", set, day)
				}
			}
			if len(broken[last+1]) == 0 || summary.Shortage.Days == 0 {
				t.Errorf("%v: runs after it %v, %d short days", set, broken[last+1], summary.Shortage.Days)
			}
		}
	}
	free, _ := runsByDay(t, "plan.by=chosen")
	known, _ := runsByDay(t, "plan.by=chosen", "tending.no_runs"+dates)
	if cmp.Equal(free[:first], known[:first]) {
		t.Error("days without runs change nothing before them: the test cannot fail")
	}
}

// TestNobodyAtHomeNoRun, unless somebody comes for it.
func TestNobodyAtHomeNoRun(t *testing.T) {
	away := `load.away=["2025-01-18..2025-01-21"]`
	count := func(runs [][]sim.Interval) (n int) {
		for _, day := range runs[12:16] {
			n += len(day)
		}
		return n
	}
	for _, rule := range []string{"plan.by=chosen", "plan.by=same-hours"} {
		if runs, _ := runsByDay(t, rule, away, "load.away_pct=100"); count(runs) != 0 {
			t.Errorf("%s: %d runs while nobody is at home", rule, count(runs))
		}
		if runs, _ := runsByDay(t, rule, away, "load.away_pct=100", "tending.away_runs=true"); count(runs) == 0 {
			t.Errorf("%s: no runs though somebody comes for them", rule)
		}
	}
}

// TestWhyASheetHasNoRun: each bar is named for what it is, and a breakdown of days to come is not
// known.
func TestWhyASheetHasNoRun(t *testing.T) {
	today, next := `=["2025-01-06"]`, `=["2025-01-07..2025-01-09"]`
	sheetOf := func(set ...string) *study.Sheet {
		s := read(t, withAll, append([]string{"start=2025-01-06", "days=30", "step_minutes=60", "plan.by=chosen"}, set...)...)
		e := evening(s, 8*60, 62)
		e.Days = 3
		return sheet(t, s, e)
	}
	for set, want := range map[string]study.NoRun{"tending.no_runs" + today: study.Barred, "load.away" + today: study.Away,
		"tending.breakdown" + today: study.Broken} {
		if got := sheetOf(set).NoRun; got != want {
			t.Errorf("%s: %d, want %d", set, got, want)
		}
	}
	if diff := cmp.Diff(sheetOf().Runs, sheetOf("tending.breakdown"+next).Runs); diff != "" {
		t.Errorf("a breakdown of the days to come is known:\n%s", diff)
	}
}

// TestWhyALitRunMustStop: the reason is named, and an engine that never took over did so at no
// moment.
func TestWhyALitRunMustStop(t *testing.T) {
	for _, c := range []struct {
		reason        string
		now, lit      int
		set           string
		want          study.NoRun
		neverTookOver bool
	}{
		{"burns on", 17 * 60, 16 * 60, "days=30", study.Runs, false},
		{"a barred day", 17 * 60, 16 * 60, `tending.no_runs=["2025-01-06"]`, study.Barred, false},
		{"nobody at home", 17 * 60, 16 * 60, `load.away=["2025-01-06"]`, study.Away, false},
		{"broken", 16*60 + 10, 16 * 60, `tending.breakdown=["2025-01-06"]`, study.Broken, true},
		{"outside the hours", 22 * 60, 16 * 60, "tending.max_hours_a_day=9", study.OutsideHours, false},
		{"hours used", 20 * 60, 16 * 60, "tending.max_hours_a_day=3", study.HoursUsed, false},
		{"the day over", 23*60 + 50, 23*60 + 45, `tending.hours=["00:00-24:00"]`, study.DayOver, true},
	} {
		s := read(t, withAll, "start=2025-01-06", "days=30", "step_minutes=60", "plan.by=chosen", c.set)
		e := evening(s, c.now, 62)
		e.LitMinute = c.lit
		r := sheet(t, s, e).Runs[0]
		if r.StopsNow != c.want || (r.EngineOn < 0) != c.neverTookOver || r.EngineOn >= r.Stop {
			t.Errorf("%s: stops for %d, want %d; engine on at %d, stop at %d", c.reason, r.StopsNow, c.want, r.EngineOn, r.Stop)
		}
	}
}
