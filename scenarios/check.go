package scenarios

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"twigwatt/sim/calendar"
	"twigwatt/sim/genset"
	"twigwatt/sim/plan"
	"twigwatt/sim/sun"
	"twigwatt/storage/battery"
)

// rivals are keys of which a scenario gives one side at most; what --set gives
// of one side takes the place of the file's other sides.
var rivals = [][2][]string{
	{{"load.kwh_per_year"}, {"load.kwh_per_day"}},
	{{"load.away_pct"}, {"load.away_share"}},
	{{"place.climate"}, {"place.air_c", "place.humidity_pct"}},
	{{"engine.wood_curve"}, {"engine.wood_idle_kg_h", "engine.wood_per_kwh_kg"}},
	{{"battery.kwh"}, {"battery.volts", "battery.amp_hours"}},
	{{"battery.charge_efficiency_pct"}, {"battery.charge_efficiency_curve"}},
	{{"battery.rate_table"}, {"battery.at_hand_share", "battery.settle_per_h"}},
}

// amounts are the rival ways to count a stack.
var amounts = []string{"dry_kg", "as_is_kg", "stacked_m3", "solid_m3", "cords"}

// pairsOfKeys mean nothing one without the other.
var pairsOfKeys = [][2]string{
	{"place.air_c", "place.humidity_pct"},
	{"engine.wood_idle_kg_h", "engine.wood_per_kwh_kg"},
	{"engine.displacement_cc", "engine.rpm"},
	{"battery.volts", "battery.amp_hours"},
}

// rivalsOf returns the keys whose value in the file gives way to key.
func rivalsOf(key string) []string {
	var all []string
	for _, group := range rivals {
		for i, side := range group {
			if slices.Contains(side, key) {
				all = append(all, group[1-i]...)
			}
		}
	}
	if table, leaf := Table(key), key[strings.LastIndex(key, ".")+1:]; slices.Contains(amounts, leaf) &&
		(strings.HasPrefix(table, "woodpile.stack.") || strings.HasPrefix(table, "woodpile.cut.")) {
		for _, other := range amounts {
			if other != leaf {
				all = append(all, table+"."+other)
			}
		}
	}
	return all
}

// check finds keys that contradict one another and keys that are missing.
func (r *reading) check() {
	r.checkRivals()
	for _, pair := range pairsOfKeys {
		for i := range pair {
			if r.list.given(pair[i]) && !r.list.given(pair[1-i]) {
				r.faultAt(pair[i], "needs %s beside it", pair[1-i])
			}
		}
	}
	r.checkNeeded()
	r.checkEngine()
	r.checkTending()
	r.checkBattery()
	r.checkWoodpile()
	r.checkChores()
	r.checkPlan()
	r.checkSun()
	r.checkTank()
	r.checkStandby()
}

// checkStandby sees that a stand-by set has a power, and that prices have a unit.
func (r *reading) checkStandby() {
	l := r.list
	for _, needed := range []string{"standby.kw", "money.unit"} {
		table := Table(needed)
		if l.given(needed) {
			continue
		}
		for _, s := range l.all {
			if Table(s.Key) == table && s.Given {
				r.faultAt(s.Key, "needs %s beside it", needed)
				break
			}
		}
	}
	const least, kw = "standby.least_kw", "standby.kw"
	if l.given(kw) && r.fine(least, kw) && l.x(least) > l.x(kw) {
		r.faultAt(least, "must be at most standby.kw (%s), got %s", trim(l.x(kw)), trim(l.x(least)))
	}
}

// checkTank sees that a tank has a size and can give what is drawn.
func (r *reading) checkTank() {
	l := r.list
	if !l.given("tank.litres") {
		for _, s := range l.all {
			if Table(s.Key) == "tank" && s.Given {
				r.faultAt(s.Key, "needs tank.litres beside it")
				return
			}
		}
		return
	}
	const jacket, exhaust, need, most = "tank.jacket_pct", "tank.exhaust_pct", "tank.need_c", "tank.most_c"
	if sum := l.x(jacket) + l.x(exhaust); r.fine(jacket, exhaust) && sum > 100 {
		r.oneTooHigh(exhaust, jacket, "jacket_pct and exhaust_pct must be at most 100 together, got %s", trim(sum))
	}
	if r.fine(need, most) && l.x(need) >= l.x(most) {
		r.oneTooHigh(need, most, "need_c (%s) must be below most_c (%s)", trim(l.x(need)), trim(l.x(most)))
	}
}

// checkSun sees that panels have a sun, and that the sun is one that can be.
func (r *reading) checkSun() {
	const sunKey = "place.sun_kwh_m2"
	l := r.list
	for _, a := range l.arrays {
		r.need("panels."+a.Name, "kw_peak")
	}
	if !r.fine(sunKey, "place.latitude", "start") {
		return
	}
	if l.levelKWhM2 == nil {
		for _, a := range l.arrays {
			table := "panels." + a.Name
			r.fault(r.tableLines[table], table, "needs %s, a day's sun on level ground for each month: "+
				"none is published for %s", sunKey, cmp.Or(l.climate, "air of one's own"))
		}
		return
	}
	if !l.given(sunKey) && len(l.arrays) == 0 {
		return
	}
	for month, kWhM2 := range l.levelKWhM2 {
		m := l.monthOfSun(month)
		if k := m.Clearness(kWhM2); k > mostClearness {
			const most = "at most %.2f kWh/m² a day in %s at latitude %s, %.0f %% of the sun outside the air, got %s"
			args := []any{mostClearness * m.OutsideKWhM2(), time.Month(month + 1), trim(l.spec.LatitudeDeg), 100 * mostClearness, trim(kWhM2)}
			if l.given(sunKey) {
				r.faultAt(sunKey, "must be "+most, args...)
			} else {
				r.faultAt("place.latitude", "leaves no room for the sun of "+l.climate+", "+most+": give "+sunKey, args...)
			}
			return
		}
	}
}

// mostClearness is that of a month beyond which no sky is so clear; a month above brightClearness
// is unlikely.
const mostClearness, brightClearness = 0.85, 0.75

// monthOfSun is a month, from 0, of the span's first year.
func (l *list) monthOfSun(month int) sun.Month {
	return sun.MonthOn(l.spec.LatitudeDeg, l.spec.Span.Start.Year(), time.Month(month+1))
}

func (r *reading) checkRivals() {
	for _, sides := range rivals {
		a, b := slices.IndexFunc(sides[0], r.list.given), slices.IndexFunc(sides[1], r.list.given)
		if a < 0 || b < 0 {
			continue
		}
		later, earlier := r.list.byKey[sides[0][a]], r.list.byKey[sides[1][b]]
		if later.Line != ofSet && (earlier.Line == ofSet || later.Line <= earlier.Line) {
			later, earlier = earlier, later
		}
		where := ""
		if earlier.Line > 0 {
			where = fmt.Sprintf(" on line %d", earlier.Line)
		}
		r.faultAt(later.Key, "contradicts %s%s: give one or the other", earlier.Key, where)
	}
}

// fine reports whether all the keys hold what their owner meant: none refused.
func (r *reading) fine(keys ...string) bool {
	return !slices.ContainsFunc(keys, func(key string) bool { return r.list.byKey[key].wrong })
}

func (r *reading) checkNeeded() {
	given := r.list.given
	if !given("load.kwh_per_year") && !given("load.kwh_per_day") && !given("load.file") &&
		len(r.list.appliances) == 0 && len(r.list.chores) == 0 {
		r.fault(r.tableLines["load"], "load", "needs kwh_per_year, kwh_per_day, a file or an appliance")
	}
	if !given("engine.kw") {
		r.fault(r.tableLines["engine"], "engine.kw", "is needed: %s, got nothing", r.list.byKey["engine.kw"].Allowed())
	}
	if !given("battery.kwh") && !given("battery.volts") && !given("battery.amp_hours") {
		r.fault(r.tableLines["battery"], "battery.kwh", "is needed (or volts and amp_hours): %s, got nothing",
			r.list.byKey["battery.kwh"].Allowed())
	}
	for _, a := range r.list.appliances {
		r.need("load.appliance."+a.Name, "watts")
	}
	for _, c := range r.list.chores {
		r.need("load.chore."+c.Name, "kwh")
		r.need("load.chore."+c.Name, "kw")
	}
	times := 0.0
	for _, c := range r.list.chores {
		times += c.TimesPerWeek
	}
	if times > mostChoreTimes {
		r.fault(r.tableLines["load.chore."+r.list.chores[0].Name], "load.chore", "must be wanted at most %d times a week, all chores "+
			"together, got %s: what is done so often is an appliance", mostChoreTimes, trim(times))
	}
}

func (r *reading) need(table, leaf string) {
	if s := r.list.byKey[table+"."+leaf]; !s.Given {
		r.faultAt(s.Key, "is needed: %s, got nothing", s.Allowed())
	}
}

func (r *reading) checkEngine() {
	const ready, wettest = "woodpile.max_moisture_pct", "woodpile.wettest_pct"
	if most, least := r.list.x(wettest), r.list.x(ready); r.list.given(wettest) && r.fine(wettest, ready) && most < least {
		r.faultAt(wettest, "must be at least %s (%s), got %s", ready, trim(least), trim(most))
	}
	if kw, least := r.list.x("engine.kw"), r.list.x("engine.least_kw"); r.list.given("engine.least_kw") &&
		r.fine("engine.least_kw", "engine.kw") && least > kw {
		r.faultAt("engine.least_kw", "must be at most engine.kw (%s), got %s", trim(kw), trim(least))
	}
	if points := r.list.woodCurve; len(points) > 0 && r.fine("engine.wood_curve") {
		if err := genset.CheckLine(curveOf(points, 1)); err != nil {
			r.faultAt("engine.wood_curve", "%s", err)
		}
	}
}

// oneTooHigh blames the first of two keys where it is given, else the second.
func (r *reading) oneTooHigh(a, b, format string, args ...any) {
	if !r.list.given(a) {
		a = b
	}
	r.faultAt(a, format, args...)
}

func (r *reading) checkTending() {
	const shortest, longest, light = "tending.min_hours_a_run", "tending.max_hours_a_day", "engine.light_up_minutes"
	least, most, lightMinutes := r.list.x(shortest), r.list.x(longest), r.list.x(light)
	if r.fine(shortest, longest) && most > 0 && least > most {
		r.oneTooHigh(shortest, longest, "min_hours_a_run (%s) must be at most max_hours_a_day (%s; "+
			"0 means no runs)", trim(least), trim(most))
	}
	if r.fine(shortest, light) && least <= lightMinutes/60 {
		r.oneTooHigh(shortest, light, "min_hours_a_run (%s h) must be more than light_up_minutes (%s)", trim(least), trim(lightMinutes))
	}
}

func (r *reading) checkBattery() {
	const floor, ceiling, start = "battery.floor_pct", "battery.ceiling_pct", "battery.start_pct"
	floorPct, ceilingPct, startPct := r.list.x(floor), r.list.x(ceiling), r.list.x(start)
	if r.fine(floor, ceiling) && floorPct >= ceilingPct {
		r.oneTooHigh(floor, ceiling, "floor_pct (%s) must be below ceiling_pct (%s)", trim(floorPct), trim(ceilingPct))
	}
	if r.fine(start, ceiling) && startPct > ceilingPct {
		r.oneTooHigh(start, ceiling, "start_pct (%s) must be at most ceiling_pct (%s)", trim(startPct), trim(ceilingPct))
	}
	table := r.list.rateTable
	for i, row := range table {
		if i > 0 && row[1] < table[i-1][1] {
			r.faultAt("battery.rate_table", "amp-hours must not fall as hours rise, got %s after %s", trim(row[1]),
				trim(table[i-1][1]))
			return
		}
	}
	if r.list.given("battery.rate_table") && r.fine("battery.rate_table") {
		if _, err := battery.FitRates(rates(table)); err != nil {
			r.faultAt("battery.rate_table", "%s", err)
		}
	}
}

func (r *reading) checkWoodpile() {
	l := r.list
	for _, s := range l.stacks {
		r.checkAmount("woodpile.stack." + s.name)
	}
	for _, s := range l.cuts {
		r.checkAmount("woodpile.cut." + s.name)
		r.need("woodpile.cut."+s.name, "on")
	}
	if l.rackShare > 0 && l.rackKg == 0 && r.fine("woodpile.rack_pct", "woodpile.rack_as_is_kg") {
		r.faultAt("woodpile.rack_pct", "needs rack_as_is_kg, the wood the rack holds")
	}
}

func (r *reading) checkAmount(table string) {
	found := slices.DeleteFunc(slices.Clone(amounts), func(leaf string) bool { return !r.list.given(table + "." + leaf) })
	if len(found) != 1 {
		r.fault(r.tableLines[table], table, "needs one of %s, got %s", strings.Join(amounts, ", "),
			cmp.Or(strings.Join(found, " and "), "nothing"))
	}
}

// checkChores sees that each chore fits into one of its hours.
func (r *reading) checkChores() {
	for _, c := range r.list.chores {
		table := "load.chore." + c.Name
		if !r.list.given(table+".kwh") || !r.list.given(table+".kw") || !r.fine(table+".kwh", table+".kw", table+".hours") {
			continue
		}
		longest := 0
		for _, w := range c.Hours {
			longest = max(longest, w.To-w.From)
		}
		const roundingMinutes = 1e-6
		if minutes := c.Minutes(); minutes > float64(longest)+roundingMinutes {
			r.faultAt(table+".hours", "must hold the chore, which lasts %s h (kwh/kw); the longest of them is %s h",
				trim(minutes/60), trim(float64(longest)/60))
		}
	}
}

func (r *reading) checkPlan() {
	l, rule := r.list, &r.list.rule
	below, above := l.x("plan.start_below_pct"), l.x("plan.stop_above_pct")
	switch stepMinutes := l.spec.Span.StepMinutes; {
	case !r.fine("plan.by"):
	case rule.By == plan.BySameHours && r.fine("plan.same_start", "step_minutes") && l.sameStart%stepMinutes != 0:
		r.faultAt("plan.same_start", "must fall on a step of %d minutes, got %q", stepMinutes, calendar.Clock(l.sameStart))
	case rule.By == plan.ByTopUp && r.fine("plan.start_below_pct", "plan.stop_above_pct") && below >= above:
		r.faultAt("plan.start_below_pct", "must be below stop_above_pct (%s), got %s", trim(above), trim(below))
	}
	if rule.Rationed && rule.By != plan.ByChosen && r.fine("plan.by") {
		r.faultAt("plan.ration", "needs plan.by = %q: the other plans weigh no prices", plan.ByChosen)
	}
}
