package study_test

import (
	"context"
	"io"
	"math"
	"strings"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
	"twigwatt/storage/woodpile"
)

func read(t *testing.T, text string, set ...string) *scenarios.Scenario {
	t.Helper()
	var options []scenarios.Option
	for _, assignment := range set {
		options = append(options, scenarios.Set(assignment))
	}
	s, err := scenarios.Read("home.toml", fileOf(text), options...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// with is a household with some keys changed.
func with(t *testing.T, s *scenarios.Scenario, changes ...scenarios.Change) *scenarios.Scenario {
	t.Helper()
	changed, err := s.With(changes...)
	if err != nil {
		t.Fatal(err)
	}
	return changed
}

// fileOf opens a text, whatever the name.
func fileOf(text string) func(string) (io.ReadCloser, error) {
	return func(string) (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }
}

const home = `
[load]
kwh_per_day = 5.5
daily_swing_pct = 0
[engine]
kw = 2.6
[battery]
kwh = 14
[plan]
by = "same-hours"
`

// run lives through a household's span by its own rule.
func run(t *testing.T, s *scenarios.Scenario) (*sim.Summary, *sim.Books) {
	t.Helper()
	c, _, err := s.Rule.Rationing(t.Context(), s.Household, plan.Beginning{})
	if err != nil {
		t.Fatal(err)
	}
	return through(t, s.Household, c)
}

// tester is a test, or a draw of one that is repeated.
type tester interface {
	Helper()
	Fatal(...any)
	Context() context.Context
}

// through lives through a household's span by a chooser.
func through(t tester, h *sim.Household, c sim.Chooser) (*sim.Summary, *sim.Books) {
	t.Helper()
	books, err := sim.Run(t.Context(), h, c, nil)
	if err != nil {
		t.Fatal(err)
	}
	return sim.Summarize(h, books), books
}

// weighedKg is what a plan is weighed by: the price with the soft prices.
func weighedKg(s *sim.Summary) float64 { return s.Price.TotalKg() + s.Price.SoftKg }

// fixedKg is what a run from one step of every day until another weighs.
func fixedKg(t *testing.T, h *sim.Household, start, stop int) float64 {
	t.Helper()
	y, _ := through(t, h, &plan.EveryDay{House: h.House, StartStep: start, StopStep: stop})
	return weighedKg(y)
}

// seeded is a household with its own days, whose lives are drawn by another seed.
func seeded(h *sim.Household, seed uint64) *sim.Household {
	d := *h.Demand
	d.Seed = seed
	return h.Wanting(&d)
}

// withoutLuck is a household whose days differ by its load's swing alone.
func withoutLuck(h *sim.Household) *sim.Household {
	return h.With(func(spec *sim.Spec) { spec.Luck = sim.Luck{} })
}

// TestBestWindowIsTheBestOfAll tries every window of every length, where all days come as
// expected.
func TestBestWindowIsTheBestOfAll(t *testing.T) {
	s := read(t, home, "days=40", "step_minutes=60", "plan.same_start=16:00", "tending.max_hours_a_day=7")
	got, err := study.BestWindow(t.Context(), withoutLuck(s.Household), 1)
	if err != nil {
		t.Fatal(err)
	}
	best := math.Inf(1)
	for steps := 1; steps <= 7; steps++ {
		for start := 7; start+steps <= 21; start++ {
			best = min(best, fixedKg(t, s.Household, start, start+steps))
		}
	}
	if price := weighedKg(got.Summary); math.Abs(price-best) > 1e-6 || math.Abs(got.MeanKg-best) > 1e-6 {
		t.Errorf("%g kg, in its life %g, the best of all %g", price, got.MeanKg, best)
	}
}

// TestBestWindowIsForDaysThatNobodyKnows: it is chosen in the mean of lives, so it may not
// change with the days that one seed draws.
func TestBestWindowIsForDaysThatNobodyKnows(t *testing.T) {
	for _, swing := range []string{"10", "40"} {
		set := []string{"plan.same_start=16:00", "days=60", "start=2025-11-01", "step_minutes=60", "load.daily_swing_pct=" + swing, "tending.max_hours_a_day=7", "luck.set_daily_pct=0"}
		a := read(t, home, append(set, "seed=1")...)
		b := read(t, home, append(set, "seed=99")...)
		var found []*study.Window
		for _, h := range []*sim.Household{a.Household, seeded(b.Household, a.Demand.Seed)} {
			w, err := study.BestWindow(t.Context(), h, 60)
			if err != nil {
				t.Fatal(err)
			}
			found = append(found, w)
		}
		one, other := found[0], found[1]
		if one.StartStep != other.StartStep || one.Steps != other.Steps || one.MeanKg != other.MeanKg {
			t.Errorf("swing %s: %d for %d of one seed's days, %d for %d of another's", swing, one.StartStep, one.Steps, other.StartStep, other.Steps)
		}
	}
}

func TestChosenRunsBeatAnyFixedWindow(t *testing.T) {
	s, err := scenarios.Read("cabin", nil, scenarios.Set("step_minutes=60"))
	if err != nil {
		t.Fatal(err)
	}
	y, _ := run(t, s)
	w, err := study.BestWindow(t.Context(), s.Household, quick(5, study.UsualLives))
	if err != nil {
		t.Fatal(err)
	}
	f := w.Summary
	if y.Total.ShortfallKWh > 0.55*f.Total.ShortfallKWh || y.Price.TotalKg() > 0.85*f.Price.TotalKg() {
		t.Errorf("chosen: %g kWh dark, %g kg; the best window: %g, %g", y.Total.ShortfallKWh, y.Price.TotalKg(), f.Total.ShortfallKWh, f.Price.TotalKg())
	}
	if y.Shortage.Days < 1 || y.Shortage.Days > 20 {
		t.Errorf("the cabin should show a few tight days, not %d", y.Shortage.Days)
	}
}

// Worked: what the need is in each unit follows from the others by definition.
func TestNeedInEveryUnit(t *testing.T) {
	s := read(t, home, "days=60", "woodpile.stack.a.dry_kg=300", "woodpile.stack.a.species=alder")
	y, _ := run(t, s)
	w, err := study.Wood(t.Context(), s.Household, s.Rule)
	if err != nil {
		t.Fatal(err)
	}
	if w.Pile.Species.Key != "alder" {
		t.Errorf("all wood is alder, the need is counted in %s", w.Pile.Species.Key)
	}
	n := w.Need
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"solid", n.SolidM3, n.DryKg / 370}, // published: basic gravity 0.37
		{"stacked", n.StackedM3, n.SolidM3 / 0.64},
		{"loose", n.LooseM3, n.SolidM3 / 0.40},
		{"cords", n.Cords, n.StackedM3 / 3.624556},
		{"as it lies", n.AsIsKg, n.DryKg * y.Total.BurnedAsIsKg / y.Total.BurnedDryKg}, // as wet as what was burned
		{"work", n.WorkHours, 5 * n.StackedM3},
		{"hedge", w.Ground.HedgeM, n.DryKg * 365.25 / 60 / 290 * 100},
		{"missing", w.Missing.DryKg, n.DryKg - y.Total.BurnedDryKg},
	} {
		if math.Abs(c.got-c.want) > 1e-6*c.want {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
	months := 0.0
	for _, m := range w.Months {
		months += m.NeedDryKg
	}
	if math.Abs(months-n.DryKg) > 1e-6 {
		t.Errorf("the months need %g kg, the span %g", months, n.DryKg)
	}
	if w.NoWood == nil || w.NoDays == 0 || w.Months[0].ReadyDryKg != 300 {
		t.Errorf("%+v", w)
	}
}

// TestCutTableIsThePilesOwnDrying lets a scenario cut wood on the day and looks
// when it is ready there.
func TestCutTableIsThePilesOwnDrying(t *testing.T) {
	s := read(t, home, "woodpile.cut.a.on=03-01", "woodpile.cut.a.solid_m3=30", "woodpile.cut.a.species=alder", "woodpile.cut.a.piece=split", "woodpile.species=alder",
		"woodpile.loss_pct_year=0", "start=2025-01-01")
	_, books := run(t, s)
	var want *study.CutRow
	for _, row := range study.CutTable(s.House, s.House.Pile.Species.GreenWithBarkDryBasis()) {
		if row.Month.String() == "2025-03-01" && row.Piece == woodpile.Split && row.Cover == woodpile.Roof {
			want = &row
		}
	}
	if want == nil || want.Ready == nil {
		t.Fatal("no row")
	}
	for i := range books.Days {
		d := &books.Days[i]
		if d.Date == *want.Ready && !(d.ReadyDryKg > 0) || d.Date == *want.Ready-1 && d.ReadyDryKg > 0 {
			t.Errorf("the table says %s; on %s %g kg are ready", want.Ready, d.Date, d.ReadyDryKg)
		}
	}
}

func TestYearlyCuts(t *testing.T) {
	s := read(t, home, "start=2023-06-01", "days=1100", "step_minutes=60", "plan.same_start=16:00", "woodpile.cut.a.on=02-29", "woodpile.cut.a.dry_kg=1000", "woodpile.loss_pct_year=0")
	y, books := run(t, s)
	if got := y.Total.Moved.CutDryKg; got != 3000 {
		t.Errorf("three Februaries lay %g kg", got)
	}
	for i := range books.Days {
		d := &books.Days[i]
		if d.Moved.CutDryKg > 0 {
			if text := d.Date.String(); text != "2024-02-29" && text != "2025-02-28" && text != "2026-02-28" {
				t.Errorf("cut on %s", text)
			}
		}
	}
	if math.Abs(y.Books.WoodKg) > 1e-6 || math.Abs(y.Books.WaterKg) > 1e-6 || books.DayGapKg > 1e-6 || books.StepGapKg > 1e-6 {
		t.Errorf("gaps: %+v, %g, %g", y.Books, books.DayGapKg, books.StepGapKg)
	}
}

// TestRationingSpreadsTheDark: a pile that is short by a fifth leaves weeks
// without a run; rationed it lasts, with less energy missing.
func TestRationingSpreadsTheDark(t *testing.T) {
	set := []string{"days=" + quick("40", "120"), "step_minutes=60", "plan.by=chosen", "woodpile.stack.a.dry_kg=" + quick("400", "1200"), "woodpile.stack.a.moisture_pct=15"}
	free, _ := run(t, read(t, home, set...))
	s := read(t, home, append(set, "plan.ration=true")...)
	c, rations, err := s.Rule.Rationing(t.Context(), s.Household, plan.Beginning{})
	if err != nil {
		t.Fatal(err)
	}
	if len(rations) != 1 || !rations[0].Lasts || rations[0].WoodKg <= 1 {
		t.Fatalf("rations: %+v", rations)
	}
	rationed, _ := through(t, s.Household, c)
	if free.Wood.DaysWithoutReadyWood < 5 || rationed.Wood.DaysWithoutReadyWood > 0 {
		t.Errorf("without ready wood: %d days, rationed %d", free.Wood.DaysWithoutReadyWood, rationed.Wood.DaysWithoutReadyWood)
	}
	if rationed.Total.ShortfallKWh > 0.98*free.Total.ShortfallKWh {
		t.Errorf("short: %g kWh, rationed %g", free.Total.ShortfallKWh, rationed.Total.ShortfallKWh)
	}
	plenty := read(t, home, append(set, "plan.ration=true", "woodpile.stack.a.dry_kg=9000")...)
	if _, rations, err := plenty.Rule.Rationing(t.Context(), plenty.Household, plan.Beginning{}); err != nil || len(rations) != 0 {
		t.Errorf("a pile that lasts is rationed: %+v, %v", rations, err)
	}
}

// TestMoreHoursNeverMoreShortfall, beyond the grid's margin; and each row of the
// wall card keeps the rules.
func TestMoreHoursNeverMoreShortfall(t *testing.T) {
	last := math.Inf(1)
	for _, limit := range []string{"0", "2", "4", "6", "8"} {
		s := read(t, home, "plan.by=chosen", "step_minutes=60", "days=60", "plan.short_kg_per_kwh=5000", "tending.max_hours_a_day="+limit)
		y, _ := run(t, s)
		const marginKWh = 0.05 // of a grid of 101 levels, in 60 days
		if y.Total.ShortfallKWh > last+marginKWh {
			t.Errorf("%s h: %g kWh short, with fewer hours %g", limit, y.Total.ShortfallKWh, last)
		}
		last = y.Total.ShortfallKWh
	}
	if last > marginOfPlenty {
		t.Errorf("with 8 h a day %g kWh are short", last)
	}
}

const marginOfPlenty = 0.1 // kWh

func TestWallCard(t *testing.T) {
	s := read(t, home, "plan.by=chosen", "step_minutes=30", "start=2025-01-15", "days=40", "tending.hours=[\"08:00-11:00\", \"14:00-20:00\"]", "tending.max_hours_a_day=5")
	chooser, err := s.Rule.Chooser(t.Context(), s.Household)
	if err != nil {
		t.Fatal(err)
	}
	card, err := study.WallCard(t.Context(), withoutLuck(s.Household), chooser, 1)
	if err != nil {
		t.Fatal(err)
	}
	y, _ := run(t, s)
	if len(card) != 2 || card[0].Days != 17 || card[1].Days != 23 || card[1].First.String() != "2025-02-01" {
		t.Fatalf("%+v", card)
	}
	wood := 0.0
	for _, r := range card {
		wood += r.ChosenDryKg
		from, to := r.StartMinute, r.StartMinute+r.Minutes
		if r.Minutes > 0 && !(from >= 480 && to <= 660 || from >= 840 && to <= 1200) || r.Minutes > 300 {
			t.Errorf("%d to %d is not tended", from, to)
		}
	}
	if math.Abs(wood-y.Total.BurnedDryKg) > 1e-6 {
		t.Errorf("the months' chosen wood is %g kg, the span's %g", wood, y.Total.BurnedDryKg)
	}
	// the first month is the span's own start: its window is the best of all windows
	first := read(t, home, "plan.by=chosen", "step_minutes=30", "start=2025-01-15", "days=17", "tending.hours=[\"08:00-11:00\", \"14:00-20:00\"]", "tending.max_hours_a_day=5")
	least := math.Inf(1)
	for steps := 2; steps <= 10; steps++ {
		for start := range 48 {
			if first.House.TendedAhead(start) < steps {
				continue
			}
			least = min(least, fixedKg(t, first.Household, start, start+steps))
		}
	}
	if kg := fixedKg(t, first.Household, card[0].StartMinute/30, (card[0].StartMinute+card[0].Minutes)/30); kg > least+1e-6 {
		t.Errorf("the card's window costs %g kg, the best %g", kg, least)
	}
}
