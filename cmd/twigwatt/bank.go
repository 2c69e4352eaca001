package main

import (
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

func bankCommand() *cli.Command {
	return &cli.Command{
		Name:      "bank",
		Usage:     "how big a bank? Sizes against the hardest week and the whole span",
		ArgsUsage: "[SCENARIO]",
		Flags: []cli.Flag{jsonFlag(), setFlag(), jobsFlag(),
			&cli.StringFlag{Name: "kwh", Usage: "`SIZES` at rated_hours, like 8,12,16,24"},
			&cli.StringFlag{Name: "amp-hours", Usage: "`SIZES` instead, at the scenario's battery.volts"},
			&cli.StringFlag{Name: "week", Usage: "the week from a `DATE` of the span instead of the one that wants most"},
			livesFlag(),
			&cli.IntFlag{Name: "engine-out", Usage: "no runs on the week's first `DAYS`"},
			&cli.StringFlag{Name: "report", Usage: "write a page to `FILE`"}},
		Action: bank,
	}
}

func bank(c *cli.Context) error {
	if out := c.Int("engine-out"); out < 0 || out > 7 {
		return usagef("--engine-out must be 0 to 7, got %d", out)
	}
	lives, err := livesOf(c)
	if err != nil {
		return err
	}
	if err := studyIsSound(c); err != nil {
		return err
	}
	own, err := readScenario(c)
	if err != nil {
		return err
	}
	sizes, err := sizesOf(c, own)
	if err != nil {
		return err
	}
	first := study.HardestWeek(own.House.Span, own.Demand)
	if c.IsSet("week") {
		date, err := calendar.ParseDate(c.String("week"))
		if err != nil || date < own.House.Span.Start || date >= own.House.Span.End() {
			return usagef("--week must be a date of the span, %s to %s, got %q", own.House.Span.Start,
				own.House.Span.End()-1, c.String("week"))
		}
		first = int(date - own.House.Span.Start)
	}
	b := &study.Bank{Name: own.Name, Lives: own.Chance(lives).Count(), Span: own.House.Span,
		WeekStart: own.House.Days[first].Date, EngineOut: c.Int("engine-out"),
		ShortKg: own.House.Prices.ShortKgPerKWh * study.ShortPriceFactor, Snap: own.Snap(),
		SparePct: 100 * own.House.Prices.SpareShare, StartPct: 100 * own.House.StartShare, Warnings: own.Warnings}
	defer limitJobs(c)()
	show := newProgress(c.App.ErrWriter)
	defer show.clear()
	var reading sync.Mutex
	found, err := study.SideBySide(sizes, func(done, of int) { show.at("%d of %d sizes", done, of) },
		func(kWh float64) (*study.Size, error) {
			reading.Lock()
			s, err := readScenario(c, "plan.by=chosen", "battery.kwh="+trimmed(kWh), "plan.short_kg_per_kwh="+trimmed(b.ShortKg))
			reading.Unlock()
			if err != nil {
				return nil, err
			}
			return sizeOf(c, b, s, kWh, first, lives)
		})
	if err != nil {
		return err
	}
	b.Warnings = append(b.Warnings, notRationed(own)...)
	for _, size := range found {
		b.Sizes = append(b.Sizes, *size)
		warnOfSize(b, size)
	}
	for i := range b.Sizes {
		if s := &b.Sizes[i]; s.Carries && (b.Least == nil || s.KWh < b.Least.KWh) {
			b.Least = s
		}
	}
	show.clear()
	return printStudy(c, func(w io.Writer) error { return report.BankJSON(w, b) },
		func(w io.Writer) error { return report.BankText(w, b) },
		func(w io.Writer) error { return report.BankPage(w, b, basisOf(c, own)) })
}

// sizesOf are the sizes asked for, in the order asked, or a spread around the
// scenario's own.
func sizesOf(c *cli.Context, own *scenarios.Scenario) ([]float64, error) {
	kWh, ampHours := c.String("kwh"), c.String("amp-hours")
	factor, list, flag := 1.0, kWh, "kwh"
	switch {
	case kWh != "" && ampHours != "":
		return nil, usagef("give --kwh or --amp-hours, not both")
	case ampHours != "":
		if own.Volts() == 0 {
			return nil, usagef("--amp-hours needs battery.volts in the scenario")
		}
		factor, list, flag = own.Volts()/1000, ampHours, "amp-hours"
	case kWh == "":
		var sizes []float64
		for _, share := range []float64{0.5, 0.75, 1, 1.25, 1.5, 2} {
			sizes = append(sizes, share*own.RatedKWh())
		}
		return sizes, nil
	}
	var sizes []float64
	for cell := range strings.SplitSeq(list, ",") {
		x, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
		if err != nil || !(x*factor > 0 && x*factor <= 1e4) {
			return nil, usagef("--%s must be sizes like 8,12,16, each more than 0, at most 10000 kWh, got %q", flag, cell)
		}
		sizes = append(sizes, x*factor)
	}
	return sizes, nil
}

// hazards are the warnings that only a span could show and that are not known yet,
// each kind once: of what cold does to a bank, and of wood that runs out.
func hazards(all, known []sim.Warning) []sim.Warning {
	var more []sim.Warning
	for _, w := range all {
		same := func(k sim.Warning) bool { return k.Code == w.Code }
		if slices.Contains([]string{"freezing", "lithium_frost", "cold_beyond_table", "never_full", "no_ready_wood"},
			w.Code) && !slices.ContainsFunc(known, same) && !slices.ContainsFunc(more, same) {
			more = append(more, w)
		}
	}
	return more
}

// sizeOf is a size in the hardest week and in the whole span.
func sizeOf(c *cli.Context, b *study.Bank, s *scenarios.Scenario, kWh float64, first, lives int) (*study.Size, error) {
	p, err := s.ChosenPlan(c.Context)
	if err != nil {
		return nil, err
	}
	size, chance, usual := &study.Size{KWh: kWh}, s.Chance(lives), s.Steady()
	span, err := study.NewLimit(c.Context, s.House.Tending.MaxHoursADay, s.House, s.Demand, usual, p, chance, s.Warnings)
	if err != nil {
		return nil, err
	}
	size.Span, size.SpanLives = span.Summary, span.Lives
	week, demand := study.Week(s.House, s.Demand, s.ChoreKW(), first, b.EngineOut, b.Snap)
	_, steady := study.Week(s.House, usual, s.ChoreKW(), first, b.EngineOut, b.Snap)
	foresight := plan.Foresight(s.Foresight)
	if err := size.RunWeek(c.Context, week, demand, steady, foresight, chance); err != nil {
		return nil, err
	}
	size.DaysWithoutEngine = study.Carried(week, demand)
	return size, size.FindBearsMore(c.Context, demand, steady, foresight, chance)
}

// warnOfSize adds what the week and the span of a size show.
func warnOfSize(b *study.Bank, size *study.Size) {
	ofCold := slices.DeleteFunc(slices.Concat(size.Week.Warnings, size.Span.Warnings),
		func(w sim.Warning) bool { return w.Code == "no_ready_wood" })
	b.Warnings = append(b.Warnings, hazards(ofCold, b.Warnings)...)
	if size.Span.Wood.NoWood != nil && !slices.ContainsFunc(b.Warnings,
		func(w sim.Warning) bool { return w.Code == "no_ready_wood" }) {
		b.Warnings = append(b.Warnings, sim.Warning{Code: "no_ready_wood",
			Text: "ready wood runs out in the span: its short days are not the bank's alone, see twigwatt wood (the week has wood without end)"})
	}
}

// notRationed warns that a study does not make a short pile last.
func notRationed(s *scenarios.Scenario) []sim.Warning {
	if !s.Rationed {
		return nil
	}
	return []sim.Warning{{Code: "not_rationed", Text: "plan.ration is left out here: wood is burned as it is wanted, until there is none"}}
}

// trimmed writes a number for --set.
func trimmed(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
