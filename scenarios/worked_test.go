package scenarios_test

import (
	"context"
	"encoding/csv"
	"io"
	"math"
	"os"
	"strconv"
	"testing"

	"twigwatt/scenarios"
	"twigwatt/sim"
)

func openFile(name string) (io.ReadCloser, error) { return os.Open(name) }

func rowsOf(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
	for _, cells := range text[1:] {
		var row []float64
		for _, cell := range cells {
			x, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, x)
		}
		rows = append(rows, row)
	}
	return rows
}

func compare(t *testing.T, where string, got, want []float64) {
	t.Helper()
	const tolerance = 1e-9 // the hand's figures are exact
	for i := range want {
		if !(math.Abs(got[i]-want[i]) <= tolerance) {
			t.Errorf("%s: %v, want %v", where, got, want)
			return
		}
	}
}

// Worked: testdata/worked/README.md.
func TestADayWorkedByHand(t *testing.T) {
	s, err := scenarios.Read("../testdata/worked/day.toml", openFile)
	if err != nil {
		t.Fatal(err)
	}
	want := rowsOf(t, "../testdata/worked/day.csv")
	if len(want) != 24 {
		t.Fatalf("%d rows", len(want))
	}
	_, err = sim.Run(context.Background(), s.Household, chooser(t, s), func(at sim.Moment, state *sim.State, f *sim.Flows) {
		compare(t, s.House.Span.StepTime(at.Step), []float64{float64(at.Step), f.EngineKW, f.ChargeKW, f.DischargeKW, f.ShortfallKW,
			f.Burned.DryKg, state.Bank.StoredKWh()}, want[at.Step])
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Worked: testdata/worked/README.md.
func TestAWeekWorkedByHand(t *testing.T) {
	s, err := scenarios.Read("../testdata/worked/week.toml", openFile)
	if err != nil {
		t.Fatal(err)
	}
	books, err := sim.Run(context.Background(), s.Household, chooser(t, s), nil)
	if err != nil {
		t.Fatal(err)
	}
	want := rowsOf(t, "../testdata/worked/week.csv")
	if len(want) != len(books.Days) {
		t.Fatalf("%d rows", len(want))
	}
	for i, d := range books.Days {
		compare(t, d.Date.String(), []float64{float64(i + 1), d.EngineKWh, d.SpillKWh, d.BurnedDryKg, d.EndKWh}, want[i])
	}
}
