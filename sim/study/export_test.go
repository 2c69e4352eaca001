package study

import (
	"context"

	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// Darkness is what each of so many lives of a household by a plan misses, kWh, with what it
// owes the bank at its end.
func Darkness(ctx context.Context, h *sim.Household, p *plan.Plan, n int) ([]float64, error) {
	leader := p.Chooser()
	var lives []*life
	for i := range livesOf(h, n) {
		lives = append(lives, newLife(h, leader.Follower(h.House), ByDays, i))
	}
	usual := newLife(h, inOneHouse{leader}, 0, 0)
	if err := dayByDay(ctx, h.House, usual.day, lives, nil); err != nil {
		return nil, err
	}
	var short []float64
	for _, f := range lives {
		owed := max(0, h.StartShare*h.Bank.FullKWh-f.state.Bank.StoredKWh())
		short = append(short, f.total.shortKWh+h.ServableKWh(owed))
	}
	return short, nil
}

// LivesBy lives a household n times by a plan, in the luck of some causes.
func LivesBy(ctx context.Context, h *sim.Household, p *plan.Plan, n int, causes Cause) (*Lives, error) {
	chooser := p.Chooser()
	var lives []*life
	for i := range n {
		lives = append(lives, newLife(h, chooser.Follower(h.House), causes, i))
	}
	leader := newLife(h, inOneHouse{chooser}, 0, 0)
	err := dayByDay(ctx, h.House, leader.day, lives, nil)
	return summed(h.House, lives), err
}
