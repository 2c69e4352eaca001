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
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/place"
	"twigwatt/storage/battery"
	"twigwatt/storage/woodpile"
)

// Tending says when somebody can look after a run.
type Tending struct {
	Hours        []calendar.Window // merged
	Days         calendar.Weekdays
	MinHoursARun float64 // attended
	MaxHoursADay float64 // attended
	MaxStarts    int     // a day
	NoRuns       []calendar.DateRange
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
}

// Spec is what a House is made of.
type Spec struct {
	Span        calendar.Span
	Air         place.Air
	BankOutdoor bool
	RoomC       float64 // of the bank, unless it stands outdoors
	Bank        battery.Bank
	StartShare  float64 // stored as the span begins, of the full size
	Set         genset.Set
	Derated     bool // to the place, from the rating's
	AltitudeM   float64
	RatedAltM   float64
	RatedAirC   float64
	Pile        woodpile.Pile
	Tending     Tending
	Prices      Prices
	Away        []calendar.DateRange
}

// A Day is what a House knows of a date before anything happens.
type Day struct {
	Date     calendar.Date
	Bank     *battery.Paced
	MostKW   float64 // of the set, derated
	LeastKW  float64
	Tendable bool // by weekday and no_runs
	Away     bool // nobody is at home
}

// A House is a household's equipment and rules for a span, ready for Step.
type House struct {
	Spec
	Days []Day

	stepH       float64
	stepsADay   int
	minSteps    int   // of a run
	maxSteps    int   // of runs in a day
	tendedAhead []int // from each step of the day, how many steps in a row are tended
	minRunKg    float64
	fullStepKg  float64
}

// roundingH keeps 1.5 h from becoming four half-hours.
const roundingH = 1e-9

// NewHouse prepares a household. The spec must have been checked.
func NewHouse(spec Spec) *House {
	h := &House{Spec: spec, stepH: spec.Span.StepH(), stepsADay: spec.Span.StepsADay()}
	h.minSteps = max(1, int(math.Ceil((spec.Tending.MinHoursARun-roundingH)/h.stepH)))
	h.maxSteps = int(math.Floor((spec.Tending.MaxHoursADay + roundingH) / h.stepH))
	h.tendedAhead = tendedAhead(spec.Tending.Hours, spec.Span)
	h.fullStepKg = h.Set.FullKgH() * h.stepH
	h.minRunKg = h.Set.LightUpKg + float64(h.minSteps)*h.fullStepKg
	h.makeDays()
	return h
}

func (h *House) makeDays() {
	rated := genset.PowerFactor(h.RatedAltM, h.RatedAirC)
	var byMonth [12]float64
	for month := range byMonth {
		byMonth[month] = 1
		if h.Derated {
			byMonth[month] = min(1, genset.PowerFactor(h.AltitudeM, h.Air.MeanC[month])/rated)
		}
	}
	h.Days = make([]Day, h.Span.Days)
	var indoors *battery.Paced
	if !h.BankOutdoor {
		indoors = h.Bank.Paced(h.stepH, h.RoomC)
	}
	yearAgo := map[time.Month]map[int]*battery.Paced{} // outdoors: one for each day of the year
	for i := range h.Days {
		day := &h.Days[i]
		day.Date = h.Span.Start + calendar.Date(i)
		day.Away = calendar.AnyHolds(h.Away, day.Date)
		day.MostKW = h.Set.KW * byMonth[day.Date.Month()-1]
		day.LeastKW = min(h.Set.LeastKW, day.MostKW)
		day.Tendable = h.Tending.Days.Holds(day.Date.Weekday()) && !calendar.AnyHolds(h.Tending.NoRuns, day.Date)
		if day.Bank = indoors; day.Bank != nil {
			continue
		}
		leap := calendar.DaysInYear(day.Date.Year()) == 366
		month, key := day.Date.Month(), day.Date.Day()
		if leap {
			key += 100 // the months' middles stand a little differently
		}
		if yearAgo[month] == nil {
			yearAgo[month] = map[int]*battery.Paced{}
		}
		if yearAgo[month][key] == nil {
			airC, _ := h.Air.OnDay(day.Date)
			yearAgo[month][key] = h.Bank.Paced(h.stepH, airC)
		}
		day.Bank = yearAgo[month][key]
	}
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
	Bank        battery.State
	Pile        woodpile.State
	LitSteps    int // steps since the match; 0: not lit
	TendedSteps int // run steps today
	Starts      int // matches today
}

// Start returns the state as the span begins.
func (h *House) Start() State {
	return State{Bank: h.Bank.Rested(h.StartShare * h.Bank.FullKWh), Pile: h.Pile.Start()}
}
