package woodpile

import "twigwatt/sim/place"

// A Rack holds the next run's wood in the set's waste heat. It is loaded in the evening from the
// driest wood that is cut small, dries while the set runs, and the next evening what it dried may
// be burned. Two places of the pile are its: what dries, and what has dried.
type Rack struct {
	AsIsKg    float64 // it holds so much
	HeatShare float64 // of the burned wood's net heat that dries
	Dries     int     // index of the place that dries
	Dried     int     // index of the place that has dried
}

// leastRackDryBasis is as dry as waste heat makes wood (common practice, no source).
const leastRackDryBasis = 0.05

// warm dries the rack with the waste heat of a step and returns the water gone.
func (r *Rack) warm(s *State, burnedMJ float64) float64 {
	dry := s.DryKg[r.Dries]
	if dry == 0 {
		return 0
	}
	water := min(burnedMJ*r.HeatShare/place.HeatOfVaporisationMJKg, dry*max(0, s.DryBasis[r.Dries]-leastRackDryBasis))
	s.DryBasis[r.Dries] -= water / dry
	return water
}

// reload moves what has dried on, and loads the rack again from the driest wood
// cut small. Only one species lies on it at a time.
func (p *Pile) reload(s *State) {
	r := p.Rack
	if s.DryKg[r.Dried] > 0 && p.Stacks[s.RackFrom[0]].Species.Key != p.Stacks[s.RackFrom[1]].Species.Key {
		s.merge(int(s.RackFrom[1]), r.Dried, s.DryKg[r.Dried]) // what is left of another species goes back to its stack
	}
	s.merge(r.Dried, r.Dries, s.DryKg[r.Dries])
	s.RackFrom[1] = s.RackFrom[0]
	for {
		room := r.AsIsKg - s.asIsKg(r.Dries) - s.asIsKg(r.Dried)
		from := p.nextForRack(s, room/2) // a crumb of another species would keep the rack from filling
		if from < 0 {
			from = p.nextForRack(s, 0)
		}
		const crumbKg = 1e-6 // the rack is full
		if from < 0 || room < crumbKg {
			return
		}
		if s.DryKg[r.Dries] == 0 {
			s.RackFrom[0] = int8(from)
		}
		s.merge(r.Dries, from, min(s.DryKg[from], room/(1+s.DryBasis[from])))
	}
}

// nextForRack returns the driest stack of wood cut small, with so much as it lies
// and of the rack's species, or −1.
func (p *Pile) nextForRack(s *State, leastAsIsKg float64) int {
	r := p.Rack
	return p.driest(s, func(i int) bool {
		return i != r.Dries && i != r.Dried && p.Stacks[i].Piece != Log && s.asIsKg(i) >= leastAsIsKg &&
			(s.DryKg[r.Dries] == 0 || p.Stacks[i].Species.Key == p.Stacks[s.RackFrom[0]].Species.Key)
	})
}

// merge takes oven-dry wood with its water from one place to another.
func (s *State) merge(to, from int, dryKg float64) {
	s.add(to, dryKg, s.DryBasis[from])
	s.DryKg[from] -= dryKg
}

// add lays oven-dry wood of a moisture on a place, where it mixes with what lies there.
func (s *State) add(to int, dryKg, dryBasis float64) {
	if dryKg == 0 {
		return
	}
	sum := s.DryKg[to] + dryKg
	s.DryBasis[to] = (s.DryBasis[to]*s.DryKg[to] + dryBasis*dryKg) / sum
	s.DryKg[to] = sum
}

func (s *State) asIsKg(i int) float64 { return s.DryKg[i] * (1 + s.DryBasis[i]) }
