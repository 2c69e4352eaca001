package battery

import (
	"math"
	"slices"

	"twigwatt/sim/curve"
)

// A Cycle is a range of charge that was gone through, from its mean; Count is 1,
// or a half where the range was gone through one way only. Units are those of
// the series: percent of charge for a bank.
type Cycle struct{ Range, Mean, Count float64 }

// Rainflow counts the cycles of a series as it streams by: it keeps turning
// points only, as many as lie open.
//
// Source: ASTM E1049-85 (2017), 5.4.4.
type Rainflow struct {
	open    []float64 // turning points of open ranges, and the last value
	closing func(Cycle)
}

// NewRainflow returns a counter that hands each cycle to closing as it closes.
func NewRainflow(closing func(Cycle)) *Rainflow { return &Rainflow{closing: closing} }

// Add takes the next value of the series.
func (r *Rainflow) Add(x float64) {
	n := len(r.open)
	switch {
	case n == 1 && x == r.open[0]:
		return
	case n >= 2 && (r.open[n-1]-r.open[n-2])*(x-r.open[n-1]) >= 0:
		r.open[n-1] = x // on the same way, or standing still
		return
	}
	r.close()
	r.open = append(r.open, x)
}

// close counts the ranges that the last turning point has closed.
func (r *Rainflow) close() {
	for len(r.open) >= 3 {
		n := len(r.open)
		x, y := math.Abs(r.open[n-1]-r.open[n-2]), math.Abs(r.open[n-2]-r.open[n-3])
		if x < y {
			return
		}
		cycle := Cycle{Range: y, Mean: (r.open[n-2] + r.open[n-3]) / 2, Count: 1}
		if n == 3 { // the range holds the series' first point
			cycle.Count = 0.5
			r.open = slices.Delete(r.open, 0, 1)
		} else {
			r.open = slices.Delete(r.open, n-3, n-1)
		}
		r.closing(cycle)
	}
}

// Finish counts what lies open as halves. The counter is empty afterwards.
func (r *Rainflow) Finish() {
	r.close()
	for i := 1; i < len(r.open); i++ {
		r.closing(Cycle{Range: math.Abs(r.open[i] - r.open[i-1]), Mean: (r.open[i] + r.open[i-1]) / 2, Count: 0.5})
	}
	r.open = r.open[:0]
}

// CyclesToEnd reads a curve of cycles by depth (X percent, rising; Y cycles):
// straight in logarithms, straight on beyond its ends. A curve of one point falls
// as the depth rises. Depth must be 0 or more; at 0 there is no end.
func CyclesToEnd(life curve.Curve, depth float64) float64 {
	if depth <= 0 {
		return math.Inf(1)
	}
	if len(life) == 1 {
		return life[0].Y * life[0].X / depth
	}
	from, to := life.Around(depth)
	return from.Y * math.Pow(depth/from.X, math.Log(to.Y/from.Y)/math.Log(to.X/from.X))
}

// Wear adds up what cycles do to a bank as its charge streams by.
//
// Source: rainflow by ASTM E1049, Miner's sum on the curve of cycles by depth.
type Wear struct {
	rain   *Rainflow
	Damage float64 // Miner's sum: 1 is the end
	Cycles float64
}

// NewWear returns an unworn bank's wear. life is cycles to the end by depth in percent.
func NewWear(life curve.Curve) *Wear {
	w := &Wear{}
	w.rain = NewRainflow(func(c Cycle) {
		w.Damage += c.Count / CyclesToEnd(life, c.Range)
		w.Cycles += c.Count
	})
	return w
}

// Add takes the charge in percent at the end of a step.
func (w *Wear) Add(chargePct float64) { w.rain.Add(chargePct) }

// Finish counts what lies open at a span's end as halves.
func (w *Wear) Finish() { w.rain.Finish() }

// calendarYears is service life by the air around the bank.
//
// Source: SOURCES.md, row cycle life (flooded): 10, 7, 5 years at 20, 25, 30 °C.
var calendarYears = curve.Curve{{X: 20, Y: 10}, {X: 25, Y: 7}, {X: 30, Y: 5}}

// CalendarYears returns how long a bank lasts by its age alone, at the mean air around it (°C).
// Colder than the table it keeps the table's end, warmer its last line goes on, to a year at least.
// Lithium: 15 years in any air (common practice, no source).
//
// Source: SOURCES.md, row cycle life.
func (b *Bank) CalendarYears(airC float64) float64 {
	if b.Kind == Lithium {
		return 15
	}
	return max(1, calendarYears.At(max(airC, calendarYears[0].X)))
}

// SeldomFull lowers the ends of a bank's life where full charges come days apart, and are wanted
// every so many days (0: never): such a bank sulphates. From there to five times as seldom, or
// never (+Inf), both ends fall on a straight line: the high one to a half and at most 6 years, the
// low one to a quarter. Judgements, no source.
func SeldomFull(low, high, days, everyDays float64) (lowYears, highYears float64) {
	if everyDays <= 0 || days <= everyDays {
		return low, high
	}
	const times, highShare, highMost, lowShare = 5, 0.5, 6, 0.25
	way := min(1, (days-everyDays)/((times-1)*everyDays))
	highYears = high + way*(min(highShare*high, highMost)-high)
	return min(highYears, low+way*(lowShare-1)*low), highYears
}

// LifeYears returns a bank's life as a range: low, where wear by cycles and by time add up; high,
// where the quicker of the two alone ends it. years is the length of the span that did the damage.
func LifeYears(damage, years, calendarYears float64) (low, high float64) {
	byCycles, byTime := damage/years, 1/calendarYears // of a life, each year
	return 1 / (byCycles + byTime), 1 / max(byCycles, byTime)
}
