package study

import (
	"math"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
)

// A writer goes through the sheet's days and writes down what happens.
type writer struct {
	*Evening
	state   sim.State
	sheet   *Sheet
	burning *SheetRun
	pieces  []piece // of the burning run
	morning int

	chooser   sim.Chooser
	factor    float64 // on the first day's load, as far as it is known
	begun     bool    // the day's chores are written down
	beforeKWh float64 // stored as the step begins
}

// A piece is wood as it lies that burns evenly between two minutes.
type piece struct{ from, to, kg float64 }

// note keeps the charge at a minute.
func (w *writer) note(minute int, s *sim.State) {
	w.sheet.Charge = append(w.sheet.Charge, ChargeAt{minute, 100 * s.Bank.StoredKWh() / w.House.Bank.FullKWh})
}

// relight takes up the run that burns already: what it has burned so far is taken
// as at full power.
func (w *writer) relight() {
	h := w.House
	w.sheet.Runs = append(w.sheet.Runs, SheetRun{Match: w.LitMinute, EngineOn: w.LitMinute + h.Set.LightUpMinutes, Lit: true})
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
	want := sim.Want{LoadKW: d.ExpectedLoadKW, OtherKW: d.ExpectedOtherKW, Factor: 1}
	if day == 0 {
		want.Factor = w.factor
	}
	w.begun = false
	h.LiveDay(&w.state, sim.Moment{Step: day*perDay + ofDay, Day: day, OfDay: ofDay}, until, &want, w, w.watch)
	if day == w.Days {
		w.wake(sim.Moment{Step: day*perDay + until, Day: day, OfDay: until}, &w.state)
		return
	}
	w.stop((day + 1) * calendar.MinutesADay)
}

// wake keeps the charge of a morning.
func (w *writer) wake(at sim.Moment, s *sim.State) {
	h, step := w.House, w.House.Span.StepMinutes
	if at.Day > 0 && at.OfDay*step >= w.morning && len(w.sheet.Mornings) < at.Day {
		w.sheet.Mornings = append(w.sheet.Mornings, ChargeAt{at.Step * step, 100 * s.Bank.StoredKWh() / h.Bank.FullKWh})
	}
}

// Choose asks the plan, and writes down what begins and ends with a step.
func (w *writer) Choose(s *sim.State, at sim.Moment) sim.Command {
	w.wake(at, s)
	c := w.chooser.Choose(s, at)
	if !w.begun {
		w.begun = true
		w.chores(at.Day)
	}
	if !c.Run {
		w.stop(at.Step * w.House.Span.StepMinutes)
	}
	w.beforeKWh = s.Bank.StoredKWh()
	return c
}

// watch writes down what happened in a step.
func (w *writer) watch(at sim.Moment, s *sim.State, f *sim.Flows) {
	step, stepH := w.House.Span.StepMinutes, w.House.Span.StepH()
	begins := at.Step * step
	if f.Run {
		w.burn(begins, f)
		w.untilEngine(begins, w.beforeKWh, f)
	}
	if missing := f.ShortfallKW * stepH; missing > 0 {
		w.sheet.ShortKWh += missing
		if w.sheet.DarkMinute < 0 && missing > shortCrumbKWh {
			w.sheet.DarkMinute = max(begins, w.Minute)
		}
	}
	w.note(begins+step, s)
}

// shortCrumbKWh: a step that misses more is dark.
const shortCrumbKWh = 0.001

// chores writes down when the day's chores begin.
func (w *writer) chores(day int) {
	var starts []loads.Start
	if chosen, ok := w.chooser.(*plan.Chooser); ok {
		starts = chosen.ChoresToday(day)
	} else {
		starts, _ = loads.FirstStarts(w.Wants.Chores, w.House.Span, w.Demand.AwayDay)
	}
	for _, s := range starts {
		if at := int(math.Round(s.Minute)); at/calendar.MinutesADay == day && (day > 0 || at >= w.Minute) && day < w.Days {
			w.sheet.Chores = append(w.sheet.Chores, SheetChore{s.Chore.Name, at,
				int(math.Round(s.Minute + s.Chore.Minutes())), s.Chore.KWh})
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
	pct := 100 * max(min(storedKWh, h.Days[begins/calendar.MinutesADay].Bank.FloorKWh), storedKWh-drawnKWh) / h.Bank.FullKWh
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
			if minute := int(math.Round(p.from + (p.to-p.from)*(next-burned)/p.kg)); minute >= now {
				at = append(at, Refuel{minute, min(hopperKg, all-next)})
			}
			next += hopperKg
		}
		burned += p.kg
	}
	return at
}

// BringKg is the wood as it lies that a run wants beyond what is in the hopper: all
// of it, or for one that burns already what it is refuelled with.
func (r *SheetRun) BringKg() float64 {
	if !r.Lit {
		return r.WoodAsIsKg
	}
	kg := 0.0
	for _, refuel := range r.Refuel {
		kg += refuel.AsIsKg
	}
	return kg
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
