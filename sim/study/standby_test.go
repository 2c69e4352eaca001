package study_test

import (
	"math"
	"testing"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// A year with a stand-by set keeps its rules in each step, its books close, its litres are the formula's,
// and it is never darker nor dearer than without one, by each plan.
func TestAYearWithAStandby(t *testing.T) {
	for _, by := range []string{"chosen", "same-hours", "top-up"} {
		set := []string{"plan.by=" + by, "plan.same_start=17:00", "plan.same_hours=3", "days=120", "tending.no_runs=2025-02-03..2025-02-06",
			`tending.breakdown=["2025-01-20..2025-01-23"]`}
		standby := append(set, "standby.kw=2", "standby.least_kw=0.6", `standby.hours=["08:00-21:30"]`, "standby.no_runs=2025-02-05")
		without, s := sunny(t, set...), sunny(t, standby...)
		plain, err := study.Year(t.Context(), without.Household, without.Rule, nil)
		if err != nil {
			t.Fatal(err)
		}
		litres, starts, on := 0.0, 0, false
		y, err := study.Year(t.Context(), s.Household, s.Rule, func(at sim.Moment, _ *sim.State, f *sim.Flows) {
			stepH := s.Span.StepH()
			gap := f.EngineKW + f.StandbyKW + f.OtherKW + f.DischargeKW - (f.LoadKW - f.ShortfallKW + f.ChargeKW + f.SpillKW)
			if math.Abs(gap) > 1e-9 {
				t.Fatalf("%s: %g kW from nowhere", s.Span.StepTime(at.Step), gap)
			}
			if f.PetrolLitres == 0 {
				on = false
				if f.StandbyKW != 0 {
					t.Fatal("power without petrol")
				}
				return
			}
			if want := (0.4 + 0.5*f.StandbyKW) * stepH; math.Abs(f.PetrolLitres-want) > 1e-12 {
				t.Fatalf("%g l for %g kW, want %g", f.PetrolLitres, f.StandbyKW, want)
			}
			minute := at.OfDay * s.Span.StepMinutes
			if f.Run || f.DischargeKW != 0 || f.StandbyKW < 0.6-1e-12 || f.StandbyKW > 2+1e-12 || minute < 8*60 || minute+s.Span.StepMinutes > 21*60+30 ||
				s.House.Days[at.Day].Date == calendar.NewDate(2025, 2, 5) {
				t.Fatalf("%s: %+v", s.Span.StepTime(at.Step), f)
			}
			litres += f.PetrolLitres
			if !on {
				starts++
			}
			on = true
		})
		if err != nil {
			t.Fatal(err)
		}
		b := y.Total.Standby
		if litres == 0 || math.Abs(b.Litres-litres) > 1e-9 || b.Starts < starts || b.Starts > starts+10 {
			t.Errorf("%s: %+v, of the steps %g l and %d starts", by, b, litres, starts)
		}
		if math.Abs(y.Summary.Books.ElectricityKWh) > 1e-6 || math.Abs(y.Summary.Books.BankKWh) > 1e-6 {
			t.Errorf("%s: %+v", by, y.Summary.Books)
		}
		if !(y.Total.ShortfallKWh < plain.Total.ShortfallKWh) || !(y.Price.TotalKg() < plain.Price.TotalKg()) {
			t.Errorf("%s: %.2f kWh short for %.0f kg, without the set %.2f for %.0f", by, y.Total.ShortfallKWh, y.Price.TotalKg(),
				plain.Total.ShortfallKWh, plain.Price.TotalKg())
		}
		if want := 10*b.Litres + 0.5*b.Hours + float64(b.Starts); math.Abs(y.Price.StandbyKg-want) > 1e-9 {
			t.Errorf("%s: the stand-by set's price is %g, want %g", by, y.Price.StandbyKg, want)
		}
	}
}

// On days that are known, another way to make electricity never makes a plan dearer, and petrol that
// costs too much stays in its can; a stock that is used up gives no more.
func TestPetrolAsAnotherWay(t *testing.T) {
	cost := func(set ...string) *study.YearAnswer {
		s := sunny(t, append([]string{"days=40", "plan.foresight=exact"}, set...)...)
		y, err := study.Year(t.Context(), s.Household, s.Rule, nil)
		if err != nil {
			t.Fatal(err)
		}
		return y
	}
	without := cost()
	last := without.Price.TotalKg() + without.Price.SoftKg
	for _, kg := range []string{"1000", "20", "5", "1"} {
		y := cost("standby.kw=2", "standby.kg_per_litre="+kg)
		got := y.Price.TotalKg() + y.Price.SoftKg
		const ofGrid = 1.0025
		if got > last*ofGrid+2 {
			t.Errorf("at %s kg a litre the plan costs %.1f kg, dearer petrol %.1f", kg, got, last)
		}
		if kg == "1000" && y.Total.Standby.Litres > 0 {
			t.Errorf("%.2f l are burned at any price", y.Total.Standby.Litres)
		}
		last = got
	}
	if y := cost("standby.kw=2", "standby.kg_per_litre=1", "standby.litres_kept=6"); y.Total.Standby.Litres > 6+1e-9 || y.Total.Standby.Litres < 4 {
		t.Errorf("of 6 l %.2f are burned", y.Total.Standby.Litres)
	}
}

// A shared engine does not run on petrol while it is broken; another does, in lives of luck too.
func TestASharedEngine(t *testing.T) {
	litres := func(shares string) float64 {
		s := sunny(t, "days=20", "standby.kw=2", "standby.shares_engine="+shares, `tending.breakdown=["2025-01-01..2025-01-20"]`)
		y, err := study.Year(t.Context(), s.Household, s.Rule, nil)
		if err != nil {
			t.Fatal(err)
		}
		return y.Total.Standby.Litres
	}
	if litres("true") != 0 || litres("false") < 10 {
		t.Errorf("%g l by a broken engine, %g by another", litres("true"), litres("false"))
	}
	spread := func(shares string) *study.RiskAnswer {
		return riskOf(t, sunny(t, "days=60", "standby.kw=2", "standby.shares_engine="+shares, "luck.repair_days=10"), 12)
	}
	own, other := spread("true"), spread("false")
	if own.Litres == nil || !(other.Litres.P90 > own.Litres.P90) || !(other.All.ShortKWh.P90 < own.All.ShortKWh.P90) {
		t.Errorf("petrol %v and %v, short %v and %v", own.Litres, other.Litres, own.All.ShortKWh, other.All.ShortKWh)
	}
}

// The sheet tells when the petrol set runs, and what it burns.
func TestTheSheetTellsOfPetrol(t *testing.T) {
	s := sunny(t, "days=30", "start=2025-01-12", "standby.kw=2", "tending.no_runs=2025-01-12..2025-01-14")
	got := sheet(t, s, evening(s, 8*60, 60))
	if len(got.Petrol) == 0 {
		t.Fatal("no petrol set on a day without runs")
	}
	for _, p := range got.Petrol {
		hours := float64(p.Stop-p.Start) / 60
		if want := 0.4*hours + 0.5*p.MadeKWh; math.Abs(p.Litres-want) > 1e-9 || p.Start >= 24*60 {
			t.Errorf("%+v, want %g l", p, want)
		}
	}
	if s.Rule.By != plan.ByChosen {
		t.Error("not chosen")
	}
}

// What a year costs is reckoned of what it used: a hand's sum from the year's own figures.
func TestAYearInMoney(t *testing.T) {
	s := sunny(t, "days=200", "money.unit=EUR", "money.hour=10", "money.wood_stacked_m3=25", "money.oil_change=30", "money.bank=3000", "money.interest_pct=0",
		"money.set=2000", "standby.kw=2", "money.petrol_l=2")
	y, err := study.Year(t.Context(), s.Household, s.Rule, nil)
	if err != nil {
		t.Fatal(err)
	}
	c, years := y.Cost, 200/365.25
	paid := (25*y.Total.BurnedStackedM3 + 2*y.Total.Standby.Litres + 30*y.Total.EngineH/100) / years
	wear := paid + 2000*y.Total.EngineH/years/3000
	hours := 10 * (y.Total.AttendedH + 5*y.Total.BurnedStackedM3) / years
	for name, pair := range map[string][2]float64{"paid": {c.Paid.Low, paid}, "low": {c.WithHours.Low, wear + 3000/y.Summary.Bank.LifeHighYears + hours},
		"high": {c.WithHours.High, wear + 3000/y.Summary.Bank.LifeLowYears + hours}, "served": {c.ServedKWh, (y.Total.LoadKWh - y.Total.ShortfallKWh) / years},
		"a kg": {c.WorthDryKg, (25 + 5*10.0) / s.DryKgPerStackedM3()}, "petrol": {s.Standby.KgPerLitre, 2 / c.WorthDryKg}} {
		if math.Abs(pair[0]/pair[1]-1) > 1e-9 {
			t.Errorf("%s: %g, want %g", name, pair[0], pair[1])
		}
	}
	warned := false
	for _, w := range y.Warnings {
		warned = warned || w.Code == "hour_undervalued"
	}
	if !warned {
		t.Errorf("an hour worth %.0f kg is weighed at 2, and nobody says so", c.HourKgMeant)
	}
}
