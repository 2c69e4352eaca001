package diary

import (
	"fmt"
	"math"

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

func notTold(rows int, format string, a ...any) Estimate {
	return Estimate{NotNoted(), NotNoted(), NotNoted(), rows, false, fmt.Sprintf(format, a...)}
}

func held(value float64, rows int, why string) Estimate {
	return Estimate{value, NotNoted(), NotNoted(), rows, true, why}
}

func tooFew(rows int, what string) Estimate {
	return notTold(rows, "%d or more %s are needed, the diary has %d", leastRows, what, rows)
}

// scaled is the estimate times a factor, more than 0.
func (e Estimate) scaled(factor float64) Estimate {
	e.Value, e.Low, e.High = e.Value*factor, e.Low*factor, e.High*factor
	return e
}

// within90 is an estimate from a regression's value and variance.
func within90(value, variance, freedom float64, rows int) Estimate {
	reach := quantile(freedom) * math.Sqrt(variance)
	if !allNumbers([]float64{value, reach}) {
		return notTold(rows, "the numbers noted do not fit together")
	}
	return Estimate{Value: value, Low: value - reach, High: value + reach, Rows: rows}
}

// A Fit is what a diary tells of a household. Wood is oven-dry, of the rated
// moisture.
type Fit struct {
	WoodIdleKgH, WoodPerKWhKg, LightUpKg Estimate
	KW                                   Estimate // on wood at the rated moisture, in the air kw was rated in
	HouseKWhPerDay                       Estimate // mean of the diary's dates, without chores
	LoadFactor                           Estimate // of the load that the scenario expects
	RoundTripPct                         Estimate // of the bank itself, DC: charging × discharging
	ChargePct, DischargePct              Estimate // charging: mean over the charge at which the diary's runs charged
	WoodDrift                            Drift    // kg/kWh beyond what a run of that length and power takes
	PowerDrift                           Drift    // kW at the rated moisture, of runs that the bank did not hold back
	Points                               []Point
	Outliers                             []Outlier

	wasCurve    bool // the scenario's wood is a curve
	chargeCurve curve.Curve
	chargeMore  float64 // factor on the curve
}

// A Point is a row in figures that can be drawn; NaN where it does not tell.
type Point struct {
	Row           int
	WoodDryKg     float64 // turned into wood of the rated moisture
	ExpectedDryKg float64 // of the fit; of the scenario where it tells nothing
	WoodPerKWhKg  float64
	PowerKW       float64 // mean over the engine hours
}

// ResidualKg is what the run took beyond what was to be expected.
func (p Point) ResidualKg() float64 { return p.WoodDryKg - p.ExpectedDryKg }

// Of names the fit that a row stands out from.
type Of string

// What is fitted row by row.
const (
	OfWood  Of = "wood"
	OfPower Of = "power"
	OfRun   Of = "charge over the run"
	OfGap   Of = "charge until the next run"
)

// An Outlier is a row that a fit all but leaves out: weight below leastWeight.
type Outlier struct {
	Row      int
	Of       Of
	Weight   float64 // 0 to 0.1
	Residual float64 // noted less fitted: kg, or kWh
}

const leastWeight = 0.1

func (f *Fit) outliers(of Of, rows []int, weights, residual []float64) {
	for i, w := range weights {
		if w < leastWeight {
			f.Outliers = append(f.Outliers, Outlier{rows[i], of, w, residual[i]})
		}
	}
}

// NewFit fits the scenario's figures to a diary, robustly: a few rows that are
// wrong do not lead it astray. Fewer than eight rows tell nothing. A discharge
// efficiency that is held and wrong makes the house's use wrong by as much, and
// so do chores at other hours, another daily shape of the load than the scenario's,
// and a set that runs longer on days of much use: some percent, either way.
func NewFit(rows []Row, of Household) *Fit {
	e := newExpecter(of)
	f := &Fit{wasCurve: len(of.House.Set.Line) > 2, chargeCurve: of.House.Bank.ChargeCurve, chargeMore: 1}
	f.fitWood(e, rows)
	f.fitPower(e, rows)
	f.fitBank(e, rows)
	return f
}

// A Line is a scenario key with the value that the diary gives it.
type Line struct {
	Key string
	Estimate
	Curve   [][2]float64 // of charge_efficiency_curve, in place of a value
	Comment string       // "": none
}

// Lines returns the scenario's lines that the diary tells. Wood is divided by
// dryShare (1 where the scenario weighs oven-dry, 1 − rated moisture where as-is)
// and the load's factor multiplies currentScale, the scenario's load.scale.
func (f *Fit) Lines(dryShare, currentScale float64) []Line {
	var lines []Line
	add := func(key string, e Estimate, comment string) {
		if e.Told() {
			lines = append(lines, Line{Key: key, Estimate: e, Comment: comment})
		}
	}
	wood := func(key string, e Estimate) {
		comment := ""
		if f.wasCurve {
			comment = "in place of engine.wood_curve"
		}
		if e.Held && f.wasCurve && f.WoodPerKWhKg.Told() { // a line needs both its figures
			lines = append(lines, Line{Key: key, Estimate: e.scaled(1 / dryShare), Comment: comment + "; " + e.Why})
			return
		}
		add(key, e.scaled(1/dryShare), comment)
	}
	wood("engine.wood_idle_kg_h", f.WoodIdleKgH)
	wood("engine.wood_per_kwh_kg", f.WoodPerKWhKg)
	add("engine.light_up_kg", f.LightUpKg.scaled(1/dryShare), "")
	add("engine.kw", f.KW, "")
	if f.ChargePct.Told() && len(f.chargeCurve) > 1 {
		line := Line{Key: "battery.charge_efficiency_curve", Estimate: f.ChargePct, Comment: "the scenario's curve, to scale"}
		for _, p := range f.chargeCurve {
			line.Curve = append(line.Curve, [2]float64{p.X, min(100, p.Y*f.chargeMore)})
		}
		lines = append(lines, line)
	} else {
		add("battery.charge_efficiency_pct", f.ChargePct, "")
	}
	add("battery.discharge_efficiency_pct", f.DischargePct, "")
	add("load.scale", f.LoadFactor.scaled(currentScale), "")
	return lines
}
