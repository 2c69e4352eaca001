// Package study searches over many simulated spans for what a household asks: how
// many hours, the best fixed window, how big a bank, how much wood and when to cut
// it, how bad it can get, and what to do today.
//
// Each search takes a checked House and its Demand and gives a result with its
// warnings: Hours, Window, Bank, Wood, Risk, Sheet. Long ones obey a context and work
// on all cores, with the same result on any number. Left out: money, and the choice
// between makes of equipment.
package study

import (
	"context"
	"math"
	"runtime"
	"sync"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/plan"
)

// A Window is a fixed daily run and what a span of it comes to.
type Window struct {
	StartStep, Steps int // of the day
	Summary          *sim.Summary
}

// marginKg: windows this near in price are alike; the shorter, then the earlier, stands.
const marginKg = 1e-6

// BestWindow returns the fixed daily window of the least price among those with
// at least so many attended hours in the span: every start, and lengths in whole
// steps from the shortest that holds the hours, until a longer one costs more.
// choreKW are the chores' powers by step, nil for none. It returns nil where no
// window within the rules holds the hours. The only error is the context's.
func BestWindow(ctx context.Context, h *sim.House, d *loads.Demand, choreKW []float64, attendedH float64) (*Window, error) {
	tendable := 0
	for i := range h.Days {
		if h.Days[i].Tendable {
			tendable++
		}
	}
	if tendable == 0 {
		return nil, ctx.Err()
	}
	shortest := max(h.MinSteps(), plan.StepsUp(attendedH/float64(tendable), h.Span.StepH()))
	var best *Window
	for steps := shortest; steps <= h.MaxSteps(); steps++ {
		found, err := bestOfLength(ctx, h, d, choreKW, steps, attendedH)
		if err != nil {
			return nil, err
		}
		if best != nil && (found == nil || fullPrice(found) >= fullPrice(best)-marginKg) {
			break
		}
		if found != nil {
			best = found
		}
	}
	return best, nil
}

// fullPrice is what plans are weighed by: the price with the soft prices.
func fullPrice(w *Window) float64 { return w.Summary.Price.TotalKg() + w.Summary.Price.SoftKg }

// bestOfLength tries every start that the tending hours allow, on all cores.
func bestOfLength(ctx context.Context, h *sim.House, d *loads.Demand, choreKW []float64, steps int, attendedH float64) (*Window, error) {
	tried := make([]*Window, h.Span.StepsADay())
	errs := make([]error, len(tried))
	starts := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for start := range starts {
				tried[start], errs[start] = try(ctx, h, d, choreKW, start, steps)
			}
		})
	}
	for start := range tried {
		if h.TendedAhead(start) >= steps {
			starts <- start
		}
	}
	close(starts)
	workers.Wait()
	var best *Window
	least := math.Inf(1)
	for start, w := range tried {
		if errs[start] != nil {
			return nil, errs[start]
		}
		const roundingH = 1e-6
		if w != nil && w.Summary.Total.AttendedH >= attendedH-roundingH && fullPrice(w) < least-marginKg {
			best, least = w, fullPrice(w)
		}
	}
	return best, nil
}

func try(ctx context.Context, h *sim.House, d *loads.Demand, choreKW []float64, start, steps int) (*Window, error) {
	books, err := sim.Run(ctx, h, d, &plan.EveryDay{House: h, StartStep: start, StopStep: start + steps, ChoreKW: choreKW}, nil)
	if err != nil {
		return nil, err
	}
	return &Window{StartStep: start, Steps: steps, Summary: sim.Summarize(h, books, nil)}, nil
}
