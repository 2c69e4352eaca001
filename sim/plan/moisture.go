package plan

import (
	"context"

	"twigwatt/sim"
)

// expectedMoisture returns the moisture (dry basis) of the wood that would be
// burned in each month of the year, were the bank topped up in the expected
// days: near enough for a price, and a thousand times quicker than a plan.
func expectedMoisture(ctx context.Context, of *sim.Household) ([12]float64, error) {
	h := of.House
	var moisture [12]float64
	for month := range moisture {
		moisture[month] = h.Pile.RatedDryBasis
	}
	if h.Pile.Endless {
		return moisture, nil
	}
	var dry, water [12]float64
	const startBelow, stopAbove = 0.6, 0.9
	_, err := sim.Run(ctx, of.Wanting(of.Demand.Expected()), &WhenLow{House: h, StartBelow: startBelow, StopAbove: stopAbove},
		func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			if f.Run {
				month := h.Days[at.Day].Date.Month() - 1
				dry[month] += f.Burned.DryKg
				water[month] += f.Burned.AsIsKg - f.Burned.DryKg
			}
		})
	for month := range moisture {
		if dry[month] > 0 {
			moisture[month] = water[month] / dry[month]
		}
	}
	return moisture, err
}
