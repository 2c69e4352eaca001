package handbook

import (
	"fmt"
	"math"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/sim/sun"
)

func sunDay(in *inputs) working {
	latitude := in.number(needed, "latitude", "°, north is positive", -90, 90)
	text := word[string](in, needed, "date", "like 2025-03-01")
	return func() ([]Result, error) {
		day, err := calendar.ParseDate(text)
		if err != nil {
			return nil, fmt.Errorf("--date: %w", err)
		}
		d := sun.On(latitude, day)
		return []Result{{"declination_deg", "declination", "°", 3, d.DeclinationDeg},
			{"distance_au", "distance", "AU", 5, sun.DistanceAU(day)},
			{"hours", "day", "h, the sun's centre on a flat horizon", 3, d.Hours()},
			{"outside_kwh_m2", "outside the air", "kWh/m²", 3, d.OutsideKWhM2}}, nil
	}
}

// What a panel loses unless a household says otherwise: glass, dirt, wires and mismatch; by heat; in
// the inverter of the house.
//
// Source: common practice; heat, crystalline silicon (from memory).
const panelLoss, panelLossPerC, panelWarmsC, panelInverter = 0.12, 0.004, 30.0, 0.95

func panel(in *inputs) working {
	latitude := in.number(needed, "latitude", "°, north is positive", -90, 90)
	month := in.number(needed, "month", "1 to 12", 1, 12)
	level := in.number(needed, "level-kwh-m2", "a day's sun on level ground, mean of the month, kWh/m²", 0, 12)
	tilt := in.optional(maybe, "tilt-deg", "0 level, 90 upright; without: latitude + 15, at most 75", 0, 90)
	faces := in.optional(maybe, "faces-deg", "compass, 90 east; without: 180, south of the equator 0", 0, 360)
	ground := in.number(or("20"), "ground-pct", "of the light that the ground sends back", 0, 90)
	peak := in.number(or("1"), "kw-peak", "kW at 1 kW/m² and 25 °C", 1e-3, 100)
	airC := in.number(or("10"), "air-c", "mean air of the month, °C", -60, 50)
	return func() ([]Result, error) {
		if month != float64(int(month)) {
			return nil, fmt.Errorf("--month must be a whole number, 1 to 12, got %g", month)
		}
		const year = 2025 // a year without a leap day
		days := sun.MonthOn(latitude, year, time.Month(month))
		clearness := days.Clearness(level)
		const most = 0.85
		if outside := days.OutsideKWhM2(); clearness > most || clearness == 0 && level > 0.1 {
			return nil, fmt.Errorf("--level-kwh-m2 must be at most %.3g of the %.3g kWh/m² that the sky holds in that month, got %g",
				most, outside, level)
		}
		plane := sun.Plane{TiltDeg: min(75, math.Abs(latitude)+15), GroundShare: ground / 100, SkyShare: 1}
		if latitude >= 0 {
			plane.FacesDeg = 180
		}
		if tilt != nil {
			plane.TiltDeg = *tilt
		}
		if faces != nil {
			plane.FacesDeg = *faces
		}
		g := days.Gather(clearness, plane, 1, func(planeKWM2 float64) float64 {
			warm := sun.PowerShare(sun.CellC(planeKWM2, airC, panelWarmsC), panelLossPerC)
			return min(peak, peak*planeKWM2*warm*(1-panelLoss)*panelInverter)
		})
		diffuse := Result{"diffuse_pct", "from the sky", "%", 1, nil}
		if g.Light.Level() > 0 {
			diffuse.Value = 100 * g.Light.Diffuse / g.Light.Level()
		}
		return []Result{{"clearness", "clearness", "", 4, clearness}, diffuse,
			{"plane_kwh_m2", "on the plane", "kWh/m² a day", 3, g.PlaneKWh},
			{"ac_kwh_a_day", "at the house", "kWh a day", 3, g.PowerKWh}}, nil
	}
}

func sky(in *inputs) working {
	mean := in.number(needed, "clearness-mean", "of the month, 0.01 to 0.85", 0.01, 0.85)
	chance := in.number(needed, "chance-pct", "of days that are no clearer", 0, 100)
	return func() ([]Result, error) {
		s := sun.NewSky(mean)
		return []Result{{"clearness", "clearness", "", 4, s.Clearness(chance / 100)}}, nil
	}
}

func cell(in *inputs) working {
	plane := in.number(needed, "plane-w-m2", "light on the plane, W/m²", 0, 1500)
	airC := in.number(needed, "air-c", "around the panel, °C", -60, 60)
	warmsC := in.number(or("30"), "warms-c", "cell above air at 1000 W/m², °C: 21 free, 26 rack, 34 on a roof", 0, 60)
	return func() ([]Result, error) {
		c := sun.CellC(plane/1000, airC, warmsC)
		return []Result{{"cell_c", "cell", "°C", 2, c},
			{"power_pct", "power", "% of that at 25 °C", 2, 100 * sun.PowerShare(c, panelLossPerC)}}, nil
	}
}
