// Package study answers what a household asks: what a span comes to (Year), how many hours a
// day (Hours), how big a bank (Bank), how much wood and when to cut it (Wood), how bad it can
// get (Risk), and what to do today (Day).
//
// Each takes a checked household, the rule by which it chooses its runs and the question's
// options, and gives the whole answer, advice and warnings included. Long ones obey a context
// and work on all cores, with the same answer on any number. Left out: money, and the choice
// between makes of equipment.
package study

import (
	"context"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
)

// YearAnswer is what a household's span comes to.
type YearAnswer struct {
	Household *sim.Household
	*sim.Summary
	Rule   plan.Rule
	Books  *sim.Books
	Record *sim.Record
	Window *Window          // the best fixed one beside chosen runs; nil: no run is chosen, or none is allowed
	Card   *sim.Summary     // the wall card kept, beside chosen runs; nil as Window is
	Ageing *Ageing          // of the bank; nil: the span is no longer than a year
	Chores *sim.ChoreReport // nil unless the plan places chores
	Ration *Rationing       // nil unless wood is rationed
	Todo   []Remedy         // what the household needs to do, the most pressing first
	Cures  []Cure           // of the dark, where AgainstDark is to do
	Then   bool             // darkness lies around the worst day: less is to be wanted then

	entered *monthStarts // as the span was lived
}

// Rationing is what making a short pile last costs, against the same span with
// ready wood without end.
type Rationing struct {
	Stretches     []RationedStretch
	MissingDryKg  float64 // wood that was not burned for want of it
	MoreShortKWh  float64
	MoreShortDays int
}

// A RationedStretch is days on which wood was weighed at more than its price.
type RationedStretch struct {
	calendar.DateRange
	WoodKg float64 // the price of a kg of oven-dry wood
	Lasts  bool    // false: the wood lasts at no price
}

// Year asks what a household's span comes to by a rule. watch, if not nil, is shown each step.
// The errors are those of plan.New.
func Year(ctx context.Context, h *sim.Household, rule plan.Rule,
	watch func(sim.Moment, *sim.State, *sim.Flows)) (*YearAnswer, error) {
	h, ageing, err := aged(ctx, h, rule)
	if err != nil {
		return nil, err
	}
	record, entered := sim.NewRecord(h.House), newMonthStarts(h)
	chooser, rations, err := rule.Rationing(ctx, h, plan.Beginning{})
	if err != nil {
		return nil, err
	}
	books, err := sim.Run(ctx, h, chooser, func(at sim.Moment, s *sim.State, f *sim.Flows) {
		record.Step(at, s, f)
		entered.watch(at, s, f)
		if watch != nil {
			watch(at, s, f)
		}
	})
	if err != nil {
		return nil, err
	}
	y := &YearAnswer{Household: h, Rule: rule, Books: books, Record: record, Summary: sim.Summarize(h, books), Ageing: ageing,
		entered: entered}
	if chosen, ok := chooser.(*plan.Chooser); ok && len(h.Demand.Chores) > 0 {
		chores := chosen.Chores()
		y.Chores = &chores
	}
	if rule.Rationed {
		if err := y.ration(ctx, rations); err != nil {
			return nil, err
		}
	}
	if rule.By == plan.ByChosen {
		if y.Window, err = BestWindow(ctx, h, livesOfSpan(h)); err != nil {
			return nil, err
		}
		if y.Window != nil {
			if err := y.keepCard(ctx); err != nil {
				return nil, err
			}
		}
	}
	return y, y.advise(ctx)
}

// Quick asks what a household's span comes to by a rule, on a coarser plan and with nothing beside it:
// no rivals, no remedies, no ageing of the bank. Where it is only on its way to an answer, chores are done
// in the first of their hours. The errors are those of plan.New.
func Quick(ctx context.Context, h *sim.Household, rule plan.Rule, onItsWay bool) (*YearAnswer, error) {
	rule.Rationed = false
	if onItsWay && h.ChoreKW != nil {
		choresFirst := *h
		choresFirst.Demand, choresFirst.ChoreKW = h.Demand.Changed(1, h.ChoreKW), nil
		choresFirst.Demand.Chores = nil
		h = &choresFirst
	}
	chooser, err := quickly(ctx, h, rule)
	if err != nil {
		return nil, err
	}
	record := sim.NewRecord(h.House)
	books, err := sim.Run(ctx, h, chooser, record.Step)
	if err != nil {
		return nil, err
	}
	return &YearAnswer{Household: h, Rule: rule, Books: books, Record: record, Summary: sim.Summarize(h, books)}, nil
}

// quickly makes a life by a rule, of chosen runs by a coarser plan.
func quickly(ctx context.Context, h *sim.Household, rule plan.Rule) (sim.Chooser, error) {
	if rule.By != plan.ByChosen {
		return rule.Chooser(ctx, h)
	}
	const levels, classes = 41, 3
	p, err := plan.New(ctx, h, plan.Outlook{Foresight: rule.Foresight, Levels: levels, Classes: classes})
	if err != nil {
		return nil, err
	}
	return p.Chooser(), nil
}

// livesOfSpan is how many lives a span's windows are weighed in: of one of several years, each of which
// is lived through in every life, as many fewer.
func livesOfSpan(h *sim.Household) int {
	const aYear, least = 366, 2
	return max(least, min(UsualLives, UsualLives*aYear/h.Span.Days))
}

// keepCard lives the span by the wall card that suits it. The only error is the context's.
func (y *YearAnswer) keepCard(ctx context.Context) error {
	card, err := wallCard(ctx, y.Household, y.Books, y.entered, livesOfSpan(y.Household))
	if err != nil {
		return err
	}
	books, err := sim.Run(ctx, y.Household, keeping(y.Household, card), nil)
	if err != nil {
		return err
	}
	y.Card = sim.Summarize(y.Household, books)
	return nil
}

// ration puts what rationed wood costs beside the same span with wood without end.
func (y *YearAnswer) ration(ctx context.Context, rations []plan.Ration) error {
	free, err := withoutEnd(ctx, y.Household, y.Rule, &y.Total)
	if err != nil {
		return err
	}
	y.Ration = &Rationing{MissingDryKg: max(0, free.Total.BurnedDryKg-y.Total.BurnedDryKg),
		MoreShortKWh:  y.Total.ShortfallKWh - free.Total.ShortfallKWh,
		MoreShortDays: y.Shortage.Days - free.Shortage.Days}
	dateOf := func(day int) calendar.Date { return y.Household.Days[day].Date }
	for _, stretch := range rations {
		days := calendar.DateRange{First: dateOf(stretch.FirstDay), Last: dateOf(stretch.LastDay)}
		y.Ration.Stretches = append(y.Ration.Stretches, RationedStretch{days, stretch.WoodKg, stretch.Lasts})
	}
	return nil
}
