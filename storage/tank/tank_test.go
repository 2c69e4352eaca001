package tank

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"twigwatt/sim/calendar"
	"twigwatt/testdata/published"
)

// Worked: heat_checks.csv: a tank of 200 l, its class C loss, how it cools, a shower and a family's day.
func TestTheTanksFigures(t *testing.T) {
	want := map[string]float64{}
	for _, row := range published.Rows(t, "heat_checks.csv") {
		want[row[0]] = published.Number(t, row[2])
	}
	tank := Tank{Litres: 200, LossWPerK: UsualLossWPerK(200), NeedLPerDay: 168, NeedC: 40, ColdC: 10}
	for name, got := range map[string]float64{"tank 200 l": tank.KWhPerK(), "tank 200 l loss": tank.LossWPerK,
		"tank 200 l from 70 C in 15 C air after 12 h": Relaxed(tank.KWhPerK(), tank.LossWPerK/1000, 70, 15, 0, 12),
		"shower of 1.4 kWh":                           ShowerKWh / (KWhPerLitreK * 30), "day of 5.845 kWh": 5.845 / (KWhPerLitreK * 30)} {
		if w, ok := want[name]; !ok || math.Abs(got-w) > 0.005*w {
			t.Errorf("%s: %.4f, want %g", name, got, w)
		}
	}
	if got := tank.NeedKWh(); math.Abs(got-5.86) > 0.01 {
		t.Errorf("168 l a day are %.3f kWh", got)
	}
}

// The book closes in every step, to rounding; nothing is below zero but a loss into a warmer tank, and
// no more is drawn than is wanted and there.
func TestTheBookOfTheTankCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f64 := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		tank := Tank{Litres: f64("litres", 10, 5000), JacketShare: f64("jacket", 0, 0.6), ExhaustShare: f64("exhaust", 0, 0.4), WarmUpKWh: f64("warm-up", 0, 5),
			LossWPerK: f64("loss", 0.1, 100), MostC: f64("most", 62, 95), NeedC: f64("need", 30, 60), ColdC: f64("cold", 0, 30), Rooms: rapid.Bool().Draw(t, "rooms"), StoveShare: 0.65}
		s := State{C: f64("c", 0, 60)}
		fromC, all := s.C, Flows{}
		for range 50 {
			before := s.C
			in := Step{Hours: f64("hours", 0.1, 1), LeftKWh: f64("left", 0, 20), Match: rapid.Bool().Draw(t, "match"), RoomC: f64("room", -30, 40),
				WantedKWh: f64("wanted", 0, 6), RoomsWant: rapid.Bool().Draw(t, "winter")}
			f := tank.Step(&s, &in)
			if gap := tank.GapKWh(&f, before, s.C); !(math.Abs(gap) < 5e-11*(1+tank.Litres)) {
				t.Fatalf("%g kWh from nowhere: %+v", gap, f)
			}
			if taken := (tank.JacketShare + tank.ExhaustShare) * in.LeftKWh; math.Abs(taken-f.WarmUpKWh-f.IntoKWh-f.LetGoKWh) > 1e-9 {
				t.Fatalf("of %g kWh came %+v", taken, f)
			}
			for name, x := range map[string]float64{"warm-up": f.WarmUpKWh, "into": f.IntoKWh, "let go": f.LetGoKWh, "drawn": f.DrawnKWh, "rooms": f.RoomsKWh} {
				if x < -1e-12 || math.IsNaN(x) {
					t.Fatalf("%s is %g", name, x)
				}
			}
			if f.DrawnKWh > in.WantedKWh+1e-12 || s.C > tank.MostC+1e-9 || f.DrawnKWh > 0 && s.C < min(tank.NeedC, before)-1e-9 {
				t.Fatalf("drawn %g of %g, the tank at %g of %g °C", f.DrawnKWh, in.WantedKWh, s.C, tank.MostC)
			}
			all.Add(&f)
		}
		if gap := tank.GapKWh(&all, fromC, s.C); math.Abs(gap) > 1e-9*(1+tank.Litres) {
			t.Fatalf("the whole misses %g kWh", gap)
		}
	})
}

// Worked: 100 l lose 1 W/K: 2 kWh into it in an hour at the room's 15 °C make C = 0.1163 kWh/K, tau 116.3 h,
// 15 + 2/0.001·(1 − e^(−1/116.3)) = 32.1228 °C; what is wanted at 20 °C is there, 0.5 kWh take it to 27.82.
func TestATankByHand(t *testing.T) {
	tank := Tank{Litres: 100, JacketShare: 0.5, WarmUpKWh: 1, LossWPerK: 1, MostC: 85, NeedC: 30}
	s := State{C: 15}
	f := tank.Step(&s, &Step{Hours: 1, LeftKWh: 6, Match: true, RoomC: 15, WantedKWh: 0.1})
	if math.Abs(f.WarmUpKWh-1) > 1e-12 || math.Abs(f.IntoKWh-2) > 1e-12 || math.Abs(f.DrawnKWh-0.1) > 1e-12 {
		t.Errorf("%+v", f)
	}
	if want := 15 + 2000*(1-math.Exp(-1/116.3)) - 0.1/0.1163; math.Abs(s.C-want) > 1e-9 {
		t.Errorf("%.6f °C, want %.6f", s.C, want)
	}
	// 20 kWh would boil it: at 85 °C the rest is let go
	f = tank.Step(&s, &Step{Hours: 1, LeftKWh: 40, RoomC: 15})
	if math.Abs(s.C-85) > 1e-9 || f.LetGoKWh <= 0 || math.Abs(f.IntoKWh+f.LetGoKWh-20) > 1e-12 {
		t.Errorf("%.3f °C, %+v", s.C, f)
	}
	// and what is above 60 °C warms rooms
	tank.Rooms = true
	f = tank.Step(&s, &Step{Hours: 1, RoomC: 15, RoomsWant: true})
	if s.C != RoomsAboveC || math.Abs(f.RoomsKWh-(85-15)*math.Exp(-1/116.3)*0.1163+(60-15)*0.1163) > 1e-9 {
		t.Errorf("%.3f °C, %+v", s.C, f)
	}
}

// What a day wants is wanted in its hours, whatever the steps.
func TestWhenWaterIsDrawn(t *testing.T) {
	tank := Tank{Litres: 100, NeedLPerDay: 50, NeedC: 40, ColdC: 10, Hours: []calendar.Window{{From: 400, To: 480}, {From: 1140, To: 1320}}}
	for _, step := range []int{10, 30, 60} {
		sum := 0.0
		for from := 0; from < calendar.MinutesADay; from += step {
			sum += tank.NeedIn(float64(from), float64(from+step))
		}
		if math.Abs(sum-tank.NeedKWh()) > 1e-12 {
			t.Errorf("steps of %d minutes want %g of %g kWh", step, sum, tank.NeedKWh())
		}
	}
	if got, want := tank.NeedIn(390, 420), tank.NeedKWh()*20/260; math.Abs(got-want) > 1e-12 || tank.NeedIn(600, 660) != 0 {
		t.Errorf("half an hour wants %g, want %g", got, want)
	}
}
