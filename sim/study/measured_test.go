package study_test

import (
	"fmt"
	"strings"
	"testing"

	"twigwatt/loads"
	"twigwatt/scenarios"
	"twigwatt/sim/plan"
)

// TestAPlanKnowsThatMeasuredDaysDiffer: a year of drawn days, measured and read back, is planned
// with the spread that the file itself tells. Against a plan that takes each day for its mean, it
// is dark on less than half the days, and cheaper.
func TestAPlanKnowsThatMeasuredDaysDiffer(t *testing.T) {
	if testing.Short() {
		t.Skip("two years planned: not with -short")
	}
	s, err := scenarios.Read("saddle", nil, scenarios.Set("step_minutes=60"))
	if err != nil {
		t.Fatal(err)
	}
	var file strings.Builder
	file.WriteString("time,kw\n")
	for step, kw := range s.Demand.LoadKW {
		fmt.Fprintf(&file, "%s,%.4f\n", s.Span.StepTime(step), kw)
	}
	measured, err := loads.ReadMeasured("load.csv", strings.NewReader(file.String()))
	if err != nil {
		t.Fatal(err)
	}
	wants := loads.Wants{File: measured, Scale: 1, AwayShare: 1}
	knows, err := wants.Demand(s.Span)
	if err != nil {
		t.Fatal(err)
	}
	unknowing := *knows
	unknowing.SpreadShare = 0
	var days [2]int
	var kg [2]float64
	for i, demand := range []*loads.Demand{knows, &unknowing} {
		h := s.WithoutEnd().Wanting(demand)
		p, err := plan.New(t.Context(), h, plan.Outlook{Foresight: plan.Typical})
		if err != nil {
			t.Fatal(err)
		}
		y, _ := through(t, h, p.Chooser())
		days[i], kg[i] = y.Shortage.Days, weighedKg(y)
	}
	t.Logf("%d dark days and %.0f kg; not knowing it %d and %.0f", days[0], kg[0], days[1], kg[1])
	if 2*days[0] >= days[1] || kg[0] >= kg[1] {
		t.Errorf("%d dark days and %.0f kg; not knowing that days differ %d and %.0f", days[0], kg[0], days[1], kg[1])
	}
}
