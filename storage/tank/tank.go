// Package tank models a tank of hot water that the set heats: what of its waste heat goes into the
// water, what the house draws, what warms its rooms, and what is lost.
//
// A Tank is equipment and never changes; a State is a plain value that Step moves on. The water is one
// warmth all through, which is pessimistic: layers give more. Left out: pipes, condensing, and how much
// heat a house wants.
package tank

import (
	"math"

	"twigwatt/sim/calendar"
)

// KWhPerLitreK is the heat that a litre of water takes for each degree.
//
// Source: 4.187 kJ/kg/K over 3600 s/h.
const KWhPerLitreK = 1.163e-3

// ShowerKWh is the heat of a shower: 40 l at 40 °C from 10 °C.
const ShowerKWh = 1.4

// A Tank is a tank with its exchangers and what is drawn of it. Shares are 0 to 1.
type Tank struct {
	Litres       float64 // more than 0
	JacketShare  float64 // of the gas heat that the shaft does not take, from the coolant
	ExhaustShare float64 // the same from an exhaust exchanger
	WarmUpKWh    float64 // lost at each match
	LossWPerK    float64 // more than 0
	MostC        float64 // above it heat is let go outdoors
	NeedLPerDay  float64 // drawn at NeedC
	NeedC, ColdC float64 // of what is drawn, and of what comes in
	Hours        []calendar.Window
	Rooms        bool    // what is above RoomsAboveC warms the house while the month's air is under RoomsUnderC
	StoveShare   float64 // of the wood's heat, of what heats water otherwise
}

// The warmth above which a tank warms rooms, and the month's mean air under which rooms want it.
const RoomsAboveC, RoomsUnderC = 60.0, 15.0

// UsualLossWPerK is the loss of a tank of class C, for each degree above the room.
//
// Source: EU 812/2013, class C: 16.66 + 8.33 V^0.4 W (second hand), at 45 K (from memory).
func UsualLossWPerK(litres float64) float64 { return (16.66 + 8.33*math.Pow(litres, 0.4)) / 45 }

// KWhPerK is the heat that the tank takes for each degree.
func (t *Tank) KWhPerK() float64 { return KWhPerLitreK * t.Litres }

// LeftKWh returns the gas heat that the shaft does not take, where gas of a heat made so much
// electricity behind an alternator of an efficiency.
func LeftKWh(gasKWh, electricKWh, alternatorEfficiency float64) float64 {
	return max(0, gasKWh-electricKWh/alternatorEfficiency)
}

// NeedKWh is the heat that is drawn in a day.
func (t *Tank) NeedKWh() float64 { return KWhPerLitreK * t.NeedLPerDay * (t.NeedC - t.ColdC) }

// NeedIn returns the heat that is wanted between two minutes of a day.
func (t *Tank) NeedIn(fromMinute, toMinute float64) float64 {
	all := calendar.OverlapMinutes(t.Hours, 0, calendar.MinutesADay)
	if all == 0 {
		return 0
	}
	return t.NeedKWh() * calendar.OverlapMinutes(t.Hours, fromMinute, toMinute) / all
}

// A State is a tank at a moment: how warm it is, and what the running set still wants to warm itself.
type State struct{ C, ToWarmKWh float64 }

// A Step is what comes to a tank.
type Step struct {
	Hours     float64 // more than 0
	LeftKWh   float64 // gas heat that the shaft did not take
	Match     bool    // a run begins
	RoomC     float64 // around the tank
	WantedKWh float64 // of hot water
	RoomsWant bool    // the month is one in which rooms are heated
}

// Flows are what happened in a step, kWh.
type Flows struct {
	WarmUpKWh, IntoKWh, LetGoKWh        float64 // of what the exchangers take: lost in warming the set, into the tank, let go outdoors
	WantedKWh, DrawnKWh, RoomsKWh, Lost float64 // Lost through its jacket; below 0 where the room is warmer
}

// Add adds another step's.
func (f *Flows) Add(o *Flows) {
	f.WarmUpKWh += o.WarmUpKWh
	f.IntoKWh += o.IntoKWh
	f.LetGoKWh += o.LetGoKWh
	f.WantedKWh += o.WantedKWh
	f.DrawnKWh += o.DrawnKWh
	f.RoomsKWh += o.RoomsKWh
	f.Lost += o.Lost
}

// GapKWh is what the tank's book misses where it went from one warmth to another: what went in was
// drawn, warmed rooms, was lost or is in it.
func (t *Tank) GapKWh(f *Flows, fromC, toC float64) float64 {
	return f.IntoKWh - (f.DrawnKWh + f.RoomsKWh + f.Lost + t.KWhPerK()*(toC-fromC))
}

// Relaxed returns the warmth to which a tank of a heat for each degree (kWh/K) and a loss (kW/K) comes
// in some hours from a warmth, with so many kW into it.
//
// Source: Newton's law of cooling, solved exactly for steady power.
func Relaxed(kWhPerK, lossKWPerK, fromC, roomC, kw, hours float64) float64 {
	towardsC := roomC + kw/lossKWPerK
	return towardsC + (fromC-towardsC)*math.Exp(-hours*lossKWPerK/kWhPerK)
}

// Step moves a tank through a step and says what happened: what the set gives comes in evenly, then
// water is drawn, then rooms are warmed.
func (t *Tank) Step(s *State, in *Step) (f Flows) {
	heatPerK, loss := t.KWhPerK(), t.LossWPerK/1000
	if in.Match {
		s.ToWarmKWh = t.WarmUpKWh
	}
	takenKWh := (t.JacketShare + t.ExhaustShare) * in.LeftKWh
	f.WarmUpKWh = min(takenKWh, s.ToWarmKWh)
	s.ToWarmKWh -= f.WarmUpKWh
	takenKWh -= f.WarmUpKWh
	fromC := s.C
	f.IntoKWh = takenKWh
	s.C = Relaxed(heatPerK, loss, fromC, in.RoomC, takenKWh/in.Hours, in.Hours)
	if s.C > t.MostC && takenKWh > 0 {
		left := math.Exp(-in.Hours * loss / heatPerK)
		f.IntoKWh = max(0, min(takenKWh, loss*in.Hours*((t.MostC-fromC*left)/(1-left)-in.RoomC)))
		f.LetGoKWh = takenKWh - f.IntoKWh
		s.C = Relaxed(heatPerK, loss, fromC, in.RoomC, f.IntoKWh/in.Hours, in.Hours)
	}
	f.Lost = f.IntoKWh - heatPerK*(s.C-fromC)
	f.WantedKWh = in.WantedKWh
	f.DrawnKWh = min(in.WantedKWh, heatPerK*max(0, s.C-t.NeedC))
	s.C -= f.DrawnKWh / heatPerK
	if t.Rooms && in.RoomsWant && s.C > RoomsAboveC {
		f.RoomsKWh = heatPerK * (s.C - RoomsAboveC)
		s.C = RoomsAboveC
	}
	return f
}
