package study

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"twigwatt/sim"
)

// Worked: of 126.5 engine hours so far ash falls due at 128, 1.5 h after the engine
// takes over at 16:30; oil each 100 h does not. At just 128 it is due before the match.
func TestServiceByHand(t *testing.T) {
	s := &Sheet{Runs: []SheetRun{{Match: 16 * 60, EngineOn: 16*60 + 30, Stop: 21 * 60, EngineH: 4.5}}}
	services := []sim.Service{{Name: "ash", EveryH: 8}, {Name: "oil", EveryH: 100}}
	if diff := cmp.Diff([]ServiceDue{{Name: "ash", AtH: 128, Minute: 18 * 60}}, s.due(services, 126.5)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]ServiceDue{{Name: "ash", AtH: 128, Minute: 16 * 60}}, s.due(services, 128)); diff != "" {
		t.Error(diff)
	}
	if got := s.due(services, 0); got != nil {
		t.Errorf("a new set wants %+v", got)
	}
	// two runs of 4.5 h from 95.5 h on: 96 within the first; 100 is reached as the first
	// ends, and is due before the second; 104 within the second, 4 h after its engine
	// takes over
	two := &Sheet{Runs: []SheetRun{s.Runs[0], {Match: 1440 + 960, EngineOn: 1440 + 990, Stop: 1440 + 1260, EngineH: 4.5}}}
	want := []ServiceDue{{Name: "ash", AtH: 96, Minute: 17 * 60}, {Name: "ash", AtH: 104, Run: 1, Minute: 1440 + 990 + 240}, {Name: "oil", AtH: 100, Run: 1, Minute: 1440 + 960}}
	if diff := cmp.Diff(want, two.due(services, 95.5)); diff != "" {
		t.Error(diff)
	}
}
