package diary

import (
	"twigwatt/sim"
	"twigwatt/sim/calendar"
)

// A Month is what the diary notes of a month beside what the scenario's plan does
// on the same days: those from the diary's first run to its last.
type Month struct {
	First                     calendar.Date // of its days in the diary
	Days, Runs                int
	AttendedH, KWh, WoodDryKg float64 // noted; what was not noted counts as nothing
	PlanAttendedH, PlanKWh    float64
	PlanWoodDryKg             float64
}

// Months puts the diary's months beside the books of the scenario's span.
func Months(rows []Row, of Household, books *sim.Books) []Month {
	if len(rows) == 0 {
		return nil
	}
	e := newExpecter(of)
	var months []Month
	row := 0
	for date := rows[0].Date; date <= rows[len(rows)-1].Date; date++ {
		if n := len(months); n == 0 || months[n-1].First.Month() != date.Month() {
			months = append(months, Month{First: date})
		}
		m := &months[len(months)-1]
		m.Days++
		plan := &books.Days[e.almanac.day(date)]
		m.PlanAttendedH += plan.AttendedH
		m.PlanKWh += plan.EngineKWh
		m.PlanWoodDryKg += plan.BurnedDryKg
		for ; row < len(rows) && rows[row].Date == date; row++ {
			r := &rows[row]
			m.Runs++
			m.AttendedH += float64(r.StopMinute-r.StartMinute) / 60
			if Noted(r.KWh) {
				m.KWh += r.KWh
			}
			if Noted(r.WoodAsIsKg) {
				m.WoodDryKg += r.WoodAsIsKg * (1 - e.moisture(r))
			}
		}
	}
	return months
}
