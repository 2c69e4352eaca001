package sun

import (
	"math"
	"math/rand/v2"
)

// Draws are the skies of days, drawn one after another: an autoregression of the first order of the
// deviation that a day's clearness has, in standard deviations of a normal distribution.
type Draws struct {
	random       *rand.Rand
	memory       float64
	mean, spread float64 // of the next day's
}

// NewDraws begins the skies of a seed; nil where days do not come by luck.
func (h *Harvest) NewDraws(seed uint64) *Draws {
	if h == nil || !h.ByLuck() {
		return nil
	}
	const stream = 0x736b7966616c6c73 // keeps these draws apart from others of the same seed
	return &Draws{random: rand.New(rand.NewPCG(seed, stream)), memory: h.Memory(), spread: 1}
}

// Next returns the next day's deviation; 0 where there is no luck.
func (d *Draws) Next() float64 {
	if d == nil {
		return 0
	}
	z := d.mean + d.spread*d.random.NormFloat64()
	d.mean, d.spread = d.memory*z, math.Sqrt(1-d.memory*d.memory)
	return z
}
