package study

import (
	"context"
	"math"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// A skipper lives through today and tomorrow, with or without a run today, in
// loads of its own.
type skipper struct {
	*Evening
	chooser    sim.Chooser
	state      sim.State
	swing      *loads.Swing
	skips      bool
	shortKWh   float64 // of the day
	dark       bool
	usual      float64 // the first day's factor where it is not drawn; 0: 1
	morningPct float64
}

// skippers are one that meets the expected load, and a pair for each draw: one
// skips today's run, one does not. Nil: the set burns already.
func (e *Evening) skippers(ctx context.Context, leader sim.Chooser, start sim.State, shortKWh float64) ([]*skipper, error) {
	if e.LitMinute >= 0 {
		return nil, nil
	}
	all := []*skipper{{skips: true}}
	for draw := range skipDraws {
		for _, skips := range []bool{true, false} {
			all = append(all, &skipper{skips: skips, swing: e.Wants.NewSwing(e.Wants.Seed + uint64(draw))})
		}
	}
	chosen, _ := leader.(*plan.Chooser)
	for _, s := range all {
		s.Evening, s.state, s.shortKWh, s.morningPct = e, start, shortKWh, math.NaN()
		if chosen != nil {
			mean, variance, factor := chosen.Plan().Known()
			s.swing.Starts(mean, variance)
			s.usual = factor
			s.chooser = chosen.Follower(e.House)
			continue
		}
		var err error
		if s.chooser, err = e.For(ctx, e.House); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// live goes through a day from a step on. With the run skipped no chore of
// the first day is done, then or later.
func (s *skipper) live(day, ofDay int) {
	h, perDay := s.House, s.House.Span.StepsADay()
	want := sim.Want{LoadKW: s.Demand.ExpectedLoadKW, OtherKW: s.Demand.ExpectedOtherKW, Factor: s.swing.Next()}
	if s.swing == nil && day == 0 && s.usual > 0 {
		want.Factor = s.usual
	}
	h.LiveDay(&s.state, sim.Moment{Step: day*perDay + ofDay, Day: day, OfDay: ofDay}, perDay, &want, s,
		func(_ sim.Moment, _ *sim.State, f *sim.Flows) {
			s.shortKWh += f.ShortfallKW * h.Span.StepH()
		})
	s.dark = s.dark || s.shortKWh >= h.Prices.ShortDayKWh
	s.shortKWh = 0
}

// Choose is what the plan wants, but for today's run.
func (s *skipper) Choose(state *sim.State, at sim.Moment) sim.Command {
	if at.Day == 1 && math.IsNaN(s.morningPct) && at.OfDay*s.House.Span.StepMinutes >= s.morning() {
		s.morningPct = 100 * state.Bank.StoredKWh() / s.House.Bank.FullKWh
	}
	c := s.chooser.Choose(state, at)
	if s.skips && at.Day == 0 {
		return sim.Command{}
	}
	return c
}

// skipped counts the skippers.
func (e *Evening) skipped(all []*skipper) *Skip {
	k := &Skip{MorningPct: all[0].morningPct, Draws: skipDraws, SwingShare: e.Wants.SwingShare}
	for _, s := range all[1:] {
		switch {
		case s.dark && s.skips:
			k.Dark++
		case s.dark:
			k.DarkRuns++
		}
	}
	return k
}
