package plan

// A table holds, for each step of a day, each node and each level of stored energy,
// the least price of all that follows, for one class of the day. Where full charges
// are wanted there are two sheets of it: while one is not due, and while one is due and
// has not been reached yet. Reaching full leads from the second to the first.
type table struct {
	grid   *grid
	graph  *graph
	values [2][][][]float64 // by sheet, by step (one more for midnight; see rows), by node, by level
	rows   int              // steps that have values of their own; the others overwrite them in turn
	off    [2][]float64     // scratch: the off option by sheet
	by     [2][]float64     // and that of the stand-by set
}

// The sheets of a table.
const (
	notDue = iota
	due
)

// A dayEnd is the values at a day's midnight on the day's own grid, by sheet; nil: the
// sheet is not wanted.
type dayEnd [2][]float64

// stepPrices are prices of a day's options that do not depend on what is stored.
type stepPrices struct {
	matchKg   []float64 // of a match, by step
	refuelKg  float64   // of opening a hot hopper
	byStartKg float64   // of starting the stand-by set
	fullAt    float64   // place on the grid from which the bank is full
}

// stepsKept says which steps' values of a day a table keeps.
type stepsKept bool

const (
	dawnAlone stepsKept = false
	everyStep stepsKept = true
)

// pass fills the table of a day backward from its midnight.
func (t *table) pass(g *graph, grid *grid, o *outcomes, end *dayEnd, p *stepPrices, kept stepsKept) {
	t.graph, t.grid = g, grid
	steps := len(g.nodes) - 1
	t.hold(end, kept)
	for sheet, values := range end {
		if values != nil {
			copy(t.row(sheet, steps)[0], values)
		}
	}
	for step := steps - 1; step >= 0; step-- {
		t.step(step, o, end, p)
	}
}

// step fills a step's values from the next one's. Nodes whose off option leads to the
// same node stand in a row, so that it is weighed once.
func (t *table) step(step int, o *outcomes, end *dayEnd, p *stepPrices) {
	withDue := end[due] != nil
	now, next := t.row(notDue, step), t.row(notDue, step+1)
	var nowDue, nextDue [][]float64
	if withDue {
		nowDue, nextDue = t.row(due, step), t.row(due, step+1)
	}
	to, byTo := -1, -1
	for _, i := range t.graph.order[step] {
		n := &t.graph.nodes[step][i]
		if n.offTo >= 0 && n.offTo != to {
			to = n.offTo
			follow(t.off[notDue], o.off[step], next[to])
			if withDue {
				followDue(t.off[due], o.off[step], next[to], nextDue[to], p.fullAt)
			}
		}
		if n.byTo >= 0 && n.byTo != byTo {
			byTo = n.byTo
			follow(t.by[notDue], o.by[step], next[byTo])
			if withDue {
				followDue(t.by[due], o.by[step], next[byTo], nextDue[byTo], p.fullAt)
			}
		}
		if n.runTo >= 0 {
			out := o.run[n.readyIndex][step]
			follow(now[i], out, next[n.runTo])
			if withDue {
				followDue(nowDue[i], out, next[n.runTo], nextDue[n.runTo], p.fullAt)
			}
		}
		for sheet, values := range [2][][]float64{now, nowDue} {
			if values != nil {
				choose(values[i], t.off[sheet], n, p.runKg(n, step))
				if n.byTo >= 0 {
					orStandBy(values[i], t.by[sheet], n, p.byStartKg)
				}
			}
		}
	}
}

// runKg is what the run option costs beside its outcome.
func (p *stepPrices) runKg(n *node, step int) float64 {
	kg := 0.0
	if n.match {
		kg += p.matchKg[step]
	}
	if n.refuels {
		kg += p.refuelKg
	}
	return kg
}

// choose keeps the cheaper of a node's options; values holds that of running.
func choose(values, off []float64, n *node, runKg float64) {
	switch {
	case n.runTo < 0:
		copy(values, off)
	case n.offTo < 0:
		for i := range values {
			values[i] += runKg
		}
	default:
		off = off[:len(values)]
		for i, run := range values {
			values[i] = min(run+runKg, off[i])
		}
	}
}

// orStandBy keeps the stand-by set's option where it is cheaper.
func orStandBy(values, by []float64, n *node, startKg float64) {
	if !n.byStarts {
		startKg = 0
	}
	for i, x := range by[:len(values)] {
		values[i] = min(values[i], x+startKg)
	}
}

// follow adds to the price of each outcome the value of where it leads.
func follow(into []float64, out []outcome, next []float64) {
	into = into[:len(out)]
	last := len(next) - 2
	for level := range out {
		o := &out[level]
		at := int(o.place)
		if uint(at) > uint(last) || o.place < 0 {
			into[level] = o.price + value(next, o.place)
			continue
		}
		here := next[at]
		into[level] = o.price + here + (o.place-float64(at))*(next[at+1]-here)
	}
}

// followDue does so on the sheet that is due: what reaches full goes on on the other.
// Places rise with the levels, or nearly so: the first that is full parts the two.
func followDue(into []float64, out []outcome, next, nextDue []float64, full float64) {
	from := 0
	for from < len(out) && out[from].place < full {
		from++
	}
	follow(into[:from], out[:from], nextDue)
	for level := from; level < len(out); level++ {
		if out[level].place >= full {
			into[level] = out[level].price + value(next, out[level].place)
		} else {
			into[level] = out[level].price + value(nextDue, out[level].place)
		}
	}
}

// row returns a step's values, by node.
func (t *table) row(sheet, step int) [][]float64 { return t.values[sheet][step%t.rows] }

// hold makes the table large enough.
func (t *table) hold(end *dayEnd, kept stepsKept) {
	g, levels := t.graph, len(t.grid.level)
	t.rows = 2
	if kept == everyStep {
		t.rows = len(g.nodes)
	}
	for sheet := range t.values {
		if end[sheet] == nil {
			continue
		}
		for len(t.values[sheet]) < t.rows {
			t.values[sheet] = append(t.values[sheet], nil)
		}
		for i := range t.rows {
			n := g.mostNodes
			if kept == everyStep {
				n = len(g.nodes[i])
			}
			if more := n - len(t.values[sheet][i]); more > 0 {
				slab := make([]float64, more*levels)
				for range more {
					t.values[sheet][i] = append(t.values[sheet][i], slab[:levels:levels])
					slab = slab[levels:]
				}
			}
		}
		if t.off[sheet] == nil {
			t.off[sheet], t.by[sheet] = make([]float64, levels), make([]float64, levels)
		}
	}
}
