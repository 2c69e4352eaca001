package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/curve"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/sim/plan"
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
	"twigwatt/storage/tank"
	"twigwatt/storage/woodpile"
)

// Sources that many keys share.
const (
	practice  = "common practice, no source"
	judgement = "a judgement, no source"
	yours     = "the household's own"
	ours      = "the program's choice"
	normals   = "SOURCES.md, climate_normals.csv"
	levels    = "SOURCES.md, sun_level_normals.csv"
	memory    = "from memory"
)

func newList(today func() (calendar.Date, error)) *list {
	l := &list{byKey: map[string]*Setting{}, named: map[string]bool{}, today: today}
	l.top()
	l.place()
	l.placeSun()
	l.load()
	l.engine()
	l.engineCare()
	l.tending()
	l.battery()
	l.batteryFlow()
	l.hotTank()
	l.standBy()
	l.woodpile()
	l.luck()
	l.prices()
	l.plan()
	l.costs()
	return l
}

func (l *list) top() {
	span := &l.spec.Span
	l.val("name", words(&l.name), "", "what the reports call the household", yours).Default = "the file's name"
	l.val("start", firstDay(&span.Start, l.today), "2025-01-01", `first day of the span, or "today"`, ours)
	l.whole("days", "days", count(&span.Days), from(1, 3660), 365, "length of the span", ours)
	l.val("step_minutes", oneOf(&span.StepMinutes, 10, 15, 20, 30, 60), "30", "length of a step", ours).Unit = "min"
	l.whole("seed", "", func(x float64) { l.wants.Seed = uint64(x) }, from(0, 1<<53), 1,
		"of all that is drawn by chance: the same seed, the same year", ours)
}

func (l *list) place() {
	air := &l.spec.Air
	l.val("place.climate", choice(&l.climate, place.Climates()), "", "published monthly air", normals).by(`"seattle"`, func() {
		if !l.given("place.air_c") && !l.given("place.humidity_pct") {
			l.climate = "seattle"
		}
	})
	l.monthly("place.air_c", "°C", &air.MeanC, from(-60, 50), func(a place.Air) [12]float64 { return a.MeanC },
		"mean air of each month")
	l.monthly("place.humidity_pct", "%", &air.HumidityPct, from(1, 100), func(a place.Air) [12]float64 { return a.HumidityPct },
		"mean relative humidity of each month")
	l.numBy("place.latitude", "°", func(x float64) { l.spec.LatitudeDeg, l.wants.LatitudeDeg = x, x }, from(-90, 90),
		"of the climate, where its sun is published; else 50", func() float64 {
			if level, ok := place.LevelOf(l.climate); ok && l.given("place.climate") {
				return level.LatitudeDeg
			}
			l.byKey["place.latitude"].Source = ours
			return 50
		}, "north is positive; for the sun, and in the south the published household's winter is in July", levels)
	l.num("place.altitude_m", "m", to(&l.spec.AltitudeM), from(-430, 6000), 0, "above the sea", ours)
	l.numBy("place.snap_c", "°C", to(&l.spec.Snap.AirC), from(-70, 50), "coldest month − 12",
		func() float64 { return place.Air{MeanC: air.MeanC}.ColdestC() - 12 }, "air of a cold snap", practice)
	l.num("place.snap_load_pct", "%", share(&l.spec.Snap.LoadShare), from(0, 500), 115, "load in a cold snap", practice)
}

// monthly adds twelve monthly means that come from the climate unless given.
func (l *list) monthly(key, unit string, at *[12]float64, in bounds, of func(place.Air) [12]float64, meaning string) {
	s := l.val(key, yearly(at, in), "", meaning, normals).by("of the climate", func() {
		if air, ok := place.Climate(l.climate); ok {
			*at = of(air)
		}
	})
	s.Unit = unit
}

// placeSun adds what the place says of the sun.
func (l *list) placeSun() {
	l.val("place.sun_kwh_m2", maybeYearly(&l.levelKWhM2, from(0, 12)), "",
		"a day's sun on level ground, mean of each month", levels).
		by("of the climate, where published", func() {
			if level, ok := place.LevelOf(l.climate); ok {
				l.levelKWhM2 = &level.KWhM2
			}
		}).Unit = "kWh/m²"
	l.val("place.sun_days", choice(&l.sunDays, []string{drawnDays, "usual"}), `"drawn"`,
		"days come by luck, or each as the month's usual", ours)
	l.num("place.sun_memory", "", to(&l.sunMemory), from(0, 0.95), 0.29, "correlation of a day's clearness with the last one's",
		"Graham, Hollands & Huget 1988, Solar Energy 40:83, "+memory)
	l.val("place.noon", clockWithin(&l.noonMinute, 10*60, 15*60), `"12:00"`,
		"when the sun stands highest by your clock; moves after_dark too", ours)
	l.num("place.ground_pct", "%", share(&l.groundShare), from(0, 90), 20, "light the ground sends back; fresh snow 70",
		"Duffie & Beckman 2.15, "+memory)
	l.val("place.horizon", around(&l.horizon), "[]", "trees and hills, straight between these, closing round", yours).Unit = "°"
	l.num("place.snap_sun_pct", "%", share(&l.spec.Snap.SunShare), from(0, 100), 45,
		"sun of the cold-snap week, of its month's mean",
		"worst week of one winter in ten at De Bilt and Dublin (sun_days_measured.csv)")
}

// drawnDays is the place.sun_days of days that come by luck.
const drawnDays = "drawn"

// panels adds the settings of panels of a name.
func (l *list) panels(name string) *panelKeys {
	p := &panelKeys{Array: sun.Array{Name: name}}
	key := func(leaf string) string { return "panels." + name + "." + leaf }
	l.opt(key("kw_peak"), "kW", to(&p.KWPeak), above(0, 100), "power at 1 kW/m² and 25 °C, as on their label", yours)
	l.numBy(key("tilt_deg"), "°", to(&p.TiltDeg), from(0, 90), "latitude + 15, at most 75, for winter",
		func() float64 { return min(75, math.Abs(l.spec.LatitudeDeg)+15) }, "0 level, 90 upright", practice)
	l.numBy(key("faces_deg"), "°", to(&p.FacesDeg), from(0, 360), "180; south of the equator 0", func() float64 {
		if l.spec.LatitudeDeg < 0 {
			return 0
		}
		return 180
	}, "compass: 90 east, 180 south", ours)
	l.num(key("loss_pct"), "%", share(&p.LossShare), from(0, 90), 12, "glass, dirt, wires, dim light and mismatch", practice)
	l.num(key("heat_pct_per_c"), "%/°C", share(&p.HeatPerC), from(0, 1), 0.4,
		"power lost for each °C", "crystalline silicon, "+memory)
	l.num(key("warms_c"), "°C", to(&p.WarmsC), from(0, 60), 30,
		"cell above the air at 1 kW/m²", "Ross 1976: 21 free, 26 rack, 34 roof, "+memory)
	l.val(key("wired"), choice(&p.wired, []string{"bank", atHouse}), `"bank"`,
		"through a charge controller to the bank, or through an inverter to the house", ours)
	l.numBy(key("converter_kw"), "kW", to(&p.ConverterKW), above(0, 100), "kw_peak", func() float64 { return p.KWPeak },
		"most that controller or inverter gives", ours)
	l.numBy(key("converter_efficiency_pct"), "%", share(&p.ConverterEfficiency), from(1, 100), "97; wired to the house 95",
		func() float64 {
			if p.wired == atHouse {
				return 95
			}
			return 97
		}, "of controller or inverter", practice)
	l.val(key("snow_pct"), yearly(&p.snowPct, from(0, 100)), "[0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]",
		"of each month's sun, under snow", yours).Unit = "%"
	return p
}

// atHouse is how panels are wired that give to the house.
const atHouse = "house"

func (l *list) load() {
	w := &l.wants
	const h0 = "household profile H0, VDEW M-32/99 and M-05/2000"
	l.opt("load.kwh_per_year", "kWh", to(&w.KWhPerYear), above(0, 1e6), "a published household of so much in a year", h0)
	l.opt("load.kwh_per_day", "kWh", to(&w.KWhPerDay), above(0, 3000), "the same by its mean day", h0)
	l.val("load.file", file(&l.loadFile), "", "CSV of measured load, beside the scenario", yours)
	l.num("load.scale", "", to(&w.Scale), from(0, 100), 1, "multiplies household, file and appliances", ours)
	l.numBy("load.daily_swing_pct", "%", share(&w.SwingShare), from(0, 200), "18; 0 with load.file, which holds its own days",
		func() float64 {
			if l.given("load.file") {
				return 0
			}
			return 18
		}, "standard deviation of the day's factor", judgement)
	l.num("load.swing_memory", "", to(&w.SwingMemory), from(0, 0.99), 0.5,
		"correlation of a day's factor with the last one's", judgement)
	l.num("load.growth_pct_year", "%", share(&w.GrowthShare), from(-50, 100), 0,
		"by which the load grows from year to year of the span", yours)
	l.val("load.away", ranges(&w.Away), "[]", "days nobody is at home", yours)
	l.numBy("load.away_pct", "%", share(&w.AwayShare), from(0, 100), "30; 0 where an appliance has while_away",
		func() float64 {
			if l.given("load.away_share") {
				return 100 * l.x("load.away_share")
			}
			if slices.ContainsFunc(l.appliances, func(a *loads.Appliance) bool { return a.WhileAway }) {
				return 0
			}
			return 30
		}, "load that stays on those days, beside appliances with while_away", judgement)
	l.opt("load.away_share", "", nowhere, from(0, 1), "the same as a share, instead of away_pct", yours)
	l.val("other.file", file(&l.otherFile), "", "CSV of any other source's AC power", yours)
}

func (l *list) appliance(name string) *loads.Appliance {
	a := &loads.Appliance{Name: name}
	key := func(leaf string) string { return "load.appliance." + name + "." + leaf }
	l.opt(key("watts"), "W", to(&a.Watts), from(0, 1e5), "power while it runs", yours)
	l.num(key("count"), "", to(&a.Count), from(0, 1000), 1, "how many", ours)
	l.num(key("duty_pct"), "%", share(&a.DutyShare), from(0, 100), 100, "share of its hours in which it runs", ours)
	l.val(key("hours"), windows(&a.Hours), `["00:00-24:00"]`, "when it may run", ours)
	l.val(key("days"), weekdays(&a.Days), `"all"`, "days of the week", ours)
	l.val(key("months"), months(&a.Months), `"all"`, "months of the year", ours)
	l.val(key("after_dark"), flag(&a.AfterDark), "false", "only between sunset and sunrise", ours)
	l.val(key("while_away"), flag(&a.WhileAway), "false", "stays on while nobody is at home", ours)
	return a
}

func (l *list) chore(name string) *loads.Chore {
	c := &loads.Chore{Name: name}
	key := func(leaf string) string { return "load.chore." + name + "." + leaf }
	l.opt(key("kwh"), "kWh", to(&c.KWh), above(0, 1000), "energy of one time", yours)
	l.opt(key("kw"), "kW", to(&c.KW), above(0, 100), "power while it runs", yours)
	l.num(key("times_per_week"), "", to(&c.TimesPerWeek), above(0, 70), 1, "how often it is wanted", ours)
	l.val(key("hours"), windows(&c.Hours), `["07:00-21:00"]`, "when it may run, from its start to its end", ours)
	l.val(key("days"), weekdays(&c.Days), `"all"`, "days of the week", ours)
	return c
}

func (l *list) engine() {
	set := &l.spec.Set
	const chain = "0.28 no-load, Jorapur & Rajvanshi; 0.70 FAO 72; 0.24 Homdoung; 0.85 " + practice
	l.opt("engine.kw", "kW", to(&set.KW), above(0, 100), "what the set makes at home, on wood at the rated moisture", yours)
	l.opt("engine.alternator_kw", "kW", nowhere, above(0, 100),
		"of the alternator: the set gives no more, whatever the engine", yours)
	l.numBy("engine.least_kw", "kW", to(&set.LeastKW), from(0, 100), "kw/3", func() float64 { return set.KW / 3 },
		"least power at which the gas stays good", "turn-down 3, FAO 72, Appendix 2")
	l.val("engine.wood_curve", pairs(&l.woodCurve, 2, from(0, 100), from(0, 1000), "[kW, kg/h]"), "",
		"measured wood by power, instead of the next two", yours)
	l.numBy("engine.wood_idle_kg_h", "kg/h", to(&l.woodIdleKgH), from(0, 1000), "0.28 of full power",
		func() float64 { idle, _ := l.defaultLine(); return idle }, "wood at no load", chain)
	l.numBy("engine.wood_per_kwh_kg", "kg/kWh", to(&l.woodPerKWhKg), from(0, 1000), "0.72 of full power",
		func() float64 { _, per := l.defaultLine(); return per }, "wood for each kWh on top", chain)
	l.whole("engine.light_up_minutes", "min", count(&set.LightUpMinutes), from(0, 240), 20,
		"from the match to gas good enough", practice)
	l.num("engine.light_up_kg", "kg", to(&l.lightUpKg), from(0, 100), 1.5, "wood of a light-up", practice)
	l.val("engine.wood_weighed", choice(&l.weighed, []string{"oven-dry", "as-is"}), `"oven-dry"`,
		"how the wood of wood_curve, wood_idle_kg_h, wood_per_kwh_kg and light_up_kg was weighed; as-is: at the rated moisture", ours)
	l.num("engine.rated_moisture_pct", "%", share(&set.RatedMoisture), from(0, 45), 15,
		"moisture of the wood at which kw was found", practice)
}

func (l *list) engineCare() {
	s := &l.spec
	s.Services = []sim.Service{{Name: "ash"}, {Name: "filter"}, {Name: "oil"}}
	l.num("engine.hopper_as_is_kg", "kg", to(&s.HopperAsIsKg), from(1, 1000), 20, "wood a full hopper holds", practice)
	l.opt("engine.rated_altitude_m", "m", to(&s.RatedAltM), from(-430, 6000),
		"where kw was found; given: the set is derated to the place", yours)
	l.opt("engine.rated_air_c", "°C", to(&s.RatedAirC), from(-40, 60),
		"air in which kw was found; given: the set is derated to the place", yours)
	l.opt("engine.gas_c", "°C", to(&s.GasC), from(0, 200),
		"gas at the mixer, after the cooler; not given: power as rated, "+
			"and condensate as at 45 °C (common practice, no source)", yours)
	l.num("engine.rated_gas_c", "°C", to(&s.RatedGasC), from(0, 200), 21, "the same when kw was found",
		"70 °F, FEMA/ORNL-6404 section 2")
	l.opt("engine.displacement_cc", "cm³", nowhere, above(0, 20000), "with rpm: kw is checked for plausibility", yours)
	l.opt("engine.rpm", "1/min", nowhere, above(0, 10000), "with displacement_cc: kw is checked for plausibility", yours)
	l.num("engine.ash_every_hours", "h", to(&s.Services[0].EveryH), above(0, 1e5), 8, "engine hours between emptying ash", practice)
	l.num("engine.filter_every_hours", "h", to(&s.Services[1].EveryH), above(0, 1e5), 50, "engine hours between filters", practice)
	l.num("engine.oil_every_hours", "h", to(&s.Services[2].EveryH), above(0, 1e5), 100, "engine hours between oil changes", practice)
	l.num("engine.char_pct", "%", share(&s.Set.CharShare), from(0, 30), 5, "of the oven-dry wood, left as char", practice)
}

// defaultLine is the fuel line from first principles in the household's weighing.
func (l *list) defaultLine() (idleKgH, perKWhKg float64) {
	if len(l.woodCurve) > 0 {
		return math.NaN(), math.NaN()
	}
	set := &l.spec.Set
	idleKgH, perKWhKg = genset.DefaultLine(set.KW, l.spec.Pile.DryMJKg, set.RatedMoisture)
	return idleKgH / l.dryShareWeighed(), perKWhKg / l.dryShareWeighed()
}

func (l *list) tending() {
	t := &l.spec.Tending
	l.val("tending.hours", windows(&t.Hours), `["07:00-21:00"]`, "when somebody can look after a run", ours)
	l.val("tending.days", weekdays(&t.Days), `"all"`, "days of the week", ours)
	l.num("tending.min_hours_a_run", "h", to(&t.MinHoursARun), above(0, 24), 1, "attended, light-up included", ours)
	l.num("tending.max_hours_a_day", "h", to(&t.MaxHoursADay), from(0, 24), 8, "attended", ours)
	l.val("tending.max_starts_a_day", oneOf(&t.MaxStarts, 1, 2), "1", "light-ups in a day", ours)
	l.val("tending.no_runs", ranges(&t.NoRuns), "[]",
		"days without a run, known beforehand: plans charge the bank before them", yours)
	l.val("tending.away_runs", flag(&t.AwayRuns), "false", "runs on days of load.away too: somebody comes to look after them", ours)
	l.val("tending.breakdown", ranges(&t.Breakdown), "[]",
		"days on which the set is broken and nobody knew: no plan foresees them", yours)
}

// byKind returns the defaults of the kind in force.
func (l *list) byKind() battery.Defaults {
	if kind := l.spec.Bank.Kind; slices.Contains(battery.Kinds(), kind) {
		return battery.DefaultsOf(kind)
	}
	return battery.DefaultsOf(battery.Flooded) // a kind that was refused
}

func (l *list) battery() {
	b := &l.spec.Bank
	const fitted = "a fit to an AGM data sheet (discharge_rates_agm.csv); lithium: " + practice
	l.val("battery.kind", choice(&b.Kind, battery.Kinds()), `"flooded"`,
		"what the batteries are; lithium: lithium iron phosphate", ours)
	l.numBy("battery.kwh", "kWh", to(&l.ratedKWh), above(0, 1e4), "volts × amp_hours / 1000",
		func() float64 { return l.x("battery.volts") * l.x("battery.amp_hours") / 1000 }, "size at rated_hours", yours)
	l.opt("battery.volts", "V", to(&b.Volts), above(0, 2000), "with amp_hours, instead of kwh", yours)
	l.opt("battery.amp_hours", "Ah", nowhere, above(0, 1e5), "with volts, instead of kwh", yours)
	l.num("battery.health_pct", "%", share(&l.health), from(1, 150), 100,
		"what is left of the rated size, of an old bank", yours)
	l.val("battery.replaced", flag(&l.spec.BankReplaced), "true",
		"in spans of more than a year, by a new one at the end of its life, at 80 % of its size; else it goes on fading", ours)
	l.num("battery.rated_hours", "h", nowhere, from(0.01, 1000), 20, "discharge time of the rated size", practice)
	l.numBy("battery.floor_pct", "%", share(&b.FloorShare), from(0, 99), "50; lithium 15",
		func() float64 { return l.byKind().FloorPct }, "nothing is drawn below it", practice)
	l.num("battery.ceiling_pct", "%", share(&b.CeilingShare), above(0, 100), 100, "nothing is charged above it", ours)
	l.numBy("battery.start_pct", "%", share(&l.spec.StartShare), from(0, 100), "80, at most the ceiling",
		func() float64 { return min(80, l.x("battery.ceiling_pct")) }, "charge as the span begins", ours)
	l.numBy("battery.max_charge_kw", "kW", to(&b.MaxChargeKW), above(0, 1e4), "kwh/5; lithium kwh/2",
		func() float64 { return l.ratedKWh * l.byKind().MaxChargeShare }, "most power into the bank, DC",
		"C/5, Perez, Home Power; lithium: "+practice)
	l.numBy("battery.taper_hours", "h", to(&b.TaperHours), above(0, 24), "2; lithium 0.25",
		func() float64 { return l.byKind().TaperHours }, "time constant of the last of a charge",
		"C/10 at 85 and 90 %, C/20 at 95 %, Perez, Home Power; lithium: absorption starts above 95 %, a charger manual")
	l.numBy("battery.at_hand_share", "", to(&b.AtHandShare), from(0.001, 1), "0.32; lithium 1",
		func() float64 { atHand, _ := l.wells(); return atHand },
		"share of what is stored that can be drawn at once; the rest follows (two wells)", fitted)
	l.numBy("battery.settle_per_h", "1/h", to(&b.SettlePerH), from(0.0001, 1000), "1.35",
		func() float64 { _, perH := l.wells(); return perH }, "settling constant k of the two wells", fitted)
	l.val("battery.rate_table", pairs(&l.rateTable, 3, above(0, 1000), above(0, 1e6), "[hours, amp-hours]"), "",
		"a maker's discharge table: fitted to the last two", yours)
}

func (l *list) batteryFlow() {
	b := &l.spec.Bank
	const stevens = "Stevens & Corey 1996, from memory; lithium: " + practice
	const charging = "a judgement between Stevens & Corey 1996 and IEC 61427, both from memory; lithium: " + practice
	l.numBy("battery.charge_efficiency_pct", "%", to(&l.chargePct), from(1, 100), "by kind", func() float64 {
		if usual := l.byKind().ChargeCurve; len(l.chargeCurve) == 0 && len(usual) == 1 {
			return usual[0].Y
		}
		return math.NaN()
	}, "share of what enters the bank that is stored", charging)
	l.val("battery.charge_efficiency_curve", pairs(&l.chargeCurve, 2, from(0, 100), from(1, 100), "[charge %, %]"), "",
		"the same by charge", charging).by("by kind", func() {
		if usual := l.byKind().ChargeCurve; !l.given("battery.charge_efficiency_pct") && len(usual) > 1 {
			l.chargeCurve = pairsOf(usual)
		}
	})
	l.numBy("battery.discharge_efficiency_pct", "%", share(&b.DischargeEfficiency), from(1, 100), "95; lithium 98",
		func() float64 { return l.byKind().DischargePct }, "share of what is stored that the terminals give", stevens)
	l.numBy("battery.self_discharge_pct_month", "%", share(&b.SelfDischargeShare), from(0, 99),
		"flooded 12, agm 3, gel 2, lithium 2", func() float64 { return l.byKind().SelfDischargePct }, "at 20 °C",
		"R. Vader, Energy Unlimited, 2.5.10; lithium: "+practice)
	l.numBy("battery.charger_kw", "kW", to(&b.ChargerKW), above(0, 1e4), "as max_charge_kw needs",
		func() float64 { return b.MaxChargeKW / b.ChargerEfficiency }, "power of the charger, AC", ours)
	l.num("battery.charger_efficiency_pct", "%", share(&b.ChargerEfficiency), from(1, 100), 85, "AC to DC", practice)
	l.num("battery.inverter_kw", "kW", to(&b.InverterKW), above(0, 1000), 4, "power of the inverter, AC", ours)
	l.num("battery.inverter_efficiency_pct", "%", share(&b.InverterEfficiency), from(1, 100), 92, "DC to AC", practice)
	l.num("battery.inverter_idle_w", "W", func(x float64) { b.InverterIdleKW = x / 1000 }, from(0, 1e4), 20,
		"drawn while the engine gives nothing", "a 3 kW unit's data, SOURCES.md, inverter")
	l.val("battery.room_c", roomC(&l.room, from(-50, 60)), "15", `air around the bank, or "outdoor"`, ours)
	l.val("battery.temperature_effects", flag(&b.TemperatureEffects), "true", "cold, self-discharge, frost",
		"battery_temperature.csv, self_discharge.csv")
	l.numBy("battery.full_every_days", "days", count(&l.spec.Prices.FullEveryDays), from(0, 3660), "14; lithium 0",
		func() float64 { return float64(l.byKind().FullEveryDays) },
		"a full charge is wanted at least so often; 0: never", practice).whole = true
	l.val("battery.cycle_life", pairs(&l.cycleLife, 1, above(0, 100), above(0, 1e7), "[depth %, cycles]"), "",
		"cycles to the end of life by depth", "SOURCES.md, cycle life (flooded; lithium from memory)").
		by("by kind", func() { l.cycleLife = pairsOf(l.byKind().CycleLife) })
}

// hotTank adds the keys of a tank that the set heats.
func (l *list) hotTank() {
	t := &l.tank
	l.opt("tank.litres", "l", to(&t.Litres), from(10, 5000), "water in it; given: the set's warmth is reckoned", yours)
	l.num("tank.jacket_pct", "%", share(&t.JacketShare), from(0, 60), 30,
		"of the gas heat that the shaft does not take, from the coolant", "35 × 0.87, Heywood 1988, Table 12.1, "+memory)
	l.num("tank.exhaust_pct", "%", share(&t.ExhaustShare), from(0, 45), 0, "the same from an exhaust exchanger; 29 with one",
		"45 × 0.65, Heywood 1988, Table 12.1, "+memory)
	l.num("tank.warm_up_kwh", "kWh", to(&t.WarmUpKWh), from(0, 20), 0.8, "lost at each match in warming the engine",
		"worked: 60 kg of iron and 5 l of water by 60 °C")
	l.numBy("tank.loss_w_per_k", "W/K", to(&t.LossWPerK), from(0.1, 100), "class C by its size",
		func() float64 { return tank.UsualLossWPerK(t.Litres) }, "lost for each degree above the room", "EU 812/2013, second hand")
	l.val("tank.room_c", roomC(&l.tankRoom, from(-50, 60)), "15", `air around it, or "outdoor"`, ours)
	l.num("tank.most_c", "°C", to(&t.MostC), from(40, 95), 85, "above it heat is let go outdoors", practice)
	l.num("tank.need_l_per_day", "l", to(&t.NeedLPerDay), from(0, 5000), 0, "hot water drawn at need_c",
		"a family's 168 l is profile M of the EU, "+memory)
	l.num("tank.need_c", "°C", to(&t.NeedC), from(30, 60), 40, "warmth of what is drawn", practice)
	l.num("tank.cold_c", "°C", to(&t.ColdC), from(0, 30), 10, "warmth of what comes in", practice)
	l.val("tank.hours", windows(&t.Hours), `["06:30-08:00", "19:00-22:00"]`, "when it is drawn", ours)
	l.val("tank.rooms", flag(&t.Rooms), "false", "what is above 60 °C warms the house while the month's air is under 15 °C", ours)
	l.num("tank.stove_pct", "%", share(&t.StoveShare), from(10, 95), 65,
		"of the wood's heat, of the stove that heats water otherwise",
		"EU 2015/1185, closed stove, "+memory)
}

// standBy adds the keys of a petrol set that stands by.
func (l *list) standBy() {
	b := &l.standby
	const published = "0.70, 0.77, 0.90, 1.30 l/kWh at 100, 75, 50, 25 % of load, " + memory
	l.opt("standby.kw", "kW", to(&b.KW), above(0, 100), "of a petrol set that stands by; given: it may run", yours)
	l.num("standby.least_kw", "kW", to(&b.LeastKW), from(0, 100), 0, "least power at which it runs", ours)
	l.numBy("standby.litres_per_hour", "l/h", to(&b.LitresPerHour), from(0, 100), "0.2 kw",
		func() float64 { return sim.UsualLitresPerHourKW * b.KW }, "petrol at no load", published)
	l.num("standby.litres_per_kwh", "l/kWh", to(&b.LitresPerKWh), from(0, 10), sim.UsualLitresPerKWh,
		"petrol for each kWh on top", published)
	l.numBy("standby.kg_per_litre", "kg/l", to(&b.KgPerLitre), from(0, 1e4), "10; with money.petrol_l what it is worth in wood",
		func() float64 {
			if worth := l.worthDryKg(); l.given("money.petrol_l") && worth > 0 {
				return l.x("money.petrol_l") / worth
			}
			return 10
		}, "price of a litre in the plan", judgement)
	l.num("standby.hour_kg", "kg/h", to(&b.HourKg), from(0, 1e4), 0.5, "price of an hour in which somebody is near", judgement)
	l.val("standby.hours", windows(&b.Hours), `["07:00-22:00"]`, "when it may run", ours)
	l.val("standby.no_runs", ranges(&b.NoRuns), "[]", "days on which it does not", yours)
	l.val("standby.shares_engine", flag(&b.SharesEngine), "false",
		"it is the wood set's engine, on petrol: repairs bar it too", ours)
	l.opt("standby.litres_kept", "l", to(&b.LitresKept), above(0, 1e5),
		"petrol of the whole span; when it is used up there is no more", yours)
}

// costs adds the keys of what things cost.
func (l *list) costs() {
	p := &l.money
	price := func(leaf string, at *float64, meaning string) {
		l.num("money."+leaf, "", to(at), from(0, 1e9), 0, meaning, yours)
	}
	l.val("money.unit", words(&p.Unit), "", "unit of money, like \"EUR\"; given: costs are reckoned", yours)
	price("hour", &p.Hour, "worth of an hour of your own")
	l.num("money.interest_pct", "%", share(&p.Interest), from(0, 50), 3, "beyond inflation", judgement)
	price("wood_stacked_m3", &p.WoodStackedM3, "price of a stacked m³ of wood, as you get it")
	price("petrol_l", &p.PetrolLitre, "price of a litre of petrol")
	price("oil_change", &p.OilChange, "each engine.oil_every_hours")
	price("filter", &p.Filter, "each engine.filter_every_hours")
	price("set", &p.Set, "gasifier, engine and alternator")
	price("bank", &p.Bank, "the bank; of other sizes in proportion")
	price("panels", &p.Panels, "the panels")
	price("tank", &p.Tank, "the tank with its exchangers")
	price("standby", &p.Standby, "the petrol set")
	l.num("money.set_life_hours", "h", to(&p.SetLifeH), above(0, 1e6), 3000, "engine hours to an overhaul at the price of the set",
		judgement+"; 1000 to 2000 small air-cooled, 5000 to 20000 slow water-cooled, "+memory)
	l.num("money.panels_years", "years", to(&p.PanelsYears), above(0, 200), 25, "life of the panels", judgement)
	l.num("money.tank_years", "years", to(&p.TankYears), above(0, 200), 20, "life of the tank", judgement)
}

// worthDryKg is what an oven-dry kg of wood is worth in money; 0 where it costs nothing.
func (l *list) worthDryKg() float64 {
	species, ok := woodpile.SpeciesOf(l.species)
	dryKg := woodpile.DryKg(l.spec.Pile.SolidPerStacked, &species)
	if !ok || !(dryKg > 0) {
		return 0
	}
	return (l.x("money.wood_stacked_m3") + l.spec.Pile.WorkHPerStacked*l.x("money.hour")) / dryKg
}

// pairsOf are the points of a curve.
func pairsOf(points curve.Curve) (all [][2]float64) {
	for _, p := range points {
		all = append(all, [2]float64{p.X, p.Y})
	}
	return all
}

// wells are the two-well constants: fitted to the rate table, or by kind.
func (l *list) wells() (atHandShare, settlePerH float64) {
	if len(l.rateTable) > 0 {
		if fit, err := battery.FitRates(rates(l.rateTable)); err == nil {
			return fit.AtHandShare, fit.SettlePerH
		}
	}
	return l.byKind().AtHandShare, 1.35 // k: least squares on discharge_rates_agm.csv
}

func rates(rows [][2]float64) []battery.Rate {
	var all []battery.Rate
	for _, row := range rows {
		all = append(all, battery.Rate{Hours: row[0], AmpHours: row[1]})
	}
	return all
}

func (l *list) woodpile() {
	p := &l.spec.Pile
	l.num("woodpile.max_moisture_pct", "%", func(x float64) { p.ReadyDryBasis = woodpile.DryBasis(x / 100) }, above(0, 45), 20,
		"wetter wood is not ready",
		"FEMA/ORNL-6404 section 3.1; FAO 72 section 2.4")
	l.numBy("woodpile.wettest_pct", "%", func(x float64) { p.MostDryBasis = woodpile.DryBasis(x / 100) }, above(0, 45),
		"max_moisture_pct", func() float64 { return l.x("woodpile.max_moisture_pct") },
		"wood up to this is burned where no drier lies ready, with less power, more condensate, and tar", yours)
	l.num("woodpile.dry_mj_kg", "MJ/kg", to(&p.DryMJKg), from(15, 22), 18.5, "net heat of oven-dry wood",
		"ISO 17225-1, from memory: 18.4 to 19.1")
	l.val("woodpile.species", choice(&l.species, woodpile.SpeciesKeys()), `"ash"`, "where a stack or cut names none", ours)
	l.num("woodpile.solid_per_stacked", "m³/m³", to(&p.SolidPerStacked), above(0, 1), 0.64,
		"solid wood in a stacked m³", "TFZ Straubing 2006")
	l.num("woodpile.solid_per_loose", "m³/m³", to(&p.SolidPerLoose), above(0, 1), 0.40,
		"solid wood in a loose m³", "TFZ Straubing 2006")
	l.num("woodpile.loss_pct_year", "%", func(x float64) { p.LossPerDay = woodpile.LossPerDay(x / 100) }, from(0, 99), 2,
		"of the oven-dry wood, rotted or lost", practice)
	l.num("woodpile.work_hours_per_stacked_m3", "h/m³", to(&p.WorkHPerStacked), from(0, 1000), 5,
		"to cut, split, chunk and stack", practice)
	l.num("woodpile.rack_pct", "%", share(&l.rackShare), from(0, 50), 0, "share of the burned wood's heat that dries the rack", ours)
	l.num("woodpile.rack_as_is_kg", "kg", to(&l.rackKg), from(0, 1e4), 0, "wood on the rack", ours)
}

// stack adds a stack; a yearly cut has a day of the year besides, and is green.
func (l *list) stack(table, name string) *amount {
	a := &amount{name: name}
	key := func(leaf string) string { return table + "." + name + "." + leaf }
	cut := table == "woodpile.cut"
	if cut {
		l.val(key("on"), monthDay(&a.on), "", "month and day, each year", yours)
	}
	l.val(key("species"), choice(&a.species, woodpile.SpeciesKeys()), "", "of the wood", "species.csv").
		by("woodpile.species", func() { a.species = l.species })
	l.opt(key("dry_kg"), "kg", to(&a.dryKg), from(0, 1e7), "amount: oven-dry", yours)
	l.opt(key("as_is_kg"), "kg", to(&a.asIsKg), from(0, 1e7), "amount: as it lies", yours)
	l.opt(key("stacked_m3"), "m³", to(&a.stackedM3), from(0, 1e5), "amount: stacked", yours)
	l.opt(key("solid_m3"), "m³", to(&a.solidM3), from(0, 1e5), "amount: solid, without bark", yours)
	l.opt(key("cords"), "cords", to(&a.cords), from(0, 1e5), "amount: cords of 3.624556 m³ stacked", yours)
	l.numBy(key("moisture_pct"), "%", to(&a.moisturePct), from(0, 80),
		"rated_moisture_pct; of a cut green, by species", func() float64 {
			if species, ok := woodpile.SpeciesOf(a.species); ok && cut {
				u := species.GreenWithBarkDryBasis()
				return 100 * u / (1 + u)
			}
			return l.x("engine.rated_moisture_pct")
		}, "wet basis", "FIA reference table")
	l.val(key("piece"), choice(&a.piece, []string{"chunk", "split", "log"}), `"chunk"`, "logs are not ready", ours)
	l.val(key("cover"), choice(&a.cover, []string{"roof", "open"}), `"roof"`, "what keeps rain off", ours)
	return a
}

func (l *list) luck() {
	luck := &l.spec.Luck
	l.num("luck.load_year_pct", "%", share(&luck.LoadYearShare), from(0, 100), 10,
		"standard deviation of a year's load; plans learn it from the last fortnight", judgement)
	l.num("luck.set_daily_pct", "%", share(&luck.SetDailyShare), from(0, 50), 5,
		"standard deviation of what the set gives from day to day; not in a year's own steps", judgement)
	l.num("luck.moisture_points", "points", share(&luck.MoistureShare), from(0, 20), 2,
		"standard deviation of a year's moisture, by damper air over a pile", judgement)
	l.num("luck.fail_to_light_pct", "%", share(&luck.FailShare), from(0, 90), 5, "light-ups that fail", judgement)
	l.whole("luck.repair_days", "days", count(&luck.RepairDays), from(0, 365), 7, "a year, in one block at a random date", judgement)
}

func (l *list) prices() {
	p := &l.spec.Prices
	l.num("plan.short_kg_per_kwh", "kg/kWh", to(&p.ShortKgPerKWh), from(0, 1e6), 50, "price of a kWh wanted and not had", judgement)
	l.num("plan.hour_kg", "kg/h", to(&p.HourKg), from(0, 1e4), 2, "price of an attended hour", judgement)
	l.num("plan.start_kg", "kg", to(&p.StartKg), from(0, 1e4), 1, "price of a light-up, beside its wood", judgement)
	l.num("plan.wear_kg_per_kwh", "kg/kWh", to(&p.WearKgPerKWh), from(0, 1e4), 0,
		"soft price of a kWh taken from the bank", judgement)
	l.num("plan.full_late_kg_per_day", "kg/day", to(&p.FullLateKgPerDay), from(0, 1e4), 5,
		"soft price of a day with a full charge overdue", judgement)
	l.num("plan.spare_pct", "%", share(&p.SpareShare), from(0, 100), 10, "of the bank's size, wanted above the floor", judgement)
	l.numBy("plan.spare_kg_per_kwh_h", "kg/kWh/h", to(&p.SpareKgPerKWhH), from(0, 1e4),
		"0.5; 0 where the load swings, which plans then weigh", func() float64 {
			if l.wants.SwingShare > 0 {
				return 0
			}
			return 0.5
		}, "soft price of a kWh less than that, for an hour", judgement)
	l.numBy("plan.refuel_kg", "kg", to(&p.RefuelKg), from(0, 1e4),
		"2 where engine.hopper_as_is_kg is given, else 0", func() float64 {
			if l.given("engine.hopper_as_is_kg") {
				return 2
			}
			return 0
		}, "soft price of each opening of a hot hopper within a run", judgement)
	p.UsualMinute = -1
	l.val("plan.usual_start", clock(&p.UsualMinute), "", "when you are used to strike the match", yours)
	l.num("plan.off_usual_kg_per_h", "kg/h", to(&p.OffUsualKgPerH), from(0, 1e4), 0.2,
		"soft price of each hour between a match and usual_start", judgement)
	l.num("plan.short_day_kwh", "kWh", to(&p.ShortDayKWh), above(0, 1000), 0.05, "a day that misses this much is a short day", ours)
}

func (l *list) plan() {
	r := &l.rule
	l.val("plan.by", choice(&r.By, plan.Names()), strconv.Quote(plan.ByChosen), "how runs are chosen", ours)
	l.val("plan.foresight", choice(&r.Foresight, []plan.Foresight{plan.Typical, plan.Exact}), `"typical"`,
		"what the chooser knows of the days to come", ours)
	l.val("plan.ration", flag(&r.Rationed), "false", "make a short pile last the span", ours)
	l.val("plan.same_start", clock(&l.sameStart), `"16:30"`, "of same-hours: the match", ours)
	l.num("plan.same_hours", "h", to(&l.sameHours), above(0, 24), 4.5, "of same-hours: attended", ours)
	l.num("plan.start_below_pct", "%", share(&r.StartBelow), from(0, 100), 60, "of top-up: light up below", judgement)
	l.num("plan.stop_above_pct", "%", share(&r.StopAbove), from(0, 100), 90, "of top-up: stop above", judgement)
}

// addNamed makes the settings of a named table.
func (l *list) addNamed(table, name string) {
	switch table {
	case "load.appliance":
		l.appliances = append(l.appliances, l.appliance(name))
	case "load.chore":
		l.chores = append(l.chores, l.chore(name))
	case "panels":
		l.arrays = append(l.arrays, l.panels(name))
	case "woodpile.stack":
		l.stacks = append(l.stacks, l.stack(table, name))
	case "woodpile.cut":
		l.cuts = append(l.cuts, l.stack(table, name))
	default:
		panic(fmt.Sprintf("scenarios: no named table %s", table))
	}
}
