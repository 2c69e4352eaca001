package main

import (
	"slices"
	"testing"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/sim/handbook"
)

// Each hazard has one of the report's cautions for its own, and no sum names another hazard.
func TestEachHazardHasItsCaution(t *testing.T) {
	var all []string
	for h := handbook.Gas; h <= handbook.Wiring; h++ {
		all = append(all, cautionOf[h])
	}
	if !slices.Equal(all, report.Cautions) {
		t.Errorf("the hazards call for %q", all)
	}
	for _, s := range handbook.Sums() {
		for _, h := range s.Hazards {
			if cautionOf[h] == "" {
				t.Errorf("%s: hazard %d has no caution", s.Name, h)
			}
		}
	}
}
