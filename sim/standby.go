package sim

import (
	"twigwatt/sim/calendar"
	"twigwatt/storage/battery"
)

// A Standby is a petrol set that stands by: ready at once, whenever somebody is near.
type Standby struct {
	KW, LeastKW                 float64 // AC
	LitresPerHour, LitresPerKWh float64 // at no load, and on top of it
	KgPerLitre, HourKg          float64 // prices in the plan
	Hours                       []calendar.Window
	NoRuns                      []calendar.DateRange
	SharesEngine                bool    // it is the wood set's engine, on petrol: repairs bar it too
	LitresKept                  float64 // the span's stock; 0: without end
}

// What a small petrol set burns unless a household says otherwise: at no load for each kW of its power,
// and on top for each kWh.
//
// Source: 0.70, 0.77, 0.90 and 1.30 l/kWh at 100, 75, 50 and 25 % of load (from memory).
const UsualLitresPerHourKW, UsualLitresPerKWh = 0.2, 0.5

// Litres returns the petrol of some hours at a power.
func (b *Standby) Litres(kw, hours float64) float64 {
	return (b.LitresPerHour + b.LitresPerKWh*kw) * hours
}

// PriceKg is the price of some hours at a power, its start left out.
func (b *Standby) PriceKg(kw, hours float64) float64 {
	return b.KgPerLitre*b.Litres(kw, hours) + b.HourKg*hours
}

// Engine is what the stand-by set can give in a step.
func (b *Standby) Engine() Engine {
	return Engine{MostKW: b.KW, LeastKW: min(b.LeastKW, b.KW), Ready: 1}
}

// A Call says when the stand-by set runs in a step without a wood run.
type Call int

// The calls.
const (
	Rests   Call = iota
	Runs         // it runs
	IfShort      // it starts where the step would be short, and stops above StandbyStopShare, after an hour at the earliest
	IfWorth      // it runs where the step would be short, and that costs more than the petrol
)

// StandbyStopShare of the bank's full size, above the floor: there a stand-by set that was started
// because a step would be short stops again.
const StandbyStopShare = 0.15

// standbyHours says of each step of a day whether it lies wholly in the stand-by set's hours.
func standbyHours(b *Standby, span calendar.Span) []bool {
	if b == nil {
		return nil
	}
	all := make([]bool, span.StepsADay())
	for i, ahead := range tendedAhead(b.Hours, span) {
		all[i] = ahead > 0
	}
	return all
}

// StandbyIn reports whether the stand-by set may run in a step of the day, by its hours.
func (h *House) StandbyIn(ofDay int) bool { return h.standbyIn != nil && h.standbyIn[ofDay] }

// StandbyOn reports whether it may run on a day, as far as is known beforehand.
func (h *House) StandbyOn(day int) bool {
	return h.Standby != nil && !calendar.AnyHolds(h.Standby.NoRuns, h.Days[day].Date)
}

// MayStandby reports whether the stand-by set may run in a step without a wood run: by its hours and
// days, a shared engine that is not broken, and petrol for the whole step at full power.
func (h *House) MayStandby(s *State, at Moment) bool {
	b := h.Standby
	if !h.StandbyIn(at.OfDay) || !h.StandbyOn(at.Day) || b.SharesEngine && (h.Days[at.Day].Broken || s.Repairs) {
		return false
	}
	return b.LitresKept == 0 || s.PetrolLitres+b.Litres(b.KW, h.stepH) <= b.LitresKept+roundingKg
}

// standBy runs the stand-by set through a step if it is called, and reports whether it did.
func (h *House) standBy(s *State, f *Flows, at Moment, c Command) bool {
	if h.Standby == nil || f.Run || c.Call == Rests || !h.MayStandby(s, at) || !h.answers(s, f, at, c.Call) {
		s.StandbySteps = 0
		return false
	}
	b := h.Standby
	f.StandbyStart = s.StandbySteps == 0
	s.StandbySteps++
	h.Electric(h.Days[at.Day].Bank, &s.Bank, &f.Power, f.LoadKW, f.OtherKW, b.Engine())
	f.StandbyKW, f.EngineKW = f.EngineKW, 0
	f.PetrolLitres = b.Litres(f.StandbyKW, h.stepH)
	s.PetrolLitres += f.PetrolLitres
	return true
}

// answers reports whether a call starts the set in a step, or keeps it running.
func (h *House) answers(s *State, f *Flows, at Moment, call Call) bool {
	if call == Runs {
		return true
	}
	bank := h.Days[at.Day].Bank
	const leastH = 1
	if call == IfShort && s.StandbySteps > 0 && (float64(s.StandbySteps)*h.stepH < leastH-roundingH ||
		s.Bank.StoredKWh() < bank.FloorKWh+StandbyStopShare*bank.FullKWh) {
		return true
	}
	shortKWh := h.missing(bank, s.Bank, f, Engine{})
	if shortKWh <= shortStepKWh || call == IfShort {
		return shortKWh > shortStepKWh
	}
	trial := Power{Sun: Sun{KW: f.Sun.KW}}
	bankThen := s.Bank
	h.Electric(bank, &bankThen, &trial, f.LoadKW, f.OtherKW, h.Standby.Engine())
	priceKg := h.Standby.PriceKg(trial.EngineKW, h.stepH)
	if s.StandbySteps == 0 {
		priceKg += h.Prices.StartKg
	}
	return h.Prices.ShortKgPerKWh*(shortKWh-trial.ShortfallKW*h.stepH) > priceKg
}

// missing is what a step would be short of, kWh.
func (h *House) missing(bank *battery.Paced, s battery.State, f *Flows, e Engine) float64 {
	p := Power{Sun: Sun{KW: f.Sun.KW}}
	h.Electric(bank, &s, &p, f.LoadKW, f.OtherKW, e)
	return p.ShortfallKW * h.stepH
}

// A StandbyTally is what the stand-by set did.
type StandbyTally struct {
	MadeKWh, Hours, Litres float64
	Starts                 int
}

// Enter adds a step.
func (t *StandbyTally) Enter(f *Flows, stepH float64) {
	if f.PetrolLitres == 0 && f.StandbyKW == 0 {
		return
	}
	t.MadeKWh += f.StandbyKW * stepH
	t.Hours += stepH
	t.Litres += f.PetrolLitres
	if f.StandbyStart {
		t.Starts++
	}
}

// Add adds another's.
func (t *StandbyTally) Add(o *StandbyTally) {
	t.MadeKWh += o.MadeKWh
	t.Hours += o.Hours
	t.Litres += o.Litres
	t.Starts += o.Starts
}

// StandbyKg is the price of what the stand-by set did.
func (h *House) StandbyKg(t *StandbyTally) float64 {
	if h.Standby == nil {
		return 0
	}
	return h.Standby.KgPerLitre*t.Litres + h.Standby.HourKg*t.Hours + h.Prices.StartKg*float64(t.Starts)
}
