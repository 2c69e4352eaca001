package sim

import (
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// A Command is what is done in a step: whether the set burns, and the mean
// power of the chores placed in it. Failed counts light-ups that fail before the
// one that takes, where the step strikes the match: bad luck, which no chooser
// commands. Each costs its wood and its minutes.
type Command struct {
	Run     bool
	Failed  int
	ChoreKW float64
	Call    Call // on the stand-by set, where Run is false
}

// Power is what the electric side of a step did: AC means at the house in kW,
// and the bank's losses. Of panels wired to the bank it is told what they can give.
type Power struct {
	EngineKW, ChargeKW, DischargeKW, ShortfallKW, SpillKW float64
	Sun                                                   Sun
	Lost                                                  battery.Losses
}

// Sun is the power of panels wired to the bank, DC means at its terminals in kW, behind their
// charge controllers, and where it went.
type Sun struct {
	KW       float64 // what they can give
	HouseKW  float64 // straight to the inverter, its idle draw with it
	BankKW   float64 // into the bank
	UnusedKW float64 // that nobody took
	ServedKW float64 // AC: of what the inverter gave, what came straight from the panels
}

// FromBankKW is what the inverter gave out of the bank, AC.
func (p *Power) FromBankKW() float64 { return p.DischargeKW - p.Sun.ServedKW }

// Flows is all that happened in a step.
type Flows struct {
	Power
	LoadKW, OtherKW float64 // load with its chores
	HouseSunKW      float64 // of OtherKW: from panels wired to the house, AC
	Run, Match      bool
	StandbyKW       float64 // AC, of the stand-by set
	PetrolLitres    float64
	StandbyStart    bool
	Ready           float64 // share of the step in which the engine gave power
	Burned          woodpile.Burned
	CondensateL     float64
	Moved           woodpile.Moved // on the pile as the day ends
}

// Electric moves the bank through a step in which the house wants loadKW, other
// sources give otherKW and the engine can give what e says. s becomes the bank
// at the step's end; p, empty before but for Sun.KW, what happened.
func (h *House) Electric(bank *battery.Paced, s *battery.State, p *Power, loadKW, otherKW float64, e Engine) {
	if p.Sun.KW > 0 {
		limits := bank.SunLimits(*s)
		var t battery.Terminal
		p.BalanceInSun(&t, bank, &limits, loadKW-otherKW, &e)
		*s, p.Lost = bank.MoveInSun(*s, &t)
		return
	}
	limits := battery.Limits{}
	if e.Ready > 0 || loadKW < otherKW {
		limits.AcceptKW = bank.AcceptKW(s.StoredKWh())
	}
	if e.Ready < 1 || loadKW-otherKW > e.MostKW {
		limits.IdleKW, limits.MostKW = bank.Draw(*s, bank.InverterIdleKW*(1-e.Ready))
	}
	p.Balance(limits, loadKW-otherKW, e)
	*s, p.Lost = bank.Move(*s, p.ChargeKW, p.DischargeKW, limits.IdleKW)
}

// Balance fills in what engine and bank do in a step in which the house wants netKW
// more than other sources give.
func (p *Power) Balance(bank battery.Limits, netKW float64, e Engine) {
	if e.Ready > 0 {
		p.EngineKW = min(max(netKW+bank.AcceptKW, e.LeastKW*e.Ready), e.MostKW*e.Ready)
	}
	if surplusKW := p.EngineKW - netKW; surplusKW >= 0 {
		p.ChargeKW = min(surplusKW, bank.AcceptKW)
		p.SpillKW = surplusKW - p.ChargeKW
	} else {
		p.DischargeKW = min(bank.MostKW, -surplusKW)
		p.ShortfallKW = -surplusKW - p.DischargeKW
	}
}

// BalanceInSun is Balance where panels give at the bank's terminals, as p says; t, empty before, is
// what happens there. The panels go first: the engine charges what room they leave, and the inverter
// takes theirs before the bank's.
func (p *Power) BalanceInSun(t *battery.Terminal, bank *battery.Paced, limits *battery.Limits, netKW float64, e *Engine) {
	sunKW, idleKW, wantedKW := p.Sun.KW, bank.InverterIdleKW, 0.0 // wanted of the inverter, AC
	surplusKW := -netKW
	if e.Ready > 0 {
		idleKW *= 1 - e.Ready
		left := limits.RoomKW - max(0, min(sunKW-idleKW, limits.RoomKW))
		p.EngineKW = min(max(netKW+bank.ChargerTakesKW(left), e.LeastKW*e.Ready), e.MostKW*e.Ready)
		surplusKW += p.EngineKW
	}
	t.IdleKW = idleKW
	overKW, roomKW := sunKW-idleKW, limits.RoomKW // of the panels beyond what goes to the inverter
	if surplusKW >= 0 {
		p.ChargeKW = min(surplusKW, bank.ChargerTakesKW(roomKW))
		p.SpillKW = surplusKW - p.ChargeKW
		t.ChargerKW = p.ChargeKW
		roomKW = max(0, roomKW-p.ChargeKW*bank.ChargerEfficiency)
	} else {
		wantedKW = min(-surplusKW, bank.InverterKW)
		overKW -= bank.InverterTakesKW(wantedKW)
	}
	switch {
	case overKW >= 0:
		p.Sun.BankKW = min(overKW, roomKW)
		p.Sun.HouseKW, p.Sun.UnusedKW = sunKW-overKW, overKW-p.Sun.BankKW
		p.DischargeKW, p.Sun.ServedKW = wantedKW, wantedKW
	case -overKW <= limits.GivesKW:
		p.Sun.HouseKW, t.GivenKW, p.DischargeKW = sunKW, -overKW, wantedKW
		p.Sun.ServedKW = min(wantedKW, max(0, sunKW-idleKW)*bank.InverterEfficiency)
	default: // the bank is at its floor
		p.Sun.HouseKW, t.GivenKW = sunKW, limits.GivesKW
		t.IdleKW = min(idleKW, sunKW+t.GivenKW)
		p.DischargeKW = min(wantedKW, (sunKW+t.GivenKW-t.IdleKW)*bank.InverterEfficiency)
		p.Sun.ServedKW = min(p.DischargeKW, max(0, sunKW-idleKW)*bank.InverterEfficiency)
	}
	if surplusKW < 0 {
		p.ShortfallKW = max(0, -surplusKW-p.DischargeKW)
	}
	t.SunInKW, t.SunOutKW = p.Sun.BankKW, p.Sun.HouseKW
}

// Step moves the household through a step and says what happened. The command
// must keep the rules (MayRun, MustRun): one that does not is a chooser's fault.
func (h *House) Step(s State, at Moment, loadKW, otherKW float64, c Command) (State, Flows) {
	f := Flows{LoadKW: loadKW + c.ChoreKW, OtherKW: otherKW}
	h.Advance(&s, &f, at, c)
	return s, f
}

// Advance is Step in place: a year has no time for copies of the pile. f holds the
// step's load, chores and all, and other power, and no more.
func (h *House) Advance(s *State, f *Flows, at Moment, c Command) {
	day := &h.Days[at.Day]
	h.tend(s, f, at, c)
	var e Engine
	dryBasis := h.Pile.RatedDryBasis
	if f.Run {
		if !h.Pile.Endless {
			dryBasis = h.Pile.NextDryBasis(&s.Pile)
		}
		e = h.Engine(day, dryBasis, f.Ready)
		h.swing(s, &e)
	}
	s.WantedKWh += (f.LoadKW - c.ChoreKW) * h.stepH
	s.SunKWh += (f.Sun.KW + f.HouseSunKW) * h.stepH
	if !h.standBy(s, f, at, c) {
		h.Electric(day.Bank, &s.Bank, &f.Power, f.LoadKW, f.OtherKW, e)
	}
	if f.Run {
		burnedKg := h.BurnedKg(dryBasis, e, f.EngineKW, f.Match)
		if c.Failed > 0 && f.Match {
			burnedKg += float64(c.Failed) * h.Set.LightUpKg / h.HeatFactor(dryBasis)
		}
		f.Burned = h.Pile.Burn(&s.Pile, burnedKg)
		f.CondensateL = f.Burned.DryKg * h.Factors.CondensateL(h.moisture(dryBasis))
	}
	if at.OfDay == h.stepsADay-1 {
		s.TendedSteps, s.Starts = 0, 0
		if !h.Pile.Endless {
			f.Moved = h.Pile.Lay(&s.Pile, at.Day)
			f.Moved.Add(h.Pile.Night(&s.Pile, day.Drying))
		}
	}
}

// swing changes what the set gives by today's luck. No more than usual is given where
// what lies ready might not feed it.
func (h *House) swing(s *State, e *Engine) {
	mostKg := (1 + s.SetSwing) * (h.fullStepKg + h.Set.LightUpKg)
	if s.SetSwing == 0 || s.SetSwing > 0 && !h.Pile.Endless && h.Pile.ReadyKg(&s.Pile) < mostKg {
		return
	}
	e.MostKW *= 1 + s.SetSwing
	if h.Set.AlternatorKW > 0 {
		e.MostKW = min(e.MostKW, h.Set.AlternatorKW)
	}
	e.LeastKW = min(e.LeastKW, e.MostKW)
}

// tend lights, feeds or stops the set.
func (h *House) tend(s *State, f *Flows, at Moment, c Command) {
	if !c.Run {
		if s.LitSteps > 0 && h.MustRun(s, at) {
			panic("sim: a run was stopped too soon at " + h.Span.StepTime(at.Step))
		}
		s.LitSteps, s.LateMinutes = 0, 0
		return
	}
	if !h.MayRun(s, at) {
		panic("sim: a run breaks the rules of tending at " + h.Span.StepTime(at.Step))
	}
	f.Run, f.Match = true, s.LitSteps == 0
	if f.Match {
		s.Starts++
		s.LateMinutes = c.Failed * h.Set.LightUpMinutes
	}
	f.Ready = h.ReadyNext(s)
	s.LitSteps++
	s.TendedSteps++
}
