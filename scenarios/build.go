package scenarios

import (
	"errors"
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
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// build makes the household of checked values. Only the files a scenario names
// can still be at fault.
func (r *reading) build() *Scenario {
	l := r.list
	spec := l.spec
	s := &Scenario{Household: &sim.Household{Name: l.name}, Text: r.text, Rule: l.rule, Settings: l.inOrder(),
		RatedKWh: l.ratedKWh, Volts: l.x("battery.volts"), DryShareWeighed: l.dryShareWeighed(), LoadScale: l.wants.Scale, reading: r}
	if s.wants = r.wants(); len(r.faults) > 0 {
		return nil
	}
	var err error
	var unfit *loads.FileError
	if s.Demand, err = s.wants.Demand(spec.Span); errors.As(err, &unfit) {
		r.faultAt(unfit.Key, "%s", unfit.Err)
		return nil
	}
	s.Loads, _ = s.wants.Parts(spec.Span) // its error was the demand's
	spec.RoomC, spec.BankOutdoor = l.room.c, l.room.outdoor
	l.finishBank(&spec.Bank)
	l.finishSet(&spec)
	spec.NoonMinute = l.noonMinute
	if l.given("tank.litres") {
		spec.Tank = &sim.HotTank{Tank: l.tank, RoomC: l.tankRoom.c, Outdoor: l.tankRoom.outdoor}
	}
	if l.given("standby.kw") {
		standby := l.standby
		spec.Standby = &standby
	}
	if l.given("money.unit") {
		prices := l.money
		spec.Money = &prices
	}
	spec.Away, spec.Factors = l.wants.Away, s.factors(l)
	l.finishPile(&spec.Pile, spec.Span)
	if n := len(spec.Pile.Stacks); n > woodpile.MostStacks {
		line := r.tableLines["woodpile"]
		if line == 0 && len(l.stacks) > 0 {
			line = r.tableLines["woodpile.stack."+l.stacks[len(l.stacks)-1].name]
		}
		r.fault(line, "woodpile", "must be at most %d stacks, got %d (a yearly cut takes one a year, up to %d; a rack two)",
			woodpile.MostStacks, n, mostCutLots)
		return nil
	}
	s.House = sim.NewHouse(spec)
	s.ChoreKW = s.chores()
	s.Rule.StartStep, s.Rule.Steps = l.sameStart/spec.Span.StepMinutes, plan.StepsUp(l.sameHours, spec.Span.StepH())
	s.warn(l)
	return s
}

// wants makes the house's wants, reading the files it names.
func (r *reading) wants() *loads.Wants {
	w := r.list.wants
	for _, a := range r.list.appliances {
		w.Appliances = append(w.Appliances, *a)
	}
	for _, c := range r.list.chores {
		w.Chores = append(w.Chores, *c)
	}
	w.NoonMinute, w.Panels = r.list.noonMinute, r.list.panelsOf()
	w.File, w.Other = r.measuredOf("load.file", r.list.loadFile), r.measuredOf("other.file", r.list.otherFile)
	return &w
}

// panelsOf are the household's panels in the place's sun; nil: none.
func (l *list) panelsOf() *sun.Panels {
	if len(l.arrays) == 0 {
		return nil
	}
	p := &sun.Panels{LatitudeDeg: l.spec.LatitudeDeg, LevelKWhM2: *l.levelKWhM2, Air: l.spec.Air,
		PressureShare: place.PressurePa(l.spec.AltitudeM) / place.PressurePa(0), NoonMinute: l.noonMinute,
		GroundShare: l.groundShare, Horizon: l.horizon, Usual: l.sunDays != drawnDays, Memory: l.sunMemory, Seed: l.wants.Seed}
	for _, keys := range l.arrays {
		a := keys.Array
		a.AtHouse = keys.wired == atHouse
		for month, pct := range keys.snowPct {
			a.SnowShare[month] = pct / 100
		}
		p.Arrays = append(p.Arrays, a)
	}
	return p
}

// measuredOf reads a file that stands beside the scenario.
func (r *reading) measuredOf(key, name string) *loads.Measured {
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
	if m := r.measured[where]; m != nil {
		return m
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
	r.measured[where] = m
	return m
}

// isAbsolute reports a path that starts from no folder, on any system: /x, C:\x, \\share\x.
func isAbsolute(name string) bool {
	return path.IsAbs(name) || strings.HasPrefix(name, `\`) || len(name) > 1 && name[1] == ':'
}

// finishBank works out what the keys of a bank do not say outright.
func (l *list) finishBank(b *battery.Bank) {
	b.FullKWh = l.health * l.ratedKWh / battery.YieldShare(b.AtHandShare, b.SettlePerH, l.x("battery.rated_hours"))
	b.ChargeCurve, b.CycleLife = curveOf(l.chargeCurve, 1), curveOf(l.cycleLife, 1)
	if len(b.ChargeCurve) == 0 {
		b.ChargeCurve = curve.Curve{{X: 0, Y: l.chargePct}}
	}
}

// curveOf is the curve of pairs, its values times a factor.
func curveOf(pairs [][2]float64, factor float64) curve.Curve {
	var points curve.Curve
	for _, p := range pairs {
		points = append(points, curve.Point{X: p[0], Y: p[1] * factor})
	}
	return points
}

func (l *list) dryShareWeighed() float64 {
	if l.weighed == "as-is" {
		return 1 - l.spec.Set.RatedMoisture
	}
	return 1
}

// finishSet works out the fuel line, and where kw was found: a place named by half is at sea
// level in 25 °C, the reference of SAE J1349.
func (l *list) finishSet(s *sim.Spec) {
	dryShare := l.dryShareWeighed()
	if l.given("engine.alternator_kw") {
		s.Set.AlternatorKW = l.x("engine.alternator_kw")
		s.Set.LeastKW = min(s.Set.LeastKW, s.Set.AlternatorKW)
	}
	s.Set.LightUpKg = l.lightUpKg * dryShare
	s.Set.Line = curveOf(l.woodCurve, dryShare)
	if len(l.woodCurve) == 0 {
		s.Set.Line = genset.StraightLine(l.woodIdleKgH*dryShare, l.woodPerKWhKg*dryShare, s.Set.KW)
	}
	const referenceC = 25
	if !l.given("engine.rated_air_c") {
		s.RatedAirC = referenceC
	}
	s.Derated = l.given("engine.rated_altitude_m") || l.given("engine.rated_air_c")
	s.Cooled = l.given("engine.gas_c")
}

// factors are what the moisture of the wood does to the set.
func (s *Scenario) factors(l *list) *genset.Factors {
	gasC := l.spec.RatedGasC
	if l.given("engine.gas_c") {
		gasC = l.spec.GasC
	}
	dryMJKg := l.spec.Pile.DryMJKg
	heat := min(max(dryMJKg, genset.LeastDryMJKg), genset.MostDryMJKg)
	if heat != dryMJKg {
		s.Warnings.Add("gas_model_range",
			"woodpile.dry_mj_kg (%s) is outside the gas model's range; its factors by moisture were taken at %s MJ/kg",
			trim(dryMJKg), trim(heat))
	}
	f, err := genset.NewFactors(l.spec.Set.RatedMoisture, heat, gasC)
	if err != nil {
		panic(err) // the ranges of the keys are the model's
	}
	return f
}

// mostCutLots is how many years' wood of one yearly cut lies apart; what is older mixes.
const mostCutLots = 3

// finishPile stacks the wood.
func (l *list) finishPile(p *woodpile.Pile, span calendar.Span) {
	p.Species, _ = woodpile.SpeciesOf(l.usualSpecies())
	p.Endless, p.RatedDryBasis = len(l.stacks) == 0 && len(l.cuts) == 0, woodpile.DryBasis(l.spec.Set.RatedMoisture)
	for _, a := range l.stacks {
		p.Stacks = append(p.Stacks, a.stack(p.SolidPerStacked))
	}
	for _, a := range l.cuts {
		empty := a.stack(p.SolidPerStacked)
		fresh := empty
		empty.DryKg = 0
		first := len(p.Stacks)
		for i, day := range a.cutDays(span) {
			if i < mostCutLots {
				p.Stacks = append(p.Stacks, empty)
			}
			p.Cuts = append(p.Cuts, woodpile.Cut{Day: day, Stack: first + i%mostCutLots, DryKg: fresh.DryKg, DryBasis: fresh.DryBasis})
		}
	}
	if l.rackShare > 0 && l.rackKg > 0 && !p.Endless {
		n := len(p.Stacks)
		p.Rack = &woodpile.Rack{AsIsKg: l.rackKg, HeatShare: l.rackShare, Dries: n, Dried: n + 1}
		p.Stacks = append(p.Stacks, woodpile.Stack{Name: "the rack", Piece: woodpile.Chunk, Cover: woodpile.Roof},
			woodpile.Stack{Name: "the rack's dry wood", Piece: woodpile.Chunk, Cover: woodpile.Roof})
	}
}

// usualSpecies is the species in which needs are counted: that of the scenario,
// or where it names none the one most of its wood is of.
func (l *list) usualSpecies() string {
	usual, kg := l.species, map[string]float64{}
	if l.given("woodpile.species") {
		return usual
	}
	for _, a := range slices.Concat(l.stacks, l.cuts) {
		if kg[a.species] += a.stack(l.spec.Pile.SolidPerStacked).DryKg; kg[a.species] > kg[usual] {
			usual = a.species
		}
	}
	return usual
}

// stack counts a stack's or a cut's wood.
func (a *amount) stack(solidPerStacked float64) woodpile.Stack {
	species, _ := woodpile.SpeciesOf(a.species)
	u := woodpile.DryBasis(a.moisturePct / 100)
	kg := a.dryKg + a.asIsKg/(1+u) + woodpile.DryKg(a.solidM3, &species) +
		woodpile.DryKg((a.stackedM3+a.cords*woodpile.CordM3)*solidPerStacked, &species)
	return woodpile.Stack{Name: a.name, Species: species, Piece: woodpile.Piece(a.piece),
		Cover: woodpile.Cover(a.cover), DryKg: kg, DryBasis: u}
}

// cutDays returns the days of the span on which a yearly cut is laid; a cut of
// 29 February is laid on the 28th in other years.
func (a *amount) cutDays(span calendar.Span) []int {
	var days []int
	for day := range span.Days {
		date := span.Start + calendar.Date(day)
		on, leap := date.String()[len("2006-"):], calendar.DaysInYear(date.Year()) == 366
		if on == a.on || a.on == "02-29" && on == "02-28" && !leap {
			days = append(days, day)
		}
	}
	return days
}

// chores places the chores in the first of their hours, as plans do that do not
// choose, and warns of what finds no room there: no plan has more.
func (s *Scenario) chores() []float64 {
	if len(s.Demand.Chores) == 0 {
		return nil
	}
	kw, unplaced := loads.FirstHours(s.Demand.Chores, s.Span, s.Demand.AwayDay)
	if unplaced > 0 {
		s.Warnings.Add("chores_unplaced", "chores of %.1f kWh found no room in their hours", unplaced)
	}
	return kw
}
