package place

import (
	_ "embed"
	"encoding/csv"
	"strconv"
	"strings"
	"sync"
)

// Sources of each place: its last column, and testdata/published/SOURCES.md.
//
//go:embed sun_level_normals.csv
var levelNormals string

// Level is the sun of a published climate.
type Level struct {
	LatitudeDeg float64
	KWhM2       [12]float64 // on level ground in the mean day of each month
}

// LevelOf returns the sun of a published climate by name; false where none was published.
func LevelOf(climate string) (Level, bool) {
	level, ok := readLevels()[climate]
	return level, ok
}

var readLevels = sync.OnceValue(func() map[string]Level {
	r := csv.NewReader(strings.NewReader(levelNormals))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic("sun_level_normals.csv: " + err.Error())
	}
	number := func(text string) float64 {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			panic("sun_level_normals.csv: " + err.Error())
		}
		return x
	}
	all := map[string]Level{}
	for _, row := range rows[1:] {
		level := Level{LatitudeDeg: number(row[1])}
		for month := range level.KWhM2 {
			level.KWhM2[month] = number(row[2+month])
		}
		all[row[0]] = level
	}
	return all
})
