// Package money reckons what a household's year costs: what is paid out, what wears, and its own hours.
//
// Prices are a household's; Reckon turns what a year uses into a Cost of them. Annuity, PresentWorth and
// Rising are the formulas. Left out: taxes, paths of inflation, resale and loans.
package money

import "math"

// Annuity returns what a price comes to in each of some years (more than 0, broken ones and without end
// too), at an interest beyond inflation (a share, 0 or more).
//
// Source: the capital recovery factor of any engineering-economics table.
func Annuity(interest, years float64) float64 {
	if interest == 0 {
		return 1 / years
	}
	return interest / -math.Expm1(-years*math.Log1p(interest))
}

// Rising returns the present worth of 1 at the end of the first of some years, that grows by a share
// from year to year; 0: of 1 each year.
//
// Source: the same tables.
func Rising(interest, growth, years float64) float64 {
	const alike = 1e-12
	if math.Abs(interest-growth) < alike {
		return years / (1 + interest)
	}
	return -math.Expm1(years*(math.Log1p(growth)-math.Log1p(interest))) / (interest - growth)
}

// Prices are a household's, in its unit of money. What is 0 costs nothing.
type Prices struct {
	Unit                       string
	Hour                       float64 // of one's own
	Interest                   float64 // beyond inflation, a share
	WoodStackedM3, PetrolLitre float64
	OilChange, Filter          float64
	Set, Bank, Panels          float64
	Tank, Standby              float64
	SetLifeH                   float64 // engine hours of the set to an overhaul, and of the stand-by set
	PanelsYears, TankYears     float64
}

// Use is what a year of a household uses.
type Use struct {
	ServedKWh               float64
	StackedM3, PetrolLitres float64
	OilChanges, Filters     float64
	EngineH, StandbyH       float64
	AttendedH, WoodWorkH    float64
	BankLowYears            float64 // its life
	BankHighYears           float64
	DryKgPerStackedM3       float64
	WorkHPerStackedM3       float64
	Panels, Tank, Standby   bool // the household has them
}

// A Range is a cost that lies between two.
type Range struct{ Low, High float64 }

func (r *Range) add(o Range) { r.Low, r.High = r.Low+o.Low, r.High+o.High }

// Over is the range for each of so much; nothing for nothing.
func (r Range) Over(x float64) Range { return Range{r.Low / x, r.High / x} }

// A Part is one thing's cost in a year.
type Part struct {
	Key string // as in JSON
	Range
}

// A Cost is what a year costs, in the household's unit of money.
type Cost struct {
	Unit                      string
	Parts                     []Part
	Paid, WithWear, WithHours Range   // each holds the one before
	ServedKWh                 float64 // in the year
	WorthDryKg                float64 // of an oven-dry kg of wood
	HourKgMeant               float64 // what an hour of one's own weighs in wood; NaN: wood costs nothing
	LitreKgMeant              float64 // and a litre of petrol
}

// Reckon works a year's cost out. What is never used does not wear, and costs its interest.
func (p *Prices) Reckon(u *Use) *Cost {
	c := &Cost{Unit: p.Unit, ServedKWh: u.ServedKWh}
	same := func(x float64) Range { return Range{x, x} }
	part := func(key string, cost Range, into *Range) {
		c.Parts = append(c.Parts, Part{key, cost})
		into.add(cost)
	}
	wears := func(price, years float64) float64 {
		if price == 0 {
			return 0
		}
		return price * Annuity(p.Interest, years)
	}
	part("wood", same(p.WoodStackedM3*u.StackedM3), &c.Paid)
	part("petrol", same(p.PetrolLitre*u.PetrolLitres), &c.Paid)
	part("oil", same(p.OilChange*u.OilChanges), &c.Paid)
	part("filters", same(p.Filter*u.Filters), &c.Paid)
	c.WithWear = c.Paid
	part("set", same(wears(p.Set, p.SetLifeH/u.EngineH)), &c.WithWear)
	part("bank", Range{wears(p.Bank, u.BankHighYears), wears(p.Bank, u.BankLowYears)}, &c.WithWear)
	if u.Panels {
		part("panels", same(wears(p.Panels, p.PanelsYears)), &c.WithWear)
	}
	if u.Tank {
		part("tank", same(wears(p.Tank, p.TankYears)), &c.WithWear)
	}
	if u.Standby {
		part("standby", same(wears(p.Standby, p.SetLifeH/u.StandbyH)), &c.WithWear)
	}
	c.WithHours = c.WithWear
	part("own_hours", same(p.Hour*(u.AttendedH+u.WoodWorkH)), &c.WithHours)
	c.WorthDryKg = (p.WoodStackedM3 + u.WorkHPerStackedM3*p.Hour) / u.DryKgPerStackedM3
	c.HourKgMeant, c.LitreKgMeant = math.NaN(), math.NaN()
	if c.WorthDryKg > 0 {
		c.HourKgMeant, c.LitreKgMeant = p.Hour/c.WorthDryKg, p.PetrolLitre/c.WorthDryKg
	}
	return c
}
