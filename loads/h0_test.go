package loads

import (
	"math"
	"testing"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/testdata/published"
)

// Published: household_h0.csv: the mean of each hour's quarters, by column.
func TestH0HoursAreTheMeanOfTheirQuarters(t *testing.T) {
	rows := published.Rows(t, "household_h0.csv")
	if len(rows) != 24 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, row := range rows {
		hour := int(published.Number(t, row[0]))
		for column, cell := range row[1:] {
			got := meanOverMinutes(&readH0()[column/3][column%3], hour*60, hour*60+60)
			if want := published.Number(t, cell); math.Abs(got-want) > 0.0006 { // the table's three decimals
				t.Errorf("hour %d, column %d: %g W, want %g", hour, column+1, got, want)
			}
		}
	}
}

// Published: SOURCES.md, row seasonal factor: 2023 without holidays sums to 997.4 of 1000 kWh.
func TestH0YearSum(t *testing.T) {
	if got := h0YearKWh(2023, 0); math.Abs(got-997.4) > 0.05 {
		t.Errorf("%.3f kWh, want 997.4", got)
	}
}

// Published: VDEW M-32/99: winter 1 Nov to 20 Mar, summer 15 May to 14 Sep;
// 24 and 31 December as Saturday.
func TestH0Days(t *testing.T) {
	for _, c := range []struct {
		date         string
		season, kind int
		reason       string
	}{
		{"2025-10-31", transition, workday, "the day before winter"},
		{"2025-11-01", winter, saturday, "winter begins"},
		{"2025-03-20", winter, workday, "winter's last day"},
		{"2025-03-21", transition, workday, "the day after"},
		{"2025-05-14", transition, workday, "the day before summer"},
		{"2025-05-15", summer, workday, "summer begins"},
		{"2025-09-14", summer, sunday, "summer's last day"},
		{"2025-09-15", transition, workday, "the day after"},
		{"2025-12-24", winter, saturday, "Christmas Eve on a Wednesday"},
		{"2025-12-31", winter, saturday, "New Year's Eve on a Wednesday"},
		{"2023-12-24", winter, sunday, "Christmas Eve on a Sunday"},
	} {
		date, err := calendar.ParseDate(c.date)
		if err != nil {
			t.Fatal(err)
		}
		if season, kind := h0Season(date), h0DayKind(date); season != c.season || kind != c.kind {
			t.Errorf("%s: season %d, kind %d, want %d, %d: %s", c.date, season, kind, c.season, c.kind, c.reason)
		}
	}
}

func TestScaledHouseholdHoldsTheWantedTotal(t *testing.T) {
	start, _ := calendar.ParseDate("2024-01-01") // a leap year
	for _, minutes := range []int{10, 15, 20, 30, 60} {
		span := calendar.Span{Start: start, Days: 366, StepMinutes: minutes}
		for _, w := range []Wants{{KWhPerYear: 2200, Scale: 1}, {KWhPerDay: 2200.0 / 366, Scale: 1}} {
			d, err := w.Demand(span)
			if err != nil {
				t.Fatal(err)
			}
			sum := 0.0
			for _, kw := range d.LoadKW {
				sum += kw * span.StepH()
			}
			if math.Abs(sum-2200) > 1e-6 {
				t.Errorf("%d minutes: %g kWh, want 2200", minutes, sum)
			}
		}
	}
}

// In the south the household's winter is in July: a day wants what the same kind of day
// half a year on wants in the north, and the year holds as much.
func TestSouthernSeasonsAreTurned(t *testing.T) {
	span := calendar.Span{Start: calendar.NewDate(2025, time.January, 1), Days: 365, StepMinutes: 60}
	month := func(latitude float64, m time.Month) (kWh, year float64) {
		w := Wants{KWhPerYear: 2000, Scale: 1, LatitudeDeg: latitude}
		d, err := w.Demand(span)
		if err != nil {
			t.Fatal(err)
		}
		for i, kw := range d.LoadKW {
			year += kw
			if span.Date(i).Month() == m {
				kWh += kw
			}
		}
		return kWh, year
	}
	northJanuary, north := month(50, time.January)
	southJuly, south := month(-44, time.July)
	if math.Abs(north-2000) > 1e-6 || math.Abs(south-2000) > 1e-6 {
		t.Errorf("years of %g and %g kWh, want 2000", north, south)
	}
	if ratio := southJuly / northJanuary; math.Abs(ratio-1) > 0.02 { // other weekdays
		t.Errorf("July in the south wants %g of January in the north", ratio)
	}
}
