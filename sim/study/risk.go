package study

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"gonum.org/v1/gonum/stat"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/money"
	"twigwatt/sim/plan"
)

// A Spread is how a figure spreads over spans of luck: the least value that one
// span in ten, five in ten and nine in ten do not pass, and the highest of all.
type Spread struct{ P10, P50, P90, Worst float64 } // the least value that so many in a hundred do not pass

// A Range is the spreads of what a household asks about.
type Range struct{ WoodDryKg, AttendedH, ShortDays, ShortKWh Spread }

// A CauseAlone is what one cause of luck does without the others: means over the
// spans, as differences from the span in which every day comes as expected.
type CauseAlone struct {
	Cause                                     Cause
	ShortDays, ShortKWh, WoodDryKg, AttendedH float64
	ShortKWhP90                               float64 // of the spans, no difference
	PriceKg                                   float64
}

// RiskOptions say how Risk is asked.
type RiskOptions struct {
	Years  int                 // spans of luck, 1 or more
	Passed func(years, of int) // called as days of spans are done; nil: nobody asks
}

// RiskAnswer is the answer to how bad it can get.
type RiskAnswer struct {
	*sim.Household
	RiskOptions
	Rule         plan.Rule
	Plain        Plain
	Steady       Plain // the span in which every day comes as expected, against which causes alone are counted
	All          Range
	Months       []MonthRange
	South        bool         // winter is April to September, not October to March
	NoDarkShare  float64      // of the spans, without a short day
	WinterNoDark *float64     // of the spans, without one in the winter months; nil: the span has no winter
	Stack        Amount       // of wood that nine spans in ten do not need more of
	RunsOutShare float64      // of the spans, in which ready wood ran out
	Causes       []CauseAlone // the worst first
	Litres       *Spread      // of petrol; nil: no stand-by set
	Cost         *money.Cost  // of a year as the household's own days come; nil: no prices are given
	Warnings     []sim.Warning
}

// Plain is what the plan comes to where nothing fails: the mean of lives whose days
// differ, and no more.
type Plain struct{ WoodDryKg, AttendedH, ShortKWh, ShortDays, Litres float64 }

// A MonthRange is the spread of a calendar month, over all years of the span.
type MonthRange struct {
	Month time.Month
	Range
}

// causes in the order of the scenario's keys.
func causes() []Cause {
	return []Cause{BySwing, BySky, BySet, ByLoadYear, ByMoisture, ByFailedLights, ByRepairs}
}

// batchYears go through the span together, day by day, so that a day's plan is
// made once for all of them.
const batchYears = 250

// Risk asks how bad it can get: it takes a household through spans of luck. Each span's luck
// depends on its own seed, whatever the number of cores. No figure comes from a plan that knew
// the luck: exact foresight becomes typical. The errors are those of plan.New.
func Risk(ctx context.Context, h *sim.Household, rule plan.Rule, o RiskOptions) (*RiskAnswer, error) {
	h, _, err := aged(ctx, h, rule)
	if err != nil {
		return nil, err
	}
	r := &RiskAnswer{Household: h, RiskOptions: o, South: h.LatitudeDeg < 0, Warnings: slices.Clone(h.Warnings)}
	if rule.By == plan.ByChosen && rule.Foresight == plan.Exact {
		rule.Foresight = plan.Typical
		r.Warnings = append(r.Warnings, sim.Warning{Code: "typical_foresight",
			Text: "plan.foresight is exact; risk plans with typical foresight, since luck is not known beforehand"})
	}
	r.Rule = rule
	sets := []Cause{ByAll}
	ofDays := 0
	for _, cause := range []Cause{BySwing, BySet, BySky} {
		if brings(h, cause) {
			ofDays++
		}
	}
	if ofDays > 1 {
		sets = append(sets, ByDays)
	}
	for _, cause := range causes() {
		if brings(h, cause) {
			sets = append(sets, cause)
		}
	}
	chooser, _, err := rule.Rationing(ctx, h, plan.Beginning{})
	if err != nil {
		return nil, err
	}
	s := newSpanBooks(r, sets)
	if err := s.live(ctx, h, chooser); err != nil {
		return nil, err
	}
	s.finish()
	if h.Money != nil {
		if r.Cost, err = costOfOwnDays(ctx, h, rule); err != nil {
			return nil, err
		}
	}
	stackKg := r.All.WoodDryKg.P90
	if s.withoutWood > 0 { // what was burned is not what was needed
		endless := h.WithoutEnd()
		if chooser, err = rule.Chooser(ctx, endless); err != nil {
			return nil, err
		}
		need := newSpanBooks(&RiskAnswer{Household: endless, RiskOptions: o, Rule: rule}, []Cause{ByAll})
		if err := need.live(ctx, endless, chooser); err != nil {
			return nil, err
		}
		stackKg = spread(need.total[0].dryKg).P90
	}
	r.Warnings = append(r.Warnings, h.Hazards(100*s.lowestKWh/h.Bank.FullKWh)...)
	r.Warnings = append(r.Warnings, h.TarWarning(s.wettestShare, "")...)
	r.Stack = amount(h.House, stackKg, 1+h.Pile.RatedDryBasis)
	return r, nil
}

// costOfOwnDays is what a year costs as a household's own days come.
func costOfOwnDays(ctx context.Context, h *sim.Household, rule plan.Rule) (*money.Cost, error) {
	chooser, _, err := rule.Rationing(ctx, h, plan.Beginning{})
	if err != nil {
		return nil, err
	}
	books, err := sim.Run(ctx, h, chooser, nil)
	if err != nil {
		return nil, err
	}
	return sim.Summarize(h, books).Cost, nil
}

// brings reports whether a cause brings any luck.
func brings(h *sim.Household, c Cause) bool {
	switch l := &h.Luck; c {
	case BySwing:
		return h.Demand.SwingShare > 0
	case BySky:
		return h.Demand.SkySpreads()
	case BySet:
		return l.SetDailyShare > 0
	case ByLoadYear:
		return l.LoadYearShare > 0
	case ByMoisture:
		return l.MoistureShare > 0
	case ByFailedLights:
		return l.FailShare > 0
	}
	return h.Luck.RepairDays > 0
}

// live takes all spans through the days, a batch at a time, and adds them up.
func (s *spanBooks) live(ctx context.Context, h *sim.Household, chooser sim.Chooser) error {
	o := s.risk.RiskOptions
	for first := 0; first < o.Years; first += batchYears {
		years := min(batchYears, o.Years-first)
		leader, lives, err := s.begin(ctx, h, chooser, first, years)
		if err != nil {
			return err
		}
		for day := range h.Days {
			if isWinter(h.House, day) {
				s.winterDays++
			}
		}
		passed := func(day int) {
			if o.Passed != nil {
				o.Passed(first+years*day/len(h.Days), o.Years)
			}
		}
		if err := dayByDay(ctx, h.House, leader.day, lives, passed); err != nil {
			return err
		}
		s.steady(leader)
		for i, f := range lives {
			s.add(i%len(s.sets), f)
		}
	}
	return nil
}

// begin makes the span without luck that plans the days, and the lives of some
// years: each year's sets of causes side by side.
func (s *spanBooks) begin(ctx context.Context, h *sim.Household, chooser sim.Chooser,
	first, years int) (leader *life, lives []*life, err error) {
	chosen, _ := chooser.(*plan.Chooser)
	if chosen != nil {
		chosen = chosen.Plan().Chooser()
		chooser = chosen
	}
	leader = newLife(h, inOneHouse{chooser}, 0, 0)
	for year := range years {
		for _, set := range s.sets {
			var own decider
			if chosen != nil {
				own = chosen.Follower(h.House)
			} else {
				c, err := s.risk.Rule.Chooser(ctx, h)
				if err != nil {
					return nil, nil, err
				}
				own = c.(decider)
			}
			lives = append(lives, newLife(h, own, set, first+year))
		}
	}
	return leader, lives, nil
}

// inOneHouse is a chooser that never changes houses.
type inOneHouse struct{ sim.Chooser }

// InHouse is never called: without luck all years are alike.
func (inOneHouse) InHouse(*sim.House) {}

// SideBySide works on the answers to a question that do not depend on one another, on all
// cores, and returns them in order. passed (nil: nobody asks) is called as each is done. The
// error is the first answer's that has one.
func SideBySide[Q, A any](questions []Q, passed func(done, of int), answer func(Q) (A, error)) ([]A, error) {
	answers, errs := make([]A, len(questions)), make([]error, len(questions))
	var counting sync.Mutex
	done := 0
	indices := make([]int, len(questions))
	for i := range indices {
		indices[i] = i
	}
	shareOut(indices, 1, func(i int) {
		answers[i], errs[i] = answer(questions[i])
		counting.Lock()
		defer counting.Unlock()
		if done++; passed != nil {
			passed(done, len(questions))
		}
	})
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// shareOut shares work out among the cores, a chunk at a time.
func shareOut[T any](all []T, chunk int, do func(T)) {
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (len(all)+chunk-1)/chunk) {
		workers.Go(func() {
			for {
				from := int(next.Add(int64(chunk))) - chunk
				if from >= len(all) {
					return
				}
				for _, one := range all[from:min(from+chunk, len(all))] {
					do(one)
				}
			}
		})
	}
	workers.Wait()
}

// isWinter reports whether a day lies in the half-year around midwinter.
func isWinter(h *sim.House, day int) bool {
	north := h.Days[day].Date.Month() >= time.October || h.Days[day].Date.Month() <= time.March
	return north == (h.LatitudeDeg >= 0)
}

// columns are some figures of every span.
type columns struct{ dryKg, attendedH, shortDays, shortKWh, litres []float64 }

func (c *columns) add(t *tally) {
	c.dryKg = append(c.dryKg, t.dryKg)
	c.attendedH = append(c.attendedH, t.attendedH)
	c.shortDays = append(c.shortDays, float64(t.shortDays))
	c.shortKWh = append(c.shortKWh, t.shortKWh)
	c.litres = append(c.litres, t.standby.Litres)
}

func (c *columns) spread() Range {
	return Range{spread(c.dryKg), spread(c.attendedH), spread(c.shortDays), spread(c.shortKWh)}
}

// spread sorts a copy and reads the quantiles off it.
func spread(values []float64) Spread {
	v := slices.Sorted(slices.Values(values))
	at := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, v, nil) }
	return Spread{at(0.1), at(0.5), at(0.9), v[len(v)-1]}
}

// spanBooks gather what the spans come to: a few figures of each.
type spanBooks struct {
	risk         *RiskAnswer
	sets         []Cause
	total        []columns // by set
	months       [12]columns
	priceKg      []float64 // by set, summed
	steadyKg     float64
	noDark       int
	winterDark   int
	withoutWood  int
	winterDays   int
	lowestKWh    float64
	wettestShare float64
}

func newSpanBooks(r *RiskAnswer, sets []Cause) *spanBooks {
	return &spanBooks{risk: r, sets: sets, total: make([]columns, len(sets)), lowestKWh: math.Inf(1),
		priceKg: make([]float64, len(sets))}
}

// steady books the span in which every day comes as expected.
func (s *spanBooks) steady(f *life) {
	s.steadyKg, s.lowestKWh = f.priceKg(), min(s.lowestKWh, f.lowestKWh)
	s.risk.Steady = Plain{f.total.dryKg, f.total.attendedH, f.total.shortKWh, float64(f.total.shortDays), f.total.standby.Litres}
}

// add books a life.
func (s *spanBooks) add(set int, f *life) {
	s.total[set].add(&f.total)
	s.lowestKWh, s.wettestShare = min(s.lowestKWh, f.lowestKWh), max(s.wettestShare, f.wettestShare)
	s.priceKg[set] += f.priceKg()
	if s.sets[set] != ByAll {
		return
	}
	for month := range s.months {
		s.months[month].add(&f.months[month])
	}
	if f.total.shortDays == 0 {
		s.noDark++
	}
	if f.winterShort {
		s.winterDark++
	}
	if f.withoutWood {
		s.withoutWood++
	}
}

// finish reads the answers off.
func (s *spanBooks) finish() {
	r := s.risk
	n := float64(r.Years)
	r.All = s.total[0].spread()
	if r.Standby != nil {
		litres := spread(s.total[0].litres)
		r.Litres = &litres
	}
	r.NoDarkShare, r.RunsOutShare = float64(s.noDark)/n, float64(s.withoutWood)/n
	if s.winterDays > 0 {
		share := 1 - float64(s.winterDark)/n
		r.WinterNoDark = &share
	}
	for month, touched := r.Span.Start, 0; month < r.Span.End() && touched < len(s.months); touched++ {
		r.Months = append(r.Months, MonthRange{month.Month(), s.months[month.Month()-1].spread()})
		next := calendar.NewDate(month.Year(), month.Month(), 1) + 31
		month = calendar.NewDate(next.Year(), next.Month(), 1)
	}
	mean := func(v []float64) float64 { return stat.Mean(v, nil) }
	r.Plain = r.Steady
	for i, cause := range s.sets {
		c := &s.total[i]
		ofDays := cause&ByDays != 0 && cause&^ByDays == 0
		if cause == ByDays || ofDays && !slices.Contains(s.sets, ByDays) { // where one cause alone moves days, that one
			r.Plain = Plain{mean(c.dryKg), mean(c.attendedH), mean(c.shortKWh), mean(c.shortDays), mean(c.litres)}
		}
		if cause == ByAll || cause == ByDays {
			continue
		}
		r.Causes = append(r.Causes, CauseAlone{Cause: cause, ShortDays: mean(c.shortDays) - r.Steady.ShortDays,
			ShortKWh:  mean(c.shortKWh) - r.Steady.ShortKWh,
			WoodDryKg: mean(c.dryKg) - r.Steady.WoodDryKg, AttendedH: mean(c.attendedH) - r.Steady.AttendedH,
			ShortKWhP90: spread(c.shortKWh).P90, PriceKg: s.priceKg[i]/n - s.steadyKg})
	}
	slices.SortStableFunc(r.Causes, func(a, b CauseAlone) int { return cmp.Compare(b.PriceKg, a.PriceKg) })
}
