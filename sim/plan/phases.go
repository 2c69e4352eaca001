package plan

import (
	"math"
	"slices"

	"twigwatt/sim"
)

// A phase is where a household stands in a day's runs: matches struck, run steps
// used, and steps since the match as far as they matter (0: not lit).
// by: the stand-by set runs.
type phase struct {
	starts, used, lit int
	by                bool
}

// A node is a phase at a step of the day with where its two options lead: the
// index of a node of the next step, or −1 where the rules forbid the option.
type node struct {
	phase
	offTo, runTo int
	byTo         int  // of the option in which the stand-by set runs
	byStarts     bool // which starts it
	readyIndex   int  // of the run option: steps since the match at the step's end, as far as gas still comes
	match        bool // the run option strikes a match
	refuels      bool // in the run option's step the hopper is opened
}

// A graph is every phase that matters at each step of a day, one list a step and
// one for midnight after it. Phases from which the same can follow are one: none
// can be lit any more, or the day's hours can no longer bind.
type graph struct {
	nodes     [][]node
	order     [][]int   // by step: the nodes, those whose off option leads to the same node in a row
	index     [][]int32 // by step, then phase number: node, −1 where it cannot be
	hopper    hopper
	litMost   int
	perStarts int
	usedMost  int
	mostNodes int // of any step
	allNodes  int // of all steps
	standby   bool
}

// A hopper is how many steps a run burns before it must be opened. 0: it need not be,
// or nobody minds.
type hopper struct{ firstSteps, everySteps int }

// hopperOf is the household's, at full power on wood at the rated moisture.
func hopperOf(h *sim.House) hopper {
	if h.Prices.RefuelKg == 0 || h.HopperAsIsKg == 0 {
		return hopper{}
	}
	const crumbKg = 1e-9
	asIs := 1 + h.Pile.RatedDryBasis
	stepKg := h.Set.FullKgH() * h.Span.StepH() * asIs
	burnedKg := h.Set.LightUpKg * asIs
	for steps := 1; steps <= h.MaxSteps(); steps++ {
		burnedKg += h.Set.Ready(steps*h.Span.StepMinutes, h.Span.StepMinutes) * stepKg
		if burnedKg > h.HopperAsIsKg+crumbKg {
			return hopper{steps, max(1, int(h.HopperAsIsKg/stepKg))}
		}
	}
	return hopper{}
}

// opens reports whether the hopper is opened in the step that is the lit-th of a run.
func (p hopper) opens(lit int) bool {
	return p.firstSteps > 0 && lit >= p.firstSteps && (lit-p.firstSteps)%p.everySteps == 0
}

// runs says whether a day has any.
type runs bool

const (
	runsBarred  runs = false
	runsAllowed runs = true
)

// newGraph works out a day on which runs are allowed, or not. A day that begins
// within (nil: at midnight) has that moment's phase among its own, though no plan may
// lead to it.
func newGraph(h *sim.House, allowed runs, standby bool, begins *Beginning) *graph {
	steps := h.Span.StepsADay()
	g := &graph{usedMost: h.MaxSteps(), litMost: max(h.MinSteps(), readySteps(h)), hopper: hopperOf(h), standby: standby}
	if first := g.hopper.firstSteps; first > 0 { // the hopper's level is part of a lit phase
		g.litMost = max(g.litMost, first) + g.hopper.everySteps - 1
	}
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
		if p.lit == 0 && (allowed == runsBarred || p.starts == h.Tending.MaxStarts ||
			p.used+h.MinSteps() > g.usedMost || !canLight[step]) {
			stands := over
			stands.by = p.by
			return stands
		}
		p.used = max(p.used, g.usedMost-remaining[step])
		return p
	}
	g.nodes = make([][]node, steps+1)
	g.index = make([][]int32, steps+1)
	for i := range g.index {
		g.index[i] = make([]int32, 2*(h.Tending.MaxStarts+1)*g.perStarts)
		for j := range g.index[i] {
			g.index[i][j] = -1
		}
	}
	enter := func(p phase, step int) int {
		p = canonical(p, step)
		at := &g.index[step][g.number(p)]
		if *at < 0 {
			*at = int32(len(g.nodes[step]))
			g.nodes[step] = append(g.nodes[step], node{phase: p, offTo: -1, runTo: -1, byTo: -1})
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
	g.order = make([][]int, steps)
	for step := range steps {
		for i := range g.nodes[step] {
			g.order[step] = append(g.order[step], i)
		}
		nodes := g.nodes[step]
		slices.SortStableFunc(g.order[step], func(a, b int) int { return nodes[a].offTo - nodes[b].offTo })
	}
	for _, nodes := range g.nodes {
		g.mostNodes = max(g.mostNodes, len(nodes))
		g.allNodes += len(nodes)
	}
	return g
}

// litOf is how many steps since the match stand for n of them.
func (g *graph) litOf(n int) int {
	if n <= g.litMost || g.hopper.firstSteps == 0 {
		return min(n, g.litMost)
	}
	every := g.hopper.everySteps
	return g.litMost - every + 1 + (n-g.litMost-1)%every
}

// phaseOf is the phase of a state.
func (g *graph) phaseOf(s *sim.State, h *sim.House) phase {
	return phase{starts: min(s.Starts, h.Tending.MaxStarts), used: min(s.TendedSteps, g.usedMost),
		lit: g.litOf(s.LitSteps), by: g.standby && s.StandbySteps > 0}
}

// follow finds where the options of a node lead.
func (g *graph) follow(h *sim.House, step, i int, enter func(phase, int) int) {
	n := g.nodes[step][i]
	if n.lit == 0 || n.lit >= h.MinSteps() {
		n.offTo = enter(phase{starts: n.starts, used: n.used}, step+1)
		if g.standby && h.StandbyIn(step) {
			n.byTo, n.byStarts = enter(phase{starts: n.starts, used: n.used, by: true}, step+1), !n.by
		}
	}
	switch tended := h.TendedAhead(step); {
	case n.lit > 0 && tended > 0 && n.used < g.usedMost:
		lit := g.litOf(n.lit + 1)
		n.runTo, n.readyIndex = enter(phase{n.starts, n.used + 1, lit, false}, step+1), min(lit, readySteps(h))
		n.refuels = g.hopper.opens(n.lit + 1)
	case n.lit == 0 && n.starts < h.Tending.MaxStarts && tended >= h.MinSteps() &&
		n.used+h.MinSteps() <= g.usedMost:
		n.runTo, n.readyIndex, n.match = enter(phase{n.starts + 1, n.used + 1, 1, false}, step+1), 1, true
		n.refuels = g.hopper.opens(1)
	}
	g.nodes[step][i] = n
}

// number tells phases apart.
func (g *graph) number(p phase) int {
	n := p.starts*g.perStarts + p.used*(g.litMost+1) + p.lit
	if p.by {
		n += len(g.index[0]) / 2
	}
	return n
}

// find returns the node of a household's state, or false where the graph has
// none: a state that no plan of this day leads to.
func (g *graph) find(s *sim.State, ofDay int) (*node, bool) {
	lit, by := g.litOf(s.LitSteps), g.standby && s.StandbySteps > 0 && ofDay > 0
	for used := s.TendedSteps; used <= g.usedMost; used++ { // merged phases keep the most used
		if at := g.index[ofDay][g.number(phase{s.Starts, used, lit, by})]; at >= 0 {
			return &g.nodes[ofDay][at], true
		}
	}
	if lit == 0 && g.standby { // no run can follow
		over := phase{starts: len(g.index[ofDay])/2/g.perStarts - 1, used: g.usedMost, by: by}
		if at := g.index[ofDay][g.number(over)]; at >= 0 {
			return &g.nodes[ofDay][at], true
		}
	}
	return nil, false
}

// readySteps is from which step of a run on the engine is ready for all of it.
func readySteps(h *sim.House) int {
	return int(math.Ceil(float64(h.Set.LightUpMinutes)/float64(h.Span.StepMinutes))) + 1
}
