package handbook

import (
	"twigwatt/sim"
	"twigwatt/sim/money"
)

func annuity(in *inputs) working {
	price := in.number(or("1"), "price", "what is paid at first", 0, 1e9)
	interest := in.number(needed, "interest-pct", "a year, beyond inflation", 0, 50)
	years := in.number(needed, "years", "that it lasts", 0.01, 200)
	growth := in.number(or("0"), "growth-pct", "by which a series grows from year to year", -50, 50)
	return func() ([]Result, error) {
		factor := money.Annuity(interest/100, years)
		return []Result{{"factor", "factor", "", 6, factor}, {"a_year", "a year", "", 2, price * factor},
			{"present_worth", "present worth of 1 a year", "", 6, money.Rising(interest/100, growth/100, years)}}, nil
	}
}

func petrol(in *inputs) working {
	kw := in.number(needed, "kw", "of the set at full power", 0.1, 100)
	loadPct := in.number(or("100"), "load-pct", "of full power, %", 1, 100)
	return func() ([]Result, error) {
		const petrolKWhPerLitre = 8.9 // net heat, from memory
		set := sim.Standby{LitresPerHour: sim.UsualLitresPerHourKW * kw, LitresPerKWh: sim.UsualLitresPerKWh}
		made := kw * loadPct / 100
		litresH := set.Litres(made, 1)
		return []Result{{"litres_h", "petrol", "l/h", 2, litresH}, {"litres_kwh", "for each kWh", "l/kWh", 2, litresH / made},
			{"efficiency_pct", "efficiency", "%", 1, 100 * made / (litresH * petrolKWhPerLitre)}}, nil
	}
}
