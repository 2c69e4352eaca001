package diary

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"twigwatt/sim"
	"twigwatt/sim/curve"
)

// An Estimate is a figure as the diary tells it, with its 90 % interval. Where it
// is not told, Value is NaN, or, held, the scenario's; Low and High are NaN. Why says
// the reason, and of a told figure what else was held for it.
type Estimate struct {
	Value, Low, High float64
	Rows             int    // runs, or gaps between runs, that it rests on
	Held             bool   // not told, and taken from the scenario
	Why              string // in words; "": nothing to say
}

// Told reports whether the diary tells the figure.
func (e Estimate) Told() bool { return !e.Held && Noted(e.Value) }

// scaled is the estimate times a factor, more than 0.
func (e Estimate) scaled(factor float64) Estimate {
	e.Value, e.Low, e.High = e.Value*factor, e.Low*factor, e.High*factor
	return e
}

// atMost100 cuts off what no efficiency can be; one that lies wholly beyond is not told.
func (e Estimate) atMost100() Estimate {
	if e.Low > 100 {
		return notTold(e.Rows, "the diary puts it above 100 %%: look at the meters of charge and kWh, and at the bank's size")
	}
	if e.Told() {
		e.Value, e.High = min(e.Value, 100), min(e.High, 100)
	}
	return e
}

func notTold(rows int, format string, a ...any) Estimate {
	return Estimate{NotNoted(), NotNoted(), NotNoted(), rows, false, fmt.Sprintf(format, a...)}
}

func held(value float64, rows int, why string) Estimate {
	return Estimate{value, NotNoted(), NotNoted(), rows, true, why}
}

func tooFew(rows int, what string) Estimate {
	return notTold(rows, "%d or more %s are needed, the diary has %d", leastRows, what, rows)
}

// within90 is an estimate from a regression's value and variance.
func within90(value, variance, freedom float64, rows int) Estimate {
	reach := quantile(freedom) * math.Sqrt(variance)
	if !allNumbers([]float64{value, reach}) {
		return notTold(rows, "the numbers noted do not fit together")
	}
	return Estimate{Value: value, Low: value - reach, High: value + reach, Rows: rows}
}

// An Outlier is a row that a fit all but leaves out.
type Outlier struct {
	Row     int
	Measure Measure
}

// leastWeight is the weight, 0 to 1, below which a fit all but leaves out a row.
const leastWeight = 0.1

func outliers(measure Measure, rows []int, weights []float64) []Outlier {
	var all []Outlier
	for i, w := range weights {
		if w < leastWeight {
			all = append(all, Outlier{rows[i], measure})
		}
	}
	return all
}

// A Fit is what a diary tells of a household.
type Fit struct {
	WoodFit
	PowerFit
	BankFit
	Outliers []Outlier
	Warnings []sim.Warning // beyond the scenario's own

	scenario *datedHousehold
}

// NewFit fits the scenario's figures to a diary, robustly: a few rows that are
// wrong do not lead it astray. Fewer than eight rows tell nothing. A discharge
// efficiency that is held and wrong makes the house's use wrong by as much, and
// so do chores at other hours, another daily shape of the load than the scenario's,
// and a set that runs longer on days of much use: some percent, either way.
func NewFit(rows []Row, household *sim.Household) *Fit {
	h := dated(household)
	f := &Fit{scenario: h, Warnings: h.warnings(rows)}
	var wood, power, bank []Outlier
	f.WoodFit, wood = fitWood(h, rows)
	f.PowerFit, power = fitPower(h, rows)
	f.BankFit, bank = fitBank(h, rows)
	f.Outliers = slices.Concat(wood, power, bank)
	for _, o := range f.Outliers {
		f.Runs[o.Row].LeftOut = true
	}
	return f
}

// A Figure is a fitted figure beside what the scenario has for it.
type Figure struct {
	Key, Name string // Name is in words, with the unit
	Estimate
	Scenario float64 // NaN where it depends on the charge
}

// Figures returns what a household asks a fit for, in the manual's order.
func (f *Fit) Figures() []Figure {
	h := f.scenario
	idleKgH, perKWhKg := h.fuelLine()
	set, bank := &h.House.Set, &h.House.Bank
	roundTripPct := NotNoted()
	if len(bank.ChargeCurve) == 1 {
		roundTripPct = bank.ChargeCurve[0].Y * bank.DischargeEfficiency
	}
	useKWhPerDay := floats.Sum(h.Demand.ExpectedLoadKW) * h.span.StepH() / float64(h.span.Days)
	if f.LoadFactor.Told() { // on the diary's own days
		useKWhPerDay = f.HouseKWhPerDay.Value / f.LoadFactor.Value
	}
	return []Figure{
		{"wood_idle_kg_h", "wood at no load, kg/h", f.WoodIdleKgH, idleKgH},
		{"wood_per_kwh_kg", "wood for each kWh, kg", f.WoodPerKWhKg, perKWhKg},
		{"light_up_kg", "wood of a light-up, kg", f.LightUpKg, set.LightUpKg},
		{"kw", "the set's power, kW", f.KW, set.KW},
		{"round_trip_pct", "the bank, in and out, %", f.RoundTripPct, roundTripPct},
		{"house_kwh_per_day", "the house, kWh a day", f.HouseKWhPerDay, useKWhPerDay},
	}
}

// Terms are those that a scenario is written in.
type Terms struct {
	DryShareWeighed float64 // of a kg of its wood: 1 where it weighs oven-dry, 1 − rated moisture where as it lies
	LoadScale       float64 // its load.scale
}

// A FittedSetting is a scenario key with the value that the diary gives it.
type FittedSetting struct {
	Key string
	Estimate
	Curve   curve.Curve // of charge_efficiency_curve, in place of a value
	Comment string      // "": none
}

// Settings returns what the diary tells in a scenario's own terms, in its order.
func (f *Fit) Settings(terms Terms) []FittedSetting {
	var all []FittedSetting
	add := func(key string, e Estimate, comment string) {
		if e.Told() {
			all = append(all, FittedSetting{Key: key, Estimate: e, Comment: comment})
		}
	}
	asWeighed, inPlace := 1/terms.DryShareWeighed, ""
	if len(f.scenario.House.Set.Line) > 2 {
		inPlace = "in place of engine.wood_curve"
	}
	const idleKey, perKWhKey = "engine.wood_idle_kg_h", "engine.wood_per_kwh_kg"
	idle, perKWh := f.WoodIdleKgH.scaled(asWeighed), f.WoodPerKWhKg.scaled(asWeighed)
	if idle.Told() || perKWh.Told() { // a scenario takes a line with both its figures alone
		line := f.scenario.House.Set.Line
		both := func(key string, e Estimate, scenarioKg float64) {
			comment := inPlace
			if !e.Told() {
				e = held(scenarioKg*asWeighed, e.Rows, e.Why)
				comment = strings.TrimPrefix(inPlace+"; held, as the scenario has it", "; ")
			}
			all = append(all, FittedSetting{Key: key, Estimate: e, Comment: comment})
		}
		both(idleKey, idle, max(0, line.At(0)))
		both(perKWhKey, perKWh, max(0, line.At(1)-line.At(0)))
	}
	add("engine.light_up_kg", f.LightUpKg.scaled(asWeighed), "")
	add("engine.kw", f.KW, "")
	if least := f.scenario.House.Set.LeastKW; f.KW.Told() && least > f.KW.Value {
		const turnDown = 3 // as by default
		all = append(all, FittedSetting{Key: "engine.least_kw", Estimate: held(f.KW.Value/turnDown, f.KW.Rows, ""),
			Comment: "held at a third of kw, which the scenario's would pass"})
	}
	if charging := f.scenario.House.Bank.ChargeCurve; f.ChargePct.Told() && len(charging) > 1 {
		scaled := make(curve.Curve, len(charging))
		for i, p := range charging {
			scaled[i] = curve.Point{X: p.X, Y: min(100, p.Y*f.chargeFactor)}
		}
		all = append(all, FittedSetting{Key: "battery.charge_efficiency_curve", Estimate: f.ChargePct, Curve: scaled,
			Comment: "the scenario's curve, to scale"})
	} else {
		add("battery.charge_efficiency_pct", f.ChargePct, "")
	}
	add("battery.discharge_efficiency_pct", f.DischargePct, "")
	const mostScale = 100 // of the key
	if scale := f.LoadFactor.scaled(terms.LoadScale); scale.Value <= mostScale {
		add("load.scale", scale, "")
	}
	return all
}
