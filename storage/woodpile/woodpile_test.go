package woodpile

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func species(t *testing.T, key string) Species {
	t.Helper()
	s, ok := SpeciesOf(key)
	if !ok {
		t.Fatalf("no %s", key)
	}
	return s
}

// Published: a cord is 128 ft³ of 0.3048³ m³ (SOURCES.md gives 3.6246).
func TestCord(t *testing.T) {
	if got := 128 * math.Pow(0.3048, 3); math.Abs(got-CordM3) > 1e-6 {
		t.Errorf("a cord is %g m³, ours %g", got, CordM3)
	}
}

// Worked: a year of nights at 2 % leaves 0.98.
func TestYearlyLoss(t *testing.T) {
	p := Pile{LossPerDay: LossPerDay(0.02), Stacks: []Stack{{DryKg: 1000, Piece: Chunk}}}
	s, lost := p.Start(), 0.0
	for range 365 {
		lost += p.Night(&s, DryingIn(10, 70)).LostDryKg
	}
	if math.Abs(s.DryKg[0]-980) > 1e-6 || math.Abs(lost-20) > 1e-6 {
		t.Errorf("left %g, lost %g", s.DryKg[0], lost)
	}
}

// TestNoWoodOrWaterIsMadeOrLost moves any pile through cuts, burning, a rack and nights.
func TestNoWoodOrWaterIsMadeOrLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Pile{MostDryBasis: 0.25, SolidPerStacked: 0.64, LossPerDay: LossPerDay(0.02), DryMJKg: 18.5}
		for range rapid.IntRange(1, 6).Draw(t, "stacks") {
			ash, _ := SpeciesOf(rapid.SampledFrom([]string{"ash", "alder"}).Draw(t, "species"))
			p.Stacks = append(p.Stacks, Stack{Species: ash,
				Piece: rapid.SampledFrom([]Piece{Chunk, Split, Log}).Draw(t, "piece"),
				Cover: rapid.SampledFrom([]Cover{Roof, Open}).Draw(t, "cover"),
				DryKg: rapid.Float64Range(0, 100).Draw(t, "kg"), DryBasis: rapid.Float64Range(0.05, 1).Draw(t, "u")})
		}
		for day := range 10 {
			if rapid.Bool().Draw(t, "cut") {
				p.Cuts = append(p.Cuts, Cut{Day: day, Stack: 0, DryKg: rapid.Float64Range(1, 50).Draw(t, "cut kg"), DryBasis: 0.8})
			}
		}
		if rapid.Bool().Draw(t, "rack") {
			p.Rack = &Rack{AsIsKg: rapid.Float64Range(1, 60).Draw(t, "rack kg"),
				HeatShare: rapid.Float64Range(0, 0.5).Draw(t, "heat"), Dries: len(p.Stacks), Dried: len(p.Stacks) + 1}
			p.Stacks = append(p.Stacks, Stack{Piece: Chunk}, Stack{Piece: Chunk})
		}
		s := p.Start()
		for day := range 10 {
			dry, water := p.TotalKg(&s), p.WaterKg(&s)
			m := p.Lay(&s, day)
			burned := p.Burn(&s, p.ReadyKg(&s)*rapid.Float64Range(0, 1).Draw(t, "share"))
			airC, humidityPct := rapid.Float64Range(-20, 35).Draw(t, "air"), rapid.Float64Range(20, 99).Draw(t, "humidity")
			night := p.Night(&s, DryingIn(airC, humidityPct))
			if gap := dry + m.CutDryKg - burned.DryKg - night.LostDryKg - p.TotalKg(&s); math.Abs(gap) > 1e-9 {
				t.Fatalf("%g kg of wood missing", gap)
			}
			gone := burned.AsIsKg - burned.DryKg + burned.RackWaterKg + night.LostWaterKg + night.DriedWaterKg
			if gap := water + m.CutWaterKg - gone - p.WaterKg(&s); math.Abs(gap) > 1e-9 {
				t.Fatalf("%g kg of water missing", gap)
			}
			for i := range p.Stacks {
				if s.DryKg[i] < 0 || s.DryBasis[i] < 0 {
					t.Fatalf("stack %d: %g kg at %g", i, s.DryKg[i], s.DryBasis[i])
				}
			}
		}
	})
}

// However much heat there is, the rack dries to 5 % (dry basis) and no further. Worked: 16 kg from
// 0.25 lose 3.2 kg of water.
func TestWasteHeatDriesOnlySoFar(t *testing.T) {
	ash := species(t, "ash")
	p := Pile{MostDryBasis: 0.25, SolidPerStacked: 0.64, DryMJKg: 18.5, Rack: &Rack{AsIsKg: 20, HeatShare: 0.5, Dries: 1, Dried: 2},
		Stacks: []Stack{{Species: ash, Piece: Chunk, DryKg: 100, DryBasis: 0.25}, {Piece: Chunk}, {Piece: Chunk}}}
	s := p.Start()
	if b := p.Burn(&s, 10); math.Abs(s.DryBasis[1]-0.05) > 1e-12 || math.Abs(b.RackWaterKg-3.2) > 1e-12 {
		t.Errorf("dried to %g, %g kg of water gone", s.DryBasis[1], b.RackWaterKg)
	}
}

// A crumb of one species, too small for a run, must not hold up what has dried of another.
func TestRackDoesNotWaitForACrumb(t *testing.T) {
	ash, alder := species(t, "ash"), species(t, "alder")
	p := Pile{MostDryBasis: 0.25, SolidPerStacked: 0.64, DryMJKg: 18.5, Rack: &Rack{AsIsKg: 60, HeatShare: 0.1, Dries: 2, Dried: 3},
		Stacks: []Stack{{Species: ash, Piece: Chunk, DryKg: 0, DryBasis: 0.2},
			{Species: alder, Piece: Chunk, DryKg: 500, DryBasis: 0.5}, {Piece: Chunk}, {Piece: Chunk}}}
	s := p.Start()
	s.DryKg[3], s.DryBasis[3], s.RackFrom[1] = 0.5, 0.2, 0 // a crumb of ash that dried
	s.DryBasis[2] = 0.1                                    // what the last run dried
	dried, total := s.DryKg[2], p.TotalKg(&s)
	p.reload(&s)
	if s.DryKg[3] != dried || s.DryKg[0] != 0.5 || math.Abs(p.TotalKg(&s)-total) > 1e-9 {
		t.Errorf("dried %g kg, ash %g kg of %v", s.DryKg[3], s.DryKg[0], s.DryKg[:4])
	}
	if p.ReadyKg(&s) < dried {
		t.Errorf("%g kg ready", p.ReadyKg(&s))
	}
}
