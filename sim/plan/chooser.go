package plan

import (
	"context"
	"math"
	"runtime"

	"twigwatt/sim"
	"twigwatt/storage/battery"
)

const (
	tieKg = 1e-6 // two plans this near are alike: then fewer starts, then the earlier
)

// Judgements of what is known when.
const (
	shownShare  = 0.5  // of a day's spread beyond what yesterday says: on the meter by the time runs are chosen
	dawnShare   = 0.7  // of what the hours before tending bring beside the class: the rest is met as it shows
	unseenShare = 0.2  // of a day's load: still to come by the time runs are chosen
	meterShare  = 0.02 // of the bank's size: the error (standard deviation) of a reading of its charge
)

// A Chooser is one life by a plan: at each step the cheaper of running and not
// running, by the prices of all that follows. It is asked for the steps of the span
// once, in order.
//
// Of a day that differs from what is expected it knows what the meter has shown up to
// the step's start, never the rest.
type Chooser struct {
	plan   *Plan
	house  *sim.House // differs from the planned one in its wood alone
	leader *Chooser   // whose days it goes by; itself where it leads

	// of a leader
	days    []*dayPlan // some days' tables, made together
	first   int        // the day of the first of them
	led     bool       // others follow: days are made for both sheets
	chores  *choreBook
	choreKW []float64 // of today
	book    *skyBook  // of today; nil: skies are not weighed

	choreFrom, choreTo int       // classes of today by which chores are placed
	choreWeights       []float64 // of all classes then

	firstHours bool // chores are done in the first of their hours

	// of this life
	sinceFull  int // days
	begun      bool
	fullToday  bool
	dayFullKWh float64  // from where on the bank counts as full today
	isDue      bool     // a full charge is overdue, and not reached yet today
	belief     belief   // of today, as it began
	seen       belief   // and by the meter
	sky        belief   // of today's sky, as it began
	seenSky    belief   // and by what the panels gave
	dawnSunKWh float64  // SunKWh as the day began
	yesterdays *skyBook // of the last day that began
	dawnKWh    float64  // WantedKWh as the day began
	shownKWh   float64  // expected so far today, where the meter was read
	shownSteps int      // the first of today that shownKWh does not hold
	shownDays  float64  // how much of today the meter will have shown at its end
	weights    []float64
	fortnight  Fortnight // the last days
	yearFactor float64   // on the load expected, by what they tell
	woodFactor float64   // on rationed wood's price, by the pile
}

// A dayPlan is a day's tables, by class.
type dayPlan struct {
	day      int
	outcomes dayOutcomes
	tables   []table
	withDue  bool
}

// Chooser returns a life by the plan. Chores are placed as the days come; where the days
// are known beforehand each could as well be done in the first of its hours, which the plan
// weighs exactly, and the cheaper of the two ways is taken.
func (p *Plan) Chooser() *Chooser {
	c := p.chooser()
	if p.outlook.Foresight == Exact && p.chores != nil {
		if p.costKg(p.chooser().inFirstHours()) < p.costKg(p.chooser()) {
			c.inFirstHours()
		}
	}
	return c
}

// inFirstHours has chores done in the first of their hours.
func (c *Chooser) inFirstHours() *Chooser {
	c.firstHours = true
	c.chores.report.UnplacedKWh = c.plan.unplacedKWh
	return c
}

// costKg lives through the span and returns what it costs, with chores that found no
// room at the price of what the house wants and does not get.
func (p *Plan) costKg(c *Chooser) float64 {
	books, err := sim.Run(context.Background(), p.household, c, nil)
	if err != nil {
		panic(err) // the context's, which never ends
	}
	price := sim.Summarize(p.household, books).Price
	return price.TotalKg() + price.SoftKg + p.house.Prices.ShortKgPerKWh*c.chores.report.UnplacedKWh
}

func (p *Plan) chooser() *Chooser {
	c := &Chooser{plan: p, house: p.house, sinceFull: p.outlook.Begins.SinceFull}
	c.leader = c
	c.chores = newChoreBook(p.household)
	c.choreKW = make([]float64, p.house.Span.StepsADay())
	return c
}

// Follower returns another life, of a house that differs from the planned one in its
// wood alone, which goes by this one's day: it does chores when this one does, and may
// be asked for the steps of a day after this one was asked for that day's first, and
// before this one is asked for the next day's. Followers may be asked at the same
// time. None may be made once the life has begun.
func (c *Chooser) Follower(h *sim.House) *Chooser {
	c.led = true
	return &Chooser{plan: c.plan, house: h, leader: c, sinceFull: c.plan.outlook.Begins.SinceFull}
}

// InHouse changes the house that the life goes on in, as a new year's wood comes in.
func (c *Chooser) InHouse(h *sim.House) { c.house = h }

// Plan returns the plan that the life goes by.
func (c *Chooser) Plan() *Plan { return c.plan }

// Choose says whether the set burns in a step.
func (c *Chooser) Choose(s *sim.State, at sim.Moment) sim.Command {
	if at.OfDay == 0 || !c.begun {
		c.beginDay(s, at)
		if c.leader == c {
			c.planDay(s, at.Day)
		}
		c.yesterdays = c.leader.book
	}
	if at.OfDay > 0 && !c.fullToday && s.Bank.StoredKWh() >= c.dayFullKWh {
		c.fullToday, c.isDue = true, false
	}
	command := sim.Command{ChoreKW: c.leader.choreKW[at.OfDay]}
	switch {
	case s.LitSteps > 0 && c.house.MustRun(s, at):
		command.Run = true
	case c.house.Standby != nil:
		command.Run, command.Call = c.cheapest(s, at, command.ChoreKW)
	case c.house.MayRun(s, at):
		c.readMeter(s, at)
		command.Run = c.cheaper(s, at, command.ChoreKW)
	}
	if c.firstHours && command.ChoreKW > 0 {
		c.chores.count(c, s, at, command)
	}
	return command
}

// beginDay counts the days since a full charge, and takes what the day that ended tells of
// this one.
func (c *Chooser) beginDay(s *sim.State, at sim.Moment) {
	p, spread := c.plan, c.plan.spread
	c.dayFullKWh = p.fullKWh(at.Day)
	if c.fullToday || s.Bank.StoredKWh() >= c.dayFullKWh {
		c.sinceFull = 0
	} else if at.Day > 0 {
		c.sinceFull++
	}
	if !c.begun {
		c.belief, c.sky = belief{0, 1}, belief{0, 1}
		c.weights = make([]float64, spread.classes())
		c.fortnight = p.outlook.Begins.Fortnight
		c.dawnKWh, c.shownKWh, c.shownSteps = s.WantedKWh, 0, at.OfDay // what came before is not known
		if begins := &p.outlook.Begins; begins.ExpectedKWh > 0 {       // a reading earlier today
			c.dawnKWh -= begins.State.WantedKWh
			c.shownKWh, c.shownSteps = begins.ExpectedKWh, begins.OfDay
		}
	} else {
		c.expectUntil(at.Day-1, p.house.Span.StepsADay())
		tookKWh := s.WantedKWh - c.dawnKWh
		c.belief = spread.tomorrow(spread.seen(c.belief, tookKWh, c.yearFactor*c.shownKWh, p.meterKWh()))
		c.fortnight.nextDay(tookKWh, c.shownKWh, c.shownDays)
		c.dawnKWh, c.shownKWh, c.shownSteps = s.WantedKWh, 0, 0
		if book := c.yesterdays; book != nil {
			sky := book.seen(c.sky, p.house.Span.StepsADay(), s.SunKWh-c.dawnSunKWh, p.classes[at.Day-1].expectedSun)
			memory := p.demand.Sun.Memory()
			c.sky = belief{memory * sky.mean, memory*memory*sky.variance + 1 - memory*memory}
		}
	}
	c.dawnSunKWh = s.SunKWh - p.madeBefore(at) // what came before is not known
	c.shownDays = float64(p.house.Span.StepsADay()-at.OfDay) / float64(p.house.Span.StepsADay())
	c.yearFactor, c.woodFactor = p.yearFactor(&c.fortnight), 1
	if p.outlook.ReadyKg != nil {
		c.woodFactor = p.ahead(at.Day, c.house.Pile.ReadyKg(&s.Pile))
	}
	c.fullToday, c.begun = false, true
	every := p.house.Prices.FullEveryDays
	c.isDue = p.sheets == 2 && c.sinceFull >= every
}

// meterKWh is the error of what the house took by two readings of the bank.
func (p *Plan) meterKWh() float64 {
	return math.Sqrt2 * p.spread.meterShare * p.house.Bank.FullKWh
}

// readMeter weighs the classes that today may be of.
func (c *Chooser) readMeter(s *sim.State, at sim.Moment) {
	spread := c.plan.spread
	if spread.certain {
		c.weights[0] = 1
		return
	}
	c.expectUntil(at.Day, at.OfDay)
	b := spread.seen(c.belief, s.WantedKWh-c.dawnKWh, c.yearFactor*c.shownKWh, c.plan.meterKWh())
	if c.yearFactor != 1 && spread.sigma > 0 {
		b.mean += math.Log(c.yearFactor) / spread.sigma // classes are of what the plan expects
	}
	c.seen = b
	book := c.leader.book
	if book == nil {
		spread.weights(c.weights, b.mean, b.variance-spread.restVar)
		return
	}
	c.seenSky = book.seen(c.sky, at.OfDay, s.SunKWh-c.dawnSunKWh, c.plan.classes[at.Day].expectedSun)
	class := c.plan.classBelief(at.Day, at.OfDay, book, b, c.seenSky)
	spread.weights(c.weights, class.mean, class.variance)
}

// expectUntil adds up what was expected of a day up to before a step.
func (c *Chooser) expectUntil(day, ofDay int) {
	loadKW, _ := c.plan.load(day)
	for ; c.shownSteps < ofDay; c.shownSteps++ {
		c.shownKWh += loadKW[c.shownSteps] * c.plan.house.Span.StepH()
	}
}

// Known is what the plan takes the deviation of a beginning's day to be, as a normal
// distribution of the logarithm of the day's factor in its standard deviations, and the mean
// of that factor, beside what the fortnight before tells: 0, 1 and 1 where nothing was read
// earlier that day.
func (p *Plan) Known() (mean, variance, factor float64) {
	b := belief{0, 1}
	if begins := &p.outlook.Begins; begins.ExpectedKWh > 0 {
		b = p.spread.seen(b, begins.State.WantedKWh, p.Learned()*begins.ExpectedKWh, p.meterKWh())
	}
	sigma := p.spread.sigma
	return b.mean, b.variance, math.Exp(sigma*b.mean + sigma*sigma*(b.variance-1)/2)
}

// Learned is by how much every day of a beginning is taken to differ from what is expected, by
// its fortnight: 1 where nothing is known.
func (p *Plan) Learned() float64 { return p.yearFactor(&p.outlook.Begins.Fortnight) }

// planDay makes today's tables, days of them at a time on all cores, and places chores.
func (c *Chooser) planDay(s *sim.State, day int) {
	clear(c.choreKW)
	if c.plan.skySpreads() {
		c.book = c.plan.skyBookOf(day)
	}
	if c.firstHours {
		copy(c.choreKW, c.plan.choresOn(day))
	} else if len(c.chores.chores) > 0 { // the plan expects each chore in the first of its hours
		c.choreClasses(s, day)
		c.planForChores(day)
		c.chores.place(c, s, day)
		c.replan(day, 0, c.plan.spread.classes())
		return
	}
	if len(c.days) == 0 || day >= c.first+len(c.days) {
		days := max(1, (4*runtime.GOMAXPROCS(0)+1)/c.plan.spread.classes())
		if c.plan.dayBytes()*days > mostDayBytes {
			days = 1
		}
		c.makeTables(day, min(days, len(c.plan.house.Days)-day))
	}
	if today := c.today(day); c.isDue && !today.withDue {
		c.makeTables(day, len(c.days)-(day-c.first))
	}
}

// choreClasses finds the classes of a day by which chores are placed: the middle one alone, or where
// skies are weighed those that the day may well be of.
func (c *Chooser) choreClasses(s *sim.State, day int) {
	n := c.plan.spread.classes()
	c.choreFrom, c.choreTo = n/2, n/2+1
	if c.book == nil {
		return
	}
	const least = 0.05 // chance
	ofDay := c.plan.firstStep(day)
	c.readMeter(s, sim.Moment{Step: day*c.house.Span.StepsADay() + ofDay, Day: day, OfDay: ofDay})
	for c.choreFrom > 0 && c.weights[c.choreFrom-1] >= least {
		c.choreFrom--
	}
	for c.choreTo < n && c.weights[c.choreTo] >= least {
		c.choreTo++
	}
	c.choreWeights = append(c.choreWeights[:0], c.weights...)
}

// planForChores makes the tables of a day by which chores are placed.
func (c *Chooser) planForChores(day int) {
	c.holdDays(day, 1)
	c.replan(day, c.choreFrom, c.choreTo)
}

func (c *Chooser) today(day int) *dayPlan { return c.days[day-c.first] }

// holdDays makes room for the tables of some days.
func (c *Chooser) holdDays(first, days int) {
	for len(c.days) < days {
		classes := c.plan.spread.classes()
		c.days = append(c.days, &dayPlan{tables: make([]table, classes)})
	}
	c.first, c.days = first, c.days[:days]
	for i, d := range c.days {
		d.day = first + i
	}
}

// makeTables makes the tables of some days from one on.
func (c *Chooser) makeTables(first, days int) {
	c.holdDays(first, days)
	classes := c.plan.spread.classes()
	withDue := c.led || c.isDue
	for _, d := range c.days {
		d.withDue = withDue
	}
	if c.plan.keptOutcomes == nil {
		const parts = 4
		for _, d := range c.days {
			d.holdOutcomes(c.plan)
		}
		shareOut(days*parts, func(i int) {
			d := c.days[i/parts]
			c.plan.fillOutcomes(d.outcomes, d.day, 0, classes, c.plan.choresOn(d.day), i%parts, parts)
		})
	}
	shareOut(days*classes, func(i int) {
		d, class := c.days[i/classes], i%classes
		o := d.outcomes
		if c.plan.keptOutcomes != nil {
			o = c.plan.keptOutcomes[d.day]
		}
		c.plan.table(&d.tables[class], o[class], d.day, class, withDue)
	})
}

// holdOutcomes makes room for a day's outcomes.
func (d *dayPlan) holdOutcomes(p *Plan) {
	if d.outcomes == nil {
		d.outcomes = newDayOutcomes(p.house, p.spread.classes(), p.levels, len(p.pricer.ready))
	}
}

// replan makes today's tables anew, of the classes from one to before another, with the
// chores as placed.
func (c *Chooser) replan(day, from, to int) {
	d := c.today(day)
	d.holdOutcomes(c.plan)
	d.withDue = c.led || c.isDue
	c.plan.fillOutcomes(d.outcomes, day, from, to, c.choreKW, 0, 1)
	shareOut(to-from, func(i int) {
		c.plan.table(&d.tables[from+i], d.outcomes[from+i], day, from+i, d.withDue)
	})
}

// table makes a day's table for a life.
func (p *Plan) table(t *table, o *outcomes, day, class int, withDue bool) {
	end := p.dayEnd(day, class)
	if !withDue {
		end[due] = nil
	}
	p.tabulate(t, o, day, p.lifeGraph(day), &end, everyStep)
}

// dayBytes is about what a day's tables take.
func (p *Plan) dayBytes() int {
	const floatBytes = 8
	return floatBytes * p.largest().allNodes * p.levels * p.spread.classes() * p.sheets
}

// cheaper reports whether running through a step costs less than not: the mean over
// the classes that today may be of.
func (c *Chooser) cheaper(s *sim.State, at sim.Moment, choreKW float64) bool {
	w := c.weighed(s, at, choreKW)
	return w.runs()
}

// A weighing is what the options of a step cost more than resting, kg.
type weighing struct {
	node          *node
	run, by       float64 // by: the stand-by set, its start left out
	edge          float64 // what resting costs more than the classes say
	refuel, match float64 // of running, beside
}

// runKg is what running costs more.
func (w *weighing) runKg() float64 { return w.run - w.edge + w.refuel + w.match }

// runs reports whether running costs less than resting: a tie with a later match goes to the earlier;
// with none, to none: the table's match costs tieKg more.
func (w *weighing) runs() bool {
	if w.node.match {
		return w.run-w.edge+w.refuel+w.match+tieKg <= tieKg/10
	}
	return w.run-w.edge+w.refuel < -tieKg
}

// weighed weighs a step in which a run is allowed, or the stand-by set.
func (c *Chooser) weighed(s *sim.State, at sim.Moment, choreKW float64) (w weighing) {
	p, today := c.plan, c.leader.today(at.Day)
	n, ok := p.lifeGraph(at.Day).find(s, at.OfDay)
	if !ok || (n.runTo < 0 && n.byTo < 0) || n.offTo < 0 {
		panic("plan: a state that the rules do not lead to, at " + p.house.Span.StepTime(at.Step))
	}
	w.node = n
	loadKW, otherKW := p.load(at.Day)
	expectedKW := loadKW[at.OfDay]
	if p.spread.sigma == 0 {
		expectedKW *= c.yearFactor // no class carries it
	}
	o := option{s: s, day: &p.house.Days[at.Day], node: n, aheadKWh: p.aheadKWh(at.Day, at.OfDay, c.yearFactor)}
	moisture := c.wood(s)
	o.engine = c.house.Engine(o.day, moisture, c.house.ReadyNext(s))
	o.woodKg = c.woodFactor * p.pricer.woodKgOn(o.day) / c.house.HeatFactor(moisture)
	for class, weight := range c.weights {
		const crumb = 1e-4
		if weight < crumb {
			continue
		}
		c.ofClass(&o, at, class, expectedKW, otherKW[at.OfDay])
		o.loadKW += choreKW
		off, run, by := c.costs(&o, &today.tables[class], at.OfDay)
		w.run += weight * (run - off)
		w.by += weight * (by - off)
	}
	w.edge = c.edgeKg(&o, at, expectedKW, otherKW[at.OfDay], choreKW)
	if n.refuels {
		w.refuel = p.house.Prices.RefuelKg
	}
	if n.match {
		w.match = p.pricer.lightUpKg(o.woodKg, p.failing()) + p.house.OffUsualKg(at.OfDay)
	}
	return w
}

// cheapest is cheaper where a stand-by set may run too: whether the wood set burns, and if not how the
// stand-by set is called. Where neither is worth it beforehand, it is started if the step turns out to
// be short and that is worth it.
func (c *Chooser) cheapest(s *sim.State, at sim.Moment, choreKW float64) (run bool, call sim.Call) {
	mayRun, mayStand := c.house.MayRun(s, at), c.house.MayStandby(s, at)
	if !mayRun && !mayStand {
		return false, sim.IfWorth
	}
	c.readMeter(s, at)
	if !mayStand {
		return c.cheaper(s, at, choreKW), sim.IfWorth
	}
	w := c.weighed(s, at, choreKW)
	byKg := w.by - w.edge
	if w.node.byStarts {
		byKg += c.plan.house.Prices.StartKg + tieKg
	}
	if run = mayRun && w.runs(); run && w.runKg() <= byKg {
		return true, sim.Rests
	}
	if byKg < -tieKg {
		return false, sim.Runs
	}
	return false, sim.IfWorth
}

// ofClass puts into an option what the house wants without chores, what other sources give and what
// panels at the bank do, in a class, of a step's expectation.
func (c *Chooser) ofClass(o *option, at sim.Moment, class int, loadKW, otherKW float64) {
	classes := c.plan.classes[at.Day]
	o.loadKW = loadKW * classes.factor[class]
	o.otherKW, o.sunKW = classes.otherAt(class, at.OfDay, otherKW), classes.sunAt(class, at.OfDay)
}

// edgeKg is what not running costs more than the classes say where the bank may not carry
// the step: the classes are means, and a day can be dearer, or its sky duller, than its class.
func (c *Chooser) edgeKg(o *option, at sim.Moment, loadKW, otherKW, choreKW float64) float64 {
	p := c.plan
	if p.spread.sigma == 0 && c.leader.book == nil {
		return 0
	}
	price := func() float64 {
		_, kg := p.pricer.idle(o.day, o.s.Bank, o.loadKW+choreKW, o.otherKW, o.sunKW)
		return kg
	}
	skies, n := c.skies(at, otherKW)
	last := len(p.spread.restZ) - 1
	priced := func(sky *skyPoint, rest int) float64 { // in a sky, at a deviation of the load
		o.loadKW, o.otherKW, o.sunKW = loadKW*p.spread.factorAt(c.seen, p.spread.restZ[rest]), sky.otherKW, sky.sunKW
		return price()
	}
	dearestKg := priced(&skies[0], last)
	if dearestKg < p.house.Prices.ShortKgPerKWh*darkStepKWh {
		return 0
	}
	more := skies[0].weight * p.spread.restW[last] * dearestKg
	for i := range skies[:n] {
		for rest, weight := range p.spread.restW {
			if i > 0 || rest < last {
				more += skies[i].weight * weight * priced(&skies[i], rest)
			}
		}
	}
	for class, weight := range c.weights {
		if weight > 0 {
			c.ofClass(o, at, class, loadKW, otherKW)
			more -= weight * price()
		}
	}
	return max(0, more)
}

// skies are points of what the sky may give in a step by what is known of it, the dullest first;
// one where skies are not weighed.
func (c *Chooser) skies(at sim.Moment, otherKW float64) (points [3]skyPoint, n int) {
	book := c.leader.book
	if book == nil {
		return [3]skyPoint{{1, otherKW, c.plan.classes[at.Day].sunAt(0, at.OfDay)}}, 1
	}
	const edge, weight = 1.7320508075688772, 1.0 / 6 // Gauss-Hermite, three points of a standard normal
	sd, fileKW := math.Sqrt(c.seenSky.variance), c.plan.demand.ExpectedFileOtherKW[at.Step]
	for i, z := range [...]float64{-edge, 0, edge} {
		bankKW, houseKW := book.at(c.seenSky.mean+z*sd, at.OfDay)
		points[i] = skyPoint{weight, fileKW + houseKW, bankKW}
	}
	points[1].weight = 1 - 2*weight
	if book.dark(at.OfDay) {
		points[0].weight = 1
		return points, 1
	}
	return points, len(points)
}

// An option is a step that a life may run through or not.
type option struct {
	s               *sim.State
	day             *sim.Day
	node            *node
	engine          sim.Engine
	loadKW, otherKW float64
	sunKW           float64
	aheadKWh        float64 // taken off what is stored at its end, as the table is read
	woodKg          float64 // price of a kg at the rated moisture
}

// costs returns what resting, running and the stand-by set cost with all that follows, but for the
// match, the hopper and the stand-by set's start; 0 for what is not allowed.
func (c *Chooser) costs(o *option, t *table, ofDay int) (off, run, by float64) {
	p := c.plan.pricer
	offState, off := p.idle(o.day, o.s.Bank, o.loadKW, o.otherKW, o.sunKW)
	off += c.value(t, ofDay+1, o.node.offTo, &offState, o.aheadKWh)
	if o.node.runTo >= 0 {
		var state battery.State
		state, run = p.run(o.day, o.s.Bank, o.loadKW, o.otherKW, o.sunKW, o.engine, o.woodKg)
		run += c.value(t, ofDay+1, o.node.runTo, &state, o.aheadKWh)
	}
	if o.node.byTo >= 0 {
		var state battery.State
		state, by = p.standBy(o.day, o.s.Bank, o.loadKW, o.otherKW, o.sunKW)
		by += c.value(t, ofDay+1, o.node.byTo, &state, o.aheadKWh)
	}
	return off, run, by
}

// value reads a table at a state, as if so much less were stored.
func (c *Chooser) value(t *table, step, node int, bank *battery.State, aheadKWh float64) float64 {
	sheet := notDue
	if c.isDue && bank.StoredKWh() < c.dayFullKWh {
		sheet = due
	}
	return t.grid.read(t.row(sheet, step)[node], bank.StoredKWh()-aheadKWh)
}

// wood returns the moisture (dry basis) of the wood at hand.
func (c *Chooser) wood(s *sim.State) float64 {
	if c.house.Pile.Endless {
		return c.house.Pile.RatedDryBasis
	}
	return c.house.Pile.NextDryBasis(&s.Pile)
}

// Chores says how the chores of the days so far were done.
func (c *Chooser) Chores() sim.ChoreReport { return c.chores.report }
