package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
)

// Sources that many keys share.
const (
	practice  = "common practice, no source"
	judgement = "a judgement, no source"
	yours     = "the household's own"
	ours      = "the program's choice"
)

// list is every setting of a scenario, in the order of the manual: the only
// place where key, unit, default, range, meaning and source stand.
type list struct {
	v     *values
	all   []*Setting
	byKey map[string]*Setting
	named map[string]bool // tables with names of the household's own
	today func() (calendar.Date, error)
}

func newList(today func() (calendar.Date, error)) *list {
	l := &list{v: &values{}, byKey: map[string]*Setting{}, named: map[string]bool{}, today: today}
	l.top()
	l.place()
	l.load()
	l.engine()
	l.engineCare()
	l.tending()
	l.battery()
	l.batteryFlow()
	l.woodpile()
	l.luck()
	l.prices()
	l.plan()
	return l
}

func (l *list) add(s *Setting) *Setting {
	l.all = append(l.all, s)
	l.byKey[s.Key] = s
	return s
}

// num adds a number with a fixed default.
func (l *list) num(key, unit string, at *float64, in bounds, def float64, meaning, source string) {
	l.add(&Setting{Key: key, Unit: unit, Meaning: meaning, Source: source, Default: trim(def),
		value: &number{at: at, in: in}, fill: func() { *at = def }})
}

// whole adds a whole number with a fixed default.
func (l *list) whole(key, unit string, at *float64, in bounds, def float64, meaning, source string) {
	l.add(&Setting{Key: key, Unit: unit, Meaning: meaning, Source: source, Default: trim(def),
		value: &number{at: at, in: in, whole: true}, fill: func() { *at = def }})
}

// numBy adds a number whose default depends on other keys; NaN from def means none.
func (l *list) numBy(key, unit string, at *float64, in bounds, words string, def func() float64, meaning, source string) {
	n := &number{at: at, in: in}
	l.add(&Setting{Key: key, Unit: unit, Meaning: meaning, Source: source, Default: words, value: n, late: true, fill: func() {
		*at = def()
		n.unset = math.IsNaN(*at)
	}})
}

// opt adds a number without a default.
func (l *list) opt(key, unit string, at *float64, in bounds, meaning, source string) {
	l.add(&Setting{Key: key, Unit: unit, Meaning: meaning, Source: source, value: &number{at: at, in: in, unset: true}})
}

// val adds any other value with its default.
func (l *list) val(key string, v value, def string, fill func(), meaning, source string) *Setting {
	return l.add(&Setting{Key: key, Meaning: meaning, Source: source, Default: def, value: v, fill: fill})
}

func (l *list) given(key string) bool { s := l.byKey[key]; return s != nil && s.Given }

func (l *list) top() {
	v := l.v
	l.val("name", &words{&v.name}, "the file's name", nil, "what the reports call the household", yours)
	first := calendar.NewDate(2025, 1, 1)
	l.val("start", &firstDay{&v.start, l.today}, `2025-01-01`, func() { v.start = first }, `first day of the span, or "today"`, ours)
	l.whole("days", "days", &v.days, from(1, 3660), 365, "length of the span", ours)
	l.val("step_minutes", &oneOf{&v.stepMinutes, []int64{10, 15, 20, 30, 60}}, "30", func() { v.stepMinutes = 30 },
		"length of a step", ours).Unit = "min"
	l.whole("seed", "", &v.seed, from(0, 1<<53), 1, "of all that is drawn by chance: the same seed, the same year", ours)
}

func (l *list) place() {
	v := l.v
	l.val("place.climate", &choice{&v.climate, place.Climates()}, `"seattle"`, func() {
		if !l.given("place.air_c") && !l.given("place.humidity_pct") {
			v.climate = "seattle"
		}
	}, "published monthly air", "SOURCES.md, climate_normals.csv")
	l.yearly("place.air_c", "°C", &v.airC, from(-60, 50), func(a place.Air) [12]float64 { return a.MeanC }, "mean air of each month")
	l.yearly("place.humidity_pct", "%", &v.humidityPct, from(1, 100),
		func(a place.Air) [12]float64 { return a.HumidityPct }, "mean relative humidity of each month")
	l.num("place.latitude", "°", &v.latitude, from(-90, 90), 50,
		"north is positive; for sunset, and in the south the published household's winter is in July", ours)
	l.num("place.altitude_m", "m", &v.altitudeM, from(-430, 6000), 0, "above the sea", ours)
	l.numBy("place.snap_c", "°C", &v.snapC, from(-70, 50), "coldest month − 12", func() float64 {
		return place.Air{MeanC: v.airC}.ColdestC() - 12
	}, "air of a cold snap", practice)
	l.num("place.snap_load_pct", "%", &v.snapLoadPct, from(0, 500), 115, "load in a cold snap", practice)
}

// yearly adds twelve monthly means that come from the climate unless given.
func (l *list) yearly(key, unit string, at *[12]float64, in bounds, of func(place.Air) [12]float64, meaning string) {
	y := &yearly{at: at, in: in, unset: true}
	l.add(&Setting{Key: key, Unit: unit, Meaning: meaning, Source: "SOURCES.md, climate_normals.csv",
		Default: "of the climate", value: y, late: true, fill: func() {
			if air, ok := place.Climate(l.v.climate); ok {
				*at, y.unset = of(air), false
			}
		}})
}

func (l *list) load() {
	v := &l.v.load
	const h0 = "household profile H0, VDEW M-32/99 and M-05/2000"
	l.opt("load.kwh_per_year", "kWh", &v.kWhPerYear, above(0, 1e6), "a published household of so much in a year", h0)
	l.opt("load.kwh_per_day", "kWh", &v.kWhPerDay, above(0, 3000), "the same by its mean day", h0)
	l.val("load.file", &file{&v.file}, "", nil, "CSV of measured load, beside the scenario", yours)
	l.num("load.scale", "", &v.scale, from(0, 100), 1, "multiplies household, file and appliances", ours)
	l.num("load.daily_swing_pct", "%", &v.swingPct, from(0, 200), 0, "standard deviation of the day's factor", ours)
	l.num("load.swing_memory", "", &v.swingMemory, from(0, 0.99), 0.5,
		"correlation of a day's factor with the last one's", judgement)
	l.val("load.away", &ranges{&v.away}, "[]", nil, "days nobody is at home", yours)
	l.num("load.away_pct", "%", &v.awayPct, from(0, 100), 30, "load that stays on those days", judgement)
	l.val("other.file", &file{&l.v.otherFile}, "", nil, "CSV of any other source's AC power", yours)
}

func (l *list) appliance(name string) *applianceValues {
	a := &applianceValues{name: name}
	key := func(leaf string) string { return "load.appliance." + name + "." + leaf }
	l.opt(key("watts"), "W", &a.watts, from(0, 1e5), "power while it runs", yours)
	l.num(key("count"), "", &a.count, from(0, 1000), 1, "how many", ours)
	l.num(key("duty_pct"), "%", &a.dutyPct, from(0, 100), 100, "share of its hours in which it runs", ours)
	l.val(key("hours"), &windows{&a.hours}, `["00:00-24:00"]`,
		func() { a.hours = []calendar.Window{{From: 0, To: calendar.MinutesADay}} }, "when it may run", ours)
	l.val(key("days"), &weekdays{&a.days}, `"all"`, func() { a.days = calendar.AllWeek }, "days of the week", ours)
	l.val(key("months"), &months{&a.months}, `"all"`, func() { a.months = calendar.AllYear }, "months of the year", ours)
	l.val(key("after_dark"), &flag{&a.afterDark}, "false", nil, "only between sunset and sunrise", ours)
	return a
}

func (l *list) chore(name string) *choreValues {
	c := &choreValues{name: name}
	key := func(leaf string) string { return "load.chore." + name + "." + leaf }
	l.opt(key("kwh"), "kWh", &c.kWh, above(0, 1000), "energy of one time", yours)
	l.opt(key("kw"), "kW", &c.kW, above(0, 100), "power while it runs", yours)
	l.num(key("times_per_week"), "", &c.timesPerWeek, above(0, 70), 1, "how often it is wanted", ours)
	l.val(key("hours"), &windows{&c.hours}, `["07:00-21:00"]`,
		func() { c.hours = []calendar.Window{{From: 7 * 60, To: 21 * 60}} }, "when it may run, from its start to its end", ours)
	l.val(key("days"), &weekdays{&c.days}, `"all"`, func() { c.days = calendar.AllWeek }, "days of the week", ours)
	return c
}

func (l *list) engine() {
	v := &l.v.engine
	const chain = "0.28 no-load, Jorapur & Rajvanshi; 0.70 FAO 72; 0.24 Homdoung; 0.85 " + practice
	l.opt("engine.kw", "kW", &v.kW, above(0, 100), "what the set makes at home, on wood at the rated moisture", yours)
	l.numBy("engine.least_kw", "kW", &v.leastKW, from(0, 100), "kw/3", func() float64 { return v.kW / 3 },
		"least power at which the gas stays good", "turn-down 3, FAO 72, Appendix 2")
	l.val("engine.wood_curve", &pairs{at: &v.woodCurve, least: 2, first: from(0, 100), second: from(0, 1000),
		names: "[kW, kg/h]"}, "", nil,
		"measured wood by power, instead of the next two", yours)
	l.numBy("engine.wood_idle_kg_h", "kg/h", &v.woodIdleKgH, from(0, 1000), "0.28 of full power",
		func() float64 { idle, _ := l.defaultLine(); return idle }, "wood at no load", chain)
	l.numBy("engine.wood_per_kwh_kg", "kg/kWh", &v.woodPerKWhKg, from(0, 1000), "0.72 of full power",
		func() float64 { _, per := l.defaultLine(); return per }, "wood for each kWh on top", chain)
	l.whole("engine.light_up_minutes", "min", &v.lightUpMinutes, from(0, 240), 20, "from the match to gas good enough", practice)
	l.num("engine.light_up_kg", "kg", &v.lightUpKg, from(0, 100), 1.5, "wood of a light-up", practice)
	l.val("engine.wood_weighed", &choice{&v.woodWeighed, []string{"oven-dry", "as-is"}}, `"oven-dry"`,
		func() { v.woodWeighed = "oven-dry" },
		"how the wood of wood_curve, wood_idle_kg_h, wood_per_kwh_kg and light_up_kg was weighed; as-is: at the rated moisture", ours)
	l.num("engine.rated_moisture_pct", "%", &v.ratedMoisturePct, from(0, 45), 15,
		"moisture of the wood at which kw was found", practice)
}

func (l *list) engineCare() {
	v := &l.v.engine
	l.num("engine.hopper_as_is_kg", "kg", &v.hopperAsIsKg, from(1, 1000), 20, "wood a full hopper holds", practice)
	l.opt("engine.rated_altitude_m", "m", &v.ratedAltitudeM, from(-430, 6000),
		"where kw was found; given: the set is derated to the place", yours)
	l.opt("engine.rated_air_c", "°C", &v.ratedAirC, from(-40, 60),
		"air in which kw was found; given: the set is derated to the place", yours)
	l.opt("engine.gas_c", "°C", &v.gasC, from(0, 200), "gas at the mixer, after the cooler; not given: power as rated, and condensate as at 45 °C (common practice, no source)", yours)
	l.num("engine.rated_gas_c", "°C", &v.ratedGasC, from(0, 200), 21, "the same when kw was found",
		"70 °F, FEMA/ORNL-6404 section 2")
	l.opt("engine.displacement_cc", "cm³", &v.displacementCC, above(0, 20000), "with rpm: kw is checked for plausibility", yours)
	l.opt("engine.rpm", "1/min", &v.rpm, above(0, 10000), "with displacement_cc: kw is checked for plausibility", yours)
	l.num("engine.ash_every_hours", "h", &v.ashEveryHours, above(0, 1e5), 8, "engine hours between emptying ash", practice)
	l.num("engine.filter_every_hours", "h", &v.filterEveryHours, above(0, 1e5), 50, "engine hours between filters", practice)
	l.num("engine.oil_every_hours", "h", &v.oilEveryHours, above(0, 1e5), 100, "engine hours between oil changes", practice)
	l.num("engine.char_pct", "%", &v.charPct, from(0, 30), 5, "of the oven-dry wood, left as char", practice)
}

// defaultLine is the fuel line from first principles in the household's weighing.
func (l *list) defaultLine() (idleKgH, perKWhKg float64) {
	e := &l.v.engine
	if len(e.woodCurve) > 0 {
		return math.NaN(), math.NaN()
	}
	moisture := e.ratedMoisturePct / 100
	idleKgH, perKWhKg = genset.DefaultLine(e.kW, l.v.woodpile.dryMJKg, moisture)
	if e.woodWeighed == "as-is" {
		return idleKgH / (1 - moisture), perKWhKg / (1 - moisture)
	}
	return idleKgH, perKWhKg
}

func (l *list) tending() {
	v := &l.v.tending
	l.val("tending.hours", &windows{&v.hours}, `["07:00-21:00"]`,
		func() { v.hours = []calendar.Window{{From: 7 * 60, To: 21 * 60}} }, "when somebody can look after a run", ours)
	l.val("tending.days", &weekdays{&v.days}, `"all"`, func() { v.days = calendar.AllWeek }, "days of the week", ours)
	l.num("tending.min_hours_a_run", "h", &v.minHours, above(0, 24), 1, "attended, light-up included", ours)
	l.num("tending.max_hours_a_day", "h", &v.maxHours, from(0, 24), 8, "attended", ours)
	l.val("tending.max_starts_a_day", &oneOf{&v.maxStarts, []int64{1, 2}}, "1", func() { v.maxStarts = 1 },
		"light-ups in a day", ours)
	l.val("tending.no_runs", &ranges{&v.noRuns}, "[]", nil, "days without a run", yours)
}

func (l *list) woodpile() {
	v := &l.v.woodpile
	l.num("woodpile.max_moisture_pct", "%", &v.maxMoisturePct, above(0, 45), 20, "wetter wood is not ready",
		"FEMA/ORNL-6404 section 3.1; FAO 72 section 2.4")
	l.num("woodpile.dry_mj_kg", "MJ/kg", &v.dryMJKg, from(15, 22), 18.5, "net heat of oven-dry wood",
		"ISO 17225-1, from memory: 18.4 to 19.1")
	l.val("woodpile.species", &choice{&v.species, woodpile.SpeciesKeys()}, `"ash"`, func() { v.species = "ash" },
		"where a stack or cut names none", ours)
	l.num("woodpile.solid_per_stacked", "m³/m³", &v.solidPerStacked, above(0, 1), 0.64,
		"solid wood in a stacked m³", "TFZ Straubing 2006")
	l.num("woodpile.solid_per_loose", "m³/m³", &v.solidPerLoose, above(0, 1), 0.40, "solid wood in a loose m³", "TFZ Straubing 2006")
	l.num("woodpile.loss_pct_year", "%", &v.lossPct, from(0, 99), 2, "of the oven-dry wood, rotted or lost", practice)
	l.num("woodpile.work_hours_per_stacked_m3", "h/m³", &v.workHours, from(0, 1000), 5, "to cut, split, chunk and stack", practice)
	l.num("woodpile.rack_pct", "%", &v.rackPct, from(0, 50), 0, "share of the burned wood's heat that dries the rack", ours)
	l.num("woodpile.rack_as_is_kg", "kg", &v.rackAsIsKg, from(0, 1e4), 0, "wood on the rack", ours)
}

// stack adds a stack, or with cut a yearly cut.
func (l *list) stack(name string, cut bool) *stackValues {
	s := &stackValues{name: name}
	table := "woodpile.stack."
	if cut {
		table = "woodpile.cut."
	}
	key := func(leaf string) string { return table + name + "." + leaf }
	if cut {
		l.val(key("on"), &monthDay{&s.on}, "", nil, "month and day, each year", yours)
	}
	l.val(key("species"), &choice{&s.species, woodpile.SpeciesKeys()}, "woodpile.species",
		func() { s.species = l.v.woodpile.species }, "of the wood", "species.csv").late = true
	l.opt(key("dry_kg"), "kg", &s.dryKg, from(0, 1e7), "amount: oven-dry", yours)
	l.opt(key("as_is_kg"), "kg", &s.asIsKg, from(0, 1e7), "amount: as it lies", yours)
	l.opt(key("stacked_m3"), "m³", &s.stackedM3, from(0, 1e5), "amount: stacked", yours)
	l.opt(key("solid_m3"), "m³", &s.solidM3, from(0, 1e5), "amount: solid, without bark", yours)
	l.opt(key("cords"), "cords", &s.cords, from(0, 1e5), "amount: cords of 3.624556 m³ stacked", yours)
	l.numBy(key("moisture_pct"), "%", &s.moisturePct, from(0, 80), "rated_moisture_pct; of a cut green, by species", func() float64 {
		if species, ok := woodpile.SpeciesOf(s.species); ok && cut {
			u := species.GreenWithBarkDryBasis()
			return 100 * u / (1 + u)
		}
		return l.v.engine.ratedMoisturePct
	}, "wet basis", "FIA reference table")
	l.val(key("piece"), &choice{&s.piece, []string{"chunk", "split", "log"}}, `"chunk"`,
		func() { s.piece = "chunk" }, "logs are not ready", ours)
	l.val(key("cover"), &choice{&s.cover, []string{"roof", "open"}}, `"roof"`, func() { s.cover = "roof" },
		"what keeps rain off", ours)
	return s
}

// monthDay is a day of every year, written 03-15.
type monthDay struct{ at *string }

func (m *monthDay) set(raw any) error {
	text, ok := raw.(string)
	if _, err := calendar.ParseDate("2024-" + text); !ok || err != nil {
		return refuse(m.allowed(), raw)
	}
	*m.at = text
	return nil
}

func (m *monthDay) allowed() string { return `a month and day like "03-15"` }
func (m *monthDay) show(int) string { return orNone(*m.at) }

func (l *list) luck() {
	v := &l.v.luck
	l.num("luck.load_year_pct", "%", &v.loadYearPct, from(0, 100), 10, "standard deviation of a year's load", judgement)
	l.num("luck.set_daily_pct", "%", &v.setDailyPct, from(0, 50), 5,
		"standard deviation of what the set gives from day to day; not in a year's own steps", judgement)
	l.num("luck.moisture_points", "points", &v.moisturePoints, from(0, 20), 2, "standard deviation of a year's moisture", judgement)
	l.num("luck.fail_to_light_pct", "%", &v.failPct, from(0, 90), 5, "light-ups that fail", judgement)
	l.whole("luck.repair_days", "days", &v.repairDays, from(0, 365), 7, "a year, in one block at a random date", judgement)
}

func (l *list) prices() {
	v := &l.v.plan
	l.num("plan.short_kg_per_kwh", "kg/kWh", &v.shortKg, from(0, 1e6), 50, "price of a kWh wanted and not had", judgement)
	l.num("plan.hour_kg", "kg/h", &v.hourKg, from(0, 1e4), 2, "price of an attended hour", judgement)
	l.num("plan.start_kg", "kg", &v.startKg, from(0, 1e4), 1, "price of a light-up, beside its wood", judgement)
	l.num("plan.wear_kg_per_kwh", "kg/kWh", &v.wearKg, from(0, 1e4), 0, "soft price of a kWh taken from the bank", judgement)
	l.num("plan.full_late_kg_per_day", "kg/day", &v.fullLateKg, from(0, 1e4), 5,
		"soft price of a day with a full charge overdue", judgement)
	l.num("plan.spare_pct", "%", &v.sparePct, from(0, 100), 10, "of the bank's size, wanted above the floor", judgement)
	l.numBy("plan.spare_kg_per_kwh_h", "kg/kWh/h", &v.spareKg, from(0, 1e4),
		"0.5; 0 where the load swings, which plans then weigh", func() float64 {
			if l.v.load.swingPct > 0 {
				return 0
			}
			return 0.5
		}, "soft price of a kWh less than that, for an hour", judgement)
	l.numBy("plan.refuel_kg", "kg", &v.refuelKg, from(0, 1e4), "2 where engine.hopper_as_is_kg is given, else 0", func() float64 {
		if l.given("engine.hopper_as_is_kg") {
			return 2
		}
		return 0
	}, "soft price of each opening of a hot hopper within a run", judgement)
	l.val("plan.usual_start", &clock{&v.usualStart}, "", func() { v.usualStart = -1 },
		"when you are used to strike the match", yours)
	l.num("plan.off_usual_kg_per_h", "kg/h", &v.offUsualKg, from(0, 1e4), 0.2,
		"soft price of each hour between a match and usual_start", judgement)
	l.num("plan.short_day_kwh", "kWh", &v.shortDayKWh, above(0, 1000), 0.05, "a day that misses this much is a short day", ours)
}

func (l *list) plan() {
	v := &l.v.plan
	l.val("plan.by", &choice{&v.by, plan.Names()}, strconv.Quote(plan.ByChosen), func() { v.by = plan.ByChosen },
		"how runs are chosen", ours)
	l.val("plan.foresight", &choice{&v.foresight, []string{"typical", "exact"}}, `"typical"`,
		func() { v.foresight = "typical" }, "what the chooser knows of the days to come", ours)
	l.val("plan.ration", &flag{&v.ration}, "false", nil, "make a short pile last the span", ours)
	l.val("plan.same_start", &clock{&v.sameStart}, `"16:30"`, func() { v.sameStart = 16*60 + 30 }, "of same-hours: the match", ours)
	l.num("plan.same_hours", "h", &v.sameHours, above(0, 24), 4.5, "of same-hours: attended", ours)
	l.num("plan.start_below_pct", "%", &v.startBelowPct, from(0, 100), 60, "of top-up: light up below", judgement)
	l.num("plan.stop_above_pct", "%", &v.stopAbovePct, from(0, 100), 90, "of top-up: stop above", judgement)
}

// named are the tables with names of the household's own: load.appliance.NAME.
var named = []string{"load.appliance", "load.chore", "woodpile.stack", "woodpile.cut"}

// addNamed makes the settings of a named table.
func (l *list) addNamed(table, name string) {
	v := l.v
	switch table {
	case "load.appliance":
		v.load.appliances = append(v.load.appliances, l.appliance(name))
	case "load.chore":
		v.load.chores = append(v.load.chores, l.chore(name))
	case "woodpile.stack":
		v.woodpile.stacks = append(v.woodpile.stacks, l.stack(name, false))
	case "woodpile.cut":
		v.woodpile.cuts = append(v.woodpile.cuts, l.stack(name, true))
	default:
		panic(fmt.Sprintf("scenarios: no named table %s", table))
	}
}

// Manual returns every key with NAME for the household's own names, in order.
func Manual() []*Setting {
	l := newList(func() (calendar.Date, error) { return 0, errNoToday })
	for _, table := range named {
		l.addNamed(table, "NAME")
	}
	return l.inOrder()
}

// inOrder returns the settings table by table.
func (l *list) inOrder() []*Setting {
	order := []string{"", "place", "load", "load.appliance", "load.chore", "other", "engine", "tending", "battery",
		"woodpile", "woodpile.stack", "woodpile.cut", "luck", "plan"}
	place := func(s *Setting) int {
		table := Table(s.Key)
		if i := slices.Index(order, table); i >= 0 {
			return i
		}
		return slices.Index(order, Table(table))
	}
	sorted := slices.Clone(l.all)
	slices.SortStableFunc(sorted, func(a, b *Setting) int { return place(a) - place(b) })
	return sorted
}
