package study

import (
	"math"
	"math/rand/v2"
	"testing"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// household is one of a spec that wants nothing.
func household(spec sim.Spec) *sim.Household {
	return &sim.Household{House: &sim.House{Spec: spec}, Demand: &loads.Demand{}}
}

const firstOf2025 = 20089 // 1 January

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
	f := life{plain: &sim.House{Spec: sim.Spec{Luck: sim.Luck{FailShare: share}}}, lights: rand.New(rand.NewPCG(1, lightStream))}
	sum := 0
	for range draws {
		sum += f.failed()
	}
	want, allowed := share/(1-share), 4*math.Sqrt(share/draws)/(1-share)
	if got := float64(sum) / draws; math.Abs(got-want) > allowed {
		t.Errorf("failed light-ups in the mean: got %.4f, want %.4f ± %.4f", got, want, allowed)
	}
}

// Worked: a year's factor has mean 1 and the wanted deviation, its moisture mean 0;
// four standard errors are allowed.
func TestYearsDrawWhatTheyShould(t *testing.T) {
	const years, deviation = 20_000, 0.1
	sum, squares := 0.0, 0.0
	h := household(sim.Spec{Luck: sim.Luck{LoadYearShare: deviation}})
	for number := range years {
		f := newLife(h, inOneHouse{}, ByLoadYear, number)
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

// TestRepairsAreAYearsBlock: anywhere in the year, its first and its last days among
// them, and always as long; a span of a week meets but few.
func TestRepairsAreAYearsBlock(t *testing.T) {
	first, last, met := 1000, -1, 0
	const years, days = 4000, 7
	h := household(sim.Spec{Span: calendar.Span{Start: firstOf2025, Days: 7}, Luck: sim.Luck{RepairDays: days}})
	for number := range years {
		f := newLife(h, inOneHouse{}, ByRepairs, number)
		f.newYear(0)
		if f.repair[1]-f.repair[0] != days {
			t.Fatalf("a block of %d days", f.repair[1]-f.repair[0])
		}
		first, last = min(first, f.repair[0]), max(last, f.repair[1])
		if f.repair[0] < 7 {
			met++
		}
	}
	if first != 0 || last != 365 {
		t.Errorf("blocks from day %d to %d of the year", first, last)
	}
	if want := float64(years) * 7 / 359; math.Abs(float64(met)-want) > 4*math.Sqrt(want) {
		t.Errorf("%d of %d weeks meet a repair, want about %.0f", met, years, want)
	}
}

// Worked: two spans of one cause alone against the span whose days come as expected.
func TestCausesByHand(t *testing.T) {
	r := &RiskAnswer{Household: household(sim.Spec{Span: calendar.Span{Start: firstOf2025, Days: 31}}), RiskOptions: RiskOptions{Years: 2},
		Steady: Plain{WoodDryKg: 100, AttendedH: 10, ShortKWh: 1, ShortDays: 1}}
	s := newSpanBooks(r, []Cause{ByAll, ByMoisture, ByRepairs})
	s.steadyKg, s.winterDays, s.winterDark, s.noDark = 200, 31, 1, 1
	s.priceKg = []float64{0, 420, 500}
	for range 2 {
		s.total[0].add(&tally{})
		s.months[0].add(&tally{dryKg: 7})
	}
	s.total[1].add(&tally{dryKg: 110, attendedH: 12, shortKWh: 3, shortDays: 2})
	s.total[1].add(&tally{dryKg: 130, attendedH: 14, shortKWh: 5, shortDays: 4})
	s.total[2].add(&tally{dryKg: 90, shortKWh: 20})
	s.total[2].add(&tally{dryKg: 90, shortKWh: 20})
	s.finish()
	if r.NoDarkShare != 0.5 || *r.WinterNoDark != 0.5 || len(r.Months) != 1 || r.Months[0].WoodDryKg.P50 != 7 {
		t.Errorf("shares %v, %v, months %+v", r.NoDarkShare, *r.WinterNoDark, r.Months)
	}
	want := CauseAlone{Cause: ByMoisture, ShortDays: 2, ShortKWh: 3, WoodDryKg: 20, AttendedH: 3, ShortKWhP90: 5, PriceKg: 10}
	if r.Causes[0].Cause != ByRepairs || r.Causes[0].PriceKg != 50 || r.Causes[1] != want {
		t.Errorf("causes %+v, want repairs first, then %+v", r.Causes, want)
	}
}
