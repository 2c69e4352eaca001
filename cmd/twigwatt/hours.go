package main

import (
	"io"
	"sync"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/study"
)

const mostLimitH = 12.0

func hoursCommand() *cli.Command {
	return &cli.Command{
		Name:      "hours",
		Usage:     "how many hours a day? A span for each limit, and the wall card",
		ArgsUsage: "[SCENARIO]",
		Flags: []cli.Flag{jsonFlag(), setFlag(), jobsFlag(),
			&cli.Float64Flag{Name: "every", Value: 1, Usage: "limits every so many `HOURS` from 0 to 12"},
			&cli.IntFlag{Name: "short-days", Value: 0, Usage: "`DAYS` of the span that may be short"}, livesFlag(),
			&cli.StringFlag{Name: "report", Usage: "write the wall card as a page to `FILE`"}},
		Action: hours,
	}
}

func hours(c *cli.Context) error {
	every := c.Float64("every")
	if !(every >= 0.25 && every <= mostLimitH) {
		return usagef("--every must be 0.25 to 12, got %s", numeral(every))
	}
	if c.Int("short-days") < 0 {
		return usagef("--short-days must be 0 or more, got %d", c.Int("short-days"))
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
	h := &study.Hours{Name: own.Name, Lives: own.Chance(lives).Count(), Span: own.House.Span,
		ShortDays: c.Int("short-days"), ShortKg: own.House.Prices.ShortKgPerKWh * study.ShortPriceFactor}
	defer limitJobs(c)()
	show := newProgress(c.App.ErrWriter)
	defer show.clear()
	least := own.House.Tending.MinHoursARun
	var limits []float64
	for i := 0; float64(i)*every <= mostLimitH+1e-9; i++ {
		limits = append(limits, float64(i)*every)
	}
	var reading sync.Mutex
	h.Limits, err = study.SideBySide(limits, func(done, of int) { show.at("%d of %d limits", done, of) },
		func(limit float64) (study.Limit, error) {
			reading.Lock()
			s, err := limited(c, h, limit, least)
			reading.Unlock()
			if err != nil {
				return study.Limit{}, err
			}
			p, err := s.ChosenPlan(c.Context)
			if err != nil {
				return study.Limit{}, err
			}
			return study.NewLimit(c.Context, limit, s.House, s.Demand, s.Steady(), p, s.Chance(lives), s.Warnings)
		})
	if err != nil {
		return err
	}
	h.FindLeast()
	if err := wallCard(c, h, own.House.Tending.MaxHoursADay, least, lives); err != nil {
		return err
	}
	told := h.Fewest()
	if h.Least != nil {
		told = h.Least
	}
	h.Warnings = append(own.Warnings, hazards(told.Warnings, own.Warnings)...)
	h.Warnings = append(h.Warnings, notRationed(own)...)
	show.clear()
	return printStudy(c, func(w io.Writer) error { return report.HoursJSON(w, h) },
		func(w io.Writer) error { return report.HoursText(w, h) },
		func(w io.Writer) error { return report.HoursPage(w, h, basisOf(c, own)) })
}

// limited reads the scenario with chosen runs under a limit. One under the
// shortest run means no run.
func limited(c *cli.Context, h *study.Hours, limit, least float64) (*scenarios.Scenario, error) {
	if limit < least {
		limit = 0
	}
	return readScenario(c, "plan.by=chosen", "tending.max_hours_a_day="+trimmed(limit), "plan.short_kg_per_kwh="+trimmed(h.ShortKg))
}

// wallCard keeps the recommended limit, or the scenario's own where none meets
// what is wanted.
func wallCard(c *cli.Context, h *study.Hours, ownLimit, least float64, lives int) error {
	h.CardLimit = ownLimit
	if h.Least != nil && h.Least.MaxHours > 0 {
		h.CardLimit = h.Least.MaxHours
	}
	s, err := limited(c, h, h.CardLimit, least)
	if err != nil {
		return err
	}
	chooser, err := s.ChooserFor(c.Context, s.House)
	if err != nil {
		return err
	}
	h.Card, err = study.WallCard(c.Context, s.House, s.Demand, s.Steady(), s.ChoreKW(), chooser, s.Chance(lives))
	return err
}
