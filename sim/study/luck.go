package study

import (
	"math"
	"math/rand/v2"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// Luck is how years differ, beside the load's daily swing. Shares are 0 to 1.
type Luck struct {
	LoadYearShare float64 // standard deviation of a year's factor on the load
	MoistureShare float64 // standard deviation of a year's moisture, wet basis
	FailShare     float64 // light-ups that fail, below 1
	RepairDays    int     // a year, in one block at a random date
}

// A Cause is a kind of luck.
type Cause int

// The causes. They may be added.
const (
	BySwing Cause = 1 << iota
	ByLoadYear
	ByMoisture
	ByFailedLights
	ByRepairs
	ByAll Cause = 1<<iota - 1
)

// streams keep the draws of one cause apart from those of another, so that each
// cause alone brings the same luck as all together.
const (
	loadYearStream = 0x6c6f61642d796561 + iota
	moistureStream
	lightStream
	repairStream
)

// A decider is a chooser that can change houses from year to year.
type decider interface {
	sim.Chooser
	InHouse(*sim.House)
}

// A fare is how one household fares in one span of luck, a day at a time.
type fare struct {
	plain, house *sim.House // as planned; in this year's wood
	decider      decider
	luck         Luck
	causes       Cause
	state        sim.State
	swing        *loads.Swing
	lights       *rand.Rand
	yearly       [3]*rand.Rand // load, moisture, repair
	loadFactor   float64
	repair       [2]int // first day of the span, and the day after the last
	total        tally
	months       [12]tally
	lowestKWh    float64
	winterShort  bool
	withoutWood  bool
}

// A tally is what a fare comes to.
type tally struct {
	dryKg, attendedH, shortKWh float64
	shortDays, lightUps        int
}

func newFare(h *sim.House, d decider, w *loads.Wants, l Luck, causes Cause, seed uint64) *fare {
	f := &fare{plain: h, house: h, decider: d, luck: l, causes: causes, state: h.Start(), loadFactor: 1}
	f.lowestKWh = f.state.Bank.StoredKWh()
	random := func(stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }
	if causes&BySwing != 0 {
		f.swing = w.NewSwing(seed)
	}
	f.lights = random(lightStream)
	f.yearly = [3]*rand.Rand{random(loadYearStream), random(moistureStream), random(repairStream)}
	return f
}

// newYear draws the luck of the year that begins on a day of the span.
func (f *fare) newYear(day int) {
	span := f.plain.Span
	days := int((span.Start+calendar.Date(day)).AYearLater()-span.Start) - day // of the year, in the span or not
	load, wood, repair := f.yearly[0].NormFloat64(), f.yearly[1].NormFloat64(), f.yearly[2].Float64()
	if f.causes&ByLoadYear != 0 { // log-normal with mean 1
		variance := math.Log1p(f.luck.LoadYearShare * f.luck.LoadYearShare)
		f.loadFactor = math.Exp(math.Sqrt(variance)*load - variance/2)
	}
	if f.causes&ByMoisture != 0 && f.luck.MoistureShare > 0 {
		f.house = f.plain.Wetter(f.luck.MoistureShare * wood)
		f.decider.InHouse(f.house)
	}
	if f.causes&ByRepairs != 0 {
		length := min(f.luck.RepairDays, days)
		first := day + int(repair*float64(days-length+1)) // what lies after the span's end is not met
		f.repair = [2]int{first, first + length}
	}
}

// failed draws how many light-ups fail before one takes.
func (f *fare) failed() int {
	const most = 50 // in a row; the next one takes
	n := 0
	for n < most && f.lights.Float64() < f.luck.FailShare {
		n++
	}
	return n
}

// live goes through a day of a steady load.
func (f *fare) live(day int, d *loads.Demand, winter bool) {
	h := f.house
	stepH, perDay := h.Span.StepH(), h.Span.StepsADay()
	broken := f.repair[0] <= day && day < f.repair[1]
	factor := f.loadFactor * f.swing.Next()
	if h.Days[day].Tendable && !h.HasReadyWood(&f.state) {
		f.withoutWood = true
	}
	var t tally
	at := sim.Moment{Step: day * perDay, Day: day}
	for ; at.OfDay < perDay; at.OfDay++ {
		command := f.decider.Choose(&f.state, at)
		command.Run = command.Run && !broken
		if command.Run && f.state.LitSteps == 0 && f.causes&ByFailedLights != 0 {
			command.Failed = f.failed()
		}
		flows := sim.Flows{LoadKW: d.LoadKW[at.Step]*factor + command.ChoreKW, OtherKW: d.OtherKW[at.Step]}
		h.Advance(&f.state, &flows, at, command)
		f.lowestKWh = min(f.lowestKWh, f.state.Bank.StoredKWh())
		t.shortKWh += flows.ShortfallKW * stepH
		if flows.Run {
			t.attendedH += stepH
			t.dryKg += flows.Burned.DryKg
			if flows.Match {
				t.lightUps++
			}
		}
		at.Step++
	}
	if t.shortKWh >= h.Prices.ShortDayKWh {
		t.shortDays = 1
		f.winterShort = f.winterShort || winter
	}
	f.total.add(&t)
	f.months[h.Days[day].Date.Month()-1].add(&t)
}

func (t *tally) add(o *tally) {
	t.dryKg += o.dryKg
	t.attendedH += o.attendedH
	t.shortKWh += o.shortKWh
	t.shortDays += o.shortDays
	t.lightUps += o.lightUps
}

// priceKg weighs a fare as the year's report does, soft prices left out.
func (f *fare) priceKg() float64 {
	p, t := &f.plain.Prices, &f.total
	start := f.plain.Start()
	missing := max(0, start.Bank.StoredKWh()-f.state.Bank.StoredKWh())
	return t.dryKg + p.HourKg*t.attendedH + p.StartKg*float64(t.lightUps) + p.ShortKgPerKWh*(t.shortKWh+f.plain.ServableKWh(missing))
}
