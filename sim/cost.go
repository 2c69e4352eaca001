package sim

import (
	"fmt"

	"twigwatt/sim/money"
	"twigwatt/storage/woodpile"
)

// costOf reckons what a year of the span costs; nil where no prices are given.
func (h *House) costOf(s *Summary) *money.Cost {
	if h.Money == nil {
		return nil
	}
	const daysAYear = 365.25
	t, years := &s.Total, float64(h.Span.Days)/daysAYear
	u := money.Use{ServedKWh: (t.LoadKWh - t.ShortfallKWh) / years, StackedM3: t.BurnedStackedM3 / years,
		PetrolLitres: t.Standby.Litres / years, EngineH: t.EngineH / years, StandbyH: t.Standby.Hours / years,
		AttendedH: t.AttendedH / years, WoodWorkH: s.Wood.WorkHours / years,
		BankLowYears: s.Bank.LifeLowYears, BankHighYears: s.Bank.LifeHighYears,
		DryKgPerStackedM3: h.DryKgPerStackedM3(), WorkHPerStackedM3: h.Pile.WorkHPerStacked,
		Panels: s.Sun != nil, Tank: s.Warmth != nil, Standby: h.Standby != nil}
	if h.Standby != nil && h.Standby.SharesEngine { // one engine wears by both
		u.EngineH, u.StandbyH, u.Standby = u.EngineH+u.StandbyH, 0, false
	}
	for _, service := range h.Services {
		switch service.Name {
		case "oil":
			u.OilChanges = u.EngineH / service.EveryH
		case "filter":
			u.Filters = u.EngineH / service.EveryH
		}
	}
	return h.Money.Reckon(&u)
}

// DryKgPerStackedM3 is the oven-dry wood of a stacked m³ of the pile's usual species.
func (h *House) DryKgPerStackedM3() float64 {
	return woodpile.DryKg(h.Pile.SolidPerStacked, &h.Pile.Species)
}

// warnOfCost says where what the plan weighs is far from what the household's prices mean.
func (s *Summary) warnOfCost(h *House) {
	c := s.Cost
	if c == nil {
		return
	}
	const daysAYear, far = 365.25, 10
	if engineH := s.Total.EngineH * daysAYear / float64(h.Span.Days); h.Money.Set > 0 && engineH > h.Money.SetLifeH {
		s.Warnings.Add("set_life", "the set runs %.0f hours a year, more than it is said to last (money.set_life_hours, %.0f): "+
			"it is overhauled more than once a year", engineH, h.Money.SetLifeH)
	}
	weighs, meant := h.Prices.HourKg, c.HourKgMeant
	if meant > 0 && (weighs*far <= meant || weighs >= far*meant) {
		more := ""
		if weighs > 0 {
			more = fmt.Sprintf(": set it alone and days go dark, for short_kg_per_kwh (%.3g) must move with it, to about %.0f",
				h.Prices.ShortKgPerKWh, h.Prices.ShortKgPerKWh*meant/weighs)
		}
		s.Warnings.Add("hour_undervalued", "the plan weighs an hour of tending at %.3g kg of wood (plan.hour_kg); by the prices given "+
			"it is worth %.0f kg%s", weighs, meant, more)
	}
}
