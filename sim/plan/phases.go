package plan

import (
	"math"

	"twigwatt/sim"
)

// A phase is where a household stands in a day's runs: matches struck, run steps
// used, and steps since the match as far as they matter (0: not lit).
type phase struct{ starts, used, lit int }

// A node is a phase at a step of the day with where its two options lead: the
// index of a node of the next step, or −1 where the rules forbid the option.
type node struct {
	phase
	offTo, runTo int
	readyIndex   int  // of the run option: steps since the match at the step's end, as far as gas still comes
	match        bool // the run option strikes a match
}

// A graph is every phase that matters at each step of a day, one list a step and
// one for midnight after it. Phases from which the same can follow are one: none
// can be lit any more, or the day's hours can no longer bind.
type graph struct {
	nodes     [][]node
	index     [][]int16 // by step, then phase number: node, −1 where it cannot be
	litMost   int
	perStarts int
	usedMost  int
}

// newGraph works out a day on which runs are allowed, or not. A day that begins
// within has that moment's phase among its own, though no plan may lead to it.
func newGraph(h *sim.House, tendable bool, begins *Beginning) *graph {
	steps := h.Span.StepsADay()
	g := &graph{usedMost: h.MaxSteps(), litMost: max(h.MinSteps(), readySteps(h))}
	g.perStarts = (g.usedMost + 1) * (g.litMost + 1)
	remaining := make([]int, steps+1) // tended steps from here to midnight
	canLight := make([]bool, steps+1) // from here to midnight
	for i := steps - 1; i >= 0; i-- {
		remaining[i], canLight[i] = remaining[i+1], canLight[i+1]
		if h.TendedAhead(i) > 0 {
			remaining[i]++
		}
		canLight[i] = canLight[i] || h.TendedAhead(i) >= h.MinSteps()
	}
	over := phase{starts: h.Tending.MaxStarts, used: g.usedMost}
	canonical := func(p phase, step int) phase {
		if step == steps {
			return over
		}
		if p.lit == 0 && (!tendable || p.starts == h.Tending.MaxStarts || p.used+h.MinSteps() > g.usedMost || !canLight[step]) {
			return over
		}
		p.used = max(p.used, g.usedMost-remaining[step])
		return p
	}
	g.nodes = make([][]node, steps+1)
	g.index = make([][]int16, steps+1)
	for i := range g.index {
		g.index[i] = make([]int16, (h.Tending.MaxStarts+1)*g.perStarts)
		for j := range g.index[i] {
			g.index[i][j] = -1
		}
	}
	enter := func(p phase, step int) int {
		p = canonical(p, step)
		at := &g.index[step][g.number(p)]
		if *at < 0 {
			*at = int16(len(g.nodes[step]))
			g.nodes[step] = append(g.nodes[step], node{phase: p, offTo: -1, runTo: -1})
		}
		return int(*at)
	}
	enter(phase{}, 0)
	for step := range steps {
		if begins != nil && begins.OfDay == step {
			enter(g.phaseOf(&begins.State, h), step)
		}
		for i := 0; i < len(g.nodes[step]); i++ {
			g.follow(h, step, i, enter)
		}
	}
	return g
}

// phaseOf is the phase of a state.
func (g *graph) phaseOf(s *sim.State, h *sim.House) phase {
	return phase{starts: min(s.Starts, h.Tending.MaxStarts), used: min(s.TendedSteps, g.usedMost), lit: min(s.LitSteps, g.litMost)}
}

// follow finds where the options of a node lead.
func (g *graph) follow(h *sim.House, step, i int, enter func(phase, int) int) {
	n := g.nodes[step][i]
	if n.lit == 0 || n.lit >= h.MinSteps() {
		n.offTo = enter(phase{starts: n.starts, used: n.used}, step+1)
	}
	switch ahead := h.TendedAhead(step); {
	case n.lit > 0 && ahead > 0 && n.used < g.usedMost:
		lit := min(n.lit+1, g.litMost)
		n.runTo, n.readyIndex = enter(phase{n.starts, n.used + 1, lit}, step+1), min(lit, readySteps(h))
	case n.lit == 0 && n.starts < h.Tending.MaxStarts && ahead >= h.MinSteps() && n.used+h.MinSteps() <= g.usedMost:
		n.runTo, n.readyIndex, n.match = enter(phase{n.starts + 1, n.used + 1, 1}, step+1), 1, true
	}
	g.nodes[step][i] = n
}

// number tells phases apart.
func (g *graph) number(p phase) int { return p.starts*g.perStarts + p.used*(g.litMost+1) + p.lit }

// find returns the node of a household's state, or false where the graph has
// none: a state that no plan of this day leads to.
func (g *graph) find(s *sim.State, ofDay int) (*node, bool) {
	lit := min(s.LitSteps, g.litMost)
	for used := s.TendedSteps; used <= g.usedMost; used++ { // merged phases keep the most used
		if at := g.index[ofDay][g.number(phase{s.Starts, used, lit})]; at >= 0 {
			return &g.nodes[ofDay][at], true
		}
	}
	return nil, false
}

// readySteps is from which step of a run on the engine is ready for all of it.
func readySteps(h *sim.House) int {
	return int(math.Ceil(float64(h.Set.LightUpMinutes)/float64(h.Span.StepMinutes))) + 1
}
