package scenarios_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
)

// TestTheAlternatorCapsTheSet: no step gives more than the alternator, also where altitude or wet
// wood leave the engine more than that; the fuel line stays the engine's; and the engine's
// displacement is not held against a smaller alternator.
func TestTheAlternatorCapsTheSet(t *testing.T) {
	const home = "days = 30\nstep_minutes = 60\n[load]\nkwh_per_day = 8\n[place]\naltitude_m = 1500\n[engine]\nkw = 5\nrated_altitude_m = 0\n" +
		"displacement_cc = 1100\nrpm = 1500\n[battery]\nkwh = 20\n[plan]\nsame_start = \"16:00\"\n"
	most := func(set ...string) (mostKW, fullKgH float64, warnings string) {
		var options []scenarios.Option
		for _, assignment := range set {
			options = append(options, scenarios.Set(assignment))
		}
		s, err := readText(home, nil, options...)
		if err != nil {
			t.Fatal(err)
		}
		c, err := s.Rule.Chooser(t.Context(), s.Household)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := sim.Run(t.Context(), s.Household, c, func(_ sim.Moment, _ *sim.State, f *sim.Flows) {
			if f.Ready == 1 {
				mostKW = max(mostKW, f.EngineKW)
			}
		}); err != nil {
			t.Fatal(err)
		}
		return mostKW, s.House.Set.FullKgH(), fmt.Sprint(s.Warnings)
	}
	free, freeKgH, _ := most()
	capped, cappedKgH, said := most("engine.alternator_kw=3")
	if !(free > 3.5) || capped > 3+1e-9 || capped < 3-1e-9 {
		t.Errorf("the set gives %g kW, with an alternator of 3 kW %g", free, capped)
	}
	// worked: the line's no-load share is 0.28, so that 3 of 5 kW burn 0.28 + 0.72·3/5 of full power
	if want := freeKgH * (0.28 + 0.72*3/5); math.Abs(cappedKgH-want) > 1e-9 {
		t.Errorf("at the alternator's limit %g kg/h, want %g", cappedKgH, want)
	}
	if large, _, _ := most("engine.alternator_kw=9"); large != free {
		t.Errorf("an alternator larger than the engine: %g kW, want %g", large, free)
	}
	if strings.Contains(said, "engine_implausible") {
		t.Error("the displacement is held against the alternator")
	}
	if _, _, said := most("engine.kw=2"); !strings.Contains(said, "engine_implausible") {
		t.Error("with no alternator named, nothing is said of an engine that gives little")
	}
}
