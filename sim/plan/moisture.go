package plan

import (
	"context"

	"twigwatt/loads"
	"twigwatt/sim"
)

// expectedMoisture returns the moisture (dry basis) of the wood that would be
// burned in each month of the year, were the bank topped up in the expected
// days: near enough for a price, and a thousand times quicker than a plan.
func expectedMoisture(ctx context.Context, h *sim.House, d *loads.Demand) ([12]float64, error) {
	var moisture [12]float64
	for month := range moisture {
		moisture[month] = h.Pile.RatedDryBasis
	}
	if h.Pile.Endless {
		return moisture, nil
	}
	var dry, water [12]float64
	expected := &loads.Demand{LoadKW: d.ExpectedLoadKW, OtherKW: d.ExpectedOtherKW}
	const startBelow, stopAbove = 0.6, 0.9
	_, err := sim.Run(ctx, h, expected, &WhenLow{House: h, StartBelow: startBelow, StopAbove: stopAbove},
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
