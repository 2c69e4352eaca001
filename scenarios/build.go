package scenarios

import (
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/curve"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

func clockOf(minute int) string { return calendar.Clock(minute) }

// build makes the household of checked values. Only the files a scenario names
// can still be at fault.
func (r *reading) build(text string) *Scenario {
	v := r.list.v
	s := &Scenario{Name: v.name, Text: text, Plan: v.plan.by, Settings: r.list.inOrder()}
	if s.Plan == plan.ByChosen {
		s.Foresight = v.plan.foresight
	}
	span := calendar.Span{Start: v.start, Days: int(v.days), StepMinutes: v.stepMinutes}
	s.Wants = r.wants()
	if len(r.faults) > 0 {
		return nil
	}
	s.Demand = r.demand(s.Wants, span)
	if len(r.faults) > 0 {
		return nil
	}
	spec := sim.Spec{Span: span, Air: place.Air{MeanC: v.airC, HumidityPct: v.humidityPct}, LatitudeDeg: v.latitude,
		BankOutdoor: v.battery.outdoor, RoomC: v.battery.roomC,
		Bank: v.bank(), StartShare: v.battery.startPct / 100, Set: v.set(), AltitudeM: v.altitudeM, Pile: r.pile(span),
		Tending: v.tendingRules(), Prices: v.prices(), Away: v.load.away,
		HopperAsIsKg: v.engine.hopperAsIsKg, SetDailyShare: v.luck.setDailyPct / 100, FailShare: v.luck.failPct / 100}
	r.rating(&spec)
	spec.Cooled, spec.GasC, spec.RatedGasC = r.list.given("engine.gas_c"), v.engine.gasC, v.engine.ratedGasC
	spec.Factors = s.factors(r)
	if n := len(spec.Pile.Stacks); n > woodpile.MostStacks {
		line := r.tableLines["woodpile"]
		if w := &v.woodpile; line == 0 && len(w.stacks) > 0 {
			line = r.tableLines["woodpile.stack."+w.stacks[len(w.stacks)-1].name]
		}
		r.fault(line, "woodpile", "must be at most %d stacks, got %d (a yearly cut takes one a year, up to %d; a rack two)",
			woodpile.MostStacks, n, mostCutLots)
		return nil
	}
	s.House = sim.NewHouse(spec)
	s.choreKW = s.chores()
	s.Rationed = v.plan.ration
	s.sameStartStep = v.plan.sameStart / span.StepMinutes
	s.sameSteps = plan.StepsUp(v.plan.sameHours, span.StepH())
	s.snap = study.Snap{AirC: v.snapC, LoadShare: v.snapLoadPct / 100}
	s.luck = study.Luck{LoadYearShare: v.luck.loadYearPct / 100, SetDailyShare: v.luck.setDailyPct / 100,
		MoistureShare: v.luck.moisturePoints / 100, FailShare: v.luck.failPct / 100, RepairDays: int(v.luck.repairDays)}
	s.dryShareWeighed = v.dryShareWeighed()
	s.hopperAsIsKg = v.engine.hopperAsIsKg
	s.services = []study.Service{{Name: "ash", EveryH: v.engine.ashEveryHours},
		{Name: "filter", EveryH: v.engine.filterEveryHours}, {Name: "oil", EveryH: v.engine.oilEveryHours}}
	s.ratedKWh, s.volts = v.battery.kWh, v.battery.volts
	s.startBelow, s.stopAbove = v.plan.startBelowPct/100, v.plan.stopAbovePct/100
	s.warn(r.list)
	return s
}

// wants makes the house's wants, reading the files it names.
func (r *reading) wants() *loads.Wants {
	v := r.list.v
	w := &loads.Wants{KWhPerYear: v.load.kWhPerYear, KWhPerDay: v.load.kWhPerDay, Scale: v.load.scale,
		Away: v.load.away, AwayShare: v.load.awayPct / 100,
		SwingShare: v.load.swingPct / 100, SwingMemory: v.load.swingMemory, Seed: uint64(v.seed), LatitudeDeg: v.latitude}
	for _, a := range v.load.appliances {
		w.Appliances = append(w.Appliances, loads.Appliance{Name: a.name, Watts: a.watts, Count: a.count, DutyShare: a.dutyPct / 100,
			Hours: a.hours, Days: a.days, Months: a.months, AfterDark: a.afterDark})
	}
	for _, c := range v.load.chores {
		w.Chores = append(w.Chores, loads.Chore{Name: c.name, KWh: c.kWh, KW: c.kW, TimesPerWeek: c.timesPerWeek,
			Hours: c.hours, Days: c.days})
	}
	w.File = r.measured("load.file", v.load.file)
	w.Other = r.measured("other.file", v.otherFile)
	return w
}

// measured reads a file that stands beside the scenario.
func (r *reading) measured(key, name string) *loads.Measured {
	if name == "" {
		return nil
	}
	open, where := r.open, name
	if r.embedded {
		open = func(name string) (io.ReadCloser, error) { return examples.Open(name) }
	} else if !isAbsolute(name) {
		where = path.Join(path.Dir(strings.ReplaceAll(r.file, `\`, "/")), name)
		if strings.HasPrefix(r.file, `\\`) { // a share of Windows, whose two strokes Join makes one
			where = "/" + where
		}
	}
	f, err := open(where)
	if err != nil {
		r.faultAt(key, "must be a file beside the scenario: %s", err)
		return nil
	}
	defer f.Close()
	m, err := loads.ReadMeasured(where, f)
	if err != nil {
		r.faultAt(key, "%s", err)
		return nil
	}
	return m
}

// isAbsolute reports a path that starts from no folder, on any system: /x, C:\x, \\share\x.
func isAbsolute(name string) bool {
	return path.IsAbs(name) || strings.HasPrefix(name, `\`) || len(name) > 1 && name[1] == ':'
}

func (r *reading) demand(w *loads.Wants, span calendar.Span) *loads.Demand {
	d, err := w.Demand(span)
	if err != nil {
		key, text, _ := strings.Cut(err.Error(), ": ")
		r.faultAt(key, "%s", text)
	}
	return d
}

func (v *values) bank() battery.Bank {
	b := &v.battery
	bank := battery.Bank{Kind: battery.Kind(b.kind), FullKWh: b.kWh / battery.YieldShare(b.atHandShare, b.settlePerH, b.ratedHours),
		FloorShare: b.floorPct / 100, CeilingShare: b.ceilingPct / 100, AtHandShare: b.atHandShare, SettlePerH: b.settlePerH,
		MaxChargeKW: b.maxChargeKW, TaperHours: b.taperHours, DischargeEfficiency: b.dischargePct / 100,
		SelfDischargeShare: b.selfDischargePct / 100, TemperatureEffects: b.temperatureEffects,
		ChargerKW: b.chargerKW, ChargerEfficiency: b.chargerPct / 100,
		InverterKW: b.inverterKW, InverterEfficiency: b.inverterPct / 100, InverterIdleKW: b.inverterIdleW / 1000}
	for _, p := range b.chargeCurve {
		bank.ChargeCurve = append(bank.ChargeCurve, curve.Point{X: p[0], Y: p[1]})
	}
	for _, p := range b.cycleLife {
		bank.CycleLife = append(bank.CycleLife, curve.Point{X: p[0], Y: p[1]})
	}
	if len(bank.ChargeCurve) == 0 {
		bank.ChargeCurve = curve.Curve{{X: 0, Y: b.chargePct}}
	}
	return bank
}

// linePoints are the points of a wood curve in oven-dry wood.
func linePoints(pairs [][2]float64, dryShare float64) curve.Curve {
	var points curve.Curve
	for _, p := range pairs {
		points = append(points, curve.Point{X: p[0], Y: p[1] * dryShare})
	}
	return points
}

func (v *values) dryShareWeighed() float64 {
	if v.engine.woodWeighed == "as-is" {
		return 1 - v.engine.ratedMoisturePct/100
	}
	return 1
}

func (v *values) set() genset.Set {
	e, dryShare := &v.engine, v.dryShareWeighed()
	set := genset.Set{KW: e.kW, LeastKW: e.leastKW, LightUpMinutes: int(e.lightUpMinutes), LightUpKg: e.lightUpKg * dryShare,
		RatedMoisture: e.ratedMoisturePct / 100, CharShare: e.charPct / 100}
	if len(e.woodCurve) > 0 {
		set.Line = linePoints(e.woodCurve, dryShare)
	} else {
		set.Line = genset.StraightLine(e.woodIdleKgH*dryShare, e.woodPerKWhKg*dryShare, e.kW)
	}
	return set
}

// rating says where kw was found; a place named by half is at sea level in 25 °C,
// the reference of SAE J1349.
func (r *reading) rating(spec *sim.Spec) {
	const referenceC = 25
	spec.RatedAirC = referenceC
	if r.list.given("engine.rated_altitude_m") {
		spec.Derated, spec.RatedAltM = true, r.list.v.engine.ratedAltitudeM
	}
	if r.list.given("engine.rated_air_c") {
		spec.Derated, spec.RatedAirC = true, r.list.v.engine.ratedAirC
	}
}

// factors are what the moisture of the wood does to the set.
func (s *Scenario) factors(r *reading) *genset.Factors {
	v := r.list.v
	gasC := genset.CondensesC
	if r.list.given("engine.gas_c") {
		gasC = v.engine.gasC
	}
	heat := min(max(v.woodpile.dryMJKg, genset.LeastDryMJKg), genset.MostDryMJKg)
	if heat != v.woodpile.dryMJKg {
		s.Warnings = append(s.Warnings, sim.Warning{Code: "gas_model_range", Text: fmt.Sprintf(
			"woodpile.dry_mj_kg (%s) is outside the gas model's range; its factors by moisture were taken at %s MJ/kg",
			trim(v.woodpile.dryMJKg), trim(heat))})
	}
	f, err := genset.NewFactors(v.engine.ratedMoisturePct/100, heat, gasC)
	if err != nil {
		panic(err) // the ranges of the keys are the model's
	}
	return f
}

// mostCutLots is how many years' wood of one yearly cut lies apart; what is older mixes.
const mostCutLots = 3

func (r *reading) pile(span calendar.Span) woodpile.Pile {
	v := r.list.v
	w := &v.woodpile
	species, _ := woodpile.SpeciesOf(r.usualSpecies())
	p := woodpile.Pile{Endless: len(w.stacks) == 0 && len(w.cuts) == 0, Species: species,
		RatedDryBasis: woodpile.DryBasis(v.engine.ratedMoisturePct / 100),
		MostDryBasis:  woodpile.DryBasis(w.maxMoisturePct / 100), DryMJKg: w.dryMJKg, SolidPerStacked: w.solidPerStacked,
		SolidPerLoose: w.solidPerLoose,
		LossPerDay:    woodpile.LossPerDay(w.lossPct / 100), WorkHPerStacked: w.workHours}
	for _, s := range w.stacks {
		p.Stacks = append(p.Stacks, s.stack(w.solidPerStacked))
	}
	for _, s := range w.cuts {
		empty := s.stack(w.solidPerStacked)
		fresh := empty
		empty.DryKg = 0
		first := len(p.Stacks)
		for i, day := range s.cutDays(span) {
			if i < mostCutLots {
				p.Stacks = append(p.Stacks, empty)
			}
			p.Cuts = append(p.Cuts, woodpile.Cut{Day: day, Stack: first + i%mostCutLots, DryKg: fresh.DryKg, DryBasis: fresh.DryBasis})
		}
	}
	if w.rackPct > 0 && w.rackAsIsKg > 0 && !p.Endless {
		n := len(p.Stacks)
		p.Rack = &woodpile.Rack{AsIsKg: w.rackAsIsKg, HeatShare: w.rackPct / 100, Dries: n, Dried: n + 1}
		p.Stacks = append(p.Stacks, woodpile.Stack{Name: "the rack", Piece: woodpile.Chunk, Cover: woodpile.Roof},
			woodpile.Stack{Name: "the rack's dry wood", Piece: woodpile.Chunk, Cover: woodpile.Roof})
	}
	return p
}

// usualSpecies is the species in which needs are counted: that of the scenario,
// or where it names none the one most of its wood is of.
func (r *reading) usualSpecies() string {
	w := &r.list.v.woodpile
	if r.list.given("woodpile.species") {
		return w.species
	}
	usual, kg := w.species, map[string]float64{}
	for _, s := range slices.Concat(w.stacks, w.cuts) {
		if kg[s.species] += s.stack(w.solidPerStacked).DryKg; kg[s.species] > kg[usual] {
			usual = s.species
		}
	}
	return usual
}

// stack counts a stack's or a cut's wood.
func (s *stackValues) stack(solidPerStacked float64) woodpile.Stack {
	species, _ := woodpile.SpeciesOf(s.species)
	u := woodpile.DryBasis(s.moisturePct / 100)
	kg := s.dryKg + s.asIsKg/(1+u) + woodpile.DryKg(s.solidM3, &species) +
		woodpile.DryKg((s.stackedM3+s.cords*woodpile.CordM3)*solidPerStacked, &species)
	return woodpile.Stack{Name: s.name, Species: species, Piece: woodpile.Piece(s.piece),
		Cover: woodpile.Cover(s.cover), DryKg: kg, DryBasis: u}
}

// cutDays returns the days of the span on which a yearly cut is laid; a cut of
// 29 February is laid on the 28th in other years.
func (s *stackValues) cutDays(span calendar.Span) []int {
	var days []int
	for day := range span.Days {
		date := (span.Start + calendar.Date(day))
		on := date.String()[len("2006-"):]
		leap := calendar.DaysInYear(date.Year()) == 366
		if on == s.on || s.on == "02-29" && on == "02-28" && !leap {
			days = append(days, day)
		}
	}
	return days
}

func (v *values) tendingRules() sim.Tending {
	t := &v.tending
	return sim.Tending{Hours: t.hours, Days: t.days, MinHoursARun: t.minHours, MaxHoursADay: t.maxHours,
		MaxStarts: t.maxStarts, NoRuns: t.noRuns}
}

func (v *values) prices() sim.Prices {
	p := &v.plan
	return sim.Prices{ShortKgPerKWh: p.shortKg, HourKg: p.hourKg, StartKg: p.startKg, WearKgPerKWh: p.wearKg,
		FullLateKgPerDay: p.fullLateKg,
		FullEveryDays:    int(v.battery.fullEveryDays), SpareShare: p.sparePct / 100, SpareKgPerKWhH: p.spareKg,
		ShortDayKWh: p.shortDayKWh, RefuelKg: p.refuelKg, OffUsualKgPerH: p.offUsualKg, UsualMinute: p.usualStart}
}

// chores places the chores in the first of their hours, as plans do that do not
// choose, and warns of what finds no room there: no plan has more.
func (s *Scenario) chores() []float64 {
	if len(s.Wants.Chores) == 0 {
		return nil
	}
	kw, unplaced := loads.FirstHours(s.Wants.Chores, s.House.Span, s.Demand.AwayDay)
	if unplaced > 0 {
		s.Warnings = append(s.Warnings, sim.Warning{Code: "chores_unplaced",
			Text: fmt.Sprintf("chores of %.1f kWh found no room in their hours", unplaced)})
	}
	return kw
}
