package sim

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"twigwatt/loads"
	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/money"
	"twigwatt/storage/battery"
)

// A Warning is something strange but runnable.
type Warning struct{ Code, Text string }

// Warnings are gathered one by one.
type Warnings []Warning

// Add adds a warning whose text is written as by fmt.Sprintf.
func (w *Warnings) Add(code, format string, args ...any) {
	*w = append(*w, Warning{code, fmt.Sprintf(format, args...)})
}

// A Summary is the answers of a span. Energies are AC at the house in kWh
// unless said, wood oven-dry kg unless said.
type Summary struct {
	Name         string
	Span         calendar.Span
	Total        Tally
	Shortage     Shortage
	Bank         BankSummary
	Wood         WoodSummary
	Sun          *SunSummary    // nil: no panels
	Warmth       *WarmthSummary // nil: no tank
	Cost         *money.Cost    // of a year; nil: no prices are given
	Char         genset.Char
	Price        Price
	Books        Gaps
	Months       []MonthSummary
	LongestDay   *DayRecord // most attended hours
	Warnings     Warnings
	AttendedADay float64
	MaxHoursADay float64 // that the rules allow, in whole steps
	ShortDayKWh  float64 // from which on a day counts as short
}

// ChoreReport is how chores were done, in kWh.
type ChoreReport struct{ OnRunsKWh, FromBankKWh, UnplacedKWh float64 }

// Shortage counts what the house wanted and did not get.
type Shortage struct {
	Days     int
	WorstDay *DayRecord // nil without any shortfall

	// What makes dark: the share of all shortfall that was missed while the inverter
	// gave all it can, and how much of the bank the cold of the worst day kept.
	OverInverterShare float64 // 0 to 1
	ColdPct           float64 // of the full size, above the floor at 20 °C
	InverterKW        float64 // AC
}

// BankSummary is the bank through the span; energies stored are DC.
type BankSummary struct {
	StartKWh, EndKWh float64
	LowestPct        float64
	LowestDay        calendar.Date
	FullCycles       float64 // energy taken out at the terminals over the full size
	LongestNotFull   int     // days
	DaysBetweenFull  float64 // in the mean, between full charges; +Inf: it is never full
	SeldomFull       bool    // so seldom that its life is felt to be shorter: sulphation
	LateDays         int     // with a full charge overdue
	Late             []calendar.DateRange
	FullEveryDays    int
	LifeLowYears     float64 // by cycles and time together
	LifeHighYears    float64 // by the quicker of the two alone
}

// WoodSummary is the pile through the span. Endless wood has no pile.
type WoodSummary struct {
	Endless              bool
	PileStart, PileEnd   Wood
	WettestShare         float64 // moisture of the wettest wood burned, wet basis
	TarDays              int     // on which its tar is to be feared
	WorkHours            float64
	DaysWithoutReadyWood int
	NoWood               *NoWood // the first day without ready wood for a run; nil: none
}

// SunSummary is the panels through the span.
type SunSummary struct {
	SunTally
	LevelKWhM2, PlaneKWhM2 float64 // on level ground, and on the panels, in the mean by their power
	DullWeekStart          calendar.Date
	DullWeekKWh            float64 // that they could give in the seven days, fewer in a shorter span, that were dullest
}

// TakenKWh is what somebody took.
func (s *SunTally) TakenKWh() float64 { return s.MadeKWh() - s.AllUnusedKWh() }

// sunSummary reads off what a span's panels gave; nil without any.
func sunSummary(d *loads.Demand, b *Books, total *Tally) *SunSummary {
	if d == nil || d.SunKW == nil {
		return nil
	}
	s := &SunSummary{SunTally: total.Sun}
	for _, day := range d.DaySun {
		s.LevelKWhM2 += day.LevelKWhM2
		s.PlaneKWhM2 += day.PlaneKWhM2
	}
	const weekDays = 7
	days := min(weekDays, len(b.Days))
	for first := 0; first+days <= len(b.Days); first++ {
		kWh := 0.0
		for i := range b.Days[first : first+days] {
			kWh += b.Days[first+i].Sun.MadeKWh()
		}
		const crumbKWh = 1e-9
		if first == 0 || kWh < s.DullWeekKWh-crumbKWh {
			s.DullWeekStart, s.DullWeekKWh = b.Days[first].Date, kWh
		}
	}
	return s
}

// Price is what the plan cost, in kg of oven-dry wood.
type Price struct{ WoodKg, HoursKg, StartsKg, ShortKg, HandbackKg, StandbyKg, SoftKg float64 }

// TotalKg returns the price without the soft prices.
func (p Price) TotalKg() float64 {
	return p.WoodKg + p.HoursKg + p.StartsKg + p.ShortKg + p.HandbackKg + p.StandbyKg
}

// Gaps are what the books of the whole span miss, and the worst of any day and step.
type Gaps struct {
	ElectricityKWh, BankKWh, WoodKg, WaterKg float64
	SunKWh, WorstSunKWh                      float64 // the last of any step
	WarmthKWh                                float64 // of the tank: of the span or any step
	WorstDayKWh, WorstStepKWh                float64
	WorstDayKg, WorstStepKg                  float64
}

// A MonthSummary is a calendar month of the span, or the part of it that lies in the span.
type MonthSummary struct {
	First     calendar.Date // the month's first day, in the span or not
	Days      int
	Tally     Tally
	ShortDays int
	LowestPct float64
}

// add adds other days to the month's; it may hold none.
func (m *MonthSummary) add(o *MonthSummary) {
	if m.Days == 0 {
		m.LowestPct = o.LowestPct
	}
	m.Days += o.Days
	m.ShortDays += o.ShortDays
	m.LowestPct = min(m.LowestPct, o.LowestPct)
	m.Tally.add(&o.Tally)
}

// AttendedADay is the mean of the month's attended hours.
func (m *MonthSummary) AttendedADay() float64 { return m.Tally.AttendedH / float64(m.Days) }

// Summarize reads the answers off the books of a household's span.
func Summarize(household *Household, b *Books) *Summary {
	h := household.House
	s := &Summary{Name: household.Name, Span: h.Span, Total: b.Total(), Warnings: slices.Clone(household.Warnings),
		MaxHoursADay: float64(h.maxSteps) * h.stepH, ShortDayKWh: h.Prices.ShortDayKWh}
	s.AttendedADay = s.Total.AttendedH / float64(h.Span.Days)
	s.Wood = WoodSummary{Endless: h.Pile.Endless, WettestShare: b.WettestShare, TarDays: b.TarDays,
		PileStart: b.PileStart, PileEnd: b.PileEnd, NoWood: b.NoWood,
		WorkHours: s.Total.BurnedStackedM3 * h.Pile.WorkHPerStacked}
	full := h.Bank.FullKWh
	s.Bank = BankSummary{StartKWh: b.StartKWh, EndKWh: b.EndKWh, LowestPct: 100 * b.StartKWh / full, LowestDay: h.Span.Start,
		FullCycles:     (s.Total.DischargeKWh + s.Total.Lost.DischargeKWh + s.Total.Lost.IdleKWh - s.Total.Sun.HouseKWh) / full,
		LongestNotFull: b.LongestWithoutFull, FullEveryDays: h.Prices.FullEveryDays}
	const daysAYear = 365.25
	s.Bank.LifeLowYears, s.Bank.LifeHighYears = battery.LifeYears(b.Wear.Damage, float64(h.Span.Days)/daysAYear,
		h.Bank.CalendarYears(h.bankMeanC()))
	s.Bank.DaysBetweenFull = daysBetweenFull(b)
	if every := float64(h.Prices.FullEveryDays); h.Bank.Kind != battery.Lithium && float64(h.Span.Days) > every {
		const felt = 1.25 // times as seldom as wanted: from there on its life falls by a twentieth or more
		s.Bank.SeldomFull = every > 0 && s.Bank.DaysBetweenFull > felt*every
		s.Bank.LifeLowYears, s.Bank.LifeHighYears = battery.SeldomFull(s.Bank.LifeLowYears, s.Bank.LifeHighYears,
			s.Bank.DaysBetweenFull, every)
	}
	for i := range b.Days {
		s.addDay(&b.Days[i], h)
	}
	s.Shortage.InverterKW = h.Bank.InverterKW
	if worst := s.Shortage.WorstDay; worst != nil {
		s.Shortage.OverInverterShare = s.Total.OverInverterKWh / s.Total.ShortfallKWh
		s.Shortage.ColdPct = 100 * (h.Days[worst.Date-h.Span.Start].Bank.FloorKWh/full - h.Bank.FloorShare)
	}
	s.Sun = sunSummary(household.Demand, b, &s.Total)
	s.Warmth = h.warmthSummary(b, &s.Total)
	s.Char = genset.CharOf(h.Set.CharShare * s.Total.BurnedDryKg)
	s.Price = h.price(b, &s.Total, s.Bank.LateDays)
	s.Books = Gaps{ElectricityKWh: s.Total.ElectricityGapKWh(), BankKWh: b.StartKWh + s.Total.BankGainKWh() - b.EndKWh,
		WorstDayKWh: b.DayGapKWh, WorstStepKWh: b.StepGapKWh, WorstDayKg: b.DayGapKg, WorstStepKg: b.StepGapKg, SunKWh: s.Total.Sun.GapKWh(), WorstSunKWh: b.SunGapKWh}
	if !h.Pile.Endless {
		gain := s.Total.PileGainKg()
		s.Books.WoodKg = b.PileStart.DryKg + gain.DryKg - b.PileEnd.DryKg
		s.Books.WaterKg = b.PileStart.WaterKg + gain.WaterKg - b.PileEnd.WaterKg
	}
	s.Cost = h.costOf(s)
	s.warn(h)
	return s
}

// daysBetweenFull is the span's days for each day on which the bank was full.
func daysBetweenFull(b *Books) float64 {
	full := 0
	for i := range b.Days {
		if b.Days[i].ReachedFull {
			full++
		}
	}
	return float64(len(b.Days)) / float64(full)
}

func (s *Summary) addDay(d *DayRecord, h *House) {
	if n := len(s.Months); n == 0 || s.Months[n-1].First.Month() != d.Date.Month() {
		s.Months = append(s.Months, MonthSummary{First: calendar.NewDate(d.Date.Year(), d.Date.Month(), 1)})
	}
	lowest, short, month := 100*d.LowestKWh/h.Bank.FullKWh, 0, &s.Months[len(s.Months)-1]
	if d.Short(h.Prices.ShortDayKWh) {
		short = 1
	}
	month.add(&MonthSummary{Days: 1, Tally: d.Tally, ShortDays: short, LowestPct: lowest})
	s.Shortage.Days += short
	if lowest < s.Bank.LowestPct {
		s.Bank.LowestPct, s.Bank.LowestDay = lowest, d.Date
	}
	worst := s.Shortage.WorstDay
	if (d.ShortfallH > 0 || short > 0) && (worst == nil || d.ShortfallKWh > worst.ShortfallKWh) {
		s.Shortage.WorstDay = d
	}
	if s.LongestDay == nil || d.AttendedH > s.LongestDay.AttendedH {
		s.LongestDay = d
	}
	if d.Late {
		s.Bank.addLate(d.Date)
	}
	if d.WithoutReadyWood {
		s.Wood.DaysWithoutReadyWood++
	}
}

// addLate adds a day to the stretches in which a full charge was overdue.
func (b *BankSummary) addLate(d calendar.Date) {
	b.LateDays++
	if n := len(b.Late); n > 0 && b.Late[n-1].Last == d-1 {
		b.Late[n-1].Last = d
		return
	}
	b.Late = append(b.Late, calendar.DateRange{First: d, Last: d})
}

// lateText names the stretches, the first few of them.
func (b *BankSummary) lateText() string {
	const most = 4
	var parts []string
	for _, r := range b.Late[:min(most, len(b.Late))] {
		parts = append(parts, r.Text())
	}
	if more := len(b.Late) - most; more > 0 {
		parts = append(parts, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(parts, ", ")
}

// price weighs the span by the scenario's prices.
func (h *House) price(b *Books, t *Tally, lateDays int) Price {
	p := &h.Prices
	return Price{
		WoodKg:     t.BurnedDryKg,
		HoursKg:    p.HourKg * t.AttendedH,
		StartsKg:   p.StartKg * float64(t.LightUps),
		ShortKg:    p.ShortKgPerKWh * t.ShortfallKWh,
		HandbackKg: p.ShortKgPerKWh * h.ServableKWh(max(0, b.StartKWh-b.EndKWh)),
		StandbyKg:  h.StandbyKg(&t.Standby),
		SoftKg: p.WearKgPerKWh*t.FromBankKWh() + p.SpareKgPerKWhH*t.SpareMissingKWhH + p.FullLateKgPerDay*float64(lateDays) +
			p.RefuelKg*float64(t.Refuels) + p.OffUsualKgPerH*t.OffUsualH,
	}
}

// ServableKWh returns what stored energy could serve at the house.
func (h *House) ServableKWh(storedKWh float64) float64 {
	return storedKWh * h.Bank.DischargeEfficiency * h.Bank.InverterEfficiency
}

// Month returns the summary of a month of the year, over all years of the span,
// and whether the span touches it.
func (s *Summary) Month(month time.Month) (MonthSummary, bool) {
	var all MonthSummary
	for i := range s.Months {
		m := &s.Months[i]
		if m.First.Month() != month {
			continue
		}
		if all.Days == 0 {
			all.First = m.First
		}
		all.add(m)
	}
	return all, all.Days > 0
}

// bankMeanC is the mean air around the bank.
func (h *House) bankMeanC() float64 {
	sum := 0.0
	for i := range h.Days {
		sum += h.Days[i].Bank.AirC
	}
	return sum / float64(len(h.Days))
}

// frostDays counts the days on which a lithium bank refuses charge.
func (h *House) frostDays() int {
	days := 0
	for i := range h.Days {
		if h.Days[i].Bank.RefusesCharge {
			days++
		}
	}
	return days
}

// untendedMinutes is how much of the tending hours fills no whole step of a day.
func (h *House) untendedMinutes() float64 {
	lost := calendar.OverlapMinutes(h.Tending.Hours, 0, calendar.MinutesADay)
	for _, ahead := range h.tendedAhead {
		if ahead > 0 {
			lost -= float64(h.Span.StepMinutes)
		}
	}
	return lost
}

// Hazards are warnings of what the house's rules and the bank's air bring, at a
// lowest charge in percent.
func (h *House) Hazards(lowestPct float64) Warnings {
	var all Warnings
	coldest := h.BankAirC()
	if h.BankOutdoor {
		coldest = min(coldest, h.Snap.AirC)
	}
	if n := h.frostDays(); n > 0 {
		all.Add("lithium_frost", "on %s the air around the bank is at or below 0 °C, "+
			"and a lithium bank takes no charge then: keep it warmer", days(n))
	} else if h.Bank.Kind == battery.Lithium && h.Bank.TemperatureEffects && coldest <= 0 {
		all.Add("lithium_frost", "in a cold snap (%.0f °C, place.snap_c) a lithium bank takes no charge: keep it warmer", coldest)
	}
	if h.Bank.CeilingShare < battery.FullShare && h.Prices.FullEveryDays > 0 {
		all.Add("never_full", "the ceiling (%.0f %%) is under 97 %%, so the bank never counts as full: "+
			"raise battery.ceiling_pct, or set battery.full_every_days = 0", 100*h.Bank.CeilingShare)
	}
	if h.maxSteps < h.minSteps || !slices.ContainsFunc(h.tendedAhead, func(steps int) bool { return steps >= h.minSteps }) {
		all.Add("no_run_fits", "no run fits the rules of tending: "+
			"the shortest lasts %.1f h in whole steps, a day holds %.1f h, and the longest tended stretch %.1f h",
			float64(h.minSteps)*h.stepH, float64(h.maxSteps)*h.stepH, float64(slices.Max(h.tendedAhead))*h.stepH)
	}
	if lost := h.untendedMinutes(); lost > 0 {
		all.Add("tending_off_steps", "%.0f minutes a day of tending.hours are no whole step of %d minutes, "+
			"and are not used", lost, h.Span.StepMinutes)
	}
	if h.Bank.TemperatureEffects && h.Bank.Kind != battery.Lithium {
		if freezes := battery.FreezesAtC(lowestPct); freezes >= coldest {
			when := ""
			if h.BankOutdoor && coldest < h.BankAirC() {
				when = " in a cold snap (place.snap_c)"
			}
			all.Add("freezing", "at its lowest charge (%.0f %%) the electrolyte freezes at %.0f °C, "+
				"and the air around the bank falls to %.0f °C%s: "+
				"a frozen battery bursts and must never be charged", lowestPct, freezes, coldest, when)
		}
	}
	if h.Bank.TemperatureEffects && coldest < battery.ColdestTableC {
		all.Add("cold_beyond_table", "the air around the bank falls to %.0f °C in the months' means or in a cold snap; "+
			"the published capacity table ends at %.0f °C and was drawn straight on",
			coldest, battery.ColdestTableC)
	}
	return all
}

// warn adds what only the year could show.
func (s *Summary) warn(h *House) {
	s.Warnings = append(s.Warnings, h.Hazards(s.Bank.LowestPct)...)
	if s.Bank.LateDays > 0 {
		s.Warnings.Add("full_late", "on %s a full charge (97 %%) was more than %s ago, at the longest %s: %s", days(s.Bank.LateDays),
			days(s.Bank.FullEveryDays), days(s.Bank.LongestNotFull), s.Bank.lateText())
	}
	if out := s.Wood.NoWood; out != nil {
		text := fmt.Sprintf("from %s on there is no ready wood on %s, and no run", out.Date.Text(), days(s.Wood.DaysWithoutReadyWood))
		if out.Stack != "" {
			text += fmt.Sprintf("; next to be ready is %s, %.0f kg oven-dry at %.0f %% moisture", out.Stack, out.DryKg,
				100*out.MoistureShare)
		}
		s.Warnings.Add("no_ready_wood", "%s", text)
	}
	if meanC := h.bankMeanC(); meanC > hotC && h.Bank.Kind != battery.Lithium {
		s.Warnings.Add("hot_bank", "the air around the bank is at %.0f °C in the mean: by its age alone a lead-acid bank lasts "+
			"about %s there, %s at 20 °C (published for flooded cells)", meanC, years(h.Bank.CalendarYears(meanC)),
			years(h.Bank.CalendarYears(20)))
	}
	s.Warnings = append(s.Warnings, h.TarWarning(s.Wood.WettestShare, " on "+days(s.Wood.TarDays))...)
	const muchIdle = 0.25 // of what is wanted; a judgement, no source
	if idle := s.Total.Lost.IdleKWh; idle > muchIdle*s.Total.LoadKWh {
		s.Warnings.Add("idle_inverter", "the idle inverter draws %.0f kWh from the bank, "+
			"beside the %.0f kWh that are wanted: switch it off where nothing is wanted, "+
			"or get one that draws less (battery.inverter_idle_w)", idle, s.Total.LoadKWh)
	}
	warmthGapKWh := 0.0
	if w := s.Warmth; w != nil {
		warmthGapKWh = max(abs(w.GapKWh), w.WorstKWh)
		s.Books.WarmthKWh = warmthGapKWh
		const much = 0.1 // of what the exchangers take; a judgement
		if let := w.LetGoKWh; let > much*(w.IntoKWh+let) {
			s.Warnings.Add("tank_overfilled", "of %.0f kWh that the exchangers take %.0f find the tank hot enough and are let go: "+
				"a larger tank keeps more", w.IntoKWh+let, let)
		}
	}
	s.warnOfCost(h)
	if g, m := s.Books, &s.Total.Moved; open(max(g.WorstStepKWh, g.WorstDayKWh, abs(g.ElectricityKWh), abs(g.BankKWh),
		abs(g.SunKWh), g.WorstSunKWh, warmthGapKWh), s.Total.LoadKWh+s.Total.Sun.MadeKWh()+s.Total.Standby.MadeKWh+s.Total.OtherKWh+s.Total.EngineKWh+s.Total.ChargeKWh+s.Bank.StartKWh) ||
		open(max(g.WorstStepKg, g.WorstDayKg, abs(g.WoodKg), abs(g.WaterKg)),
			s.Wood.PileStart.DryKg+s.Wood.PileStart.WaterKg+m.CutDryKg+m.CutWaterKg+s.Total.BurnedAsIsKg) {
		s.Warnings.Add("books_open", "the books do not close; the figures above cannot be trusted: this is a fault of the program")
	}
}

// open reports whether books miss more than rounding can: a millionth of a unit, and where more
// than a thousand flowed a thousand-millionth of that.
func open(gap, flowed float64) bool {
	const least, ofFlow = 1e-6, 1e-9
	return !(gap <= max(least, ofFlow*flowed))
}

// hotC is the mean air from which a household is told that heat ages its bank: the end of the
// published table.
const hotC = 30

// years counts years in words.
func years(n float64) string {
	if math.Round(n) == 1 {
		return "1 year"
	}
	return fmt.Sprintf("%.0f years", n)
}

// days counts days in words.
func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

func abs(x float64) float64 { return max(x, -x) }
