package diary

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"twigwatt/sim"
)

// sameLength makes each run take the same time, with the engine at the same power.
func sameLength(scenario *sim.Household, minutes int, powers ...float64) []Row {
	rows := madeUp(scenario, someTruth, usualErrors, 60, 4)
	h := dated(scenario)
	for i := range rows {
		r := &rows[i]
		r.StopMinute = r.StartMinute + minutes
		r.KWh = powers[i%len(powers)] * h.engineHours(r)
		moisture := h.moisture(r)
		r.WoodAsIsKg = (1.8 + 1.1*h.engineHours(r) + 1.2*r.KWh + 0.05*math.Sin(float64(i))) / (1 - moisture) / scenario.House.Factors.Heat(moisture)
	}
	return rows
}

func TestWhatCannotBeToldApartIsHeld(t *testing.T) {
	scenario := home(t, nil)
	idle, _ := dated(scenario).fuelLine()
	f := NewFit(sameLength(scenario, 240, 1.5, 2, 2.5, 3), scenario)
	if e := f.LightUpKg; !e.Held || e.Value != 1.5 || Noted(e.Low) || Noted(e.High) || !strings.Contains(e.Why, "light-up wood and no-load wood cannot be told apart") {
		t.Errorf("runs of one length: light-up %+v", e)
	}
	if !f.WoodIdleKgH.Told() || !f.WoodPerKWhKg.Told() {
		t.Errorf("the others are not told: %+v %+v", f.WoodIdleKgH, f.WoodPerKWhKg)
	}
	f = NewFit(sameLength(scenario, 240, 2.5), scenario)
	if e := f.WoodIdleKgH; !f.LightUpKg.Held || !e.Held || e.Value != idle || e.Why == "" || !f.WoodPerKWhKg.Told() {
		t.Errorf("runs of one length and power: %+v %+v %+v", f.LightUpKg, e, f.WoodPerKWhKg)
	}
	// 1.8 + 1.1 h + 1.2 kWh by hand with light-up at 1.5 and no load at the scenario's:
	// over 3 h 40 min and 9.167 kWh
	hours, kWh := 11.0/3, 2.5*11.0/3
	want := (1.8 + 1.1*hours + 1.2*kWh - 1.5 - idle*hours) / kWh
	if got := f.WoodPerKWhKg.Value; math.Abs(got-want) > 0.005 {
		t.Errorf("wood for each kWh %.4f, worked %.4f", got, want)
	}
}

// TestOneRowCannotTellApart: a single run of another length, wrong at that, does
// not make light-up and no load tellable.
func TestOneRowCannotTellApart(t *testing.T) {
	scenario := home(t, nil)
	rows := sameLength(scenario, 240, 1.5, 2, 2.5, 3)
	rows[7].StopMinute = rows[7].StartMinute + 60
	if f := NewFit(rows, scenario); !f.LightUpKg.Held {
		t.Errorf("light-up %+v", f.LightUpKg)
	}
}

// TestHopelessColumnsAreHeld: runs that differ by a minute tell light-up and no load
// apart if nothing at all is misread, which nobody can promise.
func TestHopelessColumnsAreHeld(t *testing.T) {
	scenario := home(t, nil)
	h, rows := dated(scenario), sameLength(scenario, 240, 1.5, 2, 2.5, 3)
	for i := range rows {
		r := &rows[i]
		r.StopMinute += i % 2
		r.WoodAsIsKg = h.asIsKg(r, 1.8+1.1*h.engineHours(r)+1.2*r.KWh)
	}
	if f := NewFit(rows, scenario); !f.LightUpKg.Held || !f.WoodIdleKgH.Told() {
		t.Errorf("light-up %+v, no load %+v", f.LightUpKg, f.WoodIdleKgH)
	}
}

// TestVagueFiguresAreHeld: light-up and no load of runs that differ by half an hour are
// told by exact scales, and by scales that err by half a kg no longer.
func TestVagueFiguresAreHeld(t *testing.T) {
	scenario := home(t, nil)
	h, rows := dated(scenario), sameLength(scenario, 240, 1.5, 2, 2.5, 3)
	for errKg, held := range map[float64]bool{0.001: false, 0.5: true} {
		for i := range rows {
			r := &rows[i]
			r.StopMinute = r.StartMinute + 225 + 30*(i/4%2)
			r.WoodAsIsKg = h.asIsKg(r, 1.8+1.1*h.engineHours(r)+1.2*r.KWh+errKg*math.Sin(float64(i)))
		}
		if f := NewFit(rows, scenario); f.LightUpKg.Held != held {
			t.Errorf("with %g kg: light-up %+v", errKg, f.LightUpKg)
		}
	}
}

// TestFittedRunsByHand: worked. 10 kg at the rated 15 % are 8.5 kg oven-dry. A meter shows
// 0.02 kWh, of 0.005 no wood for each can be told, and of none nothing be expected.
func TestFittedRunsByHand(t *testing.T) {
	h, rows := dated(home(t, nil)), make([]Row, 4)
	for i, kWh := range []float64{8, 0.02, 0.005, 0} {
		rows[i] = aRow(14*60, 18*60+20, 0)
		rows[i].WoodAsIsKg, rows[i].KWh = 10, kWh
	}
	wood, _ := fitWood(h, rows)
	for i, want := range []FittedRun{{WoodPerKWhKg: 8.5 / 8, PowerKW: 2}, {WoodPerKWhKg: 425, PowerKW: 0.005},
		{WoodPerKWhKg: NotNoted(), PowerKW: 0.00125}, {WoodPerKWhKg: NotNoted()}} {
		want.WoodDryKg, want.ExpectedDryKg = 8.5, h.expectedDryKg(&rows[i])
		if want.ExpectedPerKWhKg = want.ExpectedDryKg / rows[i].KWh; rows[i].KWh == 0 {
			want.ExpectedPerKWhKg = NotNoted()
		}
		if diff := cmp.Diff(want, wood.Runs[i], cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 0)); diff != "" {
			t.Errorf("row %d: -want +got\n%s", i, diff)
		}
	}
}

func TestLessThanNothingIsHeld(t *testing.T) {
	scenario := home(t, nil)
	w := someTruth
	w.lightUpKg = -2
	f := NewFit(madeUp(scenario, w, errorsOf{woodKg: 0.05, socPct: 1, swing: 0.1}, 90, 1), scenario)
	if e := f.LightUpKg; !e.Held || e.Value != 1.5 || !strings.Contains(e.Why, "less than nothing") {
		t.Errorf("light-up %+v", e)
	}
}
