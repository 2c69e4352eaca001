package diary

import (
	"math"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// A Measure is what of a run is compared with what was to be expected, and fitted.
type Measure string

// The measures.
const (
	Wood         Measure = "wood"   // of the run
	Power        Measure = "power"  // kWh for each engine hour
	ChargeGained Measure = "gained" // charge over the run
	ChargeLost   Measure = "lost"   // charge from this run's stop to the next one's match
)

// Margins within which a row is never odd: judgements, no source.
const (
	woodMargin     = 0.25 // of the wood, against the diary's usual ratio to the scenario
	powerMargin    = 0.10 // above the set's most power, below its least
	chargeMargin   = 15.0 // points of charge, gained or lost
	oddDeviations  = 4.0  // robust standard deviations, once there are leastRows rows
	leastRows      = 8    // for any figure drawn from the diary: a judgement, no source
	longestGapDays = 3    // between runs for which charge is compared: longer, one day's doings hide another's
)

// NotedExpected is a number as noted, and as the scenario expects it; NaN where the
// row does not tell.
type NotedExpected struct{ Noted, Expected float64 }

// More is how much more was noted than expected.
func (n NotedExpected) More() float64 { return n.Noted - n.Expected }

// A Finding is a row beside what the scenario expects of it.
type Finding struct {
	Row             int           // of the rows compared, from 0
	EngineHours     float64       // the run less the light-up
	WoodAsIsKg      NotedExpected // expected for the kWh noted, at the row's moisture
	PowerKW         NotedExpected // mean over the engine hours; expected by stepping the bank from its charge
	LeastKW, MostKW float64       // what the set can give on this wood in this day's air
	GainedPct       NotedExpected // points of charge over the run, with the kWh noted where there are
	LostPct         NotedExpected // points of charge until the next run's match
	Odd             []Measure
}

// A Month is what the diary notes of a month beside what the scenario's plan does
// on the same days: those from the diary's first run to its last.
type Month struct {
	First                     calendar.Date // of its days in the diary
	Days, Runs                int
	AttendedH, KWh, WoodDryKg float64 // noted; what was not noted counts as nothing
	PlanAttendedH, PlanKWh    float64
	PlanWoodDryKg             float64
}

// A Comparison is a diary beside a scenario.
type Comparison struct {
	Findings []Finding // one for each row
	// How the diary differs as a rule, as medians; NaN with fewer than eight rows. A
	// row is odd by how it differs from this, not from a scenario that is off throughout.
	UsualWoodRatio                       float64 // noted over expected
	UsualGainedMorePct, UsualLostMorePct float64 // noted less expected, points of charge
	WoodDrift, PowerDrift                Drift   // as of a Fit
	Months                               []Month
	Warnings                             []sim.Warning // beyond the scenario's own
}

// Compare puts a diary beside a scenario, each row beside what is expected of it and
// each month beside the books of what the scenario plans for its span. A row is odd
// where it differs by more than the margin and, once eight rows tell, by more than
// four robust standard deviations (MAD/0.6745) from the diary's median too.
func Compare(rows []Row, household *sim.Household, books *sim.Books) *Comparison {
	h := dated(household)
	c := compareRows(h, rows)
	wood, _ := fitWood(h, rows)
	power, _ := fitPower(h, rows)
	c.WoodDrift, c.PowerDrift = wood.WoodDrift, power.PowerDrift
	c.Months = compareMonths(h, rows, books)
	c.Warnings = h.warnings(rows)
	return c
}

// Odd returns the findings of the odd rows.
func (c *Comparison) Odd() []Finding {
	var odd []Finding
	for _, f := range c.Findings {
		if len(f.Odd) > 0 {
			odd = append(odd, f)
		}
	}
	return odd
}

// AttendedH returns the attended hours of all months, noted and planned.
func (c *Comparison) AttendedH() (noted, planned float64) {
	for i := range c.Months {
		noted, planned = noted+c.Months[i].AttendedH, planned+c.Months[i].PlanAttendedH
	}
	return noted, planned
}

// mark marks the rows whose difference is odd and returns the usual difference:
// the median where enough rows tell, else NaN, and rows are held against none.
func (c *Comparison) mark(measure Measure, margin, none float64, difference func(f *Finding) float64) float64 {
	var all []float64
	for i := range c.Findings {
		if x := difference(&c.Findings[i]); Noted(x) {
			all = append(all, x)
		}
	}
	usual, centre, allowed := NotNoted(), none, margin
	if len(all) >= leastRows {
		usual = median(all)
		centre = usual
		for i := range all {
			all[i] = math.Abs(all[i] - centre)
		}
		allowed = max(margin, oddDeviations*median(all)/normalMAD)
	}
	for i := range c.Findings {
		f := &c.Findings[i]
		if x := difference(f); math.Abs(x-centre) > allowed {
			f.Odd = append(f.Odd, measure)
		}
	}
	return usual
}

// compareRows compares the rows, without drifts, months and warnings.
func compareRows(h *datedHousehold, rows []Row) *Comparison {
	c := &Comparison{Findings: make([]Finding, len(rows))}
	for i := range rows {
		f := &c.Findings[i]
		*f = compareRow(h, &rows[i])
		f.Row = i
		if i+1 < len(rows) {
			f.LostPct = compareGap(h, &rows[i], &rows[i+1])
		}
	}
	c.UsualWoodRatio = c.mark(Wood, woodMargin, 1, func(f *Finding) float64 {
		if !(f.WoodAsIsKg.Expected > 0) {
			return NotNoted()
		}
		return f.WoodAsIsKg.Noted / f.WoodAsIsKg.Expected
	})
	for i := range c.Findings {
		f := &c.Findings[i]
		if kw := f.PowerKW.Noted; kw > f.MostKW*(1+powerMargin) || kw < f.LeastKW*(1-powerMargin) {
			f.Odd = append(f.Odd, Power)
		}
	}
	c.UsualGainedMorePct = c.mark(ChargeGained, chargeMargin, 0, func(f *Finding) float64 { return f.GainedPct.More() })
	c.UsualLostMorePct = c.mark(ChargeLost, chargeMargin, 0, func(f *Finding) float64 { return f.LostPct.More() })
	return c
}

// compareRow compares a row by itself.
func compareRow(h *datedHousehold, r *Row) Finding {
	hours := h.engineHours(r)
	engine := h.engine(r)
	neither := NotedExpected{NotNoted(), NotNoted()}
	f := Finding{EngineHours: hours, LeastKW: engine.LeastKW, MostKW: engine.MostKW, PowerKW: neither, LostPct: neither,
		WoodAsIsKg: NotedExpected{r.WoodAsIsKg, NotNoted()},
		GainedPct:  NotedExpected{r.SocEndPct - r.SocStartPct, NotNoted()}}
	if Noted(r.KWh) {
		f.WoodAsIsKg.Expected = h.asIsKg(r, h.expectedDryKg(r))
	}
	parts := h.runParts(r)
	if hours > 0 {
		f.PowerKW.Noted = r.KWh / hours
		if Noted(r.SocStartPct) {
			_, madeKWh := h.electric(parts, r.SocStartPct, engine)
			f.PowerKW.Expected = madeKWh / hours
		}
	}
	if Noted(r.SocStartPct) {
		f.GainedPct.Expected = h.runTo(r, parts) - r.SocStartPct
	}
	return f
}

// compareGap compares the charge lost between two runs.
func compareGap(h *datedHousehold, before, after *Row) NotedExpected {
	if !Noted(before.SocEndPct) || after.from()-before.to() > longestGapDays*calendar.MinutesADay {
		return NotedExpected{NotNoted(), NotNoted()}
	}
	endPct, _ := h.electric(h.gapParts(before, after), before.SocEndPct, sim.Engine{})
	return NotedExpected{before.SocEndPct - after.SocStartPct, before.SocEndPct - endPct}
}

// compareMonths puts the diary's months beside the books of the scenario's span.
func compareMonths(h *datedHousehold, rows []Row, books *sim.Books) []Month {
	if len(rows) == 0 {
		return nil
	}
	var all []Month
	row := 0
	for date := rows[0].Date; date <= rows[len(rows)-1].Date; date++ {
		if n := len(all); n == 0 || all[n-1].First.Month() != date.Month() {
			all = append(all, Month{First: date})
		}
		m := &all[len(all)-1]
		m.Days++
		plan := &books.Days[h.day(date)]
		m.PlanAttendedH += plan.AttendedH
		m.PlanKWh += plan.EngineKWh
		m.PlanWoodDryKg += plan.BurnedDryKg
		for ; row < len(rows) && rows[row].Date == date; row++ {
			r := &rows[row]
			m.Runs++
			m.AttendedH += float64(r.StopMinute-r.StartMinute) / 60
			if Noted(r.KWh) {
				m.KWh += r.KWh
			}
			if Noted(r.WoodAsIsKg) {
				m.WoodDryKg += r.WoodAsIsKg * (1 - h.moisture(r))
			}
		}
	}
	return all
}
