package plan

import (
	"math"

	"twigwatt/sim"
	"twigwatt/sim/sun"
)

// Judgements of what is known of a sky.
const (
	sunErrorShare = 0.1 // of a day's expected sun: the error of telling the day by what it gave so far
	usedSun       = 1.2 // of a day's load: more sun than that makes no difference
)

// dayClasses are what a day's classes stand for. Where the sky is not known a class is of load and
// sky together, by what the day lacks: one deviation, in which load and sun weigh as the energies do
// by which they spread that day. A class's load is that of its share of the deviation; its sun is
// the mean over the kinds of days that go with it.
type dayClasses struct {
	factor      []float64   // on the day's load, of each class
	follow      [][]float64 // chance of each class of the next day after each
	sunKW       [][]float64 // of panels at the bank, by class, by step; nil: none
	otherKW     [][]float64 // of other sources, panels at the house with them; nil: as expected
	loadPart    float64     // of the deviation: that which is the load's
	skyPart     float64     // and the sky's; their squares add up to 1
	loadKWh     float64     // by which the load spreads, for each standard deviation of the shown part
	skyKWh      float64     // and the sun, at the house
	expectedSun float64     // kWh, of all panels
}

// makeClasses works out the classes of every day.
func (p *Plan) makeClasses() {
	p.classes = make([]*dayClasses, len(p.house.Days))
	same := &dayClasses{factor: p.spread.factor, follow: p.spread.follow, loadPart: 1}
	for day := range p.classes {
		p.classes[day] = same
	}
	if p.demand.SunKW == nil {
		return
	}
	const pieces = 64 // days that are worked out side by side
	shareOut(pieces, func(part int) {
		for day := part; day < len(p.classes); day += pieces {
			p.classes[day] = p.classesOf(day)
		}
	})
	if !p.skySpreads() {
		return
	}
	for day, c := range p.classes[:len(p.classes)-1] {
		next := p.classes[day+1]
		memory := p.spread.memory*c.loadPart*next.loadPart + p.demand.Sun.Memory()*c.skyPart*next.skyPart
		_, c.follow = rouwenhorst(p.spread.classes(), memory)
	}
}

// skySpreads reports whether the plan weighs skies.
func (p *Plan) skySpreads() bool {
	return p.outlook.Foresight != Exact && p.demand.SkySpreads() && p.spread.classes() > 1
}

// classesOf works out a day's classes, but for what follows them.
func (p *Plan) classesOf(day int) *dayClasses {
	n := p.spread.classes()
	c := &dayClasses{factor: p.spread.factor, follow: p.spread.follow, loadPart: 1}
	sunKW := p.sun(day)
	if !p.skySpreads() {
		for range n {
			c.sunKW = append(c.sunKW, sunKW)
		}
		return c
	}
	perDay, stepH := len(sunKW), p.house.Span.StepH()
	inverter := p.house.Bank.InverterEfficiency
	kinds := p.kindsOn(day)
	most := usedSun * p.expected[day]
	mean, square := 0.0, 0.0
	for kind := range kinds {
		atBank, atHouse := 0.0, 0.0
		for step := range perDay {
			atBank += kinds[kind].bankKW[step] * stepH
			atHouse += kinds[kind].houseKW[step] * stepH
		}
		c.expectedSun += (atBank + atHouse) / sun.Kinds
		kWh := min(most, atBank*inverter+atHouse)
		mean += kWh / sun.Kinds
		square += kWh * kWh / sun.Kinds
	}
	scale := math.Sqrt(1 - p.spread.restVar)
	c.loadKWh, c.skyKWh = p.spread.sigma*scale*p.expected[day], math.Sqrt(max(0, square-mean*mean))
	if all := math.Hypot(c.loadKWh, c.skyKWh); all > 0 {
		c.loadPart, c.skyPart = c.loadKWh/all, c.skyKWh/all
	}
	weights := kindWeights(p.spread.unit, c.skyPart)
	fileKW := p.demand.ExpectedFileOtherKW[day*perDay : (day+1)*perDay]
	c.factor = p.spread.factorsOf(c.loadPart)
	for class := range n {
		bankKW, otherKW := make([]float64, perDay), append([]float64(nil), fileKW...)
		for kind, weight := range weights[class] {
			for step := range perDay {
				bankKW[step] += weight * kinds[kind].bankKW[step]
				otherKW[step] += weight * kinds[kind].houseKW[step]
			}
		}
		c.sunKW, c.otherKW = append(c.sunKW, bankKW), append(c.otherKW, otherKW)
	}
	return c
}

// skyKWh is by how much a day's sun spreads, at the house, where the plan does not weigh skies.
func (p *Plan) skyKWh(day int) float64 {
	if p.outlook.Foresight == Exact || !p.demand.SkySpreads() {
		return 0
	}
	perDay, mean, square := p.house.Span.StepsADay(), 0.0, 0.0
	bankKW, houseKW := make([]float64, perDay), make([]float64, perDay)
	for kind := range sun.Kinds {
		clear(bankKW)
		clear(houseKW)
		p.demand.Sun.OfKind(day, kind, 1, bankKW, houseKW)
		kWh := 0.0
		for step := range perDay {
			kWh += (bankKW[step]*p.house.Bank.InverterEfficiency + houseKW[step]) * p.house.Span.StepH()
		}
		kWh = min(usedSun*p.expected[day], kWh)
		mean += kWh / sun.Kinds
		square += kWh * kWh / sun.Kinds
	}
	return math.Sqrt(max(0, square-mean*mean))
}

// kindWeights shares each class among the kinds of sky, so that the mean over the classes' chances
// is each kind's: a class of a deviation of what a day lacks has skies about as bright as that tells.
func kindWeights(unit []float64, skyPart float64) [][]float64 {
	const least, rounds = 0.02, 30 // variance that keeps the kinds' own width; of fitting both sums
	n := len(unit)
	rest := max(least, 1-skyPart*skyPart)
	all := make([][]float64, n)
	for class, z := range unit {
		all[class] = make([]float64, sun.Kinds)
		for kind, sky := range sun.KindZ {
			off := sky + skyPart*z
			all[class][kind] = math.Exp(sky*sky/2 - off*off/(2*rest))
		}
	}
	for range rounds {
		for kind := range sun.Kinds {
			sum := 0.0
			for class := range all {
				sum += binomial(n-1, class) * all[class][kind]
			}
			for class := range all {
				all[class][kind] /= sum * sun.Kinds
			}
		}
		for class := range all {
			sum := 0.0
			for _, weight := range all[class] {
				sum += weight
			}
			for kind := range all[class] {
				all[class][kind] /= sum
			}
		}
	}
	return all
}

// aKind is what panels give on a day of a kind of sky, by step.
type aKind struct{ bankKW, houseKW []float64 }

// kindsOn returns what the kinds of a day give.
func (p *Plan) kindsOn(day int) (all [sun.Kinds]aKind) {
	perDay := p.house.Span.StepsADay()
	slab := make([]float64, 2*perDay*sun.Kinds)
	for kind := range all {
		all[kind] = aKind{slab[:perDay:perDay], slab[perDay : 2*perDay : 2*perDay]}
		slab = slab[2*perDay:]
		p.demand.Sun.OfKind(day, kind, 1, all[kind].bankKW, all[kind].houseKW)
	}
	return all
}

// sun is what the plan expects of a day's panels at the bank, by step; nil: there are none.
func (p *Plan) sun(day int) []float64 {
	if p.demand.SunKW == nil {
		return nil
	}
	from, to := day*p.house.Span.StepsADay(), (day+1)*p.house.Span.StepsADay()
	if p.outlook.Foresight == Exact {
		return p.demand.SunKW[from:to]
	}
	return p.demand.ExpectedSunKW[from:to]
}

// sunAt and otherAt are a class's in a step, where expectedKW is expected of the other sources.
func (c *dayClasses) sunAt(class, step int) float64 {
	if c.sunKW == nil {
		return 0
	}
	return c.sunKW[class][step]
}

func (c *dayClasses) otherAt(class, step int, expectedKW float64) float64 {
	if c.otherKW == nil {
		return expectedKW
	}
	return c.otherKW[class][step]
}

// A skyBook is what a day's sky shows, for those that live through it.
type skyBook struct {
	kinds   [sun.Kinds]aKind
	made    [sun.Kinds][]float64 // kWh of all panels before each step, by kind
	sunLeft []float64            // share of the day's expected sun that is still to come at each step
	loadKWh []float64            // that is still expected
}

// skyBookOf makes the book of a day.
func (p *Plan) skyBookOf(day int) *skyBook {
	perDay, stepH := p.house.Span.StepsADay(), p.house.Span.StepH()
	b := &skyBook{kinds: p.kindsOn(day), sunLeft: make([]float64, perDay+1), loadKWh: make([]float64, perDay+1)}
	kinds := &b.kinds
	for kind := range kinds {
		b.made[kind] = make([]float64, perDay+1)
		for step := range perDay {
			b.made[kind][step+1] = b.made[kind][step] + (kinds[kind].bankKW[step]+kinds[kind].houseKW[step])*stepH
		}
	}
	loadKW, _ := p.load(day)
	for step := perDay - 1; step >= 0; step-- {
		b.loadKWh[step] = b.loadKWh[step+1] + loadKW[step]*stepH
	}
	if all := p.classes[day].expectedSun; all > 0 {
		for step := range b.sunLeft {
			before := 0.0
			for kind := range b.made {
				before += b.made[kind][step] / sun.Kinds
			}
			b.sunLeft[step] = max(0, 1-before/all)
		}
	}
	return b
}

// madeBefore is what is expected of a day's panels before a step at which a life begins within it.
func (p *Plan) madeBefore(at sim.Moment) float64 {
	kWh := 0.0
	if p.demand.SunKW != nil {
		for step := at.Step - at.OfDay; step < at.Step; step++ {
			kWh += (p.demand.ExpectedSunKW[step] + p.demand.ExpectedHouseSunKW[step]) * p.house.Span.StepH()
		}
	}
	return kWh
}

// seen is a belief of the day's sky after its panels could give madeKWh before a step.
func (b *skyBook) seen(sky belief, ofDay int, madeKWh, expectedKWh float64) belief {
	const last = sun.Kinds - 1
	if expectedKWh == 0 || b.made[last][ofDay]-b.made[0][ofDay] <= 0 {
		return sky
	}
	kind := 1
	for kind < last && b.made[kind][ofDay] < madeKWh {
		kind++
	}
	low, high := b.made[kind-1][ofDay], b.made[kind][ofDay]
	perZ := (high - low) / (sun.KindZ[kind] - sun.KindZ[kind-1])
	if perZ <= 0 {
		return sky
	}
	const reach = 3 // standard deviations beyond which no sky lies
	z := max(-reach, min(reach, sun.KindZ[kind-1]+(madeKWh-low)/perZ))
	wrong := sunErrorShare * expectedKWh / perZ
	sure := sky.variance / (sky.variance + wrong*wrong)
	return belief{sky.mean + sure*(z-sky.mean), sky.variance * (1 - sure)}
}

// A skyPoint is what a sky of a weight gives in a step: other sources with the panels at the house,
// and the panels at the bank.
type skyPoint struct{ weight, otherKW, sunKW float64 }

// at is what the panels give in a step under a sky of a deviation.
func (b *skyBook) at(z float64, ofDay int) (bankKW, houseKW float64) {
	kind, share := placeOfZ(z)
	low, high := &b.kinds[kind], &b.kinds[kind+1]
	return low.bankKW[ofDay] + share*(high.bankKW[ofDay]-low.bankKW[ofDay]),
		low.houseKW[ofDay] + share*(high.houseKW[ofDay]-low.houseKW[ofDay])
}

// dark reports whether no sky gives anything in a step.
func (b *skyBook) dark(ofDay int) bool {
	brightest := &b.kinds[sun.Kinds-1]
	return brightest.bankKW[ofDay]+brightest.houseKW[ofDay] == 0
}

// placeOfZ is between which kinds a deviation lies: the one below, and the share of the way to the
// next; beyond the outermost it is theirs.
func placeOfZ(z float64) (kind int, share float64) {
	const last = sun.Kinds - 1
	switch {
	case z <= sun.KindZ[0]:
		return 0, 0
	case z >= sun.KindZ[last]:
		return last - 1, 1
	}
	for kind = 0; sun.KindZ[kind+1] < z; kind++ {
	}
	return kind, (z - sun.KindZ[kind]) / (sun.KindZ[kind+1] - sun.KindZ[kind])
}

// classBelief is what is known of the class of a day at a step: that of a deviation which makes the rest
// of the day, and what tomorrow remembers of it, want what is known of load and sky.
func (p *Plan) classBelief(day, ofDay int, book *skyBook, load, sky belief) belief {
	c := p.classes[day]
	loadKWh, skyKWh := p.spread.sigma*book.loadKWh[ofDay], c.skyKWh*book.sunLeft[ofDay]
	if day+1 < len(p.classes) {
		loadKWh += p.spread.memory * p.spread.sigma * p.expected[day+1]
		skyKWh += p.demand.Sun.Memory() * p.classes[day+1].skyKWh
	}
	scale := math.Sqrt(1 - p.spread.restVar)
	each := loadKWh*scale*c.loadPart + skyKWh*c.skyPart // kWh for each standard deviation of the class
	if each <= 0 {
		return belief{0, 0}
	}
	shown := max(0, load.variance-p.spread.restVar)
	return belief{scale * (loadKWh*load.mean - skyKWh*sky.mean) / each,
		scale * scale * (loadKWh*loadKWh*shown + skyKWh*skyKWh*sky.variance) / (each * each)}
}
