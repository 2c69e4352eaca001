package diary

import (
	"testing"

	"twigwatt/sim/calendar"
)

// TestPowerNeedsRoomToSpare: house and bank take what they take; a run of a little less,
// within the twentieth to spare, may have been held back.
func TestPowerNeedsRoomToSpare(t *testing.T) {
	h := dated(home(t, nil))
	for room, told := range map[float64]bool{1.02: false, 1.08: true} {
		var rows []Row
		for day := range leastRows {
			r := noted(h.Household, 18*60, 0, 60, 80)
			r.Date += calendar.Date(day)
			r.KWh = h.takesKW(&r, h.runParts(&r)) / room * h.engineHours(&r)
			rows = append(rows, r)
		}
		if f, _ := fitPower(h, rows); f.KW.Told() != told {
			t.Errorf("with %g times the room: %+v", room, f.KW)
		}
	}
}
