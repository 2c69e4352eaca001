package diary

import (
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
)

// The charge between two runs tells what the house took by night, and under panels in summer only what
// the sky was: such stretches teach nothing.
func TestAGapInTheSunTeachesNothing(t *testing.T) {
	rows := []Row{{Date: calendar.NewDate(2025, 6, 10), StartMinute: 18 * 60, StopMinute: 20 * 60, KWh: 3, SocStartPct: 60, SocEndPct: 97},
		{Date: calendar.NewDate(2025, 6, 11), StartMinute: 10 * 60, StopMinute: 12 * 60, KWh: 3, SocStartPct: 82, SocEndPct: 88}}
	took := func(set ...string) int {
		options := []scenarios.Option{scenarios.Set("step_minutes=60")}
		for _, assignment := range set {
			options = append(options, scenarios.Set(assignment))
		}
		s, err := scenarios.Read("cabin", nil, options...)
		if err != nil {
			t.Fatal(err)
		}
		return len(LastTook(s.Household, rows, calendar.NewDate(2025, 6, 12), 14))
	}
	if took() != 1 || took("panels.roof.kw_peak=1") != 0 || took("panels.roof.kw_peak=1", "panels.roof.wired=house") != 0 || took("panels.roof.kw_peak=0.01") != 1 {
		t.Errorf("%d, %d, %d and %d stretches", took(), took("panels.roof.kw_peak=1"), took("panels.roof.kw_peak=1", "panels.roof.wired=house"),
			took("panels.roof.kw_peak=0.01"))
	}
}
