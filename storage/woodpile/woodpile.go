// Package woodpile models the wood: stacks by species, piece and cover that dry in the place's air,
// yearly cuts, what is ready to gasify, and what is burned, driest first.
//
// A Pile is equipment and never changes; a State is a plain value. Burn takes
// wood off it; in the evening Lay lays the day's cuts on it, and Night dries it
// and lets a day's share of the yearly loss go. All change it in place, for a
// year has no time for copies. Left out: rain by the day, the inside of a stack, bark.
package woodpile

import (
	"math"

	"twigwatt/sim/place"
)

// MostStacks is the most stacks a pile can have.
const MostStacks = 24

// CordM3 is a cord: 128 cubic feet, stacked.
const CordM3 = 3.624556

// Piece says how small the wood is.
type Piece string

// The pieces. Logs dry, but are never ready.
const (
	Chunk Piece = "chunk"
	Split Piece = "split"
	Log   Piece = "log"
)

// Cover says what keeps rain off.
type Cover string

// The covers.
const (
	Roof Cover = "roof"
	Open Cover = "open"
)

// A Stack is one lot of wood as the span begins, or a place for cuts.
type Stack struct {
	Name     string
	Species  Species
	Piece    Piece
	Cover    Cover
	DryKg    float64 // oven-dry, 0 or more
	DryBasis float64 // kg of water for each oven-dry kg
}

// A Cut is wood that comes onto the pile on a day of the span.
type Cut struct {
	Day      int // of the span
	Stack    int // the place it is laid
	DryKg    float64
	DryBasis float64
}

// A Pile is all wood, and how it is counted.
type Pile struct {
	Endless         bool // ready wood at the rated moisture without end
	Stacks          []Stack
	Cuts            []Cut   // by day
	Rack            *Rack   // nil: none
	Species         Species // of endless wood
	RatedDryBasis   float64 // moisture of endless wood
	MostDryBasis    float64 // wetter wood is not burned
	ReadyDryBasis   float64 // wetter wood is not ready: where MostDryBasis is more, it is burned all the same, the driest first
	DryMJKg         float64 // net heat of oven-dry wood
	SolidPerStacked float64 // m³/m³
	SolidPerLoose   float64
	LossPerDay      float64 // share of the dry wood that rots or is lost: see LossPerDay
	WorkHPerStacked float64 // hours to cut, split, chunk and stack a stacked m³
}

// A State is what lies in each stack, and from which stacks the rack was loaded:
// what dries on it and what has dried.
type State struct {
	DryKg    [MostStacks]float64
	DryBasis [MostStacks]float64
	RackFrom [2]int8
}

// Burned is wood taken off the pile, with the water that the rack gave off.
type Burned struct{ DryKg, AsIsKg, StackedM3, RackWaterKg float64 }

// Moved is what came or went in a day beside what was burned, in kg.
type Moved struct{ CutDryKg, CutWaterKg, LostDryKg, LostWaterKg, DriedWaterKg float64 }

// Add adds another day's.
func (m *Moved) Add(o Moved) {
	m.CutDryKg += o.CutDryKg
	m.CutWaterKg += o.CutWaterKg
	m.LostDryKg += o.LostDryKg
	m.LostWaterKg += o.LostWaterKg
	m.DriedWaterKg += o.DriedWaterKg
}

// Start returns the pile as the span begins.
func (p *Pile) Start() State {
	var s State
	for i, stack := range p.Stacks {
		s.DryKg[i], s.DryBasis[i] = stack.DryKg, stack.DryBasis
	}
	if p.Rack != nil {
		p.reload(&s)
	}
	return s
}

// SolidM3 returns the volume of a species' oven-dry wood, without bark.
func SolidM3(dryKg float64, species *Species) float64 { return dryKg / (1000 * species.Gravity) }

// DryKg returns the oven-dry wood in a solid volume without bark.
func DryKg(solidM3 float64, species *Species) float64 { return solidM3 * 1000 * species.Gravity }

// ready reports whether a stack's wood can be gasified.
func (p *Pile) ready(s *State, i int) bool {
	return s.DryKg[i] > 0 && p.Stacks[i].Piece != Log && s.DryBasis[i] <= p.MostDryBasis &&
		(p.Rack == nil || i != p.Rack.Dries)
}

// driest returns the driest stack that has wood and that fits, or −1; of stacks
// equally dry, the one named first.
func (p *Pile) driest(s *State, fits func(int) bool) int {
	driest := -1
	for i := range p.Stacks {
		if s.DryKg[i] > 0 && fits(i) && (driest < 0 || s.DryBasis[i] < s.DryBasis[driest]) {
			driest = i
		}
	}
	return driest
}

// ReadyKg returns the oven-dry wood that can be gasified, +Inf for endless wood.
func (p *Pile) ReadyKg(s *State) float64 {
	if p.Endless {
		return math.Inf(1)
	}
	kg := 0.0 // summed here, for every step asks for it
	for i := range p.Stacks {
		if p.ready(s, i) {
			kg += s.DryKg[i]
		}
	}
	return kg
}

// TotalKg returns all oven-dry wood, +Inf for endless wood.
func (p *Pile) TotalKg(s *State) float64 { return p.sum(func(i int) float64 { return s.DryKg[i] }) }

// WaterKg returns the water in all wood, +Inf for endless wood.
func (p *Pile) WaterKg(s *State) float64 {
	return p.sum(func(i int) float64 { return s.DryKg[i] * s.DryBasis[i] })
}

func (p *Pile) sum(of func(stack int) float64) float64 {
	if p.Endless {
		return math.Inf(1)
	}
	sum := 0.0
	for i := range p.Stacks {
		sum += of(i)
	}
	return sum
}

// NextDryBasis returns the moisture of the wood that would be burned next; the
// rated moisture where no wood is ready.
func (p *Pile) NextDryBasis(s *State) float64 {
	if i := p.nextStack(s); i >= 0 {
		return s.DryBasis[i]
	}
	return p.RatedDryBasis
}

func (p *Pile) nextStack(s *State) int { return p.driest(s, func(i int) bool { return p.ready(s, i) }) }

// NearlyReady returns the driest wood that is not ready though it is cut small:
// its stack's name, oven-dry kg and moisture (dry basis); "" where there is none.
func (p *Pile) NearlyReady(s *State) (name string, dryKg, dryBasis float64) {
	i := p.driest(s, func(i int) bool { return p.Stacks[i].Piece != Log && !p.ready(s, i) })
	if i < 0 {
		return "", 0, 0
	}
	return p.Stacks[i].Name, s.DryKg[i], s.DryBasis[i]
}

// DryLogsKg returns the oven-dry wood of logs that are dry enough, but not cut small.
func (p *Pile) DryLogsKg(s *State) float64 {
	kg := 0.0
	for i := range p.Stacks {
		if p.Stacks[i].Piece == Log && s.DryBasis[i] <= p.MostDryBasis {
			kg += s.DryKg[i]
		}
	}
	return kg
}

// Lay lays the day's cuts on the pile, in the evening: no run is under way that mixing could
// starve. Wood that is cut onto the rest of an earlier year's mixes with it.
func (p *Pile) Lay(s *State, day int) (m Moved) {
	for _, cut := range p.Cuts {
		if cut.Day == day {
			s.add(cut.Stack, cut.DryKg, cut.DryBasis)
			m.CutDryKg += cut.DryKg
			m.CutWaterKg += cut.DryKg * cut.DryBasis
		}
	}
	return m
}

// Burn takes dryKg off the ready stacks, the driest first; of stacks equally dry, the one named
// first. There must be so much ready wood. Its waste heat dries the rack.
func (p *Pile) Burn(s *State, dryKg float64) Burned {
	if p.Endless {
		return Burned{DryKg: dryKg, AsIsKg: dryKg * (1 + p.RatedDryBasis),
			StackedM3: SolidM3(dryKg, &p.Species) / p.SolidPerStacked}
	}
	var b Burned
	for left := dryKg; left > 0; {
		next := p.nextStack(s)
		if next < 0 {
			break // a rounding crumb more than there was
		}
		kg := min(left, s.DryKg[next])
		s.DryKg[next] -= kg
		left -= kg
		b.DryKg += kg
		b.AsIsKg += kg * (1 + s.DryBasis[next])
		b.StackedM3 += SolidM3(kg, p.species(s, next)) / p.SolidPerStacked
	}
	if p.Rack != nil {
		b.RackWaterKg = p.Rack.warm(s, b.DryKg*p.DryMJKg-place.HeatOfVaporisationMJKg*(b.AsIsKg-b.DryKg))
	}
	return b
}

// species returns what lies in a place.
func (p *Pile) species(s *State, i int) *Species {
	if p.Rack != nil && i == p.Rack.Dried {
		i = int(s.RackFrom[1])
	}
	return &p.Stacks[i].Species
}

// LossPerDay returns the daily share of a yearly one.
func LossPerDay(perYear float64) float64 { return 1 - math.Pow(1-perYear, 1.0/365) }

// Night dries every stack by a day, lets a day's share of the yearly loss go, and loads the rack.
func (p *Pile) Night(s *State, d *Drying) (m Moved) {
	for i := range p.Stacks {
		if s.DryKg[i] == 0 {
			continue
		}
		lost := s.DryKg[i] * p.LossPerDay
		s.DryKg[i] -= lost
		m.LostDryKg += lost
		m.LostWaterKg += lost * s.DryBasis[i]
		after := d.After(s.DryBasis[i], p.Stacks[i].Piece, p.Stacks[i].Cover)
		m.DriedWaterKg += s.DryKg[i] * (s.DryBasis[i] - after)
		s.DryBasis[i] = after
	}
	if p.Rack != nil {
		p.reload(s)
	}
	return m
}
