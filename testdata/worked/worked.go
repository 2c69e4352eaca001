// Package worked hands the household that was worked by hand, day.toml, to examples and
// tests. What comes of it stands in README.md.
package worked

import (
	_ "embed"
	"io"
	"log"
	"strings"

	"twigwatt/scenarios"
)

// day is a plain store of 10 kWh, half of it to use, a house that wants 0.4 kW all day,
// a set of 1 to 3 kW that is lit at 17:00 for three hours, burns 1 kg an hour and 1 kg a
// kWh, and 1.5 kg in the half hour of its light-up. AC into the charger × 0.8 is stored;
// AC from the inverter × 1.25 is drawn.
//
//go:embed day.toml
var day string

// Household reads it, with some keys set otherwise, like "days=7". A fault ends the
// program: it is the example's.
func Household(set ...string) *scenarios.Scenario {
	open := func(string) (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(day)), nil }
	var options []scenarios.Option
	for _, assignment := range set {
		options = append(options, scenarios.Set(assignment))
	}
	s, err := scenarios.Read("home.toml", open, options...)
	if err != nil {
		log.Fatal(err)
	}
	return s
}
