package scenarios

import "twigwatt/sim/calendar"

// values is the scenario as it is written: percentages, °C and the household's
// own units. Every field is reached through the list of settings.
type values struct {
	name, climate       string
	start               calendar.Date
	days, seed          float64
	stepMinutes         int
	airC, humidityPct   [12]float64
	latitude, altitudeM float64
	snapC, snapLoadPct  float64
	load                loadValues
	otherFile           string
	engine              engineValues
	tending             tendingValues
	battery             batteryValues
	woodpile            woodpileValues
	luck                luckValues
	plan                planValues
}

type loadValues struct {
	kWhPerYear, kWhPerDay        float64
	file                         string
	scale, swingPct, swingMemory float64
	away                         []calendar.DateRange
	awayPct                      float64
	appliances                   []*applianceValues
	chores                       []*choreValues
}

type applianceValues struct {
	name                  string
	watts, count, dutyPct float64
	hours                 []calendar.Window
	days                  calendar.Weekdays
	months                calendar.Months
	afterDark             bool
}

type choreValues struct {
	name                  string
	kWh, kW, timesPerWeek float64
	hours                 []calendar.Window
	days                  calendar.Weekdays
}

type engineValues struct {
	kW, leastKW                                    float64
	woodCurve                                      [][2]float64
	woodIdleKgH, woodPerKWhKg                      float64
	lightUpMinutes, lightUpKg                      float64
	woodWeighed                                    string
	ratedMoisturePct                               float64
	hopperAsIsKg                                   float64
	ratedAltitudeM, ratedAirC                      float64
	gasC, ratedGasC                                float64
	displacementCC, rpm                            float64
	ashEveryHours, filterEveryHours, oilEveryHours float64
	charPct                                        float64
}

type tendingValues struct {
	hours     []calendar.Window
	days      calendar.Weekdays
	minHours  float64
	maxHours  float64
	maxStarts int
	noRuns    []calendar.DateRange
}

type batteryValues struct {
	kind                             string
	kWh, volts, ampHours, ratedHours float64
	floorPct, ceilingPct, startPct   float64
	maxChargeKW, taperHours          float64
	atHandShare, settlePerH          float64
	rateTable                        [][2]float64
	chargePct                        float64
	chargeCurve                      [][2]float64
	dischargePct                     float64
	selfDischargePct                 float64
	chargerKW, chargerPct            float64
	inverterKW, inverterPct          float64
	inverterIdleW                    float64
	roomC                            float64
	outdoor, temperatureEffects      bool
	fullEveryDays                    float64
	cycleLife                        [][2]float64
}

type woodpileValues struct {
	maxMoisturePct, dryMJKg        float64
	species                        string
	solidPerStacked, solidPerLoose float64
	lossPct, workHours             float64
	rackPct, rackAsIsKg            float64
	stacks, cuts                   []*stackValues
}

type stackValues struct {
	name, species, piece, cover              string
	dryKg, asIsKg, stackedM3, solidM3, cords float64
	moisturePct                              float64
	on                                       string // of a cut: month and day
}

type luckValues struct{ loadYearPct, setDailyPct, moisturePoints, failPct, repairDays float64 }

type planValues struct {
	by, foresight                                string
	shortKg, hourKg, startKg, wearKg, fullLateKg float64
	sparePct, spareKg, shortDayKWh               float64
	refuelKg, offUsualKg                         float64
	usualStart                                   int
	ration                                       bool
	sameStart                                    int
	sameHours                                    float64
	startBelowPct, stopAbovePct                  float64
}
