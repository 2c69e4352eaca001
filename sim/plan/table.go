package plan

// A table holds, for each step of a day, each phase and each level of stored
// energy, the least price of all that follows.
type table struct {
	grid   *grid
	graph  *graph
	values [][][]float64 // by step (one more for midnight), by node, by level
	off    [][]float64   // scratch: the off option by the node it leads to
	done   []bool
}

// A reward is earned by every option that leads from below a place on the grid to
// it or above.
type reward struct{ reach, kg float64 }

// pass fills the table of a day backward from the values at its midnight, given
// on the table's own grid. matchKg is what a match costs.
func (t *table) pass(g *graph, grid *grid, o *outcomes, midnight []float64, matchKg float64, earns reward) {
	t.graph, t.grid = g, grid
	steps, levels := len(g.nodes)-1, len(grid.level)
	t.room(g, levels)
	copy(t.values[steps][0], midnight)
	for step := steps - 1; step >= 0; step-- {
		next := t.values[step+1]
		for i := range next[:len(g.nodes[step+1])] {
			t.done[i] = false
		}
		for i := range g.nodes[step] {
			n, value := &g.nodes[step][i], t.values[step][i]
			if n.runTo >= 0 {
				out := o.run[n.readyIndex][step]
				follow(value, out, next[n.runTo], earns)
				if n.match {
					for level := range value {
						value[level] += matchKg
					}
				}
			}
			if n.offTo < 0 {
				continue
			}
			off := t.off[n.offTo]
			if !t.done[n.offTo] {
				follow(off, o.off[step], next[n.offTo], earns)
				t.done[n.offTo] = true
			}
			if n.runTo < 0 {
				copy(value, off)
				continue
			}
			for level, price := range off {
				if price < value[level] {
					value[level] = price
				}
			}
		}
	}
}

// follow adds to the price of each outcome the value of where it leads.
func follow(into []float64, out []outcome, next []float64, earns reward) {
	into = into[:len(out)]
	for level := range out {
		into[level] = out[level].price + value(next, out[level].place)
	}
	if earns.kg == 0 {
		return
	}
	for level := range out {
		if float64(level) < earns.reach && out[level].place >= earns.reach {
			into[level] -= earns.kg
		}
	}
}

// room makes the table large enough.
func (t *table) room(g *graph, levels int) {
	for len(t.values) < len(g.nodes) {
		t.values = append(t.values, nil)
	}
	for step := range g.nodes {
		for len(t.values[step]) < len(g.nodes[step]) {
			t.values[step] = append(t.values[step], make([]float64, levels))
		}
		for len(t.off) < len(g.nodes[step]) {
			t.off = append(t.off, make([]float64, levels))
			t.done = append(t.done, false)
		}
	}
}
