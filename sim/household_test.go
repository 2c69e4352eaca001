package sim_test

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/testdata/worked"
)

// ofMany has what a household may hold: chores, a pile with a yearly cut and a rack, days
// away, swings, warnings.
func ofMany() *sim.Household {
	return worked.Household("days=9", "load.daily_swing_pct=20", "load.kwh_per_day=1", `load.away=["2025-03-05"]`,
		"load.chore.wash.kwh=1", "load.chore.wash.kw=0.5", "load.chore.wash.times_per_week=4",
		"woodpile.stack.shed.dry_kg=300", "woodpile.stack.barn.dry_kg=200", "woodpile.cut.wood.on=03-06", "woodpile.cut.wood.dry_kg=50",
		"woodpile.rack_pct=5", "woodpile.rack_as_is_kg=20", `tending.no_runs=["2025-03-08"]`).Household
}

// Whatever is made of a household, it stays as it was.
func TestAHouseholdNeverChanges(t *testing.T) {
	own, before := ofMany(), ofMany()
	if !reflect.DeepEqual(own, before) {
		t.Fatal("the test cannot pass: two readings of one household differ")
	}
	for reason, other := range map[string]*sim.Household{
		"With": own.With(func(spec *sim.Spec) {
			spec.Tending.MaxHoursADay, spec.Prices.ShortKgPerKWh, spec.Bank.FullKWh, spec.Air.MeanC[2] = 1, 7, 3, -20
			spec.Pile.Stacks, spec.Tending.NoRuns = spec.Pile.Stacks[:1], nil
		}),
		"WithoutEnd": own.WithoutEnd(),
		"Wanting":    own.Wanting(own.Demand.Changed(2, nil)),
		"InHouse":    own.InHouse(own.Wetter(0.05)),
		"Part":       own.Part(2, 4, func(spec *sim.Spec) { spec.StartShare, spec.Pile.Cuts = 0.7, nil }),
	} {
		if !reflect.DeepEqual(own, before) {
			t.Fatalf("%s changed the household it was made of", reason)
		}
		if reflect.DeepEqual(other, before) {
			t.Errorf("%s made no other household", reason)
		}
	}
}

func TestWithoutEndAlwaysHasReadyWood(t *testing.T) {
	h := ofMany().WithoutEnd()
	s := h.Start()
	if p := h.Pile; !p.Endless || p.Stacks != nil || p.Cuts != nil || p.Rack != nil || !h.HasReadyWood(&s) {
		t.Errorf("%+v", h.Pile)
	}
	if h.Span.Days != 9 || h.Name != "home" || len(h.ChoreKW) != h.Span.Steps() {
		t.Errorf("%d days of %s, %d steps of chores", h.Span.Days, h.Name, len(h.ChoreKW))
	}
}

// A part of a span has its days and what is wanted on them, and lives as the whole does from
// where the whole stood.
func TestAPartLivesAsTheWhole(t *testing.T) {
	const first, days = 3, 4
	whole := ofMany().WithoutEnd()
	lived := func(h *sim.Household) []sim.DayRecord {
		books, err := sim.Run(context.Background(), h, choring{evenings{h.House}, h.ChoreKW}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return books.Days
	}
	all := lived(whole)
	part := whole.Part(first, days, func(spec *sim.Spec) { spec.StartShare = all[first].StartKWh / whole.Bank.FullKWh })
	if part.Span.Start != whole.Span.Start+first || len(part.Days) != days {
		t.Fatalf("%d days from %s", len(part.Days), part.Span.Start)
	}
	chores := 0.0
	for _, kw := range part.ChoreKW {
		chores += kw
	}
	if chores == 0 || whole.Days[first+2].Tendable || part.Days[2].Tendable {
		t.Error("the test sees neither chores nor a day without a run")
	}
	for i, got := range lived(part) {
		want := all[first+i]
		for name, pair := range map[string][2]float64{"wanted": {got.LoadKWh, want.LoadKWh}, "made": {got.EngineKWh, want.EngineKWh},
			"short": {got.ShortfallKWh, want.ShortfallKWh}, "stored at last": {got.EndKWh, want.EndKWh}} {
			if math.Abs(pair[0]-pair[1]) > 1e-9 {
				t.Errorf("%s, %s: %g in the part, %g in the whole", got.Date, name, pair[0], pair[1])
			}
		}
	}
}

// choring does chores as they are placed beforehand.
type choring struct {
	sim.Chooser
	kw []float64
}

func (c choring) Choose(s *sim.State, at sim.Moment) sim.Command {
	command := c.Chooser.Choose(s, at)
	command.ChoreKW = c.kw[at.Step]
	return command
}

// What is changed of a part's demand does not reach the whole's.
func TestADemandNeverChanges(t *testing.T) {
	own, before := ofMany().Demand, ofMany().Demand
	part := own.Part(2, 3, 24)
	more := make([]float64, 3*24)
	for i := range more {
		more[i] = 1
	}
	for reason, d := range map[string]*loads.Demand{"Steady": own.Steady(), "Expected": own.Expected(), "Part": part, "Changed": part.Changed(1.5, more)} {
		if !reflect.DeepEqual(own, before) {
			t.Fatalf("%s changed the demand it was made of", reason)
		}
		if reflect.DeepEqual(d, before) {
			t.Errorf("%s made no other demand", reason)
		}
	}
	if !slices.Equal(part.LoadKW, own.LoadKW[48:120]) {
		t.Error("the part's load is not that of its days")
	}
}
