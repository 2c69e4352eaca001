package study_test

import (
	"math"
	"slices"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
)

const flat = `
days = 20
step_minutes = 60
[place]
snap_c = 0
snap_load_pct = 110
[load]
daily_swing_pct = 0
[load.appliance.all]
watts = 200
[engine]
kw = 2.6
[battery]
kwh = 12
at_hand_share = 1
temperature_effects = false
self_discharge_pct_month = 0
inverter_idle_w = 0
[plan]
by = "chosen"
`

// bankOf asks how big a bank a household needs.
func bankOf(t *testing.T, s *scenarios.Scenario, o study.BankOptions) *study.BankAnswer {
	t.Helper()
	if o.OfSize == nil {
		o.OfSize = s.OfSize
	}
	b, err := study.Bank(t.Context(), s.Household, s.Rule, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Worked: 12 kWh, half of it above the floor, gives 6 · 0.95 · 0.92 = 5.244 kWh
// at the house; at 0.2 kW that is 26.22 h, 1.0925 days.
func TestDaysCarriedEqualTheHandSum(t *testing.T) {
	s := read(t, flat, "place.snap_load_pct=100")
	if got, want := study.Carried(study.Week(s.Household, 0, 0)), 6*0.95*0.92/0.2/24; math.Abs(got-want) > 1e-9 {
		t.Errorf("%g days, want %g", got, want)
	}
	// with 1.15 of the load it carries it 1.15 times less long
	s = read(t, flat, "place.snap_load_pct=115")
	if got, want := study.Carried(study.Week(s.Household, 0, 0)), 6*0.95*0.92/0.23/24; math.Abs(got-want) > 1e-9 {
		t.Errorf("in a snap: %g days, want %g", got, want)
	}
}

func TestALargerBankNeverCarriesLess(t *testing.T) {
	s := read(t, flat, "load.appliance.all.watts=190", "plan.foresight=exact", "tending.max_hours_a_day=4", "luck.set_daily_pct=0")
	b := bankOf(t, s, study.BankOptions{SizesKWh: quick([]float64{4, 12, 26}, []float64{4, 8, 12, 18, 26}), FirstDay: 3, EngineOut: 1, Lives: 1})
	for i := range b.Sizes {
		size := &b.Sizes[i]
		if week := size.Week.Household; week.House.Days[0].Tendable || !week.House.Days[1].Tendable {
			t.Error("the engine is out on the first day alone")
		}
		if i == 0 {
			continue
		}
		const marginKWh, marginPct = 0.02, 3 // the grid's, and that of nine halvings
		smaller := &b.Sizes[i-1]
		if size.DaysWithoutEngine < smaller.DaysWithoutEngine {
			t.Errorf("%g kWh carries %g days, a smaller one %g", size.KWh, size.DaysWithoutEngine, smaller.DaysWithoutEngine)
		}
		if x, y := size.Week.Total.ShortfallKWh, smaller.Week.Total.ShortfallKWh; x > y+marginKWh {
			t.Errorf("%g kWh is short by %g kWh, a smaller one by %g", size.KWh, x, y)
		}
		if size.BearsMorePct < smaller.BearsMorePct-marginPct {
			t.Errorf("%g kWh bears %g %% more, a smaller one %g", size.KWh, size.BearsMorePct, smaller.BearsMorePct)
		}
	}
	if short := b.Sizes[len(b.Sizes)-1].Week.Total.ShortfallKWh; short > 0.02 {
		t.Errorf("the largest bank is short by %g kWh: the test sees one end alone", short)
	}
}

// A plan that does not know the days to come must not make a size bear less than the
// week that it has just come through, nor more than its inverter can give.
func TestWhatASizeBearsAgreesWithItsWeek(t *testing.T) {
	s := read(t, flat, "load.appliance.all.watts=190", "load.daily_swing_pct=30", "tending.max_hours_a_day=6", "battery.inverter_kw=0.45")
	b := bankOf(t, s, study.BankOptions{SizesKWh: quick([]float64{6, 40}, []float64{6, 10, 14, 40}), FirstDay: 3, Lives: quick(10, study.UsualLives)})
	for i := range b.Sizes {
		size := &b.Sizes[i]
		if short := size.WeekLives.ShortDaysP90 > 0; short != (size.BearsMorePct < 0) {
			t.Errorf("%g kWh: the week short %t, but it bears %g %% more", size.KWh, short, size.BearsMorePct)
		}
		if size.KWh == 40 && !size.InverterEnds {
			t.Errorf("40 kWh bears %g %% more; want the inverter's 0.45 kW to end it", size.BearsMorePct)
		}
		if size.KWh == 6 && size.InverterEnds {
			t.Errorf("6 kWh bears %g %% more; want the bank, not the inverter, to end it", size.BearsMorePct)
		}
	}
}

// Worked: of loads 1, 2, 9, 9 ... the seven days that want most hold both nines.
func TestHardestWeek(t *testing.T) {
	s := read(t, flat, "load.away=[\"2025-01-01..2025-01-08\"]")
	if first := study.HardestWeek(s.Household); first != 8 {
		t.Errorf("the hardest week begins on day %d, want 8: everybody was away before", first)
	}
}

// A size carries the week where no life in nine of ten is short, nor the household's own days,
// and the spare stays as they come; each of these alone can fail.
func TestWhatCarriesAWeek(t *testing.T) {
	s := read(t, flat, "days=7", "load.daily_swing_pct=0", "luck.set_daily_pct=0", "tending.max_hours_a_day=4", "battery.kwh=20")
	const nine = 9 // times the load
	for _, c := range []struct {
		reason                      string
		sparePct                    int
		own, lives                  float64 // factor on the second day's load
		ownShort, livesShort, wants bool
	}{
		{"all is well", 10, 1, 1, false, false, true},
		{"the spare is not kept", 45, 1, 1, false, false, false},
		{"a day of its own is short", 0, nine, 1, true, false, false},
		{"lives are short", 0, 1, nine, false, true, false},
	} {
		sized := with(t, s, scenarios.Change{Key: "plan.spare_pct", Value: c.sparePct})
		d := *sized.Demand
		d.LoadKW, d.SteadyKW = slices.Clone(d.LoadKW), slices.Clone(d.LoadKW)
		for step := 24; step < 48; step++ {
			d.LoadKW[step] *= c.own
			d.SteadyKW[step] *= c.lives
		}
		b := bankOf(t, sized, study.BankOptions{SizesKWh: []float64{20}, Lives: 1,
			OfSize: func(float64) (*sim.Household, error) { return sized.Wanting(&d), nil }})
		size := &b.Sizes[0]
		if ownShort, livesShort := size.Week.Shortage.Days > 0, size.WeekLives.ShortDaysP90 > 0; ownShort != c.ownShort || livesShort != c.livesShort {
			t.Fatalf("%s: own days short %t, lives short %t: the test shows nothing", c.reason, ownShort, livesShort)
		}
		if size.Carries != c.wants || (b.Least != nil) != c.wants {
			t.Errorf("%s: carries %t, least %+v; %.1f %% to spare", c.reason, size.Carries, b.Least, size.SpareLeftPct)
		}
	}
}

// Sizes may come in any order: the least is the smallest that carries.
func TestTheLeastOfSizesInAnyOrder(t *testing.T) {
	s := read(t, flat, "days=7", "load.daily_swing_pct=0", "luck.set_daily_pct=0", "tending.max_hours_a_day=4")
	b := bankOf(t, s, study.BankOptions{SizesKWh: []float64{20, 3, 30, 16, 24}, Lives: 1})
	carry := 0
	for i := range b.Sizes {
		if b.Sizes[i].Carries {
			carry++
		}
	}
	if carry != 4 || b.Least.KWh != 16 || b.Smallest.KWh != 3 || b.Largest.KWh != 30 {
		t.Errorf("%d carry, the least %g kWh; smallest %g, largest %g", carry, b.Least.KWh, b.Smallest.KWh, b.Largest.KWh)
	}
}

// A week that the span's end cuts short has the days that are left.
func TestAWeekNearTheSpansEnd(t *testing.T) {
	s := read(t, flat, "load.chore.wash.kwh=2", "load.chore.wash.kw=1", "load.chore.wash.times_per_week=7", "load.chore.wash.hours=10:00-12:00")
	for first, days := range map[int]int{0: 7, 13: 7, 14: 6, 19: 1} {
		week := study.Week(s.Household, first, 1)
		if len(week.Days) != days || week.Span.Days != days || week.Span.Start != s.Span.Start+calendar.Date(first) || len(week.Demand.LoadKW) != 24*days {
			t.Errorf("from day %d: %d days from %s, %d steps", first, len(week.Days), week.Span.Start, len(week.Demand.LoadKW))
		}
		for day := range week.Days {
			if week.Days[day].Tendable == (day == 0) {
				t.Errorf("from day %d: runs on its day %d: %t", first, day, week.Days[day].Tendable)
			}
		}
	}
	// worked: 0.2 kW and a tenth more in the snap, and a chore of 1 kW that does not grow
	week := study.Week(s.Household, 3, 0)
	if kw := week.Demand.LoadKW; math.Abs(kw[9]-0.22) > 1e-12 || math.Abs(kw[10]-1.22) > 1e-12 || week.ChoreKW != nil || week.Demand.Chores != nil {
		t.Errorf("at nine %g kW, at ten %g; chores %v", kw[9], kw[10], week.Demand.Chores)
	}
	if len(s.Demand.Chores) != 1 || s.Tending.NoRuns != nil {
		t.Error("the household changed")
	}
}
