package curve_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim/curve"
)

// Worked: half-way from (10, 4) to (20, 8) it is 6. Beyond the ends the first line, which
// rises by 0.4, gives 4 − 5 · 0.4 = 2 at 5, and the last, by 0.05, 9 + 20 · 0.05 = 10 at 60;
// held they stay at 4 and 9.
func ExampleCurve() {
	c := curve.Curve{{X: 10, Y: 4}, {X: 20, Y: 8}, {X: 40, Y: 9}}
	fmt.Println(c.At(15), c.At(5), c.At(60))
	fmt.Println(c.Held(15), c.Held(5), c.Held(60))
	from, to := c.Around(30)
	fmt.Println(from, to)
	// Output:
	// 6 2 10
	// 6 4 9
	// {20 8} {40 9}
}

// Worked: x² passes 2 at 1.41421356; ten halvings of 0 to 2 leave 2/1024.
func ExampleBisect() {
	below := func(x float64) bool { return x*x < 2 }
	low, high := curve.Bisect(0, 2, curve.LastBit, below)
	fmt.Printf("%.8f %t\n", low, math.Nextafter(low, 2) == high)
	low, high = curve.Bisect(0, 2, 10, below)
	fmt.Println(low < math.Sqrt2 && math.Sqrt2 < high, high-low == 2.0/1024)
	// Output:
	// 1.41421356 true
	// true true
}

// A curve passes through its points, and lies between those around.
func TestCurvePassesThroughItsPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c curve.Curve
		x := rapid.Float64Range(-50, 50).Draw(t, "x")
		for range rapid.IntRange(2, 6).Draw(t, "points") {
			c = append(c, curve.Point{X: x, Y: rapid.Float64Range(-100, 100).Draw(t, "y")})
			x += rapid.Float64Range(0.1, 20).Draw(t, "further")
		}
		const rounding = 1e-9
		for _, p := range c {
			if math.Abs(c.At(p.X)-p.Y) > rounding || math.Abs(c.Held(p.X)-p.Y) > rounding {
				t.Fatalf("at %g: %g and %g, the point says %g", p.X, c.At(p.X), c.Held(p.X), p.Y)
			}
		}
		x = rapid.Float64Range(c[0].X, c[len(c)-1].X).Draw(t, "between")
		from, to := c.Around(x)
		if y := c.At(x); !(from.X <= x && x <= to.X) || y < min(from.Y, to.Y)-rounding || y > max(from.Y, to.Y)+rounding {
			t.Fatalf("at %g: %g, around it %v and %v", x, y, from, to)
		}
	})
}

// What turns nowhere comes to an end; bounds that are no range stay as they are.
func TestBisectWithoutATurn(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		low, high         float64
		below             bool
		wantLow, wantHigh float64
		within            float64
		reason            string
	}{
		{1, 2, true, 2, 2, 1e-15, "always below: the upper end"},
		{1, 2, false, 1, 1, 1e-15, "never below: the lower end"},
		{2, 1, true, 2, 1, 0, "the wrong way round"},
		{1, 1, true, 1, 1, 0, "no room"},
		{1, inf, true, 1, inf, 0, "no middle"},
	} {
		low, high := curve.Bisect(c.low, c.high, curve.LastBit, func(float64) bool { return c.below })
		if !(math.Abs(low-c.wantLow) <= c.within) || high != c.wantHigh && !(math.Abs(high-c.wantHigh) <= c.within) {
			t.Errorf("%g to %g: %g and %g: %s", c.low, c.high, low, high, c.reason)
		}
	}
	if low, high := curve.Bisect(nan, 1, curve.LastBit, func(float64) bool { return true }); !math.IsNaN(low) || high != 1 {
		t.Errorf("from NaN: %g and %g", low, high)
	}
}
