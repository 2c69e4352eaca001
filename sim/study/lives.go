package study

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
)

// UsualLives is how many lives an answer rests on unless more are asked for.
const UsualLives = 20

// Lives is what a span comes to over lives that differ in the luck of their days: loads
// that swing, a set that gives more or less; nothing fails. Means, unless said.
type Lives struct {
	N                                                      int
	ShortDays, ShortKWh, ShortH, DryKg, AttendedH, EngineH float64
	PriceKg                                                float64 // soft prices left out
	ShortDaysP90, ShortKWhP90                              float64 // that nine lives in ten do not pass
	LowestPct                                              float64 // charge, of all lives
	OverInverterShare                                      float64 // of what is missed: while the inverter gave all it can
}

// ShortDaysUp is the mean of short days rounded up to the tenth, so that a rare short
// day is not printed as none.
func (l *Lives) ShortDaysUp() float64 {
	const crumb = 1e-9
	return math.Ceil(10*l.ShortDays-crumb) / 10
}

// livesOf is how many of so many lives there are: one where all are alike.
func livesOf(h *sim.Household, lives int) int {
	if h.Demand.SwingShare == 0 && h.Luck.SetDailyShare == 0 && !h.Demand.SkySpreads() {
		return 1
	}
	return lives
}

// LiveChosen lives through a household's span by a plan: once as its own days come, with
// its books, and in so many lives, 1 or more. watch, if not nil, is shown each step of the
// household's own. The only error is the context's.
func LiveChosen(ctx context.Context, h *sim.Household, p *plan.Plan, lives int,
	watch func(sim.Moment, *sim.State, *sim.Flows)) (*sim.Books, *Lives, error) {
	chooser := p.Chooser()
	var others []*life
	for i := range livesOf(h, lives) {
		others = append(others, newLife(h, chooser.Follower(h.House), ByDays, i))
	}
	mine := sim.NewLife(h, chooser, watch)
	if err := dayByDay(ctx, h.House, mine.Day, others, nil); err != nil {
		return nil, nil, err
	}
	return mine.Books, summed(h.House, others), nil
}

// summed reads off what lives come to.
func summed(h *sim.House, lives []*life) *Lives {
	l := &Lives{N: len(lives), LowestPct: math.Inf(1)}
	n := float64(len(lives))
	var shortDays, shortKWh []float64
	overKWh := 0.0
	for _, f := range lives {
		t := &f.total
		l.ShortDays += float64(t.shortDays) / n
		l.ShortKWh += t.shortKWh / n
		l.ShortH += t.shortH / n
		l.DryKg += t.dryKg / n
		l.AttendedH += t.attendedH / n
		l.EngineH += t.engineH / n
		l.PriceKg += f.priceKg() / n
		l.LowestPct = min(l.LowestPct, 100*f.lowestKWh/h.Bank.FullKWh)
		shortDays, shortKWh = append(shortDays, float64(t.shortDays)), append(shortKWh, t.shortKWh)
		overKWh += t.overInverterKWh
	}
	if l.ShortKWh > 0 {
		l.OverInverterShare = overKWh / n / l.ShortKWh
	}
	slices.Sort(shortDays)
	slices.Sort(shortKWh)
	const nineInTen = 0.9
	l.ShortDaysP90 = stat.Quantile(nineInTen, stat.Empirical, shortDays, nil)
	l.ShortKWhP90 = stat.Quantile(nineInTen, stat.Empirical, shortKWh, nil)
	return l
}

// A Cause is a kind of luck.
type Cause int

// The causes. They may be added.
const (
	BySwing Cause = 1 << iota
	BySet
	ByLoadYear
	ByMoisture
	ByFailedLights
	ByRepairs
	BySky
	ByAll Cause = 1<<iota - 1

	// ByDays is the luck of days on which nothing fails.
	ByDays = BySwing | BySet | BySky
)

// streams keep the draws of one cause apart from those of another, so that each
// cause alone brings the same luck as all together.
const (
	loadYearStream = 0x6c6f61642d796561 + iota
	moistureStream
	lightStream
	repairStream
	setStream
)

// A decider is a chooser that can change houses from year to year.
type decider interface {
	sim.Chooser
	InHouse(*sim.House)
}

// A life is one household's way through a span of luck, a day at a time.
type life struct {
	plain, house *sim.House // as planned; in this year's wood
	decider      decider
	causes       Cause
	state        sim.State
	want         sim.Want
	swing        *loads.Swing
	sky          *sky
	lights, set  *rand.Rand
	yearly       [3]*rand.Rand // load, moisture, repair
	loadFactor   float64
	repair       [2]int // first day of the span, and the day after the last
	broken       bool   // today
	today, total tally
	months       [12]tally
	lowestKWh    float64
	highestKWh   float64 // today
	sinceFull    int     // days
	wettestShare float64 // moisture of the wettest wood burned
	hopperAsIsKg float64 // burned since it was full
	winterShort  bool
	withoutWood  bool
	see          func(sim.Moment, *sim.State, *sim.Flows) // watch, made once
}

// A tally is what a life comes to.
type tally struct {
	dryKg, attendedH, engineH, shortKWh, shortH float64
	overInverterKWh                             float64 // of shortKWh, while the inverter gave all it can
	softKg                                      float64 // soft prices
	standby                                     sim.StandbyTally
	shortDays, lightUps                         int
}

// newLife begins the life of a household of a number from 0, whose luck is drawn by the seed
// that lies so far beyond the household's own.
func newLife(h *sim.Household, d decider, causes Cause, number int) *life {
	f := &life{plain: h.House, house: h.House, decider: d, causes: causes, state: h.Start(), loadFactor: 1,
		want: h.Wanting(h.Demand.Steady()).Want()}
	seed := h.Demand.Seed + uint64(number)
	f.lowestKWh = f.state.Bank.StoredKWh()
	f.see = f.watch
	random := func(stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }
	if causes&BySwing != 0 {
		f.swing = h.Demand.NewSwing(seed)
	}
	if causes&BySet != 0 && h.Luck.SetDailyShare > 0 {
		f.set = random(setStream)
	}
	if causes&BySky != 0 {
		f.sky = newSky(h, seed)
	}
	f.lights = random(lightStream)
	f.yearly = [3]*rand.Rand{random(loadYearStream), random(moistureStream), random(repairStream)}
	return f
}

// A sky is the luck of the days' sun.
type sky struct {
	demand              *loads.Demand
	draws               *sun.Draws
	sunKW, house, other []float64 // of today, by step
}

// newSky begins the skies of a seed; nil where days do not come by luck.
func newSky(h *sim.Household, seed uint64) *sky {
	draws := h.Demand.Sun.NewDraws(seed)
	if draws == nil {
		return nil
	}
	today := func() []float64 { return make([]float64, h.Span.StepsADay()) }
	return &sky{demand: h.Demand, draws: draws, sunKW: today(), house: today(), other: today()}
}

// next puts a day's sun in place of what is wanted's; other sources are as they come.
func (s *sky) next(w *sim.Want, day int) {
	if s == nil {
		return
	}
	s.of(w, day, s.demand.FileOtherKW)
}

// of does so where other sources give so much by step of the span.
func (s *sky) of(w *sim.Want, day int, otherKW []float64) {
	clear(s.sunKW)
	clear(s.house)
	s.demand.Sun.Drawn(day, s.draws.Next(), s.sunKW, s.house)
	w.SunFrom = day * len(s.sunKW)
	for i, kw := range otherKW[w.SunFrom : w.SunFrom+len(s.other)] {
		s.other[i] = kw + s.house[i]
	}
	w.SunKW, w.HouseSunKW, w.OtherKW = s.sunKW, s.house, s.other
}

// skip passes over a day's draw.
func (s *sky) skip() {
	if s != nil {
		s.draws.Next()
	}
}

// logNormal turns a normal draw into a factor with mean 1 and a standard deviation.
func logNormal(share, z float64) float64 {
	variance := math.Log1p(share * share)
	return math.Exp(math.Sqrt(variance)*z - variance/2)
}

// newYear draws the luck of the year that begins on a day of the span.
func (f *life) newYear(day int) {
	span := f.plain.Span
	days := int((span.Start+calendar.Date(day)).AYearLater()-span.Start) - day // of the year, in the span or not
	load, wood, repair := f.yearly[0].NormFloat64(), f.yearly[1].NormFloat64(), f.yearly[2].Float64()
	if f.causes&ByLoadYear != 0 {
		f.loadFactor = logNormal(f.plain.Luck.LoadYearShare, load)
	}
	if f.causes&ByMoisture != 0 && f.plain.Luck.MoistureShare > 0 {
		f.house = f.plain.Wetter(f.plain.Luck.MoistureShare * wood)
		f.decider.InHouse(f.house)
	}
	if f.causes&ByRepairs != 0 {
		length := min(f.plain.Luck.RepairDays, days)
		first := day + int(repair*float64(days-length+1)) // what lies after the span's end is not met
		f.repair = [2]int{first, first + length}
	}
}

// failed draws how many light-ups fail before one takes.
func (f *life) failed() int {
	const most = 50 // in a row; the next one takes
	n := 0
	for n < most && f.lights.Float64() < f.plain.Luck.FailShare {
		n++
	}
	return n
}

// Choose is what the plan wants, as far as luck lets it.
func (f *life) Choose(s *sim.State, at sim.Moment) sim.Command {
	command := f.decider.Choose(s, at)
	if command.Run && f.broken {
		command.Run, command.Call = false, sim.IfWorth
	}
	if command.Run && s.LitSteps == 0 && f.causes&ByFailedLights != 0 {
		command.Failed = f.failed()
	}
	return command
}

// day lives through a day.
func (f *life) day(day int) {
	h := f.house
	f.broken = f.repair[0] <= day && day < f.repair[1]
	f.state.Repairs = f.broken
	f.want.Factor = f.loadFactor * f.swing.Next()
	f.sky.next(&f.want, day)
	if f.set != nil {
		f.state.SetSwing = logNormal(f.plain.Luck.SetDailyShare, f.set.NormFloat64()) - 1
	}
	if h.Days[day].Tendable && !h.HasReadyWood(&f.state) {
		f.withoutWood = true
	}
	f.today, f.highestKWh = tally{}, 0
	h.LiveDay(&f.state, sim.Moment{Step: day * h.Span.StepsADay(), Day: day}, h.Span.StepsADay(), &f.want, f, f.see)
	f.sinceFull++
	if f.highestKWh >= battery.FullShare*h.Days[day].Bank.FullKWh {
		f.sinceFull = 0
	}
	if every := h.Prices.FullEveryDays; every > 0 && f.sinceFull > every {
		f.today.softKg += h.Prices.FullLateKgPerDay
	}
	if f.today.shortKWh >= h.Prices.ShortDayKWh {
		f.today.shortDays = 1
		f.winterShort = f.winterShort || isWinter(h, day)
	}
	f.total.add(&f.today)
	f.months[h.Days[day].Date.Month()-1].add(&f.today)
}

func (f *life) watch(at sim.Moment, s *sim.State, flows *sim.Flows) {
	stepH, t := f.house.Span.StepH(), &f.today
	stored := s.Bank.StoredKWh()
	f.lowestKWh, f.highestKWh = min(f.lowestKWh, stored), max(f.highestKWh, stored)
	if missing := flows.ShortfallKW * stepH; missing > 0 {
		t.shortKWh += missing
		if missing > shortCrumbKWh {
			t.shortH += stepH
			const whollyKW = 1e-9 // rounding
			if flows.DischargeKW >= f.house.Bank.InverterKW-whollyKW {
				t.overInverterKWh += missing
			}
		}
	}
	if flows.Run {
		t.attendedH += stepH
		t.engineH += flows.Ready * stepH
		t.dryKg += flows.Burned.DryKg
		if asIsKg := flows.Burned.AsIsKg; asIsKg > 0 {
			f.wettestShare = max(f.wettestShare, 1-flows.Burned.DryKg/asIsKg)
		}
		if flows.Match {
			t.lightUps++
			t.softKg += f.house.OffUsualKg(at.OfDay)
			f.hopperAsIsKg = 0
		}
		t.softKg += f.house.Prices.RefuelKg * float64(f.house.Opened(&f.hopperAsIsKg, flows.Burned.AsIsKg))
	}
	if f.house.Standby != nil {
		t.standby.Enter(flows, stepH)
	}
	p := &f.house.Prices
	t.softKg += p.WearKgPerKWh * flows.FromBankKW() * stepH
	if p.SpareKgPerKWhH > 0 {
		wantedKWh := f.house.Days[at.Day].Bank.FloorKWh + p.SpareShare*f.house.Bank.FullKWh
		t.softKg += p.SpareKgPerKWhH * max(0, wantedKWh-stored) * stepH
	}
}

func (t *tally) add(o *tally) {
	t.dryKg += o.dryKg
	t.attendedH += o.attendedH
	t.engineH += o.engineH
	t.shortKWh += o.shortKWh
	t.shortH += o.shortH
	t.overInverterKWh += o.overInverterKWh
	t.softKg += o.softKg
	t.standby.Add(&o.standby)
	t.shortDays += o.shortDays
	t.lightUps += o.lightUps
}

// priceKg weighs a life as the year's report does, soft prices left out.
func (f *life) priceKg() float64 {
	p, t := &f.plain.Prices, &f.total
	start := f.plain.Start()
	missing := max(0, start.Bank.StoredKWh()-f.state.Bank.StoredKWh())
	return t.dryKg + f.plain.StandbyKg(&t.standby) + p.HourKg*t.attendedH + p.StartKg*float64(t.lightUps) +
		p.ShortKgPerKWh*(t.shortKWh+f.plain.ServableKWh(missing))
}

// weighedKg is what a plan weighs: the price with the soft prices.
func (f *life) weighedKg() float64 { return f.priceKg() + f.total.softKg }

// skip passes over the draws of days that this life does not live through.
func (f *life) skip(days int) *life {
	for range days {
		f.swing.Next()
		f.sky.skip()
		if f.set != nil {
			f.set.NormFloat64()
		}
	}
	return f
}

// dayByDay takes lives through a span day by day on all cores, after the one that
// leads them, if any: they go by its plan of the day. passed is called after each day.
func dayByDay(ctx context.Context, h *sim.House, leader func(day int), lives []*life, passed func(day int)) error {
	nextYear := h.Span.Start
	for day := range h.Days {
		if err := ctx.Err(); err != nil {
			return err
		}
		newYear := h.Days[day].Date == nextYear
		if newYear {
			nextYear = nextYear.AYearLater()
		}
		if leader != nil {
			leader(day)
		}
		const pieces, most = 8, 32 // that the lives are shared out in, and lives in each
		shareOut(lives, max(1, min(most, len(lives)/pieces)), func(f *life) {
			if newYear {
				f.newYear(day)
			}
			f.day(day)
		})
		if passed != nil {
			passed(day)
		}
	}
	return nil
}
