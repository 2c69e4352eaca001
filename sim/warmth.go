package sim

import (
	"math"

	"twigwatt/sim/genset"
	"twigwatt/storage/tank"
	"twigwatt/storage/woodpile"
)

// A HotTank is the household's tank of hot water and where it stands.
type HotTank struct {
	tank.Tank
	RoomC   float64 // around it
	Outdoor bool    // in the day's air instead
}

// warmth is a tank in the books: how warm it is, and what it has been through.
type warmth struct {
	state  tank.State
	startC float64
	roomC  []float64 // around the tank, by day
	gapKWh float64   // the largest of any step
}

func newWarmth(h *House) *warmth {
	if h.Tank == nil {
		return nil
	}
	w := &warmth{roomC: make([]float64, len(h.Days))}
	for day := range w.roomC {
		w.roomC[day] = h.Tank.RoomC
		if h.Tank.Outdoor {
			w.roomC[day], _ = h.Air.OnDay(h.Days[day].Date)
		}
	}
	w.state.C = w.roomC[0]
	w.startC = w.state.C
	return w
}

// GasKWh is the gas that a step's wood made, without that of its light-up; 0 without a run.
//
// Source: gasifier efficiency, FAO 72; net heat of the wood at its moisture, EN 14918.
func (h *House) GasKWh(f *Flows) float64 {
	if !f.Run || f.Burned.DryKg <= 0 {
		return 0
	}
	dryBasis := f.Burned.AsIsKg/f.Burned.DryKg - 1
	dryKg := f.Burned.DryKg
	if f.Match {
		dryKg = max(0, dryKg-h.Set.LightUpKg/h.HeatFactor(dryBasis))
	}
	const kWhPerMJ = 1 / 3.6
	return genset.GasifierEfficiency * dryKg * genset.NetHeatPerDryKg(h.Pile.DryMJKg, woodpile.WetBasis(dryBasis)) * kWhPerMJ
}

// warm books what a step does to the tank.
func (b *Books) warm(d *DayRecord, day, ofDay int, f *Flows) {
	h, w := b.house, b.warmth
	t := &h.Tank.Tank
	step := float64(h.Span.StepMinutes)
	gasKWh := h.GasKWh(f)
	in := tank.Step{Hours: h.stepH, LeftKWh: tank.LeftKWh(gasKWh, f.EngineKW*h.stepH, genset.AlternatorEfficiency), Match: f.Match,
		RoomC: w.roomC[day], WantedKWh: t.NeedIn(float64(ofDay)*step, float64(ofDay+1)*step),
		RoomsWant: h.Air.MeanC[h.Days[day].Date.Month()-1] < tank.RoomsUnderC}
	fromC := w.state.C
	flows := t.Step(&w.state, &in)
	w.gapKWh = max(w.gapKWh, math.Abs(t.GapKWh(&flows, fromC, w.state.C)))
	d.GasKWh += gasKWh
	d.Warmth.Add(&flows)
}

// A WarmthSummary is the tank through the span.
type WarmthSummary struct {
	tank.Flows
	GasKWh           float64 // that the wood made, light-ups left out
	StartC, EndC     float64
	DaysWithout      int     // that missed as much warmth as counts for a short day of electricity
	ShowersADay      float64 // what was drawn, in showers
	SavedDryKg       float64 // of wood that a stove would have burned for it
	SavedStackedM3   float64
	GapKWh, WorstKWh float64 // of the book: of the span, and of any step
}

// warmthSummary reads off what a span's tank gave; nil without one.
func (h *House) warmthSummary(b *Books, t *Tally) *WarmthSummary {
	if h.Tank == nil {
		return nil
	}
	w := &WarmthSummary{Flows: t.Warmth, GasKWh: t.GasKWh, StartC: b.warmth.startC, EndC: b.warmth.state.C, WorstKWh: b.warmth.gapKWh}
	w.GapKWh = h.Tank.GapKWh(&w.Flows, w.StartC, w.EndC)
	w.ShowersADay = w.DrawnKWh / tank.ShowerKWh / float64(len(b.Days))
	for i := range b.Days {
		if f := &b.Days[i].Warmth; f.WantedKWh-f.DrawnKWh >= h.Prices.ShortDayKWh {
			w.DaysWithout++
		}
	}
	dryBasis := h.Pile.RatedDryBasis
	if t.BurnedDryKg > 0 {
		dryBasis = t.BurnedAsIsKg/t.BurnedDryKg - 1
	}
	const mjPerKWh = 3.6
	w.SavedDryKg = mjPerKWh * (w.DrawnKWh + w.RoomsKWh) /
		(h.Tank.StoveShare * genset.NetHeatPerDryKg(h.Pile.DryMJKg, woodpile.WetBasis(dryBasis)))
	w.SavedStackedM3 = woodpile.SolidM3(w.SavedDryKg, &h.Pile.Species) / h.Pile.SolidPerStacked
	return w
}
