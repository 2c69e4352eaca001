package study

import (
	"context"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
	"twigwatt/testdata/worked"
)

// dark is a summary whose worst day is short: so much of all dark while the inverter gave all
// it can, so much of the bank kept by the cold.
func dark(overInverterShare, coldPct float64) *sim.Summary {
	return &sim.Summary{Shortage: sim.Shortage{Days: 1, WorstDay: &sim.DayRecord{Tendable: true}, OverInverterShare: overInverterShare,
		ColdPct: coldPct}}
}

// Worked: half of the dark is mostly, a tenth of the bank is much.
func TestWhatHelpsBesideHours(t *testing.T) {
	for _, c := range []struct {
		over, cold float64
		want       Remedy
	}{{0.5, 0, LargerInverter}, {0.49, 0, NoRemedy}, {0, 10, WarmerBank}, {0, 9.9, NoRemedy}, {0.6, 40, LargerInverter}, {1, 0, LargerInverter}} {
		if got := besideHours(dark(c.over, c.cold)); got != c.want {
			t.Errorf("%g of the dark over the inverter, %g %% kept by cold: remedy %d, want %d", c.over, c.cold, got, c.want)
		}
	}
	if got := besideHours(&sim.Summary{Shortage: sim.Shortage{OverInverterShare: 1}}); got != NoRemedy {
		t.Errorf("nothing is dark: remedy %d", got)
	}
}

// The most pressing comes first.
func TestWhatASpanShowsToDo(t *testing.T) {
	year := func(change func(*YearAnswer)) *YearAnswer {
		y := &YearAnswer{Summary: dark(0, 0), Rule: plan.Rule{By: plan.ByChosen}}
		change(y)
		return y
	}
	warn := func(codes ...string) (all []sim.Warning) {
		for _, code := range codes {
			all = append(all, sim.Warning{Code: code})
		}
		return all
	}
	cut := func(cut, burned, left float64) func(*YearAnswer) {
		return func(y *YearAnswer) {
			y.Total.Moved.CutDryKg, y.Total.BurnedDryKg, y.Wood.PileEnd.DryKg = cut, burned, left
		}
	}
	for reason, c := range map[string]struct {
		change func(*YearAnswer)
		want   []Remedy
	}{
		"dark alone":           {func(*YearAnswer) {}, nil},
		"no ready wood":        {func(y *YearAnswer) { y.Wood.NoWood = &sim.NoWood{} }, []Remedy{ReadyWood}},
		"rationed":             {func(y *YearAnswer) { y.Ration = &Rationing{Stretches: make([]RationedStretch, 1)} }, []Remedy{RationedWood}},
		"rationing not needed": {func(y *YearAnswer) { y.Ration = &Rationing{} }, nil},
		"heat and idling":      {func(y *YearAnswer) { y.Warnings = warn("hot_bank", "idle_inverter") }, []Remedy{CoolerBank, RestInverter}},
		"more cut than burned": {cut(1300, 1000, 1600), []Remedy{CutLess}},
		"cut, and little left": {cut(1300, 1000, 1400), nil},
		"cut as burned":        {cut(1200, 1000, 1600), nil},
		"wood and frost": {func(y *YearAnswer) {
			y.Wood.NoWood, y.Warnings = &sim.NoWood{}, warn("full_late", "lithium_frost", "freezing", "no_run_fits")
		}, []Remedy{ReadyWood, WarmLithium, FrostFreeBank, RoomForRuns}},
	} {
		if got := year(c.change).shown(); !slices.Equal(got, c.want) {
			t.Errorf("%s: remedies %d, want %d", reason, got, c.want)
		}
	}
}

// Each hazard is named once, and none that is known already.
func TestHazardsAreNamedOnce(t *testing.T) {
	w := func(code, text string) sim.Warning { return sim.Warning{Code: code, Text: text} }
	all := []sim.Warning{w("freezing", "first"), w("full_late", ""), w("freezing", "again"), w("never_full", ""), w("no_ready_wood", ""),
		w("lithium_frost", ""), w("cold_beyond_table", "")}
	want := []sim.Warning{w("freezing", "first"), w("no_ready_wood", ""), w("lithium_frost", ""), w("cold_beyond_table", "")}
	if diff := cmp.Diff(want, hazards(all, []sim.Warning{w("never_full", "known")})); diff != "" {
		t.Error(diff)
	}
	if notRationed(plan.Rule{}) != nil || len(notRationed(plan.Rule{Rationed: true})) != 1 {
		t.Error("only a rule that rations is warned of")
	}
}

// Lives are alike only where neither load nor set differs from day to day.
func TestHowManyLives(t *testing.T) {
	for _, c := range []struct {
		swing, set float64
		want       int
	}{{0, 0, 1}, {0.1, 0, 7}, {0, 0.1, 7}, {0.1, 0.1, 7}} {
		h := household(sim.Spec{Luck: sim.Luck{SetDailyShare: c.set}})
		h.Demand.SwingShare = c.swing
		if got := livesOf(h, 7); got != c.want {
			t.Errorf("swing %g, set %g: %d lives of 7, want %d", c.swing, c.set, got, c.want)
		}
	}
}

// Worked: of ten lives short on 0 to 9 days, nine in ten are short on 8 at most; 4.5 in the
// mean. Each misses as many kWh, a quarter of them while the inverter gave all it can.
func TestLivesByHand(t *testing.T) {
	h := household(sim.Spec{}).House
	h.Bank.FullKWh = 10
	var lives []*life
	for i := range 10 {
		days := float64(9 - i)
		f := &life{plain: h, lowestKWh: 5 + days/10}
		f.total = tally{dryKg: 10 * days, attendedH: days, engineH: days / 2, shortKWh: days, shortH: 2 * days, overInverterKWh: days / 4, shortDays: 9 - i}
		lives = append(lives, f)
	}
	want := &Lives{N: 10, ShortDays: 4.5, ShortKWh: 4.5, ShortH: 9, DryKg: 45, AttendedH: 4.5, EngineH: 2.25, PriceKg: 45,
		ShortDaysP90: 8, ShortKWhP90: 8, LowestPct: 50, OverInverterShare: 0.25}
	if diff := cmp.Diff(want, summed(h, lives), cmp.Comparer(func(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 })); diff != "" {
		t.Error(diff)
	}
	if up := (&Lives{ShortDays: 0.01}).ShortDaysUp(); up != 0.1 {
		t.Errorf("a rare short day is printed as %g", up)
	}
}

// limitsOf are limits of 0, 1, 2 ... h a day with so many short days in nine lives of ten, and
// as many kWh missing in the mean.
func limitsOf(short ...float64) []Limit {
	var all []Limit
	for i, days := range short {
		all = append(all, Limit{float64(i), &Lives{ShortDaysP90: days, ShortKWh: days}, &sim.Summary{}})
	}
	return all
}

// hoursOf finds what limits answer where so many days may be short.
func hoursOf(shortDays int, limits []Limit) *HoursAnswer {
	a := &HoursAnswer{Household: household(sim.Spec{Span: calendar.Span{Start: firstOf2025, Days: 30}}),
		HoursOptions: HoursOptions{ShortDays: shortDays}, Limits: limits}
	a.find()
	return a
}

// at is a limit's hours, −1 for none.
func at(l *Limit) float64 {
	if l == nil {
		return -1
	}
	return l.MaxHours
}

// Worked: of limits with 9, 5, 3, 1, 0, 0 and 0 short days.
func TestWhatLimitsAnswer(t *testing.T) {
	for _, c := range []struct {
		shortDays                             int
		least, lower, higher, bearing, fewest float64
		bearDays                              int
	}{
		{0, 4, 3, 5, 3, 4, 1},
		{1, 3, 2, 4, 2, 4, 3},
		{2, 3, 2, 4, 2, 4, 3},
		{3, 2, 1, 3, 1, 4, 5},
		{5, 1, 0, 2, -1, 4, 0},
		{9, 0, -1, 1, -1, 4, 0},
	} {
		a := hoursOf(c.shortDays, limitsOf(9, 5, 3, 1, 0, 0, 0))
		for name, pair := range map[string][2]float64{"least": {at(a.Least), c.least}, "lower": {at(a.Lower), c.lower}, "higher": {at(a.Higher), c.higher},
			"bearing": {at(a.Bearing), c.bearing}, "fewest": {at(a.Fewest), c.fewest}} {
			if pair[0] != pair[1] {
				t.Errorf("%d days may be short: %s %g h, want %g", c.shortDays, name, pair[0], pair[1])
			}
		}
		if a.Bearing != nil && a.BearDays != c.bearDays {
			t.Errorf("%d days may be short: %d are to bear, want %d", c.shortDays, a.BearDays, c.bearDays)
		}
	}
	if a := hoursOf(0, limitsOf(9, 3, 0)); a.Bearing != nil {
		t.Errorf("three short days are too many to name, got %g h for %d", at(a.Bearing), a.BearDays)
	}
	if a := hoursOf(0, limitsOf(4, 3, 0)); at(a.Higher) != -1 || a.BearDays <= 2 {
		t.Errorf("the last limit is the least: higher %g h, %d days to bear", at(a.Higher), a.BearDays)
	}
	none := hoursOf(0, limitsOf(9, 5, 5.0))
	if at(none.Least) != -1 || at(none.Lower) != -1 || at(none.Bearing) != -1 || at(none.Fewest) != 1 {
		t.Errorf("none gets through: least %g, lower %g, bearing %g, fewest %g", at(none.Least), at(none.Lower), at(none.Bearing), at(none.Fewest))
	}
}

// Of limits with as few short days the one that misses less stands, where it is not a crumb.
func TestTheFewestShortDays(t *testing.T) {
	limits := limitsOf(9, 5, 5, 5)
	limits[1].Lives.ShortKWh, limits[2].Lives.ShortKWh, limits[3].Lives.ShortKWh = 6, 5.96, 5.9
	if got := hoursOf(0, limits).Fewest.MaxHours; got != 3 {
		t.Errorf("%g h: 0.04 kWh less are a crumb, 0.1 are not", got)
	}
	limits[3].Lives.ShortKWh = 5.95
	if got := hoursOf(0, limits).Fewest.MaxHours; got != 1 {
		t.Errorf("%g h: 0.05 kWh less are a crumb", got)
	}
	limits[3].Summary = dark(0.7, 0)
	limits[3].Lives.ShortKWh = 1
	if got := hoursOf(0, limits).AgainstIt; got != LargerInverter {
		t.Errorf("against what the fewest leave: remedy %d", got)
	}
}

// Alike are the last limits that all come to the same, the first of them.
func TestLimitsAlike(t *testing.T) {
	if a := hoursOf(0, limitsOf(9, 5, 3, 1, 0, 0, 0)); at(a.Alike) != 4 {
		t.Errorf("from %g h on, want 4", at(a.Alike))
	}
	if a := hoursOf(0, limitsOf(9, 5, 3)); a.Alike != nil {
		t.Errorf("from %g h on, though the last limit still binds", at(a.Alike))
	}
	if a := hoursOf(0, limitsOf(0, 0)); at(a.Alike) != 0 {
		t.Errorf("from %g h on, want all", at(a.Alike))
	}
}

// Where more hours burn the wood sooner: the first limit under which it runs out, the earliest
// day of all.
func TestWhereWoodEnds(t *testing.T) {
	limits := limitsOf(3, 2, 1, 1)
	for i, day := range []calendar.Date{0, firstOf2025 + 9, firstOf2025 + 4, firstOf2025 + 7} {
		if day > 0 {
			limits[i].Wood.NoWood = &sim.NoWood{Date: day}
		}
	}
	if a := hoursOf(0, limits); at(a.WoodEnds) != 1 || a.WoodEndsOn != firstOf2025+4 {
		t.Errorf("from %g h on, on %s", at(a.WoodEnds), a.WoodEndsOn)
	}
	if a := hoursOf(0, limitsOf(1, 0)); a.WoodEnds != nil {
		t.Errorf("from %g h on, though it lasts", at(a.WoodEnds))
	}
}

// A limit is what the rules of tending become; one under the shortest run is none. Darkness has
// the studies' own price.
func TestALimitOnTheHours(t *testing.T) {
	h := worked.Household("tending.min_hours_a_run=2", "plan.short_kg_per_kwh=50").Household
	a := &HoursAnswer{Household: h, ShortKg: 5000}
	for limitH, want := range map[float64]float64{0: 0, 1.5: 0, 2: 2, 7.5: 7.5} {
		if limited := a.limited(limitH); limited.Tending.MaxHoursADay != want || limited.Prices.ShortKgPerKWh != 5000 {
			t.Errorf("%g h: at most %g h, want %g; %g kg for a kWh", limitH, limited.Tending.MaxHoursADay, want, limited.Prices.ShortKgPerKWh)
		}
	}
	if h.Tending.MaxHoursADay != 8 || h.Prices.ShortKgPerKWh != 50 {
		t.Error("the household changed")
	}
}

// A month of the wall card begins as chosen runs enter it: with that charge and that pile, and
// the cuts that fall into it.
func TestAMonthBeginsAsChosenRunsEnterIt(t *testing.T) {
	h := worked.Household("start=2025-01-01", "days=90", "woodpile.stack.shed.dry_kg=500", "woodpile.stack.barn.dry_kg=400",
		"woodpile.cut.a.on=01-20", "woodpile.cut.a.dry_kg=30", "woodpile.cut.b.on=02-11", "woodpile.cut.b.dry_kg=40",
		"woodpile.cut.c.on=03-05", "woodpile.cut.c.dry_kg=50").Household
	entered := h.Start().Pile
	entered.DryKg[0], entered.DryBasis[0], entered.DryKg[1] = 123, 0.2, 0
	month := monthOf(h, monthStart{day: 31, storedKWh: 7.3, pile: entered}, 59)
	if month.Span.Start.String() != "2025-02-01" || month.Span.Days != 28 || month.StartShare != 0.73 {
		t.Errorf("%d days from %s, from %g of the bank", month.Span.Days, month.Span.Start, month.StartShare)
	}
	shed, barn := month.Pile.Stacks[0], month.Pile.Stacks[1]
	if shed.DryKg != 123 || shed.DryBasis != 0.2 || barn.DryKg != 0 || len(month.Pile.Stacks) != len(h.Pile.Stacks) {
		t.Errorf("stacks %+v", month.Pile.Stacks)
	}
	if want := []woodpile.Cut{{Day: 10, Stack: h.Pile.Cuts[1].Stack, DryKg: 40, DryBasis: h.Pile.Cuts[1].DryBasis}}; !slices.Equal(month.Pile.Cuts, want) {
		t.Errorf("cuts %+v, want %+v", month.Pile.Cuts, want)
	}
	if h.Pile.Stacks[0].DryKg != 500 || len(h.Pile.Cuts) != 3 {
		t.Error("the household changed")
	}
}

// idle is a household that wants nothing, with a full bank: all starts of a run cost the same.
func idle(set ...string) *sim.Household {
	return worked.Household(append([]string{"days=3", "battery.start_pct=100", "load.appliance.all.watts=0", "tending.hours=08:00-11:00",
		"tending.max_hours_a_day=2"}, set...)...).Household
}

// Of windows alike in price the shorter stands, then the earlier; none is found for days on
// which nobody may run.
func TestTiesOfWindows(t *testing.T) {
	r := rivals{Household: idle(), lives: 1}
	if diff := cmp.Diff([]window{{8, 1}, {9, 1}, {10, 1}, {8, 2}, {9, 2}}, r.windows(), cmp.AllowUnexported(window{})); diff != "" {
		t.Errorf("windows in their order:\n%s", diff)
	}
	for _, order := range [][]window{{{8, 1}, {9, 1}, {10, 1}}, {{10, 1}, {8, 1}}} {
		best, _, err := r.best(context.Background(), order)
		if err != nil || best != order[0] {
			t.Errorf("of %v all alike %v is the best (%v), want the first", order, best, err)
		}
	}
	if w, err := BestWindow(context.Background(), idle(), 1); err != nil || w.StartStep != 8 || w.Steps != 1 {
		t.Errorf("%+v, %v", w, err)
	}
	if w, err := BestWindow(context.Background(), idle(`tending.no_runs=["2025-03-03..2025-03-05"]`), 1); w != nil || err != nil {
		t.Errorf("on barred days: %+v, %v", w, err)
	}
}

// A month's lives have the luck of its own days, not of the span's first.
func TestAMonthHasTheLuckOfItsDays(t *testing.T) {
	h := worked.Household("days=6", "load.daily_swing_pct=40", "luck.set_daily_pct=10").Household
	whole, later := newLife(h, inOneHouse{}, ByDays, 3), newLife(h, inOneHouse{}, ByDays, 3).skip(2)
	for range 2 {
		whole.swing.Next()
		whole.set.NormFloat64()
	}
	if whole.swing.Next() != later.swing.Next() || whole.set.NormFloat64() != later.set.NormFloat64() {
		t.Error("days that are skipped still draw")
	}
	part := h.Part(2, 4, func(*sim.Spec) {})
	live := func(firstDay int) float64 {
		r := rivals{Household: part, lives: 1, firstDay: firstDay}
		return r.live(window{17, 3}, 0, 4)
	}
	f := newLife(part, window{17, 3}.plan(part), ByDays, 0).skip(2)
	for day := range 4 {
		f.day(day)
	}
	if live(2) != f.weighedKg() || live(2) == live(0) {
		t.Errorf("from day 2 %g kg, want %g; from day 0 %g", live(2), f.weighedKg(), live(0))
	}
}

// Winter is October to March in the north, April to September in the south.
func TestWinter(t *testing.T) {
	for latitude, want := range map[float64][3]bool{47: {true, false, true}, -44: {false, true, false}} {
		h := household(sim.Spec{LatitudeDeg: latitude}).House
		for i, date := range []string{"2025-03-31", "2025-04-01", "2025-10-01"} {
			d, _ := calendar.ParseDate(date)
			h.Days = []sim.Day{{Date: d}}
			if got := isWinter(h, 0); got != want[i] {
				t.Errorf("%s at %g°: winter %t", date, latitude, got)
			}
		}
	}
}

// bankSize is a size whose week and span come to so much.
func bankSize(kWh float64, week *sim.Summary) Size {
	return Size{KWh: kWh, Week: &YearAnswer{Summary: week}, Span: &sim.Summary{}}
}

// Where no size carries the week the largest says what helps.
func TestWhatHelpsWhereNoSizeCarries(t *testing.T) {
	full := func(share float64) *sim.Summary {
		s := dark(0, 0)
		s.MaxHoursADay, s.Span.Days, s.Total.AttendedH = 6, 7, share*6*7
		return s
	}
	inverter, cold := full(1), full(1)
	inverter.Shortage.OverInverterShare, cold.Shortage.ColdPct = 0.5, 10
	for reason, c := range map[string]struct {
		week *sim.Summary
		want Remedy
	}{"runs all it may": {full(1), AllowMoreHours}, "nearly": {full(0.951), AllowMoreHours}, "less": {full(0.949), LargerBank},
		"the inverter": {inverter, LargerInverter}, "the cold": {cold, WarmerBank}} {
		size := bankSize(14, c.week)
		a := &BankAnswer{Household: worked.Household().Household, Largest: &size}
		a.advise(t.Context())
		if a.AgainstIt != c.want || a.Air == nil || a.Air.KWh != 14 {
			t.Errorf("%s: remedy %d, want %d; air %+v", reason, a.AgainstIt, c.want, a.Air)
		}
	}
	least, largest := bankSize(8, full(1)), bankSize(14, full(1))
	a := &BankAnswer{Household: worked.Household().Household, Least: &least, Largest: &largest}
	if a.advise(t.Context()); a.AgainstIt != NoRemedy || a.Air.KWh != 8 {
		t.Errorf("one carries: remedy %d, air %+v", a.AgainstIt, a.Air)
	}
	a = &BankAnswer{Household: worked.Household("battery.kind=lithium").Household, Least: &least}
	if a.advise(t.Context()); a.Air != nil {
		t.Errorf("lithium makes no hydrogen: air %+v", a.Air)
	}
	(&BankAnswer{}).advise(t.Context()) // nothing was asked
}

// What the cold does to any size is named once; wood that ends is the span's, since the week
// has wood without end.
func TestWarningsOfSizes(t *testing.T) {
	a := &BankAnswer{Warnings: []sim.Warning{{Code: "own"}}}
	for range 2 {
		s := bankSize(8, &sim.Summary{Warnings: []sim.Warning{{Code: "no_ready_wood", Text: "of the week"}, {Code: "freezing"}, {Code: "full_late"}}})
		s.Span.Warnings, s.Span.Wood.NoWood = []sim.Warning{{Code: "no_ready_wood", Text: "of the span"}, {Code: "never_full"}}, &sim.NoWood{}
		a.warn(&s)
	}
	var codes []string
	for _, w := range a.Warnings {
		codes = append(codes, w.Code)
		if w.Code == "no_ready_wood" && (w.Text == "of the week" || w.Text == "of the span") {
			t.Errorf("%s", w.Text)
		}
	}
	if want := []string{"own", "freezing", "never_full", "no_ready_wood"}; !slices.Equal(codes, want) {
		t.Errorf("%q, want %q", codes, want)
	}
}

// A life without luck weighs what the span's own summary does, soft prices and late full
// charges among it.
func TestALifeWeighsWhatTheSummaryDoes(t *testing.T) {
	h := worked.Household("days=12", "battery.full_every_days=3", "plan.full_late_kg_per_day=7", "plan.wear_kg_per_kwh=0.3", "plan.spare_pct=15",
		"plan.spare_kg_per_kwh_h=0.2", "engine.hopper_as_is_kg=5", "plan.refuel_kg=2", "plan.usual_start=15:00", "plan.off_usual_kg_per_h=0.5").Household
	run := window{17, 3}
	books, err := sim.Run(context.Background(), h, run.plan(h), nil)
	if err != nil {
		t.Fatal(err)
	}
	y := sim.Summarize(h, books)
	f := newLife(h, run.plan(h), 0, 0)
	for day := range h.Days {
		f.day(day)
	}
	if got, want := f.weighedKg(), y.Price.TotalKg()+y.Price.SoftKg; got-want > 1e-9 || want-got > 1e-9 {
		t.Errorf("the life weighs %g kg, the summary %g", got, want)
	}
	if y.Bank.LateDays == 0 || y.Total.Refuels == 0 || y.Total.OffUsualH == 0 || y.Total.SpareMissingKWhH == 0 {
		t.Errorf("the test sees too little: %d late days, %d openings", y.Bank.LateDays, y.Total.Refuels)
	}
}
