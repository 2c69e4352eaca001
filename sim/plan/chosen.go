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
	grids    []*grid   // by day
	midnight [][]float64
	chores   *choreBook

	kept      []*outcomes // by day, where they are few enough to keep
	lanes     []lane[*dayPlan]
	overdue   atomic.Bool // as today began: what the lanes take the days to come for
	today     *dayPlan
	choreKW   []float64 // of today
	sinceFull int       // days
	fullToday bool
}

// A dayPlan is a day's outcomes and table.
type dayPlan struct {
	outcomes *outcomes
	table    table
	end      []float64 // scratch: values at midnight on the day's own grid
	rewarded bool      // the outcomes hold the reward of a full charge
}

// Outlook is what a chosen plan is made with, beside the house.
type Outlook struct {
	Foresight  Foresight
	Chores     []loads.Chore
	Levels     int       // of stored energy, 3 or more; 0: the program's choice
	HandbackKg float64   // price of a servable kWh not handed back; 0: that of a shortfall
	WoodKg     []float64 // price of a kg of oven-dry wood by day; nil: 1. More rations it
}

// NewChosen plans a span. The only error is the context's.
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
	c.graphs = [2]*graph{newGraph(h, false), newGraph(h, true)}
	c.chores = newChoreBook(h, d, o.Chores)
	c.choreKW = make([]float64, h.Span.StepsADay())
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
	if c.house.Days[day].Tendable {
		return c.graphs[1]
	}
	return c.graphs[0]
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
		c.tabulate(&plan, day)
		c.midnight[day] = append([]float64(nil), plan.table.values[0][0]...)
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
		p.rewarded = c.overdue.Load()
		if p.rewarded {
			c.earn(p, day, 1)
		}
		c.tabulate(p, day)
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
	if at.OfDay == 0 {
		c.begin(s, at.Day)
	} else if !c.fullToday && s.Bank.StoredKWh() >= c.fullKWh() {
		c.fullToday = true
		if c.today.rewarded { // earned: the rest of the day is weighed without it
			c.today.rewarded = false
			c.earn(c.today, at.Day, -1)
			c.tabulate(c.today, at.Day)
		}
	}
	command := sim.Command{ChoreKW: c.choreKW[at.OfDay]}
	switch {
	case s.LitSteps > 0 && c.house.MustRun(s, at):
		command.Run = true
	case c.house.MayRun(s, at):
		loadKW, otherKW := c.load(at.Day)
		command.Run = c.cheaper(s, at, loadKW[at.OfDay]+command.ChoreKW, otherKW[at.OfDay])
	}
	return command
}

// cheaper reports whether running through a step costs less than not.
func (c *Chosen) cheaper(s *sim.State, at sim.Moment, loadKW, otherKW float64) bool {
	n, ok := c.today.table.graph.find(s, at.OfDay)
	if !ok || n.runTo < 0 || n.offTo < 0 {
		panic("plan: a state that the rules do not lead to, at " + c.house.Span.StepTime(at.Step))
	}
	day, next := &c.house.Days[at.Day], c.today.table.values[at.OfDay+1]
	moisture, woodKg := c.wood(s), c.market.woodKgOn(day)
	offState, off := c.market.off(day, s.Bank, loadKW, otherKW)
	runState, run := c.market.run(day, s.Bank, loadKW, otherKW, n.readyIndex, moisture)
	off += c.today.table.grid.read(next[n.offTo], offState.StoredKWh()) - c.earned(&s.Bank, &offState)
	run += c.today.table.grid.read(next[n.runTo], runState.StoredKWh()) - c.earned(&s.Bank, &runState)
	if n.match { // a tie with a later match goes to the earlier; with none, to none: the table's match costs tieKg more
		return run+c.market.matchKg(moisture, woodKg)+tieKg <= off+tieKg/10
	}
	return run < off-tieKg
}

// wood returns the moisture (dry basis) of the wood at hand.
func (c *Chosen) wood(s *sim.State) float64 {
	if c.house.Pile.Endless {
		return c.house.Pile.RatedDryBasis
	}
	return c.house.Pile.NextDryBasis(&s.Pile)
}

// begin opens a day: counts the days since a full charge, gets the day's plan
// and places its chores.
func (c *Chosen) begin(s *sim.State, day int) {
	if day > 0 && !c.fullToday && s.Bank.StoredKWh() < c.fullKWh() {
		c.sinceFull++
	} else {
		c.sinceFull = 0
	}
	c.fullToday = false
	every := c.house.Prices.FullEveryDays
	overdue := every > 0 && c.sinceFull >= every
	c.overdue.Store(overdue)
	c.fetch(day)
	clear(c.choreKW)
	if len(c.chores.chores) > 0 { // the plan expects each chore in the first of its hours
		c.replan(day, overdue)
		c.chores.place(c, s, day)
	} else if c.today.rewarded != overdue { // the lane took the day for another
		sign := 1.0
		if c.today.rewarded {
			sign = -1
		}
		c.today.rewarded = overdue
		c.earn(c.today, day, sign)
		c.tabulate(c.today, day)
	}
}

// replan makes today's plan anew with the chores as placed.
func (c *Chosen) replan(day int, overdue bool) {
	c.weigh(c.today.outcomes, day, c.choreKW)
	if c.today.rewarded = overdue; overdue {
		c.earn(c.today, day, 1)
	}
	c.tabulate(c.today, day)
}

func (c *Chosen) fullKWh() float64 { return battery.FullShare * c.house.Bank.FullKWh }

// earn puts the reward of a full charge into a day's outcomes, or takes it back
// with a sign of −1.
func (c *Chosen) earn(p *dayPlan, day int, sign float64) {
	p.outcomes.earn(c.grids[day], c.fullKWh(), sign*lateRewardDays*c.house.Prices.FullLateKgPerDay)
}

// earned returns the reward of a step that reaches full where one is set today.
func (c *Chosen) earned(from, to *battery.State) float64 {
	if full := c.fullKWh(); c.today.rewarded && from.StoredKWh() < full && to.StoredKWh() >= full {
		return lateRewardDays * c.house.Prices.FullLateKgPerDay
	}
	return 0
}

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
		c.replan(day, false)
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
	return c.market.matchKg(c.market.expected(d), c.market.woodKgOn(d))
}

// tabulate makes a day's table.
func (c *Chosen) tabulate(p *dayPlan, day int) {
	p.table.pass(c.graphOf(day), c.grids[day], p.outcomes, c.midnightOn(p, day), c.matchKg(day)+tieKg)
}

// Chores tells how the chores of the days so far were done.
func (c *Chosen) Chores() sim.ChoreReport { return c.chores.report }

// PlannedKg returns what the table expects the span to cost, soft prices and
// what is no price included.
func (c *Chosen) PlannedKg() float64 { return c.grids[0].read(c.midnight[0], c.startKWh) }
