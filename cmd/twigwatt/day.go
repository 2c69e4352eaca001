package main

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/loads"
	"twigwatt/scenarios"
	"twigwatt/sim/calendar"
	"twigwatt/sim/diary"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
)

func dayCommand() *cli.Command {
	flags := []cli.Flag{jsonFlag(), setFlag(),
		&cli.Float64Flag{Name: "soc", Usage: "charge on the meter, `PERCENT`"},
		&cli.Float64Flag{Name: "gravity", Usage: "of the electrolyte instead, like 1.19; lead-acid"},
		&cli.Float64Flag{Name: "acid-c", Value: 25, Usage: "of the electrolyte as --gravity was read, `°C`"},
		&cli.Float64Flag{Name: "volts", Usage: "of a rested lead-acid bank instead, like 25.1"},
		&cli.Float64Flag{Name: "rested-hours", Usage: "`HOURS` without charge and load before --volts was read, 3 or more"},
		&cli.StringFlag{Name: "date", Usage: "`DATE`, by default today"},
		&cli.StringFlag{Name: "at", Usage: "time of the reading, like `15:00`, by default now"},
		&cli.IntFlag{Name: "days", Value: 1, Usage: "`DAYS` of the sheet, 1 to 7"},
		&cli.StringFlag{Name: "earlier",
			Usage: "charge earlier today, before any run, as `07:00=74` (percent): tells how the day goes"},
		&cli.StringFlag{Name: "diary",
			Usage: "`FILE` of runs: the charge between those of the last fortnight tells how much the house takes"},
		&cli.StringFlag{Name: "lit", Usage: "lit already, with the match at `16:40`"},
		&cli.Float64Flag{Name: "hours-today", Usage: "attended `HOURS` of runs that ended today"},
		&cli.IntFlag{Name: "full-days-ago", Usage: "`DAYS` since the bank was last full"},
		&cli.GenericFlag{Name: "chores-done", Value: &assignments{},
			Usage: "a chore's times this week so far, as `NAME=TIMES` (repeatable)"},
		&cli.StringFlag{Name: "sky", Usage: "of the panels until tomorrow night, as you see it: dull, usual or bright, as `SKY`"},
		&cli.Float64Flag{Name: "hours-so-far", Usage: "engine `HOURS` of the set's life, for what service is due"},
		&cli.Float64Flag{Name: "crate-as-is-kg", Usage: "`KG` of wood that a crate holds"},
		&cli.StringFlag{Name: "report", Usage: "write the sheet as a page to `FILE`"}}
	return &cli.Command{Name: "day", Usage: "today's run sheet, from the charge on the meter", ArgsUsage: "[SCENARIO]",
		Flags: flags, Action: day}
}

func day(c *cli.Context) error {
	asked, err := readAsked(c)
	if err != nil {
		return err
	}
	own, err := readForStudy(c)
	if err != nil {
		return err
	}
	s, at, err := eveningOf(c, own, asked)
	if err != nil {
		return err
	}
	sheet, err := study.Day(c.Context, s.Household, s.Rule, at)
	if err != nil {
		return err
	}
	return write(c, s, report.Day(sheet))
}

// asked is what the options of day say; minutes of the day, −1 for none.
type asked struct {
	summerTime    string // said where the clock on the wall was read in summer time; "": it was not
	date          calendar.Date
	minute, lit   int
	earlier       int // minute of an earlier reading
	earlierSocPct float64
}

func readAsked(c *cli.Context) (asked, error) {
	wall := time.Now()
	now := standardTime(wall)
	a := asked{date: dateOf(now), minute: now.Hour()*60 + now.Minute(), lit: -1, earlier: -1}
	var told []string
	for _, name := range []string{"soc", "gravity", "volts"} {
		if c.IsSet(name) {
			told = append(told, "--"+name)
		}
	}
	if !c.IsSet("at") && wall.Format("15:04") != now.Format("15:04") {
		a.summerTime = "it is " + now.Format("15:04 (UTC-07:00)") + " by standard time, which the sheet goes by, and " +
			wall.Format("15:04") + " by the clock on the wall: the sheet's times are behind it"
	}
	switch {
	case len(told) > 1:
		return a, usagef("give one of %s", strings.Join(told, " and "))
	case len(told) == 0:
		return a, usagef("day needs the charge on the meter: --soc 47, or for a lead-acid bank --gravity 1.19, " +
			"or --volts 25.1 --rested-hours 3")
	case c.IsSet("acid-c") && !c.IsSet("gravity"):
		return a, usagef("--acid-c goes with --gravity")
	case c.IsSet("rested-hours") && !c.IsSet("volts"):
		return a, usagef("--rested-hours goes with --volts")
	case c.IsSet("acid-c") && !(c.Float64("acid-c") >= -20 && c.Float64("acid-c") <= 60):
		return a, usagef("--acid-c must be -20 to 60, got %s", numeral(c.Float64("acid-c")))
	}
	var err error
	if c.IsSet("date") {
		if a.date, err = calendar.ParseDate(c.String("date")); err != nil || a.date.Year() < 1970 || a.date.Year() > 2200 {
			return a, usagef("--date must be a date like 2025-01-31, from 1970 to 2200, got %q", c.String("date"))
		}
	}
	if c.IsSet("at") {
		if a.minute, err = calendar.ParseClock(c.String("at")); err != nil || a.minute == calendar.MinutesADay {
			return a, usagef("--at must be a time like 15:00, got %q", c.String("at"))
		}
	}
	if c.IsSet("lit") {
		if a.lit, err = calendar.ParseClock(c.String("lit")); err != nil || a.lit > a.minute {
			return a, usagef("--lit must be a time like 16:40, not after --at (%s), got %q", calendar.Clock(a.minute), c.String("lit"))
		}
	}
	if c.IsSet("earlier") {
		clock, soc, _ := strings.Cut(c.String("earlier"), "=")
		a.earlier, err = calendar.ParseClock(clock)
		pct, badPct := strconv.ParseFloat(soc, 64)
		if err != nil || badPct != nil || !(pct >= 0 && pct <= 100) || a.earlier >= a.minute {
			return a, usagef("--earlier must be a time before --at (%s) and the charge then, 0 to 100, "+
				"like 07:00=74; got %q", calendar.Clock(a.minute), c.String("earlier"))
		}
		if a.lit >= 0 || c.Float64("hours-today") > 0 {
			return a, usagef("--earlier tells what the house took where no run lay between the readings: " +
				"leave it out with --lit or --hours-today")
		}
		a.earlierSocPct = pct
	}
	return a, nil
}

// eveningOf is the household with a span that begins on the day, and how it stands.
func eveningOf(c *cli.Context, own *scenarios.Scenario, a asked) (*scenarios.Scenario, study.Evening, error) {
	at := study.Evening{Date: a.date, Minute: a.minute, Days: c.Int("days"), LitMinute: a.lit,
		HoursToday: c.Float64("hours-today"), SinceFull: c.Int("full-days-ago"),
		HoursSoFar: -1, CrateKg: c.Float64("crate-as-is-kg")}
	if c.IsSet("hours-so-far") {
		at.HoursSoFar = c.Float64("hours-so-far")
	}
	socPct := c.Float64("soc")
	var err error
	if c.IsSet("gravity") {
		at25C := battery.GravityAt25C(c.Float64("gravity"), c.Float64("acid-c"))
		if socPct, err = battery.ChargeOfGravity(own.Bank.Kind, at25C); err != nil {
			return nil, at, usagef("--gravity %s", err)
		}
	}
	if c.IsSet("volts") {
		socPct, err = battery.ChargeOfVolts(own.Bank.Kind, own.Bank.Volts, c.Float64("volts"), c.Float64("rested-hours"))
		if err != nil {
			return nil, at, usagef("--volts %s", err)
		}
	}
	if at.Sky = sun.Said(c.String("sky")); c.IsSet("sky") {
		if !slices.Contains(sun.Saids(), at.Sky) {
			return nil, at, usagef("--sky must be dull, usual or bright, got %q", c.String("sky"))
		}
		if own.Demand.Sun == nil {
			return nil, at, usagef("--sky is for a household with panels: the scenario has none (panels.NAME.kw_peak)")
		}
	}
	s, err := own.On(a.date, at.Days+1, socPct)
	if err != nil {
		return nil, at, err
	}
	if a.summerTime != "" {
		s.Warnings.Add("standard_time", "%s", a.summerTime)
	}
	at.StoredKWh = socPct / 100 * s.Bank.FullKWh
	if c.IsSet("diary") {
		rows, err := readRuns(c.String("diary"))
		if err != nil {
			return nil, at, err
		}
		for _, took := range diary.LastTook(own.Household, rows, a.date, plan.FortnightDays) {
			at.Fortnight.Add(took.KWh, took.ExpectedKWh, took.Days, took.PastDays)
		}
	}
	if at.ChoresDone, err = choresDone(c, s); err != nil {
		return nil, at, err
	}
	if a.earlier >= 0 {
		at.Earlier = &study.Reading{Minute: a.earlier, StoredKWh: a.earlierSocPct / 100 * s.Bank.FullKWh}
		if err := study.CheckEarlier(s.Household, at); err != nil {
			return nil, at, usagef("--earlier %s, and %s %% at %s: %s", c.String("earlier"), numeral(socPct),
				calendar.Clock(a.minute), err)
		}
	}
	return s, at, nil
}

// choresDone reads how often chores have been done this week.
func choresDone(c *cli.Context, s *scenarios.Scenario) (map[string]int, error) {
	names := eachOf(s.Demand.Chores, func(chore loads.Chore) string { return chore.Name })
	done := map[string]int{}
	told := assigned(c, "chores-done")
	if len(told) > 0 && s.Rule.By != plan.ByChosen {
		return nil, usagef("--chores-done is for chosen runs alone: plan %s does chores in the first of their hours", s.Rule.By)
	}
	for _, text := range told {
		name, times, _ := strings.Cut(text, "=")
		n, err := strconv.Atoi(times)
		if err != nil || n < 0 || n > 1000 {
			return nil, usagef("--chores-done must be NAME=TIMES like washing=2, got %q", text)
		}
		if !slices.Contains(names, name) {
			return nil, usagef("--chores-done: the scenario has no chore %q; there are %s", name, strings.Join(names, ", "))
		}
		done[name] = n
	}
	return done, nil
}
