package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"html"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// What a command answers it says three times, as text, as JSON and as a page. These tests ask
// by the command line alone and hold the three to each other, and each to what must be so.

// answersHome is a household of few days, dark in some lives; FOLDER/piled.toml adds a pile.
const answersHome = `name = "tiny"
start = 2026-01-10
days = 20
step_minutes = 60
[load]
kwh_per_day = 6
daily_swing_pct = 25
[load.chore.washing]
kwh = 1.2
kw = 1.2
times_per_week = 4
[engine]
kw = 2.6
hopper_as_is_kg = 10
[battery]
kwh = 9
[tending]
hours = ["12:00-21:00"]
max_hours_a_day = 7
`

const answersPile = `
[woodpile]
species = "alder"
[woodpile.stack.old]
dry_kg = 200
moisture_pct = 17
[woodpile.cut.march]
on = "03-15"
cords = 4
`

// A threefold is a command that was run once for each way of answering.
type threefold struct {
	t          *testing.T
	text, page string
	document   any
}

// askAll runs a command for its text and page, and again for its JSON. HOME and PILED stand
// for the two households.
func askAll(t *testing.T, args string) threefold {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{"home.toml": answersHome, "piled.toml": answersHome + answersPile} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	args = strings.NewReplacer("HOME", dir+"/home.toml", "PILED", dir+"/piled.toml").Replace(args)
	page := filepath.Join(dir, "page.html")
	var stdout, stderr bytes.Buffer
	words := append(strings.Fields(args), "--report", page)
	if code := run(context.Background(), words, &stdout, &stderr); code != exitDone {
		t.Fatalf("twigwatt %s: exit code %d: %s", args, code, stderr.String())
	}
	a := threefold{t: t, text: stdout.String()}
	written, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	a.page = string(written)
	if err := json.Unmarshal([]byte(documentOf(t, args)), &a.document); err != nil {
		t.Fatal(err)
	}
	a.holdsTheCautions()
	return a
}

// at is the value of a document under a path like limits.3.max_hours.
func (a threefold) at(path string) any {
	a.t.Helper()
	value := a.document
	for _, key := range strings.Split(path, ".") {
		switch v := value.(type) {
		case map[string]any:
			inner, ok := v[key]
			if !ok {
				a.t.Fatalf("the document has no %s", path)
			}
			value = inner
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(v) {
				a.t.Fatalf("the document has no %s", path)
			}
			value = v[i]
		default:
			a.t.Fatalf("the document has no %s", path)
		}
	}
	return value
}

func (a threefold) number(path string) float64 {
	a.t.Helper()
	x, ok := a.at(path).(float64)
	if !ok {
		a.t.Fatalf("%s is no number: %v", path, a.at(path))
	}
	return x
}

// list is the items of a list, each an threefold of its own.
func (a threefold) list(path string) []threefold {
	a.t.Helper()
	var items []threefold
	all, ok := a.at(path).([]any)
	if !ok {
		a.t.Fatalf("%s is no list", path)
	}
	for _, item := range all {
		items = append(items, threefold{t: a.t, document: item})
	}
	return items
}

// find is the text's first match of a pattern, all white space one blank: with its groups.
func (a threefold) find(pattern string) []string {
	a.t.Helper()
	match := regexp.MustCompile(pattern).FindStringSubmatch(strings.Join(strings.Fields(a.text), " "))
	if match == nil {
		a.t.Fatalf("%q does not stand in\n%s", pattern, a.text)
	}
	return match
}

// textRows are the cells of the table that stands in the text below a line with these words,
// from its first row that begins with a cell like first.
func (a threefold) textRows(below, first string) [][]string {
	a.t.Helper()
	_, rest, found := strings.Cut(a.text, below)
	if !found {
		a.t.Fatalf("%q does not stand in\n%s", below, a.text)
	}
	begin := regexp.MustCompile("^ *" + first)
	var rows [][]string
	for line := range strings.Lines(rest) {
		line = strings.TrimRight(line, "\n")
		if begin.MatchString(line) {
			rows = append(rows, regexp.MustCompile(` {2,}`).Split(strings.TrimSpace(line), -1))
		} else if len(rows) > 0 {
			break
		}
	}
	return rows
}

// pageRows are the cells of the page's table of that caption.
func (a threefold) pageRows(caption string) [][]string {
	a.t.Helper()
	_, rest, found := strings.Cut(a.page, "<caption>"+caption+"</caption>")
	if !found {
		a.t.Fatalf("the page has no table %q", caption)
	}
	rest, _, _ = strings.Cut(rest, "</table>")
	_, rest, _ = strings.Cut(rest, "<tbody>")
	var rows [][]string
	for _, row := range regexp.MustCompile(`(?s)<tr>(.*?)</tr>`).FindAllStringSubmatch(rest, -1) {
		var cells []string
		for _, cell := range regexp.MustCompile(`(?s)<t[hd][^>]*>(.*?)</t[hd]>`).FindAllStringSubmatch(row[1], -1) {
			cells = append(cells, html.UnescapeString(cell[1]))
		}
		rows = append(rows, cells)
	}
	return rows
}

// series are the values of a chart of the page, by the names of its lines.
func (a threefold) series(chart string) map[string][]float64 {
	a.t.Helper()
	_, rest, found := strings.Cut(a.page, `data-for="`+chart+`">`)
	if !found {
		a.t.Fatalf("the page has no chart %q", chart)
	}
	rest, _, _ = strings.Cut(rest, "</script>")
	var drawn struct {
		Series []struct {
			Name string
			Data []struct{ Value float64 }
		}
	}
	if err := json.Unmarshal([]byte(rest), &drawn); err != nil {
		a.t.Fatal(err)
	}
	all := map[string][]float64{}
	for _, s := range drawn.Series {
		for _, point := range s.Data {
			all[s.Name] = append(all[s.Name], point.Value)
		}
	}
	return all
}

// printed is the number of a cell like "1 305.0" or "18 %", with half of its last digit.
func printed(t *testing.T, cell string) (x, half float64) {
	t.Helper()
	bare := strings.NewReplacer(" ", "", "%", "", "\u202f", "", "\u00a0", "", "−", "-").Replace(cell)
	x, err := strconv.ParseFloat(bare, 64)
	if err != nil {
		t.Fatalf("no number: %q", cell)
	}
	decimals := 0
	if _, after, ok := strings.Cut(bare, "."); ok {
		decimals = len(after)
	}
	return x, 0.5 * math.Pow10(-decimals)
}

// agree holds cells to the figures of a document's items: keys say what stands in each cell, a -
// that it is no figure.
func agree(t *testing.T, where string, rows [][]string, items []threefold, columns string) {
	t.Helper()
	keys := strings.Fields(columns)
	if len(rows) != len(items) || len(rows) == 0 {
		t.Errorf("%s: %d rows, and %d in the document", where, len(rows), len(items))
		return
	}
	for i, row := range rows {
		if len(row) != len(keys) {
			t.Errorf("%s, row %d: %d cells, not %d: %q", where, i, len(row), len(keys), row)
			continue
		}
		for j, key := range keys {
			if key == "-" {
				continue
			}
			if row[j] == "never" {
				if items[i].at(key) != nil {
					t.Errorf("%s, row %d: %s is never, and %v in the document", where, i, key, items[i].at(key))
				}
				continue
			}
			x, half := printed(t, row[j])
			if want := items[i].number(key); !(math.Abs(x-want) <= half+1e-6) {
				t.Errorf("%s, row %d: %s is %s, and %g in the document", where, i, key, row[j], want)
			}
		}
	}
}

// says holds the cells of one row to the document.
func (a threefold) says(where string, cells []string, columns string) {
	a.t.Helper()
	agree(a.t, where, [][]string{cells}, []threefold{a}, columns)
}

// figuresOf is a document made of single figures.
func figuresOf(t *testing.T, of map[string]any) threefold { return threefold{t: t, document: of} }

func TestHoursSaysTheSameThrice(t *testing.T) {
	t.Parallel()
	a := askAll(t, "hours HOME --every 3 --lives 4 --set load.kwh_per_day=3 --set load.daily_swing_pct=10 "+
		"--set tending.hours=[\"08:00-21:00\"]")
	limits, card := a.list("limits"), a.list("wall_card")
	agree(t, "limits in the text", a.textRows("h/day     hours", `\d+\.\d`), limits,
		"max_hours attended_hours engine_hours shortfall_days shortfall_days_p90 shortfall_hours shortfall_kwh wood_dry_kg lowest_pct days_between_full")
	agree(t, "limits on the page", a.pageRows("A span for each limit"), limits,
		"max_hours attended_hours engine_hours shortfall_days shortfall_days_p90 shortfall_hours shortfall_kwh wood_dry_kg lowest_pct days_between_full")
	rows := a.textRows("Wall card", "January")
	agree(t, "wall card in the text", rows, card,
		"- - - hours shortfall_kwh wood_dry_kg chosen_shortfall_kwh chosen_wood_dry_kg")
	agree(t, "costs of the card on the page", a.pageRows("What the wall card costs against chosen runs"), card,
		"- shortfall_kwh wood_dry_kg chosen_shortfall_kwh chosen_wood_dry_kg")
	agree(t, "wall card on the page", a.pageRows("Wall card"), card, "- - - hours")
	for _, row := range [][]string{rows[0], a.pageRows("Wall card")[0]} {
		start, hours := card[0].at("start"), card[0].number("hours")
		if row[1] != start || minutes(t, row[2]) != minutes(t, row[1])+int(60*hours) {
			t.Errorf("light at %s, stop at %s: the document says %v for %v h", row[1], row[2], start, hours)
		}
	}
	drawn := a.series("limits-chart")
	for i, l := range limits {
		// the engine runs no longer than the run lasts, and no more days are short than there are
		attended := l.number("attended_hours")
		if !(l.number("engine_hours") <= attended) || l.number("shortfall_days") > 20 {
			t.Errorf("limit %d: %v", i, l.document)
		}
		hours, days := drawn["attended hours"][i], drawn["days short: nine in ten"][i]
		if math.Abs(hours-attended) > 1e-3 || days != l.number("shortfall_days_p90") {
			t.Errorf("limit %d is drawn with %g h and %g days", i, hours, days)
		}
	}
	// the recommended limit is the first whose nine lives in ten have no short day
	least := slices.IndexFunc(limits, func(l threefold) bool { return l.number("shortfall_days_p90") == 0 })
	if least <= 0 || least == len(limits)-1 || a.number("least_hours") != limits[least].number("max_hours") ||
		a.number("wall_card_max_hours") != a.number("least_hours") {
		t.Fatalf("recommended are %v h, on the card %v", a.at("least_hours"), a.at("wall_card_max_hours"))
	}
	if said := a.find(`allow ([0-9.]+) h a day`)[1]; said != fmt.Sprintf("%.1f", a.number("least_hours")) {
		t.Errorf("the text allows %s h", said)
	}
	wantLabels(t, a.page, limits[least-1].number("max_hours"), limits[least+1].number("max_hours"))
}

// wantLabels holds the page's "Less" and "More" to the limits below and above the recommended
// one; 0 for none.
func wantLabels(t *testing.T, page string, less, more float64) {
	t.Helper()
	found := map[string]string{}
	labels := regexp.MustCompile(`<dt>(Less|More)</dt><dd>With ([0-9.]+) h`)
	for _, label := range labels.FindAllStringSubmatch(page, -1) {
		found[label[1]] = label[2]
	}
	for label, limit := range map[string]float64{"Less": less, "More": more} {
		want := ""
		if limit > 0 {
			want = fmt.Sprintf("%.1f", limit)
		}
		if found[label] != want {
			t.Errorf("the page says %s: with %s h, want %s", label, found[label], want)
		}
	}
}

// Where the recommended limit is the first, no smaller one was tried: the next one is more.
func TestHoursFirstLimitHasNoLess(t *testing.T) {
	t.Parallel()
	a := askAll(t, "hours HOME --every 6 --lives 2 --short-days 20")
	if a.number("least_hours") != 0 {
		t.Fatalf("recommended are %v h", a.at("least_hours"))
	}
	wantLabels(t, a.page, 0, 6)
}

// minutes of a clock like 16:30.
func minutes(t *testing.T, clock string) int {
	t.Helper()
	var h, m int
	if n, err := fmt.Sscanf(clock, "%d:%d", &h, &m); n != 2 || err != nil {
		t.Fatalf("no time: %q", clock)
	}
	return 60*h + m
}

func TestBankSaysTheSameThrice(t *testing.T) {
	t.Parallel()
	const spare = 7.0
	a := askAll(t, "bank HOME --kwh 3,14 --lives 2 --set plan.spare_pct=7 --set load.kwh_per_day=3 "+
		"--set load.daily_swing_pct=8")
	sizes := a.list("sizes")
	const week = "kwh shortfall_days shortfall_days_p90 shortfall_kwh lowest_pct spare_left_pct engine_hours " +
		"days_without_engine bears_more_pct"
	agree(t, "the week in the text", a.textRows("lowest    left", `\d+\.\d`), sizes, week)
	agree(t, "the span in the text", a.textRows("Over the span", `\d+\.\d`), sizes,
		"kwh year_shortfall_days year_shortfall_days_p90 full_cycles_year - days_between_full lost_kwh_year")
	agree(t, "sizes on the page", a.pageRows("Each size in the week, then over the span"), sizes,
		week+" year_shortfall_days year_shortfall_days_p90 full_cycles_year - days_between_full lost_kwh_year")
	least := slices.IndexFunc(sizes, func(s threefold) bool {
		return s.number("shortfall_days_p90") == 0 && s.number("spare_left_pct") >= spare-1e-6
	})
	if least <= 0 || a.number("least_kwh") != sizes[least].number("kwh") {
		t.Fatalf("recommended are %v kWh of %v", a.at("least_kwh"), a.at("sizes"))
	}
	for i, s := range sizes {
		if i > 0 && !(s.number("days_without_engine") > sizes[i-1].number("days_without_engine")) {
			t.Errorf("%v kWh carry the house no longer than less", s.at("kwh"))
		}
		if s.number("life_years_low") > s.number("life_years_high") {
			t.Errorf("%v kWh: a life of %v to %v years", s.at("kwh"), s.at("life_years_low"), s.at("life_years_high"))
		}
	}
	said := a.find(`: ([0-9.]+) kWh is .* that carries the hardest week with (\S+) % to spare above the floor.*; ` +
		`it bears (-?\d+) % more load before dark`)
	wanted := figuresOf(t, map[string]any{"kwh": a.number("least_kwh"), "spare": spare,
		"bears": sizes[least].number("bears_more_pct")})
	wanted.says("the answer", said[1:], "kwh spare bears")
	if out := fmt.Sprintf("%s kWh is", said[1]); !strings.Contains(a.page, out) {
		t.Errorf("the page does not say %q", out)
	}
	wantAir(t, a)
}

// wantAir holds the air that the recommended bank of 14 kWh wants to calc ventilation, for
// cells of 2 V in a boost charge.
func wantAir(t *testing.T, a threefold) {
	t.Helper()
	said := a.find(`Ventilation for 14.0 kWh .*?: ([0-9.]+) m. of air an hour, a free opening of ([0-9 ]+) cm`)
	sum := threefold{t: t}
	// worked: 14 kWh in 14 cells of 2 V are 500 Ah
	document := documentOf(t, "calc ventilation --cells 14 --amp-hours 500 --kind flooded --stage boost")
	if err := json.Unmarshal([]byte(document), &sum.document); err != nil {
		t.Fatal(err)
	}
	sum.says("ventilation", said[1:], "air_m3_h opening_cm2")
	if !strings.Contains(a.page, said[1]+" m³ of air an hour") {
		t.Error("the page does not say what air the bank wants")
	}
}

func TestRiskSaysTheSameThrice(t *testing.T) {
	t.Parallel()
	a := askAll(t, "risk PILED --years 12 --set woodpile.stack.old.dry_kg=420")
	var spreads []threefold
	for _, key := range []string{"shortfall_days", "shortfall_kwh", "wood_dry_kg", "attended_hours"} {
		s := a.at(key).(map[string]any)
		s["plain"] = a.number("without_luck." + key)
		spreads = append(spreads, threefold{t: t, document: s})
		if !slices.IsSorted([]float64{s["p10"].(float64), s["p50"].(float64), s["p90"].(float64), s["worst"].(float64)}) {
			t.Errorf("%s: %v", key, s)
		}
	}
	if s := spreads[2]; s.number("p10") == s.number("p50") || s.number("p90") == s.number("worst") {
		t.Errorf("twelve spans burn alike: %v", s.document)
	}
	agree(t, "spreads in the text", a.textRows("Of 12 spans", `(days|kWh) short|wood burned|attended`), spreads,
		"- p10 p50 p90 worst plain")
	agree(t, "causes in the text", a.textRows("Each cause alone", `[a-z][-a-z, ]+ {2,}[-0-9]`), a.list("causes"),
		"- more_shortfall_days more_shortfall_kwh more_wood_dry_kg more_attended_hours more_price_kg")
	agree(t, "months in the text", a.textRows("By month", "January"), a.list("months"),
		"- shortfall_days.p50 shortfall_days.p90 shortfall_kwh.p50 shortfall_kwh.p90 "+
			"wood_dry_kg.p50 wood_dry_kg.p90 attended_hours.p50 attended_hours.p90")
	for i, c := range a.list("causes") {
		if i > 0 && c.number("more_price_kg") > a.number(fmt.Sprintf("causes.%d.more_price_kg", i-1)) {
			t.Error("the causes do not begin with the dearest")
		}
	}
	said := a.find(`in nine of ten at most (\d+) days? go`)
	agree(t, "the answer", [][]string{said[1:]}, spreads[:1], "p90")
	a.says("to stack", a.find(`have ([0-9. ]+) kg of oven-dry wood ready`)[1:], "stack_nine_in_ten_dry_kg")
}

func TestYearSaysTheSameThrice(t *testing.T) {
	t.Parallel()
	a := askAll(t, "year PILED --set start=2026-01-15 --set days=40 --set woodpile.stack.old.dry_kg=2000 "+
		"--set tending.max_hours_a_day=4")
	months := a.list("months")
	for i, days := range []float64{17, 23} { // worked: of January and February from 15 January on
		months[i].document.(map[string]any)["a_day"] = months[i].number("attended_hours") / days
	}
	agree(t, "months in the text", a.textRows("a day   hours", "January|February"), months,
		"- a_day engine_hours - wood_dry_kg wanted_kwh shortfall_kwh shortfall_days lowest_pct")
	agree(t, "months on the page", a.pageRows("The months"), months,
		"- a_day engine_hours - wood_dry_kg wanted_kwh shortfall_kwh shortfall_days lowest_pct")
	run := a.find(`Run ([0-9.]+) h a day \(([0-9 ]+) h, engine ([0-9 ]+) h\); January ([0-9.]+) h;`)
	a.says("Run", run[1:4], "engine.attended_hours_per_day engine.attended_hours engine.hours")
	agree(t, "January", [][]string{run[4:]}, months[:1], "a_day")
	dark := a.find(`Dark (\d+) days? short, ([0-9.]+) kWh in ([0-9.]+) h; worst (\d+ [A-Z][a-z]+) \(([0-9.]+) kWh\)`)
	a.says("Dark", []string{dark[1], dark[2], dark[3], dark[5]},
		"house.shortfall_days house.shortfall_kwh house.shortfall_hours house.worst_day_kwh")
	var day int
	var month string
	fmt.Sscanf(dark[4], "%d %s", &day, &month)
	worst := a.at("house.worst_day").(string)
	if want := fmt.Sprintf("2026-%02d-%02d", map[string]int{"January": 1, "February": 2}[month], day); worst != want {
		t.Errorf("the worst day is %s, in the document %s", dark[4], worst)
	}
	found := false
	for _, row := range a.pageRows("Runs by day") {
		if x, half := printed(t, row[3]); row[0] == dark[4] {
			found = math.Abs(x-a.number("house.worst_day_kwh")) <= half+1e-6
		}
	}
	if !found {
		t.Errorf("the page has not so much missing on %s", dark[4])
	}
	// worth: prices with the soft ones; the window's attended hours are its length, each day
	rows := a.textRows("What choosing is worth", "chosen runs|best fixed")
	chosen, fixed := rows[0], rows[1]
	weighed := figuresOf(t, map[string]any{
		"chosen": a.number("price.total_kg") + a.number("price.soft_kg"),
		"fixed":  a.number("fixed_window.total_kg") + a.number("fixed_window.soft_kg"),
	})
	weighed.says("prices", []string{chosen[1], fixed[1]}, "chosen fixed")
	a.says("chosen runs", chosen[2:], "house.shortfall_days house.shortfall_kwh engine.attended_hours wood.burned_dry_kg")
	window := a.find(`best fixed, (\d\d:\d\d) for ([0-9.]+) h`)
	a.says("best fixed", append([]string{window[2]}, fixed[2:5]...),
		"fixed_window.hours fixed_window.shortfall_days fixed_window.shortfall_kwh fixed_window.attended_hours")
}

// DO names the limit of hours where more hours help, and only there; the terminal and the page say
// the same.
func TestAdviceNamesTheLimitThatBinds(t *testing.T) {
	t.Parallel()
	const limit = "allow more than"
	dear := askAll(t, "year HOME --set tending.max_hours_a_day=3")
	if said := dear.find(`DO against the dark[^:]*: (.*?)(, or| \(|$)`)[1]; !strings.HasPrefix(said, limit+" 3.0 h a day") {
		t.Errorf("three hours a day are too few, and DO says: %s", said)
	}
	if !strings.Contains(dear.page, limit+" 3.0 h a day") {
		t.Error("three hours a day are too few, and the page does not say so")
	}
	cheap := askAll(t, "year HOME --set plan.short_kg_per_kwh=1")
	if cheap.number("house.shortfall_days") == 0 {
		t.Fatal("no day is short")
	}
	if strings.Contains(cheap.text, limit) || strings.Contains(cheap.page, limit) {
		t.Error("darkness is cheap, and the limit is blamed")
	}
	cheap.find(`DO against the dark[^:]*: put a higher price on going dark`)
}

func TestWoodSaysTheSameThrice(t *testing.T) {
	t.Parallel()
	a := askAll(t, "wood PILED --set plan.by=top-up --set start=2025-06-01 --set days=365 "+
		"--set woodpile.stack.old.dry_kg=2200")
	agree(t, "months in the text", a.textRows("begins, dry kg", `[A-Z][a-z]{2} 202\d`), a.list("months"),
		"- - need_dry_kg ready_dry_kg -")
	do := a.find(`DO have ([0-9.]+) stacked m3 more of alder ready by (\d+ [A-Z][a-z]+(?: \d{4})?) \((.*?)\)`)
	a.says("what is missing", do[1:2], "missing.stacked_m3")
	if got := isoDate(t, do[2], "2025"); got != a.at("missing.ready_by") {
		t.Errorf("to be ready by %s, in the document %v", got, a.at("missing.ready_by"))
	}
	ways := strings.Split(do[3], "; ")
	if strings.Contains(do[3], "should") {
		t.Errorf("it is too late to cut: this cannot tell the days to cut by: %q", do[3])
	}
	listed := a.list("missing.ways")
	if len(ways) != len(listed) || len(ways) < 2 {
		t.Fatalf("ways: %q and %v", ways, a.at("missing.ways"))
	}
	for i, way := range ways {
		m := regexp.MustCompile(`^(\w+), under a roof: .*cut by (.*)$`).FindStringSubmatch(way)
		if m == nil || m[1] != listed[i].at("piece") || isoDate(t, m[2], "2025") != listed[i].at("cut_by") {
			t.Errorf("%q, in the document %v", way, listed[i].document)
		}
	}
	need := a.find(`Need ([0-9.]+) stacked m3 .*?\(([0-9.]+) cords, ([0-9.]+) loose m3, ` +
		`([0-9.]+) solid m3,.*?, (\d+) h of work`)
	a.says("Need", need[1:], "need_stacked_m3 need_cords need_loose_m3 need_solid_m3 work_hours")
	for _, lot := range a.list("lots") {
		name := lot.at("name").(string)
		rows := a.textRows("can be burned from", name)
		if len(rows) != 1 {
			t.Fatalf("%d rows of %s", len(rows), name)
		}
		lot.says(name, rows[0][2:3], "dry_kg")
		if got := isoDate(t, rows[0][4], "2025"); got != lot.at("ready_from") {
			t.Errorf("%s: to be burned from %s, in the document %v", name, got, lot.at("ready_from"))
		}
	}
}

// isoDate reads a date like 5 March 2026, or 5 March of a year.
func isoDate(t *testing.T, text, year string) string {
	t.Helper()
	months := strings.Fields("January February March April May June July August September October November December")
	words := append(strings.Fields(text), year)
	month := slices.Index(months, words[1])
	day, err := strconv.Atoi(words[0])
	if err != nil || month < 0 {
		t.Fatalf("no date: %q", text)
	}
	return fmt.Sprintf("%s-%02d-%02d", words[2], month+1, day)
}

func TestDaySaysTheSameThrice(t *testing.T) {
	t.Parallel()
	const crate = 6.0
	a := askAll(t, "day HOME --soc 75 --date 2026-01-14 --at 08:00 --days 2 --crate-as-is-kg 6 --hours-so-far 44")
	// the crates hold the wood, and one less would not
	kg, crates := a.number("wood_as_is_kg"), a.number("crates")
	if !(crates*crate >= kg-1e-6 && (crates-1)*crate < kg) {
		t.Errorf("%g crates of %g kg for %g kg", crates, crate, kg)
	}
	said := a.find(`bring in (\d+) kg of wood \((\d+) crates? of 6 kg\)`)
	a.says("to bring in", said[1:], "wood_as_is_kg crates")
	skip := a.find(`If you skip today's: (\d+) % tomorrow morning, not (\d+) %; .*? in (\d+) of (\d+) trials .*?; ` +
		`with the run in (\d+)`)
	k := a.at("skip").(map[string]any)
	draws := k["draws"].(float64)
	counts := figuresOf(t, map[string]any{
		"skipped": k["morning_soc_pct"], "morning": a.number("morning_soc_pct"), "draws": draws,
		"dark": k["dark_share"].(float64) * draws, "lit": k["dark_share_with_run"].(float64) * draws,
	})
	counts.says("the skipped run", skip[1:], "skipped morning dark draws lit")
	if !(k["dark_share"].(float64) > k["dark_share_with_run"].(float64)) {
		t.Errorf("a run makes the day no brighter: %v", k)
	}
	// each run's moments stand in the text and on the page, with the charge expected then
	var moments []string
	for _, row := range a.pageRows("Run sheet") {
		if row[0] != "" {
			moments = append(moments, strings.Join(row, "|"))
		}
	}
	charge := map[string]float64{}
	for _, c := range a.list("charge") {
		charge[c.at("time").(string)] = c.number("soc_pct")
	}
	refuels := 0
	for _, r := range a.list("runs") {
		stop := fmt.Sprintf("STOP; %.1f kWh made", r.number("made_kwh"))
		for key, what := range map[string]string{"match": "MATCH", "engine_on": "ENGINE ON", "stop": stop} {
			wantMoment(t, a, moments, charge, r.at(key).(string), what)
		}
		all := r.at("refuel").([]any)
		for i, at := range all {
			refuels++
			what := `REFUEL, \d+ kg$`
			if i == len(all)-1 {
				what = `REFUEL, \d+ kg are enough until the stop`
			}
			wantMoment(t, a, moments, charge, at.(string), what)
		}
		if len(all) == 1 {
			t.Error("the run is refuelled once: this cannot tell the last refuel from the first")
		}
	}
	if refuels == 0 || len(a.list("services")) == 0 {
		t.Errorf("%d refuels, %d services", refuels, len(a.list("services")))
	}
	for _, c := range a.list("chores") {
		wantMoment(t, a, moments, charge, c.at("start").(string), "start "+c.at("name").(string))
	}
	// the chart: the charge as listed, and the floor, under which the bank holds what it must
	drawn := a.series("charge-chart")
	for i, c := range a.list("charge") {
		if math.Abs(drawn["charge"][i]-c.number("soc_pct")) > 1e-3 {
			t.Errorf("%v is drawn at %g %%, in the document %v", c.at("time"), drawn["charge"][i], c.at("soc_pct"))
		}
	}
	_, caption, _ := strings.Cut(a.page, "the floor is at ")
	caption, _, _ = strings.Cut(caption, " %")
	for _, x := range drawn["floor"] {
		figuresOf(t, map[string]any{"floor": x}).says("the floor as it is drawn", []string{caption}, "floor")
		if x < 50 || x > 60 { // 50 % at 20 °C, and what the cold of the default room of 15 °C takes
			t.Errorf("the floor is drawn at %g %%", x)
		}
	}
}

// wantMoment holds a moment of a run sheet to the text and the page, which print the charge
// with it: between those listed before and after.
func wantMoment(t *testing.T, a threefold, moments []string, charge map[string]float64, stamp, what string) {
	t.Helper()
	clock := stamp[len("2026-01-14T"):]
	if !regexp.MustCompile(`(?m)^` + clock + ` +\d+ %  ` + what).MatchString(a.text) {
		t.Errorf("the text has not at %s: %s", clock, what)
	}
	on := regexp.MustCompile(`(^| )` + clock + `\|(\d+) %\|` + what)
	i := slices.IndexFunc(moments, on.MatchString)
	if i < 0 {
		t.Errorf("the page has not at %s: %s; it has %q", clock, what, moments)
		return
	}
	if want, listed := charge[stamp]; listed {
		for _, m := range moments {
			if found := on.FindStringSubmatch(m); found != nil && strings.Contains(m, clock) {
				if x, half := printed(t, found[2]); math.Abs(x-want) <= half+1e-6 {
					return
				}
			}
		}
		t.Errorf("at %s the charge is %g %%, on the page %q", clock, want, moments[i])
	}
}

// What is frozen is not charged: each moment of a run says so.
func TestFrozenBankWarnsAtEachMoment(t *testing.T) {
	t.Parallel()
	a := askAll(t, "day HOME --soc 20 --date 2026-01-14 --at 13:00 --set battery.room_c=-18")
	for _, moment := range []string{"now", "MATCH", "ENGINE ON"} {
		_, after, found := strings.Cut(a.text, "%  "+moment)
		_, after, _ = strings.Cut(after, "\n")
		next, _, _ := strings.Cut(strings.Join(strings.Fields(after), " "), "%")
		if !found || !strings.HasPrefix(strings.TrimSpace(next), "! Never charge a frozen battery") {
			t.Errorf("%s: no word of the frozen battery: %.100q", moment, next)
		}
	}
	if n := strings.Count(a.page, "<td>Never charge a frozen battery"); n < 3 {
		t.Errorf("the page warns at %d moments", n)
	}
}

func TestDiarySaysTheSameThrice(t *testing.T) {
	t.Parallel()
	a := askAll(t, "diary check orchard-diary orchard --set plan.by=same-hours")
	agree(t, "months in the text", a.textRows("days  runs", `[A-Z][a-z]{2} 202\d`), a.list("months"),
		"- days runs attended_hours plan_attended_hours made_kwh plan_made_kwh wood_dry_kg plan_wood_dry_kg")
	odd := 0
	for _, f := range a.list("findings") {
		if len(f.at("odd").([]any)) == 0 {
			continue
		}
		odd++
		text := a.find(fmt.Sprintf(`line %.0f, (\S+) (\d\d:\d\d)-\d\d:\d\d: (.*?)(line \d|As a rule)`, f.number("line")))
		if text[1] != f.at("date") || text[2] != f.at("start") {
			t.Errorf("line %v: %s %s", f.at("line"), text[1], text[2])
		}
		for _, of := range []struct {
			key, pattern string
			sign         float64
		}{
			{"wood_as_is_kg", `wood ([0-9.]+) kg, expected ([0-9.]+)`, 1},
			{"gained_pct", `charge ([-+]\d+) % in the run, expected ([-+]\d+) %`, 1},
			{"lost_pct", `charge ([-+]\d+) % until the next match, expected ([-+]\d+) %`, -1},
		} {
			if m := regexp.MustCompile(of.pattern).FindStringSubmatch(text[3]); m != nil {
				noted, expected := of.sign*f.number(of.key+".noted"), of.sign*f.number(of.key+".expected")
				pair := figuresOf(t, map[string]any{"noted": noted, "expected": expected})
				pair.says(of.key, m[1:], "noted expected")
			}
		}
	}
	if odd < 4 || float64(odd) != a.number("odd_rows") {
		t.Errorf("%d rows are odd, and %v are counted", odd, a.at("odd_rows"))
	}
}

// The trace's powers, summed over the steps, are the year's books.
func TestTraceSumsToTheBooks(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	home, trace := filepath.Join(dir, "home.toml"), filepath.Join(dir, "t.csv")
	if err := os.WriteFile(home, []byte(answersHome), 0o644); err != nil {
		t.Fatal(err)
	}
	a := threefold{t: t}
	if err := json.Unmarshal([]byte(documentOf(t, "year "+home+" --trace "+trace)), &a.document); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(trace)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	sums, head := map[string]float64{}, strings.Split(lines[0], ",")
	for _, line := range lines[1:] {
		for i, cell := range strings.Split(line, ",")[1:] {
			x, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatalf("%q: %v", line, err)
			}
			sums[head[i+1]] += x // hourly steps: kW are kWh
		}
	}
	for column, key := range map[string]string{
		"load_kw": "house.wanted_kwh", "shortfall_kw": "house.shortfall_kwh",
		"engine_kw": "engine.made_kwh", "spill_kw": "engine.spill_kwh", "run": "engine.attended_hours",
		"charge_kw": "bank.charged_kwh", "discharge_kw": "bank.discharged_kwh",
		"wood_dry_kg": "wood.burned_dry_kg",
	} {
		if want := a.number(key); math.Abs(sums[column]-want) > 1e-4*math.Max(1, want) {
			t.Errorf("%s sums to %g, and %s is %g", column, sums[column], key, want)
		}
	}
}

// holdsTheCautions: a text ends with their heading and short form, a page holds them in full.
func (a threefold) holdsTheCautions() {
	t := a.t
	t.Helper()
	_, closing, found := strings.Cut(a.text, "\nTake care\n")
	for _, word := range []string{"monoxide", "hopper", "glow", "batter", "change-over"} {
		if !found || !strings.Contains(strings.ToLower(closing), word) {
			t.Errorf("the text does not end with a caution on: %s", word)
		}
	}
	cautions := a.at("cautions").([]any)
	if len(cautions) < 6 {
		t.Errorf("%d cautions in the document", len(cautions))
	}
	for _, caution := range cautions {
		if !strings.Contains(html.UnescapeString(a.page), caution.(string)) {
			t.Errorf("the page does not say: %s", caution)
		}
	}
}

// A text keeps to a terminal of 80 columns, whatever the plan is called.
func TestDiaryCheckKeepsToTheTerminal(t *testing.T) {
	t.Parallel()
	a := askAll(t, "diary check orchard-diary orchard --set plan.by=same-hours")
	const columns = 80
	for line := range strings.Lines(a.text) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > columns {
			t.Errorf("%d columns: %s", n, line)
		}
	}
}

func TestDiaryFitSaysTheSameThrice(t *testing.T) {
	t.Parallel()
	a := askAll(t, "diary fit orchard-diary orchard --set plan.by=same-hours")
	for key, name := range map[string]string{
		"wood_idle_kg_h": "wood at no load, kg/h", "wood_per_kwh_kg": "wood for each kWh, kg",
		"light_up_kg": "wood of a light-up, kg", "kw": "the set's power, kW",
		"round_trip_pct": "the bank, in and out, %", "house_kwh_per_day": "the house, kWh a day",
	} {
		rows := a.textRows("nine in ten  rows", regexp.QuoteMeta(name))
		if len(rows) != 1 || len(rows[0]) != 5 {
			t.Fatalf("%s: %q", name, rows)
		}
		low, high, _ := strings.Cut(rows[0][3], " to ")
		threefold{t: t, document: a.at("fit." + key)}.says(name,
			[]string{rows[0][1], rows[0][2], low, high, rows[0][4]}, "scenario value low high rows")
	}
}
