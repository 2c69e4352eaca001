package plan

import (
	"context"
	"runtime"
	"sync/atomic"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/storage/battery"
)

// Levels of stored energy in a plan, the floor and the ceiling among them.
const (
	levelsOfAYear  = 101
	levelsShort    = 1601 // of a span up to shortSpanDays
	shortSpanDays  = 14
	tieKg          = 1e-6     // two plans this near are alike: then fewer starts, then the earlier
	lateRewardDays = 7        // an overdue full charge earns so many days' price of being late
	lookahead      = 2        // days of outcomes ready for each core
	mostKeptBytes  = 64 << 20 // of outcomes, kept from the pass backward for the way forward
)

// Foresight is what a chooser knows of the days to come.
type Foresight string

// The kinds of foresight.
const (
	Typical Foresight = "typical" // the load without its swings
	Exact   Foresight = "exact"   // the days as they will come
)

// Chosen is the plan that weighs prices ahead: at each step the cheaper of
// running and not running, by a table of the least price of all that follows.
//
// No run crosses midnight, so at midnight stored energy alone is the state: the
// values at every midnight are worked out once, backward over the span, and a
// day's own table again when the simulation reaches it.
type Chosen struct {
	ctx      context.Context // of the workers
	house    *sim.House
	demand   *loads.Demand
	market   *market
	exact    bool
	levels   int
	startKWh float64
	graphs   [2]*graph // runs barred, runs allowed
	begins   Beginning
	first    *graph  // of the first day, where it begins within
	grids    []*grid // by day
	midnight [][]float64
	chores   *choreBook

	kept    []*outcomes // by day, where they are few enough to keep
	lanes   []lane[*dayPlan]
	overdue atomic.Bool // as today began: what the lanes take the days to come for
	today   *dayPlan
	choreKW []float64 // of today
	shared  bool      // others follow: today's plan is made for both kinds of day
	own     Follower
}

// A dayPlan is a day's outcomes and its tables: without and with the reward of an
// overdue full charge, each made where it is wanted.
type dayPlan struct {
	outcomes *outcomes
	tables   [2]table
	made     [2]bool
	end      []float64 // scratch: values at midnight on the day's own grid
}

// Outlook is what a chosen plan is made with, beside the house.
type Outlook struct {
	Foresight  Foresight
	Chores     []loads.Chore
	Levels     int       // of stored energy, 3 or more; 0: the program's choice
	HandbackKg float64   // price of a servable kWh not handed back; 0: that of a shortfall
	WoodKg     []float64 // price of a kg of oven-dry wood by day; nil: 1. More rations it
	Begins     Beginning
}

// A Beginning is where a plan begins that does not begin at the first day's
// midnight with nothing done: the household then, the step of the day, and the
// days since the bank was full.
type Beginning struct {
	State      sim.State
	OfDay      int   // the first step that is planned, of its day
	SinceFull  int   // days since the last full charge
	ChoresMore []int // by chore: times wanted in the rest of the week beside those due; below 0: fewer; nil: none
}

// NewChosen plans a span. It is asked for the steps of the span once, in order; Again
// comes before another pass. The only error is the context's.
func NewChosen(ctx context.Context, h *sim.House, d *loads.Demand, o Outlook) (*Chosen, error) {
	c := &Chosen{ctx: ctx, house: h, demand: d, market: newMarket(h), exact: o.Foresight == Exact, levels: o.Levels}
	c.market.woodKg = o.WoodKg
	if c.levels == 0 {
		c.levels = levelsOfAYear
		if h.Span.Days <= shortSpanDays {
			c.levels = levelsShort
		}
	}
	if o.HandbackKg == 0 {
		o.HandbackKg = h.Prices.ShortKgPerKWh
	}
	var err error
	if c.market.moisture, err = expectedMoisture(ctx, h, d); err != nil {
		return nil, err
	}
	start := h.Start()
	c.startKWh = start.Bank.StoredKWh()
	c.graphs = [2]*graph{newGraph(h, false, nil), newGraph(h, true, nil)}
	if c.begins = o.Begins; c.begins.OfDay > 0 || c.begins.State != (sim.State{}) {
		c.first = newGraph(h, h.Days[0].Tendable, &c.begins)
	}
	c.chores = newChoreBook(h, d, o.Chores)
	c.choreKW = make([]float64, h.Span.StepsADay())
	c.own = Follower{leader: c, house: h, sinceFull: c.begins.SinceFull}
	c.makeGrids()
	return c, c.backward(ctx, o.HandbackKg)
}

func (c *Chosen) makeGrids() {
	made := map[*battery.Paced]*grid{}
	c.grids = make([]*grid, len(c.house.Days))
	for i := range c.grids {
		bank := c.house.Days[i].Bank
		if made[bank] == nil {
			made[bank] = newGrid(bank.FloorKWh, bank.CeilingKWh, c.startKWh, c.levels)
		}
		c.grids[i] = made[bank]
	}
}

// graphOf returns the phases of a day.
func (c *Chosen) graphOf(day int) *graph {
	if day == 0 && c.first != nil {
		return c.first
	}
	if c.house.Days[day].Tendable {
		return c.graphs[1]
	}
	return c.graphs[0]
}

// firstStep is the step of a day at which the plan begins it.
func (c *Chosen) firstStep(day int) int {
	if day == 0 {
		return c.begins.OfDay
	}
	return 0
}

// load returns what the chooser expects of a day, without chores.
func (c *Chosen) load(day int) (loadKW, otherKW []float64) {
	from, to := day*c.house.Span.StepsADay(), (day+1)*c.house.Span.StepsADay()
	if c.exact {
		return c.demand.LoadKW[from:to], c.demand.OtherKW[from:to]
	}
	return c.demand.ExpectedLoadKW[from:to], c.demand.ExpectedOtherKW[from:to]
}

// backward works out the values at every midnight. The outcomes of the days do
// not hang on them, and are worked out ahead on all cores.
func (c *Chosen) backward(ctx context.Context, handbackKg float64) error {
	days := len(c.house.Days)
	c.midnight = make([][]float64, days+1)
	last := c.grids[days-1]
	c.midnight[days] = make([]float64, c.levels)
	for level, storedKWh := range last.level {
		c.midnight[days][level] = handbackKg * c.house.ServableKWh(max(0, c.startKWh-storedKWh))
	}
	first := &outcomes{}
	first.make(c.house, c.levels, len(c.market.ready))
	keep := first.bytes()*days <= mostKeptBytes
	if keep {
		c.kept = make([]*outcomes, days)
	}
	outcomesOf := func(o *outcomes, day int) *outcomes {
		if o == nil || keep {
			o = &outcomes{}
		}
		c.weigh(o, day, c.chores.expected(day))
		return o
	}
	lanes := ahead(ctx, days, func(i int) int { return days - 1 - i }, outcomesOf)
	var plan dayPlan
	for i := range days {
		day, lane := days-1-i, lanes[i%len(lanes)]
		o, ok := <-lane.ready
		if !ok {
			return ctx.Err()
		}
		plan.outcomes = o
		c.tabulate(&plan, day, false)
		c.midnight[day] = append([]float64(nil), plan.tables[0].values[0][0]...)
		if keep {
			c.kept[day] = o
		}
		lane.free <- o
	}
	return nil
}

// forward has the days' plans made ahead on all cores, now that the values at
// the midnights are known.
func (c *Chosen) forward() {
	c.lanes = ahead(c.ctx, len(c.house.Days), func(i int) int { return i }, func(p *dayPlan, day int) *dayPlan {
		if p == nil {
			p = &dayPlan{outcomes: &outcomes{}}
		}
		if c.kept != nil {
			p.outcomes = c.kept[day]
		} else {
			c.weigh(p.outcomes, day, c.chores.expected(day))
		}
		p.made = [2]bool{}
		c.tabulate(p, day, c.overdue.Load())
		return p
	})
}

// A lane is a worker's share of the days, in the order they are wanted: what is
// ready, and what has been used and may be used again.
type lane[T any] struct{ ready, free chan T }

// ahead starts a worker a core that makes something of each day, in an order of
// days dealt out evenly; none hangs on another. It ends with the days or with ctx.
func ahead[T any](ctx context.Context, days int, order func(int) int, work func(old T, day int) T) []lane[T] {
	lanes := make([]lane[T], min(runtime.GOMAXPROCS(0), days))
	for first := range lanes {
		l := lane[T]{make(chan T, lookahead), make(chan T, lookahead)}
		lanes[first] = l
		var none T
		for range lookahead {
			l.free <- none
		}
		go func() {
			defer close(l.ready)
			for i := first; i < days; i += len(lanes) {
				select {
				case old := <-l.free:
					l.ready <- work(old, order(i)) // there is room: no more are about than lookahead
				case <-ctx.Done():
					return
				}
			}
		}()
	}
	return lanes
}

// midnightOn returns the values at a day's end, on the day's own grid.
func (c *Chosen) midnightOn(p *dayPlan, day int) []float64 {
	after := c.midnight[day+1]
	if day+1 == len(c.house.Days) || c.grids[day+1] == c.grids[day] {
		return after
	}
	if p.end == nil {
		p.end = make([]float64, c.levels)
	}
	for level, storedKWh := range c.grids[day].level {
		p.end[level] = c.grids[day+1].read(after, storedKWh)
	}
	return p.end
}

// Choose says whether the set burns in a step.
func (c *Chosen) Choose(s *sim.State, at sim.Moment) sim.Command {
	if at.OfDay == 0 || c.today == nil {
		c.own.wake(s, at.Day)
		c.overdue.Store(c.own.rewarded)
		c.fetch(at.Day)
		clear(c.choreKW)
		if len(c.chores.chores) > 0 { // the plan expects each chore in the first of its hours
			c.replan(at.Day)
			c.chores.place(c, s, at.Day)
		}
		c.want(at.Day, c.own.rewarded)
		if c.shared {
			c.want(at.Day, !c.own.rewarded)
		}
	}
	return c.own.decide(s, at)
}

// Again lets the plan be run through its span once more.
func (c *Chosen) Again() {
	c.lanes, c.today = nil, nil
	c.own = Follower{leader: c, house: c.house, sinceFull: c.begins.SinceFull}
	c.chores = newChoreBook(c.house, c.demand, c.chores.chores)
}

// replan makes today's plan anew with the chores as placed.
func (c *Chosen) replan(day int) {
	c.weigh(c.today.outcomes, day, c.choreKW)
	c.today.made = [2]bool{}
	c.want(day, c.own.rewarded)
}

// want makes today's table of a kind where it is not made yet.
func (c *Chosen) want(day int, rewarded bool) {
	if !c.today.made[kind(rewarded)] {
		c.tabulate(c.today, day, rewarded)
	}
}

func kind(rewarded bool) int {
	if rewarded {
		return 1
	}
	return 0
}

func (c *Chosen) fullKWh() float64 { return battery.FullShare * c.house.Bank.FullKWh }

// rewardKg is what an overdue full charge earns.
func (c *Chosen) rewardKg() float64 { return lateRewardDays * c.house.Prices.FullLateKgPerDay }

// fetch gets the plan of a day, giving the last one back.
func (c *Chosen) fetch(day int) {
	if c.lanes == nil {
		c.forward()
	}
	if c.today != nil {
		c.lanes[(day-1)%len(c.lanes)].free <- c.today
	}
	var ok bool
	if c.today, ok = <-c.lanes[day%len(c.lanes)].ready; !ok { // interrupted: the run ends with this day
		c.today = &dayPlan{outcomes: &outcomes{}}
		c.replan(day)
	}
}

// weigh works out a day's outcomes with chores of so much in each step; nil: none.
func (c *Chosen) weigh(o *outcomes, day int, choreKW []float64) {
	loadKW, otherKW := c.load(day)
	if choreKW != nil {
		loadKW = append([]float64(nil), loadKW...)
		for i := range loadKW {
			loadKW[i] += choreKW[i]
		}
	}
	c.market.of(o, c.grids[day], &c.house.Days[day], loadKW, otherKW)
}

// matchKg is the expected price of a match on a day.
func (c *Chosen) matchKg(day int) float64 {
	d := &c.house.Days[day]
	return c.market.lightUpKg(c.market.woodKgOn(d) / c.house.HeatFactor(c.market.expected(d)))
}

// tabulate makes a day's table, rewarded where a full charge is overdue.
func (c *Chosen) tabulate(p *dayPlan, day int, rewarded bool) {
	var earns reward
	if rewarded {
		earns = reward{c.grids[day].place(c.fullKWh()), c.rewardKg()}
	}
	i := kind(rewarded)
	p.tables[i].pass(c.graphOf(day), c.grids[day], p.outcomes, c.midnightOn(p, day), c.matchKg(day)+tieKg, earns)
	p.made[i] = true
}

// Chores tells how the chores of the days so far were done.
func (c *Chosen) Chores() sim.ChoreReport { return c.chores.report }

// PlannedKg returns what the table expects the span to cost, soft prices and
// what is no price included.
func (c *Chosen) PlannedKg() float64 { return c.grids[0].read(c.midnight[0], c.startKWh) }
