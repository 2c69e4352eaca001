package plan

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/curve"
	"twigwatt/storage/battery"
)

// Published: Rouwenhorst's chain has the mean and the variance of the autoregression it stands
// for, whatever the class it comes from, and its lasting chances are binomial (K. A. Kopecky &
// R. M. H. Suen 2010, Rev. Econ. Dynamics 13:701, proposition 1 and section 3).
func TestClassesHaveTheMomentsOfTheirDays(t *testing.T) {
	for _, n := range []int{2, 3, 5, 7} {
		for _, memory := range []float64{0, 0.3, 0.5, 0.9} {
			node, follow := rouwenhorst(n, memory)
			lasting := make([]float64, n)
			for i, row := range follow {
				sum, mean, square := 0.0, 0.0, 0.0
				for j, chance := range row {
					sum += chance
					mean += chance * node[j]
					square += chance * node[j] * node[j]
					lasting[j] += binomial(n-1, i) * chance
				}
				if math.Abs(sum-1) > 1e-12 || math.Abs(mean-memory*node[i]) > 1e-12 || math.Abs(square-mean*mean-(1-memory*memory)) > 1e-12 {
					t.Errorf("%d classes, memory %g, after %g: chances %g, mean %g, variance %g", n, memory, node[i], sum, mean, square-mean*mean)
				}
			}
			for j := range lasting {
				if math.Abs(lasting[j]-binomial(n-1, j)) > 1e-12 {
					t.Errorf("%d classes, memory %g: lasting chance %g of class %d, want %g", n, memory, lasting[j], j, binomial(n-1, j))
				}
			}
		}
	}
}

// The day's factor has mean 1 over the classes, and what the evening moves has mean 0.
func TestTheSpreadIsAboutWhatIsExpected(t *testing.T) {
	for _, classes := range []int{1, 3, 5} {
		s := newSpread(classes, 0.3, 0.5, shownShare, unseenShare, 0.05)
		mean := 0.0
		for i, factor := range s.factor {
			mean += binomial(classes-1, i) * factor
		}
		if math.Abs(mean-1) > 1e-12 {
			t.Errorf("%d classes: mean factor %g", classes, mean)
		}
		var moved [5]float64
		s.moved(moved[:], 6*s.factor[classes/2], s.restKWh, s.setShare, 0)
		sum := 0.0
		for i, weight := range s.restW {
			sum += weight * moved[i]
		}
		const ofNodes = 1e-4 // kWh: five nodes do not hold a log-normal's mean to the last digit
		if math.Abs(sum) > ofNodes {
			t.Errorf("%d classes: the evening moves %g kWh in the mean", classes, sum)
		}
	}
}

// TestWeightsReadOnStraightLines: they are chances, and reading a straight line with them
// gives its value at the mean, where that lies well within the classes.
func TestWeightsReadOnStraightLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newSpread(5, 0.2, rapid.Float64Range(0, 0.9).Draw(t, "memory"), rapid.Float64Range(0.3, 1).Draw(t, "shown"), 0.2, 0)
		mean, variance := rapid.Float64Range(-3, 3).Draw(t, "mean"), rapid.Float64Range(0, 1).Draw(t, "variance")
		w := make([]float64, 5)
		s.weights(w, mean, variance)
		sum, read := 0.0, 0.0
		for i, weight := range w {
			if weight < -1e-9 {
				t.Fatalf("weight %g", weight)
			}
			sum += weight
			read += weight * s.node[i]
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("weights sum to %g", sum)
		}
		if reach := 4 * math.Sqrt(variance); mean-reach > s.node[0] && mean+reach < s.node[4] && math.Abs(read-mean) > 1e-4 {
			t.Fatalf("a line reads %g at %g", read, mean)
		}
	})
}

// Worked: where the reading is the prior's own mean it stays; an error as large as the prior's
// deviation halves the variance. An exact meter leaves nothing to guess, a blind one changes
// nothing, and the more was taken, the higher the day is thought to be.
func TestTheMeterTellsHowTheDayGoes(t *testing.T) {
	s := newSpread(5, 0.2, 0.5, shownShare, unseenShare, 0)
	middle := math.Exp(-s.sigma * s.sigma / 2) // the factor of no deviation
	got := s.seen(belief{0, 1}, 3*middle, 3, 3*middle*s.sigma)
	if math.Abs(got.mean) > 1e-12 || math.Abs(got.variance-0.5) > 1e-12 {
		t.Errorf("half sure: %+v", got)
	}
	up := math.Exp(s.sigma - s.sigma*s.sigma/2) // one deviation up
	if got := s.seen(belief{0, 1}, 3*up, 3, 1e-6); math.Abs(got.mean-1) > 1e-6 || got.variance > 1e-9 {
		t.Errorf("an exact meter: %+v", got)
	}
	if got := s.seen(belief{0, 1}, 2.6, 0.02, 0.4); math.Abs(got.mean) > 0.2 {
		t.Errorf("a reading that can tell nothing: %+v", got)
	}
	last := -10.0
	for taken := 0.0; taken < 12; taken += 0.1 {
		got := s.seen(belief{0, 1}, taken, 3, 0.4).mean
		if got <= last && got < 6 {
			t.Errorf("%g kWh taken: %g, less %g", taken, got, last)
		}
		last = got
	}
	if got := s.seen(belief{0.3, 0.8}, 0, 0, 1); got != (belief{0.3, 0.8}) {
		t.Errorf("nothing expected yet: %+v", got)
	}
	if got := s.tomorrow(belief{1, 0}); got != (belief{0.5, 0.75}) {
		t.Errorf("the day after: %+v", got)
	}
}

// Computed: x·Φ(x) + φ(x) by the standard library's error function.
func TestMeanOver(t *testing.T) {
	for x := -7.0; x < 7; x += 0.0371 {
		want := x*0.5*math.Erfc(-x/math.Sqrt2) + math.Exp(-x*x/2)/math.Sqrt(2*math.Pi)
		if got := meanOver(x); math.Abs(got-want) > 1e-5 {
			t.Errorf("at %g: %g, want %g", x, got, want)
		}
	}
}

// plain is a house with a bank of 10 kWh, half of it to use, that gives 0.8 of what it holds.
func plain() *sim.House {
	bank := battery.Bank{FullKWh: 10, FloorShare: 0.5, CeilingShare: 1, AtHandShare: 1, SettlePerH: 1, TaperHours: 1,
		DischargeEfficiency: 1, InverterEfficiency: 0.8, ChargerEfficiency: 1, InverterKW: 4, ChargeCurve: curve.Curve{{X: 0, Y: 100}}}
	return &sim.House{Spec: sim.Spec{Span: calendar.Span{Days: 1, StepMinutes: 60}, Bank: bank, Prices: sim.Prices{ShortKgPerKWh: 50}},
		Days: []sim.Day{{Bank: bank.Paced(1, 20)}}}
}

// Worked: 10 kg of value for each kWh over the floor. An evening that takes 0.8 kWh more draws
// one stored kWh; one that takes less spills what the bank cannot hold; one that takes more
// than there is misses 50 kg for each kWh, and a kilogram for being dark.
func TestAnEveningMovesWhatIsStored(t *testing.T) {
	p, g := &Plan{house: plain()}, newGrid([]float64{5, 10}, 6)
	values := []float64{50, 40, 30, 20, 10, 0}
	for _, c := range []struct{ storedKWh, movedKWh, want float64 }{
		{9, 0, 10}, {9, 0.8, 20}, {9, -0.8, 0}, {9, -4, 0}, {5, -0.8, 40}, {6, 0.8, 50}, {6, 4, 50 + 4*0.8*50 + 1}, {4, 0.8, 60 + 0.8*50 + 1},
	} {
		if got := p.afterEvening(g, values, c.storedKWh, c.movedKWh); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%g kWh stored, %g more taken: %g kg, want %g", c.storedKWh, c.movedKWh, got, c.want)
		}
	}
}

// Where the bank carries the usual load of a step and not a dear one, not running costs more
// than the classes say; where it carries the dearest it does not, nor where even the cheapest
// is dark.
func TestAtItsEdgeTheBankIsWeighedByTheDearest(t *testing.T) {
	h, spread := plain(), newSpread(5, 0.3, 0.5, shownShare, unseenShare, 0)
	p := &Plan{house: h, pricer: newPricer(h), spread: spread, classes: []*dayClasses{{factor: spread.factor}}}
	c := &Chooser{plan: p, house: h, seen: belief{0, 1}, weights: make([]float64, 5)}
	c.leader = c
	spread.weights(c.weights, 0, 1-spread.restVar)
	edge := func(storedKWh, loadKW float64) float64 {
		return c.edgeKg(&option{s: &sim.State{Bank: h.Bank.Rested(storedKWh)}, day: &h.Days[0]}, sim.Moment{}, loadKW, 0, 0)
	}
	// by hand: 0.4 kWh are at hand and 0.4 are wanted; of five nodes the two above the mean miss
	// 0.4·(f − 1) kWh, of the classes those above it theirs
	want := 0.0
	short := func(factor float64) float64 {
		if missing := 0.4 * (factor - 1); missing > darkStepKWh {
			return 50*missing + 1
		}
		return 0
	}
	for i, weight := range spread.restW {
		want += weight * short(spread.factorAt(c.seen, spread.restZ[i]))
	}
	for class, weight := range c.weights {
		want -= weight * short(spread.factor[class])
	}
	if got := edge(5.5, 0.4); math.Abs(got-max(0, want)) > 1e-9 || !(got > 0) {
		t.Errorf("at the edge: %g kg, want %g", got, want)
	}
	if got := edge(9, 0.4); got != 0 {
		t.Errorf("the bank carries the dearest day: %g kg", got)
	}
	if got := edge(5, 0.4); math.Abs(got) > 0.05 {
		t.Errorf("all days are dark: %g kg", got)
	}
}
