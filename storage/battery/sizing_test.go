package battery

import (
	"math"
	"regexp"
	"testing"

	"twigwatt/testdata/published"
)

// Published: two_well_lifetimes.csv (from memory; each confirmed by an
// independent solution of the equations to 0.006 min), in closed form.
func TestRundown(t *testing.T) {
	draw := regexp.MustCompile(`([\d.]+)A for (\d+)min`)
	for _, row := range published.Rows(t, "two_well_lifetimes.csv") {
		var draws []Current
		for _, m := range draw.FindAllStringSubmatch(row[2], -1) {
			draws = append(draws, Current{Amps: published.Number(t, m[1]), Hours: published.Number(t, m[2])}) // an hour for their minute
		}
		got, err := Rundown(published.Number(t, row[0]), 0.166, 0.122, draws)
		if err != nil {
			t.Fatal(err)
		}
		if want := published.Number(t, row[3]); math.Abs(got-want) > 0.011 { // the table's rounding and the stated 0.006
			t.Errorf("%s, %s: %.4f, want %s", row[0], row[1], got, row[3])
		}
	}
	for _, draws := range [][]Current{{{0, 1}}, {{1, 0}}, {{-1, 1}}, {{math.NaN(), 1}}} {
		if _, err := Rundown(5, 0.2, 1, draws); err == nil {
			t.Errorf("%v was run down", draws)
		}
	}
	if got, _ := Rundown(10, 1, 1, []Current{{2, 1}}); math.Abs(got-5) > 1e-9 {
		t.Errorf("a plain store of 10 Ah at 2 A lasts %g h", got)
	}
}

// Published: cell_size_factor.csv; ventilation.csv; SOURCES.md, sizing examples.
func TestSizing(t *testing.T) {
	for _, row := range published.Rows(t, "cell_size_factor.csv") {
		if got := CellSizeFactor((published.Number(t, row[0]) - 32) / 1.8); math.Abs(got-published.Number(t, row[1])) > 1e-9 {
			t.Errorf("%s °F: %g, want %s", row[0], got, row[1])
		}
	}
	for _, row := range published.Rows(t, "ventilation.csv") {
		air, opening, err := VentilationM3H(Kind(row[2]), Stage(row[3]), published.Number(t, row[0]), published.Number(t, row[1]))
		if err != nil || math.Abs(air-published.Number(t, row[5])) > 1e-9 || math.Abs(opening-published.Number(t, row[6])) > 1e-9 {
			t.Errorf("%v: %g m³/h, %g cm², %v", row, air, opening, err)
		}
	}
	if _, _, err := VentilationM3H(Lithium, Boost, 8, 100); err == nil {
		t.Error("lithium gasses")
	}
	if got := 2544 / AltitudeShare(1219.2); math.Abs(got-2891) > 0.5 {
		t.Errorf("at 4000 ft: %g W, published 2891", got)
	}
}
