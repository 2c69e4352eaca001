package study

import (
	"math"
	"math/rand/v2"
	"testing"

	"twigwatt/sim"
)

// Worked: of ten values, one in ten is at or under the first, five in ten at or
// under the fifth, nine in ten at or under the ninth; of one value all are it.
func TestSpreadByHand(t *testing.T) {
	if got, want := spread([]float64{7, 1, 10, 3, 5, 9, 2, 8, 6, 4}), (Spread{1, 5, 9, 10}); got != want {
		t.Errorf("of ten: got %+v, want %+v", got, want)
	}
	if got, want := spread([]float64{3}), (Spread{3, 3, 3, 3}); got != want {
		t.Errorf("of one: got %+v, want %+v", got, want)
	}
}

// Worked: light-ups that fail before one that takes are geometric, f/(1−f) in the
// mean with variance f/(1−f)²; four standard errors of 20 000 draws are allowed.
func TestFailedLightUpsAreGeometric(t *testing.T) {
	const draws, share = 20_000, 0.3
	f := fare{luck: Luck{FailShare: share}, lights: rand.New(rand.NewPCG(1, lightStream))}
	sum := 0
	for range draws {
		sum += f.failed()
	}
	want, error := share/(1-share), 4*math.Sqrt(share/draws)/(1-share)
	if got := float64(sum) / draws; math.Abs(got-want) > error {
		t.Errorf("failed light-ups in the mean: got %.4f, want %.4f ± %.4f", got, want, error)
	}
}

// Worked: a year's factor has mean 1 and the wanted deviation, its moisture mean 0;
// four standard errors are allowed.
func TestYearsDrawWhatTheyShould(t *testing.T) {
	const years, deviation = 20_000, 0.1
	sum, squares := 0.0, 0.0
	for seed := range uint64(years) {
		f := newFare(&sim.House{}, unmoved{}, nil, Luck{LoadYearShare: deviation}, ByLoadYear, seed)
		f.newYear(0)
		sum += f.loadFactor
		squares += f.loadFactor * f.loadFactor
	}
	mean := sum / years
	if got := math.Sqrt(squares/years - mean*mean); math.Abs(got-deviation) > 4*deviation/math.Sqrt(2*years)*1.2 {
		t.Errorf("deviation: got %.4f, want %.4f", got, deviation)
	}
	if math.Abs(mean-1) > 4*deviation/math.Sqrt(years) {
		t.Errorf("mean: got %.4f, want 1", mean)
	}
}
