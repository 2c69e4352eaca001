package handbook

import (
	"twigwatt/sim/genset"
	"twigwatt/storage/tank"
)

func warmth(in *inputs) working {
	kw := in.number(needed, "kw", "of the set at full power", 0.1, 100)
	loadPct := in.number(or("100"), "load-pct", "of full power, %", 1, 100)
	moisture := in.number(or("15"), "moisture-pct", "of the wood, wet basis, %", 0, 45)
	jacket := in.number(or("30"), "jacket-pct", "of what the shaft does not take, from the coolant", 0, 60)
	exhaust := in.number(or("0"), "exhaust-pct", "the same from an exhaust exchanger; 29 with one", 0, 45)
	return func() ([]Result, error) {
		const dryMJKg, kWhPerMJ = 18.5, 1 / 3.6
		m := moisture / 100
		idleKgH, perKWhKg := genset.DefaultLine(kw, dryMJKg, m)
		electricKW := kw * loadPct / 100
		gasKW := (idleKgH + perKWhKg*electricKW) * genset.NetHeatPerDryKg(dryMJKg, m) * genset.GasifierEfficiency * kWhPerMJ
		leftKW := tank.LeftKWh(gasKW, electricKW, genset.AlternatorEfficiency)
		tankKW := (jacket + exhaust) / 100 * leftKW
		return []Result{{"gas_kw", "heat of the gas", "kW", 2, gasKW},
			{"shaft_kw", "at the shaft", "kW", 2, electricKW / genset.AlternatorEfficiency},
			{"left_kw", "not taken by the shaft", "kW", 2, leftKW}, {"tank_kw", "into the tank", "kW", 2, tankKW},
			{"kwh_per_kwh", "for each kWh of electricity", "kWh", 2, tankKW / electricKW}}, nil
	}
}

func hotTank(in *inputs) working {
	litres := in.number(needed, "litres", "of water", 10, 5000)
	loss := in.optional(maybe, "loss-w-per-k", "lost for each degree above the room; without: class C by its size", 0.1, 100)
	fromC := in.number(needed, "from-c", "of the water, °C", 0, 95)
	roomC := in.number(or("15"), "room-c", "air around it, °C", -50, 60)
	hours := in.number(needed, "hours", "that it stands", 0.01, 1000)
	return func() ([]Result, error) {
		t := tank.Tank{Litres: litres, LossWPerK: tank.UsualLossWPerK(litres)}
		if loss != nil {
			t.LossWPerK = *loss
		}
		c := tank.Relaxed(t.KWhPerK(), t.LossWPerK/1000, fromC, roomC, 0, hours)
		const showerC = 40.0
		return []Result{{"c", "afterwards", "°C", 2, c}, {"lost_kwh", "lost", "kWh", 3, t.KWhPerK() * (fromC - c)},
			{"showers", "showers left above 40 °C", "", 1, t.KWhPerK() * max(0, c-showerC) / tank.ShowerKWh}}, nil
	}
}
