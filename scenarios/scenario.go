package scenarios

import (
	"context"
	"fmt"

	"twigwatt/loads"
	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/plan"
	"twigwatt/sim/study"
)

// A Scenario is a checked household, ready to run.
type Scenario struct {
	Name      string
	Text      string // as it was read
	House     *sim.House
	Wants     *loads.Wants
	Demand    *loads.Demand
	Plan      string
	Foresight string
	Settings  []*Setting // every key with its value in force
	Warnings  []sim.Warning
	Rationed  bool
	Rations   []plan.Ration // set by Chooser where wood is rationed

	sameStartStep, sameSteps int
	startBelow, stopAbove    float64
	snap                     study.Snap
	luck                     study.Luck
	hopperAsIsKg             float64
	dryShareWeighed          float64
	services                 []study.Service
	ratedKWh, volts          float64
	choreKW                  []float64
}

// ChoreKW is the chores' power by step, each in the first of its hours, as plans
// have it that do not choose; nil where there are no chores.
func (s *Scenario) ChoreKW() []float64 { return s.choreKW }

// Snap is the scenario's cold snap.
func (s *Scenario) Snap() study.Snap { return s.snap }

// Luck is how years differ.
func (s *Scenario) Luck() study.Luck { return s.luck }

// DryShareWeighed is the oven-dry share of a kg of wood as the scenario weighs it.
func (s *Scenario) DryShareWeighed() float64 { return s.dryShareWeighed }

// HopperAsIsKg is what a full hopper holds.
func (s *Scenario) HopperAsIsKg() float64 { return s.hopperAsIsKg }

// Services are what the set wants by its engine hours.
func (s *Scenario) Services() []study.Service { return s.services }

// RatedKWh is the bank's size at rated_hours.
func (s *Scenario) RatedKWh() float64 { return s.ratedKWh }

// Volts is the bank's voltage, 0 where the scenario does not tell.
func (s *Scenario) Volts() float64 { return s.volts }

// outlook is what the chosen plan is made with, but for the price of rationed wood. A
// rationed plan lives where one price turns from serving to saving: classes of the day would
// only blur it.
func (s *Scenario) outlook() plan.Outlook {
	o := plan.Outlook{Foresight: plan.Foresight(s.Foresight), Chores: s.Wants.Chores}
	if s.Rationed {
		o.Classes = 1
	}
	return o
}

// Chooser makes the chooser of the plan in force for the scenario's house. With
// rationing it searches the prices of wood first and keeps them in s.Rations. The
// only error is the context's.
func (s *Scenario) Chooser(ctx context.Context) (sim.Chooser, error) {
	if !s.Rationed {
		return s.ChooserFor(ctx, s.House)
	}
	var err error
	if s.Rations, err = plan.FindRations(ctx, s.House, s.Demand, s.outlook()); err != nil {
		return nil, err
	}
	rationed := s.outlook()
	rationed.WoodKg = plan.WoodPrices(s.Rations, len(s.House.Days))
	return chosen(ctx, s.House, s.Demand, rationed)
}

// ChooserFrom makes the chooser of the plan in force for a span that begins within
// its first day. The only error is the context's.
func (s *Scenario) ChooserFrom(ctx context.Context, begins plan.Beginning) (sim.Chooser, error) {
	if s.Plan != plan.ByChosen {
		return s.ChooserFor(ctx, s.House)
	}
	outlook := s.outlook()
	if s.Rationed {
		rations, err := plan.FindRations(ctx, s.House, s.Demand, outlook)
		if err != nil {
			return nil, err
		}
		outlook.WoodKg = plan.WoodPrices(rations, len(s.House.Days))
	}
	outlook.Begins = begins
	return chosen(ctx, s.House, s.Demand, outlook)
}

// ChooserFor makes the chooser of the plan in force, without rationing, for a
// variation of the scenario's house.
func (s *Scenario) ChooserFor(ctx context.Context, h *sim.House) (sim.Chooser, error) {
	switch s.Plan {
	case plan.BySameHours:
		return &plan.EveryDay{House: h, StartStep: s.sameStartStep, StopStep: s.sameStartStep + s.sameSteps, ChoreKW: s.choreKW}, nil
	case plan.ByTopUp:
		return &plan.WhenLow{House: h, StartBelow: s.startBelow, StopAbove: s.stopAbove, ChoreKW: s.choreKW}, nil
	case plan.ByChosen:
		return chosen(ctx, h, s.Demand, s.outlook())
	}
	panic("scenarios: no plan " + s.Plan)
}

// ChosenPlan makes the plan of chosen runs for the scenario's house, without rationing.
func (s *Scenario) ChosenPlan(ctx context.Context) (*plan.Plan, error) {
	o := s.outlook()
	o.Classes = 0
	return plan.New(ctx, s.House, s.Demand, o)
}

// Steady is what the house wants in days that come without their swings.
func (s *Scenario) Steady() *loads.Demand {
	d, err := s.Wants.Steady(s.House.Span)
	if err != nil {
		panic(err) // the same files served the scenario
	}
	return d
}

// Chance is what lives of the household differ by, of which there are so many.
func (s *Scenario) Chance(lives int) *study.Chance {
	return &study.Chance{Wants: s.Wants, Luck: s.luck, Seed: s.Wants.Seed, Lives: lives}
}

// chosen makes a life by a plan of its own.
func chosen(ctx context.Context, h *sim.House, d *loads.Demand, o plan.Outlook) (sim.Chooser, error) {
	p, err := plan.New(ctx, h, d, o)
	if err != nil {
		return nil, err
	}
	return p.Chooser(), nil
}

// PlanText says the plan in words.
func (s *Scenario) PlanText() string {
	switch s.Plan {
	case plan.BySameHours:
		return fmt.Sprintf("same hours every day (%s for %s h)", calendar.Clock(s.sameStartStep*s.House.Span.StepMinutes),
			trim(float64(s.sameSteps)*s.House.Span.StepH()))
	case plan.ByTopUp:
		return fmt.Sprintf("topping up (from below %.0f %% to %.0f %%)", 100*s.startBelow, 100*s.stopAbove)
	}
	return "chosen runs"
}
