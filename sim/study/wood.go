package study

import (
	"context"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/plan"
	"twigwatt/storage/woodpile"
)

// A CutRow says from when wood can be burned that is cut on the first of a month.
type CutRow struct {
	Month calendar.Date // the first of the month in which it is cut
	Piece woodpile.Piece
	Cover woodpile.Cover
	Ready *calendar.Date // nil: never in this air
}

// CutTable works out, for each month from the span's first, each piece and
// cover, when wood that is so wet as it is cut (dry basis) is dry enough to be ready in the
// place's air. Logs must then still be cut small.
func CutTable(h *sim.House, green float64) []CutRow {
	var rows []CutRow
	month := calendar.NewDate(h.Span.Start.Year(), h.Span.Start.Month(), 1)
	for range 12 {
		for _, piece := range []woodpile.Piece{woodpile.Chunk, woodpile.Split, woodpile.Log} {
			for _, cover := range []woodpile.Cover{woodpile.Roof, woodpile.Open} {
				ready := woodpile.DryFrom(h.Air.OnDay, green, h.Pile.ReadyDryBasis, month, piece, cover)
				rows = append(rows, CutRow{month, piece, cover, ready})
			}
		}
		next := month + 31
		month = calendar.NewDate(next.Year(), next.Month(), 1)
	}
	return rows
}

// greenDryBasis is how wet the household's wood is as it is cut: as its cuts say, the mean by their
// dry wood; else that of the pile's species.
func greenDryBasis(h *sim.House) float64 {
	dryKg, waterKg := 0.0, 0.0
	for _, cut := range h.Pile.Cuts {
		dryKg, waterKg = dryKg+cut.DryKg, waterKg+cut.DryKg*cut.DryBasis
	}
	if dryKg > 0 {
		return waterKg / dryKg
	}
	return h.Pile.Species.GreenWithBarkDryBasis()
}

// WoodAnswer is a span's wood: what the plan needs were ready wood without end, and what the
// pile has ready.
type WoodAnswer struct {
	*sim.Household
	Need     Amount
	Months   []WoodMonth
	NoWood   *sim.NoWood // the first day without ready wood; nil: none
	NoDays   int         // days without
	CutTable []CutRow
	Ground   Ground
	Char     genset.Char
	Lots     []Lot
	Missing  *Missing // what to cut where the pile falls short; nil: it does not
	Warnings []sim.Warning
}

// An Amount of wood in every unit.
type Amount struct{ DryKg, AsIsKg, SolidM3, StackedM3, LooseM3, Cords, WorkHours float64 }

// A WoodMonth is a month's need and what lies ready as it begins.
type WoodMonth struct {
	First            calendar.Date
	NeedDryKg        float64
	NeedStackedM3    float64
	ReadyDryKg       float64
	DaysWithoutReady int
}

// A Lot is a stack or a cut, and from when it can be burned.
type Lot struct {
	Name  string
	From  calendar.Date // it lies from
	DryKg float64
	Piece woodpile.Piece
	Cover woodpile.Cover
	Ready *calendar.Date // nil: never in this air
}

// lots works out when each stack and each cut of the span can be burned.
func lots(h *sim.House) []Lot {
	var all []Lot
	add := func(s *woodpile.Stack, dryKg, dryBasis float64, from calendar.Date) {
		if dryKg > 0 {
			all = append(all, Lot{s.Name, from, dryKg, s.Piece, s.Cover,
				woodpile.DryFrom(h.Air.OnDay, dryBasis, h.Pile.ReadyDryBasis, from, s.Piece, s.Cover)})
		}
	}
	for i := range h.Pile.Stacks {
		s := &h.Pile.Stacks[i]
		add(s, s.DryKg, s.DryBasis, h.Span.Start)
	}
	for _, cut := range h.Pile.Cuts {
		add(&h.Pile.Stacks[cut.Stack], cut.DryKg, cut.DryBasis, h.Span.Start+calendar.Date(cut.Day))
	}
	return all
}

// Ground is the ground that grows so much wood each year, as a range.
type Ground struct {
	CoppiceLeastHa, CoppiceMostHa float64
	BroadleafHa                   float64 // of grown broadleaf wood
	HedgeM                        float64
}

// Missing is what to cut where the pile falls short.
type Missing struct {
	Amount
	Before calendar.Date // ready by then
	Ways   []CutWay
}

// A CutWay is a way to have wood ready in time: cut by a date, in pieces under a roof.
type CutWay struct {
	Piece woodpile.Piece
	By    *calendar.Date // nil: never in this air
	Late  bool           // By lies before the span begins
}

// Published yields in oven-dry kg a year.
const (
	coppiceLeastKgHa = 4900.0  // Aylott et al. 2008: willow and poplar 4.9 to 10.7 t/ha
	coppiceMostKgHa  = 10700.0 // the same
	broadleafFreshKg = 5000.0  // Royal Forestry Society: 5 t of fresh logs a ha
	hedgeKgPer100M   = 290.0   // Wolton 2012, second hand: 0.29 t for each 100 m
	hedgeM           = 100.0
	daysAYear        = 365.25
)

// amount counts oven-dry wood of the pile's species in every unit.
func amount(h *sim.House, dryKg, asIsPerDry float64) Amount {
	p := &h.Pile
	a := Amount{DryKg: dryKg, AsIsKg: dryKg * asIsPerDry, SolidM3: woodpile.SolidM3(dryKg, &p.Species)}
	a.StackedM3, a.LooseM3 = a.SolidM3/p.SolidPerStacked, a.SolidM3/p.SolidPerLoose
	a.Cords = a.StackedM3 / woodpile.CordM3
	a.WorkHours = a.StackedM3 * p.WorkHPerStacked
	return a
}

// withoutEnd runs a household's span in which ready wood has no end, as wet as what its own pile
// burned in the mean: what the rule would burn is what is needed.
func withoutEnd(ctx context.Context, h *sim.Household, rule plan.Rule, burned *sim.Tally) (*sim.Summary, error) {
	endless := h.With(func(spec *sim.Spec) {
		spec.PileWithoutEnd()
		if burned.BurnedDryKg > 0 {
			spec.Pile.RatedDryBasis = burned.BurnedAsIsKg/burned.BurnedDryKg - 1
		}
	})
	books, err := run(ctx, endless, rule)
	if err != nil {
		return nil, err
	}
	return sim.Summarize(endless, books), nil
}

// run lives through a household's span by the rule, wood burned as it is wanted.
func run(ctx context.Context, h *sim.Household, rule plan.Rule) (*sim.Books, error) {
	chooser, err := rule.Chooser(ctx, h)
	if err != nil {
		return nil, err
	}
	return sim.Run(ctx, h, chooser, nil)
}

// Wood asks what wood a span needs, what is ready, and what to cut when. Nothing is rationed:
// what is missing is the question. The errors are those of plan.New.
func Wood(ctx context.Context, h *sim.Household, rule plan.Rule) (*WoodAnswer, error) {
	books, err := run(ctx, h, rule)
	if err != nil {
		return nil, err
	}
	own := sim.Summarize(h, books)
	need, err := withoutEnd(ctx, h, rule, &own.Total)
	if err != nil {
		return nil, err
	}
	w := &WoodAnswer{Household: h, NoWood: own.Wood.NoWood, Char: need.Char, Warnings: own.Warnings}
	asIsPerDry := 1 + h.Pile.RatedDryBasis
	if need.Total.BurnedDryKg > 0 {
		asIsPerDry = need.Total.BurnedAsIsKg / need.Total.BurnedDryKg
	}
	w.Need = amount(h.House, need.Total.BurnedDryKg, asIsPerDry)
	w.CutTable = CutTable(h.House, greenDryBasis(h.House))
	w.Lots = lots(h.House)
	yearKg := w.Need.DryKg * daysAYear / float64(h.Span.Days)
	green := 1 + greenDryBasis(h.House)
	w.Ground = Ground{CoppiceLeastHa: yearKg / coppiceMostKgHa, CoppiceMostHa: yearKg / coppiceLeastKgHa,
		BroadleafHa: yearKg * green / broadleafFreshKg, HedgeM: yearKg / hedgeKgPer100M * hedgeM}
	for i := range need.Months {
		m := &need.Months[i]
		w.Months = append(w.Months,
			WoodMonth{First: m.First, NeedDryKg: m.Tally.BurnedDryKg, NeedStackedM3: m.Tally.BurnedStackedM3})
	}
	month := -1
	for i := range books.Days {
		d := &books.Days[i]
		if month < 0 || d.Date.Month() != w.Months[month].First.Month() {
			month++
			w.Months[month].ReadyDryKg = d.ReadyDryKg
		}
		if d.WithoutReadyWood {
			w.Months[month].DaysWithoutReady++
			w.NoDays++
		}
	}
	if w.NoWood != nil {
		w.Missing = missing(h.House, need, books, w.NoWood.Date)
	}
	return w, nil
}

// missing works out what to cut, and the last day for it.
func missing(h *sim.House, need *sim.Summary, books *sim.Books, before calendar.Date) *Missing {
	total := books.Total()
	missingKg := max(0, need.Total.BurnedDryKg-total.BurnedDryKg)
	m := &Missing{Amount: amount(h, missingKg, 1+h.Pile.RatedDryBasis), Before: before}
	green := greenDryBasis(h)
	for _, piece := range []woodpile.Piece{woodpile.Split, woodpile.Chunk} {
		way := CutWay{Piece: piece}
		const yearsBack = 2
		for day := before; day > before-yearsBack*366; day-- {
			ready := woodpile.DryFrom(h.Air.OnDay, green, h.Pile.ReadyDryBasis, day, piece, woodpile.Roof)
			if ready != nil && *ready <= before {
				way.By, way.Late = &day, day < h.Span.Start
				break
			}
		}
		m.Ways = append(m.Ways, way)
	}
	return m
}
