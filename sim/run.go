package sim

import "context"

// A Chooser says, at the start of each step, whether the set burns through it
// and which chores run. It must keep the rules (MayRun, MustRun) and is asked
// for each step of the span in order.
type Chooser interface {
	Choose(s *State, at Moment) Command // for the step that begins at a moment; it does not change the state
}

// A Want is what a house wants through a span and what other sources give, kW by step,
// chores left out. Factor multiplies the load.
type Want struct {
	LoadKW, OtherKW   []float64
	SunKW, HouseSunKW []float64 // of panels at the bank, DC; at the house, AC, which OtherKW holds too; nil: none
	SunFrom           int       // the step of the span that is the first of these and of OtherKW
	Factor            float64

	flows Flows // of the step, in one place: a year has no time for new ones
}

// LiveDay moves a household through a day from a moment on, up to before a step of the
// day: the one loop that everything goes through days by. watch, if not nil, is shown
// each step with the state it led to.
func (h *House) LiveDay(s *State, at Moment, untilOfDay int, w *Want, c Chooser, watch func(at Moment, s *State, f *Flows)) {
	for ; at.OfDay < untilOfDay; at.OfDay++ {
		command := c.Choose(s, at)
		w.flows = Flows{LoadKW: w.LoadKW[at.Step]*w.Factor + command.ChoreKW, OtherKW: w.OtherKW[at.Step-w.SunFrom]}
		if w.SunKW != nil {
			w.flows.Sun.KW = w.SunKW[at.Step-w.SunFrom]
		}
		if w.HouseSunKW != nil {
			w.flows.HouseSunKW = w.HouseSunKW[at.Step-w.SunFrom]
		}
		h.Advance(s, &w.flows, at, command)
		if watch != nil {
			watch(at, s, &w.flows)
		}
		at.Step++
	}
}

// A Life is a household on its way through its span, with its books.
type Life struct {
	house   *House
	State   State
	Books   *Books
	want    Want
	chooser Chooser
	enter   func(at Moment, s *State, f *Flows)

	today            *DayRecord
	floorAndSpareKWh float64
}

// NewLife begins a span. watch, if not nil, is shown each step with the state it led to.
func NewLife(household *Household, c Chooser, watch func(at Moment, s *State, f *Flows)) *Life {
	h := household.House
	l := &Life{house: h, State: h.Start(), want: household.Want(), chooser: c}
	l.Books = newBooks(h, &l.State)
	l.enter = func(at Moment, s *State, f *Flows) {
		l.Books.enter(l.today, at, s, f, l.floorAndSpareKWh)
		if !h.Pile.Endless && (f.Run || at.OfDay == h.stepsADay-1) {
			l.Books.enterPile(l.today, s, f)
		}
		if watch != nil {
			watch(at, s, f)
		}
	}
	return l
}

// Day lives through the next day, which must be this one. After the last the books are
// finished.
func (l *Life) Day(day int) {
	h, bank := l.house, l.house.Days[day].Bank
	l.floorAndSpareKWh = bank.FloorKWh + h.Prices.SpareShare*bank.FullKWh
	l.today = l.Books.open(day, &l.State)
	h.LiveDay(&l.State, Moment{Step: day * h.stepsADay, Day: day}, h.stepsADay, &l.want, l.chooser, l.enter)
	l.Books.close(l.today, &l.State)
	if day == len(h.Days)-1 {
		l.Books.Wear.Finish()
	}
}

// Run drives a household through its span. watch, if not nil, is shown each
// step with the state it led to. The only error is the context's.
func Run(ctx context.Context, h *Household, c Chooser, watch func(at Moment, s *State, f *Flows)) (*Books, error) {
	l := NewLife(h, c, watch)
	for day := range h.Days {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		l.Day(day)
	}
	return l.Books, nil
}
