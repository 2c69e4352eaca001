package study

import (
	"context"
	"fmt"
	"slices"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/storage/battery"
)

// BankOptions say how Bank is asked.
type BankOptions struct {
	SizesKWh  []float64                                 // rated, in the order of the answer
	OfSize    func(kWh float64) (*sim.Household, error) // with a bank of a size; called for several at a time
	FirstDay  int                                       // of the week; below 0: of the week that wants most
	EngineOut int                                       // no runs on so many of the week's first days, 0 to 7
	Lives     int                                       // that short days are counted in, 1 or more
	Passed    func(sizes, of int)                       // called as sizes are done; nil: nobody asks
}

// A Size is a bank of a size, against the hardest week with the cold snap on it
// and against the whole span: in lives that differ in the luck of their days, and as the
// household's own days come.
type Size struct {
	KWh               float64 // rated
	WeekLives         *Lives
	SpanLives         *Lives
	Week              *YearAnswer // the week as the own days come
	Span              *sim.Summary
	FullCyclesAYear   float64
	LostKWhAYear      float64
	DaysWithoutEngine float64 // carried from full in such a week
	BearsMorePct      float64 // more load before dark; below 0: less
	InverterEnds      bool    // with more than that, most of what is missed passes the inverter
	SpareLeftPct      float64 // lowest charge of the week above the floor and the cold on it, as the own days come
	Carries           bool    // the week: no short day in nine lives of ten, the spare kept as the own days come
}

// BankAnswer is the answer to how big a bank.
type BankAnswer struct {
	*sim.Household
	BankOptions
	WeekStart         calendar.Date
	ShortKg           float64 // price of a kWh of shortfall that was planned with
	Sizes             []Size
	Least             *Size  // the smallest that carries the week; nil: none
	Smallest, Largest *Size  // of all
	Cheapest          *Size  // of those that carry the week, by the middle of its cost; nil: none, or no prices are given
	AgainstIt         Remedy // what helps where none carries the week
	Air               *Air   // of the least, or else the largest size; nil: a bank that makes no hydrogen
	Warnings          []sim.Warning
}

// Air is what a lead-acid bank wants for the hydrogen of a hard charge.
type Air struct{ KWh, M3H, OpeningCm2 float64 }

// Bank asks how big a bank must be, by chosen runs with one size after another. The errors are
// those of plan.New and of OfSize.
func Bank(ctx context.Context, h *sim.Household, rule plan.Rule, o BankOptions) (*BankAnswer, error) {
	var moved []sim.Warning
	if o.FirstDay < 0 {
		o.FirstDay = HardestWeek(h)
	} else if last := max(0, h.Span.Days-weekDays); o.FirstDay > last {
		moved = []sim.Warning{{Code: "week_moved", Text: fmt.Sprintf("from %s on the span holds fewer than seven days: "+
			"the week from %s was taken", h.Days[o.FirstDay].Date.Text(), h.Days[last].Date.Text())}}
		o.FirstDay = last
	}
	o.Lives = livesOf(h, o.Lives)
	a := &BankAnswer{Household: h, BankOptions: o, WeekStart: h.Days[o.FirstDay].Date,
		ShortKg: h.Prices.ShortKgPerKWh * ShortPriceFactor, Warnings: slices.Concat(h.Warnings, moved, notRationed(rule))}
	var err error
	a.Sizes, err = SideBySide(o.SizesKWh, o.Passed, func(kWh float64) (Size, error) {
		return a.size(ctx, rule, kWh)
	})
	if err != nil {
		return nil, err
	}
	for i := range a.Sizes {
		s := &a.Sizes[i]
		a.warn(s)
		if s.Carries && !neverFills(h, &s.Span.Bank) && (a.Least == nil || s.KWh < a.Least.KWh) {
			a.Least = s
		}
		if carries := s.Carries && !neverFills(h, &s.Span.Bank); carries && s.Span.Cost != nil &&
			(a.Cheapest == nil || s.costs() < a.Cheapest.costs()) {
			a.Cheapest = s
		}
		if a.Smallest == nil || s.KWh < a.Smallest.KWh {
			a.Smallest = s
		}
		if a.Largest == nil || s.KWh > a.Largest.KWh {
			a.Largest = s
		}
	}
	return a, a.advise(ctx)
}

// size puts one size to the test.
func (a *BankAnswer) size(ctx context.Context, rule plan.Rule, kWh float64) (Size, error) {
	s := Size{KWh: kWh}
	h, err := a.OfSize(kWh)
	if err != nil {
		return s, err
	}
	h = h.With(func(spec *sim.Spec) {
		spec.Prices.ShortKgPerKWh = a.ShortKg
		if spec.Money != nil { // a bank's price goes with its size
			prices := *spec.Money
			prices.Bank *= h.Bank.FullKWh / a.House.Bank.FullKWh
			spec.Money = &prices
		}
	})
	p, err := plan.New(ctx, h, plan.Outlook{Foresight: rule.Foresight})
	if err != nil {
		return s, err
	}
	books, lives, err := LiveChosen(ctx, h, p, a.Lives, nil)
	if err != nil {
		return s, err
	}
	const daysAYear = 365.25
	s.Span, s.SpanLives = sim.Summarize(h, books), lives
	s.FullCyclesAYear = s.Span.Bank.FullCycles * daysAYear / float64(h.Span.Days)
	s.LostKWhAYear = s.Span.Total.Lost.TotalKWh() * daysAYear / float64(h.Span.Days)
	week := Week(h, a.FirstDay, a.EngineOut)
	if err := s.runWeek(ctx, week, rule.Foresight, a.Lives); err != nil {
		return s, err
	}
	s.DaysWithoutEngine = Carried(week)
	return s, s.findBearsMore(ctx, week, rule.Foresight, a.Lives)
}

// costs is the middle of what a year with the size costs.
func (s *Size) costs() float64 { return s.Span.Cost.WithHours.Low + s.Span.Cost.WithHours.High }

// warn adds what the week and the span of a size show.
func (a *BankAnswer) warn(s *Size) {
	known := func(code string) bool {
		return slices.ContainsFunc(a.Warnings, func(w sim.Warning) bool { return w.Code == code })
	}
	ofCold := slices.DeleteFunc(slices.Concat(s.Week.Warnings, s.Span.Warnings),
		func(w sim.Warning) bool { return w.Code == "no_ready_wood" })
	a.Warnings = append(a.Warnings, hazards(ofCold, a.Warnings)...)
	if s.Span.Wood.NoWood != nil && !known("no_ready_wood") {
		a.Warnings = append(a.Warnings, sim.Warning{Code: "no_ready_wood",
			Text: "ready wood runs out in the span: its short days are not the bank's alone, " +
				"see twigwatt wood (the week has wood without end)"})
	}
}

// advise says what helps where no size carries, and what air the bank wants.
func (a *BankAnswer) advise(ctx context.Context) error {
	s := a.Least
	if s == nil {
		s = a.Largest
	}
	if s == nil {
		return nil
	}
	if i := slices.IndexFunc(a.Sizes, func(s Size) bool { return s.Carries }); a.Least == nil && i >= 0 {
		sized, err := a.OfSize(a.Sizes[i].KWh)
		if err != nil {
			return err
		}
		if a.AgainstIt, err = toFill(ctx, sized); err != nil {
			return err
		}
	} else if a.Least == nil {
		const nearlyAll = 0.95 // of the hours it may run; a judgement, no source
		week := s.Week.Summary
		a.AgainstIt = besideHours(week)
		switch {
		case a.AgainstIt != NoRemedy:
		case week.Total.AttendedH >= nearlyAll*week.MaxHoursADay*float64(week.Span.Days):
			a.AgainstIt = AllowMoreHours
		default:
			a.AgainstIt = LargerBank
		}
	}
	// the product of cells and amp-hours is the energy: 2 V a cell
	if m3H, cm2, err := battery.VentilationM3H(a.House.Bank.Kind, "boost", s.KWh*1000/2, 1); err == nil {
		a.Air = &Air{s.KWh, m3H, cm2}
	}
	return nil
}

// HardestWeek returns the first day of the seven (fewer in a shorter span) that
// want most, net of other sources and of the sun of a cold snap's week.
func HardestWeek(h *sim.Household) int {
	span, d := h.Span, h.Demand.UsualSun(h.Snap.SunShare)
	perDay, days := span.StepsADay(), min(weekDays, span.Days)
	net := make([]float64, span.Days)
	for step := range d.LoadKW {
		net[step/perDay] += d.LoadKW[step] - d.OtherKW[step]
		if d.SunKW != nil {
			net[step/perDay] -= d.SunKW[step] * h.Bank.InverterEfficiency
		}
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

// Week is the household in the week from a day of its span: in the cold snap's air,
// with ready wood without end, under a dull sky, starting at start_pct, runs barred on the first
// engineOut days. first is 0 to below the span's days; there are fewer than seven
// days where the span ends sooner. Chores, in the first of their hours, become part of the
// load, and do not grow with the snap.
func Week(h *sim.Household, first, engineOut int) *sim.Household {
	week := h.Part(first, min(weekDays, h.Span.Days-first), func(spec *sim.Spec) {
		spec.PileWithoutEnd()
		for month := range spec.Air.MeanC {
			spec.Air.MeanC[month] = h.Snap.AirC
		}
		if engineOut > 0 {
			spec.Tending.NoRuns = append(slices.Clone(spec.Tending.NoRuns),
				calendar.DateRange{First: spec.Span.Start, Last: spec.Span.Start + calendar.Date(engineOut-1)})
		}
	})
	week.Warnings = nil
	week.Demand = week.Demand.UsualSun(h.Snap.SunShare).Changed(h.Snap.LoadShare, week.ChoreKW)
	week.Demand.Chores, week.ChoreKW = nil, nil
	return week
}

// weekSpareAim is how much more than the wanted spare energy a week's plan aims to
// keep: a plan that knows no swings and aims at just what is wanted falls under it
// on the first dear evening. A judgement, no source.
const weekSpareAim = 2

// weekSpareKgPerKWhH is the price of spare energy that a week aims at, before it is raised
// as that of shortfall is: a size is asked whether it can keep it. A judgement, no source.
const weekSpareKgPerKWhH = 0.5

// liveWeek lives a week by chosen runs. Energy not handed back keeps the scenario's own price,
// or the plan would rather be dark than end the week lower. levels: see plan.Outlook.
func liveWeek(ctx context.Context, week *sim.Household, foresight plan.Foresight, levels, lives int,
	watch func(sim.Moment, *sim.State, *sim.Flows)) (*sim.Books, *Lives, error) {
	aims := *week.House
	aims.Prices.SpareShare *= weekSpareAim
	aims.Prices.SpareKgPerKWhH = max(aims.Prices.SpareKgPerKWhH, weekSpareKgPerKWhH*ShortPriceFactor)
	p, err := plan.New(ctx, week.InHouse(&aims), plan.Outlook{Foresight: foresight, Levels: levels,
		HandbackKg: week.Prices.ShortKgPerKWh / ShortPriceFactor})
	if err != nil {
		return nil, nil, err
	}
	return LiveChosen(ctx, week, p, lives, watch)
}

// runWeek runs a week by chosen runs into the size.
func (s *Size) runWeek(ctx context.Context, week *sim.Household, foresight plan.Foresight, lives int) error {
	record := sim.NewRecord(week.House)
	books, weekLives, err := liveWeek(ctx, week, foresight, 0, lives, record.Step)
	if err != nil {
		return err
	}
	s.WeekLives = weekLives
	s.Week = &YearAnswer{Household: week, Summary: sim.Summarize(week, books), Books: books, Record: record}
	full, floorKWh := week.Bank.FullKWh, week.Days[0].Bank.FloorKWh
	lowest := s.Week.Bank.LowestPct / 100 * full
	const roundingKWh = 0.01 // of the plan's grid
	s.SpareLeftPct = 100 * (lowest - floorKWh) / full
	s.Carries = weekLives.ShortDaysP90 == 0 && s.Week.Shortage.Days == 0 &&
		lowest >= floorKWh+week.Prices.SpareShare*full-roundingKWh
	return nil
}

// Carried returns how many days a bank carries a week's wants, repeated, from its
// ceiling without the engine. A bank that is never dark in a year is said to
// carry a year.
func Carried(week *sim.Household) float64 {
	const mostDays, darkKWh = 365, 0.001
	d, stepH, perDay := week.Demand, week.Span.StepH(), week.Span.StepsADay()
	s := week.House.Bank.Rested(week.Days[0].Bank.CeilingKWh)
	for step := 0; step < mostDays*perDay; step++ {
		var p sim.Power
		i := step % len(d.LoadKW)
		if d.SunKW != nil {
			p.Sun.KW = d.SunKW[i]
		}
		week.Electric(week.Days[i/perDay].Bank, &s, &p, d.LoadKW[i], d.OtherKW[i], sim.Engine{})
		if p.ShortfallKW*stepH > darkKWh { // within the step, as far as the load was served
			return (float64(step) + p.DischargeKW/(p.DischargeKW+p.ShortfallKW)) / float64(perDay)
		}
	}
	return mostDays
}

// findBearsMore sets by how many percent more than the week's load the size gets
// through it before more than one life in ten has a short day; below 0 it bears less.
// It is sought from −95 to +400 %, to half a point.
//
// A plan that does not know the days to come may be short at one load and not at a
// slightly larger one: what is found is the first short day as the load grows, in
// steps that double, then by halving.
func (s *Size) findBearsMore(ctx context.Context, week *sim.Household, foresight plan.Foresight, lives int) error {
	// factors on the load; levels are the plan's, and mostly is a share of what is missed
	const firstStep, least, most, fine, levels, mostly = 0.05, 0.05, 5.0, 0.005, 121, 0.5
	borne, over := least, 1.0
	// try moves what is borne, or what is not, to a factor
	try := func(factor float64) error {
		_, l, err := liveWeek(ctx, week.Wanting(week.Demand.Changed(factor, nil)), foresight, levels, lives, nil)
		if err != nil {
			return err
		}
		if l.ShortDaysP90 > 0 { // the last such is the least load that is not borne
			over, s.InverterEnds = factor, l.OverInverterShare >= mostly
		} else {
			borne = factor
		}
		return nil
	}
	if s.WeekLives.ShortDaysP90 > 0 {
		s.InverterEnds = s.WeekLives.OverInverterShare >= mostly
	} else {
		borne, over = 1, most
		for step := firstStep; borne+step < over; step *= 2 {
			if err := try(borne + step); err != nil {
				return err
			}
		}
	}
	for over-borne > fine {
		if err := try((borne + over) / 2); err != nil {
			return err
		}
	}
	s.BearsMorePct = 100 * (borne - 1)
	return nil
}
