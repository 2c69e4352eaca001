package scenarios_test

import (
	"context"
	"math"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
)

// TestEveryStepCanBeWorkedAgain recomputes each step of a year from what the
// step before left, by the manual's formulas written out once more for a plain
// store with a falling charging efficiency, leak, taper, idle draw, light-up and panels.
func TestEveryStepCanBeWorkedAgain(t *testing.T) {
	for _, set := range [][]string{
		{"step_minutes=60", "plan.same_start=16:00", "battery.kind=agm", "battery.ceiling_pct=92"},
		{"step_minutes=30", "plan.by=top-up", "tending.max_starts_a_day=2", "engine.light_up_minutes=45", "load.kwh_per_day=7", "load.daily_swing_pct=30"},
		{"step_minutes=10", "plan.same_hours=7", "battery.charger_kw=1.5", "engine.least_kw=2", "days=60"},
		{"step_minutes=30", "panels.roof.kw_peak=2.5", "battery.inverter_kw=0.6", "plan.same_hours=2"},
		{"step_minutes=60", "panels.roof.kw_peak=1.5", "panels.shed.kw_peak=1", "panels.shed.wired=house", "plan.by=top-up", "engine.least_kw=2"},
	} {
		set = append(set, "battery.at_hand_share=1", "battery.temperature_effects=false", "woodpile.max_moisture_pct=20")
		s := cabin(t, append([]string{"plan.by=same-hours"}, set...)...)
		recompute(t, s)
	}
}

func recompute(t *testing.T, s *scenarios.Scenario) {
	b, e := &s.House.Bank, &s.House.Set
	h := s.House.Span.StepH()
	full := b.FullKWh
	floor, ceiling := b.FloorShare*full, b.CeilingShare*full
	charge := func(stored float64) float64 { // percent by share, straight between the points
		soc := 100 * stored / full
		c := b.ChargeCurve
		for i := 1; i < len(c); i++ {
			if soc <= c[i].X {
				return (c[i-1].Y + (soc-c[i-1].X)*(c[i].Y-c[i-1].Y)/(c[i].X-c[i-1].X)) / 100
			}
		}
		return c[len(c)-1].Y / 100
	}
	idleKgH := e.Line[0].Y
	perKWh := (e.Line[1].Y - e.Line[0].Y) / (e.Line[1].X - e.Line[0].X)
	stored, minutes := 0.8*full, 0.0
	pile := s.House.Start().Pile
	_, err := sim.Run(context.Background(), s.Household, chooser(t, s), func(at sim.Moment, state *sim.State, f *sim.Flows) {
		ready, light := 0.0, 0.0
		if f.Run {
			if minutes == 0 {
				light = e.LightUpKg
			}
			minutes += h * 60
			ready = math.Max(0, math.Min(1, (minutes-float64(e.LightUpMinutes))/(h*60)))
		} else {
			minutes = 0
		}
		u := s.House.Pile.NextDryBasis(&pile) // of the wood that lay ready
		power, heat := s.House.Factors.Power(u/(1+u)), s.House.Factors.Heat(u/(1+u))
		pile = state.Pile
		net := f.LoadKW - f.OtherKW
		leak := stored * (1 - math.Pow(1-b.SelfDischargeShare, h/730.5))
		per := h * b.ChargerEfficiency * charge(stored)
		accept := math.Min(math.Min(b.ChargerKW, b.MaxChargeKW/b.ChargerEfficiency),
			math.Min((full-stored)*(1-math.Exp(-h/b.TaperHours))/per, (ceiling-stored+leak)/per))
		engine := 0.0
		sun, wantsIdle := f.Sun.KW, b.InverterIdleKW*(1-ready)
		mostDC := math.Max(0, math.Min(b.MaxChargeKW, math.Min((full-stored)*(1-math.Exp(-h/b.TaperHours)), ceiling-stored+leak)/(h*charge(stored))))
		if sun > 0 {
			accept = math.Max(0, math.Min(b.ChargerKW, (mostDC-math.Max(0, math.Min(sun-wantsIdle, mostDC)))/b.ChargerEfficiency))
		}
		if ready > 0 {
			engine = math.Min(math.Max(net+accept, math.Min(e.LeastKW, e.KW*power)*ready), e.KW*power*ready)
		}
		room := math.Max(0, (stored-leak-floor)/h)
		idle := math.Min(b.InverterIdleKW*(1-ready), room*b.DischargeEfficiency)
		in, out, short, spill := 0.0, 0.0, 0.0, 0.0
		into, unused, given := 0.0, 0.0, 0.0
		if surplus := engine - net; sun > 0 {
			wanted := wantsIdle
			if surplus >= 0 {
				in = math.Min(surplus, math.Min(b.ChargerKW, mostDC/b.ChargerEfficiency))
				spill = surplus - in
			} else {
				wanted += math.Min(-surplus, b.InverterKW) / b.InverterEfficiency
			}
			if x := sun - wanted; x >= 0 {
				into = math.Min(x, mostDC-in*b.ChargerEfficiency)
				unused = x - into
				out = (wanted - wantsIdle) * b.InverterEfficiency
			} else {
				given = math.Min(-x, room*b.DischargeEfficiency)
				out = math.Max(0, sun+given-wantsIdle) * b.InverterEfficiency
			}
			short = math.Max(0, -surplus) - out
		} else if surplus >= 0 {
			in = math.Min(surplus, accept)
			spill = surplus - in
		} else {
			out = math.Min(-surplus, math.Min(b.InverterKW, (room*b.DischargeEfficiency-idle)*b.InverterEfficiency))
			short = -surplus - out
		}
		dc := in*b.ChargerEfficiency + into
		halfway := stored + charge(stored)*dc*h/2
		if sun == 0 {
			given = out/b.InverterEfficiency + idle
		}
		stored = stored - leak + dc*charge(halfway)*h - given/b.DischargeEfficiency*h
		wood := (light + idleKgH*ready*h + perKWh*engine*h) / heat
		compare(t, s.House.Span.StepTime(at.Step),
			[]float64{f.Ready, f.EngineKW, f.ChargeKW, f.DischargeKW, f.ShortfallKW, f.SpillKW, state.Bank.StoredKWh(), f.Burned.DryKg,
				f.Sun.BankKW, f.Sun.UnusedKW},
			[]float64{ready, engine, in, out, short, spill, stored, wood, into, unused})
		stored = state.Bank.StoredKWh()
	})
	if err != nil {
		t.Fatal(err)
	}
}
