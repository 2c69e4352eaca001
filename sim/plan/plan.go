// Package plan holds the ways to decide, step by step, whether the set burns.
//
// A Rule names one of them with its figures and makes a chooser of it, to be given to
// sim.Run: EveryDay runs at the same hours, WhenLow tops the bank up, and a Chooser weighs
// what it costs to run and not to run, with all that follows. What follows it reads off a
// Plan, which New makes of a household once (an Outlook says what is known of its days): a
// Chooser is one life by it, and its Followers are others that go by the same days. Each
// keeps the household's rules of tending. Left out: throttling the engine, and knowledge of
// weather.
package plan

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/storage/battery"
)

// Foresight is what a chooser knows of the days to come.
type Foresight string

// The kinds of foresight.
const (
	Typical Foresight = "typical" // what is expected of the days, and how they spread about it
	Exact   Foresight = "exact"   // the days as they will come
)

// Outlook is what a plan is made with, beside the household.
type Outlook struct {
	Foresight  Foresight
	Levels     int       // of stored energy, 3 or more; 0: the program's choice
	Classes    int       // of a day, odd; 0: the program's choice. One where days come as expected
	HandbackKg float64   // price of a servable kWh not handed back; 0: that of a shortfall
	WoodKg     []float64 // price of a kg of oven-dry wood by day; nil: 1. More rations it
	ReadyKg    []float64 // what rations leave ready as each day begins, by which their price follows the pile; nil: it does not
	Begins     Beginning

	spread *spread // in place of the demand's; nil: that
}

// A Beginning is where a plan begins that does not begin at the first day's
// midnight with nothing done: the household then, the step of the day, and the
// days since the bank was full.
type Beginning struct {
	State       sim.State // WantedKWh: by the house today, as far as the household knows
	OfDay       int       // the first step that is planned, of its day
	SinceFull   int       // days since the last full charge
	ExpectedKWh float64   // of the part of the day in which State.WantedKWh were taken; 0: nothing is known of it
	Fortnight   Fortnight // before the first day
	ChoresMore  []int     // by chore: times more than are due in the rest of the week; below 0: fewer; nil: none
}

// graphOf is the kind of a day: with or without runs, with or without a stand-by set.
type graphOf struct {
	runs
	standby bool
}

// A Plan is the least prices of all that follows, over a span, for every stored energy
// at every midnight: made once, and never changed. Each life that goes by it has a
// Chooser of its own.
//
// No run crosses midnight, so at midnight there are stored energy, the class of the
// day that begins (see spread) and whether a full charge is due. The values of the
// midnights are worked out once, backward over the span; a day's own table again when
// a life reaches the day.
type Plan struct {
	household    *sim.Household
	house        *sim.House    // of the household
	demand       *loads.Demand // the same
	pricer       *pricer
	outlook      Outlook
	spread       *spread
	levels       int
	startKWh     float64
	graphs       map[graphOf]*graph
	first        *graph  // of the first day, where it begins within
	grids        []*grid // by day
	sheets       int     // 1: full charges are not wanted; 2
	midnight     [][2][][]float64
	keptOutcomes []dayOutcomes // by day, where they are few enough to keep
	classes      []*dayClasses // by day
	expected     []float64     // kWh by day, without chores
	untended     []float64     // by day: share of expected before the first step that is tended
	chores       [][]float64   // by day: kW of each step as the days before expect them; nil: none

	unplacedKWh float64 // of chores that found no room there
}

// New plans a household's span. It refuses what would take too long or too much memory; else
// the only error is the context's.
func New(ctx context.Context, household *sim.Household, o Outlook) (*Plan, error) {
	h := household.House
	p := &Plan{household: household, house: h, demand: household.Demand, pricer: newPricer(h), outlook: o,
		spread: asExpected(), sheets: 1, graphs: map[graphOf]*graph{}}
	p.pricer.woodKg = o.WoodKg
	if o.HandbackKg == 0 {
		p.outlook.HandbackKg = h.Prices.ShortKgPerKWh
	}
	var err error
	if p.pricer.moisture, err = expectedMoisture(ctx, household.Unbroken()); err != nil {
		return nil, err
	}
	start := h.Start()
	p.startKWh = start.Bank.StoredKWh()
	for _, standby := range []bool{false, true} {
		if standby && h.Standby == nil {
			continue
		}
		p.graphs[graphOf{runsBarred, standby}] = newGraph(h, runsBarred, standby, nil)
		p.graphs[graphOf{runsAllowed, standby}] = newGraph(h, runsAllowed, standby, nil)
	}
	if o.Begins.OfDay > 0 || o.Begins.State != (sim.State{}) {
		p.first = newGraph(h, runs(h.Days[0].Tendable && !h.Days[0].Broken), h.StandbyOn(0), &p.outlook.Begins)
	}
	if h.Prices.FullEveryDays > 0 && h.Prices.FullLateKgPerDay > 0 && h.Bank.CeilingShare >= battery.FullShare {
		full, err := p.reachesFull(ctx)
		if err != nil {
			return nil, err
		}
		if full {
			p.sheets = 2
		}
	}
	p.makeExpected()
	if err := p.size(); err != nil {
		return nil, err
	}
	p.makeClasses()
	p.makeGrids()
	return p, p.backward(ctx)
}

// expectedMoisture returns the moisture (dry basis) of the wood that would be
// burned in each month of the year, were the bank topped up in the expected
// days: near enough for a price, and a thousand times quicker than a plan.
func expectedMoisture(ctx context.Context, household *sim.Household) ([12]float64, error) {
	h := household.House
	var moisture [12]float64
	for month := range moisture {
		moisture[month] = h.Pile.RatedDryBasis
	}
	if h.Pile.Endless {
		return moisture, nil
	}
	var dry, water [12]float64
	const startBelow, stopAbove = 0.6, 0.9
	_, err := sim.Run(ctx, household.Wanting(household.Demand.Expected()),
		&WhenLow{House: h, StartBelow: startBelow, StopAbove: stopAbove},
		func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			if f.Run {
				month := h.Days[at.Day].Date.Month() - 1
				dry[month] += f.Burned.DryKg
				water[month] += f.Burned.AsIsKg - f.Burned.DryKg
			}
		})
	for month := range moisture {
		if dry[month] > 0 {
			moisture[month] = water[month] / dry[month]
		}
	}
	return moisture, err
}

// reachesFull reports whether the bank could be charged full on any day of the span, were the
// set run as long as the rules allow, from the first tended hour on or until the last, and
// every day two standard deviations less dear than expected. Where it could not, a late full
// charge costs what it costs, and no run is begun for it.
func (p *Plan) reachesFull(ctx context.Context) (bool, error) {
	h := p.house
	if start := h.Start(); start.Bank.StoredKWh() >= p.fullKWh(0) {
		return true, nil
	}
	last := h.Span.StepsADay()
	for last > 0 && h.TendedAhead(last-1) == 0 {
		last--
	}
	d := p.demand
	if p.outlook.Foresight != Exact {
		d = d.Expected()
		if spread := d.SpreadShare; spread > 0 {
			d.LoadKW = slices.Clone(d.LoadKW)
			for i := range d.LoadKW {
				d.LoadKW[i] /= 1 + 2*spread
			}
		}
		if p.demand.SkySpreads() {
			d = d.Brightest(h.Span.StepsADay())
		}
	}
	const always = 2 // shares of the full size: never reached
	early := &WhenLow{House: h, StartBelow: always, StopAbove: always}
	late := &EveryDay{House: h, StartStep: max(0, last-h.MaxSteps()), StopStep: last}
	for _, c := range []sim.Chooser{early, late} {
		books, err := sim.Run(ctx, p.household.Unbroken().Wanting(d), c, nil)
		if err != nil {
			return false, err
		}
		if books.EverFull() {
			return true, nil
		}
	}
	return false, nil
}

func (p *Plan) makeExpected() {
	perDay, stepH := p.house.Span.StepsADay(), p.house.Span.StepH()
	p.expected, p.untended = make([]float64, len(p.house.Days)), make([]float64, len(p.house.Days))
	tended := 0
	for tended < perDay-1 && p.house.TendedAhead(tended) == 0 {
		tended++
	}
	for day := range p.expected {
		loadKW, _ := p.load(day)
		before := 0.0
		for step, kw := range loadKW {
			p.expected[day] += kw * stepH
			if step < tended {
				before = p.expected[day]
			}
		}
		if p.expected[day] > 0 {
			p.untended[day] = before / p.expected[day]
		}
	}
	if len(p.demand.Chores) > 0 {
		var first []float64
		first, p.unplacedKWh = loads.FirstHours(p.demand.Chores, p.house.Span, p.demand.AwayDay)
		for day := range p.expected {
			p.chores = append(p.chores, first[day*perDay:(day+1)*perDay])
		}
	}
}

// What a plan may take. Evaluations are options weighed: nodes × levels × classes ×
// sheets × days.
const (
	levelsOfAYear   = 121  // of days that come as expected
	levelsShort     = 1601 // the same of a span up to shortSpanDays
	levelsSpread    = 61   // of days that spread
	levelsShortSpan = 241  // the same of a short span
	levelsLeast     = 41
	levelsFewest    = 6 // that hold all that prices turn at
	shortSpanDays   = 14
	classesUsual    = 5
	longSpanDays    = 2 * 366
	levelsLongSpan  = levelsLeast // of days that spread, in a span longer than that: fewer classes cost more than fewer levels
	manyEvaluations = 7e8         // more: fewer levels, then fewer classes
	mostDayBytes    = 32 << 20    // of a day's tables; more: the same
	mostEvaluations = 5e9         // more is refused
)

// size chooses how fine the plan is: levels and classes, fewer where a day has many
// phases (short steps, two starts, long tending hours).
func (p *Plan) size() error {
	o := &p.outlook
	short, long := p.house.Span.Days <= shortSpanDays, p.house.Span.Days > longSpanDays
	spreads := o.Foresight != Exact && (p.demand.SpreadShare > 0 || p.demand.SkySpreads())
	classes := 1
	p.levels = levelsOfAYear
	switch {
	case spreads && short:
		p.levels = levelsShortSpan
	case spreads && long:
		p.levels = levelsLongSpan
	case spreads:
		p.levels = levelsSpread
	case short:
		p.levels = levelsShort
	}
	if spreads {
		classes = classesUsual
	}
	nodes := float64(p.largest().allNodes)
	fits := func() bool {
		values := nodes * float64(p.levels*classes*p.sheets)
		return values*float64(p.house.Span.Days) <= manyEvaluations && values*8 <= mostDayBytes
	}
	for !fits() && p.levels > levelsLeast {
		p.levels = max(levelsLeast, p.levels*7/8)
	}
	for !fits() && classes > 1 {
		classes -= 2
	}
	if o.Levels > 0 {
		p.levels = max(o.Levels, levelsFewest)
	}
	if o.Classes > 0 && spreads {
		classes = o.Classes
	}
	if all := nodes * float64(p.levels*classes*p.sheets) * float64(p.house.Span.Days); all > mostEvaluations {
		return &TooLargeError{Evaluations: all, Most: mostEvaluations}
	}
	switch {
	case o.spread != nil:
		p.spread = o.spread
	case spreads:
		p.spread = newSpread(classes, p.demand.SpreadShare, p.demand.SpreadMemory, shownShare, unseenShare,
			p.house.Luck.SetDailyShare)
	}
	return nil
}

// A TooLargeError says that a plan would take too long.
type TooLargeError struct{ Evaluations, Most float64 }

// Error names what would make the plan smaller.
func (e *TooLargeError) Error() string {
	const milliards = 1e9
	return fmt.Sprintf("chosen runs: must weigh at most %.0f thousand million options, would weigh %.0f: "+
		"take a longer step_minutes, fewer days, one start a day or fewer tending hours", e.Most/milliards,
		math.Ceil(e.Evaluations/milliards))
}

func (p *Plan) makeGrids() {
	made := map[*battery.Paced]*grid{}
	p.grids = make([]*grid, len(p.house.Days))
	for i := range p.grids {
		bank := p.house.Days[i].Bank
		if made[bank] == nil {
			made[bank] = newGrid(turnsOf(bank, p.startKWh, p.fullKWh(i)), p.levels)
			made[bank].limit(bank, p.pricer.ready)
		}
		p.grids[i] = made[bank]
	}
}

// graphOf returns the phases of a day.
func (p *Plan) graphOf(day int) *graph {
	if day == 0 && p.first != nil {
		return p.first
	}
	return p.graphs[graphOf{runs(p.house.Days[day].Tendable), p.house.StandbyOn(day)}]
}

// largest is the graph of a day with all options.
func (p *Plan) largest() *graph { return p.graphs[graphOf{runsAllowed, p.house.Standby != nil}] }

// lifeGraph returns the phases of a day that a life reaches: it finds the set broken, which
// nobody knew beforehand.
func (p *Plan) lifeGraph(day int) *graph {
	if p.house.Days[day].Broken && (day > 0 || p.first == nil) {
		b := p.house.Standby
		return p.graphs[graphOf{runsBarred, p.house.StandbyOn(day) && !b.SharesEngine}]
	}
	return p.graphOf(day)
}

// firstStep is the step of a day at which the plan begins it.
func (p *Plan) firstStep(day int) int {
	if day == 0 {
		return p.outlook.Begins.OfDay
	}
	return 0
}

// load returns what the plan expects of a day, without chores.
func (p *Plan) load(day int) (loadKW, otherKW []float64) {
	from, to := day*p.house.Span.StepsADay(), (day+1)*p.house.Span.StepsADay()
	if p.outlook.Foresight == Exact {
		return p.demand.LoadKW[from:to], p.demand.OtherKW[from:to]
	}
	return p.demand.ExpectedLoadKW[from:to], p.demand.ExpectedOtherKW[from:to]
}

// choresOn returns the chores of a day's steps as the days before expect them, nil
// where there are none.
func (p *Plan) choresOn(day int) []float64 {
	if p.chores == nil {
		return nil
	}
	return p.chores[day]
}

// backward works out the values at every midnight, a day's classes side by side. The
// outcomes of a day do not depend on what follows: those of the day before are worked
// out meanwhile.
func (p *Plan) backward(ctx context.Context) error {
	const mostKeptBytes = 32 << 20
	days, classes := len(p.house.Days), p.spread.classes()
	p.midnight = make([][2][][]float64, days+1)
	p.midnight[days] = p.handback()
	if newOutcomes(p.house, p.levels, len(p.pricer.ready)).bytes()*classes*days <= mostKeptBytes {
		p.keptOutcomes = make([]dayOutcomes, days)
	}
	fresh := func() dayOutcomes { return newDayOutcomes(p.house, classes, p.levels, len(p.pricer.ready)) }
	spare := [2]dayOutcomes{fresh(), fresh()}
	outcomesOf := func(day int) dayOutcomes {
		if p.keptOutcomes == nil {
			return spare[day%2]
		}
		if p.keptOutcomes[day] == nil {
			p.keptOutcomes[day] = fresh()
		}
		return p.keptOutcomes[day]
	}
	const parts = 4 // of a day's steps
	weigh := func(day, part int) {
		p.fillOutcomes(outcomesOf(day), day, 0, classes, p.choresOn(day), part, parts)
	}
	tables := make([]table, classes)
	outcomesOf(days - 1)
	shareOut(parts, func(part int) { weigh(days-1, part) })
	for day := days - 1; day >= 0; day-- {
		if err := ctx.Err(); err != nil {
			return err
		}
		all := outcomesOf(day)
		if day > 0 {
			outcomesOf(day - 1) // made before it is filled side by side
		}
		values := [2][][]float64{make([][]float64, classes), make([][]float64, classes)}
		shareOut(classes+parts, func(i int) {
			if i >= classes {
				if day > 0 {
					weigh(day-1, i-classes)
				}
				return
			}
			class := i
			t, end := &tables[class], p.dayEnd(day, class)
			p.tabulate(t, all[class], day, p.graphOf(day), &end, dawnAlone)
			for sheet := range p.sheets {
				values[sheet][class] = p.dawn(t.row(sheet, 0)[0], day, class)
			}
		})
		p.midnight[day] = values
	}
	return nil
}

// shareOut does n pieces of work on all cores, and returns when all are done.
func shareOut(n int, do func(int)) {
	var next atomic.Int64
	work := func() {
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			do(i)
		}
	}
	var helpers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) - 1 {
		helpers.Go(work)
	}
	work()
	helpers.Wait()
}

// handback is what the span's end is worth.
func (p *Plan) handback() (end [2][][]float64) {
	for sheet := range p.sheets {
		for range p.spread.classes() {
			values := make([]float64, p.levels)
			for level, storedKWh := range p.grids[len(p.grids)-1].level {
				values[level] = p.outlook.HandbackKg * p.house.ServableKWh(max(0, p.startKWh-storedKWh))
			}
			end[sheet] = append(end[sheet], values)
		}
	}
	return end
}

// dayEnd returns what a day's midnight is worth to one class, on the day's own grid:
// the mean over the classes that may follow, over whether a full charge becomes due,
// and over what the evening may still bring.
func (p *Plan) dayEnd(day, class int) (end dayEnd) {
	after := p.midnight[day+1]
	next := p.grids[day]
	if day+1 < len(p.grids) {
		next = p.grids[day+1]
	}
	means := [2][]float64{}
	for sheet := range p.sheets {
		means[sheet] = make([]float64, p.levels)
		for j, chance := range p.classes[day].follow[class] {
			for level, x := range after[sheet][j] {
				means[sheet][level] += chance * x
			}
		}
	}
	if p.sheets == 2 {
		becomesDue := 1 / float64(p.house.Prices.FullEveryDays)
		for level := range means[due] {
			means[notDue][level] += becomesDue * (means[due][level] - means[notDue][level])
			means[due][level] += p.house.Prices.FullLateKgPerDay
		}
	}
	var moved [5]float64
	if !p.spread.certain {
		skyKWh := 0.0
		if p.spread.classes() == 1 {
			skyKWh = p.spread.restKWh * p.skyKWh(day)
		}
		p.spread.moved(moved[:], p.classes[day].factor[class]*p.expected[day], p.spread.restKWh, p.spread.setShare, skyKWh)
	}
	for sheet := range p.sheets {
		end[sheet] = make([]float64, p.levels)
		for level, storedKWh := range p.grids[day].level {
			for i, weight := range p.spread.restW {
				end[sheet][level] += weight * p.afterEvening(next, means[sheet], storedKWh, moved[i])
			}
		}
	}
	return end
}

// dawn returns what a class's day is worth as it begins: the mean over what the hours
// before the first in which somebody tends may bring beside the class.
func (p *Plan) dawn(values []float64, day, class int) []float64 {
	into := make([]float64, len(values))
	if p.spread.sigma == 0 || p.untended[day] == 0 {
		copy(into, values)
		return into
	}
	var moved [5]float64
	p.spread.moved(moved[:], p.classes[day].factor[class]*p.expected[day], dawnShare*p.untended[day], 0, 0)
	for level, storedKWh := range p.grids[day].level {
		for i, weight := range p.spread.restW {
			into[level] += weight * p.afterEvening(p.grids[day], values, storedKWh, moved[i])
		}
	}
	return into
}

// afterEvening is what stored energy is worth at midnight after the evening took movedKWh
// (at the house) more than expected: under the floor the house was dark, over the
// ceiling it spilled.
func (p *Plan) afterEvening(next *grid, values []float64, storedKWh, movedKWh float64) float64 {
	if movedKWh == 0 {
		return next.read(values, storedKWh)
	}
	x := storedKWh - movedKWh/p.house.ServableKWh(1)
	floor, ceiling := next.level[0], next.level[len(next.level)-1]
	switch {
	case x < min(floor, storedKWh):
		from := min(floor, storedKWh)
		missing := p.house.ServableKWh(from - x)
		price := next.read(values, from) + p.house.Prices.ShortKgPerKWh*missing
		if missing > darkStepKWh {
			price += darkStepKg(&p.house.Prices)
		}
		return price
	case x > ceiling:
		return values[len(values)-1]
	}
	return next.read(values, x)
}

// fillOutcomes works out a day's outcomes for the classes from one to before another, with
// chores of so much in each step (nil: none), in every parts-th step from part on.
func (p *Plan) fillOutcomes(o dayOutcomes, day, from, to int, choreKW []float64, part, parts int) {
	l := dayLoad{choreKW: choreKW, classes: p.classes[day]}
	l.loadKW, l.otherKW = p.load(day)
	p.pricer.fill(o, p.grids[day], &p.house.Days[day], &l, from, to, part, parts)
}

// fullKWh is from where on the bank counts as full on a day.
func (p *Plan) fullKWh(day int) float64 { return battery.FullShare * p.house.Days[day].Bank.FullKWh }

// tabulate makes a day's table for a class.
func (p *Plan) tabulate(t *table, o *outcomes, day int, g *graph, end *dayEnd, kept stepsKept) {
	prices := stepPrices{refuelKg: p.house.Prices.RefuelKg, byStartKg: p.house.Prices.StartKg + tieKg, fullAt: p.grids[day].place(p.fullKWh(day))}
	matchKg := p.matchKg(day) + tieKg
	for step := range p.house.Span.StepsADay() {
		prices.matchKg = append(prices.matchKg, matchKg+p.house.OffUsualKg(step))
	}
	t.pass(g, p.grids[day], o, end, &prices, kept)
}

// matchKg is the expected price of a match on a day, with those that fail.
func (p *Plan) matchKg(day int) float64 {
	d := &p.house.Days[day]
	return p.pricer.lightUpKg(p.pricer.woodKgOn(d)/p.house.HeatFactor(p.pricer.moistureOn(d)), p.failing())
}

// failing is the share of light-ups that the plan expects to fail.
func (p *Plan) failing() float64 {
	if p.spread.certain {
		return 0
	}
	return p.house.Luck.FailShare
}

// PlannedKg returns what the plan expects the span to cost, soft prices and what is no
// price included.
func (p *Plan) PlannedKg() float64 {
	sheet := notDue
	if p.sheets == 2 && p.outlook.Begins.SinceFull >= p.house.Prices.FullEveryDays {
		sheet = due
	}
	kg, n := 0.0, p.spread.classes()
	for class, values := range p.midnight[0][sheet] {
		kg += binomial(n-1, class) * p.grids[0].read(values, p.startKWh)
	}
	return kg
}
