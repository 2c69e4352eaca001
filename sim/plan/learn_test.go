package plan

import (
	"math"
	"testing"
)

// TestFortnight: worked. Days that are all a tenth over what is expected, seen for ever, weigh as
// (1 + k)/(1 − k) = 28.01 days do, where k = e^(−1/14) is what a day keeps of its weight. Their
// mean spreads by 0.18² · 3/28.01 about the year's factor (memory 0.5 makes one day in three a
// new one), and that by 0.1²: of the tenth 0.01/(0.01 + 0.003470) is learned.
func TestFortnight(t *testing.T) {
	var f Fortnight
	if got := f.factor(0.1, 0.18, 0.5); got != 1 {
		t.Errorf("nothing seen: %g", got)
	}
	for range 1000 {
		f.nextDay(6.6, 6, 1)
	}
	if got, want := f.factor(0.1, 0.18, 0.5), 1+0.1*0.01/(0.01+0.0324*3/28.01); math.Abs(got-want) > 1e-5 {
		t.Errorf("a tenth more for ever: %.6f, want %.6f", got, want)
	}
	if got := f.factor(0, 0.18, 0.5); got != 1 {
		t.Errorf("years all alike: %g", got)
	}
	var one Fortnight
	one.nextDay(6.6, 6, 1)
	if got, want := one.factor(0.1, 0.18, 0.5), 1+0.1*0.01/(0.01+0.0324*3); math.Abs(got-want) > 1e-12 {
		t.Errorf("one day: %.6f, want %.6f", got, want)
	}
	var told, lived Fortnight // a day may be told in two parts, and later
	lived.nextDay(6.6, 6, 1)
	lived.nextDay(5, 6, 1)
	told.Add(6.6, 6, 1, 1)
	told.Add(5, 6, 1, 0)
	if a, b := told.factor(0.1, 0.18, 0.5), lived.factor(0.1, 0.18, 0.5); math.Abs(a-b) > 1e-12 {
		t.Errorf("told %g, lived %g", a, b)
	}
}
