package place

import (
	_ "embed"
	"encoding/csv"
	"strconv"
	"strings"
	"sync"
)

// Sources of each place: testdata/published/SOURCES.md, row climate_normals.csv.
//
//go:embed climate_normals.csv
var climateNormals string

// Climates returns the names of the published climates, in the table's order.
func Climates() []string { return readClimates().names }

// Climate returns a published climate by name.
func Climate(name string) (Air, bool) {
	air, ok := readClimates().air[name]
	return air, ok
}

type climates struct {
	names []string
	air   map[string]Air
}

var readClimates = sync.OnceValue(func() climates {
	rows, err := csv.NewReader(strings.NewReader(climateNormals)).ReadAll()
	if err != nil {
		panic("climate_normals.csv: " + err.Error())
	}
	all := climates{air: map[string]Air{}}
	for _, row := range rows[1:] {
		name, quantity := row[0], row[1]
		air, known := all.air[name]
		if !known {
			all.names = append(all.names, name)
		}
		for month, cell := range row[2:14] {
			value, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				panic("climate_normals.csv: " + err.Error())
			}
			if quantity == "air_c" {
				air.MeanC[month] = value
			} else {
				air.HumidityPct[month] = value
			}
		}
		all.air[name] = air
	}
	return all
})
