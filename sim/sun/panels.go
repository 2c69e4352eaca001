package sun

import (
	"math"
	"slices"

	"twigwatt/sim/calendar"
	"twigwatt/sim/place"
)

// An Array is panels that stand alike.
type Array struct {
	Name                string
	KWPeak              float64 // at 1 kW/m² and 25 °C, more than 0
	TiltDeg, FacesDeg   float64 // as of a Plane
	LossShare           float64 // glass, dirt, wires, dim light and mismatch
	HeatPerC            float64 // share of the power lost for each °C
	WarmsC              float64 // of the cell above the air at 1 kW/m²
	AtHouse             bool    // through an inverter to the house; else through a charge controller to the bank
	ConverterKW         float64 // of either
	ConverterEfficiency float64 // share, of either
	SnowShare           [12]float64
}

// Panels is a household's panels and the sun they stand in.
type Panels struct {
	Arrays        []Array
	LatitudeDeg   float64
	LevelKWhM2    [12]float64 // on level ground in the mean day of each month
	PressureShare float64     // of the air, over that at the sea
	Air           place.Air
	NoonMinute    int // of the clock's day: when the sun stands highest
	GroundShare   float64
	Horizon       Horizon
	Usual         bool    // each day comes as the month's usual, not by luck
	Memory        float64 // correlation of a day's clearness with the last one's, 0 to below 1
	Seed          uint64
}

// A Harvest is what a household's panels may give on each day of a span: prepared once, and never
// changed.
type Harvest struct {
	panels *Panels
	views  []view
	stepH  float64
	perDay int
	days   []dayOfPanels
}

// A dayOfPanels is what of a day's sun does not depend on its sky.
type dayOfPanels struct {
	day    Day
	kinds  *kinds
	airC   float64
	month  int // from 0
	pieces []piece
	ratio  []float64 // for each piece by array: of the beam on the plane to that on level ground, 0 behind a hill
}

// A piece of a step in which the sun is up. A step that holds the sun's midnight may have two.
type piece struct {
	part
	step int
}

// kinds are the kinds of days of one chance that a month may bring.
type kinds struct {
	sky       Sky
	clearness [classes]float64
	known     bool // the day brings what is expected of these
}

// Over prepares the panels for a span.
func (p *Panels) Over(span calendar.Span) *Harvest {
	h := &Harvest{panels: p, stepH: span.StepH(), perDay: span.StepsADay(), days: make([]dayOfPanels, span.Days)}
	for i := range p.Arrays {
		h.views = append(h.views, p.plane(i).view())
	}
	months := map[calendar.Date]*kinds{} // by the month's first day
	for i := range h.days {
		date := span.Start + calendar.Date(i)
		first := calendar.NewDate(date.Year(), date.Month(), 1)
		if months[first] == nil {
			months[first] = p.kindsOf(first)
		}
		d := &h.days[i]
		d.day, d.kinds, d.month = On(p.LatitudeDeg, date), months[first], int(date.Month())-1
		d.airC, _ = p.Air.OnDay(date)
		if d.kinds.sky.Mean > 0 {
			h.cut(d, span.StepMinutes)
		}
	}
	return h
}

func (p *Panels) plane(array int) Plane {
	a := &p.Arrays[array]
	return Plane{TiltDeg: a.TiltDeg, FacesDeg: a.FacesDeg, GroundShare: p.GroundShare, SkyShare: p.Horizon.SkyShare(a.FacesDeg)}
}

// kindsOf are the kinds of days of a month.
func (p *Panels) kindsOf(first calendar.Date) *kinds {
	k := &kinds{}
	mean := MonthOn(p.LatitudeDeg, first.Year(), first.Month()).Clearness(p.LevelKWhM2[first.Month()-1])
	if !(mean > 0) {
		k.known = true
		return k
	}
	k.sky = NewSky(mean)
	copy(k.clearness[:], k.sky.Classes(classes))
	return k
}

// cut finds the pieces of a day's steps in which the sun is up.
func (h *Harvest) cut(d *dayOfPanels, stepMinutes int) {
	const turn, minutesADay = 2 * math.Pi, calendar.MinutesADay
	for step := range h.perDay {
		begins := float64(step*stepMinutes-h.panels.NoonMinute) * turn / minutesADay
		ends := begins + float64(stepMinutes)*turn/minutesADay
		for _, turned := range [...]float64{-turn, 0, turn} { // the clock's day may begin in the sun's last, and end in its next
			from, to := d.day.clip(max(begins+turned, -math.Pi), min(ends+turned, math.Pi))
			if from >= to {
				continue
			}
			middle := (from + to) / 2
			d.pieces = append(d.pieces, piece{step: step, part: part{level: d.day.Level(from, to), outside: d.day.Outside(from, to),
				clearBeam: d.day.clearBeam(from, to, h.panels.PressureShare)}})
			for i := range h.panels.Arrays {
				ratio := 0.0
				if sinHeight := d.day.SinHeight(middle); sinHeight > 0 && !d.day.hidden(h.panels.Horizon, middle) {
					ratio = max(0, h.panels.plane(i).CosIncidence(&d.day, middle)) / sinHeight
				}
				d.ratio = append(d.ratio, ratio)
			}
		}
	}
}

// Days returns how many there are.
func (h *Harvest) Days() int { return len(h.days) }

// Part is the harvest of some days of the span.
func (h *Harvest) Part(firstDay, days int) *Harvest {
	part := *h
	part.days = h.days[firstDay : firstDay+days]
	return &part
}

// ByLuck reports whether days come by luck.
func (h *Harvest) ByLuck() bool { return !h.panels.Usual }

// Memory is the correlation of a day's clearness with the last one's.
func (h *Harvest) Memory() float64 { return h.panels.Memory }

// A Said is what a household says of a sky.
type Said string

// What it may say. Of ten days of a month one is duller than a dull one, and one brighter than a bright
// one; a usual one brings what is expected of the month.
const (
	Unsaid Said = ""
	Dull   Said = "dull"
	Usual  Said = "usual"
	Bright Said = "bright"
)

// Saids returns what may be said.
func Saids() []Said { return []Said{Dull, Usual, Bright} }

// In is the harvest where the sky of the first days is as said, and known.
func (h *Harvest) In(said Said, days int) *Harvest {
	switch said {
	case Dull:
		return h.known(days, 0.1)
	case Bright:
		return h.known(days, 0.9)
	case Usual:
		return h.known(days, math.NaN())
	}
	return h
}

// Brightest is the harvest where every day is of the brightest kind.
func (h *Harvest) Brightest() *Harvest { return h.known(len(h.days), 1-0.5/Kinds) }

// known is the harvest where the first days have the sky that a share of a month's days does not pass
// in clearness; NaN: where they bring what is expected.
func (h *Harvest) known(days int, chance float64) *Harvest {
	known := *h
	known.days = slices.Clone(h.days)
	for i := range min(days, len(known.days)) {
		d := &known.days[i]
		k := *d.kinds
		k.known = true
		for j := range k.clearness {
			if k.sky.Mean > 0 && !math.IsNaN(chance) {
				k.clearness[j] = k.sky.Clearness(chance)
			}
		}
		d.kinds = &k
	}
	return &known
}

// A DaySun is a day's sun, kWh/m²: on level ground, and on the panels, in the mean by their power.
type DaySun struct{ LevelKWhM2, PlaneKWhM2 float64 }

// On adds what the panels give on a day of a clearness, times a weight, to the power of each step of
// the day: of those wired to the bank DC behind their charge controllers, of those wired to the house
// AC, kW.
func (h *Harvest) On(day int, clearness, weight float64, bankKW, houseKW []float64) (s DaySun) {
	d, arrays := &h.days[day], h.panels.Arrays
	if clearness <= 0 {
		return s
	}
	diffuse := d.day.DiffuseShare(clearness)
	s.LevelKWhM2 = weight * clearness * d.day.OutsideKWhM2
	var twice [8]float64 // on the planes, of a step's pieces
	planes := twice[:0]
	if len(arrays) > len(twice) {
		planes = make([]float64, 0, len(arrays))
	}
	peakKW := 0.0
	for i := range arrays {
		peakKW += arrays[i].KWPeak
	}
	planes = planes[:len(arrays)]
	for i := range d.pieces {
		p := &d.pieces[i]
		light := d.day.parted(clearness, diffuse, &p.part)
		if light.Level() > 0 {
			for a := range arrays {
				planes[a] += h.views[a].gather(light, d.ratio[i*len(arrays)+a])
			}
		}
		if i+1 < len(d.pieces) && d.pieces[i+1].step == p.step {
			continue
		}
		for a := range arrays {
			kw := weight * arrays[a].kw(planes[a]/h.stepH, d.airC, d.month)
			if arrays[a].AtHouse {
				houseKW[p.step] += kw
			} else {
				bankKW[p.step] += kw
			}
			s.PlaneKWhM2 += weight * planes[a] * arrays[a].KWPeak / peakKW
			planes[a] = 0
		}
	}
	return s
}

// kw is what an array gives behind its converter with so many kW/m² on its plane.
func (a *Array) kw(planeKWM2, airC float64, month int) float64 {
	kw := a.KWPeak * planeKWM2 * PowerShare(CellC(planeKWM2, airC, a.WarmsC), a.HeatPerC) * (1 - a.LossShare) * (1 - a.SnowShare[month])
	return min(a.ConverterKW, kw*a.ConverterEfficiency)
}

// Kinds is how many kinds of days of one chance stand for all that a day may be.
const Kinds = classes

// KindZ is the deviation of each kind, in standard deviations of a normal distribution.
var KindZ = func() (z [Kinds]float64) {
	for i := range z {
		z[i] = math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/Kinds-1)
	}
	return z
}()

// OfKind is On for a day of a kind.
func (h *Harvest) OfKind(day, kind int, weight float64, bankKW, houseKW []float64) DaySun {
	if h.days[day].kinds.known {
		return h.expected(day, weight, bankKW, houseKW)
	}
	return h.On(day, h.days[day].kinds.clearness[kind], weight, bankKW, houseKW)
}

// Drawn is On for a day whose clearness deviates from the usual, in standard deviations of a normal
// distribution.
func (h *Harvest) Drawn(day int, z float64, bankKW, houseKW []float64) DaySun {
	k := h.days[day].kinds
	if k.known || !h.ByLuck() {
		return h.Expected(day, bankKW, houseKW)
	}
	return h.On(day, k.sky.Clearness(0.5*math.Erfc(-z/math.Sqrt2)), 1, bankKW, houseKW)
}

// Expected adds what is expected of a day: the mean over the kinds it may be of.
func (h *Harvest) Expected(day int, bankKW, houseKW []float64) (s DaySun) {
	return h.expected(day, 1, bankKW, houseKW)
}

func (h *Harvest) expected(day int, weight float64, bankKW, houseKW []float64) (s DaySun) {
	kinds := h.days[day].kinds.clearness[:]
	if kinds[0] == kinds[len(kinds)-1] {
		return h.On(day, kinds[0], weight, bankKW, houseKW)
	}
	for _, clearness := range kinds {
		of := h.On(day, clearness, weight/Kinds, bankKW, houseKW)
		s.LevelKWhM2 += of.LevelKWhM2
		s.PlaneKWhM2 += of.PlaneKWhM2
	}
	return s
}
