package study_test

import (
	"context"
	"math"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

const flat = `
days = 20
step_minutes = 60
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
`

// Worked: 12 kWh, half of it above the floor, gives 6 · 0.95 · 0.92 = 5.244 kWh
// at the house; at 0.2 kW that is 26.22 h, 1.0925 days.
func TestDaysCarriedEqualTheHandSum(t *testing.T) {
	s := read(t, flat)
	week, demand := study.Week(s.House, s.Demand, nil, 0, 0, study.Snap{AirC: 0, LoadShare: 1})
	if got, want := study.Carried(week, demand), 6*0.95*0.92/0.2/24; math.Abs(got-want) > 1e-9 {
		t.Errorf("%g days, want %g", got, want)
	}
	// with 1.15 of the load it carries it 1.15 times less long
	week, demand = study.Week(s.House, s.Demand, nil, 0, 0, study.Snap{AirC: 0, LoadShare: 1.15})
	if got, want := study.Carried(week, demand), 6*0.95*0.92/0.23/24; math.Abs(got-want) > 1e-9 {
		t.Errorf("in a snap: %g days, want %g", got, want)
	}
}

func TestALargerBankNeverCarriesLess(t *testing.T) {
	days, short, bears := 0.0, math.Inf(1), math.Inf(-1)
	for _, kwh := range []string{"4", "8", "12", "18", "26"} {
		s := read(t, flat, "battery.kwh="+kwh, "load.appliance.all.watts=190", "plan.short_kg_per_kwh=5000", "plan.by=chosen", "tending.max_hours_a_day=4")
		week, demand := study.Week(s.House, s.Demand, nil, 3, 1, study.Snap{AirC: 0, LoadShare: 1.1})
		var size study.Size
		if err := size.RunWeek(context.Background(), week, demand, demand, plan.Exact, alike(s)); err != nil {
			t.Fatal(err)
		}
		if err := size.FindBearsMore(context.Background(), demand, demand, plan.Exact, alike(s)); err != nil {
			t.Fatal(err)
		}
		more := size.BearsMorePct
		const marginKWh, marginPct = 0.02, 3 // the grid's, and that of nine halvings
		if d := study.Carried(week, demand); d < days {
			t.Errorf("%s kWh carries %g days, a smaller one %g", kwh, d, days)
		} else {
			days = d
		}
		if x := size.Week.Total.ShortfallKWh; x > short+marginKWh {
			t.Errorf("%s kWh is short by %g kWh, a smaller one by %g", kwh, x, short)
		} else {
			short = x
		}
		if more < bears-marginPct {
			t.Errorf("%s kWh bears %g %% more, a smaller one %g", kwh, more, bears)
		} else {
			bears = more
		}
		if week.Days[0].Tendable || !week.Days[1].Tendable {
			t.Error("the engine is out on the first day alone")
		}
	}
	if short > 0.02 {
		t.Errorf("the largest bank is short by %g kWh: the test sees one end alone", short)
	}
}

// A plan that does not know the days to come must not make a size bear less than the
// week that it has just come through, nor more than its inverter can give.
func TestWhatASizeBearsAgreesWithItsWeek(t *testing.T) {
	for _, kwh := range []string{"6", "10", "14", "40"} {
		s := read(t, flat, "battery.kwh="+kwh, "load.appliance.all.watts=190", "load.daily_swing_pct=30", "plan.short_kg_per_kwh=5000", "plan.by=chosen", "tending.max_hours_a_day=6", "battery.inverter_kw=0.45")
		week, demand := study.Week(s.House, s.Demand, nil, 3, 0, study.Snap{AirC: 0, LoadShare: 1.1})
		_, steady := study.Week(s.House, s.Steady(), nil, 3, 0, study.Snap{AirC: 0, LoadShare: 1.1})
		var size study.Size
		if err := size.RunWeek(t.Context(), week, demand, steady, plan.Typical, s.Chance(study.UsualLives)); err != nil {
			t.Fatal(err)
		}
		if err := size.FindBearsMore(t.Context(), demand, steady, plan.Typical, s.Chance(study.UsualLives)); err != nil {
			t.Fatal(err)
		}
		if short := size.WeekLives.ShortDaysP90 > 0; short != (size.BearsMorePct < 0) {
			t.Errorf("%s kWh: the week short %t, but it bears %g %% more", kwh, short, size.BearsMorePct)
		}
		if kwh == "40" && !size.InverterEnds {
			t.Errorf("40 kWh bears %g %% more; want the inverter's 0.45 kW to end it", size.BearsMorePct)
		}
		if kwh == "6" && size.InverterEnds {
			t.Errorf("6 kWh bears %g %% more; want the bank, not the inverter, to end it", size.BearsMorePct)
		}
	}
}

// alike is a household whose lives are all alike.
func alike(s *scenarios.Scenario) *study.Chance {
	c := s.Chance(1)
	c.Luck = study.Luck{}
	return c
}

// Worked: of loads 1, 2, 9, 9 ... the seven days that want most hold both nines.
func TestHardestWeek(t *testing.T) {
	s := read(t, flat, "load.away=[\"2025-01-01..2025-01-08\"]")
	if first := study.HardestWeek(s.House.Span, s.Demand); first != 8 {
		t.Errorf("the hardest week begins on day %d, want 8: everybody was away before", first)
	}
}
