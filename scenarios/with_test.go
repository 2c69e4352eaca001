package scenarios_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/google/go-cmp/cmp"

	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// inForce is every key's value.
func inForce(s *scenarios.Scenario) map[string]string {
	all := map[string]string{}
	for _, setting := range s.Settings {
		all[setting.Key] = setting.InForce()
	}
	return all
}

func with(t *testing.T, s *scenarios.Scenario, changes ...scenarios.Change) *scenarios.Scenario {
	t.Helper()
	changed, err := s.With(changes...)
	if err != nil {
		t.Fatal(err)
	}
	return changed
}

// A change in memory is --set by another way: the same values in force, the same faults.
func TestWithIsSetInMemory(t *testing.T) {
	const home = "days = 10\n" + whole
	own, err := readText(home, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		reason string
		sets   []string
	}{
		{"a number, and defaults that follow it", []string{"battery.kwh=20"}},
		{"a rival gives way", []string{"battery.volts=24", "battery.amp_hours=700"}},
		{"the one after it takes its place again", []string{"battery.volts=24", "battery.amp_hours=700", "battery.kwh=9"}},
		{"the later wins", []string{"battery.kwh=-1", "battery.kwh=3"}},
		{"another kind, and all its defaults", []string{"battery.kind=\"lithium\""}},
		{"a new appliance", []string{"load.appliance.lamp.watts=40"}},
		{"lists", []string{`tending.hours=["08:00-12:00", "14:00-20:00"]`, "engine.wood_curve=[[0.5, 2], [2.6, 5]]"}},
		{"a truth", []string{"plan.by=\"chosen\"", "plan.ration=true"}},
		{"out of range", []string{"battery.kwh=-1"}},
		{"a wrong type", []string{"battery.kwh=\"much\"", "days=1.5"}},
		{"no such key", []string{"batery.kwh=1"}},
		{"a table", []string{"battery={kwh = 3}"}},
		{"no number", []string{"engine.kw=nan"}},
		{"keys that contradict one another", []string{"battery.floor_pct=80", "battery.ceiling_pct=70"}},
	} {
		var options []scenarios.Option
		var changes []scenarios.Change
		for _, set := range c.sets {
			key, text, _ := strings.Cut(set, "=")
			var raw map[string]any
			if _, err := toml.Decode("x = "+text, &raw); err != nil {
				t.Fatal(err)
			}
			options, changes = append(options, scenarios.Set(set)), append(changes, scenarios.Change{Key: key, Value: raw["x"]})
		}
		want, wantErr := readText(home, nil, options...)
		got, gotErr := own.With(changes...)
		if fmt.Sprint(gotErr) != fmt.Sprint(wantErr) {
			t.Errorf("%s: got %v, --set says %v", c.reason, gotErr, wantErr)
			continue
		}
		var faults fault.Faults
		if gotErr != nil && !errors.As(gotErr, &faults) {
			t.Errorf("%s: not faults: %v", c.reason, gotErr)
		}
		if gotErr != nil {
			continue
		}
		if diff := cmp.Diff(inForce(want), inForce(got)); diff != "" {
			t.Errorf("%s (-set +with):\n%s", c.reason, diff)
		}
		if diff := cmp.Diff(want.Demand, got.Demand); diff != "" {
			t.Errorf("%s: another demand:\n%s", c.reason, diff)
		}
		if diff := cmp.Diff(want.Warnings, got.Warnings); diff != "" {
			t.Errorf("%s: other warnings:\n%s", c.reason, diff)
		}
	}
}

// Worked: a fifth of the bank's 20 kWh is taken in an hour at most.
func TestDefaultsFollowAChange(t *testing.T) {
	own, err := readText(whole, nil)
	if err != nil {
		t.Fatal(err)
	}
	larger := with(t, own, scenarios.Change{Key: "battery.kwh", Value: 20})
	if got, want := larger.Bank.MaxChargeKW, 4.0; got != want {
		t.Errorf("20 kWh take %g kW at most, want %g", got, want)
	}
	if larger.Bank.ChargerKW == own.Bank.ChargerKW {
		t.Errorf("the charger stays at %g kW", own.Bank.ChargerKW)
	}
	again := with(t, larger, scenarios.Change{Key: "battery.kwh", Value: 12.0})
	if diff := cmp.Diff(inForce(own), inForce(again)); diff != "" {
		t.Errorf("changed and changed back (-own +again):\n%s", diff)
	}
}

// A given rival gives way, and its table is no longer asked of it.
func TestARivalGivesWay(t *testing.T) {
	own := cabin(t) // volts and amp_hours
	if own.Volts != 24 || own.RatedKWh != 14.4 {
		t.Fatalf("%g V, %g kWh", own.Volts, own.RatedKWh)
	}
	sized, err := own.OfSize(20)
	if err != nil {
		t.Fatal(err)
	}
	if ratio := sized.Bank.FullKWh / own.Bank.FullKWh; !(ratio > 1.388 && ratio < 1.389) { // 20/14.4
		t.Errorf("a bank of 20 kWh is %g times as large", ratio)
	}
	changed := with(t, own, scenarios.Change{Key: "battery.kwh", Value: 20})
	if changed.Volts != 0 || changed.RatedKWh != 20 {
		t.Errorf("%g V, %g kWh", changed.Volts, changed.RatedKWh)
	}
	if _, err := own.OfSize(-1); err == nil || !strings.Contains(err.Error(), "battery.kwh: must be more than 0") {
		t.Errorf("-1 kWh: %v", err)
	}
}

// Nothing of a scenario changes as others are made of it.
func TestWithLeavesTheScenarioAsItWas(t *testing.T) {
	own, before := cabin(t), cabin(t)
	for _, c := range [][]scenarios.Change{
		{{Key: "battery.kwh", Value: 3}, {Key: "days", Value: 20}},
		{{Key: "woodpile.stack.barn.stacked_m3", Value: 1}, {Key: "load.appliance.lamp.watts", Value: 50}},
		{{Key: "load.daily_swing_pct", Value: 0}, {Key: "plan.foresight", Value: plan.Exact}, {Key: "name", Value: "another"}},
	} {
		with(t, own, c...)
	}
	if _, err := own.With(scenarios.Change{Key: "days", Value: -1}); err == nil {
		t.Error("-1 days were taken")
	}
	if _, err := own.On(own.Span.Start+40, 2, 55); err != nil {
		t.Error(err)
	}
	if !maps.Equal(inForce(own), inForce(before)) || own.Name != "cabin" || own.Rule != before.Rule {
		t.Error("other values are in force")
	}
	if diff := cmp.Diff(before.Demand, own.Demand); diff != "" {
		t.Errorf("another demand:\n%s", diff)
	}
	if diff := cmp.Diff(before.Spec.Pile, own.Spec.Pile); diff != "" {
		t.Errorf("another pile:\n%s", diff)
	}
	if diff := cmp.Diff(before.Warnings, own.Warnings); diff != "" {
		t.Errorf("other warnings:\n%s", diff)
	}
}

// onceOnly opens each file once, as a pipe can be, and counts how often it was asked to.
type onceOnly struct {
	files map[string]string
	asked map[string]int
}

func (o *onceOnly) open(name string) (io.ReadCloser, error) {
	o.asked[name]++
	text, ok := o.files[name]
	if !ok || o.asked[name] > 1 {
		return nil, fmt.Errorf("open %s: %w", name, os.ErrNotExist)
	}
	return io.NopCloser(strings.NewReader(text)), nil
}

// weekOfLoad is a measured week, 0.2 kW by day and 0.1 by night.
func weekOfLoad() string {
	var week strings.Builder
	week.WriteString("time,kw\n")
	for hour := range 7 * 24 {
		fmt.Fprintf(&week, "2025-01-%02dT%02d:00,0.%d\n", 6+hour/24, hour%24, 1+hour/12%2)
	}
	return week.String()
}

// A household from a pipe, its measured load too, serves every question: nothing is opened a
// second time.
func TestAPipeServesEveryQuestion(t *testing.T) {
	pipe := &onceOnly{asked: map[string]int{}, files: map[string]string{"week.csv": weekOfLoad(),
		"-": "days = 16\nstep_minutes = 60\n[load]\nfile = \"week.csv\"\n[engine]\nkw = 2\n[battery]\nkwh = 8\n[woodpile.stack.shed]\ndry_kg = 60\n"}}
	s, err := scenarios.Read("-", pipe.open)
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	for question, ask := range map[string]func() error{
		"year": func() error { _, err := study.Year(ctx, s.Household, s.Rule, nil); return err },
		"hours": func() error {
			_, err := study.Hours(ctx, s.Household, s.Rule, study.HoursOptions{EveryH: 4, Lives: 2})
			return err
		},
		"bank": func() error {
			_, err := study.Bank(ctx, s.Household, s.Rule, study.BankOptions{SizesKWh: []float64{6, 12}, OfSize: s.OfSize, FirstDay: -1, Lives: 2})
			return err
		},
		"wood": func() error { _, err := study.Wood(ctx, s.Household, s.Rule); return err },
		"risk": func() error { _, err := study.Risk(ctx, s.Household, s.Rule, study.RiskOptions{Years: 2}); return err },
		"day": func() error {
			on, err := s.On(s.Span.Start+2, 2, 60)
			if err == nil {
				_, err = study.Day(ctx, on.Household, on.Rule, study.Evening{Minute: 900, StoredKWh: 5, LitMinute: -1, Days: 1, HoursSoFar: -1})
			}
			return err
		},
	} {
		if err := ask(); err != nil {
			t.Errorf("%s: %v", question, err)
		}
	}
	if diff := cmp.Diff(map[string]int{"-": 1, "week.csv": 1}, pipe.asked); diff != "" {
		t.Errorf("how often each was opened (-want +got):\n%s", diff)
	}
}

// A file that a change names is read; the one before it is not read again.
func TestAChangeReadsTheFileItNames(t *testing.T) {
	files := &onceOnly{asked: map[string]int{}, files: map[string]string{"a.csv": weekOfLoad(),
		"b.csv":     strings.ReplaceAll(weekOfLoad(), ",0.", ",1."),
		"home.toml": "days = 3\n[load]\nfile = \"a.csv\"\n[engine]\nkw = 2\n[battery]\nkwh = 8\n"}}
	s, err := scenarios.Read("home.toml", files.open)
	if err != nil {
		t.Fatal(err)
	}
	other := with(t, s, scenarios.Change{Key: "load.file", Value: "b.csv"})
	for _, days := range []int{5, 9} {
		if longer := with(t, other, scenarios.Change{Key: "days", Value: days}); longer.Demand.LoadKW[0] != s.Demand.LoadKW[0]+1 {
			t.Errorf("%g kW of the other file, %g of the first", longer.Demand.LoadKW[0], s.Demand.LoadKW[0])
		}
	}
	if diff := cmp.Diff(map[string]int{"home.toml": 1, "a.csv": 1, "b.csv": 1}, files.asked); diff != "" {
		t.Errorf("how often each was opened (-want +got):\n%s", diff)
	}
	if _, err := s.With(scenarios.Change{Key: "load.file", Value: "c.csv"}); err == nil || !strings.Contains(err.Error(), "load.file: must be a file beside the scenario") {
		t.Errorf("a file that is not there: %v", err)
	}
}

// A sheet's span begins on its day, with as many days as the scenario has and the sheet needs.
func TestOnADay(t *testing.T) {
	s := cabin(t, "days=30", "plan.foresight=exact", "battery.ceiling_pct=90")
	on, err := s.On(s.Span.Start+45, 40, 95)
	if err != nil {
		t.Fatal(err)
	}
	if on.Span.Start != s.Span.Start+45 || on.Span.Days != 40 || on.Rule.Foresight != plan.Typical || on.StartShare != 0.9 {
		t.Errorf("from %s, %d days, %s, from %g", on.Span.Start, on.Span.Days, on.Rule.Foresight, on.StartShare)
	}
	if last := on.Warnings[len(on.Warnings)-1]; last.Code != "stacks_of_another_day" {
		t.Errorf("the last warning is %s, of stacks counted 45 days before", last.Code)
	}
	near, err := s.On(s.Span.Start+31, 2, 50)
	if err != nil || near.Span.Days != 30 || len(near.Warnings) != len(s.Warnings) {
		t.Errorf("31 days on: %v, %+v", err, near.Warnings)
	}
}

// Where a measured load does not reach a date, the same day of its own span stands for it.
func TestOnADayThatTheLoadDoesNotReach(t *testing.T) {
	var days strings.Builder
	days.WriteString("time,kw\n")
	for hour := range 10 * 24 {
		fmt.Fprintf(&days, "2025-01-%02dT%02d:00,0.%d\n", 1+hour/24, hour%24, 1+hour/24%9)
	}
	s, err := readText("days = 10\nstart = 2025-01-01\n[load]\nfile = \"days.csv\"\n[engine]\nkw = 2\n[battery]\nkwh = 8\n", map[string]string{"days.csv": days.String()})
	if err != nil {
		t.Fatal(err)
	}
	nextYear := s.Span.Start.AYearLater()
	on, err := s.On(nextYear+2, 3, 60)
	if err != nil {
		t.Fatal(err)
	}
	if on.Span.Start != s.Span.Start+2 || on.Span.Days != 8 || on.Demand.LoadKW[0] != 0.3 {
		t.Errorf("from %s, %d days, %g kW at first", on.Span.Start, on.Span.Days, on.Demand.LoadKW[0])
	}
	if last := on.Warnings[len(on.Warnings)-1]; last.Code != "load_of_another_day" {
		t.Errorf("the last warning is %s", last.Code)
	}
	for _, c := range []struct {
		reason string
		day    int
		days   int
	}{{"the load ends within the sheet", 8, 3}, {"no such day in the load", 20, 2}} {
		if _, err := s.On(nextYear+calendar.Date(c.day), c.days, 60); err == nil {
			t.Errorf("%s: taken", c.reason)
		}
	}
}

// TestDaysDifferUnlessTheyAreMeasured: a published household's days swing by 18 % and their plan
// weighs it; a measured file holds its own days, and what is asked for stands.
func TestDaysDifferUnlessTheyAreMeasured(t *testing.T) {
	for _, c := range []struct {
		reason, text string
		want         float64
	}{
		{"published household", "[load]\nkwh_per_day = 6\n", 0.18},
		{"appliances", "[load.appliance.lamp]\nwatts = 40\n", 0.18},
		{"measured", "[load]\nfile = \"load.csv\"\n", 0},
		{"measured, and more", "[load]\nfile = \"load.csv\"\ndaily_swing_pct = 12\n", 0.12},
		{"alike", "[load]\nkwh_per_day = 6\ndaily_swing_pct = 0\n", 0},
	} {
		t.Run(c.reason, func(t *testing.T) {
			s, err := readText("start = 2025-01-06\ndays = 21\nstep_minutes = 60\n"+c.text+
				"[engine]\nkw = 2.6\n[battery]\nkwh = 14\n", map[string]string{"load.csv": measured(21)})
			if err != nil {
				t.Fatal(err)
			}
			if s.Demand.SwingShare != c.want {
				t.Errorf("got a swing of %g, want %g", s.Demand.SwingShare, c.want)
			}
			if spare := s.Prices.SpareKgPerKWhH > 0; spare != (c.want == 0) {
				t.Errorf("a soft price on spare energy: %t", spare)
			}
		})
	}
}

// TestAWeekOfMeasuredDaysIsTakenAsItComes, and says so; two weeks do not.
func TestAWeekOfMeasuredDaysIsTakenAsItComes(t *testing.T) {
	for days, want := range map[int]bool{7: true, 14: false} {
		s, err := readText("start = 2025-01-06\ndays = 14\nstep_minutes = 60\n[load]\nfile = \"load.csv\"\n[engine]\nkw = 2.6\n[battery]\nkwh = 14\n",
			map[string]string{"load.csv": measured(days)})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(fmt.Sprint(s.Warnings), "days_as_they_come"); got != want {
			t.Errorf("%d days: said %t: %v", days, got, s.Warnings)
		}
	}
}

// measured is a file of some days of January 2025 from the sixth on, each hour 0.3 kW.
func measured(days int) string {
	var b strings.Builder
	b.WriteString("time,kw\n")
	for day := range days {
		for hour := range 24 {
			fmt.Fprintf(&b, "2025-01-%02dT%02d:00,0.3\n", 6+day, hour)
		}
	}
	return b.String()
}

// TestADayMayBeginAtAnyCeiling: a charge on the meter over the ceiling is taken as the ceiling,
// whatever whole percent that is.
func TestADayMayBeginAtAnyCeiling(t *testing.T) {
	for ceiling := 51; ceiling <= 100; ceiling++ {
		s, err := scenarios.Read("cabin", nil, scenarios.Set(fmt.Sprintf("battery.ceiling_pct=%d", ceiling)), scenarios.Set("battery.start_pct=51"))
		if err != nil {
			t.Fatal(err)
		}
		on, err := s.On(s.Span.Start, 2, 100)
		if err != nil {
			t.Errorf("ceiling %d %%: %v", ceiling, err)
		} else if math.Abs(on.StartShare-s.Bank.CeilingShare) > 1e-12 {
			t.Errorf("ceiling %d %%: begins at %g", ceiling, on.StartShare)
		}
	}
}

// TestDatesOutsideTheSpanAreSaid, each with its key and line; dates within say nothing, and a sheet
// of another day neither.
func TestDatesOutsideTheSpanAreSaid(t *testing.T) {
	const home = "start = 2025-01-01\ndays = 60\nstep_minutes = 60\n[load]\nkwh_per_day = 5\naway = [\"2025-07-10..2025-07-24\", \"2025-01-05\"]\n" +
		"[engine]\nkw = 2.6\n[battery]\nkwh = 12\n[tending]\nno_runs = [\"2024-12-31\", \"2024-12-30..2025-01-02\"]\nbreakdown = [\"2025-03-02\"]\n" +
		"[woodpile.cut.late]\non = \"06-01\"\nstacked_m3 = 4\n[woodpile.stack.now]\nstacked_m3 = 9\nmoisture_pct = 15\n"
	s, err := readText(home, nil)
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for _, w := range s.Warnings {
		if w.Code == "outside_span" {
			said = append(said, w.Text)
		}
	}
	want := []string{"line 6, load.away: 2025-07-10 to 2025-07-24 lies outside the span, 2025-01-01 to 2025-03-01, and does nothing",
		"line 12, tending.no_runs: 2024-12-31 lies outside the span, 2025-01-01 to 2025-03-01, and does nothing",
		"line 13, tending.breakdown: 2025-03-02 lies outside the span, 2025-01-01 to 2025-03-01, and does nothing",
		"woodpile.cut.late: its day lies outside the span, 2025-01-01 to 2025-03-01: nothing is cut"}
	if diff := cmp.Diff(want, said); diff != "" {
		t.Error(diff)
	}
	on, err := s.On(s.Span.Start+20, 2, 60)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(fmt.Sprint(on.Warnings), "outside_span") {
		t.Errorf("a sheet is warned of the year's dates: %v", on.Warnings)
	}
}

// TestWhatTheHouseWantsIsToldApart: worked. Two lamps of 40 W for 5 h are 0.4 kWh a day, a washing of
// 1.2 kWh three times a week 0.514; the published household has 5 a day over its year. Nobody is at
// home on the first of ten days, and a fifth stays on: 9.2 of 10 days. What adds up is said.
func TestWhatTheHouseWantsIsToldApart(t *testing.T) {
	const home = "start = 2025-01-01\ndays = 365\nstep_minutes = 60\n[load]\nkwh_per_day = 5\nscale = 2\n[load.appliance.lamps]\nwatts = 40\ncount = 2\n" +
		"hours = [\"17:00-22:00\"]\n[load.chore.washing]\nkwh = 1.2\nkw = 0.9\ntimes_per_week = 3\n[engine]\nkw = 2.6\n[battery]\nkwh = 12\n"
	s, err := readText(home, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{"household": 10, "lamps": 0.8, "washing": 1.2 * 3 / 7}
	for _, part := range s.Loads {
		if math.Abs(part.KWhPerDay-want[part.Name]) > 0.01 {
			t.Errorf("%s: %.4f kWh a day, want %.4f", part.Name, part.KWhPerDay, want[part.Name])
		}
	}
	if len(s.Loads) != 3 || !strings.Contains(fmt.Sprint(s.Warnings), "household (10.0 kWh a day) and the appliances (0.8) add up to 10.8 kWh a day") {
		t.Errorf("%+v, %v", s.Loads, s.Warnings)
	}
	away, err := readText(strings.Replace(home, "days = 365", "days = 10", 1), nil, scenarios.Set(`load.away=["2025-01-01"]`), scenarios.Set("load.away_share=0.2"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := away.Loads[1].KWhPerDay, 0.8*9.2/10; away.Loads[1].Name != "lamps" || math.Abs(got-want) > 1e-9 {
		t.Errorf("%+v, want %.4f", away.Loads[1], want)
	}
}
