package battery

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim/curve"
	"twigwatt/testdata/published"
)

func count(series ...float64) (cycles []Cycle) {
	r := NewRainflow(func(c Cycle) { cycles = append(cycles, c) })
	for _, x := range series {
		r.Add(x)
	}
	r.Finish()
	return cycles
}

// Published: ASTM E1049-85 (2017), 5.4.4 and Fig. 6 (rainflow_e1049.csv, second hand).
func TestRainflowExample(t *testing.T) {
	got := map[float64]float64{}
	for _, c := range count(-2, 1, -3, 5, -1, 3, -4, 4, -2) {
		got[c.Range] += c.Count
	}
	rows := published.Rows(t, "rainflow_e1049.csv")
	for _, row := range rows {
		if n := got[published.Number(t, row[0])]; n != published.Number(t, row[1]) {
			t.Errorf("range %s: %g cycles, want %s", row[0], n, row[1])
		}
	}
	if len(got) != len(rows) {
		t.Errorf("%v", got)
	}
}

// Counts and damage do not depend on values between the turning points, and the
// halves make as many as there are turns.
func TestRainflowSeesTurningPointsOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		series := rapid.SliceOfN(rapid.Float64Range(0, 100), 2, 40).Draw(t, "series")
		var fine []float64
		for i, x := range series {
			if i > 0 {
				fine = append(fine, (x+series[i-1])/2)
			}
			fine = append(fine, x, x)
		}
		a, b := count(series...), count(fine...)
		if len(a) != len(b) {
			t.Fatalf("%v and %v", a, b)
		}
		for i := range a {
			if math.Abs(a[i].Range-b[i].Range) > 1e-12 || a[i].Count != b[i].Count {
				t.Fatalf("%v and %v", a, b)
			}
		}
	})
}

// Worked: 100 cycles of 50 % at 750 to the end, and 20 of 80 % at 225:
// 100/750 + 20/225 = 0.133333 + 0.088889 = 0.222222.
func TestMinersSum(t *testing.T) {
	curve := curve.Curve{{X: 50, Y: 750}, {X: 80, Y: 225}}
	w := NewWear(curve)
	w.Add(100)
	for range 100 {
		w.Add(50)
		w.Add(100)
	}
	for range 20 {
		w.Add(20)
		w.Add(100)
	}
	w.Finish()
	if math.Abs(w.Damage-0.2222222) > 1e-6 || w.Cycles != 120 {
		t.Errorf("damage %g of %g cycles", w.Damage, w.Cycles)
	}
}

// Cycled alike every day, a bank lasts the curve's cycles. Published: 750 at 50 %.
func TestLifeOfABankCycledAlikeEqualsTheCurve(t *testing.T) {
	for _, c := range []struct{ depth, cycles float64 }{{50, 750}, {80, 225}} {
		w := NewWear(curve.Curve{{X: 50, Y: 750}, {X: 80, Y: 225}})
		w.Add(100)
		for range 365 {
			w.Add(100 - c.depth)
			w.Add(100)
		}
		w.Finish()
		_, high := LifeYears(w.Damage, 1, 1000)
		if want := c.cycles / 365; math.Abs(high-want) > 1e-9 {
			t.Errorf("at %g %%: %g years, want %g", c.depth, high, want)
		}
	}
	if got := CyclesToEnd(curve.Curve{{X: 80, Y: 6000}}, 40); got != 12000 {
		t.Errorf("one point, half the depth: %g cycles", got)
	}
	// published: 10, 7 and 5 years at 20, 25 and 30 °C
	bank := leadBank()
	for airC, years := range map[float64]float64{5: 10, 20: 10, 25: 7, 30: 5} {
		if got := bank.CalendarYears(airC); math.Abs(got-years) > 1e-9 {
			t.Errorf("at %g °C: %g years", airC, got)
		}
	}
	// worked: 2 years by cycles and 10 by time: together 1/(1/2 + 1/10) = 1.6667
	if low, high := LifeYears(0.5, 1, 10); math.Abs(low-1/0.6) > 1e-9 || high != 2 {
		t.Errorf("%g to %g years", low, high)
	}
}
