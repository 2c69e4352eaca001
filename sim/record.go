package sim

import (
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
)

// A Record keeps what a chart draws of each step, and each day's runs. Show its
// Step to Run.
// Powers are kW at the house (AC), Stored is kWh at the step's end.
type Record struct {
	House                                                                 *House
	LoadKW, EngineKW, ChargeKW, DischargeKW, ShortfallKW, SpillKW, Stored []float32
	SunKW, StandbyKW                                                      []float32    // of all panels; of the stand-by set
	Runs                                                                  [][]Interval // by day
}

// An Interval is steps of a day: First included, After not.
type Interval struct{ First, After int }

// NewRecord makes room for a span.
func NewRecord(h *House) *Record {
	r := &Record{House: h, Runs: make([][]Interval, h.Span.Days)}
	for _, s := range r.series() {
		*s = make([]float32, 0, h.Span.Steps())
	}
	return r
}

func (r *Record) series() [9]*[]float32 {
	return [...]*[]float32{&r.LoadKW, &r.EngineKW, &r.ChargeKW, &r.DischargeKW,
		&r.ShortfallKW, &r.SpillKW, &r.Stored, &r.SunKW, &r.StandbyKW}
}

// Step keeps a step.
func (r *Record) Step(at Moment, s *State, f *Flows) {
	series := r.series()
	for i, x := range [...]float64{f.LoadKW, f.EngineKW, f.ChargeKW, f.DischargeKW, f.ShortfallKW, f.SpillKW,
		s.Bank.StoredKWh(), f.Sun.KW + f.HouseSunKW, f.StandbyKW} {
		*series[i] = append(*series[i], float32(x))
	}
	if !f.Run {
		return
	}
	day := &r.Runs[at.Day]
	if f.Match {
		*day = append(*day, Interval{at.OfDay, at.OfDay})
	}
	(*day)[len(*day)-1].After = at.OfDay + 1
}

// DarkestWeek returns the first day of the seven days (fewer in a shorter span)
// with the most shortfall; where there is none, those that hold the least charge.
func (b *Books) DarkestWeek() (first int) {
	days := min(7, len(b.Days))
	worst, least := 0.0, 0.0
	for i := 0; i+days <= len(b.Days); i++ {
		short, stored := 0.0, 0.0
		for _, d := range b.Days[i : i+days] {
			short += d.ShortfallKWh
			stored += d.MeanKWh
		}
		const crumbKWh = 1e-9
		if i == 0 || short > worst+crumbKWh || short > worst-crumbKWh && stored < least {
			first, worst, least = i, short, stored
		}
	}
	return first
}

// EnergyFlow is where the energy of a span went, in kWh. The stages from wood to
// electricity stand in the shares that the default fuel line is made of: what a
// household's own machine loses where is not known.
type EnergyFlow struct {
	// in: net heat of the wood as it lay; other sources; panels; the stand-by set
	WoodKWh, OtherKWh, SunKWh, StandbyKWh float64
	GasifierKWh, EngineKWh, AlternatorKWh float64 // lost on the way to electricity
	// of the engine's heat: drawn, into rooms, lost by the tank or still in it
	HotWaterKWh, RoomsKWh, TankKWh                          float64
	ServedKWh, SpillKWh, SunUnusedKWh                       float64 // SpillKWh without the panels'
	ChargingKWh, GivingKWh, IdleKWh, LeakKWh, StoredMoreKWh float64 // StoredMore below zero: taken from what was stored
}

// Flow works out where a span's energy went.
func (h *House) Flow(t *Tally, startKWh, endKWh float64) EnergyFlow {
	f := EnergyFlow{OtherKWh: t.OtherKWh - t.Sun.AtHouseKWh,
		SunKWh: t.Sun.MadeKWh(), StandbyKWh: t.Standby.MadeKWh, SunUnusedKWh: t.Sun.AllUnusedKWh(),
		ServedKWh: t.LoadKWh - t.ShortfallKWh, SpillKWh: t.SpillKWh - t.Sun.AtHouseUnusedKWh,
		ChargingKWh: t.Lost.ChargeKWh, GivingKWh: t.Lost.DischargeKWh,
		IdleKWh: t.Lost.IdleKWh, LeakKWh: t.Lost.LeakKWh, StoredMoreKWh: endKWh - startKWh}
	const kWhPerMJ = 1 / 3.6
	f.WoodKWh = (t.BurnedDryKg*h.Pile.DryMJKg - place.HeatOfVaporisationMJKg*(t.BurnedAsIsKg-t.BurnedDryKg)) * kWhPerMJ
	shaft := t.EngineKWh / genset.AlternatorEfficiency
	f.GasifierKWh = f.WoodKWh * (1 - genset.GasifierEfficiency)
	f.AlternatorKWh = shaft - t.EngineKWh
	f.HotWaterKWh, f.RoomsKWh = t.Warmth.DrawnKWh, t.Warmth.RoomsKWh
	f.TankKWh = t.Warmth.IntoKWh - f.HotWaterKWh - f.RoomsKWh
	f.EngineKWh = f.WoodKWh - f.GasifierKWh - shaft - t.Warmth.IntoKWh
	return f
}
