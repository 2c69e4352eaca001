package woodpile

import (
	_ "embed"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Source: USDA Forest Service FIA reference table REF_SPECIES, after Miles &
// Smith 2009 (NRS-38) and the Wood Handbook.
//
//go:embed species.csv
var speciesTable string

// A Species of wood. Gravities are oven-dry mass over green volume; moistures
// kg of water for each oven-dry kg.
type Species struct {
	Key, CommonName string
	Gravity         float64
	GreenDryBasis   float64 // water over oven-dry wood, when cut
	BarkGravity     float64
	BarkDryBasis    float64
	BarkPerWood     float64 // m³ of bark for each m³ of wood
	GroupDefault    bool    // a value of the genus, not a measured species
}

// felledWetBasis is the moisture of European trees as they were felled, where it was measured; it
// stands in the place of what the table of species says of wood and bark, whose trees are American.
//
// Source: SOURCES.md, row felling moisture (a Danish trial, second hand).
var felledWetBasis = map[string]float64{"norway-spruce": 0.581, "beech": 0.466, "white-oak": 0.457, "red-oak": 0.457,
	"sugar-maple": 0.425, "red-maple": 0.425, "bigleaf-maple": 0.425}

// GreenWithBarkDryBasis returns the moisture of the felled tree with its bark,
// kg of water for each oven-dry kg: as measured at felling, or by the table of species.
func (s Species) GreenWithBarkDryBasis() float64 {
	if felled, measured := felledWetBasis[s.Key]; measured {
		return DryBasis(felled)
	}
	g, b, gb := s.Gravity, s.BarkPerWood, s.BarkGravity
	return (g*(1+s.GreenDryBasis)+b*gb*(1+s.BarkDryBasis))/(g+b*gb) - 1
}

// SpeciesKeys returns the keys of the table, in its order.
func SpeciesKeys() (keys []string) {
	for _, s := range readSpecies() {
		keys = append(keys, s.Key)
	}
	return keys
}

// SpeciesOf returns the species of a key.
func SpeciesOf(key string) (Species, bool) {
	all := readSpecies()
	if i := slices.IndexFunc(all, func(s Species) bool { return s.Key == key }); i >= 0 {
		return all[i], true
	}
	return Species{}, false
}

var readSpecies = sync.OnceValue(func() []Species {
	rows, err := csv.NewReader(strings.NewReader(speciesTable)).ReadAll()
	if err != nil {
		panic("species.csv: " + err.Error())
	}
	number := func(cell string) float64 {
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			panic("species.csv: " + err.Error())
		}
		return v
	}
	var all []Species
	for _, r := range rows[1:] {
		all = append(all, Species{Key: r[0], CommonName: r[1],
			Gravity: number(r[3]), GreenDryBasis: number(r[4]) / 100,
			BarkGravity: number(r[5]), BarkDryBasis: number(r[6]) / 100, BarkPerWood: number(r[7]) / 100,
			GroupDefault: r[8] == "yes"})
	}
	return all
})
