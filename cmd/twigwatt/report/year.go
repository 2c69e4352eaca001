package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/money"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
	"twigwatt/storage/tank"
	"twigwatt/storage/woodpile"
)

// monthColumns are the months of a span; years are told where it has several.
func monthColumns(y *study.YearAnswer) list[sim.MonthSummary] {
	layout := "January"
	if len(y.Months) > 12 {
		layout = "Jan 2006"
	}
	months := list[sim.MonthSummary]{
		monthColumn(layout, func(m *sim.MonthSummary) calendar.Date { return m.First }),
		figures("hours\na day", "", 1, (*sim.MonthSummary).AttendedADay),
		figures("engine\nhours", "engine_hours", 0, func(m *sim.MonthSummary) float64 { return m.Tally.EngineH }),
		onlyJSON("attended_hours", func(m *sim.MonthSummary) any { return m.Tally.AttendedH }),
		figures("wood\nm3", "", 1, func(m *sim.MonthSummary) float64 { return m.Tally.BurnedStackedM3 }),
		figures("wood\ndry kg", "wood_dry_kg", 0, func(m *sim.MonthSummary) float64 { return m.Tally.BurnedDryKg }),
		figures("wanted\nkWh", "wanted_kwh", 0, func(m *sim.MonthSummary) float64 { return m.Tally.LoadKWh }),
		figures("short\nkWh", "shortfall_kwh", 1, func(m *sim.MonthSummary) float64 { return m.Tally.ShortfallKWh }),
		figures("days\nshort", "shortfall_days", 0, func(m *sim.MonthSummary) float64 { return float64(m.ShortDays) }),
		percents("bank\nlowest", "lowest_pct", 0, func(m *sim.MonthSummary) float64 { return m.LowestPct }),
	}
	made := figures("sun\nkWh", "sun_kwh", 0, func(m *sim.MonthSummary) float64 { return m.Tally.Sun.MadeKWh() })
	if y.Summary.Sun == nil {
		made.title = ""
	}
	return append(months, made, onlyJSON("sun_unused_kwh", func(m *sim.MonthSummary) any { return m.Tally.Sun.AllUnusedKWh() }),
		onlyJSON("warmth_drawn_kwh", func(m *sim.MonthSummary) any { return m.Tally.Warmth.DrawnKWh }))
}

// A weighed is a plan with what it comes to.
type weighed struct {
	name string
	*sim.Summary
}

// worthColumns put chosen runs beside the best fixed window.
var worthColumns = list[weighed]{
	texts("plan", "", func(w *weighed) string { return w.name }, nil),
	figures("price\nkg", "", 0, func(w *weighed) float64 { return w.Price.TotalKg() + w.Price.SoftKg }),
	figures("days\nshort", "", 0, func(w *weighed) float64 { return float64(w.Shortage.Days) }),
	figures("short\nkWh", "", 1, func(w *weighed) float64 { return w.Total.ShortfallKWh }),
	figures("attended\nhours", "", 0, func(w *weighed) float64 { return w.Total.AttendedH }),
	figures("wood\ndry kg", "", 0, func(w *weighed) float64 { return w.Total.BurnedDryKg }),
}

// rivalJSON is what a rival of chosen runs comes to.
func rivalJSON(s *sim.Summary) Pairs {
	return Pairs{{"attended_hours", s.Total.AttendedH}, {"total_kg", s.Price.TotalKg()}, {"soft_kg", s.Price.SoftKg},
		{"shortfall_kwh", s.Total.ShortfallKWh}, {"shortfall_days", s.Shortage.Days}}
}

// BookKeeping is how much of the books a text shows.
type BookKeeping int

// In one line, or each entry.
const (
	BooksInALine BookKeeping = iota
	BooksInFull
)

// Year reports what a span comes to; its books stand under the warnings.
func Year(y *study.YearAnswer, kept BookKeeping) *Report {
	return &Report{Warnings: y.Warnings, More: moreCautions(y),
		JSON: func() Pairs { return yearJSON(y) }, Page: func() *Page { return yearPage(y) },
		Text: func(t *Terminal) {
			t.Line("%s: %s from %s, %s", y.Name, plural(y.Span.Days, "day"), DayYear(y.Span.Start), planText(y))
			answers(t, y)
			t.Gap()
			monthColumns(y).text(t, y.Months)
			t.Gap()
			if y.Window != nil {
				t.WriteString("What choosing is worth (price in kg of wood, soft prices included)\n")
				worthColumns.text(t, weighedPlans(y))
				t.Note(oneOfMany(y))
				t.Gap()
			}
			closingLines(t, y)
		}, After: func(t *Terminal) {
			if kept == BooksInFull {
				books(t, y.Summary)
			}
			booksLine(t, &y.Summary.Books, kept)
		}}
}

// moreCautions are those of what not every household has.
func moreCautions(y *study.YearAnswer) (more []Caution) {
	if y.Summary.Warmth != nil {
		more = append(more, WarmthCaution)
	}
	return append(more, petrolCautions(y.Household)...)
}

// petrolCautions are those of a stand-by set.
func petrolCautions(h *sim.Household) []Caution {
	if h.Standby == nil {
		return nil
	}
	return []Caution{PetrolCaution}
}

// weighedPlans are the plan and its rival, if there is one.
func weighedPlans(y *study.YearAnswer) []weighed {
	plans := []weighed{{"this plan", y.Summary}}
	if y.Window != nil {
		plans = []weighed{{"chosen runs", y.Summary}, {"best fixed, " + windowText(y), y.Window.Summary},
			{"wall card, a start a month", y.Card}}
	}
	return plans
}

func windowText(y *study.YearAnswer) string {
	return say("%s for %.1f h", calendar.Clock(y.Window.StartStep*y.Span.StepMinutes), float64(y.Window.Steps)*y.Span.StepH())
}

// oneOfMany says that a year is one of many, and which commands count more of them.
func oneOfMany(y *study.YearAnswer) string {
	demand := y.Household.Demand
	if spread := 100 * demand.SpreadShare; demand.SwingShare == 0 && spread > 0 {
		return say("These are the days of load.file, which differ by %.0f %% from what is expected of them by the others; "+
			"plans weigh how much they differ, and know none of them beforehand.", spread)
	}
	differs := ""
	switch {
	case demand.SwingShare > 0 && demand.SkySpreads():
		differs = say("whose load swings by %.0f %% and whose sky comes by luck", 100*demand.SwingShare)
	case demand.SwingShare > 0:
		differs = say("whose load swings by %.0f %%", 100*demand.SwingShare)
	case demand.SkySpreads():
		differs = "whose sky comes by luck"
	default:
		return ""
	}
	return say("These are the days of seed %d, %s; "+
		"risk lives 100 such spans by the same plan, failures among them, and day plans today by it. "+
		"hours and bank ask what a limit or a size can do: 20 spans, with darkness at %d times its price.",
		demand.Seed, differs, study.ShortPriceFactor)
}

// planText says the rule, and what it knows of the days.
func planText(y *study.YearAnswer) string {
	switch text := y.Rule.Text(y.Span); {
	case y.Rule.By != plan.ByChosen:
		return text
	case y.Rule.Foresight == plan.Exact:
		return text + ", days known beforehand"
	default:
		return text + ", days not known beforehand"
	}
}

func answers(t *Terminal, y *study.YearAnswer) {
	s, total := y.Summary, &y.Total
	run := say("%.1f h a day (%.0f h, engine %.0f h)", s.AttendedADay, total.AttendedH, total.EngineH)
	if january, ok := s.Month(time.January); ok {
		run += say("; January %.1f h", january.AttendedADay())
	}
	run += say("; longest %.1f h", s.LongestDay.AttendedH)
	t.Answer("Run", run)
	t.Answer("Wood", say("%s stacked m3 (%s cords, %s as it lies, %s oven-dry), %.0f h of work", amount(total.BurnedStackedM3),
		amount(total.BurnedStackedM3/woodpile.CordM3), Mass(total.BurnedAsIsKg), Mass(total.BurnedDryKg), s.Wood.WorkHours))
	t.Answer("Dark", dark(s))
	bank := say("lowest %.0f %% (%s)", s.Bank.LowestPct, dayIn(s.Span, s.Bank.LowestDay))
	if s.Span.Days >= daysToTellLife {
		bank += say("; about %s of life, used like this", LifeText(s.Bank.LifeLowYears, s.Bank.LifeHighYears))
		if s.Bank.SeldomFull {
			bank += " (seldom full: sulphation)"
		}
	}
	if s.Bank.FullEveryDays > 0 {
		bank += "; " + fullText(&s.Bank)
	}
	t.Answer("Bank", bank)
	if y.Ageing != nil {
		t.Answer("Age", ageText(y))
	}
	if s.Sun != nil {
		t.Answer("Sun", sunText(y))
	}
	if s.Warmth != nil {
		t.Answer("Warm", warmthText(s.Warmth))
	}
	if y.Household.Standby != nil {
		t.Answer("Petrol", petrolText(&total.Standby))
	}
	if s.Cost != nil {
		t.Answer("Cost", costText(s.Cost))
	}
	for _, todo := range todoTexts(y) {
		t.Answer("DO", todo)
	}
}

// sunText says what the panels gave, and where it went.
func sunText(y *study.YearAnswer) string {
	s := y.Summary.Sun
	return say("panels could give %.0f kWh: %.0f to the house, %.0f into the bank, %.0f unused; dullest week from %s, %.1f kWh",
		s.MadeKWh(), s.ToHouseKWh(), s.BankKWh, s.AllUnusedKWh(), dayIn(y.Span, s.DullWeekStart), s.DullWeekKWh)
}

// ageText says how the bank fades.
func ageText(y *study.YearAnswer) string {
	a := y.Ageing
	text := say("of the bank's size %.0f %% are left in the last year, for it loses a fifth in %.1f years of such use",
		100*a.Health[len(a.Health)-1],
		a.LifeYears)
	var years []string
	for _, year := range a.Replaced {
		years = append(years, strconv.Itoa(y.Span.Start.Year()+year))
	}
	if len(years) > 0 {
		text += "; replaced in " + strings.Join(years, ", ")
	}
	return text
}

// petrolText says what the stand-by set did.
func petrolText(b *sim.StandbyTally) string {
	if b.Hours == 0 {
		return "the stand-by set is never needed"
	}
	return say("%.1f l in %.1f h (%s), %.0f kWh made", b.Litres, b.Hours, plural(b.Starts, "start"), b.MadeKWh)
}

// costText says what a year costs, in three steps.
func costText(c *money.Cost) string {
	of := func(r money.Range) string {
		each := r.Over(c.ServedKWh)
		text := betweenText(r, 0) + " " + c.Unit
		if c.ServedKWh > 0 {
			text += " (" + betweenText(each, 2) + " a kWh)"
		}
		return text
	}
	text := say("a year, paid out %s; with what wears %s; with your own hours %s", of(c.Paid), of(c.WithWear), of(c.WithHours))
	if c.WorthDryKg > 0 {
		text += say(". A kg of oven-dry wood is worth %.2f %s", c.WorthDryKg, c.Unit)
		if c.HourKgMeant > 0 {
			text += say(", an hour of yours %.0f kg of it", c.HourKgMeant)
		}
		if c.LitreKgMeant > 0 {
			text += say(", a litre of petrol %.1f kg", c.LitreKgMeant)
		}
	}
	return text
}

// betweenText writes a range, or one figure where both ends read alike.
func betweenText(r money.Range, decimals int) string {
	low, high := Number(r.Low, decimals), Number(r.High, decimals)
	if low == high {
		return low
	}
	return low + " to " + high
}

// warmthText says what the tank gave.
func warmthText(w *sim.WarmthSummary) string {
	text := say("%.0f kWh of the set's heat went into the tank", w.IntoKWh)
	if w.WantedKWh > 0 {
		text += say(": %.0f kWh of hot water, %.1f showers a day, %.0f %% of what is wanted (%s without)", w.DrawnKWh, w.ShowersADay,
			100*w.DrawnKWh/w.WantedKWh, plural(w.DaysWithout, "day"))
	}
	if w.RoomsKWh > 0 {
		text += say("; %.0f kWh warmed rooms", w.RoomsKWh)
	}
	return text + say("; a stove would burn %s of oven-dry wood for it", Mass(w.SavedDryKg))
}

// fullText says how often a bank is full.
func fullText(b *sim.BankSummary) string {
	if math.IsInf(b.DaysBetweenFull, 0) {
		return "never full"
	}
	return say("full every %.0f days, at the longest %s without", b.DaysBetweenFull, plural(b.LongestNotFull, "day"))
}

// daysToTellLife is the shortest span that says how long a bank lasts. A judgement, no
// source.
const daysToTellLife = 28

// LifeText writes a bank's life as a range.
func LifeText(low, high float64) string {
	from, to := Number(low, 0), Number(high, 0)
	switch {
	case to == "0":
		return "under 1 year"
	case from != to:
		return from + " to " + to + " years"
	case to == "1":
		return "1 year"
	}
	return to + " years"
}

// amount writes a volume: small ones with a digit more.
func amount(x float64) string {
	if x < 1 {
		return Number(x, 2)
	}
	return Number(x, 1)
}

func dark(s *sim.Summary) string {
	worst := s.Shortage.WorstDay
	switch {
	case worst == nil:
		return "no day short"
	case s.Shortage.Days == 0:
		return say("no day short: %.2f kWh missing in all, and on no day the %.2f kWh that count",
			s.Total.ShortfallKWh, s.ShortDayKWh)
	}
	return say("%s short, %.1f kWh in %.1f h; worst %s (%.1f kWh)", plural(s.Shortage.Days, "day"),
		s.Total.ShortfallKWh, s.Total.ShortfallH, dayIn(s.Span, worst.Date), worst.ShortfallKWh)
}

// todoTexts say what the household needs to do.
func todoTexts(y *study.YearAnswer) []string {
	var todo []string
	for _, remedy := range y.Todo {
		if remedy == study.RationedWood {
			todo = append(todo, say("get %s more of oven-dry ready wood: until then it is rationed, see twigwatt wood",
				Mass(y.Ration.MissingDryKg)))
			continue
		}
		switch remedy {
		case study.AgainstDark:
			todo = append(todo, curesText(y))
		case study.UseLess:
			todo = append(todo, "use less"+whenDark(y)+": no one change that was tried gives what is missing then")
		default:
			todo = append(todo, remedyText(remedy, y.Summary))
		}
	}
	return todo
}

// curesText says what helps against the dark, as it was tried.
func curesText(y *study.YearAnswer) string {
	var ways []string
	for _, cure := range y.Cures {
		ways = append(ways, remedyText(cure.Remedy, y.Summary))
	}
	text := "against the dark" + whenDark(y) + ": " + strings.Join(ways, ", or ")
	if share := y.Cures[0].Share; len(y.Cures) == 1 && share < study.CuresShare {
		text += say(" (gives %.0f %% of what is missing then; use less too)", 100*share)
	}
	return text
}

// whenDark says around which day it is dark, where that is not most of the span, and what bars a
// run on it.
func whenDark(y *study.YearAnswer) string {
	worst := y.Shortage.WorstDay
	if !y.Then || worst == nil {
		return ""
	}
	text := " around " + dayIn(y.Span, worst.Date)
	switch day := &y.Household.Days[worst.Date-y.Span.Start]; {
	case day.Broken:
		text += ", when the set is broken"
	case day.Away && !day.Tendable:
		text += ", when nobody is at home"
	case !day.Tendable:
		text += ", when no run is allowed"
	}
	return text
}

// remedyText says a remedy against what a span shows.
func remedyText(r study.Remedy, s *sim.Summary) string {
	switch r {
	case study.ReadyWood:
		text := say("ready wood runs out on %s: %s without a run: see twigwatt wood", dayIn(s.Span, s.Wood.NoWood.Date),
			plural(s.Wood.DaysWithoutReadyWood, "day"))
		if s.Wood.NoWood.Stack != "" {
			text += "; what lies there too wet may be mixed with dry, split smaller, racked, or allowed (woodpile.wettest_pct)"
		}
		return text
	case study.LargerInverter:
		return say("use less at once, or get a larger inverter: its %.1f kW are passed", s.Shortage.InverterKW)
	case study.WarmerBank:
		return say("keep the bank warmer: on %s the cold keeps another %.0f %% of it out of use",
			dayIn(s.Span, s.Shortage.WorstDay.Date), s.Shortage.ColdPct)
	case study.AllowMoreHours:
		return say("allow more than %.1f h a day (tending.max_hours_a_day)", s.MaxHoursADay)
	case study.CutLess:
		return say("cut less: %s were cut and %s burned, and %s lie at the end", Mass(s.Total.Moved.CutDryKg),
			Mass(s.Total.BurnedDryKg), Mass(s.Wood.PileEnd.DryKg))
	case study.DrierWood:
		return say("burn drier wood: it was at %.0f %% in the mean", s.Total.MoisturePct())
	}
	if text, ok := remedies[r]; ok {
		return text
	}
	panic("report: no text for a remedy")
}

// remedies are those that need no figure.
var remedies = map[study.Remedy]string{
	study.FrostFreeBank:     "keep the bank from freezing: see the warning below",
	study.WarmLithium:       "keep the lithium bank above 0 °C: see the warning below",
	study.RoomForRuns:       "make room for runs: no run fits the rules of tending, see the warning below",
	study.LongerRunToFill:   "fill the bank: a longer run once a fortnight would (plan.full_late_kg_per_day is its price)",
	study.MoreHoursToFill:   "fill the bank: it wants more hours on a day once a fortnight (tending.max_hours_a_day)",
	study.ChargerToFill:     "fill the bank: it wants a bigger charger (battery.charger_kw, battery.max_charge_kw)",
	study.SmallerBankToFill: "fill the bank: the set cannot fill one of this size; a smaller bank would last longer",
	study.UseLessToFill:     "fill the bank: nothing that was tried fills it but using less",
	study.RaiseCeiling:      "fill the bank: raise battery.ceiling_pct, see the warning below",

	study.RestInverter: "let the inverter rest where nothing is wanted: see the warning below",
	study.CoolerBank:   "keep the bank cooler: see the warning below",

	study.StartTopUpSooner:      "light up sooner (plan.start_below_pct)",
	study.LongerSameHours:       "lengthen plan.same_hours",
	study.SameHoursInTending:    "move plan.same_start to where tending.hours hold the whole run",
	study.ChosenRuns:            "let runs be chosen (plan.by)",
	study.SecondStart:           "allow a second light-up a day (tending.max_starts_a_day)",
	study.LongerTending:         "tend runs at other hours too (tending.hours)",
	study.LongerTendingAndHours: "tend runs at other hours too, and for longer (tending.hours, tending.max_hours_a_day)",
	study.DearerDarkness:        "put a higher price on going dark (plan.short_kg_per_kwh)",
	study.LargerCharger:         "a charger twice as strong, and a bank that takes it (battery.charger_kw, battery.max_charge_kw)",
	study.LargerBank:            "a bank twice as large with a charger to match (see twigwatt bank)",
	study.LargerSet:             "a set half as strong again, and a charger to match",
}

// A book is a sum that must close: what it begins with, and its entries to the gap.
type book struct {
	title, unit string
	decimals    int
	entries     []entry
}

type entry struct {
	name  string
	value float64
}

// booksOf are the books of a span.
func booksOf(s *sim.Summary) []book {
	t, g, m := &s.Total, &s.Books, &s.Total.Moved
	all := []book{{"Books of electricity (at the house)", "kWh", 1, []entry{{"engine", t.EngineKWh}, {"+ other sources", t.OtherKWh},
		{"+ from the bank", t.DischargeKWh}, {"- wanted", t.LoadKWh}, {"+ shortfall", t.ShortfallKWh}, {"- to the bank", t.ChargeKWh},
		{"- spill", t.SpillKWh}, {"= gap", g.ElectricityKWh}}},
		{"Books of the bank", "kWh", 1, []entry{
			{"stored at first", s.Bank.StartKWh}, {"+ charged", t.ChargeKWh}, {"- given", t.DischargeKWh},
			{"- lost in charging", t.Lost.ChargeKWh}, {"- lost in giving", t.Lost.DischargeKWh}, {"- idle inverter", t.Lost.IdleKWh},
			{"- leaked away", t.Lost.LeakKWh}, {"- stored at last", s.Bank.EndKWh}, {"= gap", g.BankKWh}}}}
	if b := &t.Standby; b.Hours > 0 {
		all[0].entries = slices.Insert(all[0].entries, 1, entry{"+ stand-by set", b.MadeKWh})
	}
	if sun := s.Sun; sun != nil {
		for i := range all[0].entries {
			switch e := &all[0].entries[i]; e.name {
			case "+ from the bank":
				e.name = "+ from the inverter"
			case "+ other sources":
				e.name = "+ other sources, panels at the house"
			}
		}
		bank := &all[1]
		bank.entries = slices.Insert(bank.entries, 2, entry{"+ of the panels", sun.HouseKWh + sun.BankKWh})
		all = append(all, book{"Book of the sun (panels at the bank)", "kWh", 1, []entry{{"they could give", sun.AtBankKWh},
			{"- straight to the inverter", sun.HouseKWh}, {"- into the bank", sun.BankKWh}, {"- unused", sun.UnusedKWh},
			{"= gap", g.SunKWh}}})
	}
	if w := s.Warmth; w != nil {
		all = append(all, book{"Book of the tank", "kWh", 1, []entry{{"into it", w.IntoKWh}, {"- drawn", w.DrawnKWh},
			{"- into rooms", w.RoomsKWh}, {"- lost", w.Lost},
			{"- warmer at last", w.IntoKWh - w.DrawnKWh - w.RoomsKWh - w.Lost - w.GapKWh},
			{"= gap", w.GapKWh}}})
	}
	if s.Wood.Endless {
		return all
	}
	return append(all, book{"Books of the pile (oven-dry)", "kg", 0, []entry{
		{"at the start", s.Wood.PileStart.DryKg}, {"+ cut", m.CutDryKg},
		{"- burned", t.BurnedDryKg}, {"- lost", m.LostDryKg}, {"- at the end", s.Wood.PileEnd.DryKg}, {"= gap", g.WoodKg}}},
		book{"Books of its water", "kg", 0, []entry{{"at the start", s.Wood.PileStart.WaterKg}, {"+ cut", m.CutWaterKg},
			{"- burned", t.BurnedAsIsKg - t.BurnedDryKg}, {"- lost", m.LostWaterKg}, {"- dried away", m.DriedWaterKg},
			{"- at the end", s.Wood.PileEnd.WaterKg}, {"= gap", g.WaterKg}}})
}

func books(t *Terminal, s *sim.Summary) {
	for _, b := range booksOf(s) {
		t.WriteString(b.title + "\n")
		w := tabwriter.NewWriter(t, 0, 0, 1, ' ', tabwriter.AlignRight)
		for i, e := range b.entries {
			decimals := b.decimals
			if i == len(b.entries)-1 {
				decimals = 3
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t\n", e.name, Number(e.value, decimals), b.unit)
		}
		w.Flush()
	}
}

// booksLine says how far the books of any step or day are from closing.
func booksLine(t *Terminal, g *sim.Gaps, kept BookKeeping) {
	more := ""
	if kept == BooksInALine {
		more = " (--books shows them)"
	}
	const whPerKWh, gPerKg = 1000, 1000
	t.Line("Books close to %s Wh and %s g in every step and day%s.",
		Number(whPerKWh*max(g.WorstDayKWh, g.WorstStepKWh, g.WorstSunKWh, g.WarmthKWh), 3),
		Number(gPerKg*math.Max(g.WorstDayKg, g.WorstStepKg), 3), more)
}

// closingLines say what the plan cost, what char is left, and how wood was rationed and chores done.
func closingLines(t *Terminal, y *study.YearAnswer) {
	p := &y.Price
	t.Line("Price %.0f kg of oven-dry wood: wood %.0f, hours %.0f, light-ups %.0f, shortfall %.0f, "+
		"energy not handed back %.0f; soft prices (not in this sum) %.0f.",
		p.TotalKg(), p.WoodKg, p.HoursKg, p.StartsKg, p.ShortKg, p.HandbackKg, p.SoftKg)
	if y.Household.Standby != nil {
		t.Line("Of that price %.0f kg are the stand-by set's.", p.StandbyKg)
	}
	t.Line("Char %.0f kg; its carbon keeps about %.0f kg of CO2 out of the air for a century (IPCC 2019; "+
		"half or one and a half times as much is possible).",
		y.Char.Kg, y.Char.KeptCO2Kg)
	if y.Ration != nil {
		t.Line("%s", rationText(y.Ration))
	}
	if c := y.Chores; c != nil {
		t.Line("Chores: %.0f kWh rode on runs, %.0f kWh came from the bank, %.0f kWh found no room.", c.OnRunsKWh,
			c.FromBankKWh, c.UnplacedKWh)
	}
}

// rationText says what rationing costs against stacking the missing wood.
func rationText(r *study.Rationing) string {
	if len(r.Stretches) == 0 {
		return "Rationing: the pile lasts without it."
	}
	var stretches []string
	for _, stretch := range r.Stretches {
		text := say("from %s wood was weighed at %.1f times its price",
			calendar.DateRange{First: stretch.First, Last: stretch.Last}.Text(), stretch.WoodKg)
		if !stretch.Lasts {
			text += ", and even so does not last"
		}
		stretches = append(stretches, text)
	}
	return "Rationing: " + strings.Join(stretches, "; ") + say(". Against stacking %s more of "+
		"oven-dry ready wood that costs %.1f kWh of shortfall and %s more in the dark.",
		Mass(r.MissingDryKg), r.MoreShortKWh, plural(r.MoreShortDays, "day"))
}

func yearJSON(y *study.YearAnswer) Pairs {
	s, t, p := y.Summary, &y.Total, &y.Price
	var foresight any
	worst, worstKWh := (*calendar.Date)(nil), 0.0
	pile := func(x float64) any { return x }
	if y.Rule.By == plan.ByChosen {
		foresight = y.Rule.Foresight
	}
	if day := s.Shortage.WorstDay; day != nil {
		worst, worstKWh = &day.Date, day.ShortfallKWh
	}
	if s.Wood.Endless {
		pile = func(float64) any { return nil }
	}
	return Pairs{{"scenario", s.Name}, {"start", s.Span.Start}, {"days", s.Span.Days},
		{"step_minutes", s.Span.StepMinutes}, {"plan", y.Rule.By}, {"foresight", foresight},
		{"engine", Pairs{{"hours", t.EngineH}, {"attended_hours", t.AttendedH}, {"attended_hours_per_day", s.AttendedADay},
			{"light_ups", t.LightUps}, {"made_kwh", t.EngineKWh}, {"spill_kwh", t.SpillKWh}, {"refuels", t.Refuels}}},
		{"house", Pairs{{"wanted_kwh", t.LoadKWh}, {"served_kwh", t.LoadKWh - t.ShortfallKWh}, {"shortfall_kwh", t.ShortfallKWh},
			{"shortfall_hours", t.ShortfallH}, {"shortfall_days", s.Shortage.Days}, {"worst_day", worst}, {"worst_day_kwh", worstKWh}}},
		{"bank", Pairs{{"start_kwh", s.Bank.StartKWh}, {"end_kwh", s.Bank.EndKWh}, {"lowest_pct", s.Bank.LowestPct},
			{"charged_kwh", t.ChargeKWh}, {"discharged_kwh", t.DischargeKWh}, {"lost_kwh", t.Lost.TotalKWh()},
			{"full_cycles", s.Bank.FullCycles}, {"life_years_low", s.Bank.LifeLowYears}, {"life_years_high", s.Bank.LifeHighYears},
			{"longest_days_without_full", s.Bank.LongestNotFull}, {"days_between_full", s.Bank.DaysBetweenFull},
			{"ageing", orNull(y.Ageing, func(a study.Ageing) any {
				health := eachTimes(a.Health, 100)
				return Pairs{{"life_years", a.LifeYears}, {"health_pct", health}, {"replaced", len(a.Replaced)}}
			})}}},
		{"sun", orNull(s.Sun, sunJSON)},
		{"warmth", orNull(s.Warmth, warmthJSON)},
		{"standby", orNull(y.Household.Standby, func(sim.Standby) any {
			return Pairs{{"hours", t.Standby.Hours}, {"starts", t.Standby.Starts},
				{"made_kwh", t.Standby.MadeKWh}, {"litres", t.Standby.Litres}}
		})},
		{"money", orNull(s.Cost, costJSON)},
		{"wood", Pairs{{"burned_dry_kg", t.BurnedDryKg}, {"burned_as_is_kg", t.BurnedAsIsKg}, {"burned_stacked_m3", t.BurnedStackedM3},
			{"condensate_l", t.CondensateL}, {"work_hours", s.Wood.WorkHours}, {"pile_start_dry_kg", pile(s.Wood.PileStart.DryKg)},
			{"cut_dry_kg", pile(t.Moved.CutDryKg)}, {"lost_dry_kg", pile(t.Moved.LostDryKg)},
			{"pile_end_dry_kg", pile(s.Wood.PileEnd.DryKg)},
			{"days_without_ready_wood", s.Wood.DaysWithoutReadyWood}, {"runs_out", runsOut(s.Wood.NoWood)}}},
		{"char", charJSON(&s.Char)},
		{"price", Pairs{{"total_kg", p.TotalKg()}, {"wood_kg", p.WoodKg}, {"hours_kg", p.HoursKg}, {"starts_kg", p.StartsKg},
			{"short_kg", p.ShortKg}, {"handback_kg", p.HandbackKg}, {"standby_kg", p.StandbyKg}, {"soft_kg", p.SoftKg}}},
		{"books", Pairs{{"electricity_gap_kwh", s.Books.ElectricityKWh}, {"bank_gap_kwh", s.Books.BankKWh},
			{"wood_gap_kg", s.Books.WoodKg}, {"sun_gap_kwh", s.Books.SunKWh},
			{"warmth_gap_kwh", s.Books.WarmthKWh}}},
		{"months", monthColumns(y).json(s.Months)},
		{"fixed_window", orNull(y.Window, func(w study.Window) any {
			return append(Pairs{{"start", calendar.Clock(w.StartStep * s.Span.StepMinutes)},
				{"hours", float64(w.Steps) * s.Span.StepH()}}, rivalJSON(w.Summary)...)
		})},
		{"wall_card", orNull(y.Card, func(s sim.Summary) any { return rivalJSON(&s) })},
		{"loads", LoadsJSON(y.Household)},
		{"chores", orNull(y.Chores, func(c sim.ChoreReport) any {
			return Pairs{{"on_runs_kwh", c.OnRunsKWh}, {"from_bank_kwh", c.FromBankKWh}, {"unplaced_kwh", c.UnplacedKWh}}
		})},
		{"ration", orNull(y.Ration, func(r study.Rationing) any {
			return Pairs{{"stretches", objects(r.Stretches, stretchJSON)}, {"missing_dry_kg", r.MissingDryKg},
				{"more_shortfall_kwh", r.MoreShortKWh}, {"more_shortfall_days", r.MoreShortDays}}
		})}}
}

func sunJSON(s sim.SunSummary) any {
	return Pairs{{"level_kwh_m2", s.LevelKWhM2}, {"plane_kwh_m2", s.PlaneKWhM2}, {"made_kwh", s.MadeKWh()},
		{"to_house_kwh", s.ToHouseKWh()}, {"to_bank_kwh", s.BankKWh}, {"unused_kwh", s.AllUnusedKWh()},
		{"dull_week_start", s.DullWeekStart}, {"dull_week_kwh", s.DullWeekKWh}}
}

// eachTimes is a list of figures, each so many times as large.
func eachTimes(all []float64, factor float64) []figure {
	figures := make([]figure, len(all))
	for i, x := range all {
		figures[i] = figure(factor * x)
	}
	return figures
}

// rangeJSON is a cost that lies between two.
func rangeJSON(r money.Range) Pairs { return Pairs{{"low", r.Low}, {"high", r.High}} }

func costJSON(c money.Cost) any {
	parts := Pairs{}
	for _, part := range c.Parts {
		parts = append(parts, Pair{part.Key, rangeJSON(part.Range)})
	}
	return Pairs{{"unit", c.Unit}, {"a_year", rangeJSON(c.WithHours)}, {"per_kwh_paid", rangeJSON(c.Paid.Over(c.ServedKWh))},
		{"per_kwh_with_wear", rangeJSON(c.WithWear.Over(c.ServedKWh))},
		{"per_kwh_with_hours", rangeJSON(c.WithHours.Over(c.ServedKWh))},
		{"parts", parts}, {"worth_dry_kg", c.WorthDryKg}, {"hour_kg_meant", c.HourKgMeant}, {"litre_kg_meant", c.LitreKgMeant}}
}

func warmthJSON(w sim.WarmthSummary) any {
	return Pairs{{"gas_kwh", w.GasKWh}, {"into_tank_kwh", w.IntoKWh}, {"warm_up_kwh", w.WarmUpKWh}, {"let_go_kwh", w.LetGoKWh},
		{"lost_kwh", w.Lost}, {"drawn_kwh", w.DrawnKWh}, {"rooms_kwh", w.RoomsKWh}, {"wanted_kwh", w.WantedKWh},
		{"days_without", w.DaysWithout}, {"showers_a_day", w.ShowersADay}, {"saved_dry_kg", w.SavedDryKg},
		{"saved_stacked_m3", w.SavedStackedM3}}
}

// runsOut is the day on which ready wood runs out.
func runsOut(n *sim.NoWood) any { return orNull(n, func(n sim.NoWood) any { return n.Date.String() }) }

func stretchJSON(r study.RationedStretch) Pairs {
	return Pairs{{"first", r.First}, {"last", r.Last}, {"wood_price", r.WoodKg}, {"lasts", r.Lasts}}
}

func charJSON(c *genset.Char) Pairs {
	return Pairs{{"kg", c.Kg}, {"carbon_kg", c.CarbonKg}, {"kept_co2_kg", c.KeptCO2Kg}}
}

func yearPage(y *study.YearAnswer) *Page {
	parts := []Part{runsPart(y), bankPart(y), woodPart(y), weekPart(y), flowPart(y)}
	if y.Summary.Sun != nil {
		parts = slices.Insert(parts, 2, sunPart(y))
	}
	if y.Summary.Warmth != nil {
		parts = append(parts, warmthPart(y))
	}
	if len(y.Household.Loads) > 0 {
		parts = append(parts, loadsPart(y))
	}
	return &Page{Title: say("%s: %s from %s", y.Name, plural(y.Span.Days, "day"), DayYear(y.Span.Start)),
		Subtitle: planText(y), Answers: pageAnswers(y), Todo: todoTexts(y),
		Parts: append(parts, worthPart(y))}
}

func pageAnswers(y *study.YearAnswer) []Answer {
	s, t := y.Summary, &y.Summary.Total
	run := say("%.1f hours a day over the span; the longest day, %s, %.1f hours.", s.AttendedADay,
		dayIn(s.Span, s.LongestDay.Date), s.LongestDay.AttendedH)
	answers := []Answer{{"Run", run}}
	if january, ok := s.Month(time.January); ok {
		answers = []Answer{{"January", say("%.1f hours a day.", january.AttendedADay())}, {"All days", run}}
	}
	left := "Ready wood had no end: no pile is described."
	if !s.Wood.Endless {
		left = say("%s oven-dry lie at the end, %s at the start.", Mass(s.Wood.PileEnd.DryKg), Mass(s.Wood.PileStart.DryKg))
	}
	if y.Ageing != nil {
		answers = append(answers, Answer{"Age", sentence(ageText(y))})
	}
	answers = append(answers, Answer{"Wood", say("%.1f stacked m³ (%.1f cords, %s as it lies), "+
		"with %.0f hours of work in it.", t.BurnedStackedM3,
		t.BurnedStackedM3/woodpile.CordM3, Mass(t.BurnedAsIsKg), s.Wood.WorkHours)},
		Answer{"Dark", sentence(dark(s))}, Answer{"Wood left", left},
		Answer{"Bank", bankSentence(s)})
	if s.Sun != nil {
		answers = append(answers, Answer{"Sun", sentence(sunText(y))})
	}
	if s.Warmth != nil {
		answers = append(answers, Answer{"Warmth", sentence(warmthText(s.Warmth))})
	}
	if y.Household.Standby != nil {
		answers = append(answers, Answer{"Petrol", sentence(petrolText(&t.Standby))})
	}
	if s.Cost != nil {
		answers = append(answers, Answer{"Cost", sentence(costText(s.Cost))})
	}
	return answers
}

// bankSentence says how low the bank falls, how often it is full, and how long it lasts like this.
func bankSentence(s *sim.Summary) string {
	text := say("Lowest %.0f %% of charge, on %s", s.Bank.LowestPct, dayIn(s.Span, s.Bank.LowestDay))
	if s.Bank.FullEveryDays > 0 {
		text += "; " + fullText(&s.Bank)
	}
	if s.Span.Days >= daysToTellLife {
		text += say("; about %s of life, used like this", LifeText(s.Bank.LifeLowYears, s.Bank.LifeHighYears))
		if s.Bank.SeldomFull {
			text += " (seldom full: sulphation)"
		}
	}
	return text + "."
}

// longSpan is from how many days on a calendar of days says nothing on a screen.
const longSpan = 400

func runsPart(y *study.YearAnswer) Part {
	s := y.Summary
	p := Part{ID: "runs", Title: "When we run", Caption: say("The engine ran %.0f hours on %s; "+
		"the longest day was %s, %.1f hours.", s.Total.EngineH,
		plural(s.Total.LightUps, "light-up"), dayIn(s.Span, s.LongestDay.Date), s.LongestDay.AttendedH)}
	months := monthColumns(y).table("The months", s.Months)
	if s.Span.Days <= longSpan {
		p.Still = calendarStill(y.Household.House, y.Books, y.Record)
		days := list[sim.DayRecord]{
			texts("day", "", func(d *sim.DayRecord) string { return dayIn(s.Span, d.Date) }, nil),
			texts("runs", "", func(d *sim.DayRecord) string { return runText(y, int(d.Date-s.Span.Start)) }, nil),
			figures("hours", "", 1, func(d *sim.DayRecord) float64 { return d.AttendedH }),
			figures("short kWh", "", 2, func(d *sim.DayRecord) float64 { return d.ShortfallKWh }),
		}
		p.Tables = []Table{months, days.table("Runs by day", y.Books.Days)}
		return p
	}
	p.Chart = chart(s.Months, monthLabel, allRows, []panel{{axis: "hours a day", share: 0.6}, {axis: "days short", share: 0.4}},
		curveOf("hours a day", "engine", bars, (*sim.MonthSummary).AttendedADay),
		curveOf("days short", "short", lower|bars,
			func(m *sim.MonthSummary) float64 { return float64(m.ShortDays) }))
	p.Tables = []Table{months}
	return p
}

func monthLabel(m *sim.MonthSummary) string { return m.First.Time().Format("Jan 06") }

func runText(y *study.YearAnswer, day int) string {
	var runs []string
	for _, run := range y.Record.Runs[day] {
		step := y.Household.Span.StepMinutes
		runs = append(runs, calendar.Clock(run.First*step)+"–"+calendar.Clock(run.After*step))
	}
	return cmp.Or(strings.Join(runs, ", "), "none")
}

// stretchDays cuts the span into as many days as a chart can show one by one: a
// day, or weeks in a long span.
func stretchDays(y *study.YearAnswer) int {
	if y.Span.Days > 2*longSpan {
		return 7
	}
	return 1
}

// A stretch is some days of the bank, charge in percent.
type stretch struct {
	first                          *sim.DayRecord
	meanPct, lowestPct, highestPct float64
	floorPct                       float64
	sinceFull                      int
}

// stretchesOf puts days together, for a chart that cannot show them one by one.
func stretchesOf(y *study.YearAnswer) []stretch {
	full, days := y.Household.Bank.FullKWh, stretchDays(y)
	var all []stretch
	for some := range slices.Chunk(y.Books.Days, days) {
		s := stretch{first: &some[0], lowestPct: math.Inf(1), sinceFull: some[len(some)-1].SinceFull,
			floorPct: 100 * y.Household.Days[len(all)*days].Bank.FloorKWh / full}
		for _, d := range some {
			s.meanPct += 100 * d.MeanKWh / full / float64(len(some))
			s.lowestPct, s.highestPct = min(s.lowestPct, 100*d.LowestKWh/full), max(s.highestPct, 100*d.HighestKWh/full)
		}
		all = append(all, s)
	}
	return all
}

func bankPart(y *study.YearAnswer) Part {
	s := y.Summary
	all := stretchesOf(y)
	caption, head := "The bank by day", "day"
	if stretchDays(y) > 1 {
		caption, head = "The bank by week", "week from"
	}
	columns := list[stretch]{
		texts(head, "", func(b *stretch) string { return dayIn(s.Span, b.first.Date) }, nil),
		percents("mean", "", 0, func(b *stretch) float64 { return b.meanPct }),
		percents("lowest", "", 0, func(b *stretch) float64 { return b.lowestPct }),
		percents("highest", "", 0, func(b *stretch) float64 { return b.highestPct }),
		figures("days since full", "", 0, func(b *stretch) float64 { return float64(b.sinceFull) }),
	}
	return Part{ID: "bank", Title: "The bank", Tall: true,
		Caption: say("The bank fell to %.0f %% at the lowest, on %s; the longest it went without a full charge was %s.",
			s.Bank.LowestPct, dayIn(s.Span, s.Bank.LowestDay), plural(s.Bank.LongestNotFull, "day")),
		Chart: chart(all, func(b *stretch) string { return b.first.Date.Time().Format("2 Jan 06") },
			zoomable, []panel{{axis: "charge, %", share: 0.7, fromZero: true}, {axis: "days since full", share: 0.3, thousands: true}},
			curveOf("mean", "bank", widest, func(b *stretch) float64 { return b.meanPct }),
			curveOf("lowest", "bank", dashed, func(b *stretch) float64 { return b.lowestPct }),
			curveOf("highest", "bank", dotted, func(b *stretch) float64 { return b.highestPct }),
			curveOf("floor", "short", dashed|bold, func(b *stretch) float64 { return b.floorPct }),
			curveOf("days since full", "other", lower|bars,
				func(b *stretch) float64 { return float64(b.sinceFull) })),
		Tables: []Table{columns.table(caption, all)}}
}

// sunPart says what the sun gave month by month, beside the set.
func sunPart(y *study.YearAnswer) Part {
	of := func(get func(*sim.SunTally) float64) func(*sim.MonthSummary) float64 {
		return func(m *sim.MonthSummary) float64 { return get(&m.Tally.Sun) }
	}
	taken, unused := of((*sim.SunTally).TakenKWh), of((*sim.SunTally).AllUnusedKWh)
	engine := func(m *sim.MonthSummary) float64 { return m.Tally.EngineKWh }
	other := func(m *sim.MonthSummary) float64 { return m.Tally.OtherKWh - m.Tally.Sun.AtHouseKWh }
	share := func(m *sim.MonthSummary) float64 {
		return 100 * taken(m) / max(taken(m)+engine(m)+other(m), 1e-9) // percent; of nothing, none
	}
	layout := "January 2006"
	columns := list[sim.MonthSummary]{
		texts("month", "", func(m *sim.MonthSummary) string { return m.First.Time().Format(layout) }, nil),
		figures("sun taken kWh", "", 0, taken), percents("of all that was taken in", "", 0, share),
		figures("sun unused kWh", "", 0, unused), figures("engine kWh", "", 0, engine), figures("wanted kWh", "", 0,
			func(m *sim.MonthSummary) float64 { return m.Tally.LoadKWh }),
	}
	s, all := y.Summary, sim.MonthSummary{Tally: y.Summary.Total}
	brightest, dullest := &s.Months[0], &s.Months[0]
	for i := range s.Months {
		if m := &s.Months[i]; share(m) > share(brightest) {
			brightest = m
		} else if share(m) < share(dullest) {
			dullest = m
		}
	}
	caption := say("The sun gave %.0f %% of the kWh that house and bank took in", share(&all))
	if len(s.Months) > 1 {
		in := func(m *sim.MonthSummary) string { return m.First.Time().Format("January") }
		caption += say(", %.0f %% in %s and %.0f %% in %s", share(brightest), in(brightest), share(dullest), in(dullest))
	}
	curves := []curve[sim.MonthSummary]{curveOf("sun, taken", "sun", bars|piled, taken),
		curveOf("engine", "engine", bars|piled, engine)}
	if s.Total.OtherKWh > s.Total.Sun.AtHouseKWh {
		curves = append(curves, curveOf("other sources", "other", bars|piled, other))
	}
	curves = append(curves, curveOf("sun, unused", "sun", lower|bars|hollow, unused))
	return Part{ID: "sun", Title: "The sun", Tall: true,
		Caption: caption + say("; %.0f kWh found no taker.", s.Sun.AllUnusedKWh()),
		Chart: chart(s.Months, monthLabel, allRows, []panel{{axis: "taken in, kWh", share: 0.65, thousands: true},
			{axis: "unused, kWh", share: 0.35, thousands: true}}, curves...),
		Tables: []Table{columns.table("The sun by month", s.Months)}}
}

// warmthPart says what warmth the tank gave month by month.
func warmthPart(y *study.YearAnswer) Part {
	s, w := y.Summary, y.Summary.Warmth
	of := func(get func(*tank.Flows) float64) func(*sim.MonthSummary) float64 {
		return func(m *sim.MonthSummary) float64 { return get(&m.Tally.Warmth) }
	}
	drawn, rooms := of(func(f *tank.Flows) float64 { return f.DrawnKWh }), of(func(f *tank.Flows) float64 { return f.RoomsKWh })
	wanted, into := of(func(f *tank.Flows) float64 { return f.WantedKWh }), of(func(f *tank.Flows) float64 { return f.IntoKWh })
	letGo := of(func(f *tank.Flows) float64 { return f.LetGoKWh })
	columns := list[sim.MonthSummary]{
		texts("month", "", func(m *sim.MonthSummary) string { return m.First.Time().Format("January 2006") }, nil),
		figures("into the tank kWh", "", 0, into), figures("hot water drawn kWh", "", 0, drawn), figures("wanted kWh", "", 0, wanted),
		figures("into rooms kWh", "", 0, rooms), figures("let go kWh", "", 0, letGo),
	}
	caption := say("For each kWh of electricity %.1f kWh of heat went into the tank; what was used of it saves %s of oven-dry wood.",
		w.IntoKWh/max(s.Total.EngineKWh, 1e-9), Mass(w.SavedDryKg))
	if w.WantedKWh > 0 {
		caption = say("The tank gave %.0f %% of the hot water that is wanted, and saves %s of oven-dry wood.",
			100*w.DrawnKWh/w.WantedKWh,
			Mass(w.SavedDryKg))
	}
	return Part{ID: "warmth", Title: "Warmth", Caption: caption, Tables: []Table{columns.table("Warmth by month", s.Months)},
		Chart: chart(s.Months, monthLabel, allRows, []panel{{axis: "warmth, kWh", share: 1, thousands: true}},
			curveOf("hot water drawn", "ready", bars|piled, drawn), curveOf("into rooms", "wood", bars|piled, rooms),
			curveOf("hot water wanted", "ink", dashed|widest, wanted))}
}

// A woodMonth is a month with the pile as it begins.
type woodMonth struct {
	*sim.MonthSummary
	begins *sim.DayRecord
}

func woodPart(y *study.YearAnswer) Part {
	s := y.Summary
	months := make([]woodMonth, len(s.Months))
	for i, day := 0, 0; i < len(months); i++ {
		months[i] = woodMonth{&s.Months[i], &y.Books.Days[day]}
		day += s.Months[i].Days
	}
	lying := func(title string, of func(*woodMonth) float64) column[woodMonth] {
		return amounts(title, "", func(m *woodMonth) string {
			if s.Wood.Endless {
				return "no end"
			}
			return Number(of(m), 0)
		}, nil)
	}
	burned := func(m *woodMonth) float64 { return m.Tally.BurnedDryKg }
	ready := func(m *woodMonth) float64 { return m.begins.ReadyDryKg }
	pile := func(m *woodMonth) float64 { return m.begins.PileStart.DryKg }
	moisture := func(m *woodMonth) float64 { return m.Tally.MoisturePct() }
	columns := list[woodMonth]{
		texts("month", "", func(m *woodMonth) string { return m.First.Time().Format("January 2006") }, nil),
		figures("burned dry kg", "", 0, burned), figures("moisture %", "", 1, moisture),
		lying("ready dry kg", ready), lying("whole pile dry kg", pile),
	}
	caption := say("%s of oven-dry wood were burned", Mass(s.Total.BurnedDryKg))
	curves := []curve[woodMonth]{{"burned in the month", "wood", bars, burned},
		{"moisture of what was burned", "other", lower, moisture}}
	switch {
	case s.Wood.Endless:
		caption += "; no pile is described, so ready wood had no end."
	case s.Wood.NoWood != nil:
		caption += say("; ready wood ran out on %s.", dayIn(s.Span, s.Wood.NoWood.Date))
	default:
		caption += say("; of the pile %s are left.", Mass(s.Wood.PileEnd.DryKg))
	}
	if !s.Wood.Endless {
		curves = append(curves, curveOf("ready as the month begins", "ready", widest, ready),
			curveOf("whole pile", "wood", dashed, pile))
	}
	return Part{ID: "wood", Title: "Wood", Caption: caption, Tall: true, Tables: []Table{columns.table("Wood by month", months)},
		Chart: chart(months, func(m *woodMonth) string { return monthLabel(m.MonthSummary) },
			allRows, []panel{{axis: "oven-dry wood, kg", share: 0.68, thousands: true}, {axis: "moisture, %", share: 0.32}}, curves...)}
}

func weekPart(y *study.YearAnswer) Part {
	span := y.Household.Span
	first := y.Books.DarkestWeek()
	days := min(7, span.Days)
	r, perDay := y.Record, span.StepsADay()
	steps, missing := make([]int, days*perDay), 0.0
	for i := range steps {
		steps[i] = first*perDay + i
		missing += float64(r.ShortfallKW[steps[i]]) * span.StepH()
	}
	label := func(step *int) string {
		return span.Date(*step).Time().Format("Mon 2 Jan ") + calendar.Clock(*step%perDay*span.StepMinutes)
	}
	of := func(values []float32) func(*int) float64 {
		return func(step *int) float64 { return float64(values[*step]) }
	}
	floor := func(step *int) float64 { return y.Household.Days[*step/perDay].Bank.FloorKWh }
	load, engine, charge, discharge := of(r.LoadKW), of(r.EngineKW), of(r.ChargeKW), of(r.DischargeKW)
	short, stored := of(r.ShortfallKW), of(r.Stored)
	columns := list[int]{texts("time", "", label, nil), figures("load kW", "", 2, load), figures("engine kW", "", 2, engine),
		figures("charge kW", "", 2, charge), figures("discharge kW", "", 2, discharge), figures("short kW", "", 2, short),
		figures("stored kWh", "", 2, stored)}
	week := "The darkest week"
	caption := say("The darkest week began on %s: %.1f kWh were missing.", DayYear(y.Books.Days[first].Date),
		missing)
	const worthTellingKWh = 0.05
	if missing < worthTellingKWh {
		week = "The week with the least in the bank"
		caption = say("Nothing was missing; the bank was lowest in the week from %s.", DayYear(y.Books.Days[first].Date))
	}
	var sun []curve[int]
	if y.Summary.Sun != nil {
		columns = append(columns, figures("sun kW", "", 2, of(r.SunKW)))
		sun = append(sun, curveOf("sun", "sun", stairs|bold, of(r.SunKW)))
	}
	return Part{ID: "week", Title: week, Caption: caption, Tall: true, Tables: []Table{columns.table("Step by step", steps)},
		Chart: chart(steps, label, allRows,
			[]panel{{axis: "power, kW", share: 0.6}, {axis: "stored, kWh", share: 0.4}}, append(sun,
				curveOf("load", "load", stairs, load), curveOf("engine", "engine", stairs|widest, engine),
				curveOf("to the bank", "bank", stairs|dashed, charge),
				curveOf("from the bank", "bank", stairs|dotted, discharge), curveOf("short", "short", bars, short),
				curveOf("stored", "bank", lower|widest, stored), curveOf("floor", "short", lower|dashed, floor))...)}
}

func flowPart(y *study.YearAnswer) Part {
	f := y.Household.Flow(&y.Summary.Total, y.Books.StartKWh, y.Books.EndKWh)
	items, in := flowItems(f)
	table := Table{Caption: "Where the energy went", Head: []string{"share", "kWh", "%"}}
	sum := 0.0
	for _, item := range items {
		table.Rows = append(table.Rows, []string{item.name, Number(item.kWh, 0), Number(100*item.kWh/math.Max(in, 1e-9), 1)})
		sum += item.kWh
	}
	table.Rows = append(table.Rows, []string{"all that went in", Number(in, 0), Number(100*sum/math.Max(in, 1e-9), 1)})
	return Part{ID: "flow", Title: "Where the energy went", Still: flowStill(f), Tables: []Table{table},
		Caption: flowText(f, y.Summary.Total.EngineKWh)}
}

func flowText(f sim.EnergyFlow, madeKWh float64) string {
	text := say("Of %.0f kWh of heat in the wood burned, %.0f kWh became electricity", f.WoodKWh, madeKWh)
	var more []string
	if f.SunKWh > 0 {
		more = append(more, say("%.0f kWh of the sun", f.SunKWh-f.SunUnusedKWh))
	}
	if f.OtherKWh > 0 {
		more = append(more, say("%.0f kWh of other sources", f.OtherKWh))
	}
	if len(more) > 0 {
		return say("%s; with %s %.0f kWh served the house.", text, strings.Join(more, " and "), f.ServedKWh)
	}
	return say("%s and %.0f kWh served the house.", text, f.ServedKWh)
}

func worthPart(y *study.YearAnswer) Part {
	s := y.Summary
	p := Part{ID: "worth", Title: "What choosing is worth"}
	p.Tables = []Table{worthColumns.table("Chosen runs against the best fixed window", weighedPlans(y))}
	p.Caption = "This plan does not choose: there is nothing to weigh it against."
	curves := []curve[sim.MonthSummary]{{"this plan", "engine", bars, (*sim.MonthSummary).AttendedADay}}
	if w := y.Window; w != nil {
		p.Caption = say("Chosen runs: %s short, %.1f kWh. The best run at the same hours every day, "+
			"for days that nobody knows (%s): %s short, %.1f kWh.",
			plural(s.Shortage.Days, "day"), s.Total.ShortfallKWh,
			windowText(y), plural(w.Summary.Shortage.Days, "day"), w.Summary.Total.ShortfallKWh)
		curves = append(curves, curveOf("the best fixed window", "ink", dashed|widest,
			func(m *sim.MonthSummary) float64 {
				same := func(f sim.MonthSummary) bool { return f.First == m.First }
				return w.Summary.Months[slices.IndexFunc(w.Summary.Months, same)].AttendedADay()
			}))
	}
	p.Chart = chart(s.Months, monthLabel, allRows, []panel{{axis: "hours a day", share: 1}}, curves...)
	return p
}
