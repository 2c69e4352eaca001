package plan

import (
	"twigwatt/sim"
	"twigwatt/storage/battery"
)

// A Follower decides by the day plans of chosen runs for a household that fares
// otherwise than expected: another load, wetter wood, light-ups that fail, days
// without the set. It may be asked for the steps of a day after the leader was
// asked for that day's first, and before the leader is asked for the next day's;
// followers may be asked at the same time.
type Follower struct {
	leader    *Chosen
	house     *sim.House
	sinceFull int  // days
	awake     bool // the first day has begun
	fullToday bool
	rewarded  bool // a full charge is overdue, and not reached yet today
}

// Follower returns one that follows the plan for a house that differs from the
// planned one in its wood alone. The plan must not have begun.
func (c *Chosen) Follower(h *sim.House) *Follower {
	c.shared = true
	return &Follower{leader: c, house: h, sinceFull: c.begins.SinceFull}
}

// InHouse changes the house that the follower decides for, as a new year's wood
// comes in.
func (f *Follower) InHouse(h *sim.House) { f.house = h }

// Choose says whether the set burns in a step. Chores are done when the leader
// does them.
func (f *Follower) Choose(s *sim.State, at sim.Moment) sim.Command {
	if at.OfDay == 0 || !f.awake {
		f.wake(s, at.Day)
	}
	return f.decide(s, at)
}

// wake counts the days since a full charge.
func (f *Follower) wake(s *sim.State, day int) {
	if f.fullToday || s.Bank.StoredKWh() >= f.leader.fullKWh() {
		f.sinceFull = 0
	} else if day > 0 {
		f.sinceFull++
	}
	f.fullToday, f.awake = false, true
	every := f.house.Prices.FullEveryDays
	f.rewarded = every > 0 && f.sinceFull >= every
}

func (f *Follower) decide(s *sim.State, at sim.Moment) sim.Command {
	if at.OfDay > 0 && !f.fullToday && s.Bank.StoredKWh() >= f.leader.fullKWh() {
		f.fullToday = true
		if f.rewarded { // earned: the rest of the day is weighed without it
			f.rewarded = false
			if !f.leader.shared {
				f.leader.want(at.Day, false)
			}
		}
	}
	command := sim.Command{ChoreKW: f.leader.choreKW[at.OfDay]}
	switch {
	case s.LitSteps > 0 && f.house.MustRun(s, at):
		command.Run = true
	case f.house.MayRun(s, at):
		loadKW, otherKW := f.leader.load(at.Day)
		command.Run = f.cheaper(s, at, loadKW[at.OfDay]+command.ChoreKW, otherKW[at.OfDay])
	}
	return command
}

// cheaper reports whether running through a step costs less than not.
func (f *Follower) cheaper(s *sim.State, at sim.Moment, loadKW, otherKW float64) bool {
	c, t := f.leader, &f.leader.today.tables[kind(f.rewarded)]
	n, ok := t.graph.find(s, at.OfDay)
	if !ok || n.runTo < 0 || n.offTo < 0 {
		panic("plan: a state that the rules do not lead to, at " + c.house.Span.StepTime(at.Step))
	}
	day, next := &c.house.Days[at.Day], t.values[at.OfDay+1]
	moisture := f.wood(s)
	woodKg := c.market.woodKgOn(day) / f.house.HeatFactor(moisture)
	offState, off := c.market.off(day, s.Bank, loadKW, otherKW)
	runState, run := c.market.burn(day, s.Bank, loadKW, otherKW, f.house.Engine(day, moisture, f.house.ReadyNext(s)), woodKg)
	off += t.grid.read(next[n.offTo], offState.StoredKWh()) - f.earned(&s.Bank, &offState)
	run += t.grid.read(next[n.runTo], runState.StoredKWh()) - f.earned(&s.Bank, &runState)
	if n.match { // a tie with a later match goes to the earlier; with none, to none: the table's match costs tieKg more
		return run+c.market.lightUpKg(woodKg)+tieKg <= off+tieKg/10
	}
	return run < off-tieKg
}

// wood returns the moisture (dry basis) of the wood at hand.
func (f *Follower) wood(s *sim.State) float64 {
	if f.house.Pile.Endless {
		return f.house.Pile.RatedDryBasis
	}
	return f.house.Pile.NextDryBasis(&s.Pile)
}

// earned returns the reward of a step that reaches full where one is set today.
func (f *Follower) earned(from, to *battery.State) float64 {
	if full := f.leader.fullKWh(); f.rewarded && from.StoredKWh() < full && to.StoredKWh() >= full {
		return f.leader.rewardKg()
	}
	return 0
}
