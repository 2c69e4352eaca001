package plan

// WithClasses has a plan made for days of a few classes, each known from the meter's first
// reading on, and nothing beside them.
func WithClasses(o Outlook, classes int, dayShare, memory float64) (with Outlook, factor []float64, follow [][]float64) {
	o.spread = newSpread(classes, dayShare, memory, 1, 0, 0)
	o.spread.meterShare = 1e-9
	return o, o.spread.factor, o.spread.follow
}

// ChoreWays is what a span costs by each way to do chores: as the days come, and in the first
// of their hours.
func ChoreWays(p *Plan) (asTheyComeKg, inFirstHoursKg float64) {
	return p.costKg(p.chooser()), p.costKg(p.chooser().inFirstHours())
}

// CostKg is what a life costs that has not begun.
func CostKg(c *Chooser) float64 { return c.plan.costKg(c) }

// Classes is how many kinds of days a plan tells apart.
func Classes(p *Plan) int { return p.spread.classes() }

// Belief is what a life takes today's deviation to be as the day begins, in standard
// deviations.
func Belief(c *Chooser) float64 { return c.belief.mean }

// Seen is what a life takes today's deviation to be by the meter, in standard deviations.
func Seen(c *Chooser) float64 { return c.seen.mean }
