package sim_test

import (
	"context"
	"testing"

	"twigwatt/sim"
	"twigwatt/testdata/worked"
)

// A yearly cut lies on the pile from the evening of its day on, year after year; that of
// 29 February from the 28th in other years.
func TestAYearlyCutIsLaidOnItsDay(t *testing.T) {
	for _, c := range []struct{ on, first, second string }{
		{"03-05", "2023-03-05", "2024-03-05"},
		{"02-29", "2023-02-28", "2024-02-29"},
	} {
		s := worked.Household("start=2023-02-20", "days=400", "woodpile.cut.hedge.on="+c.on,
			"woodpile.cut.hedge.dry_kg=100", "woodpile.cut.hedge.moisture_pct=40")
		books, err := sim.Run(context.Background(), s.Household, evenings{s.House}, nil)
		if err != nil {
			t.Fatal(err)
		}
		var laid []string
		for _, d := range books.Days {
			if d.Moved.CutDryKg != 0 {
				laid = append(laid, d.Date.String())
			}
		}
		if len(laid) != 2 || laid[0] != c.first || laid[1] != c.second {
			t.Errorf("the cut of %s was laid on %v, want %s and %s", c.on, laid, c.first, c.second)
		}
	}
}
