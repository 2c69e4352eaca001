package report

import (
	"math"

	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
)

// Tried is a year that was tried, for the household's own page: the answers in words, and the year hour
// by hour for a picture.
func Tried(y *study.YearAnswer) Pairs {
	t := &y.Summary.Total
	answers := objects(pageAnswers(y), func(a Answer) Pairs { return Pairs{{"label", a.Label}, {"text", a.Text}} })
	return Pairs{{"answers", answers}, {"hours_a_day", y.AttendedADay}, {"wood_dry_kg", t.BurnedDryKg}, {"wood_stacked_m3", t.BurnedStackedM3},
		{"shortfall_days", y.Shortage.Days}, {"shortfall_kwh", t.ShortfallKWh}, {"lowest_pct", y.Summary.Bank.LowestPct},
		{"nights", nightsOf(y)}}
}

// nightsOf is the year hour by hour: the charge in percent, and what happened, a letter an hour: r a run, d dark,
// s sun that fills the bank alone, . nothing.
func nightsOf(y *study.YearAnswer) Pairs {
	span, r := y.Household.Span, y.Record
	perHour := max(1, 60/span.StepMinutes)
	lit := make([]bool, span.Steps())
	for day, runs := range r.Runs {
		for _, run := range runs {
			for step := run.First; step < run.After; step++ {
				lit[day*span.StepsADay()+step] = true
			}
		}
	}
	var charge []int
	var what []byte
	for from := 0; from < span.Steps(); from += perHour {
		pct, ran, dark, sun := 0.0, false, false, 0.0
		for step := from; step < min(from+perHour, span.Steps()); step++ {
			pct += 100 * float64(r.Stored[step]) / y.Household.Bank.FullKWh / float64(perHour)
			ran = ran || lit[step]
			dark = dark || float64(r.ShortfallKW[step])*span.StepH() > 0.001
			sun += float64(r.SunKW[step]) / float64(perHour)
		}
		letter := byte('.')
		switch {
		case dark:
			letter = 'd'
		case ran:
			letter = 'r'
		case sun > 0.05:
			letter = 's'
		}
		charge, what = append(charge, int(math.Round(pct))), append(what, letter)
	}
	full := []int{}
	for day := range y.Books.Days {
		if y.Books.Days[day].ReachedFull {
			full = append(full, day)
		}
	}
	runs := make([]string, span.Days)
	for day := range runs {
		if len(r.Runs[day]) == 0 {
			continue
		}
		d := &y.Books.Days[day]
		runs[day] = runText(y, day) + say(", %.1f kWh, %.0f kg oven-dry", d.EngineKWh, d.BurnedDryKg)
	}
	return Pairs{{"start", span.Start}, {"hours_a_day", calendar.MinutesADay / 60}, {"charge_pct", charge}, {"what", string(what)}, {"full_days", full},
		{"runs", runs}, {"floor_pct", 100 * y.Household.Days[0].Bank.FloorKWh / y.Household.Bank.FullKWh}}
}
