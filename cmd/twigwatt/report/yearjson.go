package report

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"strconv"

	"twigwatt/sim"
	"twigwatt/sim/calendar"
	"twigwatt/sim/study"
)

// figure is a number of the JSON output: six decimals at most, so that machines
// that round differently print the same; null where there is none (NaN).
type figure float64

// MarshalJSON writes the figure.
func (f figure) MarshalJSON() ([]byte, error) {
	x := math.Round(float64(f)*1e6) / 1e6
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	if x == 0 {
		x = 0 // no minus
	}
	return strconv.AppendFloat(nil, x, 'f', -1, 64), nil
}

// A Pair is a key of a JSON object with its value; Pairs keep their order.
type Pair struct {
	Key   string
	Value any
}

// Pairs is a JSON object whose keys stand as given. Numbers among its values are
// figures.
type Pairs []Pair

// MarshalJSON writes the object.
func (p Pairs) MarshalJSON() ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	out.WriteByte('{')
	for i, pair := range p {
		if i > 0 {
			out.WriteByte(',')
		}
		if err := encoder.Encode(pair.Key); err != nil {
			return nil, err
		}
		out.WriteByte(':')
		if x, ok := pair.Value.(float64); ok {
			pair.Value = figure(x)
		}
		if err := encoder.Encode(pair.Value); err != nil {
			return nil, err
		}
	}
	out.WriteByte('}')
	return out.Bytes(), nil
}

// none stands for what has no value.
var none = figure(math.NaN())

type yearJSON struct {
	Format      int           `json:"format"`
	Scenario    string        `json:"scenario"`
	Start       string        `json:"start"`
	Days        int           `json:"days"`
	StepMinutes int           `json:"step_minutes"`
	Plan        string        `json:"plan"`
	Foresight   *string       `json:"foresight"`
	Engine      engineJSON    `json:"engine"`
	House       houseJSON     `json:"house"`
	Bank        bankJSON      `json:"bank"`
	Wood        woodJSON      `json:"wood"`
	Char        charJSON      `json:"char"`
	Price       priceJSON     `json:"price"`
	Books       booksJSON     `json:"books"`
	Months      []monthJSON   `json:"months"`
	FixedWindow *windowJSON   `json:"fixed_window"`
	Chores      *choresJSON   `json:"chores"`
	Ration      *rationJSON   `json:"ration"`
	Warnings    []warningJSON `json:"warnings"`
	Cautions    []string      `json:"cautions"`
}

type choresJSON struct {
	OnRunsKWh   figure `json:"on_runs_kwh"`
	FromBankKWh figure `json:"from_bank_kwh"`
	UnplacedKWh figure `json:"unplaced_kwh"`
}

type stretchJSON struct {
	First     string `json:"first"`
	Last      string `json:"last"`
	WoodPrice figure `json:"wood_price"`
	Lasts     bool   `json:"lasts"`
}

type rationJSON struct {
	Stretches     []stretchJSON `json:"stretches"`
	MissingDryKg  figure        `json:"missing_dry_kg"`
	MoreShortKWh  figure        `json:"more_shortfall_kwh"`
	MoreShortDays int           `json:"more_shortfall_days"`
}

// windowJSON is the best fixed window with at least the chosen runs' hours.
type windowJSON struct {
	Start         string `json:"start"`
	Hours         figure `json:"hours"`
	AttendedHours figure `json:"attended_hours"`
	TotalKg       figure `json:"total_kg"`
	SoftKg        figure `json:"soft_kg"`
	ShortfallKWh  figure `json:"shortfall_kwh"`
	ShortfallDays int    `json:"shortfall_days"`
}

type engineJSON struct {
	Hours          figure `json:"hours"`
	AttendedHours  figure `json:"attended_hours"`
	AttendedPerDay figure `json:"attended_hours_per_day"`
	LightUps       int    `json:"light_ups"`
	MadeKWh        figure `json:"made_kwh"`
	SpillKWh       figure `json:"spill_kwh"`
	Refuels        int    `json:"refuels"`
}

type houseJSON struct {
	WantedKWh      figure  `json:"wanted_kwh"`
	ServedKWh      figure  `json:"served_kwh"`
	ShortfallKWh   figure  `json:"shortfall_kwh"`
	ShortfallHours figure  `json:"shortfall_hours"`
	ShortfallDays  int     `json:"shortfall_days"`
	WorstDay       *string `json:"worst_day"`
	WorstDayKWh    figure  `json:"worst_day_kwh"`
}

type bankJSON struct {
	StartKWh               figure `json:"start_kwh"`
	EndKWh                 figure `json:"end_kwh"`
	LowestPct              figure `json:"lowest_pct"`
	ChargedKWh             figure `json:"charged_kwh"`
	DischargedKWh          figure `json:"discharged_kwh"`
	LostKWh                figure `json:"lost_kwh"`
	FullCycles             figure `json:"full_cycles"`
	LifeYearsLow           figure `json:"life_years_low"`
	LifeYearsHigh          figure `json:"life_years_high"`
	LongestDaysWithoutFull int    `json:"longest_days_without_full"`
}

type woodJSON struct {
	BurnedDryKg          figure  `json:"burned_dry_kg"`
	BurnedAsIsKg         figure  `json:"burned_as_is_kg"`
	BurnedStackedM3      figure  `json:"burned_stacked_m3"`
	CondensateL          figure  `json:"condensate_l"`
	WorkHours            figure  `json:"work_hours"`
	PileStartDryKg       figure  `json:"pile_start_dry_kg"`
	CutDryKg             figure  `json:"cut_dry_kg"`
	LostDryKg            figure  `json:"lost_dry_kg"`
	PileEndDryKg         figure  `json:"pile_end_dry_kg"`
	DaysWithoutReadyWood int     `json:"days_without_ready_wood"`
	RunsOut              *string `json:"runs_out"`
}

type charJSON struct {
	Kg        figure `json:"kg"`
	CarbonKg  figure `json:"carbon_kg"`
	KeptCO2Kg figure `json:"kept_co2_kg"`
}

type priceJSON struct {
	TotalKg    figure `json:"total_kg"`
	WoodKg     figure `json:"wood_kg"`
	HoursKg    figure `json:"hours_kg"`
	StartsKg   figure `json:"starts_kg"`
	ShortKg    figure `json:"short_kg"`
	HandbackKg figure `json:"handback_kg"`
	SoftKg     figure `json:"soft_kg"`
}

type booksJSON struct {
	ElectricityGapKWh figure `json:"electricity_gap_kwh"`
	BankGapKWh        figure `json:"bank_gap_kwh"`
	WoodGapKg         figure `json:"wood_gap_kg"`
}

type monthJSON struct {
	Month         string `json:"month"`
	EngineHours   figure `json:"engine_hours"`
	AttendedHours figure `json:"attended_hours"`
	WoodDryKg     figure `json:"wood_dry_kg"`
	WantedKWh     figure `json:"wanted_kwh"`
	ShortfallKWh  figure `json:"shortfall_kwh"`
	ShortfallDays int    `json:"shortfall_days"`
	LowestPct     figure `json:"lowest_pct"`
}

type warningJSON struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// warningsJSON is [] where there are none.
func warningsJSON(warnings []sim.Warning) []warningJSON {
	all := []warningJSON{}
	for _, warning := range warnings {
		all = append(all, warningJSON(warning))
	}
	return all
}

func dateOrNull(d *calendar.Date) *string {
	if d == nil {
		return nil
	}
	text := d.String()
	return &text
}

// YearJSON writes a year with the keys of the manual. window is the best fixed
// one beside chosen runs, or nil.
func YearJSON(w io.Writer, s *sim.Summary, window *study.Window) error {
	document := yearDocument(s)
	if window != nil {
		t := &window.Summary.Total
		document.FixedWindow = &windowJSON{calendar.Clock(window.StartStep * s.Span.StepMinutes),
			figure(float64(window.Steps) * s.Span.StepH()),
			figure(t.AttendedH), figure(window.Summary.Price.TotalKg()), figure(window.Summary.Price.SoftKg),
			figure(t.ShortfallKWh), window.Summary.Shortage.Days}
	}
	return WriteJSON(w, document)
}

// WriteJSON writes a document indented, with < and > as they are.
func WriteJSON(w io.Writer, document any) error {
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(document)
}

func yearDocument(s *sim.Summary) yearJSON {
	t, p := &s.Total, &s.Price
	y := yearJSON{Format: 1, Scenario: s.Name, Start: s.Span.Start.String(), Days: s.Span.Days,
		StepMinutes: s.Span.StepMinutes, Plan: s.Plan,
		Engine: engineJSON{figure(t.EngineH), figure(t.AttendedH), figure(s.AttendedADay), t.LightUps,
			figure(t.EngineKWh), figure(t.SpillKWh), t.Refuels},
		House: houseJSON{WantedKWh: figure(t.LoadKWh), ServedKWh: figure(t.LoadKWh - t.ShortfallKWh),
			ShortfallKWh:   figure(t.ShortfallKWh),
			ShortfallHours: figure(t.ShortfallH), ShortfallDays: s.Shortage.Days},
		Bank: bankJSON{figure(s.Bank.StartKWh), figure(s.Bank.EndKWh), figure(s.Bank.LowestPct), figure(t.ChargeKWh),
			figure(t.DischargeKWh),
			figure(t.Lost.TotalKWh()), figure(s.Bank.FullCycles), figure(s.Bank.LifeLowYears),
			figure(s.Bank.LifeHighYears), s.Bank.LongestNotFull},
		Wood: woodJSON{BurnedDryKg: figure(t.BurnedDryKg), BurnedAsIsKg: figure(t.BurnedAsIsKg),
			BurnedStackedM3: figure(t.BurnedStackedM3),
			CondensateL:     figure(t.CondensateL), WorkHours: figure(s.Wood.WorkHours), PileStartDryKg: none, CutDryKg: none,
			LostDryKg: none, PileEndDryKg: none,
			DaysWithoutReadyWood: s.Wood.DaysWithoutReadyWood, RunsOut: nil},
		Char: charJSON{figure(s.Char.Kg), figure(s.Char.CarbonKg), figure(s.Char.KeptCO2Kg)},
		Price: priceJSON{figure(p.TotalKg()), figure(p.WoodKg), figure(p.HoursKg), figure(p.StartsKg),
			figure(p.ShortKg), figure(p.HandbackKg), figure(p.SoftKg)},
		Books: booksJSON{figure(s.Books.ElectricityKWh), figure(s.Books.BankKWh), figure(s.Books.WoodKg)},
		// a list that is empty is [] to a reader, not null
		Months: []monthJSON{}, Cautions: Cautions}
	if s.Chores != nil {
		y.Chores = &choresJSON{figure(s.Chores.OnRunsKWh), figure(s.Chores.FromBankKWh), figure(s.Chores.UnplacedKWh)}
	}
	if r := s.Ration; r != nil {
		y.Ration = &rationJSON{[]stretchJSON{}, figure(r.MissingDryKg), figure(r.MoreShortKWh), r.MoreShortDays}
		for _, stretch := range r.Stretches {
			y.Ration.Stretches = append(y.Ration.Stretches, stretchJSON{stretch.First.String(), stretch.Last.String(),
				figure(stretch.WoodKg), stretch.Lasts})
		}
	}
	if s.Foresight != "" {
		y.Foresight = &s.Foresight
	}
	if worst := s.Shortage.WorstDay; worst != nil {
		y.House.WorstDay, y.House.WorstDayKWh = dateOrNull(&worst.Date), figure(worst.ShortfallKWh)
	}
	if !s.Wood.Endless {
		y.Wood.PileStartDryKg, y.Wood.PileEndDryKg = figure(s.Wood.PileStart.DryKg), figure(s.Wood.PileEnd.DryKg)
		y.Wood.CutDryKg, y.Wood.LostDryKg = figure(t.Moved.CutDryKg), figure(t.Moved.LostDryKg)
	}
	if s.Wood.NoWood != nil {
		y.Wood.RunsOut = dateOrNull(&s.Wood.NoWood.Date)
	}
	for i := range s.Months {
		m := &s.Months[i]
		y.Months = append(y.Months, monthJSON{m.First.Time().Format("2006-01"), figure(m.Tally.EngineH),
			figure(m.Tally.AttendedH), figure(m.Tally.BurnedDryKg),
			figure(m.Tally.LoadKWh), figure(m.Tally.ShortfallKWh), m.ShortDays, figure(m.LowestPct)})
	}
	y.Warnings = warningsJSON(s.Warnings)
	return y
}
