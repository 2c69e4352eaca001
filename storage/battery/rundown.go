package battery

import (
	"fmt"
	"math"
)

// A Draw is a steady current for some hours.
type Draw struct{ Amps, Hours float64 }

// mostPieces bounds how long a run-down is followed.
const mostPieces = 10_000_000

// Rundown returns the hours until the at-hand well of a full, rested battery of
// two wells is first empty under draws that repeat. Amp-hours, share (at most 1)
// and constant must be more than 0; draws 0 or more, not all 0. An error: what is
// not so, or a battery that outlasts ten million pieces of the draw.
//
// Source: Manwell & McGowan 1993, the closed form for each steady piece.
func Rundown(ampHours, atHandShare, settlePerH float64, draws []Draw) (float64, error) {
	if !(ampHours > 0 && atHandShare > 0 && atHandShare <= 1 && settlePerH > 0) || math.IsInf(ampHours+settlePerH, 0) {
		return 0, fmt.Errorf("amp-hours, share at hand (at most 1) and settling constant must be more than 0, got %g, %g and %g", ampHours, atHandShare, settlePerH)
	}
	per := 0.0
	for _, d := range draws {
		if !(d.Amps >= 0 && d.Hours > 0) || math.IsInf(d.Amps+d.Hours, 0) {
			return 0, fmt.Errorf("a draw must be 0 A or more for more than no time, got %g A for %g h", d.Amps, d.Hours)
		}
		per += d.Amps * d.Hours
	}
	if per == 0 {
		return 0, fmt.Errorf("a draw of nothing at all never runs a battery down")
	}
	c, k := atHandShare, settlePerH
	// at hand and all after a steady current for t hours
	after := func(atHand, all, amps, t float64) float64 {
		e := math.Exp(-k * t)
		return atHand*e + all*c*(1-e) - amps*((1-e)+c*(k*t-1+e))/k
	}
	atHand, all, hours := c*ampHours, ampHours, 0.0
	for piece := range mostPieces {
		d := draws[piece%len(draws)]
		if after(atHand, all, d.Amps, d.Hours) <= 0 && d.Amps > 0 {
			low, high := 0.0, d.Hours
			for range 100 {
				if middle := (low + high) / 2; after(atHand, all, d.Amps, middle) > 0 {
					low = middle
				} else {
					high = middle
				}
			}
			return hours + high, nil
		}
		atHand = after(atHand, all, d.Amps, d.Hours)
		all -= d.Amps * d.Hours
		hours += d.Hours
	}
	return 0, fmt.Errorf("the battery outlasts %d pieces of the draw", mostPieces)
}
