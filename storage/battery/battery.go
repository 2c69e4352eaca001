// Package battery models the bank with its charger and inverter: how much it
// takes, how much it gives, and what is lost on the way.
//
// A Bank is equipment and never changes. Prepare it for a step length and an
// air temperature with Paced, then move a State (a plain value) through steps:
// AcceptKW and Draw say what is possible, Move does it and books the losses.
//
// Energy stands in two wells (Manwell & McGowan 1993, Solar Energy 50:399), which limit discharge
// only; charging is limited by the charger, the bank's highest charging power, a taper near full
// and the ceiling. Left out: voltage, the ageing of capacity, and differences between cells.
package battery

import (
	"math"

	"twigwatt/sim/curve"
)

// A Bank is the batteries with charger and inverter. Shares and efficiencies
// are 0 to 1, energies kWh at the battery's terminals unless AC is said.
type Bank struct {
	Kind    Kind
	FullKWh float64 // the two-well model's full size, more than 0: see YieldShare
	Volts   float64 // nominal; 0: not said

	FloorShare, CeilingShare float64 // of FullKWh; floor below ceiling
	AtHandShare              float64 // c of the two wells, more than 0, at most 1
	SettlePerH               float64 // k of the two wells (K/(c(1−c))), more than 0

	MaxChargeKW         float64     // DC
	TaperHours          float64     // time constant of the absorption charge, more than 0
	ChargeCurve         curve.Curve // charging efficiency, percent, by percent of charge; one point or more
	DischargeEfficiency float64
	SelfDischargeShare  float64 // lost in a month of 730.5 h at 20 °C
	TemperatureEffects  bool
	CycleLife           curve.Curve // cycles to the end of life, by percent of depth; one point or more

	ChargerKW          float64 // AC
	ChargerEfficiency  float64
	InverterKW         float64 // AC
	InverterEfficiency float64
	InverterIdleKW     float64 // taken at the terminals while the engine gives nothing
}

// FullShare is the share of charge from which a bank counts as full.
const FullShare = 0.97

// MonthH is the mean length of a month in hours.
const MonthH = 730.5

// A State is the energy stored, in kWh: what is at hand and what is bound.
type State struct{ AtHandKWh, BoundKWh float64 }

// StoredKWh returns all energy stored.
func (s State) StoredKWh() float64 { return s.AtHandKWh + s.BoundKWh }

// Rested returns a state of storedKWh with its wells level.
func (b *Bank) Rested(storedKWh float64) State {
	return State{AtHandKWh: b.AtHandShare * storedKWh, BoundKWh: (1 - b.AtHandShare) * storedKWh}
}

// Paced is a bank prepared for steps of one length at one air temperature.
type Paced struct {
	*Bank
	StepH               float64
	AirC                float64
	FloorKWh            float64 // with the cold's share on it
	CeilingKWh          float64
	RefusesCharge       bool    // lithium at or below 0 °C
	leakShare           float64 // of stored, in a step
	taperShare          float64 // of the room to full, in a step
	fromAtHand, fromAll float64 // at hand after an idle step = fromAtHand·atHand + fromAll·stored
	perDrawKWh          float64 // at hand lost for each kWh drawn evenly through the step
	intoKWh             float64 // into the bank's terminals for each AC kW into the charger
	servedKWh           float64 // out of the wells for each AC kW from the inverter
	idleKWh             float64 // out of the wells for each kW at the terminals
	fullAtHandKWh       float64
	mostChargeKW        float64   // AC, by charger and bank
	acPerDC, dcPerAC    float64   // into the charger for each into the bank; from the bank for each from the inverter
	pieces              []segment // of the charging efficiency
}

// segment is a straight piece of the charging efficiency above fromKWh.
type segment struct{ fromKWh, efficiency, perKWh float64 }

// Paced prepares the bank. stepH must be more than 0; airC is the air around it.
func (b *Bank) Paced(stepH, airC float64) *Paced {
	c, kh := b.AtHandShare, b.SettlePerH*stepH
	e := math.Exp(-kh)
	p := &Paced{Bank: b, StepH: stepH, AirC: airC,
		FloorKWh: b.FloorShare * b.FullKWh, CeilingKWh: b.CeilingShare * b.FullKWh, fullAtHandKWh: c * b.FullKWh,
		fromAtHand: e, fromAll: c * (1 - e), perDrawKWh: ((1 - e) + c*(kh-1+e)) / kh,
		taperShare:   1 - math.Exp(-stepH/b.TaperHours),
		mostChargeKW: min(b.ChargerKW, b.MaxChargeKW/b.ChargerEfficiency),
		intoKWh:      stepH * b.ChargerEfficiency, idleKWh: stepH / b.DischargeEfficiency}
	p.servedKWh = p.idleKWh / b.InverterEfficiency
	p.acPerDC, p.dcPerAC = 1/b.ChargerEfficiency, 1/b.InverterEfficiency
	selfDischarge := b.SelfDischargeShare
	if b.TemperatureEffects {
		p.FloorKWh += (p.CeilingKWh - p.FloorKWh) * (1 - CapacityFactor(airC))
		selfDischarge = SelfDischargeAt(b.SelfDischargeShare, airC)
		p.RefusesCharge = b.Kind == Lithium && airC <= 0
	}
	p.leakShare = 1 - math.Pow(1-selfDischarge, stepH/MonthH)
	for i, point := range b.ChargeCurve {
		piece := segment{fromKWh: point.X / 100 * b.FullKWh, efficiency: point.Y / 100}
		if i+1 < len(b.ChargeCurve) {
			next := b.ChargeCurve[i+1]
			piece.perKWh = (next.Y - point.Y) / (next.X - point.X) / b.FullKWh
		}
		p.pieces = append(p.pieces, piece)
	}
	return p
}

// ChargeEfficiency returns the charging efficiency at a stored energy. Outside
// the curve's ends it keeps the end's value.
func (p *Paced) ChargeEfficiency(storedKWh float64) float64 {
	i := len(p.pieces) - 1
	for i > 0 && storedKWh < p.pieces[i].fromKWh {
		i--
	}
	piece := &p.pieces[i]
	return piece.efficiency + piece.perKWh*max(0, storedKWh-piece.fromKWh)
}

// LeakKWh returns what self-discharge takes in a step.
func (p *Paced) LeakKWh(storedKWh float64) float64 { return storedKWh * p.leakShare }

// AcceptKW returns the most AC power the charger takes through a step: the least
// of what the charger, the bank, the taper and the ceiling allow.
func (p *Paced) AcceptKW(storedKWh float64) float64 {
	if p.RefusesCharge {
		return 0
	}
	taper := min((p.FullKWh-storedKWh)*p.taperShare, p.CeilingKWh-storedKWh+p.LeakKWh(storedKWh))
	switch {
	case taper <= 0:
		return 0
	case p.mostChargeKW*p.intoKWh <= taper: // whatever the efficiency, which is 1 at most
		return p.mostChargeKW
	}
	return min(p.mostChargeKW, taper/(p.intoKWh*p.ChargeEfficiency(storedKWh)))
}

// RoomKW returns the most DC power that the bank takes at its terminals through a step, from
// whatever charges it.
func (p *Paced) RoomKW(storedKWh float64) float64 {
	if p.RefusesCharge {
		return 0
	}
	taper := min((p.FullKWh-storedKWh)*p.taperShare, p.CeilingKWh-storedKWh+p.LeakKWh(storedKWh))
	if taper <= 0 {
		return 0
	}
	return min(p.MaxChargeKW, taper/(p.StepH*p.ChargeEfficiency(storedKWh)))
}

// ChargerTakesKW returns the most AC power that the charger takes where the bank takes so much DC.
func (p *Paced) ChargerTakesKW(roomKW float64) float64 { return min(p.ChargerKW, roomKW*p.acPerDC) }

// InverterTakesKW returns what the inverter takes, DC, for so much AC.
func (p *Paced) InverterTakesKW(acKW float64) float64 { return acKW * p.dcPerAC }

// Draw returns what the bank can give through a step: the inverter's idle draw
// (DC, at most wantedIdleKW, taken first) and then AC power from the inverter.
// The floor and the at-hand well limit both together.
func (p *Paced) Draw(s State, wantedIdleKW float64) (idleKW, mostKW float64) {
	terminalsKW := p.TerminalsKW(s)
	if terminalsKW <= wantedIdleKW {
		return terminalsKW, 0
	}
	return wantedIdleKW, min(p.InverterKW, (terminalsKW-wantedIdleKW)*p.InverterEfficiency)
}

// TerminalsKW returns the most DC power that the bank gives at its terminals through a step.
func (p *Paced) TerminalsKW(s State) float64 {
	kept := 1 - p.leakShare
	stored := s.StoredKWh() * kept
	mostKWh := stored - p.FloorKWh
	if atHand := p.fromAtHand*s.AtHandKWh*kept + p.fromAll*stored; atHand < mostKWh*p.perDrawKWh {
		mostKWh = atHand / p.perDrawKWh
	}
	return max(0, mostKWh) / p.idleKWh
}

// Limits are what a bank can take and give through a step, whatever the house wants.
type Limits struct {
	AcceptKW float64 // AC, into the charger
	IdleKW   float64 // DC, of the inverter's idle draw
	MostKW   float64 // AC, from the inverter on top of it

	// DC at the terminals, where panels give there too
	RoomKW, GivesKW float64 // most in, and most out
}

// Limits returns what a bank can take and give, where the inverter wants wantedIdleKW.
func (p *Paced) Limits(s State, wantedIdleKW float64) Limits {
	idleKW, mostKW := p.Draw(s, wantedIdleKW)
	return Limits{AcceptKW: p.AcceptKW(s.StoredKWh()), IdleKW: idleKW, MostKW: mostKW}
}

// SunLimits returns what a bank can take and give at its terminals, where panels give there too.
func (p *Paced) SunLimits(s State) Limits {
	return Limits{RoomKW: p.RoomKW(s.StoredKWh()), GivesKW: p.TerminalsKW(s)}
}

// Losses are the energies a step turned into heat, in kWh: self-discharge,
// charging (charger and bank, with anything above the ceiling), discharging
// (bank and inverter) and the inverter's idle draw with the bank's loss on it.
type Losses struct{ LeakKWh, ChargeKWh, DischargeKWh, IdleKWh float64 }

// Add adds another step's.
func (l *Losses) Add(o Losses) {
	l.LeakKWh += o.LeakKWh
	l.ChargeKWh += o.ChargeKWh
	l.DischargeKWh += o.DischargeKWh
	l.IdleKWh += o.IdleKWh
}

// TotalKWh returns the sum.
func (l Losses) TotalKWh() float64 { return l.LeakKWh + l.ChargeKWh + l.DischargeKWh + l.IdleKWh }

// Move takes inKW AC into the charger and outKW AC from the inverter, with
// idleKW at the terminals, through a step. inKW must be within AcceptKW, the
// others within Draw. The charging efficiency is read half-way through.
func (p *Paced) Move(s State, inKW, outKW, idleKW float64) (State, Losses) {
	drawKWh, lost := p.through(s.StoredKWh(), inKW, outKW, idleKW)
	return p.drawn(s, drawKWh, lost.LeakKWh), lost
}

// A Terminal is what happens at the bank's terminals through a step in which panels give there
// too, kW: the charger is counted AC, all else DC.
type Terminal struct {
	ChargerKW float64 // into the charger, AC
	SunInKW   float64 // of the panels, into the bank
	SunOutKW  float64 // of the panels, straight to the inverter
	GivenKW   float64 // by the bank, to the inverter
	IdleKW    float64 // the inverter's idle draw, which the panels meet first
}

// MoveInSun is Move where panels give at the terminals. What charger and panels give goes in
// together, at the efficiency half-way through. ChargerKW and SunInKW together must be within
// RoomKW, GivenKW within TerminalsKW, and one of the last two 0.
func (p *Paced) MoveInSun(s State, t *Terminal) (State, Losses) {
	stored := s.StoredKWh()
	intoKWh := p.intoInSun(stored, t)
	throughKW := max(0, t.SunOutKW+t.GivenKW-t.IdleKW) // the inverter
	bankIdleKW := min(t.GivenKW, max(0, t.IdleKW-t.SunOutKW))
	lost := Losses{LeakKWh: p.LeakKWh(stored), ChargeKWh: (t.ChargerKW+t.SunInKW)*p.StepH - intoKWh,
		IdleKWh:      t.IdleKW*p.StepH + bankIdleKW*(p.idleKWh-p.StepH),
		DischargeKWh: throughKW*p.StepH*(1-p.InverterEfficiency) + (t.GivenKW-bankIdleKW)*(p.idleKWh-p.StepH)}
	return p.drawn(s, t.GivenKW*p.idleKWh-intoKWh, lost.LeakKWh), lost
}

// StoredAfterSun returns the energy stored after such a step, its wells left out.
func (p *Paced) StoredAfterSun(storedKWh float64, t *Terminal) float64 {
	return storedKWh*(1-p.leakShare) + p.intoInSun(storedKWh, t) - t.GivenKW*p.idleKWh
}

// intoInSun is what is stored of what charger and panels give.
func (p *Paced) intoInSun(stored float64, t *Terminal) float64 {
	dcKWh := t.ChargerKW*p.intoKWh + t.SunInKW*p.StepH
	if dcKWh == 0 {
		return 0
	}
	return p.storedOf(stored, dcKWh, stored*p.leakShare)
}

// storedOf is what is stored of DC energy into the terminals.
func (p *Paced) storedOf(stored, dcKWh, leakKWh float64) float64 {
	halfway := stored + dcKWh*p.ChargeEfficiency(stored)/2
	return min(dcKWh*p.ChargeEfficiency(halfway), p.CeilingKWh-stored+leakKWh) // of a curve that rises more would stay than fits
}

// drawn is a state after a step that took so much out of the wells.
func (p *Paced) drawn(s State, drawKWh, leakKWh float64) State {
	stored := s.StoredKWh()
	if p.AtHandShare == 1 {
		return State{AtHandKWh: stored - leakKWh - drawKWh}
	}
	kept := 1 - p.leakShare
	before := stored * kept
	after := before - drawKWh
	atHand := p.fromAtHand*s.AtHandKWh*kept + p.fromAll*before - p.perDrawKWh*drawKWh
	if atHand > p.fullAtHandKWh { // as branches: min and max take longer, and every step comes here
		atHand = p.fullAtHandKWh
	}
	if atHand > after {
		atHand = after
	}
	if atHand < 0 {
		atHand = 0
	}
	return State{AtHandKWh: atHand, BoundKWh: after - atHand}
}

// StoredAfter returns the energy stored after such a step, its wells left out.
func (p *Paced) StoredAfter(storedKWh, inKW, outKW, idleKW float64) float64 {
	drawKWh, lost := p.through(storedKWh, inKW, outKW, idleKW)
	return storedKWh - lost.LeakKWh - drawKWh
}

// through returns what a step takes out of the wells, and what it loses.
func (p *Paced) through(stored, inKW, outKW, idleKW float64) (drawKWh float64, lost Losses) {
	lost.LeakKWh = stored * p.leakShare
	intoKWh, outOfKWh := 0.0, 0.0
	if inKW > 0 {
		intoKWh = p.storedOf(stored, inKW*p.intoKWh, lost.LeakKWh)
		lost.ChargeKWh = inKW*p.StepH - intoKWh
	}
	if outKW > 0 {
		outOfKWh = outKW * p.servedKWh
		lost.DischargeKWh = outOfKWh - outKW*p.StepH
	}
	if idleKW > 0 {
		lost.IdleKWh = idleKW * p.idleKWh
		outOfKWh += lost.IdleKWh
	}
	return outOfKWh - intoKWh, lost
}
