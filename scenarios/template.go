package scenarios

import (
	"cmp"
	"fmt"
	"strings"
)

// live are the keys a new scenario gives; all others stand behind a #.
var live = map[string]string{
	"load.kwh_per_day": "5.5",
	"engine.kw":        "2.6",
	"battery.kwh":      "14.4",
}

// shown are the keys whose default is no value to write: what stands behind the #
// instead, as an example.
var shown = map[string]string{
	"name": `"home"`, "place.air_c": "[4, 5, 7, 9, 13, 16, 18, 18, 15, 11, 7, 4]",
	"place.humidity_pct": "[84, 80, 76, 72, 70, 69, 68, 70, 75, 80, 84, 86]", "place.snap_c": "-12",
	"load.kwh_per_year": "2000", "load.file": `"house.csv"`, "load.appliance.NAME.watts": "40",
	"load.chore.NAME.kwh": "1", "load.chore.NAME.kw": "0.8", "other.file": `"other.csv"`,
	"place.latitude": "50", "place.sun_kwh_m2": "[0.6, 1.3, 2.4, 4.0, 4.9, 5.2, 4.8, 4.1, 2.9, 1.7, 0.8, 0.5]",
	"standby.kw": "2", "standby.litres_per_hour": "0.4", "standby.kg_per_litre": "10", "standby.litres_kept": "40", "money.unit": `"EUR"`,
	"tank.litres": "200", "tank.loss_w_per_k": "1.9",
	"panels.NAME.kw_peak": "1", "panels.NAME.tilt_deg": "65", "panels.NAME.faces_deg": "180", "panels.NAME.converter_kw": "1",
	"panels.NAME.converter_efficiency_pct": "97",
	"engine.least_kw":                      "0.9", "engine.wood_curve": "[[0.9, 2.0], [2.6, 3.6]]", "engine.wood_idle_kg_h": "1.0",
	"engine.wood_per_kwh_kg": "1.0", "engine.rated_altitude_m": "0",
	"engine.rated_air_c": "20", "engine.gas_c": "35", "engine.displacement_cc": "1000", "engine.rpm": "1500",
	"battery.volts": "48", "battery.amp_hours": "300", "battery.floor_pct": "50", "battery.start_pct": "80",
	"battery.max_charge_kw": "2.9", "battery.taper_hours": "2", "engine.alternator_kw": "3", "woodpile.wettest_pct": "20",
	"battery.at_hand_share": "0.32", "battery.rate_table": "[[1, 60], [5, 80], [20, 100]]",
	"battery.charge_efficiency_pct": "85", "battery.charge_efficiency_curve": "[[0, 95], [70, 95], [82, 55], [100, 40]]",
	"battery.discharge_efficiency_pct": "95", "battery.self_discharge_pct_month": "12", "battery.charger_kw": "3.4",
	"battery.full_every_days": "14", "battery.cycle_life": "[[25, 2500], [50, 1200], [80, 700]]",
	"woodpile.stack.NAME.species": `"ash"`, "woodpile.stack.NAME.dry_kg": "2000",
	"woodpile.stack.NAME.as_is_kg": "2400", "woodpile.stack.NAME.stacked_m3": "6", "woodpile.stack.NAME.solid_m3": "4",
	"woodpile.stack.NAME.cords": "1.5", "woodpile.stack.NAME.moisture_pct": "18",
	"woodpile.cut.NAME.on": `"03-15"`, "woodpile.cut.NAME.species": `"ash"`, "woodpile.cut.NAME.dry_kg": "2000",
	"woodpile.cut.NAME.as_is_kg": "3500", "woodpile.cut.NAME.stacked_m3": "6",
	"woodpile.cut.NAME.solid_m3": "4", "woodpile.cut.NAME.cords": "1.5", "woodpile.cut.NAME.moisture_pct": "45",
	"load.daily_swing_pct": "18", "load.away_pct": "30", "load.away_share": "0.3",
	"plan.spare_kg_per_kwh_h": "0", "plan.refuel_kg": "2", "plan.usual_start": `"16:00"`,
}

// Template returns a commented scenario that passes its own checks, with every
// key, its default, range, meaning and source.
func Template() string {
	var b strings.Builder
	b.WriteString("# A household for twigwatt. Three keys are needed: what the house wants, what\n" +
		"# the engine makes, how big the bank is. Every other key has a default: to\n" +
		"# change one, take the # from the start of its line and of its table's.\n#\n" +
		"# The gas kills without a smell, and a battery can burn or burst. Before you\n" +
		"# light anything, read the cautions: every page and twigwatt day hold them.\n\n")
	table := ""
	for _, s := range Manual() {
		if t := Table(s.Key); t != table {
			table = t
			hash := "# "
			for key := range live {
				if Table(key) == t {
					hash = ""
				}
			}
			fmt.Fprintf(&b, "\n%s[%s]\n", hash, t)
		}
		leaf := s.Key[strings.LastIndex(s.Key, ".")+1:]
		writeComment(&b, manualLine(s))
		if value, ok := live[s.Key]; ok {
			fmt.Fprintf(&b, "%s = %s\n", leaf, value)
		} else {
			fmt.Fprintf(&b, "# %s = %s\n", leaf, cmp.Or(shown[s.Key], s.Default))
		}
	}
	return b.String()
}

// writeComment writes a comment in lines of at most 80 characters.
func writeComment(b *strings.Builder, text string) {
	const width = 80
	line := "#"
	for _, word := range strings.Fields(text) {
		if len([]rune(line))+1+len([]rune(word)) > width {
			fmt.Fprintln(b, line)
			line = "#  "
		}
		line += " " + word
	}
	fmt.Fprintln(b, line)
}

// manualLine says what a key means, its unit, what it may hold and its source.
func manualLine(s *Setting) string {
	parts := []string{s.Meaning}
	if s.Unit != "" {
		parts[0] += " (" + s.Unit + ")"
	}
	parts = append(parts, s.Allowed())
	source := s.Source
	if source == yours || source == ours {
		source = ""
	}
	if _, inWords := shown[s.Key]; inWords && s.Default != "" { // the line below shows an example
		parts = append(parts, strings.TrimSuffix("default: "+s.Default+" ("+source+")", " ()"))
	} else if source != "" {
		parts = append(parts, "default: "+source)
	}
	return strings.Join(parts, "; ")
}
