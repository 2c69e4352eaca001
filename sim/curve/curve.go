// Package curve reads curves that are given as points, and finds by halving where something
// turns. Left out: anything smoother than a straight line, and functions that turn twice.
package curve

import (
	"cmp"
	"slices"
)

// A Point of a curve. What X and Y are, and their units, stands beside each curve.
type Point struct{ X, Y float64 }

// A Curve is points joined by straight lines: two or more, X rising.
type Curve []Point

// Around returns the two points between which x lies: the first two before the curve begins,
// the last two where it has ended.
func (c Curve) Around(x float64) (from, to Point) {
	after, _ := slices.BinarySearchFunc(c, x, func(p Point, x float64) int { return cmp.Compare(p.X, x) })
	i := max(1, min(after, len(c)-1))
	return c[i-1], c[i]
}

// At reads the curve. Beyond its ends the first and the last line go straight on.
func (c Curve) At(x float64) float64 {
	from, to := c.Around(x)
	return from.Y + (x-from.X)*(to.Y-from.Y)/(to.X-from.X)
}

// Held reads the curve as At does, but beyond its ends it keeps the value of the end.
func (c Curve) Held(x float64) float64 {
	switch first, last := c[0], c[len(c)-1]; {
	case x <= first.X:
		return first.Y
	case x >= last.X:
		return last.Y
	}
	return c.At(x)
}

// LastBit is as many halvings as leave no number between two bounds, unless the turn is at 0.
const LastBit = 200

// Bisect halves the way from low to high, so many times at most, and returns the two numbers
// between which below turns from true to false. Where it never turns, they are at the end nearer to
// the turn. Bounds that are not numbers, or stand the wrong way round, come back as they are.
func Bisect(low, high float64, halvings int, below func(x float64) bool) (lower, upper float64) {
	for range halvings {
		middle := low + (high-low)/2
		if !(low < middle && middle < high) {
			break
		}
		if below(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, high
}
