package study

import (
	"context"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// Darkness is what each of a household's lives misses, kWh, with what it owes the bank at
// its end.
func Darkness(ctx context.Context, h *sim.House, steady *loads.Demand, p *plan.Plan, c *Chance) ([]float64, error) {
	leader := p.Chooser()
	var lives []*life
	for i := range c.Count() {
		lives = append(lives, newLife(h, leader.Follower(h), c.Wants, steady, c.Luck, ByDays, c.Seed+uint64(i)))
	}
	usual := newLife(h, unmoved{leader}, c.Wants, steady, c.Luck, 0, c.Seed)
	if err := sideBySide(ctx, h, func(day int) { usual.day(day, false) }, lives, nil); err != nil {
		return nil, err
	}
	var short []float64
	for _, f := range lives {
		owed := max(0, h.StartShare*h.Bank.FullKWh-f.state.Bank.StoredKWh())
		short = append(short, f.total.shortKWh+h.ServableKWh(owed))
	}
	return short, nil
}
