package diary

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// TestGapsAreJudgedByTheFitsOwnLoad: a house that uses half as much again as expected
// comes near its floor in more gaps, and those are left out.
func TestGapsAreJudgedByTheFitsOwnLoad(t *testing.T) {
	scenario, w := home(t, nil), someTruth
	w.loadFactor = 1.5
	rows := madeUp(scenario, w, usualErrors, 90, 2)
	f, h := NewFit(rows, scenario), dated(scenario)
	expected, own := 0, 0
	for _, b := range balancesOf(h, rows) {
		if !b.nearFloor(h.House, 1) {
			expected++
		}
		if !b.nearFloor(h.House, f.LoadFactor.Value) {
			own++
		}
	}
	if f.LoadFactor.Rows != own || own >= expected {
		t.Errorf("%d balances were fitted; %d are clear of the floor by the fit's load, %d by the scenario's",
			f.LoadFactor.Rows, own, expected)
	}
}

// TestTheBankSettles: another step moves nothing that would be printed.
func TestTheBankSettles(t *testing.T) {
	scenario := home(t, nil)
	h := dated(scenario)
	for free := bankUnknowns - 1; free <= bankUnknowns; free++ {
		s := solveBank(h, balancesOf(h, madeUp(scenario, someTruth, usualErrors, 90, 5)), free)
		before := s.unknowns
		s.step()
		for j, was := range before {
			if math.Abs(s.unknowns[j]-was) > 1e-6 {
				t.Errorf("%d free: unknown %d goes from %.9f to %.9f", free, j, was, s.unknowns[j])
			}
		}
	}
}

// TestFreedomOfABank: worked. Of 120 balances 20 neighbours belong together, 1.5·120/21 =
// 8.571; of 10 two do, 1.5·10/3 = 5.
func TestFreedomOfABank(t *testing.T) {
	for n, want := range map[int]float64{120: 8.5714286, 10: 5} {
		s := &bankSolver{balances: make([]balance, n), free: 2}
		if got := s.freedom(); math.Abs(got-want) > 1e-6 {
			t.Errorf("of %d balances: %g, worked %g", n, got, want)
		}
	}
}

// TestEvenUseTellsDischarging: the share by which a day's use differs decides.
func TestEvenUseTellsDischarging(t *testing.T) {
	scenario := home(t, nil)
	for swing, told := range map[float64]bool{0.02: true, 0.05: false} {
		noise := errorsOf{woodShare: 0.03, kWhShare: 0.0005, kWh: 0.01, socPct: 0.05, swing: swing}
		f := NewFit(madeUp(scenario, someTruth, noise, 180, 1), scenario)
		if f.DischargePct.Told() != told || !told && !strings.Contains(f.DischargePct.Why, "differs too much") {
			t.Errorf("with a swing of %g: %+v", swing, f.DischargePct)
		}
	}
}

// TestSumsAreSetEqual: with discharging held, what was noted of the balances kept
// adds up to what the fit makes of them, over runs and over gaps, short and long.
func TestSumsAreSetEqual(t *testing.T) {
	scenario := home(t, nil)
	rows := madeUp(scenario, someTruth, usualErrors, 120, 8)
	var some []Row
	for i, r := range rows {
		if i%5 != 3 {
			some = append(some, r)
		}
	}
	h := dated(scenario)
	b := solveBank(h, balancesOf(h, some), bankUnknowns-1)
	var sums, days [2]float64
	for i, s := range b.balances {
		kind := 0
		if s.kind == overRun {
			kind = 1
		}
		sums[kind] += b.weights[i] * b.residual[i]
		days[kind] = math.Max(days[kind], s.size)
	}
	const rounding = 1e-4 // kWh, of some thousand
	if math.Abs(sums[0]) > rounding || math.Abs(sums[1]) > rounding || days[0] < 1.5 {
		t.Errorf("gaps miss %g kWh, runs %g; the longest gap has %g days", sums[0], sums[1], days[0])
	}
}

func TestNoEfficiencyIsAbove100(t *testing.T) {
	e := Estimate{Value: 101, Low: 95, High: 107, Rows: 9}
	if e = e.atMost100(); !e.Told() || e.Value != 100 || e.High != 100 || e.Low != 95 {
		t.Errorf("%+v", e)
	}
	e = Estimate{Value: 104, Low: 101, High: 107, Rows: 9}
	if e = e.atMost100(); e.Told() || e.Held || e.Why == "" {
		t.Errorf("%+v", e)
	}
}

func TestRunsOfAnotherSeasonTellNoBank(t *testing.T) {
	scenario := home(t, func(spec *sim.Spec, _ *loads.Wants) { spec.Span.Days = 31 })
	rows := sameLength(home(t, nil), 240, 1.5, 2, 2.5, 3)
	july := slices.Clone(rows)
	for i := range july {
		july[i].Date = calendar.NewDate(2025, time.July, 1) + calendar.Date(i)
	}
	if got := newAlmanac(scenario.House.Span).elsewhere(july); got != len(july) {
		t.Errorf("%d of %d runs in July are elsewhere than in January", got, len(july))
	}
	if f := NewFit(july, scenario); f.LoadFactor.Told() || f.RoundTripPct.Told() || !strings.Contains(f.LoadFactor.Why, "does not hold") {
		t.Errorf("July's use by a span of January: %+v", f.LoadFactor)
	}
}

// TestAFewRunsOfAnotherSeason: a tenth of the runs may fall elsewhere.
func TestAFewRunsOfAnotherSeason(t *testing.T) {
	winter := home(t, func(spec *sim.Spec, _ *loads.Wants) { spec.Span.Days = 60 })
	for elsewhere, told := range map[int]bool{5: true, 8: false} {
		rows := madeUp(home(t, nil), someTruth, usualErrors, 60, 1)
		for i := len(rows) - elsewhere; i < len(rows); i++ {
			rows[i].Date += 120
		}
		if f := NewFit(rows, winter); f.LoadFactor.Told() != told || len(f.Warnings) != 1 {
			t.Errorf("%d of %d runs elsewhere: %+v, %v", elsewhere, len(rows), f.LoadFactor, f.Warnings)
		}
	}
}
