package study

import (
	"context"
	"fmt"
	"slices"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/battery"
)

// An Evening is what a run sheet is asked of: a household whose span begins on the
// day, and how it stands at a minute of that day.
type Evening struct {
	House      *sim.House
	Demand     *loads.Demand // expected loads count
	Wants      *loads.Wants
	Minute     int // of the day
	StoredKWh  float64
	LitMinute  int            // of the match; below 0: not lit
	HoursToday float64        // attended, of runs that have ended
	Earlier    *Reading       // of the same day, with no run since; nil: none
	SinceFull  int            // days since the bank was full
	ChoresDone map[string]int // this week, by name; missing: as often as was due by today
	Days       int            // of the sheet, 1 or more; the span must have one more
	HopperKg   float64        // as it lies, that a full hopper holds
	Make       func(context.Context, plan.Beginning) (sim.Chooser, error)
	For        func(context.Context, *sim.House) (sim.Chooser, error) // for plans that do not look ahead
}

// A Reading is the charge at a minute of the day.
type Reading struct {
	Minute    int
	StoredKWh float64
}

// Earlier is what an earlier reading tells: what the house took since, and what was
// expected.
type Earlier struct {
	Minute               int
	TookKWh, ExpectedKWh float64
}

// CheckEarlier says what is wrong with the earlier reading; "" where nothing is: a charge that
// rose with no run and no other source, or more taken than the inverter gives.
func (e *Evening) CheckEarlier() string {
	if e.Earlier == nil {
		return ""
	}
	_, otherKWh := e.between()
	if e.Earlier.StoredKWh < e.StoredKWh && otherKWh == 0 {
		return "the charge rose since then: a run or another source lay between"
	}
	tookKWh, _ := e.taken()
	hours := float64(e.Minute-e.Earlier.Minute) / 60
	if mostKW := e.House.Bank.InverterKW; tookKWh-otherKWh > mostKW*hours {
		return fmt.Sprintf("%.1f kWh in %.2g h are more than the inverter's %.3g kW give: the readings are too close together, or one is wrong", tookKWh, hours, mostKW)
	}
	return ""
}

// between is what is expected of the time from the earlier reading to now.
func (e *Evening) between() (expectedKWh, otherKWh float64) {
	step := e.House.Span.StepMinutes
	for minute := e.Earlier.Minute; minute < e.Minute; minute++ {
		expectedKWh += e.Demand.ExpectedLoadKW[minute/step] / 60
		otherKWh += e.Demand.ExpectedOtherKW[minute/step] / 60
	}
	return expectedKWh, otherKWh
}

// taken returns what the house took between the earlier reading and now, and what was
// expected of that time, both 0 where there is no earlier reading.
func (e *Evening) taken() (tookKWh, expectedKWh float64) {
	if e.Earlier == nil || e.Minute <= e.Earlier.Minute {
		return 0, 0
	}
	h := e.House
	expectedKWh, otherKWh := e.between()
	hours := float64(e.Minute-e.Earlier.Minute) / 60
	bank := h.Bank.Paced(hours, h.Days[0].Bank.AirC)
	outOfKWh := e.Earlier.StoredKWh - e.StoredKWh - bank.LeakKWh(e.Earlier.StoredKWh)
	return max(0, (outOfKWh*bank.DischargeEfficiency-bank.InverterIdleKW*hours)*bank.InverterEfficiency+otherKWh), expectedKWh
}

// A ChargeAt is the expected charge at a minute from the first day's midnight on.
type ChargeAt struct {
	Minute int
	Pct    float64 // of the full size
}

// A SheetRun is a run of the sheet; minutes from the first day's midnight on.
type SheetRun struct {
	Match, EngineOn, Stop int // in minutes from the sheet's midnight
	Refuel                []Refuel
	Lit                   bool    // it was burning as the sheet began
	StopsNow              bool    // a lit one that no rule allows any more
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
}

// A Sheet is what to do and what to expect.
type Sheet struct {
	Date       calendar.Date
	Minute     int
	ChargePct  float64
	Runs       []SheetRun
	Chores     []SheetChore
	Charge     []ChargeAt // as the sheet begins and at each step's end
	Mornings   []ChargeAt // one for each day
	ShortKWh   float64    // expected
	DarkMinute int        // of the first expected shortfall, below 0: none
	Skip       *Skip      // nil: the set is lit
	Earlier    *Earlier   // nil: no earlier reading
	MorePct    float64    // by which the day is taken to want more than expected, as the earlier reading tells; below 0: less
	NoWood     bool       // no ready wood for a run on the first day
	Barred     bool       // no run is allowed on the first day
	Late       bool       // no match is allowed any more on the first day
	AirC       float64    // around the bank on the first day
	Frozen     bool       // a lead-acid bank, at the charge on the meter, in that air
	Frost      bool       // a lithium bank takes no charge on the first day
}

// skipDraws of the load's swing say how likely a dark day is.
const skipDraws = 200

// NewSheet works out a run sheet. The only error is the context's.
func NewSheet(ctx context.Context, e *Evening) (*Sheet, error) {
	h := e.House
	w := &writer{Evening: e, morning: e.morning()}
	start, ofDay := w.enter()
	begins := plan.Beginning{OfDay: ofDay, SinceFull: e.SinceFull, ChoresMore: e.choresMore()}
	start.WantedKWh, begins.ExpectedKWh = e.taken()
	begins.State = start
	chooser, err := e.Make(ctx, begins)
	if err != nil {
		return nil, err
	}
	w.state, w.chooser, w.factor = start, chooser, 1
	if e.Earlier != nil {
		w.sheet.Earlier = &Earlier{e.Earlier.Minute, begins.State.WantedKWh, begins.ExpectedKWh}
	}
	if chosen, ok := chooser.(*plan.Chooser); ok {
		_, _, w.factor = chosen.Plan().Known()
		w.sheet.MorePct = 100 * (w.factor - 1)
	}
	w.sheet.NoWood = !h.HasReadyWood(&start)
	for i := ofDay; i < h.Span.StepsADay(); i++ {
		idle := start
		idle.LitSteps = 0
		w.sheet.Late = w.sheet.Late && !h.MayRun(&idle, h.At(i))
	}
	skip, err := e.skippers(ctx, chooser, start, w.sheet.ShortKWh)
	if err != nil {
		return nil, err
	}
	for day := 0; day <= e.Days; day++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		w.live(day, ofDay)
		if skip != nil && day < 2 {
			together(skip, func(s *skipper) { s.live(day, ofDay) })
		}
		ofDay = 0
	}
	w.finish()
	if skip != nil {
		w.sheet.Skip = e.skipped(skip)
	}
	return w.sheet, nil
}

// enter begins the sheet and returns the household at the next step's start: the
// part of a step until then is gone through in the load expected of it. A lit run
// that the rules do not allow now ends at once.
func (w *writer) enter() (sim.State, int) {
	e, h, step := w.Evening, w.House, w.House.Span.StepMinutes
	day := &h.Days[0]
	w.sheet = &Sheet{Date: h.Span.Start, Minute: e.Minute, ChargePct: 100 * e.StoredKWh / h.Bank.FullKWh,
		DarkMinute: -1, Barred: !day.Tendable, Late: true,
		AirC: day.Bank.AirC, Frost: day.Bank.RefusesCharge}
	w.sheet.Frozen = h.Bank.TemperatureEffects && h.Bank.Kind != battery.Lithium && battery.FreezesAtC(w.sheet.ChargePct) >= day.Bank.AirC
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
		burnedH := float64(e.Minute-e.LitMinute) / 60
		if tooLate || !day.Tendable || h.TendedAhead(e.Minute/step) == 0 || float64(s.TendedSteps)*h.Span.StepH()+burnedH >= float64(h.MaxSteps())*h.Span.StepH() {
			w.burning.StopsNow, lit = true, false
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

// lastMinutes leaves of the day's last step only what is still to come of it: no run
// is begun in it, and a lit one, which may not cross midnight, ends.
func (e *Evening) lastMinutes() {
	last := e.House.Span.StepsADay() - 1
	share := float64(calendar.MinutesADay-e.Minute) / float64(e.House.Span.StepMinutes)
	d := *e.Demand
	d.ExpectedLoadKW, d.ExpectedOtherKW = slices.Clone(d.ExpectedLoadKW), slices.Clone(d.ExpectedOtherKW)
	d.ExpectedLoadKW[last] *= share
	d.ExpectedOtherKW[last] *= share
	e.Demand = &d
}

// untilStep goes through the minutes until a step begins.
func (w *writer) untilStep(s *sim.State, ofDay, rest int, lit bool) {
	h, step := w.House, w.House.Span.StepMinutes
	restH := float64(rest) / 60
	var engine sim.Engine
	u := h.Pile.NextDryBasis(&s.Pile)
	if lit {
		engine = h.Engine(&h.Days[0], u, h.Set.Ready(ofDay*step-w.LitMinute, rest))
	}
	var p sim.Power
	h.Electric(h.Bank.Paced(restH, h.Days[0].Bank.AirC), &s.Bank, &p, w.Demand.ExpectedLoadKW[ofDay-1],
		w.Demand.ExpectedOtherKW[ofDay-1], engine)
	if lit {
		burned := h.Pile.Burn(&s.Pile, h.Set.BurnedKg(engine.Ready, p.EngineKW, restH)/h.HeatFactor(u))
		w.burned(ofDay*step, float64(rest), &burned, engine.Ready, p.EngineKW*restH)
	}
	if short := p.ShortfallKW * restH; short > shortCrumbKWh {
		w.sheet.ShortKWh, w.sheet.DarkMinute = short, w.Minute
	}
	w.note(ofDay*step, s)
}

// choresMore is by how often the chores left this week differ from those that are
// due from today on.
func (e *Evening) choresMore() []int {
	span := e.House.Span
	span.Days = (int(span.Start.Weekday()) + 6) % 7
	span.Start -= calendar.Date(span.Days)
	var more []int
	for _, c := range e.Wants.Chores {
		n := 0
		if done, told := e.ChoresDone[c.Name]; told {
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
func (e *Evening) light(s *sim.State, ofDay int) {
	h, step := e.House, e.House.Span.StepMinutes
	burned := max(0, ofDay*step-e.LitMinute)
	s.Starts++
	s.LitSteps = max(1, (burned+step-1)/step)
	s.TendedSteps += s.LitSteps
	room := min(h.TendedAhead(ofDay), h.MaxSteps()-s.TendedSteps)
	if s.LitSteps < h.MinSteps() && (!h.Days[0].Tendable || s.LitSteps+room < h.MinSteps()) {
		s.LitSteps = h.MinSteps()
	}
	s.LateMinutes = s.LitSteps*step - burned
}

// morning is the minute of the day at which a morning's charge is told: as the
// tending hours begin, or seven where that is no time of the morning.
func (e *Evening) morning() int {
	const night, seven, noon = 4 * 60, 7 * 60, 12 * 60
	if hours := e.House.Tending.Hours; len(hours) > 0 && hours[0].From >= night && hours[0].From < noon {
		return hours[0].From
	}
	return seven
}
