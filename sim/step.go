package sim

import (
	"fmt"

	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// A Command is what is done in a step: whether the set burns, and the mean
// power of the chores placed in it.
type Command struct {
	Run     bool
	ChoreKW float64
}

// Power is what the electric side of a step did: AC means at the house in kW,
// and the bank's losses.
type Power struct {
	EngineKW, ChargeKW, DischargeKW, ShortfallKW, SpillKW float64
	Lost                                                  battery.Losses
}

// Flows is all that happened in a step.
type Flows struct {
	Power
	LoadKW, OtherKW float64 // load with its chores
	Run, Match      bool
	Ready           float64 // share of the step in which the engine gave power
	Burned          woodpile.Burned
	LostDryKg       float64 // of the pile, as the day ends
}

// Electric moves the bank through a step in which the house wants loadKW, other
// sources give otherKW and the engine is ready for a share of it.
func (h *House) Electric(day *Day, s battery.State, loadKW, otherKW, ready float64) (battery.State, Power) {
	var p Power
	bank, net := day.Bank, loadKW-otherKW
	acceptKW := 0.0
	if ready > 0 || net < 0 {
		acceptKW = bank.AcceptKW(s.StoredKWh())
	}
	if ready > 0 {
		p.EngineKW = min(max(net+acceptKW, day.LeastKW*ready), day.MostKW*ready)
	}
	idleKW := 0.0
	if surplusKW := p.EngineKW - net; surplusKW >= 0 {
		p.ChargeKW = min(surplusKW, acceptKW)
		p.SpillKW = surplusKW - p.ChargeKW
		if ready < 1 {
			idleKW, _ = bank.Draw(s, bank.InverterIdleKW*(1-ready))
		}
	} else {
		var mostKW float64
		idleKW, mostKW = bank.Draw(s, bank.InverterIdleKW*(1-ready))
		p.DischargeKW = min(-surplusKW, mostKW)
		p.ShortfallKW = -surplusKW - p.DischargeKW
	}
	s, p.Lost = bank.Move(s, p.ChargeKW, p.DischargeKW, idleKW)
	return s, p
}

// Step moves the household through a step and tells what happened. The command
// must keep the rules (MayRun, MustRun): one that does not is a chooser's fault.
func (h *House) Step(s State, step int, loadKW, otherKW float64, c Command) (State, Flows) {
	f := Flows{LoadKW: loadKW + c.ChoreKW, OtherKW: otherKW}
	h.step(&s, &f, step, c)
	return s, f
}

// step is Step in place: a year has no time for copies of the pile.
func (h *House) step(s *State, f *Flows, step int, c Command) {
	day := &h.Days[step/h.stepsADay]
	h.tend(s, f, step, c)
	s.Bank, f.Power = h.Electric(day, s.Bank, f.LoadKW, f.OtherKW, f.Ready)
	if f.Run {
		s.Pile, f.Burned = h.Pile.Burn(s.Pile, h.Set.BurnedKg(f.Ready, f.EngineKW, h.stepH, f.Match))
	}
	if (step+1)%h.stepsADay == 0 {
		s.TendedSteps, s.Starts = 0, 0
		s.Pile, f.LostDryKg = h.Pile.Night(s.Pile)
	}
}

// tend lights, feeds or stops the set.
func (h *House) tend(s *State, f *Flows, step int, c Command) {
	if c.Run && !h.MayRun(s, step) || !c.Run && h.MustRun(s, step) {
		panic(fmt.Sprintf("sim: a command breaks the rules of tending at %s", h.Span.StepTime(step)))
	}
	if !c.Run {
		s.LitSteps = 0
		return
	}
	f.Run, f.Match = true, s.LitSteps == 0
	if f.Match {
		s.Starts++
	}
	s.LitSteps++
	s.TendedSteps++
	f.Ready = h.Set.Ready(s.LitSteps*h.Span.StepMinutes, h.Span.StepMinutes)
}
