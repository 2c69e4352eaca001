// Package handbook holds the sums the model is made of, one at a time: moisture, drying and
// amounts of wood; gas, engine, air and daylight; sun and panels; warmth; the bank.
//
// Sum.Inputs says what a sum takes, and Sum.Answer works it out of texts, each held to its range.
// Errors name inputs as options, like --air-c. Left out: how an answer is printed.
package handbook

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A Sum is one of the handbook sums.
type Sum struct {
	Name, Usage string
	Source      string   // of the formula
	Hazards     []Hazard // of the work it is about
	File        string   // what the file it takes holds; "": it takes none

	reads func(in *inputs) working
}

// A working is what is left to do when a sum's inputs are read.
type working func() ([]Result, error)

// Sums are all sums, in the order of the manual.
func Sums() []Sum {
	return []Sum{
		{Name: "moisture", Usage: "wet and dry basis",
			reads: moisture, Source: "definition: water over all, and water over oven-dry wood. Wood meters read dry basis"},
		{Name: "emc", Usage: "the moisture wood comes to in steady air",
			reads: emc, Source: "Wood Handbook, FPL-GTR-190 (2010), chapter 4, the equation of Table 4-2"},
		{Name: "drying", Usage: "how long wood dries in a place's air, or in steady air",
			reads: drying, Hazards: []Hazard{Ash},
			Source: "the pile's drying law: equilibrium by the Wood Handbook, " +
				"pace by the air's vapour-pressure deficit, " +
				"calibrated on published trials (drying_bands.csv)"},
		{Name: "heat", Usage: "net heat of wood by its moisture",
			reads: heat, Source: "EN 14918 / ISO 18125, from memory: q_d(1 − M) − 2.443 M"},
		{Name: "wood", Usage: "one amount of wood in every unit",
			reads: wood, Hazards: []Hazard{Wood},
			Source: "basic gravity and green moisture with bark, " +
				"FIA reference table after Miles & Smith 2009; a cord is 128 ft³; stacking, TFZ Straubing 2006"},
		{Name: "dry", Usage: "the water and heat of drying",
			reads: dry, Hazards: []Hazard{Ash},
			Source: "heat of vaporisation 2.443 MJ/kg, EN 14918; " +
				"a dryer's 1.1 kWh/kg is common practice, no source"},
		{Name: "fuel", Usage: "wood by the hour, and how long a hopper lasts",
			reads: fuel, Hazards: []Hazard{Gas, Hopper},
			Source: "gasifier 0.70 and turn-down, FAO 72; " +
				"engine 0.24, Homdoung et al. 2015; alternator 0.85, common practice; " +
				"no-load share 0.28, Jorapur & Rajvanshi 1995; bulk 297 to 356 kg/m³, FEMA/ORNL-6404"},
		{Name: "gas", Usage: "heat, air need and mixture of a gas",
			reads: gas, Hazards: []Hazard{Gas}, Source: "ISO 6976:2016, 25 °C, volumes at 0 °C and 101.325 kPa; air with 21 % oxygen"},
		{Name: "producer", Usage: "the gas of a wood at equilibrium",
			reads: producer, Hazards: []Hazard{Gas},
			Source: "Zainal et al. 2001, Energy Conversion and Management 42:1499, " +
				"with the exact total-mole factor; no loss, tar or char, so an upper bound"},
		{Name: "engine", Usage: "from displacement to power and wood",
			reads: engine, Hazards: []Hazard{Gas, Hopper}, Source: "FAO Forestry Paper 72 (1986), Appendix 1 and 2"},
		{Name: "derate", Usage: "power by altitude and air",
			reads: derate, Hazards: []Hazard{Gas}, Source: "SAE J1349 (1990), pressure of ISO 2533 taken as dry"},
		{Name: "cooler", Usage: "power and condensate by the gas's temperature",
			reads: cooler, Hazards: []Hazard{Gas, Wood},
			Source: "density of the mixture (check: FEMA/ORNL-6404 section 2, 1 % for each 10 °F); " +
				"water of the equilibrium gas at 800 °C beyond saturation, Tetens' formula"},
		{Name: "daylight", Usage: "the sun's day",
			reads: daylight,
			Source: "the almanac's approximate declination (from memory; within 0.0072° of SPA); " +
				"FAO-56 (Allen et al. 1998), equations 25 and 34; " +
				"the sun's centre at −0.833° (upper limb with refraction), and at 0° on a flat horizon"},
		{Name: "sun", Usage: "where the sun stands, and its energy outside the air",
			reads: sunDay, Source: "Astronomical Almanac, approximate coordinates (from memory; within 0.0072° and 0.0001 AU of SPA); " +
				"1367 W/m², Duffie & Beckman eq. 1.10.3"},
		{Name: "panel", Usage: "what panels gather in a month, from its level sun",
			reads: panel, Hazards: []Hazard{Wiring},
			Source: "hours, Collares-Pereira & Rabl 1979; light from the sky, Erbs et al. 1982; plane, Duffie & Beckman eq. 2.16.7; " +
				"twenty kinds of days (see sky); glass, dirt and wires 12 %, inverter 95 %, common practice; " +
				"0.4 % a °C, 30 °C above the air (Ross 1976), from memory"},
		{Name: "sky", Usage: "how clear a day is that so many days do not pass",
			reads: sky, Source: "Bendt, Collares-Pereira & Rabl 1981; Hollands & Huget 1983 (from memory)"},
		{Name: "cell", Usage: "how hot a panel's cells are, and what that costs",
			reads: cell, Source: "Ross 1976 (from memory); 0.4 % a °C above 25, crystalline silicon (from memory)"},
		{Name: "warmth", Usage: "the heat of a set beside its electricity",
			reads: warmth, Hazards: []Hazard{Gas, HotWater},
			Source: "fuel line as calc fuel; of what the shaft does not take coolant 35 %, exhaust 45 %, rest 20 % " +
				"(Heywood 1988, Table 12.1; thirds rule; both from memory), exchangers 87 and 65 %"},
		{Name: "tank", Usage: "how a tank of hot water cools",
			reads: hotTank, Hazards: []Hazard{HotWater},
			Source: "Newton's law of cooling; class C of EU 812/2013 (second hand); a shower is 40 l at 40 °C from 10 °C, 1.4 kWh"},
		{Name: "annuity", Usage: "what a price comes to in each year of a life",
			reads: annuity, Source: "compound interest, as any engineering-economics table prints it"},
		{Name: "petrol", Usage: "what a small petrol set burns",
			reads: petrol, Hazards: []Hazard{Petrol},
			Source: "0.70, 0.77, 0.90 and 1.30 l/kWh at 100, 75, 50 and 25 % of load, 8.9 kWh a litre (from memory)"},
		{Name: "char", Usage: "the carbon in char, and what it keeps out of the air",
			reads: char, Hazards: []Hazard{Ash},
			Source: "IPCC 2019 Refinement, vol. 4 ch. 2 app. 4: " +
				"0.52 (±52 %) carbon, 0.89 (±13 %) left after a hundred years"},
		{Name: "cycles", Usage: "rainflow count of a series, one number a line", File: "numbers, one a line",
			reads: cycles, Hazards: []Hazard{Bank}, Source: "ASTM E1049-85 (2017), 5.4.4; damage by Miner's sum"},
		{Name: "rundown", Usage: "how long a battery of two wells lasts under a draw that repeats",
			reads: rundown, Hazards: []Hazard{Bank}, Source: "Manwell & McGowan 1993, Solar Energy 50:399"},
		{Name: "rates", Usage: "the two wells behind a discharge table", File: "CSV with the header hours,amp_hours; 3 rows or more",
			reads: rates, Hazards: []Hazard{Bank}, Source: "Manwell & McGowan 1993, unweighted least squares on amp-hours"},
		{Name: "bank", Usage: "the published sizing of a bank, its charge and its set",
			reads: bank, Hazards: []Hazard{Gas, Bank, Wiring},
			Source: "published examples (SOURCES.md, sizing examples): " +
				"size by IEEE 485's factor, charge at C/hours, 3 % of power lost each 1000 ft"},
		{Name: "charge", Usage: "what a charge from one percentage to another takes and loses",
			reads: charge, Hazards: []Hazard{Bank},
			Source: "lead-acid: a judgement between Stevens & Corey 1996 and the least efficiencies of IEC 61427, both from memory; " +
				"water by Faraday's law, all that is lost as gas at 2.35 V a cell: at most; lithium: common practice, no source"},
		{Name: "cold", Usage: "capacity, self-discharge and freezing in the cold",
			reads: cold, Hazards: []Hazard{Bank},
			Source: "an AGM data sheet (battery_temperature.csv; " +
				"for lithium too, for want of one); R. Vader, 2.5.10; electrolyte tables (SOURCES.md, freezing)"},
		{Name: "ventilation", Usage: "air for the hydrogen of a charge",
			reads: ventilation, Hazards: []Hazard{Bank}, Source: "EN/IEC 62485-2"},
	}
}

// A Hazard is what can hurt in the work that a sum is about.
type Hazard int

// The hazards.
const (
	Gas      Hazard = iota // carbon monoxide
	Hopper                 // lighting up, and opening what holds gas
	Ash                    // glowing ash, and wood dried by heat
	Wood                   // treated wood, condensate and tar
	Bank                   // hydrogen, currents, frozen batteries
	Wiring                 // change-over and codes
	Petrol                 // exhaust, fuel, refuelling
	HotWater               // pressure, scalding, germs, exhaust indoors
)

// An Input is a number or a word that a sum takes.
type Input struct {
	Name, Meaning string
	Fallback      string // what it is where it is not given; "": nothing
	Allowed       string // like 0 to 100, or the words; "": any text
}

// Inputs are what the sum takes.
func (s Sum) Inputs() []Input {
	in := inputs{given: func(string) string { return "" }}
	s.reads(&in)
	return in.all
}

// A File is read by a sum that takes one.
type File struct {
	Name string
	Text func(name string) ([]byte, error) // the error names the file
}

// A Result is a figure or a finding of a sum.
type Result struct {
	Key, Label, Unit string
	Decimals         int
	Value            any // a float64, a Range, a string or a []battery.Cycle; nil where there is none
}

// A Range is a figure that lies between two.
type Range struct{ Low, High float64 }

// Faults are inputs that are no number, none of the words, or out of range: a line each, that
// says what is allowed and what was given.
type Faults []string

// Error writes them.
func (f Faults) Error() string { return strings.Join(f, "\n") }

// Answer works the sum out. given returns the text of an input, "" where it is not given. The
// error is Faults, or says which inputs are missing, or what of inputs and file does not go together.
func (s Sum) Answer(given func(name string) string, file File) ([]Result, error) {
	in := inputs{given: given, file: file}
	work := s.reads(&in)
	switch {
	case in.faults != nil:
		return nil, in.faults
	case in.missing != nil:
		return nil, fmt.Errorf("needs %s", strings.Join(in.missing, ", "))
	case len(in.chosen) > 1:
		return nil, fmt.Errorf("give %s or %s, not both", in.chosen[0], in.chosen[1])
	case in.chosen == nil && in.choices != nil:
		return nil, fmt.Errorf("needs one of %s", strings.Join(in.choices, ", "))
	}
	return work()
}

// inputs are read one by one, and what is wrong with them is kept for Answer.
type inputs struct {
	given                    func(name string) string
	file                     File
	all                      []Input
	faults                   Faults
	missing, choices, chosen []string // options
}

// A need says what happens where an input is not given.
type need struct{ fallback, kind string }

var (
	needed = need{kind: "needed"}
	maybe  = need{kind: "maybe"}  // it may be missing
	oneOf  = need{kind: "one of"} // exactly one of those of a sum is given
)

// or makes an input fall back on something.
func or(fallback string) need { return need{fallback: fallback} }

// text reads an input; "" where it is missing.
func (in *inputs) text(need need, name, meaning, allowed string) string {
	in.all = append(in.all, Input{name, meaning, need.fallback, allowed})
	text := cmp.Or(in.given(name), need.fallback)
	switch option := "--" + name; {
	case need == needed && text == "":
		in.missing = append(in.missing, option)
	case need == oneOf && text == "":
		in.choices = append(in.choices, option)
	case need == oneOf:
		in.chosen = append(in.chosen, option)
	}
	return text
}

func (in *inputs) fault(format string, args ...any) {
	in.faults = append(in.faults, fmt.Sprintf(format, args...))
}

// optional reads a number from least to most; nil where it is missing.
func (in *inputs) optional(need need, name, meaning string, least, most float64) *float64 {
	plain := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	allowed := plain(least) + " to " + plain(most)
	text := in.text(need, name, meaning, allowed)
	x, ok := finite(text)
	switch {
	case ok && x >= least && x <= most:
		return &x
	case text == "":
	case ok:
		in.fault("--%s must be %s, got %s", name, allowed, text)
	case strings.Contains(text, ","):
		in.fault("--%s must be a number, %s, got %.60q; a decimal takes a point (3.5)", name, allowed, text)
	default:
		in.fault("--%s must be a number, %s, got %.60q", name, allowed, text)
	}
	return nil
}

// number reads a number that is needed or has a fallback.
func (in *inputs) number(need need, name, meaning string, least, most float64) float64 {
	if x := in.optional(need, name, meaning, least, most); x != nil {
		return *x
	}
	return math.NaN() // and nobody works with it
}

// word reads one of some words, or any text where none are named; "" where it is missing.
func word[T ~string](in *inputs, need need, name, meaning string, words ...T) T {
	all := make([]string, len(words))
	for i, w := range words {
		all[i] = string(w)
	}
	allowed := strings.Join(all, ", ")
	text := in.text(need, name, meaning, allowed)
	if text != "" && words != nil && !slices.Contains(all, text) {
		in.fault("--%s must be one of %s, got %.60q", name, allowed, text)
	}
	return T(text)
}

// finite reads a number of a reasonable size, so that sums of such stay numbers.
func finite(cell string) (float64, bool) {
	const most = 1e9
	cell = strings.TrimSpace(cell)
	x, err := strconv.ParseFloat(cell, 64)
	return x, err == nil && math.Abs(x) <= most && strings.Trim(cell, "+-.0123456789eE") == ""
}
