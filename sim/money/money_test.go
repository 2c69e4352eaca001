package money

import (
	"math"
	"testing"

	"twigwatt/testdata/published"
)

// Computed: money_checks.csv, compound-interest factors as any table of engineering economics prints them.
func TestCompoundInterest(t *testing.T) {
	for _, row := range published.Rows(t, "money_checks.csv") {
		interest, years, growth := published.Number(t, row[1])/100, published.Number(t, row[2]), 0.0
		if row[3] != "" {
			growth = published.Number(t, row[3]) / 100
		}
		var got float64
		switch row[0] {
		case "annuity A/P":
			got = Annuity(interest, years)
		case "present worth P/A":
			got = Rising(interest, growth, years)
			if math.Abs(got*Annuity(interest, years)-1) > 1e-12 {
				t.Errorf("%v: the present worth is no reciprocal of the annuity", row)
			}
		case "sinking fund A/F":
			got = Annuity(interest, years) - interest
		default:
			got = Rising(interest, growth, years)
		}
		if want := published.Number(t, row[4]); math.Abs(got-want) > 1e-6*math.Max(1, want)+5e-5*want {
			t.Errorf("%v: %.6f", row, got)
		}
	}
	if got := Rising(0.05, 0.05, 7); math.Abs(got-7/1.05) > 1e-12 || math.Abs(Rising(0.05, 0.0500001, 7)-got) > 1e-5 {
		t.Errorf("growth as interest: %g", got)
	}
	if got := Annuity(0.03, math.Inf(1)); got != 0.03 {
		t.Errorf("without end: %g", got)
	}
	if got := Annuity(0, math.Inf(1)); got != 0 {
		t.Errorf("without end and interest: %g", got)
	}
	for years := 0.5; years < 40; years += 0.5 { // broken years lie between whole ones
		if a, b := Annuity(0.03, years), Annuity(0.03, years+0.5); !(b < a) {
			t.Fatalf("%g years: %g, half a year more %g", years, a, b)
		}
	}
}

// Worked: 20 a stacked m³ of 237 kg and 5 h of work at 12 an hour: a kg is worth 80/237, an hour 35.55 kg.
func TestAYearByHand(t *testing.T) {
	p := Prices{Unit: "EUR", Hour: 12, WoodStackedM3: 20, PetrolLitre: 2, OilChange: 30, Filter: 8, Set: 2000, Bank: 3000, Panels: 900, Tank: 400, Standby: 500,
		SetLifeH: 3000, PanelsYears: 25, TankYears: 20}
	c := p.Reckon(&Use{ServedKWh: 2000, StackedM3: 10, PetrolLitres: 15, OilChanges: 6, Filters: 12, EngineH: 600, StandbyH: 30, AttendedH: 700, WoodWorkH: 50,
		BankLowYears: 4, BankHighYears: 6, DryKgPerStackedM3: 237, WorkHPerStackedM3: 5, Panels: true, Tank: true, Standby: true})
	paid := 200.0 + 30 + 180 + 96
	wear := 2000.0/5 + 900.0/25 + 400.0/20 + 500.0/100
	for name, pair := range map[string][2]float64{"paid": {c.Paid.Low, paid}, "paid high": {c.Paid.High, paid}, "wear low": {c.WithWear.Low, paid + wear + 500},
		"wear high": {c.WithWear.High, paid + wear + 750}, "hours low": {c.WithHours.Low, paid + wear + 500 + 9000}, "a kg": {c.WorthDryKg, 80.0 / 237},
		"an hour": {c.HourKgMeant, 12 * 237 / 80.0}, "a litre": {c.LitreKgMeant, 2 * 237 / 80.0}, "a kWh": {c.WithHours.Over(c.ServedKWh).High, (paid + wear + 750 + 9000) / 2000}} {
		if math.Abs(pair[0]-pair[1]) > 1e-9 {
			t.Errorf("%s: %g, want %g", name, pair[0], pair[1])
		}
	}
	sum := Range{}
	for _, part := range c.Parts {
		sum.add(part.Range)
	}
	if math.Abs(sum.Low-c.WithHours.Low) > 1e-9 || math.Abs(sum.High-c.WithHours.High) > 1e-9 {
		t.Errorf("the parts add up to %v, want %v", sum, c.WithHours)
	}
	free := (&Prices{Hour: 0, SetLifeH: 3000, PanelsYears: 25, TankYears: 20, Set: 100}).Reckon(&Use{ServedKWh: 10, DryKgPerStackedM3: 300})
	if !math.IsNaN(free.HourKgMeant) || free.WithHours != (Range{}) {
		t.Errorf("%+v", free)
	}
}
