package study

import (
	"context"
	"math"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
)

// An Evening is what a run sheet is asked of: a household whose span begins on the
// day, and how it stands at a minute of that day.
type Evening struct {
	House      *sim.House
	Demand     *loads.Demand // expected loads count
	Wants      *loads.Wants
	Minute     int // of the day
	StoredKWh  float64
	LitMinute  int     // of the match; below 0: not lit
	HoursToday float64 // attended, of runs that have ended
	SinceFull  int     // days since the bank was full
	Days       int     // of the sheet, 1 or more; the span must have one more
	HopperKg   float64 // as it lies, that a full hopper holds
	Make       func(context.Context, plan.Beginning) (sim.Chooser, error)
	For        func(context.Context, *sim.House) (sim.Chooser, error) // for plans that do not look ahead
}

// A ChargeAt is the expected charge at a minute from the first day's midnight on.
type ChargeAt struct {
	Minute int
	Pct    float64 // of the full size
}

// A SheetRun is a run of the sheet; minutes from the first day's midnight on.
type SheetRun struct {
	Match, EngineOn, Stop int
	Refuel                []Refuel
	Lit                   bool    // it was burning as the sheet began
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
	MorningPct     float64
	Draws          int
	Dark, DarkRuns int // draws with a short day: without the run, and with it
	SwingShare     float64
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
	NoWood     bool       // no ready wood for a run on the first day
	Barred     bool       // no run is allowed on the first day
	Late       bool       // no match is allowed any more on the first day
}

// skipDraws of the load's swing say how likely a dark day is.
const skipDraws = 200

// NewSheet works out a run sheet. The only error is the context's.
func NewSheet(ctx context.Context, e *Evening) (*Sheet, error) {
	h, step := e.House, e.House.Span.StepMinutes
	start, ofDay := e.enter()
	chooser, err := e.Make(ctx, plan.Beginning{State: start, OfDay: ofDay, SinceFull: e.SinceFull})
	if err != nil {
		return nil, err
	}
	w := &writer{Evening: e, state: start, morning: e.morning()}
	w.sheet = &Sheet{Date: h.Span.Start, Minute: e.Minute, ChargePct: 100 * e.StoredKWh / h.Bank.FullKWh, DarkMinute: -1,
		NoWood: !h.HasReadyWood(&start), Barred: !h.Days[0].Tendable, Late: true}
	for i := ofDay; i < h.Span.StepsADay(); i++ {
		idle := start
		idle.LitSteps = 0
		w.sheet.Late = w.sheet.Late && !h.MayRun(&idle, h.At(i))
	}
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{e.Minute, w.sheet.ChargePct})
	if ofDay*step > e.Minute {
		w.note(ofDay*step, &start)
	}
	if e.LitMinute >= 0 {
		w.relight(ofDay * step)
	}
	skip, err := e.skippers(ctx, chooser, start)
	if err != nil {
		return nil, err
	}
	for day := 0; day <= e.Days; day++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		w.live(chooser, day, ofDay)
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

// enter is the household at the next step's start: the part of a step until then
// is gone through with the load expected in it.
func (e *Evening) enter() (sim.State, int) {
	h, step := e.House, e.House.Span.StepMinutes
	last := h.Span.StepsADay() - 1
	s := h.Start()
	s.Bank = h.Bank.Rested(e.StoredKWh)
	ofDay := min((e.Minute+step-1)/step, last)
	now := min(e.Minute, ofDay*step)
	if rest := ofDay*step - now; rest > 0 {
		restH := float64(rest) / 60
		var engine sim.Engine
		if e.LitMinute >= 0 {
			engine = h.Engine(&h.Days[0], h.Pile.NextDryBasis(&s.Pile), h.Set.Ready(ofDay*step-e.LitMinute, rest))
		}
		var p sim.Power
		h.Electric(h.Bank.Paced(restH, h.Days[0].Bank.AirC), &s.Bank, &p, e.Demand.ExpectedLoadKW[ofDay-1], e.Demand.ExpectedOtherKW[ofDay-1], engine)
	}
	if e.HoursToday > 0 {
		s.Starts = 1
		s.TendedSteps = plan.StepsUp(e.HoursToday, h.Span.StepH())
	}
	if e.LitMinute >= 0 {
		e.light(&s, ofDay)
	}
	s.Starts = min(s.Starts, h.Tending.MaxStarts)
	s.TendedSteps = min(s.TendedSteps, h.MaxSteps())
	return s, ofDay
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
// tending hours begin, or seven where they begin in the night.
func (e *Evening) morning() int {
	const night, seven = 4 * 60, 7 * 60
	if hours := e.House.Tending.Hours; len(hours) > 0 && hours[0].From >= night {
		return hours[0].From
	}
	return seven
}

// A writer goes through the sheet's days and writes down what happens.
type writer struct {
	*Evening
	state   sim.State
	sheet   *Sheet
	burning *SheetRun
	pieces  []piece // of the burning run
	morning int
}

// A piece is wood as it lies that burns evenly between two minutes.
type piece struct{ from, to, kg float64 }

// note keeps the charge at a minute.
func (w *writer) note(minute int, s *sim.State) {
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{minute, 100 * s.Bank.StoredKWh() / w.House.Bank.FullKWh})
}

// relight takes up the run that burns already: what it has burned so far is taken
// as at full power.
func (w *writer) relight(now int) {
	h := w.House
	w.sheet.Runs = append(w.sheet.Runs, SheetRun{Match: w.LitMinute, EngineOn: w.LitMinute + h.Set.LightUpMinutes, Lit: true})
	w.burning = &w.sheet.Runs[0]
	u := h.Pile.NextDryBasis(&w.state.Pile)
	asIs := (1 + u) / h.HeatFactor(u)
	on := float64(w.burning.EngineOn)
	w.pieces = append(w.pieces[:0], piece{float64(w.LitMinute), on, h.Set.LightUpKg * asIs})
	if float64(now) > on {
		w.pieces = append(w.pieces, piece{on, float64(now), h.Set.FullKgH() * (float64(now) - on) / 60 * asIs})
	}
}

// live goes through a day from a step on; the day after the last only as far as
// its morning.
func (w *writer) live(chooser sim.Chooser, day, ofDay int) {
	h, d := w.House, w.Demand
	perDay, step, stepH := h.Span.StepsADay(), h.Span.StepMinutes, h.Span.StepH()
	at := sim.Moment{Step: day*perDay + ofDay, Day: day, OfDay: ofDay}
	for ; at.OfDay < perDay; at.OfDay++ {
		begins := at.Step * step
		if day > 0 && at.OfDay*step >= w.morning && len(w.sheet.Mornings) < day {
			w.sheet.Mornings = append(w.sheet.Mornings, ChargeAt{begins, 100 * w.state.Bank.StoredKWh() / h.Bank.FullKWh})
			if day == w.Days {
				return
			}
		}
		c := chooser.Choose(&w.state, at)
		f := sim.Flows{LoadKW: d.ExpectedLoadKW[at.Step] + c.ChoreKW, OtherKW: d.ExpectedOtherKW[at.Step]}
		if day == 0 && at.OfDay == ofDay || at.OfDay == 0 {
			w.chores(chooser, day)
		}
		if !c.Run {
			w.stop(begins)
		}
		before := w.state.Bank.StoredKWh()
		h.Advance(&w.state, &f, at, c)
		if f.Run {
			w.burn(begins, &f)
			w.untilEngine(begins, before, &f)
		}
		if missing := f.ShortfallKW * stepH; missing > 0 {
			w.sheet.ShortKWh += missing
			if w.sheet.DarkMinute < 0 && missing > shortCrumbKWh {
				w.sheet.DarkMinute = begins
			}
		}
		w.note(begins+step, &w.state)
		at.Step++
	}
	w.stop((day + 1) * calendar.MinutesADay)
}

// shortCrumbKWh: a step that misses more is dark.
const shortCrumbKWh = 0.001

// chores writes down when the day's chores begin.
func (w *writer) chores(chooser sim.Chooser, day int) {
	var starts []loads.Start
	if chosen, ok := chooser.(*plan.Chosen); ok {
		starts = chosen.ChoresToday(day)
	} else {
		starts, _ = loads.FirstStarts(w.Wants.Chores, w.House.Span, w.Demand.AwayDay)
	}
	for _, s := range starts {
		if at := int(math.Round(s.Minute)); at/calendar.MinutesADay == day && (day > 0 || at >= w.Minute) && day < w.Days {
			w.sheet.Chores = append(w.sheet.Chores, SheetChore{s.Chore.Name, at, int(math.Round(s.Minute + s.Chore.Minutes())), s.Chore.KWh})
		}
	}
}

// burn writes down a step of a run.
func (w *writer) burn(begins int, f *sim.Flows) {
	h, step := w.House, w.House.Span.StepMinutes
	lightKg := 0.0 // as it lies
	if f.Match {
		w.sheet.Runs = append(w.sheet.Runs, SheetRun{Match: begins, EngineOn: begins + h.Set.LightUpMinutes})
		w.burning, w.pieces = &w.sheet.Runs[len(w.sheet.Runs)-1], w.pieces[:0]
		if u := f.Burned.AsIsKg/f.Burned.DryKg - 1; f.Burned.DryKg > 0 {
			lightKg = min(f.Burned.AsIsKg, h.Set.LightUpKg/h.HeatFactor(u)*(1+u))
		}
		w.pieces = append(w.pieces, piece{float64(begins), float64(w.burning.EngineOn), lightKg})
	}
	r := w.burning
	ends := float64(begins + step)
	w.pieces = append(w.pieces, piece{ends - f.Ready*float64(step), ends, f.Burned.AsIsKg - lightKg})
	r.WoodAsIsKg += f.Burned.AsIsKg
	r.WoodDryKg += f.Burned.DryKg
	r.MadeKWh += f.EngineKW * h.Span.StepH()
	r.EngineH += f.Ready * h.Span.StepH()
	r.CondensateL += f.CondensateL
}

// untilEngine keeps the charge as the engine takes over, where that lies within a
// step: until then the house draws on the bank.
func (w *writer) untilEngine(begins int, storedKWh float64, f *sim.Flows) {
	h, on := w.House, w.burning.EngineOn
	if on <= begins || on >= begins+h.Span.StepMinutes {
		return
	}
	drawnKWh := max(0, f.LoadKW-f.OtherKW) * float64(on-begins) / 60 / h.ServableKWh(1)
	pct := 100 * max(min(storedKWh, h.Days[0].Bank.FloorKWh), storedKWh-drawnKWh) / h.Bank.FullKWh
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{on, pct})
}

// stop ends the burning run, if there is one.
func (w *writer) stop(minute int) {
	if w.burning == nil {
		return
	}
	w.burning.Stop = max(minute, w.Minute)
	w.burning.Refuel = refuels(w.pieces, w.HopperKg, w.Minute)
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
			if minute := int(p.from + (p.to-p.from)*(next-burned)/p.kg); minute >= now {
				at = append(at, Refuel{minute, min(hopperKg, all-next)})
			}
			next += hopperKg
		}
		burned += p.kg
	}
	return at
}

// finish leaves out what lies after the sheet's days.
func (w *writer) finish() {
	end := w.Days * calendar.MinutesADay
	for len(w.sheet.Runs) > 0 && w.sheet.Runs[len(w.sheet.Runs)-1].Match >= end {
		w.sheet.Runs = w.sheet.Runs[:len(w.sheet.Runs)-1]
	}
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
