package loads

import (
	"slices"
	"testing"

	"twigwatt/sim/calendar"
)

// swinging is a demand of six days, of which one is spent away, with another source and chores.
func swinging(t *testing.T) (*Demand, calendar.Span) {
	t.Helper()
	s := span(t, "2025-01-06", 6, 60)
	w := Wants{KWhPerDay: 6, Scale: 1, SwingShare: 0.3, SwingMemory: 0.5, Seed: 7, AwayShare: 0.25,
		Away: []calendar.DateRange{{First: s.Start + 3, Last: s.Start + 3}}, Chores: []Chore{{Name: "wash", KWh: 1, KW: 1}}}
	d := demand(t, w, s)
	for i := range d.OtherKW {
		d.OtherKW[i], d.ExpectedOtherKW[i] = float64(i), float64(i)/2
	}
	return d, s
}

// Steady days are the usual day, swung days that times the factors of the seed.
func TestSteadyDaysSwingByTheirFactors(t *testing.T) {
	d, s := swinging(t)
	steady := d.Steady()
	swing := d.NewSwing(d.Seed)
	for day := range s.Days {
		factor := swing.Next()
		for step := day * 24; step < (day+1)*24; step++ {
			near(t, "steady", steady.LoadKW[step], d.ExpectedLoadKW[step], 1e-12) // no file: what is expected
			near(t, "swung", d.LoadKW[step], steady.LoadKW[step]*factor, 1e-12)
		}
	}
	if steady.SwingShare != 0.3 || steady.Seed != 7 || &steady.OtherKW[0] != &d.OtherKW[0] {
		t.Error("steady days are known to swing, and all else is as it was")
	}
}

// Without a swing the days are steady as they come.
func TestWithoutASwingDaysAreSteady(t *testing.T) {
	s := span(t, "2025-01-06", 3, 60)
	d := demand(t, Wants{KWhPerDay: 6, Scale: 1.5}, s)
	if !slices.Equal(d.SteadyKW, d.LoadKW) || !slices.Equal(d.Steady().LoadKW, d.LoadKW) {
		t.Error("they differ")
	}
}

func TestExpectedDaysComeAsExpected(t *testing.T) {
	d, _ := swinging(t)
	e := d.Expected()
	if !slices.Equal(e.LoadKW, d.ExpectedLoadKW) || !slices.Equal(e.SteadyKW, d.ExpectedLoadKW) || !slices.Equal(e.OtherKW, d.ExpectedOtherKW) {
		t.Error("load, steady load and other sources are what is expected of them")
	}
	if slices.Equal(d.LoadKW, d.ExpectedLoadKW) || slices.Equal(d.OtherKW, d.ExpectedOtherKW) {
		t.Error("the test cannot fail: the days come as expected anyway")
	}
}

// Worked: of days 2 to 4, day 3 is away: the second of the part.
func TestPartOfADemand(t *testing.T) {
	d, _ := swinging(t)
	part := d.Part(2, 3, 24)
	for _, kw := range []struct{ part, whole []float64 }{{part.LoadKW, d.LoadKW}, {part.SteadyKW, d.SteadyKW}, {part.OtherKW, d.OtherKW},
		{part.ExpectedLoadKW, d.ExpectedLoadKW}, {part.ExpectedOtherKW, d.ExpectedOtherKW}} {
		if !slices.Equal(kw.part, kw.whole[48:120]) {
			t.Errorf("the part holds %d steps from %g, want 72 from %g", len(kw.part), kw.part[0], kw.whole[48])
		}
	}
	if !slices.Equal(part.AwayDay, []bool{false, true, false}) || part.SwingShare != 0.3 || len(part.Chores) != 1 {
		t.Errorf("away %v, %+v", part.AwayDay, part)
	}
	if empty := (&Demand{}).Part(2, 3, 24); empty.LoadKW != nil || empty.AwayDay != nil {
		t.Error("what a demand does not hold a part does not hold either")
	}
}

// Worked: twice the load and 1 kW more; other sources as they were.
func TestChangedDemand(t *testing.T) {
	d, s := swinging(t)
	more := make([]float64, s.Steps())
	for i := range more {
		more[i] = 1
	}
	changed, scaled := d.Changed(2, more), d.Changed(2, nil)
	for i := range d.LoadKW {
		near(t, "load", changed.LoadKW[i], 2*d.LoadKW[i]+1, 1e-12)
		near(t, "steady load", changed.SteadyKW[i], 2*d.SteadyKW[i]+1, 1e-12)
		near(t, "expected load", changed.ExpectedLoadKW[i], 2*d.ExpectedLoadKW[i]+1, 1e-12)
		near(t, "load alone", scaled.LoadKW[i], 2*d.LoadKW[i], 1e-12)
	}
	if !slices.Equal(changed.OtherKW, d.OtherKW) {
		t.Error("other sources changed")
	}
}

// TestWhatStaysOnWhileAway: worked. A freezer of 50 W stays on, of a lamp of 100 W a tenth; at home
// both are on.
func TestWhatStaysOnWhileAway(t *testing.T) {
	days := span(t, "2025-01-01", 2, 60)
	w := Wants{Scale: 2, AwayShare: 0.1, Away: []calendar.DateRange{{First: days.Start, Last: days.Start}}}
	for name, watts := range map[string]float64{"freezer": 50, "lamp": 100} {
		w.Appliances = append(w.Appliances, Appliance{Name: name, Watts: watts, Count: 1, DutyShare: 1, WhileAway: name == "freezer",
			Hours: []calendar.Window{{From: 0, To: calendar.MinutesADay}}, Days: calendar.AllWeek, Months: calendar.AllYear})
	}
	d := demand(t, w, days)
	for step, want := range map[int]float64{0: 2 * (0.05 + 0.01), 23: 2 * (0.05 + 0.01), 24: 2 * 0.15, 47: 2 * 0.15} {
		near(t, "load", d.LoadKW[step], want, 1e-12)
		near(t, "expected", d.ExpectedLoadKW[step], want, 1e-12)
	}
}
