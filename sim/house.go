// Package sim runs a household through a span, step by step: what the house
// wants, what the set gives, what the bank takes and what wood it costs.
//
// A House is all equipment and rules, made once and never changed; a State is a
// plain value that Step takes and gives back. A Chooser says when to run; Run
// drives the two through the span and keeps the Books; Summarize reads off the
// answers. Left out: anything within a step, and people's patience.
package sim

import (
	"math"
	"slices"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/money"
	"twigwatt/sim/place"
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// Tending says when somebody can look after a run.
type Tending struct {
	Hours        []calendar.Window // merged
	Days         calendar.Weekdays
	MinHoursARun float64              // attended
	MaxHoursADay float64              // attended
	MaxStarts    int                  // a day
	NoRuns       []calendar.DateRange // known beforehand
	AwayRuns     bool                 // somebody looks after runs while nobody is at home
	Breakdown    []calendar.DateRange // the set is broken, and nobody knew
}

// Prices is what is weighed when runs are chosen, in kg of oven-dry wood, with
// the thresholds that go with them.
type Prices struct {
	ShortKgPerKWh    float64
	HourKg           float64 // for each attended hour
	StartKg          float64
	WearKgPerKWh     float64 // for each AC kWh taken from the bank
	FullLateKgPerDay float64
	FullEveryDays    int     // 0: never
	SpareShare       float64 // of the bank's full size, above the floor
	SpareKgPerKWhH   float64
	ShortDayKWh      float64 // a day that misses this much counts as short
	RefuelKg         float64 // soft, for each opening of a hot hopper within a run
	OffUsualKgPerH   float64 // soft, for each hour between a match and UsualMinute
	UsualMinute      int     // of the day: when the household is used to strike the match; below 0: at no hour
}

// Spec is what a House is made of.
type Spec struct {
	Span         calendar.Span
	Air          place.Air
	LatitudeDeg  float64
	NoonMinute   int // of the clock's day: when the sun stands highest; 0: at noon
	BankOutdoor  bool
	RoomC        float64 // of the bank, unless it stands outdoors
	Bank         battery.Bank
	StartShare   float64   // stored as the span begins, of the full size
	BankHealth   []float64 // of the bank's size, what is left in each year of the span; nil: all
	BankReplaced bool      // at the end of its life
	Set          genset.Set
	Factors      *genset.Factors // of the moisture of the wood burned
	Derated      bool            // to the place, from the rating's
	AltitudeM    float64
	RatedAltM    float64
	RatedAirC    float64
	Cooled       bool // the gas's temperature is known
	GasC         float64
	RatedGasC    float64
	Pile         woodpile.Pile
	Tending      Tending
	Prices       Prices
	Away         []calendar.DateRange

	HopperAsIsKg float64       // wood that a full hopper holds
	Tank         *HotTank      // nil: the set's warmth is not used
	Standby      *Standby      // nil: none
	Money        *money.Prices // nil: costs are not reckoned
	Services     []Service
	Snap         Snap
	Luck         Luck
}

// Snap is a cold snap: the place's air, and load and sun against the usual.
type Snap struct{ AirC, LoadShare, SunShare float64 }

// A Service is what the set wants every so many engine hours, more than 0.
type Service struct {
	Name   string
	EveryH float64
}

// Luck is how days and years differ, beside the load's daily swing: met in lives of luck, and
// as far as it is of days weighed by plans. Shares are 0 to 1.
type Luck struct {
	LoadYearShare float64 // standard deviation of a year's factor on the load
	SetDailyShare float64 // standard deviation of what the set gives from day to day
	MoistureShare float64 // standard deviation of a year's moisture, wet basis
	FailShare     float64 // light-ups that fail, below 1
	RepairDays    int     // a year, in one block at a random date
}

// A Day is what a House knows of a date before anything happens.
type Day struct {
	Date     calendar.Date
	Bank     *battery.Paced
	MostKW   float64 // of the set in the day's air, on wood at the rated moisture
	Drying   *woodpile.Drying
	Tendable bool // by weekday and no_runs, and somebody is there
	Away     bool // nobody is at home
	Broken   bool // the set: known from the day's beginning on, not before
}

// A House is a household's equipment and rules for a span, ready for Step.
type House struct {
	Spec
	Days []Day

	stepH       float64
	stepsADay   int
	minSteps    int     // of a run
	maxSteps    int     // of runs in a day
	standbyIn   []bool  // by step of the day
	tendedAhead []int   // from each step of the day, how many steps in a row are tended
	minRunKg    float64 // the most that the shortest run can burn
	fullStepKg  float64 // and a step
	wetterBy    float64 // wet basis: see Wetter
}

// roundingH keeps 1.5 h from becoming four half-hours.
const roundingH = 1e-9

// NewHouse prepares a household. The spec must have been checked.
func NewHouse(spec Spec) *House {
	h := &House{Spec: spec, stepH: spec.Span.StepH(), stepsADay: spec.Span.StepsADay()}
	h.minSteps = max(1, int(math.Ceil((spec.Tending.MinHoursARun-roundingH)/h.stepH)))
	h.maxSteps = int(math.Floor((spec.Tending.MaxHoursADay + roundingH) / h.stepH))
	h.tendedAhead = tendedAhead(spec.Tending.Hours, spec.Span)
	h.standbyIn = standbyHours(spec.Standby, spec.Span)
	h.makeDays()
	h.weighRuns()
	return h
}

// weighRuns works out what must lie ready for a run.
func (h *House) weighRuns() {
	wettest := min(h.HeatFactor(h.Pile.MostDryBasis), h.HeatFactor(h.Pile.RatedDryBasis))
	mostKW := 0.0
	for i := range h.Days {
		mostKW = max(mostKW, h.Days[i].MostKW)
	}
	h.fullStepKg = h.Set.BurnedKg(1, mostKW, h.stepH) / wettest
	h.minRunKg = h.Set.LightUpKg/wettest + float64(h.minSteps)*h.fullStepKg
}

// Wetter is the household in a year whose wood is wetter, by a share on wet basis (drier below 0),
// than the place's usual air makes it. Of a pile it is the air that is damper, by so much that wood
// left in it long would be that much wetter: what lies dry grows damp slowly, and what is green
// dries slowly. Of wood without end, which no air dries, it is the wood itself.
func (h *House) Wetter(share float64) *House {
	w := *h
	if h.Pile.Endless {
		w.wetterBy = share
		w.weighRuns()
		return &w
	}
	w.Days = slices.Clone(h.Days)
	damper := map[*woodpile.Drying]*woodpile.Drying{} // days of the same air share theirs
	for i := range w.Days {
		day := &w.Days[i]
		if damper[day.Drying] == nil {
			airC, humidityPct := h.Air.OnDay(day.Date)
			damper[day.Drying] = woodpile.DryingIn(airC, woodpile.DamperPct(airC, humidityPct, share))
		}
		day.Drying = damper[day.Drying]
	}
	return &w
}

func (h *House) makeDays() {
	rated := genset.PowerFactor(h.RatedAltM, h.RatedAirC)
	var byMonth [12]float64 // power by the month's air
	for month, airC := range h.Air.MeanC {
		byMonth[month] = 1
		if h.Derated {
			byMonth[month] = min(1, genset.PowerFactor(h.AltitudeM, airC)/rated)
		}
		if h.Cooled {
			byMonth[month] *= genset.CoolerFactor(h.GasC, h.RatedGasC, airC, genset.UsualAirPerGas)
		}
	}
	airs, bank := map[yearDay]Day{}, h.agedBank(0)
	indoors := bank.Paced(h.stepH, h.RoomC)
	h.Days = make([]Day, h.Span.Days)
	year, nextYear := 0, h.Span.Start.AYearLater()
	for i := range h.Days {
		date := h.Span.Start + calendar.Date(i)
		if date == nextYear {
			nextYear = nextYear.AYearLater()
			if year++; h.BankHealth != nil {
				bank = h.agedBank(year)
				airs, indoors = map[yearDay]Day{}, bank.Paced(h.stepH, h.RoomC)
			}
		}
		key := yearDay{date.Month(), date.Day(), calendar.DaysInYear(date.Year()) == 366}
		if _, known := airs[key]; !known {
			airs[key] = h.inAir(date, bank, indoors)
		}
		day := &h.Days[i]
		*day = airs[key]
		day.Date = date
		day.Away = calendar.AnyHolds(h.Away, day.Date)
		day.MostKW = h.Set.KW * byMonth[day.Date.Month()-1]
		day.Tendable = h.Tending.Days.Holds(day.Date.Weekday()) && !calendar.AnyHolds(h.Tending.NoRuns, day.Date) &&
			(h.Tending.AwayRuns || !day.Away)
		day.Broken = calendar.AnyHolds(h.Tending.Breakdown, day.Date)
	}
}

// yearDay tells days of the year apart, each made once however many years the span has; the middles
// of a leap year's months stand a little differently.
type yearDay struct {
	month time.Month
	day   int
	leap  bool
}

// agedBank is the bank in a year of the span, from 0.
func (h *House) agedBank(year int) *battery.Bank {
	if h.BankHealth == nil {
		return &h.Bank
	}
	aged := h.Bank
	aged.FullKWh *= h.BankHealth[min(year, len(h.BankHealth)-1)]
	return &aged
}

// inAir is what a day's air does to the bank, unless it stands indoors, and to the pile.
func (h *House) inAir(d calendar.Date, bank *battery.Bank, indoors *battery.Paced) Day {
	airC, humidityPct := h.Air.OnDay(d)
	day := Day{Bank: indoors}
	if h.BankOutdoor {
		day.Bank = bank.Paced(h.stepH, airC)
	}
	if !h.Pile.Endless {
		day.Drying = woodpile.DryingIn(airC, humidityPct)
	}
	return day
}

// An Engine is what the set can give in a step: AC power, and the share of the
// step in which it gives it.
type Engine struct{ MostKW, LeastKW, Ready float64 }

// Engine returns what the set can give on a day on wood of a moisture (dry basis).
func (h *House) Engine(day *Day, dryBasis, ready float64) Engine {
	mostKW := day.MostKW * h.Factors.Power(h.moisture(dryBasis))
	if h.Set.AlternatorKW > 0 {
		mostKW = min(mostKW, h.Set.AlternatorKW)
	}
	return Engine{MostKW: mostKW, LeastKW: min(h.Set.LeastKW, mostKW), Ready: ready}
}

// BurnedKg returns the oven-dry wood of a step on wood of a moisture (dry basis).
func (h *House) BurnedKg(dryBasis float64, e Engine, engineKW float64, match bool) float64 {
	kg := h.Set.BurnedKg(e.Ready, engineKW, h.stepH)
	if match {
		kg += h.Set.LightUpKg
	}
	return kg / h.HeatFactor(dryBasis)
}

// HeatFactor returns the gas energy of an oven-dry kg of wood of a moisture (dry
// basis) against that at the set's rated moisture.
func (h *House) HeatFactor(dryBasis float64) float64 { return h.Factors.Heat(h.moisture(dryBasis)) }

// moisture is that of the wood (wet basis) where the pile says so much (dry basis),
// within what the gas model knows.
func (h *House) moisture(dryBasis float64) float64 {
	return max(0, min(woodpile.WetBasis(dryBasis)+h.wetterBy, genset.MostMoisture))
}

// TarShare is the moisture (wet basis) above which the wood that is burned brings tar and an
// unsteady flame: where the household burns wood that is not ready, that of ready wood; at most 25 %
// in any case (FAO 72 and FEMA/ORNL-6404 allow less).
func (h *House) TarShare() float64 {
	const most, rounding = 0.25, 1e-9
	if !h.Pile.Endless && h.Pile.MostDryBasis > h.Pile.ReadyDryBasis {
		return min(most, woodpile.WetBasis(h.Pile.ReadyDryBasis)) + rounding
	}
	return most + rounding
}

// TarWarning warns of the wettest wood that was burned, where its tar is to be feared, with how
// often; nil where it is not.
func (h *House) TarWarning(wettestShare float64, often string) Warnings {
	var all Warnings
	if limit := h.TarShare(); wettestShare > limit {
		all.Add("tar", "wood of up to %.0f %% moisture is burned%s: tar and an unsteady flame above %.0f %%", 100*wettestShare,
			often, 100*limit)
	}
	return all
}

// BankAirC returns the coldest air the bank meets in the span.
func (h *House) BankAirC() float64 {
	coldest := math.Inf(1)
	for i := range h.Days {
		coldest = min(coldest, h.Days[i].Bank.AirC)
	}
	return coldest
}

// A State is everything that changes: the bank, the pile, and where in the day's
// runs the household stands.
type State struct {
	Bank         battery.State
	Pile         woodpile.State
	LitSteps     int     // steps since the match; 0: not lit
	LateMinutes  int     // of the run, lost in light-ups that failed
	TendedSteps  int     // run steps today
	Starts       int     // matches today
	WantedKWh    float64 // by the house since the span began, chores left out: what its meter shows
	SunKWh       float64 // that the panels could give since the span began, DC at the bank and AC at the house
	StandbySteps int     // that the stand-by set has run for; 0: it rests
	PetrolLitres float64 // burned since the span began
	Repairs      bool    // the set is being repaired today: luck, which no chooser knows
	SetSwing     float64 // share by which the set gives more than usual today, below 0 less: luck, which no chooser knows
}

// Start returns the state as the span begins.
func (h *House) Start() State {
	return State{Bank: h.Bank.Rested(h.StartShare * h.Bank.FullKWh), Pile: h.Pile.Start()}
}

// OffUsualH is how far a match at a step of the day is from the hour at which the
// household is used to strike it; 0 where it is used to none.
func (h *House) OffUsualH(ofDay int) float64 {
	const minutesAnHour = 60
	if h.Prices.UsualMinute < 0 {
		return 0
	}
	return math.Abs(float64(ofDay*h.Span.StepMinutes-h.Prices.UsualMinute)) / minutesAnHour
}

// OffUsualKg is the soft price of that.
func (h *House) OffUsualKg(ofDay int) float64 { return h.Prices.OffUsualKgPerH * h.OffUsualH(ofDay) }

// Opened adds wood as it lies to what has been burned since the hopper was full, and returns
// how often it had to be opened for that; 0 where its size is not known.
func (h *House) Opened(sinceFullAsIsKg *float64, burnedAsIsKg float64) int {
	const crumbKg = 1e-9 // rounding
	n := 0
	for *sinceFullAsIsKg += burnedAsIsKg; h.HopperAsIsKg > 0 && *sinceFullAsIsKg > h.HopperAsIsKg+crumbKg; n++ {
		*sinceFullAsIsKg -= h.HopperAsIsKg
	}
	return n
}
