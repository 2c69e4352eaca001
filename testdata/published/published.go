// Package published hands the tables of this folder to tests. Where each comes
// from stands in SOURCES.md.
package published

import (
	"embed"
	"encoding/csv"
	"strconv"
	"testing"
)

//go:embed *.csv
var tables embed.FS

// Rows returns a table without its header.
func Rows(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := tables.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#' // which library made the table
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// Number reads a cell.
func Number(t testing.TB, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
