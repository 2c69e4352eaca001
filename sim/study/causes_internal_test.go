package study

import (
	"testing"

	"twigwatt/sim"
	"twigwatt/testdata/worked"
)

// neverRuns is a chooser that strikes no match.
type neverRuns struct{ house *sim.House }

func (neverRuns) Choose(*sim.State, sim.Moment) sim.Command { return sim.Command{} }
func (n *neverRuns) InHouse(h *sim.House)                   { n.house = h }

// TestEachCauseAloneBringsTheLuckOfAll: with a swing of 20 %, a breakdown that was not foreseen, a wet
// year and all else, each cause alone meets the same draws as all together: the days' and the
// year's load, what the set gives, the days of repair, the wood's moisture and the matches that fail.
func TestEachCauseAloneBringsTheLuckOfAll(t *testing.T) {
	h := worked.Household("days=40", "load.daily_swing_pct=20", `tending.breakdown=["2025-03-10..2025-03-14"]`,
		"luck.moisture_points=3", "luck.load_year_pct=12", "luck.set_daily_pct=6", "luck.repair_days=5", "luck.fail_to_light_pct=30").Household
	type luck struct {
		factor, setSwing float64
		broken           bool
	}
	lived := func(causes Cause, number int) (days []luck, f *life, failed []int) {
		n := &neverRuns{house: h.House}
		f = newLife(h, n, causes, number)
		f.newYear(0)
		for day := range h.Days {
			f.day(day)
			days = append(days, luck{f.want.Factor, f.state.SetSwing, f.broken})
		}
		for range 10 {
			failed = append(failed, f.failed())
		}
		return days, f, failed
	}
	for number := range 5 {
		all, together, failedAll := lived(ByAll, number)
		_, wet, _ := lived(ByMoisture, number)
		if got, want := wet.house.HeatFactor(0.2), together.house.HeatFactor(0.2); got != want || got == h.HeatFactor(0.2) {
			t.Errorf("life %d: the wood's heat in a wet year %g, all together %g", number, got, want)
		}
		swing, _, _ := lived(BySwing, number)
		year, alone, failed := lived(ByLoadYear, number)
		set, _, _ := lived(BySet, number)
		repairs, _, _ := lived(ByRepairs, number)
		for day := range all {
			if got := swing[day].factor * alone.loadFactor; got != all[day].factor || year[day].factor != alone.loadFactor {
				t.Errorf("life %d, day %d: a load of %g times the expected by the two alone, %g together", number, day, got, all[day].factor)
			}
			if set[day].setSwing != all[day].setSwing || repairs[day].broken != all[day].broken {
				t.Errorf("life %d, day %d: alone %+v, %+v, together %+v", number, day, set[day], repairs[day], all[day])
			}
		}
		for i := range failed {
			if failed[i] != failedAll[i] {
				t.Errorf("life %d: match %d fails %d times alone, %d together", number, i, failed[i], failedAll[i])
			}
		}
	}
}
