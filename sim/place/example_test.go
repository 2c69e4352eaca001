package place_test

import (
	"fmt"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
)

// Published: NOAA hourly normals 1981-2010 (SOURCES.md, climate_normals.csv): 5.4 °C and 79.5 % in
// January, whose middle is noon of the 16th; 6.1 °C in February. Worked: noon of the 31st is 15
// days past the middle of January, of 29.5 to that of February: 5.4 + 15/29.5 · 0.7 = 5.756 °C.
func ExampleClimate() {
	air, ok := place.Climate("seattle")
	fmt.Println(ok)
	airC, humidityPct := air.OnDay(calendar.NewDate(2025, time.January, 16))
	fmt.Printf("%.1f °C, %.1f %%\n", airC, humidityPct)
	airC, _ = air.OnDay(calendar.NewDate(2025, time.January, 31))
	fmt.Printf("%.2f °C\n", airC)
	// Output:
	// true
	// 5.4 °C, 79.5 %
	// 5.76 °C
}

// Published: the names are the table's (climate_normals.csv).
func ExampleClimates() {
	for _, name := range place.Climates() {
		fmt.Println(name)
	}
	// Output:
	// seattle
	// new-york
	// chicago
	// irish-sea
	// foveaux-strait
	// canterbury-nz
	// de-bilt
	// fairbanks
}

// A household may bring twelve means of its own (invented here, January first). Worked: the
// least of them is January's.
func ExampleAir() {
	air := place.Air{
		MeanC:       [12]float64{-6, -5, -2, 2, 7, 11, 13, 13, 10, 5, -1, -5},
		HumidityPct: [12]float64{78, 77, 76, 75, 76, 77, 76, 78, 79, 79, 80, 80},
	}
	fmt.Println(air.ColdestC(), "°C")
	// Output:
	// -6 °C
}

// Published: FAO-56's example of 3 September at 20° south, 11.666 h with the sun's centre on a flat
// horizon (SOURCES.md, day_length.csv). Regression: the longer day of the almanacs' definition.
func ExampleDaylight() {
	date := calendar.NewDate(2001, time.September, 3)
	fmt.Printf("%.2f h\n", place.Daylight(-20, date, place.GeometricDeg).Hours)
	fmt.Printf("%.2f h\n", place.Daylight(-20, date, place.RiseDeg).Hours)
	// Output:
	// 11.64 h
	// 11.76 h
}

// Worked: at the equator the sun's centre is up for 12 hours on every day of the
// year, from 06:00 to 18:00 solar time; of the two hours from 17:00 one is dark.
func ExampleSun() {
	sun := place.Daylight(0, calendar.NewDate(2025, time.March, 20), place.GeometricDeg)
	fmt.Printf("%.1f h, %s to %s\n", sun.Hours, calendar.Clock(int(sun.Sunrise+0.5)), calendar.Clock(int(sun.Sunset+0.5)))
	fmt.Println(sun.Dark())
	fmt.Printf("%.0f minutes\n", sun.DarkMinutes(17*60, 19*60))
	// Output:
	// 12.0 h, 06:00 to 18:00
	// [00:00-06:00 18:00-24:00]
	// 60 minutes
}

// Published: ISO 2533 (SOURCES.md, row standard atmosphere): 101325.0, 89874.6 and 70108.5 Pa.
func ExamplePressurePa() {
	for _, altitudeM := range []float64{0, 1000, 3000} {
		fmt.Printf("%4.0f m: %.1f Pa\n", altitudeM, place.PressurePa(altitudeM))
	}
	// Output:
	//    0 m: 101325.0 Pa
	// 1000 m: 89874.6 Pa
	// 3000 m: 70108.5 Pa
}

// Published: FAO-56, Table 2.3: 2.338 kPa at 20 °C.
func ExampleSaturationKPa() {
	fmt.Printf("%.3f kPa\n", place.SaturationKPa(20))
	// Output:
	// 2.338 kPa
}
