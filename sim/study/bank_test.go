package study_test

import (
	"math"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim/study"
)

const flat = `
days = 20
step_minutes = 60
[place]
snap_c = 0
snap_load_pct = 110
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
	o.OfSize = s.OfSize
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
