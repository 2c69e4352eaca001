package diary

import (
	"context"
	"math/rand/v2"
	"testing"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/curve"
	"twigwatt/sim/genset"
)

// byChance runs from a random hour until the bank holds a random share.
type byChance struct {
	house  *sim.House
	random *rand.Rand
	start  int // step of the day
	target float64
}

func (c *byChance) Choose(s *sim.State, at sim.Moment) sim.Command {
	if at.OfDay == 0 {
		c.start, c.target = 24+c.random.IntN(10), (0.72+0.18*c.random.Float64())*c.house.Bank.FullKWh
		if c.random.IntN(5) < 2 {
			c.target = 0.98 * c.house.Bank.FullKWh
		}
	}
	switch {
	case c.house.MustRun(s, at):
		return sim.Command{Run: true}
	case at.OfDay == c.start || s.LitSteps > 0:
		return sim.Command{Run: s.Bank.StoredKWh() < c.target && c.house.MayRun(s, at)}
	}
	return sim.Command{}
}

// simulated is the diary of a household that sim.Run lived through.
func simulated(t *testing.T, scenario *sim.Household, random *rand.Rand) []Row {
	t.Helper()
	h := scenario.House
	var rows []Row
	full, before, running := h.Bank.FullKWh, h.StartShare*h.Bank.FullKWh, false
	moisture := h.Set.RatedMoisture
	_, err := sim.Run(context.Background(), scenario.InHouse(h), &byChance{house: h, random: random}, func(at sim.Moment, s *sim.State, f *sim.Flows) {
		minute := at.OfDay * h.Span.StepMinutes
		if f.Match {
			running = true
			rows = append(rows, Row{Date: h.Days[at.Day].Date, StartMinute: minute, SocStartPct: 100 * before / full, MoisturePct: NotNoted()})
		}
		if running = running && f.Run; running {
			r := &rows[len(rows)-1]
			r.StopMinute, r.SocEndPct = minute+h.Span.StepMinutes, 100*s.Bank.StoredKWh()/full
			r.KWh += f.EngineKW * h.Span.StepH()
			r.WoodAsIsKg += f.Burned.DryKg / (1 - moisture)
		}
		before = s.Bank.StoredKWh()
	})
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// TestIntervalsHoldTheTruthOfSimulatedRuns: twenty diaries, four from each of five
// simulated years of a household unlike the scenario. With nine in ten to be
// expected, 14 or fewer of 20 come by chance once in ninety times (binomial).
func TestIntervalsHoldTheTruthOfSimulatedRuns(t *testing.T) {
	w := someTruth
	scenario := home(t, nil)
	c := &held90{map[string]int{}, map[string]int{}}
	for seed := range uint64(5) {
		lived := home(t, func(spec *sim.Spec, wants *loads.Wants) {
			spec.Set.KW, spec.Set.LightUpKg, spec.Set.Line = w.kw, w.lightUpKg, genset.StraightLine(w.idleKgH, w.perKWhKg, w.kw)
			spec.Bank.ChargeCurve = curve.Curve{{X: 0, Y: 100 * w.charging}}
			wants.Scale, wants.SwingShare, wants.SwingMemory, wants.Seed = w.loadFactor, usualErrors.swing, usualErrors.memory, seed
		})
		random := rand.New(rand.NewPCG(seed, 9))
		rows := simulated(t, lived, random)
		for i := range rows {
			rows[i].spoil(usualErrors, random)
		}
		for quarter := range 4 {
			c.count(NewFit(rows[quarter*len(rows)/4:(quarter+1)*len(rows)/4], scenario), w)
		}
	}
	for _, figure := range figures {
		t.Logf("%s: %d of %d", figure, c.in[figure], c.told[figure])
		if c.told[figure] < 18 || c.in[figure] < c.told[figure]-6 {
			t.Errorf("%s: %d of %d intervals hold the truth", figure, c.in[figure], c.told[figure])
		}
	}
}
