package calendar

import "fmt"

// MinutesADay is the length of every day here.
const MinutesADay = 24 * 60

// A Span is a run of whole days cut into even steps. StepMinutes divides a day.
type Span struct {
	Start       Date
	Days        int
	StepMinutes int
}

// StepsADay returns the number of steps in a day.
func (s Span) StepsADay() int { return MinutesADay / s.StepMinutes }

// Steps returns the number of steps in the span.
func (s Span) Steps() int { return s.Days * s.StepsADay() }

// StepH returns the length of a step in hours.
func (s Span) StepH() float64 { return float64(s.StepMinutes) / 60 }

// End returns the first day after the span.
func (s Span) End() Date { return s.Start + Date(s.Days) }

// Date returns the day a step lies in.
func (s Span) Date(step int) Date { return s.Start + Date(step/s.StepsADay()) }

// StepTime writes the moment at which a step begins as 2025-01-31T16:30.
func (s Span) StepTime(step int) string {
	return fmt.Sprintf("%sT%s", s.Date(step), Clock(step%s.StepsADay()*s.StepMinutes))
}
