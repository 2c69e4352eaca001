package diary

import (
	"math"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// An Oddity is a kind of difference between what was noted and what was to be
// expected.
type Oddity string

// The oddities.
const (
	OddWood   Oddity = "wood"   // of the run
	OddPower  Oddity = "power"  // kWh for each engine hour: beyond what the set can give
	OddGained Oddity = "gained" // charge over the run
	OddLost   Oddity = "lost"   // charge from this run's stop to the next one's match
)

// Margins within which a row is never odd: judgements, no source.
const (
	WoodMargin     = 0.25 // of the wood, against the diary's usual ratio to the scenario
	PowerMargin    = 0.10 // above the set's most power, below its least
	GainedMargin   = 15.0 // points of charge
	LostMargin     = 15.0 // points of charge
	oddDeviations  = 4.0  // robust standard deviations, once there are leastRows rows
	leastRows      = 8    // for any figure drawn from the diary: a judgement, no source
	longestGapDays = 3    // between runs for which charge is compared; longer, and one day's doings hide another's
)

// A Pair is a number as noted and as the scenario expects it; NaN where the row
// does not tell.
type Pair struct{ Noted, Expected float64 }

// Told reports whether both are there.
func (p Pair) Told() bool { return Noted(p.Noted) && Noted(p.Expected) }

// A Finding is a row beside what the scenario expects of it.
type Finding struct {
	Row             int     // of the rows checked, from 0
	EngineHours     float64 // the run less the light-up
	WoodAsIsKg      Pair    // expected for the kWh noted, at the row's moisture
	PowerKW         Pair    // mean over the engine hours; expected by stepping the bank from the charge noted
	LeastKW, MostKW float64 // what the set can give on this wood in this day's air
	GainedPct       Pair    // points of charge over the run, with the kWh noted where there are
	LostPct         Pair    // points of charge until the next run's match
	Odd             []Oddity
}

// A Comparison is a diary beside a scenario.
type Comparison struct {
	Findings []Finding // one for each row
	// How the diary differs as a rule, as medians; NaN with fewer than eight rows. A
	// row is odd by how it differs from this, not from a scenario that is off throughout.
	UsualWoodRatio                       float64 // noted over expected
	UsualGainedMorePct, UsualLostMorePct float64 // noted less expected, points of charge
}

// Check compares each row with what the scenario expects of it. A row is odd
// where it differs by more than the margin and, once eight rows tell, by more than
// four robust standard deviations (MAD/0.6745) from the diary's median too.
func Check(rows []Row, of Household) *Comparison {
	e := newExpecter(of)
	c := &Comparison{Findings: make([]Finding, len(rows))}
	for i := range rows {
		f := &c.Findings[i]
		*f = e.find(&rows[i])
		f.Row, f.LostPct = i, Pair{NotNoted(), NotNoted()}
		if i+1 < len(rows) {
			f.LostPct = e.lost(&rows[i], &rows[i+1])
		}
	}
	c.UsualWoodRatio = c.mark(OddWood, WoodMargin, 1, func(f *Finding) float64 {
		if !(f.WoodAsIsKg.Expected > 0) {
			return NotNoted()
		}
		return f.WoodAsIsKg.Noted / f.WoodAsIsKg.Expected
	})
	for i := range c.Findings {
		f := &c.Findings[i]
		if kw := f.PowerKW.Noted; kw > f.MostKW*(1+PowerMargin) || kw < f.LeastKW*(1-PowerMargin) {
			f.Odd = append(f.Odd, OddPower)
		}
	}
	c.UsualGainedMorePct = c.mark(OddGained, GainedMargin, 0,
		func(f *Finding) float64 { return f.GainedPct.Noted - f.GainedPct.Expected })
	c.UsualLostMorePct = c.mark(OddLost, LostMargin, 0, func(f *Finding) float64 { return f.LostPct.Noted - f.LostPct.Expected })
	return c
}

// find compares a row by itself.
func (e *expecter) find(r *Row) Finding {
	hours := e.engineHours(r)
	engine := e.set(r)
	f := Finding{EngineHours: hours, LeastKW: engine.LeastKW, MostKW: engine.MostKW,
		WoodAsIsKg: Pair{r.WoodAsIsKg, NotNoted()}, PowerKW: Pair{NotNoted(), NotNoted()},
		GainedPct: Pair{r.SocEndPct - r.SocStartPct, NotNoted()}}
	if Noted(r.KWh) {
		f.WoodAsIsKg.Expected = e.asIsKg(r, e.ratedDryOfRunKg(r))
	}
	if hours > 0 {
		f.PowerKW.Noted = r.KWh / hours
	}
	if Noted(r.SocStartPct) {
		pieces := e.runPieces(r)
		_, madeKWh := e.electric(pieces, r.SocStartPct, engine)
		if hours > 0 {
			f.PowerKW.Expected = madeKWh / hours
		}
		f.GainedPct.Expected = e.runTo(r, pieces) - r.SocStartPct
	}
	return f
}

// lost compares the charge lost between two runs.
func (e *expecter) lost(before, after *Row) Pair {
	const longestMinutes = longestGapDays * calendar.MinutesADay
	if !Noted(before.SocEndPct) || after.from()-before.to() > longestMinutes {
		return Pair{NotNoted(), NotNoted()}
	}
	endPct, _ := e.electric(e.gapPieces(before, after), before.SocEndPct, sim.Engine{})
	return Pair{before.SocEndPct - after.SocStartPct, before.SocEndPct - endPct}
}

// mark marks the rows whose difference is odd and returns the usual difference:
// the median where enough rows tell, else NaN, and rows are held against none.
func (c *Comparison) mark(kind Oddity, margin, none float64, difference func(f *Finding) float64) (usual float64) {
	var all []float64
	for i := range c.Findings {
		if x := difference(&c.Findings[i]); Noted(x) {
			all = append(all, x)
		}
	}
	centre, least := none, margin
	usual = NotNoted()
	if len(all) >= leastRows {
		usual = median(all)
		centre = usual
		for i := range all {
			all[i] = math.Abs(all[i] - centre)
		}
		least = max(margin, oddDeviations*median(all)/normalMAD)
	}
	for i := range c.Findings {
		f := &c.Findings[i]
		if x := difference(f); math.Abs(x-centre) > least {
			f.Odd = append(f.Odd, kind)
		}
	}
	return usual
}
