package sim

import (
	"math"
	"slices"

	"twigwatt/sim/calendar"
	"twigwatt/storage/battery"
	"twigwatt/storage/tank"
	"twigwatt/storage/woodpile"
)

// A Tally is sums over some steps: AC energies at the house in kWh, hours, wood
// and its water in kg.
type Tally struct {
	LoadKWh, OtherKWh, EngineKWh, ChargeKWh, DischargeKWh, ShortfallKWh, SpillKWh float64
	Lost                                                                          battery.Losses
	EngineH, AttendedH, ShortfallH                                                float64
	LightUps                                                                      int
	BurnedDryKg, BurnedAsIsKg, BurnedStackedM3, CondensateL                       float64
	Moved                                                                         woodpile.Moved // with what the rack dried

	SpareMissingKWhH float64 // below floor and spare, for each hour
	Refuels          int     // openings of a hot hopper within runs
	OffUsualH        float64 // between the matches and the usual hour
	OverInverterKWh  float64 // of the shortfall: missed while the inverter gave all it can

	Sun     SunTally
	Standby StandbyTally
	GasKWh  float64    // that the wood made, light-ups left out; where there is a tank
	Warmth  tank.Flows // of the tank
}

// A SunTally is what panels could give and where it went, kWh: of those wired to the bank DC at its
// terminals, of those wired to the house AC, which OtherKWh holds too.
type SunTally struct {
	AtBankKWh, HouseKWh, BankKWh, UnusedKWh float64 // as in Sun
	ServedKWh                               float64 // AC: of what the inverter gave
	AtHouseKWh, AtHouseUnusedKWh            float64 // the last is spilled
}

// MadeKWh is all that the panels could give.
func (s *SunTally) MadeKWh() float64 { return s.AtBankKWh + s.AtHouseKWh }

// ToHouseKWh is what the house took straight from the panels, the inverter's idle draw with it.
func (s *SunTally) ToHouseKWh() float64 { return s.HouseKWh + s.AtHouseKWh - s.AtHouseUnusedKWh }

// AllUnusedKWh is what nobody took.
func (s *SunTally) AllUnusedKWh() float64 { return s.UnusedKWh + s.AtHouseUnusedKWh }

// GapKWh is what the book of the sun misses: what the panels at the bank give goes to the house,
// into the bank or is unused.
func (s *SunTally) GapKWh() float64 { return s.AtBankKWh - (s.HouseKWh + s.BankKWh + s.UnusedKWh) }

// add adds a step.
func (s *SunTally) add(f *Flows, h float64) {
	s.AtBankKWh += f.Sun.KW * h
	s.HouseKWh += f.Sun.HouseKW * h
	s.BankKWh += f.Sun.BankKW * h
	s.UnusedKWh += f.Sun.UnusedKW * h
	s.ServedKWh += f.Sun.ServedKW * h
	s.AtHouseKWh += f.HouseSunKW * h
	s.AtHouseUnusedKWh += min(f.SpillKW, f.HouseSunKW) * h
}

// FromBankKWh is what the inverter gave out of the bank, AC.
func (t *Tally) FromBankKWh() float64 { return t.DischargeKWh - t.Sun.ServedKWh }

// ElectricityGapKWh is what the books of electricity miss:
// engine + stand-by + other + from bank = load − shortfall + to bank + spill.
func (t *Tally) ElectricityGapKWh() float64 {
	return t.EngineKWh + t.Standby.MadeKWh + t.OtherKWh + t.DischargeKWh - (t.LoadKWh - t.ShortfallKWh + t.ChargeKWh + t.SpillKWh)
}

// BankGainKWh is what the bank should hold more at the end than at the start.
func (t *Tally) BankGainKWh() float64 {
	return t.ChargeKWh + t.Sun.HouseKWh + t.Sun.BankKWh - t.DischargeKWh - t.Lost.TotalKWh()
}

// MoisturePct is the moisture of the wood burned, wet basis; NaN where none was.
func (t *Tally) MoisturePct() float64 { return 100 * (1 - t.BurnedDryKg/t.BurnedAsIsKg) }

// PileGainKg is what the pile should hold more at the end than at the start:
// oven-dry wood, and water.
func (t *Tally) PileGainKg() Wood {
	m := &t.Moved
	return Wood{m.CutDryKg - t.BurnedDryKg - m.LostDryKg,
		m.CutWaterKg - (t.BurnedAsIsKg - t.BurnedDryKg) - m.LostWaterKg - m.DriedWaterKg}
}

func (t *Tally) add(o *Tally) {
	sums, more := t.sums(), o.sums()
	for i := range sums {
		*sums[i] += *more[i]
	}
	t.Lost.Add(o.Lost)
	t.Moved.Add(o.Moved)
	t.Warmth.Add(&o.Warmth)
	t.Standby.Add(&o.Standby)
	t.LightUps += o.LightUps
	t.Refuels += o.Refuels
}

// sums are those of the tally's own figures that are no whole numbers.
func (t *Tally) sums() [25]*float64 {
	return [...]*float64{&t.LoadKWh, &t.OtherKWh, &t.EngineKWh, &t.ChargeKWh, &t.DischargeKWh, &t.ShortfallKWh, &t.SpillKWh,
		&t.EngineH, &t.AttendedH, &t.ShortfallH, &t.BurnedDryKg, &t.BurnedAsIsKg, &t.BurnedStackedM3, &t.CondensateL,
		&t.SpareMissingKWhH, &t.OffUsualH, &t.OverInverterKWh, &t.Sun.AtBankKWh, &t.Sun.HouseKWh, &t.Sun.BankKWh,
		&t.Sun.UnusedKWh, &t.Sun.ServedKWh, &t.Sun.AtHouseKWh, &t.Sun.AtHouseUnusedKWh,
		&t.GasKWh}
}

// A DayRecord is what the books keep of a day.
type DayRecord struct {
	Tally
	Date                                calendar.Date
	StartKWh, EndKWh                    float64 // stored
	LowestKWh, HighestKWh, MeanKWh      float64 // stored at the steps' ends
	PileStart, PileEnd                  Wood
	ReadyDryKg                          float64 // as the day begins
	Tendable                            bool
	SinceFull                           int // days since the last full charge; 0: today
	tar                                 bool
	ReachedFull, Late, WithoutReadyWood bool // Late: a full charge was overdue
}

// Wood is oven-dry wood and its water, in kg.
type Wood struct{ DryKg, WaterKg float64 }

func (h *House) pile(s *State) Wood { return Wood{h.Pile.TotalKg(&s.Pile), h.Pile.WaterKg(&s.Pile)} }

// gapKg is the larger of what dry wood and water miss.
func gapKg(from, gain, to Wood) float64 {
	return max(math.Abs(from.DryKg+gain.DryKg-to.DryKg), math.Abs(from.WaterKg+gain.WaterKg-to.WaterKg))
}

// Short reports whether the day misses enough to count.
func (d *DayRecord) Short(shortDayKWh float64) bool { return d.ShortfallKWh >= shortDayKWh }

// Books hold the days of a span and prove that nothing came from nowhere: the
// largest gap of any step, of any day and of the whole.
type Books struct {
	Days               []DayRecord
	StartKWh, EndKWh   float64
	PileStart, PileEnd Wood
	NoWood             *NoWood // the first day without ready wood; nil: none
	StepGapKWh         float64 // electricity's and the bank's together, the largest of any step
	SunGapKWh          float64 // the panels', the largest of any step
	StepGapKg          float64
	DayGapKWh          float64
	DayGapKg           float64
	LongestWithoutFull int
	WettestShare       float64 // moisture of the wettest wood burned, wet basis
	TarDays            int     // on which wood was burned whose tar is to be feared: see House.TarShare

	Wear          *battery.Wear
	house         *House
	stepStartKWh  float64
	pctPerKWh     float64
	stepStartPile Wood
	sinceFull     int
	hopperAsIsKg  float64 // burned since it was full
	warmth        *warmth // nil: no tank
}

// NoWood is the first day without ready wood, and what would have been ready
// soonest.
type NoWood struct {
	Date          calendar.Date
	Stack         string // "": nothing that is cut small
	DryKg         float64
	MoistureShare float64 // wet basis
	DryLogsKg     float64 // that lie there dry, and only want cutting
}

// shortStepKWh: a step that misses more is a shortfall step.
const shortStepKWh = 0.001

func newBooks(h *House, s *State) *Books {
	stored, pile := s.Bank.StoredKWh(), h.pile(s)
	b := &Books{house: h, warmth: newWarmth(h), Days: make([]DayRecord, h.Span.Days), StartKWh: stored, stepStartKWh: stored,
		PileStart: pile, stepStartPile: pile, Wear: battery.NewWear(h.Bank.CycleLife), pctPerKWh: 100 / h.Bank.FullKWh}
	b.Wear.Add(stored * b.pctPerKWh)
	return b
}

// open begins a day.
func (b *Books) open(day int, s *State) *DayRecord {
	d := &b.Days[day]
	d.Date, d.Tendable = b.house.Days[day].Date, b.house.Days[day].Tendable
	d.StartKWh, d.LowestKWh, d.HighestKWh = b.stepStartKWh, math.Inf(1), math.Inf(-1)
	d.PileStart = b.stepStartPile
	d.ReadyDryKg = b.house.Pile.ReadyKg(&s.Pile)
	d.WithoutReadyWood = d.Tendable && !b.house.HasReadyWood(s)
	if d.WithoutReadyWood && b.NoWood == nil {
		b.NoWood = &NoWood{Date: d.Date, DryLogsKg: b.house.Pile.DryLogsKg(&s.Pile)}
		var u float64
		b.NoWood.Stack, b.NoWood.DryKg, u = b.house.Pile.NearlyReady(&s.Pile)
		b.NoWood.MoistureShare = woodpile.WetBasis(u)
	}
	return d
}

// enter books a step.
func (b *Books) enter(d *DayRecord, at Moment, s *State, f *Flows, floorAndSpareKWh float64) {
	h, stored := b.house.stepH, s.Bank.StoredKWh()
	d.LoadKWh += f.LoadKW * h
	d.OtherKWh += f.OtherKW * h
	d.EngineKWh += f.EngineKW * h
	d.ChargeKWh += f.ChargeKW * h
	d.DischargeKWh += f.DischargeKW * h
	d.SpillKWh += f.SpillKW * h
	d.Lost.Add(f.Lost)
	if f.ShortfallKW > 0 {
		d.ShortfallKWh += f.ShortfallKW * h
		if f.ShortfallKW*h > shortStepKWh {
			d.ShortfallH += h
			const whollyKW = 1e-9 // rounding
			if f.DischargeKW >= b.house.Bank.InverterKW-whollyKW {
				d.OverInverterKWh += f.ShortfallKW * h
			}
		}
	}
	if f.Run {
		b.enterRun(d, at.OfDay, f)
	}
	if b.house.Standby != nil {
		d.Standby.Enter(f, h)
	}
	if b.warmth != nil {
		b.warm(d, at.Day, at.OfDay, f)
	}
	sunKW := 0.0 // at the bank's terminals, that somebody took
	if f.Sun.KW > 0 || f.HouseSunKW > 0 {
		d.Sun.add(f, h)
		sunKW = f.Sun.HouseKW + f.Sun.BankKW
		b.SunGapKWh = max(b.SunGapKWh, math.Abs(f.Sun.KW-sunKW-f.Sun.UnusedKW)*h)
	}
	d.SpareMissingKWhH += max(0, floorAndSpareKWh-stored) * h
	d.LowestKWh, d.HighestKWh = min(d.LowestKWh, stored), max(d.HighestKWh, stored)
	d.MeanKWh += stored
	b.Wear.Add(stored * b.pctPerKWh)
	electricity := f.EngineKW + f.StandbyKW + f.OtherKW + f.DischargeKW - (f.LoadKW - f.ShortfallKW + f.ChargeKW + f.SpillKW)
	bank := b.stepStartKWh + (f.ChargeKW+sunKW-f.DischargeKW)*h - f.Lost.TotalKWh() - stored
	b.StepGapKWh = max(b.StepGapKWh, math.Abs(electricity)*h+math.Abs(bank))
	b.stepStartKWh = stored
}

func (b *Books) enterRun(d *DayRecord, ofDay int, f *Flows) {
	d.AttendedH += b.house.stepH
	d.EngineH += f.Ready * b.house.stepH
	if f.Match {
		d.LightUps++
		d.OffUsualH += b.house.OffUsualH(ofDay)
		b.hopperAsIsKg = 0
	}
	d.Refuels += b.house.Opened(&b.hopperAsIsKg, f.Burned.AsIsKg)
	d.BurnedDryKg += f.Burned.DryKg
	d.BurnedAsIsKg += f.Burned.AsIsKg
	if f.Burned.AsIsKg > 0 {
		wet := 1 - f.Burned.DryKg/f.Burned.AsIsKg
		b.WettestShare = max(b.WettestShare, wet)
		if !d.tar && wet > b.house.TarShare() {
			d.tar = true
			b.TarDays++
		}
	}
	d.BurnedStackedM3 += f.Burned.StackedM3
	d.CondensateL += f.CondensateL
	d.Moved.DriedWaterKg += f.Burned.RackWaterKg
}

// enterPile books what a step did to the pile, where it did anything.
func (b *Books) enterPile(d *DayRecord, s *State, f *Flows) {
	m := &f.Moved
	d.Moved.Add(*m)
	gain := Wood{m.CutDryKg - f.Burned.DryKg - m.LostDryKg,
		m.CutWaterKg - (f.Burned.AsIsKg - f.Burned.DryKg) - f.Burned.RackWaterKg - m.LostWaterKg - m.DriedWaterKg}
	pile := b.house.pile(s)
	b.StepGapKg = max(b.StepGapKg, gapKg(b.stepStartPile, gain, pile))
	b.stepStartPile = pile
}

// close ends a day.
func (b *Books) close(d *DayRecord, s *State) {
	d.EndKWh = s.Bank.StoredKWh()
	d.MeanKWh /= float64(b.house.stepsADay)
	d.PileEnd = b.stepStartPile
	b.DayGapKWh = max(b.DayGapKWh, math.Abs(d.ElectricityGapKWh()), math.Abs(d.StartKWh+d.BankGainKWh()-d.EndKWh))
	if !b.house.Pile.Endless {
		b.DayGapKg = max(b.DayGapKg, gapKg(d.PileStart, d.PileGainKg(), d.PileEnd))
	}
	d.ReachedFull = d.HighestKWh >= battery.FullShare*b.house.Days[d.Date-b.house.Span.Start].Bank.FullKWh
	if b.sinceFull++; d.ReachedFull {
		b.sinceFull = 0
	}
	b.LongestWithoutFull = max(b.LongestWithoutFull, b.sinceFull)
	d.SinceFull = b.sinceFull
	every := b.house.Prices.FullEveryDays
	d.Late = every > 0 && b.sinceFull > every
	b.EndKWh, b.PileEnd = d.EndKWh, d.PileEnd
}

// Total sums the days.
func (b *Books) Total() Tally {
	var t Tally
	for i := range b.Days {
		t.add(&b.Days[i].Tally)
	}
	return t
}

// EverFull reports whether the bank was full on any day.
func (b *Books) EverFull() bool {
	return slices.ContainsFunc(b.Days, func(d DayRecord) bool { return d.ReachedFull })
}
