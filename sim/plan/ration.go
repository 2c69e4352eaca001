package plan

import (
	"context"
	"math"

	"twigwatt/sim"
)

// A Ration is a price of wood, for some days of the span, at which the ready
// wood lasts through them.
type Ration struct {
	FirstDay, LastDay int     // of the span
	WoodKg            float64 // price of a kg of oven-dry wood, more than 1
	EasedKg           float64 // a little less, at which the wood does not last
	DearShare         float64 // of the days, evenly spread, on which WoodKg holds; EasedKg on the others
	Lasts             bool    // false: it lasts at no price that was tried
}

// Prices of wood tried: beyond the dearest, or twice that of a kWh of shortfall, the house
// would rather be dark.
const (
	dearestWood    = 256.0
	rationHalvings = 10
	easeHalvings   = 6
	mostRations    = 12 // stretches of the span, each with its price
)

// FindRations searches, for each stretch of the span that ends without ready
// wood, the least price of wood at which chosen runs, in the expected days, never
// want for it. A stretch ends when wood is ready again. None are needed where the
// pile lasts. The only error is the context's.
func FindRations(ctx context.Context, h *sim.Household, o Outlook) ([]Ration, error) {
	rations, _, err := findRations(ctx, h, o)
	return rations, err
}

// findRations is FindRations with what the rations leave ready, oven-dry kg as each day of the
// expected days begins.
func findRations(ctx context.Context, h *sim.Household, o Outlook) (rations []Ration, readyKg []float64, err error) {
	expected := h.Unbroken()
	if o.Foresight != Exact {
		expected = expected.Wanting(h.Demand.Expected())
	}
	// gap returns the first stretch without ready wood under a set of rations
	gap := func(rations []Ration) (first, after int, err error) {
		o.WoodKg = WoodPrices(rations, len(h.Days))
		p, err := New(ctx, expected, o)
		if err != nil {
			return 0, 0, err
		}
		books, err := sim.Run(ctx, expected, p.Chooser(), nil)
		if err != nil {
			return 0, 0, err
		}
		readyKg = readyKg[:0]
		for i := range books.Days {
			readyKg = append(readyKg, books.Days[i].ReadyDryKg)
		}
		return firstGap(books.Days, rations)
	}
	from := 0
	for len(rations) < mostRations {
		first, after, err := gap(rations)
		if err != nil || first < 0 {
			return rations, readyKg, err
		}
		dearest := max(dearestWood, 2*h.Prices.ShortKgPerKWh)
		next := Ration{FirstDay: from, LastDay: after - 1, WoodKg: dearest, DearShare: 1}
		lasts := func(woodKg float64) (bool, error) {
			next.WoodKg = woodKg
			tried := next
			tried.Lasts = true // or the gap would be looked for after it
			first, _, err := gap(append(rations[:len(rations):len(rations)], tried))
			return first < 0 || first > next.LastDay, err
		}
		if next.Lasts, err = lasts(dearest); err != nil {
			return nil, nil, err
		}
		low, high := 0.0, math.Log(dearest) // lasts at high, not at low
		for i := 0; next.Lasts && i < rationHalvings; i++ {
			middle := (low + high) / 2
			ok, err := lasts(math.Exp(middle))
			if err != nil {
				return nil, nil, err
			}
			if ok {
				high = middle
			} else {
				low = middle
			}
		}
		next.WoodKg, next.EasedKg = math.Exp(high), math.Exp(low)
		if next.Lasts {
			err = ease(&next, func() (bool, error) { return lasts(next.WoodKg) })
		}
		if err != nil {
			return nil, nil, err
		}
		rations = append(rations, next)
		from = after
	}
	_, _, err = gap(rations)
	return rations, readyKg, err
}

// ahead is by how much wood is dearer than its ration's price where less lies ready than the
// expected days would have left, and cheaper where more does: by a fixed share for each day's wood.
func (p *Plan) ahead(day int, readyKg float64) float64 {
	const shareADay, most = 0.15, 4.0 // a judgement
	expected := p.outlook.ReadyKg
	if day >= len(expected) || !(expected[0] > 0) {
		return 1
	}
	dayKg := expected[0] / float64(len(expected))
	return max(1/most, min(most, math.Exp(shareADay*(expected[day]-readyKg)/dayKg)))
}

// ease finds the least share of a ration's days on which its price must hold.
// Shortfall has one price however much is missing, so the plan turns at one price
// of wood from serving nearly all to saving nearly all: between the two the days
// are mixed, evenly, and wood and darkness are spread.
func ease(r *Ration, lasts func() (bool, error)) error {
	low, high := 0.0, 1.0 // lasts at high, not at low
	for range easeHalvings {
		r.DearShare = (low + high) / 2
		ok, err := lasts()
		if err != nil {
			return err
		}
		if ok {
			high = r.DearShare
		} else {
			low = r.DearShare
		}
	}
	r.DearShare = high
	return nil
}

// on returns the price of wood on a day of a ration's stretch.
func (r *Ration) on(day int) float64 {
	n := float64(day - r.FirstDay)
	if math.Floor((n+1)*r.DearShare) > math.Floor(n*r.DearShare) {
		return r.WoodKg
	}
	return r.EasedKg
}

// firstGap returns the first stretch of days without ready wood that is not
// among those for which no price helps, −1 where there is none.
func firstGap(days []sim.DayRecord, rations []Ration) (first, after int, err error) {
	begin := 0
	for _, r := range rations {
		if !r.Lasts {
			begin = r.LastDay + 1
		}
	}
	for first = begin; first < len(days); first++ {
		if !days[first].WithoutReadyWood {
			continue
		}
		for after = first; after < len(days) && (days[after].WithoutReadyWood || !days[after].Tendable); after++ {
		}
		return first, after, nil
	}
	return -1, len(days), nil
}

// WoodPrices returns the price of wood on each day of a span.
func WoodPrices(rations []Ration, days int) []float64 {
	prices := make([]float64, days)
	for day := range prices {
		prices[day] = 1
		for i := range rations {
			if r := &rations[i]; r.FirstDay <= day && day <= r.LastDay {
				prices[day] = r.on(day)
			}
		}
	}
	return prices
}
