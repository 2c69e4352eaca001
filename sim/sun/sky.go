package sun

import "math"

// A Sky is how a day's clearness spreads about a month's mean.
//
// Source: Bendt, Collares-Pereira & Rabl 1981, Solar Energy 27:1; the ends and the density's slope as
// in Hollands & Huget 1983, Solar Energy 30:195 (both from memory).
type Sky struct {
	Mean        float64
	least, most float64
	slope       float64 // the density of a clearness K goes as e^(slope·K)
}

// NewSky returns the sky of a month whose days' clearness has a mean, more than 0 and less than 1.
func NewSky(mean float64) Sky {
	s := Sky{Mean: mean, least: min(0.05, mean/3),
		most: max(0.6313+0.267*mean-11.9*math.Pow(mean-0.75, 8), 1.02*mean+0.01)}
	low, high := -500.0, 500.0
	for range 100 { // halvings
		if s.slope = (low + high) / 2; s.meanNow() < mean {
			low = s.slope
		} else {
			high = s.slope
		}
	}
	return s
}

// straight: of a density this even the quantiles lie on a straight line.
const straight = 1e-6

// meanNow is the mean clearness by the slope.
func (s *Sky) meanNow() float64 {
	g, width := s.slope, s.most-s.least
	if math.Abs(g) < straight {
		return (s.least + s.most) / 2
	}
	return s.most - 1/g + width/math.Expm1(g*width)
}

// Clearness returns the clearness that a chance (0 to 1) of days does not pass.
func (s *Sky) Clearness(chance float64) float64 {
	g, width := s.slope, s.most-s.least
	switch {
	case math.Abs(g) < straight:
		return s.least + chance*width
	case g > 0: // from the top, that e to a large power is never asked for
		return s.most + math.Log((1-chance)*math.Exp(-g*width)+chance)/g
	}
	return s.least + math.Log((1-chance)+chance*math.Exp(g*width))/g
}

// Classes returns the clearness of so many kinds of days of one chance, scaled so that their mean is
// the month's.
func (s *Sky) Classes(n int) []float64 {
	classes, sum := make([]float64, n), 0.0
	for i := range classes {
		classes[i] = s.Clearness((float64(i) + 0.5) / float64(n))
		sum += classes[i]
	}
	for i := range classes {
		classes[i] *= s.Mean * float64(n) / sum
	}
	return classes
}
