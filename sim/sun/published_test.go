package sun

import (
	"math"
	"strconv"
	"testing"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/testdata/published"
)

func date(t *testing.T, text string) calendar.Date {
	t.Helper()
	d, err := calendar.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Computed: sun_day_2025.csv, an open reference library of solar positions: distance, the day's energy
// outside the air and its length.
func TestADayOfTheAlmanac(t *testing.T) {
	for _, row := range published.Rows(t, "sun_day_2025.csv") {
		day := date(t, row[2])
		if got, want := DistanceAU(day), published.Number(t, row[4]); math.Abs(got-want) > 1e-4 {
			t.Errorf("%s: %.6f AU, want %.6f", row[2], got, want)
		}
		d := On(published.Number(t, row[1]), day)
		if want := published.Number(t, row[5]); math.Abs(d.OutsideKWhM2-want) > 0.003+0.002*want {
			t.Errorf("%s on %s: %.4f kWh/m² outside the air, want %.4f", row[0], row[2], d.OutsideKWhM2, want)
		}
		if want := published.Number(t, row[6]); math.Abs(d.Hours()-want) > 0.02 {
			t.Errorf("%s on %s: %.3f h, want %.3f", row[0], row[2], d.Hours(), want)
		}
	}
}

// Computed: sun_daily.csv, the same library with the textbook's and Spencer's declinations, from which
// the day's energy and its ends follow exactly.
func TestADayOfAGivenDeclination(t *testing.T) {
	for _, row := range published.Rows(t, "sun_daily.csv") {
		d := NewDay(published.Number(t, row[1]), published.Number(t, row[5]), published.Number(t, row[6])/1000)
		if want := published.Number(t, row[7]); math.Abs(d.OutsideKWhM2-want) > 1e-3 {
			t.Errorf("%v: %.4f kWh/m², want %.4f", row[:5], d.OutsideKWhM2, want)
		}
		rise := 12 - d.Hours()/2
		if want := published.Number(t, row[8]); math.Abs(rise-want) > 2e-3 {
			t.Errorf("%v: rises at %.4f, want %.4f", row[:5], rise, want)
		}
	}
}

// cooper is the textbook's declination.
func cooper(day float64) float64 { return 23.45 * math.Sin(2*math.Pi*(284+day)/365) }

// Computed: sun_plane.csv, the same library's light on a plane, by Hay, Davies, Klucher and Reindl.
func TestLightOnAPlane(t *testing.T) {
	for _, row := range published.Rows(t, "sun_plane.csv") {
		x := func(i int) float64 { return published.Number(t, row[i]) }
		d := NewDay(x(1), cooper(float64(date(t, "2025-"+row[2]).YearDay())), x(6)/1000)
		hourAngle := (x(3) - 12) * math.Pi / 12
		if got := math.Acos(d.SinHeight(hourAngle)) / rad; math.Abs(got-x(4)) > 0.02 {
			t.Errorf("%v: zenith %.4f°, want %.4f", row[:4], got, x(4))
		}
		p := Plane{TiltDeg: x(9), FacesDeg: x(10), GroundShare: 0.2, SkyShare: 1}
		if got := math.Acos(p.CosIncidence(&d, hourAngle)) / rad; math.Abs(got-x(11)) > 0.02 {
			t.Errorf("%v: incidence %.4f°, want %.4f", row[:4], got, x(11))
		}
		l := Light{Beam: (x(7) - x(8)) / 1000, Diffuse: x(8) / 1000, Outside: d.NormalKWM2 * d.SinHeight(hourAngle)}
		if got, want := 1000*p.Gather(&d, l, hourAngle, 1), x(14); math.Abs(got-want) > 0.2+0.003*want {
			t.Errorf("%v, tilt %g facing %g: %.3f W/m², want %.3f", row[:4], x(9), x(10), got, want)
		}
	}
}

// Computed: sun_cell.csv, by Ross' law.
func TestCellTemperature(t *testing.T) {
	for _, row := range published.Rows(t, "sun_cell.csv") {
		plane, airC := published.Number(t, row[0])/1000, published.Number(t, row[1])
		for column, warmsC := range map[int]float64{2: 20.8, 3: 26, 4: 34.2} {
			if got, want := CellC(plane, airC, warmsC), published.Number(t, row[column]); math.Abs(got-want) > 1e-3 {
				t.Errorf("%g kW/m² in %g °C: %.3f °C, want %.3f", plane, airC, got, want)
			}
		}
	}
	if got := PowerShare(50, 0.004); math.Abs(got-0.9) > 1e-12 || PowerShare(400, 0.004) != 0 {
		t.Errorf("25 °C over the rating leave %g", got)
	}
}

// Published: sun_textbook.csv (Duffie, Beckman & Blair 2020, examples by number and page), with the
// textbook's declination.
func TestTextbookExamples(t *testing.T) {
	want := map[string]float64{}
	within := map[string]float64{}
	for _, row := range published.Rows(t, "sun_textbook.csv") {
		if x, err := strconv.ParseFloat(row[4], 64); err == nil {
			within[row[0]+" "+row[2]], _ = strconv.ParseFloat(row[7], 64)
			want[row[0]+" "+row[2]] = x
		}
	}
	holds := func(name string, got float64) {
		t.Helper()
		w, ok := want[name]
		if !ok {
			t.Fatalf("no example %s", name)
		}
		if math.Abs(got-w) > within[name] {
			t.Errorf("%s: %.4f, want %g within %g", name, got, w, within[name])
		}
	}
	normal := func(day float64) float64 { return solarKWM2 * (1 + 0.033*math.Cos(2*math.Pi*day/365)) }
	at := func(hour float64) float64 { return (hour - 12) * math.Pi / 12 }
	february := NewDay(43, cooper(44), normal(44))
	holds("1.6.1 angle of incidence", math.Acos(Plane{TiltDeg: 45, FacesDeg: 195}.CosIncidence(&february, at(10.5)))/rad)
	march := NewDay(43, cooper(75), normal(75))
	holds("1.6.3 sunrise", 12-march.Hours()/2)
	holds("1.6.3 zenith", math.Acos(march.SinHeight(at(16)))/rad)
	september := NewDay(38.6, cooper(246), normal(246))
	const mjPerKWh = 3.6
	holds("2.11.1 diffuse share of a day", september.DiffuseShare(23/mjPerKWh/september.OutsideKWhM2))
	melbourne := NewDay(-38, cooper(17), normal(17))
	holds("2.13.1 r_t of 8-9 h", melbourne.Level(at(8), at(9)))
	august := NewDay(43, cooper(235), normal(235))
	holds("2.13.2 radiation of 13-14 h", 31.4*august.Level(at(13), at(14)))
}

// Computed: sun_days_table.csv, quantiles of a day worked from the formulas with a general tool.
func TestQuantilesOfADay(t *testing.T) {
	chances := []float64{0.05, 0.25, 0.5, 0.75, 0.95}
	for _, row := range published.Rows(t, "sun_days_table.csv") {
		s := NewSky(published.Number(t, row[0]))
		if math.Abs(s.least-published.Number(t, row[1])) > 5e-4 || math.Abs(s.most-published.Number(t, row[2])) > 1e-4 ||
			math.Abs(s.slope-published.Number(t, row[3])) > 1e-3 {
			t.Errorf("mean %s: %+v, want %v", row[0], s, row[1:4])
		}
		for i, chance := range chances {
			if got, want := s.Clearness(chance), published.Number(t, row[5+i]); math.Abs(got-want) > 1e-4 {
				t.Errorf("mean %s, chance %g: %.4f, want %.4f", row[0], chance, got, want)
			}
		}
	}
}

// The classes of each month's sky have its mean, and no day is
// brighter than the sky allows; twenty quantiles by themselves miss it by little.
func TestSkiesKeepTheirMean(t *testing.T) {
	for mean := 0.03; mean < 0.8; mean += 0.01 {
		s := NewSky(mean)
		sum := 0.0
		const n = 20
		classes := s.Classes(n)
		for i, k := range classes {
			sum += k / n
			if k <= 0 || k > 1 || i > 0 && k < classes[i-1] {
				t.Errorf("mean %g: classes %v", mean, classes)
				break
			}
		}
		if math.Abs(sum-mean) > 1e-12 {
			t.Errorf("mean %g: the classes have %g", mean, sum)
		}
		fine, k := 0.0, 20_000
		for i := range k {
			fine += s.Clearness((float64(i)+0.5)/float64(k)) / float64(k)
		}
		if math.Abs(fine-mean) > 1e-5 {
			t.Errorf("mean %g: the quantiles have %g", mean, fine)
		}
		if s.Clearness(0) != s.least && math.Abs(s.Clearness(0)-s.least) > 1e-9 || math.Abs(s.Clearness(1)-s.most) > 1e-9 {
			t.Errorf("mean %g: from %g to %g, want %g to %g", mean, s.Clearness(0), s.Clearness(1), s.least, s.most)
		}
	}
}

// TestADayIsWholeAndKept: the hours of a day make the day, whatever the steps; on a level plane it is
// what comes level, with the sky's light or without; a polar night has none, a polar day no end.
func TestADayIsWholeAndKept(t *testing.T) {
	for _, latitude := range []float64{-67, -38, 0, 20, 47.5, 64.8, 80} {
		for _, month := range []int{1, 3, 6, 9, 12} {
			d := On(latitude, calendar.NewDate(2025, time.Month(month), 15))
			for _, clearness := range []float64{0, 0.1, 0.4, 0.7} {
				const steps = 48
				level, gathered, outside := 0.0, 0.0, 0.0
				for i := range steps {
					from, to := (float64(i)-steps/2)*2*math.Pi/steps, (float64(i+1)-steps/2)*2*math.Pi/steps
					l := d.Parted(clearness, from, to, 1)
					if l.Beam < 0 || l.Diffuse < 0 {
						t.Fatalf("%g°, month %d, %g: %+v", latitude, month, clearness, l)
					}
					level, outside = level+l.Level(), outside+l.Outside
					gathered += Plane{SkyShare: 1, GroundShare: 0.2}.Gather(&d, l, (from+to)/2, 1)
				}
				if math.Abs(level-clearness*d.OutsideKWhM2) > 1e-9 || math.Abs(outside-d.OutsideKWhM2) > 1e-9 {
					t.Errorf("%g°, month %d: %.6f and %.6f kWh/m² of %.6f", latitude, month, level, outside, d.OutsideKWhM2)
				}
				if math.Abs(gathered-level) > 0.01*level+1e-9 {
					t.Errorf("%g°, month %d, %g: on a level plane %.5f, level %.5f", latitude, month, clearness, gathered, level)
				}
			}
		}
	}
	if night := On(80, calendar.NewDate(2025, time.December, 21)); night.OutsideKWhM2 != 0 || night.Level(-1, 1) != 0 || night.Hours() != 0 {
		t.Errorf("polar night: %+v", night)
	}
	if day := On(80, calendar.NewDate(2025, time.June, 21)); math.Abs(day.Hours()-24) > 1e-9 || day.OutsideKWhM2 < 12 {
		t.Errorf("polar day: %+v", day)
	}
}
