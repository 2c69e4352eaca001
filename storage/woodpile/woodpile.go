// Package woodpile models the wood: stacks by species, piece and cover, what of
// them is ready to gasify, and what is burned, driest first.
//
// A Pile is equipment and never changes; a State is a plain value. Burn takes
// wood off it, Night lets a day's share of the yearly loss go; both change it in
// place, for a year has no time for copies. Left out for now:
// drying; a stack keeps the moisture it is given.
package woodpile

import "math"

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

// A Stack is one lot of wood as the span begins.
type Stack struct {
	Name     string
	Species  Species
	Piece    Piece
	Cover    Cover
	DryKg    float64 // oven-dry, 0 or more
	DryBasis float64 // kg of water for each oven-dry kg
}

// A Pile is all wood, and how it is counted.
type Pile struct {
	Endless         bool // ready wood at the rated moisture without end
	Stacks          []Stack
	Species         Species // of endless wood
	RatedDryBasis   float64 // moisture of endless wood
	MostDryBasis    float64 // wetter wood is not ready
	SolidPerStacked float64 // m³/m³
	SolidPerLoose   float64
	LossPerDay      float64 // share of the dry wood that rots or is lost: see LossPerDay
	WorkHPerStacked float64 // hours to cut, split, chunk and stack a stacked m³
}

// A State is what lies in each stack.
type State struct {
	DryKg    [MostStacks]float64
	DryBasis [MostStacks]float64
}

// Burned is wood taken off the pile.
type Burned struct{ DryKg, AsIsKg, StackedM3 float64 }

// Start returns the pile as the span begins.
func (p *Pile) Start() State {
	var s State
	for i, stack := range p.Stacks {
		s.DryKg[i], s.DryBasis[i] = stack.DryKg, stack.DryBasis
	}
	return s
}

// SolidM3 returns the volume of a species' oven-dry wood, without bark.
func SolidM3(dryKg float64, species *Species) float64 { return dryKg / (1000 * species.Gravity) }

// DryKg returns the oven-dry wood in a solid volume without bark.
func DryKg(solidM3 float64, species *Species) float64 { return solidM3 * 1000 * species.Gravity }

// ready reports whether a stack's wood can be gasified.
func (p *Pile) ready(s *State, i int) bool {
	return s.DryKg[i] > 0 && p.Stacks[i].Piece != Log && s.DryBasis[i] <= p.MostDryBasis
}

// ReadyKg returns the oven-dry wood that can be gasified, +Inf for endless wood.
func (p *Pile) ReadyKg(s *State) float64 {
	if p.Endless {
		return math.Inf(1)
	}
	kg := 0.0
	for i := range p.Stacks {
		if p.ready(s, i) {
			kg += s.DryKg[i]
		}
	}
	return kg
}

// TotalKg returns all oven-dry wood, +Inf for endless wood.
func (p *Pile) TotalKg(s *State) float64 {
	if p.Endless {
		return math.Inf(1)
	}
	kg := 0.0
	for i := range p.Stacks {
		kg += s.DryKg[i]
	}
	return kg
}

// Burn takes dryKg off the ready stacks, the driest first; of stacks equally
// dry, the one named first. There must be so much ready wood.
func (p *Pile) Burn(s *State, dryKg float64) Burned {
	if p.Endless {
		return Burned{DryKg: dryKg, AsIsKg: dryKg * (1 + p.RatedDryBasis), StackedM3: SolidM3(dryKg, &p.Species) / p.SolidPerStacked}
	}
	var b Burned
	for left := dryKg; left > 0; {
		driest := -1
		for i := range p.Stacks {
			if p.ready(s, i) && (driest < 0 || s.DryBasis[i] < s.DryBasis[driest]) {
				driest = i
			}
		}
		if driest < 0 {
			break // a rounding crumb more than there was
		}
		kg := min(left, s.DryKg[driest])
		s.DryKg[driest] -= kg
		left -= kg
		b.DryKg += kg
		b.AsIsKg += kg * (1 + s.DryBasis[driest])
		b.StackedM3 += SolidM3(kg, &p.Stacks[driest].Species) / p.SolidPerStacked
	}
	return b
}

// LossPerDay returns the daily share of a yearly one.
func LossPerDay(perYear float64) float64 { return 1 - math.Pow(1-perYear, 1.0/365) }

// Night lets a day's share of the yearly loss go and returns it in oven-dry kg.
func (p *Pile) Night(s *State) float64 {
	lost := 0.0
	for i := range p.Stacks {
		kg := s.DryKg[i] * p.LossPerDay
		s.DryKg[i] -= kg
		lost += kg
	}
	return lost
}
