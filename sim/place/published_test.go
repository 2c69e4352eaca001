package place

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"twigwatt/sim/calendar"
	"twigwatt/testdata/published"
)

// Published: testdata/published/day_length.csv: FAO-56's example and almanac
// tables, each by its own definition of the day's end: within 0.02 h, and 0.05 h of FAO-56's example,
// whose declination is a coarser formula's.
func TestDayLength(t *testing.T) {
	for _, row := range published.Rows(t, "day_length.csv") {
		latitude, _ := strconv.ParseFloat(row[0], 64)
		want, _ := strconv.ParseFloat(row[2], 64)
		date, err := calendar.ParseDate(row[1])
		if err != nil {
			t.Fatal(err)
		}
		height, within := RiseDeg, 0.02
		if strings.HasPrefix(row[3], "centre") {
			height, within = GeometricDeg, 0.05
		}
		day := Daylight(latitude, date, height)
		if math.Abs(day.Hours-want) > within {
			t.Errorf("%s at %g°: %.3f h, want %g", row[1], latitude, day.Hours, want)
		}
		if math.Abs((day.Sunset-day.Sunrise)/60-day.Hours) > 1e-9 {
			t.Errorf("%s: sunrise and sunset do not make the day", row[1])
		}
	}
}

// The dark of a day is counted in whole minutes, those begun with it.
func TestDarkToTheMinute(t *testing.T) {
	day, _ := calendar.ParseDate("2025-01-01")
	sun := Daylight(50, day, RiseDeg)
	dark := sun.Dark()
	if morning := float64(dark[0].To) - sun.Sunrise; !(morning >= 0 && morning < 1) {
		t.Errorf("the sun rises at %g, dark to %d", sun.Sunrise, dark[0].To)
	}
	if evening := sun.Sunset - float64(dark[1].From); !(evening >= 0 && evening < 1) {
		t.Errorf("the sun sets at %g, dark from %d", sun.Sunset, dark[1].From)
	}
}

func TestPolarDays(t *testing.T) {
	winter, _ := calendar.ParseDate("2025-12-21")
	summer, _ := calendar.ParseDate("2025-06-21")
	if got := Daylight(80, winter, RiseDeg).DarkMinutes(0, 1440); got != 1440 {
		t.Errorf("polar night is dark for %g minutes", got)
	}
	if got := Daylight(80, summer, RiseDeg).DarkMinutes(0, 1440); got != 0 {
		t.Errorf("polar day is dark for %g minutes", got)
	}
}

func TestAirIsTheMeanAtMidMonthAndStraightBetween(t *testing.T) {
	air, ok := Climate("seattle")
	if !ok {
		t.Fatal("no seattle")
	}
	for _, c := range []struct {
		date   string
		want   float64
		reason string
	}{
		// published: NOAA normals, 5.4 in January, 6.1 in February, 4.7 in December
		{"2025-01-16", 5.4, "noon on 16 January is the middle of 31 days"},
		// worked: noon of 31 January is 15 days past mid-month, of 29.5 to the next middle
		{"2025-01-31", 5.4 + 15/29.5*0.7, "between two middles"},
		// worked: noon of 1 January is 15 days before mid-month, 31 between the middles
		{"2025-01-01", 5.4 + 15.0/31*(4.7-5.4), "over the turn of the year"},
	} {
		date, _ := calendar.ParseDate(c.date)
		if got, _ := air.OnDay(date); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %g, want %g: %s", c.date, got, c.want, c.reason)
		}
	}
}

func TestEveryClimateIsWhole(t *testing.T) {
	if len(Climates()) != 8 {
		t.Fatalf("%d climates", len(Climates()))
	}
	for _, name := range Climates() {
		air, _ := Climate(name)
		for month := range 12 {
			if !(air.HumidityPct[month] > 0 && air.HumidityPct[month] <= 100) || !(math.Abs(air.MeanC[month]) < 40) {
				t.Errorf("%s month %d: %g °C, %g %%", name, month+1, air.MeanC[month], air.HumidityPct[month])
			}
		}
	}
}

// Computed: sun_day_2025.csv, an open reference library's declinations and day lengths: ours are
// within 0.0072° and 0.02 h.
func TestTheAlmanacsSun(t *testing.T) {
	for _, row := range published.Rows(t, "sun_day_2025.csv") {
		latitude := published.Number(t, row[1])
		date, err := calendar.ParseDate(row[2])
		if err != nil {
			t.Fatal(err)
		}
		if got, want := Declination(date), published.Number(t, row[3]); math.Abs(got-want) > 0.0072 {
			t.Errorf("%s: declination %.4f°, want %.4f", row[2], got, want)
		}
		for height, want := range map[float64]float64{GeometricDeg: published.Number(t, row[6]), RiseDeg: published.Number(t, row[7])} {
			if got := Daylight(latitude, date, height).Hours; math.Abs(got-want) > 0.02 {
				t.Errorf("%s on %s, sun at %g°: %.3f h, want %.3f", row[0], row[2], height, got, want)
			}
		}
	}
}
