package study

import (
	"context"
	"slices"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
)

// Snap is a cold snap: the place's air, and the load against the usual.
type Snap struct{ AirC, LoadShare float64 }

// A Size is a bank of a size, against the hardest week with the cold snap on it
// and against the whole span: in lives that differ in the luck of their days, and as the
// household's own days come.
type Size struct {
	KWh               float64 // rated
	WeekLives         *Lives
	SpanLives         *Lives
	Week              *sim.Summary
	WeekHouse         *sim.House
	WeekBooks         *sim.Books
	WeekRecord        *sim.Record
	DaysWithoutEngine float64 // carried from full in such a week
	BearsMorePct      float64 // more load before dark; below 0: less
	InverterEnds      bool    // with more than that, most of what is missed passes the inverter
	SpareLeftPct      float64 // lowest charge of the week above the floor and the cold on it, as the own days come
	Carries           bool    // the week: no short day in nine lives of ten, and the spare kept as the own days come
	Span              *sim.Summary
}

// Bank is the answer to how big a bank.
type Bank struct {
	Name      string
	Span      calendar.Span
	Lives     int // that short days are counted in
	WeekStart calendar.Date
	EngineOut int
	ShortKg   float64 // price of a kWh of shortfall that was planned with
	Snap      Snap
	SparePct  float64 // percent of the bank wanted above the floor
	StartPct  float64 // charge as the week begins
	Sizes     []Size
	Least     *Size // nil: none carries the week
	Warnings  []sim.Warning
}

// HardestWeek returns the first day of the seven (fewer in a shorter span) that
// want most, net of other sources.
func HardestWeek(span calendar.Span, d *loads.Demand) int {
	perDay, days := span.StepsADay(), min(weekDays, span.Days)
	net := make([]float64, span.Days)
	for step := range d.LoadKW {
		net[step/perDay] += d.LoadKW[step] - d.OtherKW[step]
	}
	hardest, most := 0, 0.0
	for first := 0; first+days <= span.Days; first++ {
		sum := 0.0
		for _, x := range net[first : first+days] {
			sum += x
		}
		const crumbKWh = 1e-9
		if first == 0 || sum > most+crumbKWh {
			hardest, most = first, sum
		}
	}
	return hardest
}

const weekDays = 7

// Week is the household in the week from a day of its span: in the snap's air,
// with ready wood without end, starting at start_pct, runs barred on the first
// engineOut days. first is 0 to below the span's days; there are fewer than seven
// days where the span ends sooner. choreKW (nil: none), a power for each step of the
// span, becomes part of the load, and does not grow with the snap.
func Week(h *sim.House, d *loads.Demand, choreKW []float64, first, engineOut int, snap Snap) (*sim.House, *loads.Demand) {
	days := min(weekDays, h.Span.Days-first)
	spec := WithoutEnd(h).Spec
	spec.Span.Start, spec.Span.Days = h.Span.Start+calendar.Date(first), days
	for month := range spec.Air.MeanC {
		spec.Air.MeanC[month] = snap.AirC
	}
	if engineOut > 0 {
		spec.Tending.NoRuns = append(slices.Clone(spec.Tending.NoRuns),
			calendar.DateRange{First: spec.Span.Start, Last: spec.Span.Start + calendar.Date(engineOut-1)})
	}
	from, to := first*h.Span.StepsADay(), (first+days)*h.Span.StepsADay()
	week := &loads.Demand{LoadKW: slices.Clone(d.LoadKW[from:to]), OtherKW: d.OtherKW[from:to],
		ExpectedLoadKW: slices.Clone(d.ExpectedLoadKW[from:to]), ExpectedOtherKW: d.ExpectedOtherKW[from:to],
		AwayDay: d.AwayDay[first : first+days], SwingShare: d.SwingShare, SwingMemory: d.SwingMemory}
	scale(week, snap.LoadShare)
	if choreKW != nil { // the week's chores in the first of their hours
		for i := range week.LoadKW {
			week.LoadKW[i] += choreKW[from+i]
			week.ExpectedLoadKW[i] += choreKW[from+i]
		}
	}
	return sim.NewHouse(spec), week
}

func scale(d *loads.Demand, factor float64) {
	for i := range d.LoadKW {
		d.LoadKW[i] *= factor
		d.ExpectedLoadKW[i] *= factor
	}
}

// weekOutlook is what a week is planned with: energy not handed back keeps the
// scenario's own price, or the plan would rather be dark than end the week lower.
func weekOutlook(h *sim.House, foresight plan.Foresight, levels int) plan.Outlook {
	return plan.Outlook{Foresight: foresight, Levels: levels, HandbackKg: h.Prices.ShortKgPerKWh / ShortPriceFactor}
}

// weekSpareAim is how much more than the wanted spare energy a week's plan aims to
// keep: a plan that knows no swings and aims at just what is wanted falls under it
// on the first dear evening. A judgement, no source.
const weekSpareAim = 2

// weekRun lives a week by chosen runs.
func weekRun(ctx context.Context, h *sim.House, d, steady *loads.Demand, foresight plan.Foresight, levels int, c *Chance,
	watch func(sim.Moment, *sim.State, *sim.Flows)) (*sim.Books, *Lives, error) {
	aims := *h
	aims.Prices.SpareShare *= weekSpareAim
	aims.Prices.SpareKgPerKWhH = max(aims.Prices.SpareKgPerKWhH, weekSpareKgPerKWhH*ShortPriceFactor)
	p, err := plan.New(ctx, &aims, d, weekOutlook(h, foresight, levels))
	if err != nil {
		return nil, nil, err
	}
	return LiveChosen(ctx, h, d, steady, p, c, watch)
}

// weekSpareKgPerKWhH is the price of spare energy that a week aims at, before it is raised
// as that of shortfall is: a size is asked whether it can keep it. A judgement, no source.
const weekSpareKgPerKWhH = 0.5

// RunWeek runs a week by chosen runs into the size: d is the week as the household's own
// days come, steady the same without swings.
func (s *Size) RunWeek(ctx context.Context, h *sim.House, d, steady *loads.Demand, foresight plan.Foresight,
	c *Chance) (err error) {
	s.WeekHouse, s.WeekRecord = h, sim.NewRecord(h)
	if s.WeekBooks, s.WeekLives, err = weekRun(ctx, h, d, steady, foresight, 0, c, s.WeekRecord.Step); err != nil {
		return err
	}
	s.Week = sim.Summarize(h, s.WeekBooks, nil)
	lowest := s.Week.Bank.LowestPct / 100 * h.Bank.FullKWh
	wanted := h.Days[0].Bank.FloorKWh + h.Prices.SpareShare*h.Bank.FullKWh
	const roundingKWh = 0.01 // of the plan's grid
	s.SpareLeftPct = 100 * (lowest - h.Days[0].Bank.FloorKWh) / h.Bank.FullKWh
	s.Carries = s.WeekLives.ShortDaysP90 == 0 && s.Week.Shortage.Days == 0 && lowest >= wanted-roundingKWh
	return nil
}

// Carried returns how many days a bank carries a week's wants, repeated, from its
// ceiling without the engine. A bank that is never dark in a year is said to
// carry a year.
func Carried(h *sim.House, d *loads.Demand) float64 {
	const mostDays, darkKWh = 365, 0.001
	stepH, steps := h.Span.StepH(), len(d.LoadKW)
	perDay := h.Span.StepsADay()
	s := h.Bank.Rested(h.Days[0].Bank.CeilingKWh)
	for step := 0; step < mostDays*perDay; step++ {
		var p sim.Power
		i := step % steps
		h.Electric(h.Days[i/perDay].Bank, &s, &p, d.LoadKW[i], d.OtherKW[i], sim.Engine{})
		if p.ShortfallKW*stepH > darkKWh { // within the step, as far as the load was served
			return (float64(step) + p.DischargeKW/(p.DischargeKW+p.ShortfallKW)) / float64(perDay)
		}
	}
	return mostDays
}

// FindBearsMore sets by how many percent more than the week's load the size gets
// through it before more than one life in ten has a short day; below 0 it bears less.
// RunWeek comes first. It is sought from −95 to +400 %, to half a point.
//
// A plan that does not know the days to come may be short at one load and not at a
// slightly larger one: what is found is the first short day as the load grows, in
// steps that double, then by halving.
func (s *Size) FindBearsMore(ctx context.Context, d, steady *loads.Demand, foresight plan.Foresight, c *Chance) error {
	// factors on the load; levels are the plan's, and mostly is a share of what is missed
	const firstStep, least, most, fine, levels, mostly = 0.05, 0.05, 5.0, 0.005, 121, 0.5
	s.InverterEnds = false
	short := func(factor float64) (bool, error) {
		_, lives, err := weekRun(ctx, s.WeekHouse, scaled(d, factor), scaled(steady, factor), foresight, levels, c, nil)
		if err != nil {
			return false, err
		}
		if lives.ShortDaysP90 > 0 { // the last such is the least load that is not borne
			s.InverterEnds = lives.OverInverterShare >= mostly
		}
		return lives.ShortDaysP90 > 0, nil
	}
	borne, over := least, 1.0
	if s.WeekLives.ShortDaysP90 > 0 {
		s.InverterEnds = s.WeekLives.OverInverterShare >= mostly
	} else {
		borne, over = 1, most
		for step := firstStep; borne+step < over; step *= 2 {
			dark, err := short(borne + step)
			if err != nil {
				return err
			}
			if dark {
				over = borne + step
			} else {
				borne += step
			}
		}
	}
	for over-borne > fine {
		factor := (borne + over) / 2
		dark, err := short(factor)
		if err != nil {
			return err
		}
		if dark {
			over = factor
		} else {
			borne = factor
		}
	}
	s.BearsMorePct = 100 * (borne - 1)
	return nil
}

// scaled is a demand with its load multiplied.
func scaled(d *loads.Demand, factor float64) *loads.Demand {
	more := *d
	more.LoadKW, more.ExpectedLoadKW = slices.Clone(d.LoadKW), slices.Clone(d.ExpectedLoadKW)
	scale(&more, factor)
	return &more
}
