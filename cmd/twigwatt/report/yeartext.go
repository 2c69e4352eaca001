package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
	"twigwatt/storage/woodpile"
)

// YearText writes a year for a person at a terminal of 80 columns: the answers,
// what needs doing, the months, what choosing is worth, the books, warnings,
// cautions. window is the best fixed one beside chosen runs, or nil.
func YearText(w io.Writer, s *sim.Summary, window *study.Window) error {
	var b strings.Builder
	fmt.Fprintln(&b, Wrap(fmt.Sprintf("%s: %s from %s, %s", s.Name, plural(s.Span.Days, "day"),
		DayYear(s.Span.Start), planText(s)), Width, "  "))
	answers(&b, s)
	b.WriteString("\n")
	monthTable(&b, s)
	b.WriteString("\n")
	if window != nil {
		worth(&b, s, window)
		if text := oneOfMany(s); text != "" {
			fmt.Fprintln(&b, Wrap(text, Width, ""))
		}
		b.WriteString("\n")
	}
	books(&b, s)
	warnings(&b, s.Warnings)
	Closing(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// oneOfMany says that a year is one of many, and which commands count more of them.
func oneOfMany(s *sim.Summary) string {
	if s.SwingShare == 0 {
		return ""
	}
	return fmt.Sprintf("These are the days of seed %d, whose load swings by %s %%; risk lives 100 such spans by the same plan, failures among them, and day plans today by it. hours and bank ask what a limit or a size can do: 20 spans, with darkness at %s times its price.",
		s.Seed, Number(100*s.SwingShare, 0), Number(study.ShortPriceFactor, 0))
}

func warnings(b *strings.Builder, all []sim.Warning) {
	if len(all) == 0 {
		return
	}
	b.WriteString("\nWarnings\n")
	for _, warning := range all {
		fmt.Fprintln(b, Wrap("- "+warning.Text, Width, "  "))
	}
}

// Closing writes the heading and the four lines of caution that end every text.
func Closing(b *strings.Builder) {
	b.WriteString("\nTake care\n")
	for _, line := range ShortCautions {
		fmt.Fprintln(b, "  "+line)
	}
}

func planText(s *sim.Summary) string {
	switch s.Foresight {
	case "typical":
		return s.PlanText + ", days not known beforehand"
	case "exact":
		return s.PlanText + ", days known beforehand"
	}
	return s.PlanText
}

func answers(b *strings.Builder, s *sim.Summary) {
	t := &s.Total
	run := fmt.Sprintf("%.1f h a day (%s h, engine %s h)", s.AttendedADay, Number(t.AttendedH, 0), Number(t.EngineH, 0))
	if january, ok := s.Month(time.January); ok {
		run += fmt.Sprintf("; January %.1f h", january.Tally.AttendedH/float64(january.Days))
	}
	run += fmt.Sprintf("; longest %.1f h", s.LongestDay.AttendedH)
	answer(b, "Run", run)
	answer(b, "Wood", fmt.Sprintf("%s stacked m3 (%s cords, %s as it lies, %s oven-dry), %s h of work", amount(t.BurnedStackedM3),
		amount(t.BurnedStackedM3/woodpile.CordM3), Mass(t.BurnedAsIsKg), Mass(t.BurnedDryKg), Number(s.Wood.WorkHours, 0)))
	answer(b, "Dark", dark(s))
	bank := fmt.Sprintf("lowest %.0f %% (%s)", s.Bank.LowestPct, dayIn(s.Span, s.Bank.LowestDay))
	if s.Span.Days >= daysToTellLife {
		bank += fmt.Sprintf("; about %s of life, used like this", LifeText(s.Bank.LifeLowYears, s.Bank.LifeHighYears))
	}
	if s.Bank.FullEveryDays > 0 {
		bank += fmt.Sprintf("; longest without a full charge %s", plural(s.Bank.LongestNotFull, "day"))
	}
	answer(b, "Bank", bank)
	for _, todo := range Todo(s) {
		answer(b, "DO", todo)
	}
}

// daysToTellLife is the shortest span that says how long a bank lasts. A judgement, no
// source.
const daysToTellLife = 28

func answer(b *strings.Builder, label, text string) { fmt.Fprintln(b, Hang(label, 7, text)) }

// LifeText writes a bank's life as a range.
func LifeText(low, high float64) string {
	text := Number(low, 0)
	switch {
	case Number(high, 0) == "0":
		return "under 1 year"
	case text == Number(high, 0) && text == "1":
		return "1 year"
	case text == Number(high, 0):
		return text + " years"
	}
	return Number(low, 0) + " to " + Number(high, 0) + " years"
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
		return fmt.Sprintf("no day short: %s kWh missing in all, and on no day the %s kWh that count",
			Number(s.Total.ShortfallKWh, 2), Number(s.ShortDayKWh, 2))
	}
	return fmt.Sprintf("%s short, %s kWh in %s h; worst %s (%s kWh)", plural(s.Shortage.Days, "day"),
		Number(s.Total.ShortfallKWh, 1),
		Number(s.Total.ShortfallH, 1), dayIn(s.Span, worst.Date), Number(worst.ShortfallKWh, 1))
}

// Todo says what the household needs to do, the most pressing first.
func Todo(s *sim.Summary) []string {
	var todo []string
	if out := s.Wood.NoWood; out != nil {
		todo = append(todo, fmt.Sprintf("ready wood runs out on %s: %s without a run: see twigwatt wood", dayIn(s.Span, out.Date),
			plural(s.Wood.DaysWithoutReadyWood, "day")))
	}
	causes := map[string]string{
		"freezing":      "keep the bank from freezing: see the warning below",
		"lithium_frost": "keep the lithium bank above 0 °C: see the warning below",
		"no_run_fits":   "make room for runs: no run fits the rules of tending, see the warning below",
	}
	known := s.Wood.NoWood != nil
	if r := s.Ration; r != nil && len(r.Stretches) > 0 {
		todo, known = append(todo, fmt.Sprintf("get %s more of oven-dry ready wood: until then it is rationed, see twigwatt wood", Mass(r.MissingDryKg))), true
	}
	for _, warning := range s.Warnings {
		if text, ok := causes[warning.Code]; ok {
			todo, known = append(todo, text), true
		}
	}
	if s.Shortage.Days > 0 && !known {
		todo = append(todo, againstDark(s))
	}
	return todo
}

// besideHours says what helps where the inverter or the cold is what makes dark; "" where
// neither is.
func besideHours(s *sim.Summary) string {
	const mostly, muchCold = 0.5, 10.0 // a share, and percent of the bank; judgements, no source
	switch {
	case s.Shortage.WorstDay == nil:
		return ""
	case s.Shortage.OverInverterShare >= mostly:
		return fmt.Sprintf("want less at once, or get a larger inverter: its %s kW are passed, and neither runs nor a larger bank help", Number(s.Shortage.InverterKW, 1))
	case s.Shortage.ColdPct >= muchCold:
		return fmt.Sprintf("keep the bank warmer: on %s the cold keeps another %s %% of it out of use",
			dayIn(s.Span, s.Shortage.WorstDay.Date), Number(s.Shortage.ColdPct, 0))
	}
	return ""
}

// againstDark says what to do against short days that neither wood nor frost explains.
func againstDark(s *sim.Summary) string {
	worst := s.Shortage.WorstDay
	if text := besideHours(s); text != "" {
		return text
	}
	const aFew = 20
	around := ""
	if s.Shortage.Days <= aFew {
		around = " around " + dayIn(s.Span, worst.Date)
	}
	first := ""
	switch {
	case s.Plan == "top-up":
		first = "raise plan.start_below_pct, let runs be chosen"
	case s.Plan == "same-hours":
		first = "lengthen plan.same_hours, let runs be chosen"
	case !worst.Tendable:
		first = "let somebody look after a run"
	case worst.AttendedH >= s.MaxHoursADay:
		first = fmt.Sprintf("allow more than %.1f h a day", s.MaxHoursADay)
	default: // longer runs were not worth it
		return "weigh shortfall dearer (plan.short_kg_per_kwh), want less" + around + ", or add to the bank"
	}
	if around == "" {
		return first + ", want less, or add to the bank"
	}
	return first + around + ", want less then, or add to the bank"
}

func monthTable(b *strings.Builder, s *sim.Summary) {
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "\thours\tengine\twood\twood\twanted\tshort\tdays\tbank\t")
	fmt.Fprintln(w, "month    \ta day\thours\tm3\tdry kg\tkWh\tkWh\tshort\tlowest\t")
	for i := range s.Months {
		m := &s.Months[i]
		name := m.First.Time().Format("Jan 2006")
		if len(s.Months) <= 12 {
			name = m.First.Time().Format("January")
		}
		fmt.Fprintf(w, "%-9s\t%.1f\t%s\t%.1f\t%s\t%s\t%s\t%d\t%.0f %%\t\n", name, m.Tally.AttendedH/float64(m.Days),
			Number(m.Tally.EngineH, 0),
			m.Tally.BurnedStackedM3, Number(m.Tally.BurnedDryKg, 0), Number(m.Tally.LoadKWh, 0),
			Number(m.Tally.ShortfallKWh, 1), m.ShortDays, m.LowestPct)
	}
	w.Flush()
}

// worth says in two lines what choosing is worth.
func worth(b *strings.Builder, s *sim.Summary, w *study.Window) {
	b.WriteString("What choosing is worth (price in kg of wood, soft prices included)\n")
	line := func(who string, s *sim.Summary) {
		fmt.Fprintln(b, Hang("  "+who, 30, fmt.Sprintf("%s kg, %s, %s kWh short, %s h run",
			Number(s.Price.TotalKg()+s.Price.SoftKg, 0), plural(s.Shortage.Days, "day"),
			Number(s.Total.ShortfallKWh, 1), Number(s.Total.AttendedH, 0))))
	}
	line("chosen runs", s)
	line(fmt.Sprintf("best fixed, %s for %.1f h", calendar.Clock(w.StartStep*s.Span.StepMinutes),
		float64(w.Steps)*s.Span.StepH()), w.Summary)
}

func books(b *strings.Builder, s *sim.Summary) {
	t, g := &s.Total, &s.Books
	w := tabwriter.NewWriter(b, 0, 0, 1, ' ', tabwriter.AlignRight)
	row := func(name string, kWh float64, decimals int) {
		fmt.Fprintf(w, "  %s\t%s\tkWh\t\n", name, Number(kWh, decimals))
	}
	b.WriteString("Books of electricity (at the house)\n")
	row("engine", t.EngineKWh, 1)
	row("+ other sources", t.OtherKWh, 1)
	row("+ from the bank", t.DischargeKWh, 1)
	row("- wanted", t.LoadKWh, 1)
	row("+ shortfall", t.ShortfallKWh, 1)
	row("- to the bank", t.ChargeKWh, 1)
	row("- spill", t.SpillKWh, 1)
	row("= gap", g.ElectricityKWh, 3)
	w.Flush()
	b.WriteString("Books of the bank\n")
	row("stored at first", s.Bank.StartKWh, 1)
	row("+ charged", t.ChargeKWh, 1)
	row("- given", t.DischargeKWh, 1)
	row("- lost in charging", t.Lost.ChargeKWh, 1)
	row("- lost in giving", t.Lost.DischargeKWh, 1)
	row("- idle inverter", t.Lost.IdleKWh, 1)
	row("- leaked away", t.Lost.LeakKWh, 1)
	row("- stored at last", s.Bank.EndKWh, 1)
	row("= gap", g.BankKWh, 3)
	w.Flush()
	if !s.Wood.Endless {
		pile := func(title string, first, cut, burned, lost, dried, last, gap float64) {
			kg := func(name string, x float64, decimals int) {
				fmt.Fprintf(w, "  %s\t%s\tkg\t\n", name, Number(x, decimals))
			}
			b.WriteString(title)
			kg("at the start", first, 0)
			kg("+ cut", cut, 0)
			kg("- burned", burned, 0)
			kg("- lost", lost, 0)
			if dried != 0 {
				kg("- dried away", dried, 0)
			}
			kg("- at the end", last, 0)
			kg("= gap", gap, 3)
			w.Flush()
		}
		m := &t.Moved
		pile("Books of the pile (oven-dry)\n", s.Wood.PileStart.DryKg, m.CutDryKg, t.BurnedDryKg, m.LostDryKg, 0,
			s.Wood.PileEnd.DryKg, g.WoodKg)
		pile("Books of its water\n", s.Wood.PileStart.WaterKg, m.CutWaterKg, t.BurnedAsIsKg-t.BurnedDryKg,
			m.LostWaterKg, m.DriedWaterKg,
			s.Wood.PileEnd.WaterKg, g.WaterKg)
	}
	gap := math.Max(g.WorstDayKWh, g.WorstStepKWh)
	fmt.Fprintf(b, "Largest gap of any step or day: %s kWh, %s kg.\n", Number(gap, 3),
		Number(math.Max(g.WorstDayKg, g.WorstStepKg), 3))
	price(b, s)
	if r := s.Ration; r != nil {
		fmt.Fprintln(b, Wrap(rationText(r), Width, "  "))
	}
	if c := s.Chores; c != nil {
		fmt.Fprintln(b, Wrap(fmt.Sprintf("Chores: %s kWh rode on runs, %s kWh came from the bank, %s kWh found no room.", Number(c.OnRunsKWh, 0),
			Number(c.FromBankKWh, 0), Number(c.UnplacedKWh, 0)), Width, "  "))
	}
}

func price(b *strings.Builder, s *sim.Summary) {
	p := &s.Price
	fmt.Fprintln(b, Wrap(fmt.Sprintf("Price %s kg of oven-dry wood: wood %s, hours %s, light-ups %s, shortfall %s, energy not handed back %s; soft prices (not in this sum) %s.",
		Number(p.TotalKg(), 0), Number(p.WoodKg, 0), Number(p.HoursKg, 0), Number(p.StartsKg, 0), Number(p.ShortKg, 0),
		Number(p.HandbackKg, 0), Number(p.SoftKg, 0)), Width, "  "))
	fmt.Fprintln(b, Wrap(fmt.Sprintf("Char %s kg; its carbon keeps about %s kg of CO2 out of the air for a century (IPCC 2019; half or one and a half times as much is possible).",
		Number(s.Char.Kg, 0), Number(s.Char.KeptCO2Kg, 0)), Width, "  "))
}

// rationText says what rationing costs against stacking the missing wood.
func rationText(r *sim.Rationing) string {
	if len(r.Stretches) == 0 {
		return "Rationing: the pile lasts without it."
	}
	text := "Rationing: "
	for i, stretch := range r.Stretches {
		if i > 0 {
			text += "; "
		}
		text += fmt.Sprintf("from %s wood was weighed at %s times its price",
			calendar.DateRange{First: stretch.First, Last: stretch.Last}.Text(), Number(stretch.WoodKg, 1))
		if !stretch.Lasts {
			text += ", and even so does not last"
		}
	}
	return text + fmt.Sprintf(". Against stacking %s more of oven-dry ready wood that costs %s kWh of shortfall and %s more in the dark.",
		Mass(r.MissingDryKg), Number(r.MoreShortKWh, 1), plural(r.MoreShortDays, "day"))
}
