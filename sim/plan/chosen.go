package plan

import (
	"context"
	"runtime"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/storage/battery"
)

// Levels of stored energy in a plan, the floor and the ceiling among them.
const (
	levelsOfAYear  = 101
	levelsShort    = 1601 // of a span up to shortSpanDays
	shortSpanDays  = 14
	tieKg          = 1e-6 // two plans this near are alike: then fewer starts, then the earlier
	lateRewardDays = 7    // an overdue full charge earns so many days' price of being late
	lookaheadADay  = 2    // days of outcomes kept ready for each core
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

	today     table
	outcomes  outcomes
	choreKW   []float64 // of today
	sinceFull int       // days
	fullToday bool
	rewarded  bool // today's table holds the reward of a full charge
	end       []float64
}

// NewChosen plans a span. levels is the number of levels of stored energy, 0 for
// the program's choice (3 or more otherwise). The only error is the context's.
func NewChosen(ctx context.Context, h *sim.House, d *loads.Demand, chores []loads.Chore, foresight Foresight, levels int) (*Chosen, error) {
	c := &Chosen{house: h, demand: d, market: newMarket(h), exact: foresight == Exact, levels: levels}
	if levels == 0 {
		c.levels = levelsOfAYear
		if h.Span.Days <= shortSpanDays {
			c.levels = levelsShort
		}
	}
	start := h.Start()
	c.startKWh = start.Bank.StoredKWh()
	c.graphs = [2]*graph{newGraph(h, false), newGraph(h, true)}
	c.chores = newChoreBook(h, d, chores)
	c.choreKW = make([]float64, h.Span.StepsADay())
	c.end = make([]float64, c.levels)
	c.makeGrids()
	return c, c.backward(ctx)
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
func (c *Chosen) backward(ctx context.Context) error {
	days := len(c.house.Days)
	c.midnight = make([][]float64, days+1)
	last := c.grids[days-1]
	c.midnight[days] = make([]float64, c.levels)
	for level, storedKWh := range last.level {
		c.midnight[days][level] = c.house.Prices.ShortKgPerKWh * c.house.ServableKWh(max(0, c.startKWh-storedKWh))
	}
	next := c.ahead(ctx, days)
	for day := days - 1; day >= 0; day-- {
		o := <-next[day%len(next)].ready
		if err := ctx.Err(); err != nil {
			return err
		}
		c.today.pass(c.graphOf(day), c.grids[day], o, c.midnightOn(day), c.market.matchKg()+tieKg)
		c.midnight[day] = append([]float64(nil), c.today.values[0][0]...)
		next[day%len(next)].free <- o
	}
	return nil
}

// A lane is a worker's days of outcomes, worked out in the order they are wanted.
type lane struct{ ready, free chan *outcomes }

// ahead starts workers that work out the days' outcomes from the last to the
// first, the days dealt out evenly among them.
func (c *Chosen) ahead(ctx context.Context, days int) []lane {
	lanes := make([]lane, min(runtime.GOMAXPROCS(0), days))
	for i := range lanes {
		lanes[i] = lane{make(chan *outcomes, lookaheadADay), make(chan *outcomes, lookaheadADay)}
		for range lookaheadADay {
			lanes[i].free <- &outcomes{}
		}
	}
	for i := range lanes {
		go func() {
			withChores := make([]float64, c.house.Span.StepsADay())
			for day := days - 1; day >= 0; day-- {
				if day%len(lanes) != i {
					continue
				}
				var o *outcomes
				select {
				case o = <-lanes[i].free:
				case <-ctx.Done():
					close(lanes[i].ready)
					return
				}
				loadKW, otherKW := c.load(day)
				c.market.of(o, c.grids[day], &c.house.Days[day], c.chores.expect(withChores, loadKW, day), otherKW)
				lanes[i].ready <- o
			}
		}()
	}
	return lanes
}

// midnightOn returns the values at a day's end, on the day's own grid.
func (c *Chosen) midnightOn(day int) []float64 {
	after := c.midnight[day+1]
	if day+1 == len(c.house.Days) || c.grids[day+1] == c.grids[day] {
		return after
	}
	for level, storedKWh := range c.grids[day].level {
		c.end[level] = c.grids[day+1].read(after, storedKWh)
	}
	return c.end
}

// Choose says whether the set burns in a step.
func (c *Chosen) Choose(s *sim.State, at sim.Moment) sim.Command {
	full := s.Bank.StoredKWh() >= battery.FullShare*c.house.Bank.FullKWh
	if at.OfDay == 0 {
		c.begin(s, at.Day)
	} else if full && !c.fullToday {
		c.fullToday = true
		if c.rewarded { // earned: the rest of the day is weighed without it
			c.tabulate(at.Day, false)
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
	n, ok := c.today.graph.find(s, at.OfDay)
	if !ok || n.runTo < 0 {
		return false
	}
	if n.offTo < 0 {
		return true
	}
	day, next := &c.house.Days[at.Day], c.today.values[at.OfDay+1]
	offState, off := c.market.off(day, s.Bank, loadKW, otherKW)
	runState, run := c.market.run(day, s.Bank, loadKW, otherKW, n.readyIndex)
	off += c.today.grid.read(next[n.offTo], offState.StoredKWh())
	run += c.today.grid.read(next[n.runTo], runState.StoredKWh())
	if n.match { // a tie with a later match goes to the earlier; with none, to none: the table's match costs tieKg more
		return run+c.market.matchKg()+tieKg <= off+tieKg/10
	}
	return run < off-tieKg
}

// begin opens a day: counts the days since a full charge, makes the day's table
// and places its chores.
func (c *Chosen) begin(s *sim.State, day int) {
	if day > 0 && !c.fullToday && s.Bank.StoredKWh() < battery.FullShare*c.house.Bank.FullKWh {
		c.sinceFull++
	} else {
		c.sinceFull = 0
	}
	c.fullToday = false
	clear(c.choreKW)
	every := c.house.Prices.FullEveryDays
	overdue := every > 0 && c.sinceFull >= every
	c.tabulate(day, overdue)
	if c.chores.place(c, s, day) {
		c.tabulate(day, overdue)
	}
}

// tabulate makes the day's table with its chores as placed.
func (c *Chosen) tabulate(day int, rewarded bool) {
	c.rewarded = rewarded
	loadKW, otherKW := c.load(day)
	withChores := make([]float64, len(loadKW))
	for i := range withChores {
		withChores[i] = loadKW[i] + c.choreKW[i]
	}
	c.market.of(&c.outcomes, c.grids[day], &c.house.Days[day], withChores, otherKW)
	if rewarded {
		c.outcomes.earn(c.grids[day], battery.FullShare*c.house.Bank.FullKWh, lateRewardDays*c.house.Prices.FullLateKgPerDay)
	}
	c.today.pass(c.graphOf(day), c.grids[day], &c.outcomes, c.midnightOn(day), c.market.matchKg()+tieKg)
}

// PlannedKg returns what the table expects the span to cost, soft prices and
// what is no price included.
func (c *Chosen) PlannedKg() float64 { return c.grids[0].read(c.midnight[0], c.startKWh) }
