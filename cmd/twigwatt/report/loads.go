package report

import (
	"cmp"
	"slices"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/study"
)

// loadColumns tell the things of a house apart.
var loadColumns = list[loads.Part]{
	texts("what", "name", func(p *loads.Part) string { return shorten(p.Name) }, func(p *loads.Part) any { return p.Name }),
	texts("kind", "kind", func(p *loads.Part) string { return string(p.Source) }, nil),
	figures("kWh a day", "kwh_per_day", 2, func(p *loads.Part) float64 { return p.KWhPerDay }),
}

// LoadsJSON is what a house wants, each thing by itself.
func LoadsJSON(h *sim.Household) []Pairs { return loadColumns.json(h.Loads) }

// LoadsText writes it for a terminal, with the sum.
func LoadsText(t *Terminal, h *sim.Household) {
	t.Gap()
	t.WriteString("What the house wants, in the mean of the span's days\n")
	loadColumns.text(t, summedLoads(h))
}

// summedLoads are a house's loads, and where there are several their sum.
func summedLoads(h *sim.Household) []loads.Part {
	if len(h.Loads) < 2 {
		return h.Loads
	}
	all := loads.Part{Name: "all"}
	for _, part := range h.Loads {
		all.KWhPerDay += part.KWhPerDay
	}
	return append(slices.Clone(h.Loads), all)
}

// loadsPart says on the page what the house wants, of one that wants something.
func loadsPart(y *study.YearAnswer) Part {
	rows := summedLoads(y.Household)
	most := slices.MaxFunc(y.Household.Loads, func(a, b loads.Part) int { return cmp.Compare(a.KWhPerDay, b.KWhPerDay) })
	return Part{ID: "loads", Title: "What the house wants",
		Caption: say("%.1f kWh a day in the mean; most of it, %.1f, for %s.", rows[len(rows)-1].KWhPerDay, most.KWhPerDay, most.Name),
		Tables:  []Table{loadColumns.table("What the house wants", rows)}}
}
