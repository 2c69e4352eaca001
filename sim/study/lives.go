package study

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// UsualLives is how many lives an answer rests on unless more are asked for.
const UsualLives = 20

// Lives is what a span comes to over lives that differ in the luck of their days: loads
// that swing, a set that gives more or less; nothing fails. Means, unless said.
type Lives struct {
	N                                                      int
	ShortDays, ShortKWh, ShortH, DryKg, AttendedH, EngineH float64
	PriceKg                                                float64 // soft prices left out
	ShortDaysP90, ShortKWhP90                              float64 // that nine lives in ten do not pass
	LowestPct                                              float64 // charge, of all lives
	OverInverterShare                                      float64 // of what is missed: while the inverter gave all it can
}

// ShortDaysUp is the mean of short days rounded up to the tenth, so that a rare short
// day is not told as none.
func (l *Lives) ShortDaysUp() float64 {
	const crumb = 1e-9
	return math.Ceil(10*l.ShortDays-crumb) / 10
}

// Chance is what the lives of a household differ by.
type Chance struct {
	Wants *loads.Wants
	Luck  Luck
	Seed  uint64 // of the first life; each further one has the next
	Lives int
}

// steady reports whether all lives are alike.
func (c *Chance) steady() bool { return c.Wants.SwingShare == 0 && c.Luck.SetDailyShare == 0 }

// LiveChosen lives through a span by a plan: once as the household's own days come, with
// its books, and in the lives. steady is the span's demand without swings. watch, if not
// nil, is shown each step of the household's own. The only error is the context's.
func LiveChosen(ctx context.Context, h *sim.House, own, steady *loads.Demand, p *plan.Plan, c *Chance,
	watch func(sim.Moment, *sim.State, *sim.Flows)) (*sim.Books, *Lives, error) {
	chooser := p.Chooser()
	var lives []*life
	for i := range c.Count() {
		lives = append(lives, newLife(h, chooser.Follower(h), c.Wants, steady, c.Luck, ByDays, c.Seed+uint64(i)))
	}
	mine := sim.NewLife(h, own, chooser, watch)
	if err := sideBySide(ctx, h, mine.Day, lives, nil); err != nil {
		return nil, nil, err
	}
	return mine.Books, summed(h, lives), nil
}

// Count is how many lives there are: one where all are alike.
func (c *Chance) Count() int {
	if c.steady() {
		return 1
	}
	return c.Lives
}

// summed reads off what lives come to.
func summed(h *sim.House, lives []*life) *Lives {
	l := &Lives{N: len(lives), LowestPct: math.Inf(1)}
	n := float64(len(lives))
	var shortDays, shortKWh []float64
	for _, f := range lives {
		t := &f.total
		l.ShortDays += float64(t.shortDays) / n
		l.ShortKWh += t.shortKWh / n
		l.ShortH += t.shortH / n
		l.DryKg += t.dryKg / n
		l.AttendedH += t.attendedH / n
		l.EngineH += t.engineH / n
		l.PriceKg += f.priceKg() / n
		l.LowestPct = min(l.LowestPct, 100*f.lowestKWh/h.Bank.FullKWh)
		shortDays, shortKWh = append(shortDays, float64(t.shortDays)), append(shortKWh, t.shortKWh)
	}
	over := 0.0
	for _, f := range lives {
		over += f.total.overInverterKWh
	}
	if l.ShortKWh > 0 {
		l.OverInverterShare = over / n / l.ShortKWh
	}
	slices.Sort(shortDays)
	slices.Sort(shortKWh)
	const nineInTen = 0.9
	l.ShortDaysP90 = stat.Quantile(nineInTen, stat.Empirical, shortDays, nil)
	l.ShortKWhP90 = stat.Quantile(nineInTen, stat.Empirical, shortKWh, nil)
	return l
}
