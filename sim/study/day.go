package study

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// An Evening is how a household stands at a minute of the day on which its span begins. The
// span must have a day more than the sheet.
type Evening struct {
	// Date is the sheet's, 0: the span's first day. Load and air are the first day's in any case.
	Date       calendar.Date
	Minute     int // of the day
	StoredKWh  float64
	LitMinute  int            // of the match; below 0: not lit
	HoursToday float64        // attended, of runs that have ended
	Earlier    *Reading       // of the same day, with no run since; nil: none
	Fortnight  plan.Fortnight // what the house took in the last days, as far as is known
	SinceFull  int            // days since the bank was full
	ChoresDone map[string]int // this week, by name; missing: as often as was due by today
	Days       int            // of the sheet, 1 or more
	HoursSoFar float64        // of the engine's life; below 0: not known
	CrateKg    float64        // of wood as it lies that a crate holds; 0: not known
	Sky        sun.Said       // until the next evening
}

// saidDays are those whose sky is as an evening says: the rest of the first, and the next.
const saidDays = 2

// tonight is an evening of a household.
type tonight struct {
	*sim.Household
	Evening
	rule plan.Rule
}

// A Reading is the charge at a minute of the day.
type Reading struct {
	Minute    int
	StoredKWh float64
}

// Taken is what the house took since an earlier reading, and what was expected.
type Taken struct {
	SinceMinute      int
	KWh, ExpectedKWh float64
}

// CheckEarlier says what is wrong with an evening's earlier reading; nil where nothing is: a
// charge that rose with no run and no other source, or more taken than the inverter gives.
func CheckEarlier(h *sim.Household, at Evening) error {
	if at.Earlier == nil {
		return nil
	}
	e := &tonight{Household: h, Evening: at}
	_, otherKWh, sunKWh := e.between()
	if e.Earlier.StoredKWh < e.StoredKWh && otherKWh+sunKWh == 0 {
		return errors.New("the charge rose since then: a run or another source lay between")
	}
	tookKWh, _ := e.taken()
	hours := float64(e.Minute-e.Earlier.Minute) / 60
	if mostKW := e.Bank.InverterKW; tookKWh-otherKWh > mostKW*hours {
		return fmt.Errorf("%.1f kWh in %.2g h are more than the inverter's %.3g kW give: "+
			"the readings are too close together, or one is wrong",
			tookKWh, hours, mostKW)
	}
	return nil
}

// between is what is expected of the time from the earlier reading to now: of the house, of other
// sources, and of panels at the bank.
func (e *tonight) between() (expectedKWh, otherKWh, sunKWh float64) {
	step := e.Span.StepMinutes
	for minute := e.Earlier.Minute; minute < e.Minute; minute++ {
		expectedKWh += e.Demand.ExpectedLoadKW[minute/step] / 60
		otherKWh += e.Demand.ExpectedOtherKW[minute/step] / 60
		if e.Demand.SunKW != nil {
			sunKWh += e.Demand.ExpectedSunKW[minute/step] / 60
		}
	}
	return expectedKWh, otherKWh, sunKWh
}

// taken returns what the house took between the earlier reading and now, and what was
// expected of that time, both 0 where there is no earlier reading.
func (e *tonight) taken() (tookKWh, expectedKWh float64) {
	if e.Earlier == nil || e.Minute <= e.Earlier.Minute {
		return 0, 0
	}
	h := e.House
	expectedKWh, otherKWh, sunKWh := e.between()
	hours := float64(e.Minute-e.Earlier.Minute) / 60
	bank := h.Bank.Paced(hours, h.Days[0].Bank.AirC)
	outOfKWh := e.Earlier.StoredKWh - e.StoredKWh - bank.LeakKWh(e.Earlier.StoredKWh)
	terminalsKWh := outOfKWh * bank.DischargeEfficiency
	if outOfKWh < 0 { // the panels charged it
		terminalsKWh = outOfKWh / bank.ChargeEfficiency(e.Earlier.StoredKWh)
	}
	servedKWh := (terminalsKWh + sunKWh - bank.InverterIdleKW*hours) * bank.InverterEfficiency
	return max(0, servedKWh+otherKWh), expectedKWh
}

// A ChargeAt is the expected charge at a minute from the first day's midnight on.
type ChargeAt struct {
	Minute int
	Pct    float64 // of the full size
}

// A SheetRun is a run of the sheet; minutes from the first day's midnight on.
type SheetRun struct {
	Match, EngineOn, Stop int // in minutes from the sheet's midnight; EngineOn below 0: the run ends before
	Refuel                []Refuel
	Lit                   bool    // it was burning as the sheet began
	StopsNow              NoRun   // why a lit one may not burn on; Runs: it may
	BeforeRefuel          bool    // ends early, for the hopper would be opened for its last hour
	WoodAsIsKg            float64 // still to be burned
	WoodDryKg             float64
	MadeKWh, EngineH      float64
	CondensateL           float64
}

// A Refuel is when a full hopper is empty, and what wood as it lies is burned from
// there until the stop, or until the hopper is empty again.
type Refuel struct {
	Minute int
	AsIsKg float64
}

// A SheetChore is a chore of the sheet.
type SheetChore struct {
	Name        string
	Start, Stop int
	KWh         float64
}

// A Skip is what comes of no run on the first day: expected, and over draws of the
// load's swing through the end of the second day, on which runs are chosen again.
type Skip struct {
	MorningPct     float64 // charge, the next morning
	Draws          int     // trials with other loads
	Dark, DarkRuns int     // draws with a short day: without the run, and with it
	SwingShare     float64 // standard deviation of a day's load
	SkyVaried      bool    // the draws differ in their sky too
}

// A Sheet is what to do and what to expect.
type Sheet struct {
	*sim.Household
	Evening
	Rule       plan.Rule
	ChargePct  float64
	Runs       []SheetRun
	Chores     []SheetChore
	Charge     []ChargeAt // as the sheet begins and at each step's end
	Mornings   []ChargeAt // one for each day
	ShortKWh   float64    // expected
	DarkMinute int        // of the first expected shortfall, below 0: none
	Skip       *Skip      // nil: the set is lit
	Taken      *Taken     // since the earlier reading; nil: none
	LearnedPct float64    // that every day is taken to want beyond what is expected, by the last fortnight; below 0: less
	MorePct    float64    // that the day is taken to want beyond what is expected, by the earlier reading; below 0: less
	NoRun      NoRun      // why there is none on the first day
	AirC       float64    // around the bank on the first day
	Frozen     bool       // a lead-acid bank, at the charge on the meter, in that air
	Frost      bool       // a lithium bank takes no charge on the first day
	FloorPct   float64    // of the bank on the first day
	BringKg    float64    // wood to bring in, as it lies
	Crates     int        // that hold it; 0: what a crate holds is not known
	Guessed    bool       // how often some chores have been done this week is not known
	Due        []ServiceDue
	Sun        *SunAhead // nil: no panels
	Petrol     []PetrolRun
	Warnings   []sim.Warning
}

// A PetrolRun is the stand-by set's; minutes from the first day's midnight on.
type PetrolRun struct {
	Start, Stop     int
	Litres, MadeKWh float64
}

// petrol writes down a step of the stand-by set.
func (w *writer) petrol(begins int, f *sim.Flows) {
	if f.StandbyKW == 0 && f.PetrolLitres == 0 {
		return
	}
	runs := &w.sheet.Petrol
	if n := len(*runs); n == 0 || (*runs)[n-1].Stop != begins {
		*runs = append(*runs, PetrolRun{Start: begins})
	}
	r := &(*runs)[len(*runs)-1]
	r.Stop = begins + w.Span.StepMinutes
	r.Litres += f.PetrolLitres
	r.MadeKWh += f.StandbyKW * w.Span.StepH()
}

// SunAhead is what the panels are expected to give, kWh: from now until midnight, and on the next day;
// of that also what a dull day and a bright one would give.
type SunAhead struct{ TodayKWh, TomorrowKWh, DullKWh, BrightKWh float64 }

// sunAhead reads it off; nil without panels.
func (w *writer) sunAhead() *SunAhead {
	d, perDay := w.Demand, w.Span.StepsADay()
	if d.SunKW == nil {
		return nil
	}
	s := &SunAhead{}
	stepH := w.Span.StepH()
	of := func(d *loads.Demand, from, to int) float64 {
		kWh := 0.0
		for i := from; i < to; i++ {
			kWh += (d.ExpectedSunKW[i] + d.ExpectedHouseSunKW[i]) * stepH
		}
		return kWh
	}
	s.TodayKWh, s.TomorrowKWh = of(d, w.ofDay, perDay), of(d, perDay, 2*perDay)
	s.DullKWh, s.BrightKWh = of(d.In(sun.Dull, saidDays, perDay), perDay, 2*perDay), of(d.In(sun.Bright, saidDays, perDay), perDay, 2*perDay)
	return s
}

// NoRun is why a sheet has no run on its first day.
type NoRun int

// The reasons. Runs: there is one.
const (
	Runs        NoRun = iota
	BankCarries       // carries the house
	Barred            // by tending.days or no_runs
	Away              // nobody is at home, and nobody looks after runs then
	Broken            // the set
	NoWood            // is ready
	TooLate           // no match is allowed any more
	NotWorthIt
	OutsideHours // of tending
	HoursUsed    // all that a day may have
	DayOver      // no run crosses midnight
)

// skipDraws of the load's swing say how likely a dark day is.
const skipDraws = 200

// Day asks what to do today: it works out a run sheet of a household whose span begins on the
// day. The errors are those of plan.New.
func Day(ctx context.Context, h *sim.Household, rule plan.Rule, at Evening) (*Sheet, error) {
	if at.Date == 0 {
		at.Date = h.Span.Start
	}
	h = knownToday(h)
	h = h.Wanting(h.Demand.In(at.Sky, saidDays, h.Span.StepsADay()))
	w := newWriter(h, rule, at, nil)
	begins := plan.Beginning{OfDay: w.ofDay, SinceFull: w.SinceFull, Fortnight: w.Fortnight, ChoresMore: w.choresMore(),
		State: w.state}
	_, begins.ExpectedKWh = w.taken()
	chooser, _, err := rule.Rationing(ctx, w.Household, begins)
	if err != nil {
		return nil, err
	}
	skip, err := w.skippers(ctx, chooser)
	if err != nil {
		return nil, err
	}
	if err := w.write(ctx, chooser, skip); err != nil {
		return nil, err
	}
	if w, err = w.withoutLateRefuels(ctx, chooser); err != nil {
		return nil, err
	}
	if skip != nil {
		w.sheet.Skip = w.skipped(skip)
	}
	w.sheet.Sun = w.sunAhead()
	w.sheet.finish(w.HasReadyWood(&w.start), w.tooLate())
	return w.sheet, nil
}

// knownToday is the household with what is known of a broken set on its first day: whether it is
// broken today, and nothing of the days to come.
func knownToday(h *sim.Household) *sim.Household {
	if len(h.Tending.Breakdown) == 0 {
		return h
	}
	var known []calendar.DateRange
	if h.Days[0].Broken {
		known = []calendar.DateRange{{First: h.Span.Start, Last: h.Span.Start}}
	}
	return h.With(func(spec *sim.Spec) { spec.Tending.Breakdown = known })
}

// newWriter begins a sheet whose runs end early as said.
func newWriter(h *sim.Household, rule plan.Rule, at Evening, ends []earlyEnd) *writer {
	w := &writer{tonight: &tonight{Household: h, Evening: at, rule: rule}, asked: h, ends: ends, factor: 1, learned: 1}
	w.morning = w.morningMinute()
	w.state, w.ofDay = w.begin()
	var expectedKWh float64
	w.state.WantedKWh, expectedKWh = w.taken()
	w.start = w.state
	if w.Earlier != nil {
		w.sheet.Taken = &Taken{w.Earlier.Minute, w.state.WantedKWh, expectedKWh}
	}
	return w
}

// write lives through the sheet's days, and lets skippers live through the first two.
func (w *writer) write(ctx context.Context, chooser sim.Chooser, skip []*skipper) error {
	w.chooser = chooser
	if chosen, ok := chooser.(*plan.Chooser); ok {
		_, _, w.factor = chosen.Plan().Known()
		w.learned = chosen.Plan().Learned()
		w.sheet.MorePct, w.sheet.LearnedPct = 100*(w.factor-1), 100*(w.learned-1)
	}
	ofDay := w.ofDay
	for day := 0; day <= w.Days; day++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		w.live(day, ofDay)
		if skip != nil && day < 2 {
			shareOut(skip, 32, func(s *skipper) { s.live(day, ofDay) })
		}
		ofDay = 0
	}
	return nil
}

// tooLate reports whether no match is allowed any more on the first day.
func (w *writer) tooLate() bool {
	for i := w.ofDay; i < w.Span.StepsADay(); i++ {
		idle := w.start
		idle.LitSteps = 0
		if w.MayRun(&idle, w.At(i)) {
			return false
		}
	}
	return true
}

// begin begins the sheet and returns the household at the next step's start: the
// part of a step until then is gone through in the load expected of it. A lit run
// that the rules do not allow now ends at once.
func (w *writer) begin() (sim.State, int) {
	e, h, step := w.tonight, w.House, w.Span.StepMinutes
	day := &h.Days[0]
	w.sheet = &Sheet{Household: e.Household, Evening: e.Evening, Rule: e.rule,
		ChargePct: 100 * e.StoredKWh / h.Bank.FullKWh, DarkMinute: -1, AirC: day.Bank.AirC, Frost: day.Bank.RefusesCharge,
		FloorPct: 100 * day.Bank.FloorKWh / h.Bank.FullKWh}
	w.sheet.Frozen = h.Bank.TemperatureEffects && h.Bank.Kind != battery.Lithium &&
		battery.FreezesAtC(w.sheet.ChargePct) >= day.Bank.AirC
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{e.Minute, w.sheet.ChargePct})
	s := h.Start()
	s.Bank = h.Bank.Rested(e.StoredKWh)
	if e.HoursToday > 0 {
		s.Starts = 1
		s.TendedSteps = plan.StepsUp(e.HoursToday, h.Span.StepH())
	}
	ofDay := min((e.Minute+step-1)/step, h.Span.StepsADay()-1)
	tooLate := e.Minute > ofDay*step
	if tooLate {
		e.lastMinutes()
		s.Starts, s.TendedSteps = h.Tending.MaxStarts, h.MaxSteps()
	}
	lit := e.LitMinute >= 0
	if lit {
		w.relight()
		attendedH := float64(s.TendedSteps)*h.Span.StepH() + float64(e.Minute-e.LitMinute)/60
		switch bar := e.barToday(); {
		case bar != Runs:
			w.burning.StopsNow = bar
		case tooLate:
			w.burning.StopsNow = DayOver
		case h.TendedAhead(e.Minute/step) == 0:
			w.burning.StopsNow = OutsideHours
		case attendedH >= float64(h.MaxSteps())*h.Span.StepH():
			w.burning.StopsNow = HoursUsed
		}
		if w.burning.StopsNow != Runs {
			lit = false
			w.stop(e.Minute)
			s.Starts++
		}
	}
	if rest := ofDay*step - e.Minute; rest > 0 {
		w.untilStep(&s, ofDay, rest, lit)
	}
	if lit {
		e.light(&s, ofDay)
	}
	s.Starts = min(s.Starts, h.Tending.MaxStarts)
	s.TendedSteps = min(s.TendedSteps, h.MaxSteps())
	return s, ofDay
}

// barToday is what bars any run on the first day; Runs: nothing does.
func (e *tonight) barToday() NoRun {
	switch day := &e.House.Days[0]; {
	case day.Broken:
		return Broken
	case !day.Tendable && day.Away && !e.Tending.AwayRuns:
		return Away
	case !day.Tendable:
		return Barred
	}
	return Runs
}

// lastMinutes leaves of the day's last step only what is still to come of it: no run
// is begun in it, and a lit one, which may not cross midnight, ends.
func (e *tonight) lastMinutes() {
	last := e.Span.StepsADay() - 1
	share := float64(calendar.MinutesADay-e.Minute) / float64(e.Span.StepMinutes)
	d := *e.Demand
	d.ExpectedLoadKW, d.ExpectedOtherKW = slices.Clone(d.ExpectedLoadKW), slices.Clone(d.ExpectedOtherKW)
	d.ExpectedLoadKW[last] *= share
	d.ExpectedOtherKW[last] *= share
	if d.SunKW != nil {
		d.ExpectedSunKW, d.ExpectedHouseSunKW = slices.Clone(d.ExpectedSunKW), slices.Clone(d.ExpectedHouseSunKW)
		d.ExpectedSunKW[last] *= share
		d.ExpectedHouseSunKW[last] *= share
	}
	e.Household = e.Wanting(&d)
}

// untilStep goes through the minutes until a step begins.
func (w *writer) untilStep(s *sim.State, ofDay, rest int, lit bool) {
	h, step := w.House, w.Span.StepMinutes
	restH := float64(rest) / 60
	var engine sim.Engine
	u := h.Pile.NextDryBasis(&s.Pile)
	if lit {
		engine = h.Engine(&h.Days[0], u, h.Set.Ready(ofDay*step-w.LitMinute, rest))
	}
	var p sim.Power
	if w.Demand.SunKW != nil {
		p.Sun.KW = w.Demand.ExpectedSunKW[ofDay-1]
		s.SunKWh += (p.Sun.KW + w.Demand.ExpectedHouseSunKW[ofDay-1]) * restH
	}
	h.Electric(h.Bank.Paced(restH, h.Days[0].Bank.AirC), &s.Bank, &p, w.Demand.ExpectedLoadKW[ofDay-1],
		w.Demand.ExpectedOtherKW[ofDay-1], engine)
	if lit {
		burned := h.Pile.Burn(&s.Pile, h.Set.BurnedKg(engine.Ready, p.EngineKW, restH)/h.HeatFactor(u))
		w.burned(ofDay*step, float64(rest), &burned, engine.Ready, p.EngineKW*restH)
	}
	if short := p.ShortfallKW * restH; short > shortCrumbKWh {
		w.sheet.ShortKWh, w.sheet.DarkMinute = short, w.Minute
	}
	w.noteCharge(ofDay*step, s)
}

// choresMore is by how often the chores left this week differ from those that are
// due from today on.
func (e *tonight) choresMore() []int {
	span := e.House.Span
	span.Days = (int(span.Start.Weekday()) + 6) % 7
	span.Start -= calendar.Date(span.Days)
	var more []int
	for _, c := range e.Demand.Chores {
		n := 0
		if done, known := e.ChoresDone[c.Name]; known {
			for _, times := range c.Due(span, make([]bool, span.Days)) {
				n += times
			}
			n -= done
		}
		more = append(more, n)
	}
	return more
}

// light puts a run into the state that was lit at a minute of its own. One that the
// rules leave no room to grow old enough may stop at any time.
func (e *tonight) light(s *sim.State, ofDay int) {
	h, step := e.House, e.Span.StepMinutes
	burned := max(0, ofDay*step-e.LitMinute)
	s.Starts++
	s.LitSteps = max(1, (burned+step-1)/step)
	s.TendedSteps += s.LitSteps
	room := min(h.TendedAhead(ofDay), h.MaxSteps()-s.TendedSteps)
	if s.LitSteps < h.MinSteps() && (!h.Days[0].Tendable || h.Days[0].Broken || s.LitSteps+room < h.MinSteps()) {
		s.LitSteps = h.MinSteps()
	}
	s.LateMinutes = s.LitSteps*step - burned
}

// morningMinute is the minute of the day at which a morning's charge is noted: as the
// tending hours begin, or seven where that is no time of the morning.
func (e *tonight) morningMinute() int {
	const night, seven, noon = 4 * 60, 7 * 60, 12 * 60
	if hours := e.House.Tending.Hours; len(hours) > 0 && hours[0].From >= night && hours[0].From < noon {
		return hours[0].From
	}
	return seven
}

// A writer goes through the sheet's days and writes down what happens.
type writer struct {
	*tonight
	asked   *sim.Household // of whom the sheet was asked
	ofDay   int            // the first step, of its day
	start   sim.State      // as it begins
	ends    []earlyEnd
	state   sim.State
	sheet   *Sheet
	burning *SheetRun
	pieces  []piece // of the burning run
	morning int

	chooser     sim.Chooser
	factor      float64 // on the first day's load, as far as it is known
	learned     float64 // on every day's, by the last fortnight
	choresNoted bool    // of the day
	beforeKWh   float64 // stored as the step begins
}

// A piece is wood as it lies that burns evenly between two minutes.
type piece struct{ from, to, kg float64 }

// noteCharge keeps the charge at a minute.
func (w *writer) noteCharge(minute int, s *sim.State) {
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{minute, 100 * s.Bank.StoredKWh() / w.House.Bank.FullKWh})
}

// relight takes up the run that burns already: what it has burned so far is taken
// as at full power.
func (w *writer) relight() {
	h := w.House
	w.sheet.Runs = append(w.sheet.Runs,
		SheetRun{Match: w.LitMinute, EngineOn: w.LitMinute + h.Set.LightUpMinutes, Lit: true})
	w.burning = &w.sheet.Runs[0]
	start := h.Start()
	u := h.Pile.NextDryBasis(&start.Pile)
	asIs := (1 + u) / h.HeatFactor(u)
	on := float64(w.burning.EngineOn)
	w.pieces = append(w.pieces[:0], piece{float64(w.LitMinute), on, h.Set.LightUpKg * asIs})
	if now := float64(w.Minute); now > on {
		w.pieces = append(w.pieces, piece{on, now, h.Set.FullKgH() * (now - on) / 60 * asIs})
	}
}

// live goes through a day from a step on; the day after the last only as far as
// its morning.
func (w *writer) live(day, ofDay int) {
	h, d := w.House, w.Demand
	perDay, step := h.Span.StepsADay(), h.Span.StepMinutes
	until := perDay
	if day == w.Days {
		until = (w.morning + step - 1) / step
	}
	want := sim.Want{LoadKW: d.ExpectedLoadKW, OtherKW: d.ExpectedOtherKW, SunKW: d.ExpectedSunKW,
		HouseSunKW: d.ExpectedHouseSunKW, Factor: w.learned}
	if day == 0 {
		want.Factor *= w.factor
	}
	w.choresNoted = false
	h.LiveDay(&w.state, sim.Moment{Step: day*perDay + ofDay, Day: day, OfDay: ofDay}, until, &want, w, w.watch)
	if day == w.Days {
		w.noteMorning(sim.Moment{Step: day*perDay + until, Day: day, OfDay: until}, &w.state)
		return
	}
	w.stop((day + 1) * calendar.MinutesADay)
}

// noteMorning keeps the charge of a morning.
func (w *writer) noteMorning(at sim.Moment, s *sim.State) {
	h, step := w.House, w.Span.StepMinutes
	if at.Day > 0 && at.OfDay*step >= w.morning && len(w.sheet.Mornings) < at.Day {
		pct := 100 * s.Bank.StoredKWh() / h.Bank.FullKWh
		w.sheet.Mornings = append(w.sheet.Mornings, ChargeAt{at.Step * step, pct})
	}
}

// Choose asks the plan, and writes down what begins and ends with a step.
func (w *writer) Choose(s *sim.State, at sim.Moment) sim.Command {
	w.noteMorning(at, s)
	c := w.chooser.Choose(s, at)
	if !w.choresNoted {
		w.choresNoted = true
		w.noteChores(at.Day)
	}
	if c.Run && w.endsBy(at) && !w.House.MustRun(s, at) {
		c.Run, c.Call = false, sim.IfWorth
	}
	if !c.Run {
		w.stop(at.Step * w.Span.StepMinutes)
	}
	w.beforeKWh = s.Bank.StoredKWh()
	return c
}

// watch writes down what happened in a step.
func (w *writer) watch(at sim.Moment, s *sim.State, f *sim.Flows) {
	step, stepH := w.Span.StepMinutes, w.Span.StepH()
	begins := at.Step * step
	if f.Run {
		w.burn(begins, f)
		w.untilEngine(begins, w.beforeKWh, f)
	}
	w.petrol(begins, f)
	if missing := f.ShortfallKW * stepH; missing > 0 {
		w.sheet.ShortKWh += missing
		if w.sheet.DarkMinute < 0 && missing > shortCrumbKWh {
			w.sheet.DarkMinute = max(begins, w.Minute)
		}
	}
	w.noteCharge(begins+step, s)
}

// shortCrumbKWh: a step that misses more is dark.
const shortCrumbKWh = 0.001

// noteChores writes down when the day's chores begin.
func (w *writer) noteChores(day int) {
	var starts []loads.Start
	if chosen, ok := w.chooser.(*plan.Chooser); ok {
		starts = chosen.ChoresToday(day)
	} else {
		starts, _ = loads.FirstStarts(w.Demand.Chores, w.Span, w.Demand.AwayDay)
	}
	for _, s := range starts {
		at := int(math.Round(s.Minute))
		if at/calendar.MinutesADay == day && (day > 0 || at >= w.Minute) && day < w.Days {
			w.sheet.Chores = append(w.sheet.Chores, SheetChore{s.Chore.Name, at,
				int(math.Round(s.Minute + s.Chore.Minutes())), s.Chore.KWh})
		}
	}
}

// burn writes down a step of a run.
func (w *writer) burn(begins int, f *sim.Flows) {
	h, step := w.House, w.Span.StepMinutes
	lightKg := 0.0 // as it lies
	if f.Match {
		w.sheet.Runs = append(w.sheet.Runs, SheetRun{Match: begins, EngineOn: begins + h.Set.LightUpMinutes})
		w.burning, w.pieces = &w.sheet.Runs[len(w.sheet.Runs)-1], w.pieces[:0]
		if u := f.Burned.AsIsKg/f.Burned.DryKg - 1; f.Burned.DryKg > 0 {
			lightKg = min(f.Burned.AsIsKg, h.Set.LightUpKg/h.HeatFactor(u)*(1+u))
		}
		w.pieces = append(w.pieces, piece{float64(begins), float64(w.burning.EngineOn), lightKg})
	}
	rest := f.Burned
	rest.AsIsKg -= lightKg
	w.burned(begins+step, float64(step), &rest, f.Ready, f.EngineKW*h.Span.StepH())
	w.burning.WoodAsIsKg += lightKg
	w.burning.CondensateL += f.CondensateL
}

// burned writes down what a stretch of the run burned and made, without its
// light-up's wood as it lies.
func (w *writer) burned(ends int, minutes float64, wood *woodpile.Burned, ready, madeKWh float64) {
	r := w.burning
	w.pieces = append(w.pieces, piece{float64(ends) - ready*minutes, float64(ends), wood.AsIsKg})
	r.WoodAsIsKg += wood.AsIsKg
	r.WoodDryKg += wood.DryKg
	r.MadeKWh += madeKWh
	r.EngineH += ready * minutes / 60
}

// untilEngine keeps the charge as the engine takes over, where that lies within a
// step: until then the house draws on the bank.
func (w *writer) untilEngine(begins int, storedKWh float64, f *sim.Flows) {
	h, on := w.House, w.burning.EngineOn
	if on <= begins || on >= begins+h.Span.StepMinutes {
		return
	}
	drawnKWh := max(0, f.LoadKW-f.OtherKW) * float64(on-begins) / 60 / h.ServableKWh(1)
	floorKWh := min(storedKWh, h.Days[begins/calendar.MinutesADay].Bank.FloorKWh)
	pct := 100 * max(floorKWh, storedKWh-drawnKWh) / h.Bank.FullKWh
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{on, pct})
}

// stop ends the burning run, if there is one.
func (w *writer) stop(minute int) {
	if w.burning == nil {
		return
	}
	w.burning.Stop = max(minute, w.Minute)
	if w.burning.EngineOn >= w.burning.Stop {
		w.burning.EngineOn = -1
	}
	w.burning.Refuel = refuels(w.pieces, w.HopperAsIsKg, w.Minute)
	w.burning = nil
}

// refuels returns when, from now on, a hopper that was full at the match is empty
// before the run's wood is burned.
func refuels(pieces []piece, hopperKg float64, now int) []Refuel {
	const crumbKg = 1e-6
	all := 0.0
	for _, p := range pieces {
		all += p.kg
	}
	var at []Refuel
	burned, next := 0.0, hopperKg
	for _, p := range pieces {
		for p.kg > 0 && burned+p.kg > next+crumbKg {
			if minute := int(math.Round(p.from + (p.to-p.from)*(next-burned)/p.kg)); minute >= now {
				at = append(at, Refuel{minute, min(hopperKg, all-next)})
			}
			next += hopperKg
		}
		burned += p.kg
	}
	return at
}

// bringKg is the wood as it lies that a run wants beyond what is in the hopper: all
// of it, or for one that burns already what it is refuelled with.
func (r *SheetRun) bringKg() float64 {
	if !r.Lit {
		return r.WoodAsIsKg
	}
	kg := 0.0
	for _, refuel := range r.Refuel {
		kg += refuel.AsIsKg
	}
	return kg
}

// finish leaves out what lies after the sheet's days, and reads off what to know of the rest.
func (s *Sheet) finish(hasWood, late bool) {
	end := s.Days * calendar.MinutesADay
	for len(s.Petrol) > 0 && s.Petrol[len(s.Petrol)-1].Start >= end {
		s.Petrol = s.Petrol[:len(s.Petrol)-1]
	}
	for len(s.Runs) > 0 && s.Runs[len(s.Runs)-1].Match >= end {
		s.Runs = s.Runs[:len(s.Runs)-1]
	}
	if len(s.Runs) == 0 || s.Runs[0].Match >= calendar.MinutesADay {
		bar := (&tonight{Household: s.Household}).barToday()
		switch {
		case bar != Runs:
			s.NoRun = bar
		case !hasWood:
			s.NoRun = NoWood
		case late:
			s.NoRun = TooLate
		case s.DarkMinute >= 0:
			s.NoRun = NotWorthIt
		default:
			s.NoRun = BankCarries
		}
	}
	for i := range s.Runs {
		s.BringKg += s.Runs[i].bringKg()
	}
	if s.CrateKg > 0 {
		const crumb = 1e-9 // of a crate
		s.Crates = int(math.Ceil(s.BringKg/s.CrateKg - crumb))
	}
	s.Guessed = len(s.Demand.Chores) > len(s.ChoresDone) && s.Rule.By == plan.ByChosen
	if s.HoursSoFar >= 0 {
		s.Due = s.due(s.House.Services, s.HoursSoFar)
	}
	lowest := s.ChargePct
	for _, at := range s.Charge {
		lowest = min(lowest, at.Pct)
	}
	wettest := 0.0
	for i := range s.Runs {
		if r := &s.Runs[i]; r.WoodAsIsKg > 0 {
			wettest = max(wettest, 1-r.WoodDryKg/r.WoodAsIsKg)
		}
	}
	days := *s.House
	days.Days = days.Days[:s.Days+1]
	days.Snap.AirC = days.BankAirC() // a snap is the winter's, not these days'
	s.Warnings = slices.Clone(s.Household.Warnings)
	for _, hazard := range days.Hazards(lowest) { // what the cold does to the bank in the sheet's days
		if hazard.Code == "freezing" || hazard.Code == "lithium_frost" {
			s.Warnings = append(s.Warnings, hazard)
		}
	}
	s.Warnings = append(s.Warnings, s.House.TarWarning(wettest, "")...)
}

// PctAt returns the expected charge at a minute, on a straight line between steps.
func (s *Sheet) PctAt(minute int) float64 {
	for i := 1; i < len(s.Charge); i++ {
		a, b := s.Charge[i-1], s.Charge[i]
		if minute <= b.Minute {
			return a.Pct + (b.Pct-a.Pct)*float64(max(0, minute-a.Minute))/float64(max(1, b.Minute-a.Minute))
		}
	}
	return s.Charge[len(s.Charge)-1].Pct
}

// A skipper lives through today and tomorrow, with or without a run today, in
// loads of its own.
type skipper struct {
	*tonight
	chooser    sim.Chooser
	state      sim.State
	swing      *loads.Swing
	sky        *sky
	skips      bool
	shortKWh   float64 // of the day
	dark       bool
	usual      float64 // the first day's factor where it is not drawn; 0: 1
	learned    float64 // on every day's load, by the last fortnight
	morningPct float64
}

// skippers are one that meets the expected load, and a pair for each draw: one
// skips today's run, one does not. Nil: the set burns already.
func (w *writer) skippers(ctx context.Context, leader sim.Chooser) ([]*skipper, error) {
	e := w.tonight
	if e.LitMinute >= 0 {
		return nil, nil
	}
	all := []*skipper{{skips: true}}
	for draw := range skipDraws {
		for _, skips := range []bool{true, false} {
			seed := e.Demand.Seed + uint64(draw)
			all = append(all, &skipper{skips: skips, swing: e.Demand.NewSpread(seed), sky: newSky(e.Household, seed)})
		}
	}
	chosen, _ := leader.(*plan.Chooser)
	for _, s := range all {
		s.tonight, s.state, s.shortKWh, s.morningPct, s.learned = e, w.start, w.sheet.ShortKWh, math.NaN(), 1
		if chosen != nil {
			s.learned = chosen.Plan().Learned()
			mean, variance, factor := chosen.Plan().Known()
			s.swing.Starts(mean, variance)
			s.usual = factor
			s.chooser = chosen.Follower(e.House)
			continue
		}
		var err error
		if s.chooser, err = e.rule.Chooser(ctx, e.Household); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// live goes through a day from a step on. With the run skipped no chore of
// the first day is done, then or later.
func (s *skipper) live(day, ofDay int) {
	h, perDay := s.House, s.Span.StepsADay()
	want := sim.Want{LoadKW: s.Demand.ExpectedLoadKW, OtherKW: s.Demand.ExpectedOtherKW, SunKW: s.Demand.ExpectedSunKW,
		HouseSunKW: s.Demand.ExpectedHouseSunKW, Factor: s.swing.Next()}
	if s.sky != nil {
		s.sky.of(&want, day, s.Demand.ExpectedFileOtherKW)
	}
	if s.swing == nil && day == 0 && s.usual > 0 {
		want.Factor = s.usual
	}
	want.Factor *= s.learned
	h.LiveDay(&s.state, sim.Moment{Step: day*perDay + ofDay, Day: day, OfDay: ofDay}, perDay, &want, s,
		func(_ sim.Moment, _ *sim.State, f *sim.Flows) {
			s.shortKWh += f.ShortfallKW * h.Span.StepH()
		})
	s.dark = s.dark || s.shortKWh >= h.Prices.ShortDayKWh
	s.shortKWh = 0
}

// Choose is what the plan wants, but for today's run.
func (s *skipper) Choose(state *sim.State, at sim.Moment) sim.Command {
	if at.Day == 1 && math.IsNaN(s.morningPct) && at.OfDay*s.Span.StepMinutes >= s.morningMinute() {
		s.morningPct = 100 * state.Bank.StoredKWh() / s.House.Bank.FullKWh
	}
	c := s.chooser.Choose(state, at)
	if s.skips && at.Day == 0 {
		return sim.Command{Call: sim.IfWorth}
	}
	return c
}

// skipped counts the skippers.
func (e *tonight) skipped(all []*skipper) *Skip {
	k := &Skip{MorningPct: all[0].morningPct, Draws: skipDraws, SwingShare: e.Demand.SpreadShare,
		SkyVaried: e.Demand.SkySpreads() && e.Sky == sun.Unsaid}
	for _, s := range all[1:] {
		switch {
		case s.dark && s.skips:
			k.Dark++
		case s.dark:
			k.DarkRuns++
		}
	}
	return k
}

// A ServiceDue is a service that falls due in a run of the sheet, or before it; if
// more than once, the first time.
type ServiceDue struct {
	Name   string
	AtH    float64 // of all engine hours
	Run    int     // of the sheet's runs
	Minute int     // from the first day's midnight on; the match of the run where it is due already
}

// due returns the services that fall due in the sheet's runs, after so many engine
// hours so far (0 or more), the first time in each run.
func (s *Sheet) due(services []sim.Service, soFarH float64) []ServiceDue {
	const roundingH = 1e-9
	var due []ServiceDue
	hours := soFarH
	for i := range s.Runs {
		r := &s.Runs[i]
		for _, service := range services {
			if r.EngineH == 0 {
				continue
			}
			first := math.Ceil((hours-roundingH)/service.EveryH) * service.EveryH
			if first == 0 {
				first = service.EveryH
			}
			if at := first; at < hours+r.EngineH-roundingH || at <= hours {
				minute := r.Match
				if at > hours {
					on := max(r.EngineOn, s.Minute)
					minute = on + int(math.Round(float64(r.Stop-on)*(at-hours)/r.EngineH))
				}
				due = append(due, ServiceDue{service.Name, at, i, minute})
			}
		}
		hours += r.EngineH
	}
	return due
}
