package woodpile

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
	"twigwatt/testdata/published"
)

// Published: Wood Handbook (2010), Table 4-2 (emc.csv), within 0.06 points (its
// rounding and its equation's worst cell); FPL-RN-0268: 20 °C, 50 % gives 9.271141.
func TestEquilibriumMoisture(t *testing.T) {
	for _, row := range published.Rows(t, "emc.csv") {
		airC := (published.Number(t, row[0]) - 32) / 1.8
		got, want := 100*EquilibriumDryBasis(airC, published.Number(t, row[1])), published.Number(t, row[2])
		if math.Abs(got-want) > 0.06 {
			t.Errorf("%s °F, %s %%: %.3f, want %g", row[0], row[1], got, want)
		}
	}
	if got := 100 * EquilibriumDryBasis(20, 50); math.Abs(got-9.271141) > 5e-7 {
		t.Errorf("20 °C, 50 %%: %.7f, published 9.271141", got)
	}
}

// Published: outdoor_emc_monthly.csv for Seattle. The humidity of the climate
// table was inverted from this row: it tests the equation there and back.
func TestOutdoorMoistureOfSeattle(t *testing.T) {
	air, _ := place.Climate("seattle")
	row := published.Rows(t, "outdoor_emc_monthly.csv")[0]
	for month := range 12 {
		got := 100 * EquilibriumDryBasis(air.MeanC[month], air.HumidityPct[month])
		if want := published.Number(t, row[month+1]); math.Abs(got-want) > 0.06 {
			t.Errorf("month %d: %.2f, want %g", month+1, got, want)
		}
	}
}

// dry lets wood dry for days from a date in a place's air.
func dry(t *testing.T, climate, start string, days int, dryBasis float64, piece Piece, cover Cover) float64 {
	t.Helper()
	air, ok := place.Climate(climate)
	if !ok {
		t.Fatal(climate)
	}
	date, err := calendar.ParseDate("2024-" + start)
	if err != nil {
		t.Fatal(err)
	}
	for day := range days {
		dryBasis = DryingIn(air.OnDay(date+calendar.Date(day))).After(dryBasis, piece, cover)
	}
	return dryBasis
}

// Published: drying_bands.csv. The drying constants are calibrated on these very
// bands: this holds them there, and proves nothing more.
func TestDryingKeepsTheBandsItWasCalibratedOn(t *testing.T) {
	for _, row := range published.Rows(t, "drying_bands.csv") {
		got := dry(t, row[1], row[3], int(published.Number(t, row[5])), published.Number(t, row[4]), Piece(row[2]), Roof)
		if low, high := published.Number(t, row[6]), published.Number(t, row[7]); got < low || got > high {
			t.Errorf("%s: %.3f, band %g to %g", row[0], got, low, high)
		}
		if want := published.Number(t, row[8]); math.Abs(got-want) > 0.006 {
			t.Errorf("%s: %.3f, the law gives %g", row[0], got, want)
		}
	}
}

// Published: SOURCES.md, drying_bands.csv: an independent Austrian trial, not
// among the bands: splits below 20 % wet basis in 28 weeks. Beech as wet as it is felled (SOURCES.md,
// felling moisture), from April, in the middle-European air of the table.
func TestAustrianTrial(t *testing.T) {
	beech := species(t, "beech")
	u := dry(t, "de-bilt", "04-01", 28*7, beech.GreenWithBarkDryBasis(), Split, Roof)
	if wet := u / (1 + u); wet > 0.20 {
		t.Errorf("%.1f %% wet basis after 28 weeks, published below 20", 100*wet)
	}
}

func TestDryingNeverPassesEquilibrium(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		airC, humidity := rapid.Float64Range(-30, 40).Draw(t, "air"), rapid.Float64Range(1, 100).Draw(t, "humidity")
		u := rapid.Float64Range(0, 1.5).Draw(t, "u")
		piece := rapid.SampledFrom([]Piece{Chunk, Split, Log}).Draw(t, "piece")
		cover := rapid.SampledFrom([]Cover{Roof, Open}).Draw(t, "cover")
		towards := EquilibriumDryBasis(airC, humidity)
		if cover == Open {
			towards = EquilibriumDryBasis(airC, OpenHumidityPct(humidity))
		}
		after := DryingIn(airC, humidity).After(u, piece, cover)
		if (after-towards)*(u-towards) < 0 || math.Abs(after-towards) > math.Abs(u-towards)+1e-15 {
			t.Fatalf("from %g to %g, equilibrium %g", u, after, towards)
		}
	})
}

// Published: SOURCES.md, felling moisture.
func TestFellingMoisture(t *testing.T) {
	for key, wetPct := range map[string]float64{"norway-spruce": 58.1, "beech": 46.6, "white-oak": 45.7, "red-oak": 45.7, "sugar-maple": 42.5,
		"red-maple": 42.5, "bigleaf-maple": 42.5} {
		if got := 100 * WetBasis(species(t, key).GreenWithBarkDryBasis()); math.Abs(got-wetPct) > 1e-9 {
			t.Errorf("%s: felled at %.2f %%, published %g", key, got, wetPct)
		}
	}
	// the two-year trial's start_dry_basis, 1.387 and 0.873, are these
	for key, dryBasis := range map[string]float64{"norway-spruce": 1.387, "beech": 0.873} {
		if got := species(t, key).GreenWithBarkDryBasis(); math.Abs(got-dryBasis) > 0.001 {
			t.Errorf("%s: %.4f kg of water for each oven-dry kg, the trial begins at %g", key, got, dryBasis)
		}
	}
	// by the table of species still: willow, worked: FIA's wood and bark
	willow := species(t, "willow")
	g, b, gb := willow.Gravity, willow.BarkPerWood, willow.BarkGravity
	if got, want := willow.GreenWithBarkDryBasis(), (g*willow.GreenDryBasis+b*gb*willow.BarkDryBasis)/(g+b*gb); math.Abs(got-want) > 1e-12 {
		t.Errorf("willow: %g, want %g", got, want)
	}
}

// TestDamperAir: wood in damper air comes to just so much more, and air knows its bounds.
func TestDamperAir(t *testing.T) {
	for _, c := range []struct{ airC, humidityPct, share float64 }{{10, 70, 0.02}, {20, 50, -0.03}, {-5, 85, 0.01}, {5, 80, 0}} {
		usual := WetBasis(EquilibriumDryBasis(c.airC, c.humidityPct))
		damper := WetBasis(EquilibriumDryBasis(c.airC, DamperPct(c.airC, c.humidityPct, c.share)))
		if math.Abs(damper-usual-c.share) > 1e-9 {
			t.Errorf("%+v: wetter by %.5f", c, damper-usual)
		}
	}
	if got := DamperPct(10, 90, 0.5); !(got > 98 && got <= 99) {
		t.Errorf("air of %g %%", got)
	}
}
