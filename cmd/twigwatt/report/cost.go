package report

import (
	"twigwatt/sim/money"
)

// costColumns are what a row costs in a year and for a kWh served; in JSON alone, and null, where no
// prices are given.
func costColumns[R any](prices *money.Prices, cost func(*R) *money.Cost) list[R] {
	shown := func(of func(*money.Cost) money.Range, decimals int) func(*R) string {
		return func(r *R) string {
			c := cost(r)
			if c == nil {
				return "none"
			}
			return betweenText(of(c), decimals)
		}
	}
	value := func(of func(*money.Cost) money.Range) func(*R) any {
		return func(r *R) any {
			c := cost(r)
			if c == nil {
				return nil
			}
			return rangeJSON(of(c))
		}
	}
	aYear := func(c *money.Cost) money.Range { return c.WithHours }
	wear := func(c *money.Cost) money.Range { return c.WithWear }
	perKWh := func(c *money.Cost) money.Range { return c.WithHours.Over(c.ServedKWh) }
	if prices == nil {
		return list[R]{onlyJSON("cost_a_year", value(aYear)), onlyJSON("cost_per_kwh", value(perKWh))}
	}
	return list[R]{
		amounts("with what wears\na year", "", shown(wear, 0), nil),
		amounts("with own hours\na year", "cost_a_year", shown(aYear, 0), value(aYear)),
		amounts("\na kWh", "cost_per_kwh", shown(perKWh, 2), value(perKWh)),
	}
}
