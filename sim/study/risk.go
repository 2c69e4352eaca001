package study

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"gonum.org/v1/gonum/stat"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
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

// Risk is the answer to how bad it can get.
type Risk struct {
	Name         string
	Span         calendar.Span
	Years        int // spans of luck
	PlanText     string
	Chosen       bool
	Chores       bool
	Luck         Luck
	SwingShare   float64
	Seed         uint64
	ShortKg      float64 // price of a kWh of shortfall that was planned with
	Plain        Plain
	Steady       Plain // the span in which every day comes as expected, from which causes alone are told
	All          Range
	Months       []MonthRange
	South        bool     // winter is April to September, not October to March
	NoDarkShare  float64  // of the spans, without a short day
	WinterNoDark *float64 // of the spans, without one in the winter months; nil: the span has no winter
	Stack        Amount   // of wood that nine spans in ten do not need more of
	Species      string   // in which it is counted
	Hazards      []sim.Warning
	RunsOutShare float64      // of the spans, in which ready wood ran out
	Endless      bool         // no pile was described
	Causes       []CauseAlone // the worst first
	Warnings     []sim.Warning
}

// Plain is what the plan comes to where nothing fails: the mean of lives whose days
// differ, and no more.
type Plain struct{ WoodDryKg, AttendedH, ShortKWh, ShortDays float64 }

// A MonthRange is the spread of a calendar month, over all years of the span.
type MonthRange struct {
	Month time.Month
	Range
}

// causes in the order of the scenario's keys.
func causes() []Cause {
	return []Cause{BySwing, BySet, ByLoadYear, ByMoisture, ByFailedLights, ByRepairs}
}

// A Gamble is what risk is asked of.
type Gamble struct {
	House  *sim.House
	Wants  *loads.Wants
	Luck   Luck
	Seed   uint64                                                 // of the first span; each further one has the next
	Years  int                                                    // spans of luck
	Make   func(context.Context) (sim.Chooser, error)             // the plan in force, typical foresight
	For    func(context.Context, *sim.House) (sim.Chooser, error) // the same without rationing, for another house
	Passed func(years, of int)                                    // told how far it has come; nil: nobody asks
}

// batchYears go through the span together, day by day, so that a day's plan is
// made once for all of them.
const batchYears = 250

// NewRisk runs a household through spans of luck. Each span's luck depends on its
// own seed, whatever the number of cores. The only errors are the context's and
// those of a measured file.
func NewRisk(ctx context.Context, g *Gamble) (*Risk, error) {
	demand, err := g.Wants.Steady(g.House.Span)
	if err != nil {
		return nil, err
	}
	r := &Risk{Span: g.House.Span, Years: g.Years, Luck: g.Luck, Chores: len(g.Wants.Chores) > 0,
		South: g.House.LatitudeDeg < 0, SwingShare: g.Wants.SwingShare, Seed: g.Seed,
		ShortKg: g.House.Prices.ShortKgPerKWh, Endless: g.House.Pile.Endless}
	sets := []Cause{ByAll}
	if g.Wants.SwingShare > 0 && g.Luck.SetDailyShare > 0 {
		sets = append(sets, ByDays)
	}
	for _, cause := range causes() {
		if g.brings(cause) {
			sets = append(sets, cause)
		}
	}
	chooser, err := g.Make(ctx)
	if err != nil {
		return nil, err
	}
	s := newSpreads(r, sets)
	if err := g.run(ctx, g.House, chooser, demand, sets, s); err != nil {
		return nil, err
	}
	s.finish(r)
	stackKg := r.All.WoodDryKg.P90
	if s.withoutWood > 0 { // what was burned is not what was needed
		endless := WithoutEnd(g.House)
		if chooser, err = g.For(ctx, endless); err != nil {
			return nil, err
		}
		need := newSpreads(&Risk{Span: r.Span}, []Cause{ByAll})
		if err := g.run(ctx, endless, chooser, demand, []Cause{ByAll}, need); err != nil {
			return nil, err
		}
		stackKg = spread(need.total[0].dryKg).P90
	}
	r.Species = g.House.Pile.Species.Key
	r.Hazards = g.House.Hazards(100 * s.lowestKWh / g.House.Bank.FullKWh)
	r.Stack = amount(g.House, stackKg, 1+g.House.Pile.RatedDryBasis)
	return r, nil
}

// brings reports whether a cause brings any luck.
func (g *Gamble) brings(c Cause) bool {
	return c == BySwing && g.Wants.SwingShare > 0 || c == BySet && g.Luck.SetDailyShare > 0 || c == ByLoadYear && g.Luck.LoadYearShare > 0 || c == ByMoisture && g.Luck.MoistureShare > 0 ||
		c == ByFailedLights && g.Luck.FailShare > 0 || c == ByRepairs && g.Luck.RepairDays > 0
}

// run takes all spans through the days, a batch at a time, and adds them up.
func (g *Gamble) run(ctx context.Context, h *sim.House, chooser sim.Chooser, d *loads.Demand, sets []Cause, s *spreads) error {
	for first := 0; first < g.Years; first += batchYears {
		years := min(batchYears, g.Years-first)
		leader, lives, err := g.begin(ctx, h, chooser, d, sets, first, years)
		if err != nil {
			return err
		}
		for day := range h.Days {
			if isWinter(h, day) {
				s.winterDays++
			}
		}
		passed := func(day int) {
			if g.Passed != nil {
				g.Passed(first+years*day/len(h.Days), g.Years)
			}
		}
		if err := sideBySide(ctx, h, func(day int) { leader.day(day, isWinter(h, day)) }, lives, passed); err != nil {
			return err
		}
		s.steady(leader)
		for i, f := range lives {
			s.add(i%len(sets), f)
		}
	}
	return nil
}

// begin makes the span without luck that plans the days, and the lives of some
// years: each year's sets of causes side by side.
func (g *Gamble) begin(ctx context.Context, h *sim.House, chooser sim.Chooser, d *loads.Demand, sets []Cause,
	first, years int) (leader *life, lives []*life, err error) {
	chosen, _ := chooser.(*plan.Chooser)
	if chosen != nil {
		chosen = chosen.Plan().Chooser()
		chooser = chosen
	}
	leader = newLife(h, unmoved{chooser}, g.Wants, d, g.Luck, 0, g.Seed)
	for year := range years {
		for _, set := range sets {
			var own decider
			if chosen != nil {
				own = chosen.Follower(h)
			} else {
				c, err := g.For(ctx, h)
				if err != nil {
					return nil, nil, err
				}
				own = c.(decider)
			}
			lives = append(lives, newLife(h, own, g.Wants, d, g.Luck, set, g.Seed+uint64(first+year)))
		}
	}
	return leader, lives, nil
}

// unmoved is a chooser of one house.
type unmoved struct{ sim.Chooser }

// InHouse is never called: without luck all years are alike.
func (unmoved) InHouse(*sim.House) {}

// together shares work out among the cores, some dozens of pieces at a time.
func together[T any](all []T, do func(T)) { shareOut(all, 32, do) }

// SideBySide works on the answers to a question that do not depend on one another, on all
// cores, and returns them in order. passed (nil: nobody asks) is told how many are done. The
// error is the first answer's that has one.
func SideBySide[Q, A any](questions []Q, passed func(done, of int), answer func(Q) (A, error)) ([]A, error) {
	answers, errs := make([]A, len(questions)), make([]error, len(questions))
	var told sync.Mutex
	done := 0
	indices := make([]int, len(questions))
	for i := range indices {
		indices[i] = i
	}
	shareOut(indices, 1, func(i int) {
		answers[i], errs[i] = answer(questions[i])
		told.Lock()
		defer told.Unlock()
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

// A column is one figure of every span.
type column struct{ dryKg, attendedH, shortDays, shortKWh []float64 }

func (c *column) add(t *tally) {
	c.dryKg = append(c.dryKg, t.dryKg)
	c.attendedH = append(c.attendedH, t.attendedH)
	c.shortDays = append(c.shortDays, float64(t.shortDays))
	c.shortKWh = append(c.shortKWh, t.shortKWh)
}

func (c *column) spread() Range {
	return Range{spread(c.dryKg), spread(c.attendedH), spread(c.shortDays), spread(c.shortKWh)}
}

// spread sorts a copy and reads the quantiles off it.
func spread(values []float64) Spread {
	v := slices.Sorted(slices.Values(values))
	at := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, v, nil) }
	return Spread{at(0.1), at(0.5), at(0.9), v[len(v)-1]}
}

// spreads gather what the spans come to: a few figures of each.
type spreads struct {
	risk        *Risk
	sets        []Cause
	total       []column // by set
	months      [12]column
	priceKg     []float64 // by set, summed
	steadyKg    float64
	noDark      int
	winterDark  int
	withoutWood int
	winterDays  int
	lowestKWh   float64
}

func newSpreads(r *Risk, sets []Cause) *spreads {
	return &spreads{risk: r, sets: sets, total: make([]column, len(sets)), lowestKWh: math.Inf(1),
		priceKg: make([]float64, len(sets))}
}

// steady books the span in which every day comes as expected.
func (s *spreads) steady(f *life) {
	s.steadyKg, s.lowestKWh = f.priceKg(), min(s.lowestKWh, f.lowestKWh)
	s.risk.Steady = Plain{f.total.dryKg, f.total.attendedH, f.total.shortKWh, float64(f.total.shortDays)}
}

// add books a life.
func (s *spreads) add(set int, f *life) {
	s.total[set].add(&f.total)
	s.lowestKWh = min(s.lowestKWh, f.lowestKWh)
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
func (s *spreads) finish(r *Risk) {
	n := float64(r.Years)
	r.All = s.total[0].spread()
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
		if cause == ByDays || cause&ByDays != 0 && cause&^ByDays == 0 && !slices.Contains(s.sets,
			ByDays) { // of one that swings alone, that one
			r.Plain = Plain{mean(c.dryKg), mean(c.attendedH), mean(c.shortKWh), mean(c.shortDays)}
		}
		if cause == ByAll || cause == ByDays {
			continue
		}
		r.Causes = append(r.Causes, CauseAlone{Cause: cause, ShortDays: mean(c.shortDays) - r.Steady.ShortDays,
			ShortKWh:  mean(c.shortKWh) - r.Steady.ShortKWh,
			WoodDryKg: mean(c.dryKg) - r.Steady.WoodDryKg, AttendedH: mean(c.attendedH) - r.Steady.AttendedH,
			ShortKWhP90: spread(c.shortKWh).P90, PriceKg: s.priceKg[i]/n - s.steadyKg})
	}
	slices.SortStableFunc(r.Causes, func(a, b CauseAlone) int {
		switch {
		case a.PriceKg > b.PriceKg:
			return -1
		case a.PriceKg < b.PriceKg:
			return 1
		}
		return 0
	})
}
