package plan

import "math"

// A spread is what a plan knows of how days differ from what is expected of them.
//
// A day's load is what is expected times a factor, log-normal with mean 1, whose
// logarithm is an autoregression of the first order from day to day. Of a day's
// deviation a part has shown on the meter by the time that runs are chosen: that part
// is the day's class, one of a few nodes between which the classes' values are read on
// straight lines. The rest shows before anybody tends a run, or in the evening when nothing
// can be done about it any more: it moves what is stored as the day begins and as it ends.
//
// The nodes and their chances from day to day are Rouwenhorst's, whose conditional
// mean and variance are exact (K. G. Rouwenhorst 1995, "Asset pricing implications of
// equilibrium business cycle models", in T. F. Cooley (ed.), Frontiers of Business
// Cycle Research, Princeton, ch. 10). Deviations are in standard deviations of the
// logarithm.
type spread struct {
	certain    bool        // days come as expected
	sigma      float64     // standard deviation of the logarithm of the day's factor; 0: the load comes as expected
	memory     float64     // correlation of a day's deviation with the last one's
	restVar    float64     // variance of the rest
	unit       []float64   // deviation of each class, in standard deviations of what shows
	node       []float64   // the same, in those of all
	factor     []float64   // on the day's load, of each class
	follow     [][]float64 // chance of each class after each
	restZ      []float64   // deviations of the rest
	restW      []float64   // their weights
	restKWh    float64     // share of the day's load that a rest can still move
	setShare   float64     // standard deviation of what the set gives from day to day
	meterShare float64     // error of a reading of the charge, standard deviation, of the bank's size
}

// asExpected is the spread of days that come as expected: one class.
func asExpected() *spread {
	return &spread{certain: true, unit: []float64{0}, node: []float64{0}, factor: []float64{1}, follow: [][]float64{{1}},
		restZ: []float64{0}, restW: []float64{1}}
}

// newSpread makes the spread of days whose factor has a standard deviation of
// dayShare, 0 where the sky alone spreads, and a memory of 0 to below 1. shown is the share of a day's
// variance beyond what yesterday says that the meter has shown by the time runs are
// chosen, unseen the share of the day's load still to come then.
func newSpread(classes int, dayShare, memory, shown, unseen, setShare float64) *spread {
	s := &spread{memory: memory, restKWh: unseen, setShare: setShare, meterShare: meterShare}
	s.sigma = math.Sqrt(math.Log1p(dayShare * dayShare))
	s.restVar = (1 - memory*memory) * (1 - shown)
	if classes == 1 { // nothing of a day is known beforehand: all of it moves the midnight
		const mostUnseen = 0.7 // the rest is met by the day's own run; a judgement
		s.restVar, s.restKWh = 1, mostUnseen
	}
	s.unit, s.follow = rouwenhorst(classes, memory)
	scale := math.Sqrt(1 - s.restVar)
	s.node = make([]float64, classes)
	for i, unit := range s.unit {
		s.node[i] = unit * scale
	}
	s.factor = s.factorsOf(1)
	// Gauss–Hermite, five nodes: Abramowitz & Stegun 1964, table 25.10, for a standard normal
	s.restZ = []float64{-2.8569700138728, -1.3556261799743, 0, 1.3556261799743, 2.8569700138728}
	s.restW = []float64{0.0112574113277, 0.2220759220056, 0.5333333333333, 0.2220759220056, 0.0112574113277}
	return s
}

// factorsOf returns the factor on the day's load of each class, where the load is a part of the
// class's deviation.
func (s *spread) factorsOf(part float64) []float64 {
	mean, n := 0.0, len(s.node)
	factor := make([]float64, n)
	for i := range factor {
		factor[i] = math.Exp(s.sigma * part * s.node[i])
		mean += binomial(n-1, i) * factor[i]
	}
	for i := range factor {
		factor[i] /= mean
	}
	return factor
}

// classes returns how many there are.
func (s *spread) classes() int { return len(s.node) }

// rouwenhorst returns nodes with mean 0 and variance 1 and the chances with which one
// follows another, for an autoregression of a memory.
func rouwenhorst(n int, memory float64) (node []float64, follow [][]float64) {
	node = make([]float64, n)
	p := (1 + memory) / 2
	follow = [][]float64{{1}}
	for size := 2; size <= n; size++ {
		next := make([][]float64, size)
		for i := range next {
			next[i] = make([]float64, size)
		}
		for i, row := range follow {
			for j, chance := range row {
				next[i][j] += p * chance
				next[i][j+1] += (1 - p) * chance
				next[i+1][j] += (1 - p) * chance
				next[i+1][j+1] += p * chance
			}
		}
		for _, row := range next[1 : size-1] { // entered twice
			for j := range row {
				row[j] /= 2
			}
		}
		follow = next
	}
	for i := range node {
		if n > 1 {
			node[i] = math.Sqrt(float64(n-1)) * (2*float64(i)/float64(n-1) - 1)
		}
	}
	return node, follow
}

// binomial returns the chance of k heads in n throws of a fair coin: the lasting
// chances of Rouwenhorst's nodes.
func binomial(n, k int) float64 {
	chance := math.Pow(0.5, float64(n))
	for i := range k {
		chance *= float64(n-i) / float64(i+1)
	}
	return chance
}

// moved returns by how much more than its class says, in kWh at the house, a share of a
// day's load turns out to be, where the class's is load: one figure for each rest. skyKWh is what
// no class says of the sun (standard deviation).
func (s *spread) moved(into []float64, load, share, setShare, skyKWh float64) {
	unseen := share * load
	sd := s.sigma * math.Sqrt(s.restVar)
	set := setShare * load // what the house takes is about what the set gives
	// the two are independent: one log-normal with the variance of both
	variance := unseen * unseen * math.Expm1(sd*sd)
	variance += set*set + skyKWh*skyKWh
	if load <= 0 || variance <= 0 {
		clear(into[:len(s.restZ)])
		return
	}
	logVar := math.Log1p(variance / (load * load))
	for i, z := range s.restZ {
		into[i] = load * math.Expm1(math.Sqrt(logVar)*z-logVar/2)
	}
}

// weights shares a deviation, known as a normal distribution, among the classes:
// the mean of reading on straight lines between them.
func (s *spread) weights(into []float64, mean, variance float64) {
	clear(into)
	n := len(s.node)
	if n == 1 {
		into[0] = 1
		return
	}
	sd := math.Sqrt(max(0, variance))
	// over[i] is the mean of what a deviation is over node i, nothing where it is under it
	over := func(at float64) float64 {
		if sd < 1e-9 {
			return max(0, mean-at)
		}
		return sd * meanOver((mean-at)/sd)
	}
	width := s.node[1] - s.node[0]
	before := 1.0 // slope of the sum so far: chance of being over
	last := over(s.node[0])
	for i := 0; i < n-1; i++ {
		next := over(s.node[i+1])
		share := (last - next) / width // mean share of the way from i to i+1
		into[i] += before - share
		before, last = share, next
	}
	into[n-1] += before
}

// factorAt is the day's factor so many standard deviations from what is known of it.
func (s *spread) factorAt(b belief, z float64) float64 {
	return math.Exp(s.sigma*(b.mean+math.Sqrt(b.variance)*z) - s.sigma*s.sigma/2)
}

// meanOver is the mean of what a standard normal is over −x, nothing where it is under it:
// x·Φ(x) + φ(x), read on straight lines between points of a table.
func meanOver(x float64) float64 {
	switch place := (x + meanOverEnd) * meanOverPer; {
	case place <= 0:
		return 0
	case place >= 2*meanOverEnd*meanOverPer:
		return x
	default:
		i := int(place)
		return meanOverTable[i] + (place-float64(i))*(meanOverTable[i+1]-meanOverTable[i])
	}
}

// The table reaches as far as matters, in steps whose straight lines err by 3e-6 at most.
const meanOverEnd, meanOverPer = 6, 128

var meanOverTable = func() (table [2*meanOverEnd*meanOverPer + 1]float64) {
	for i := range table {
		x := float64(i)/meanOverPer - meanOverEnd
		table[i] = x*0.5*math.Erfc(-x/math.Sqrt2) + math.Exp(-x*x/2)/math.Sqrt(2*math.Pi)
	}
	return table
}()

// A belief is what is known of today's deviation: a normal distribution.
type belief struct{ mean, variance float64 }

// tomorrow is what is known of the next day at a day's end.
func (s *spread) tomorrow(b belief) belief {
	return belief{s.memory * b.mean, s.memory*s.memory*b.variance + 1 - s.memory*s.memory}
}

// seen is a belief after the meter has shown takenKWh where expectedKWh were expected,
// with an error of meterKWh (standard deviation): the likeliest deviation, by a few steps of
// Gauss and Newton, and how sure it is there.
func (s *spread) seen(b belief, takenKWh, expectedKWh, meterKWh float64) belief {
	if s.sigma == 0 || expectedKWh <= 0 || b.variance == 0 {
		return b
	}
	const steps, reach = 4, 6 // standard deviations beyond which no day lies
	sure := 1 / (meterKWh * meterKWh)
	z := b.mean
	for range steps {
		shownKWh := expectedKWh * math.Exp(s.sigma*z-s.sigma*s.sigma/2)
		slope := s.sigma * shownKWh // kWh for each standard deviation
		z += ((b.mean-z)/b.variance + slope*(takenKWh-shownKWh)*sure) / (1/b.variance + slope*slope*sure)
		z = max(-reach, min(reach, z))
	}
	slope := s.sigma * expectedKWh * math.Exp(s.sigma*z-s.sigma*s.sigma/2)
	return belief{z, 1 / (1/b.variance + slope*slope*sure)}
}
