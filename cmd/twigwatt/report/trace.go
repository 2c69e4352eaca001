package report

import (
	"bufio"
	"io"
	"strconv"

	"twigwatt/sim"
)

// Trace writes a step a row as CSV: powers are AC means over the step in kW,
// stored and pile stand at the step's end. Endless wood is written as inf. sun_kw is what panels wired
// to the bank can give, DC, and sun_unused_kw what of it nobody takes; what those wired to the house
// give stands in other_kw.
type Trace struct {
	house *sim.House
	w     *bufio.Writer
	row   []byte
}

// TraceHead is a trace's first line.
const TraceHead = "time,load_kw,other_kw,run,ready,engine_kw,charge_kw,discharge_kw,shortfall_kw," +
	"spill_kw,stored_kwh,soc_pct,wood_dry_kg,pile_dry_kg,sun_kw,sun_unused_kw,standby_kw"

// NewTrace writes the header and returns a Trace to be shown each step.
func NewTrace(w io.Writer, h *sim.House) *Trace {
	t := &Trace{house: h, w: bufio.NewWriterSize(w, 1<<16)}
	t.w.WriteString(TraceHead + "\n")
	return t
}

// Step writes a row.
func (t *Trace) Step(at sim.Moment, s *sim.State, f *sim.Flows) {
	t.row = append(t.row[:0], t.house.Span.StepTime(at.Step)...)
	run := 0.0
	if f.Run {
		run = 1
	}
	stored := s.Bank.StoredKWh()
	t.number(f.LoadKW)
	t.number(f.OtherKW)
	t.row = append(t.row, ',', '0'+byte(run))
	for _, x := range [...]float64{f.Ready, f.EngineKW, f.ChargeKW, f.DischargeKW, f.ShortfallKW, f.SpillKW,
		stored, 100 * stored / t.house.Bank.FullKWh, f.Burned.DryKg} {
		t.number(x)
	}
	if t.house.Pile.Endless {
		t.row = append(t.row, ",inf"...)
	} else {
		t.number(t.house.Pile.TotalKg(&s.Pile))
	}
	t.number(f.Sun.KW)
	t.number(f.Sun.UnusedKW)
	t.number(f.StandbyKW)
	t.w.Write(append(t.row, '\n')) // an error stays with the writer until Flush
}

func (t *Trace) number(x float64) {
	const decimals = 9 // a millionth of a watt-hour: enough to work the step again
	t.row = strconv.AppendFloat(append(t.row, ','), x, 'f', decimals, 64)
}

// Flush writes out what is left and returns the first error of all rows.
func (t *Trace) Flush() error { return t.w.Flush() }
