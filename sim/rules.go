package sim

import "twigwatt/sim/calendar"

// tendedAhead counts, from each step of a day, how many steps in a row lie
// wholly in the tending hours.
func tendedAhead(hours []calendar.Window, span calendar.Span) []int {
	ahead := make([]int, span.StepsADay())
	for i := len(ahead) - 1; i >= 0; i-- {
		from, to := float64(i*span.StepMinutes), float64((i+1)*span.StepMinutes)
		if calendar.OverlapMinutes(hours, from, to) < to-from {
			continue
		}
		ahead[i] = 1
		if i+1 < len(ahead) {
			ahead[i] += ahead[i+1]
		}
	}
	return ahead
}

// A Moment is a step of the span: its number, its day of the span and its place
// in the day.
type Moment struct{ Step, Day, OfDay int }

// At returns the moment of a step.
func (h *House) At(step int) Moment {
	return Moment{Step: step, Day: step / h.stepsADay, OfDay: step % h.stepsADay}
}

// MayRun reports whether the set may burn in a step: by the tending hours and
// days, the hours and starts left today, midnight, a set that is not broken, and
// ready wood for the shortest run (at a match) or for the step.
func (h *House) MayRun(s *State, at Moment) bool {
	if day := &h.Days[at.Day]; !day.Tendable || day.Broken || h.tendedAhead[at.OfDay] == 0 {
		return false
	}
	if s.LitSteps > 0 { // no run crosses midnight, and none begins as one ends
		return at.OfDay > 0 && s.TendedSteps < h.maxSteps && (h.Pile.Endless || h.Pile.ReadyKg(&s.Pile) >= h.fullStepKg-roundingKg)
	}
	return s.Starts < h.Tending.MaxStarts && h.tendedAhead[at.OfDay] >= h.minSteps && s.TendedSteps+h.minSteps <= h.maxSteps &&
		h.HasReadyWood(s)
}

// MustRun reports whether a run is too young to be stopped. One whose wood went
// into light-ups that failed stops all the same.
func (h *House) MustRun(s *State, at Moment) bool {
	return s.LitSteps > 0 && s.LitSteps < h.minSteps && at.OfDay > 0 &&
		(h.Pile.Endless || h.Pile.ReadyKg(&s.Pile) >= h.fullStepKg-roundingKg)
}

// ReadyNext is the share of the step that begins in which the engine would give
// power were it a step of a run.
func (h *House) ReadyNext(s *State) float64 {
	return h.Set.Ready((s.LitSteps+1)*h.Span.StepMinutes-s.LateMinutes, h.Span.StepMinutes)
}

// roundingKg: a run that was fed all along must not starve at its last step for
// the rounding of those before.
const roundingKg = 1e-9

// HasReadyWood reports whether the shortest run can be fed at full power.
func (h *House) HasReadyWood(s *State) bool {
	return h.Pile.Endless || h.Pile.ReadyKg(&s.Pile) >= h.minRunKg
}

// MinSteps returns the fewest steps of a run.
func (h *House) MinSteps() int { return h.minSteps }

// MaxSteps returns the most run steps in a day.
func (h *House) MaxSteps() int { return h.maxSteps }

// TendedAhead returns how many steps in a row are tended from a step of the day on.
func (h *House) TendedAhead(ofDay int) int { return h.tendedAhead[ofDay] }
