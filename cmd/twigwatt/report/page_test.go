package report_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/study"
)

// yearOf runs the cabin by same hours, which is quick.
func yearOf(tb testing.TB, set ...string) *study.YearAnswer {
	tb.Helper()
	options := []scenarios.Option{scenarios.Set("plan.by=same-hours")}
	for _, assignment := range set {
		options = append(options, scenarios.Set(assignment))
	}
	s, err := scenarios.Read("cabin", nil, options...)
	if err != nil {
		tb.Fatal(err)
	}
	y, err := study.Year(context.Background(), s.Household, s.Rule, nil)
	if err != nil {
		tb.Fatal(err)
	}
	return y
}

func pageOf(tb testing.TB, y *study.YearAnswer) string {
	tb.Helper()
	var out bytes.Buffer
	if err := report.Year(y, report.BooksInALine).WritePage(&out, report.Basis{Text: y.Name}); err != nil {
		tb.Fatal(err)
	}
	return out.String()
}

func TestPageIsSmallAndTheSameEachTime(t *testing.T) {
	y := yearOf(t)
	page := pageOf(t, y)
	if page != pageOf(t, y) {
		t.Error("the same year gave another page")
	}
	const most, mostOfTenYears = 1_200_000, 3_000_000
	if len(page) > most {
		t.Errorf("%d bytes", len(page))
	}
	if long := pageOf(t, yearOf(t, "days=3660")); len(long) > mostOfTenYears {
		t.Errorf("ten years: %d bytes", len(long))
	}
}

func TestPageFetchesNothingAndShowsHostileNamesAsText(t *testing.T) {
	const name = `</script><img src=x onerror=alert(1)>"&`
	page := pageOf(t, yearOf(t, "days=30", "name="+strconv.Quote(name)))
	ours := page[:strings.Index(page, "Licensed to the Apache")] // before the library
	if strings.Contains(ours, "<img") || strings.Contains(ours, "onerror=alert(1)>") {
		t.Error("the name is more than text")
	}
	if !strings.Contains(ours, "&lt;/script&gt;&lt;img src=x onerror=alert(1)&gt;") {
		t.Error("the name is not there")
	}
	if outside := regexp.MustCompile(`(?:src|href)="?(?:https?:)?//`).FindString(ours); outside != "" {
		t.Errorf("the page names something outside: %s", outside)
	}
	if !strings.Contains(page, `http-equiv="Content-Security-Policy" content="default-src 'none';`) {
		t.Error("no policy")
	}
}

// Every chart says its finding, and has a table of its numbers with caption and scopes.
func TestEveryPartHasCaptionFigureAndTable(t *testing.T) {
	page := pageOf(t, yearOf(t, "panels.roof.kw_peak=1"))
	for _, id := range []string{"runs", "bank", "sun", "wood", "week", "flow", "worth"} {
		_, rest, ok := strings.Cut(page, `<section id="`+id+`"`)
		if !ok {
			t.Errorf("no section %s", id)
			continue
		}
		section, _, _ := strings.Cut(rest, "</section>")
		_, caption, _ := strings.Cut(section, "<figcaption>")
		caption, _, _ = strings.Cut(caption, "<")
		if id != "worth" && !regexp.MustCompile(`\d`).MatchString(caption) {
			t.Errorf("%s: the caption has no number: %q", id, caption)
		}
		for _, want := range []string{"<caption>", `scope="col"`, `scope="row"`, `role="img"`, "aria-label"} {
			if !strings.Contains(section, want) {
				t.Errorf("%s: no %s", id, want)
			}
		}
	}
}

// TestEnergyFlowAddsUp: all that went in is accounted for.
func TestEnergyFlowAddsUp(t *testing.T) {
	for _, set := range [][]string{nil, {"battery.start_pct=100", "days=20"}, {"panels.roof.kw_peak=2", "panels.shed.kw_peak=3", "panels.shed.wired=house"},
		{"tank.litres=200", "tank.need_l_per_day=150", "tank.rooms=true"}} {
		y := yearOf(t, set...)
		f := y.Household.Flow(&y.Total, y.Books.StartKWh, y.Books.EndKWh)
		out := f.GasifierKWh + f.EngineKWh + f.AlternatorKWh + f.ServedKWh + f.SpillKWh + f.ChargingKWh + f.GivingKWh + f.IdleKWh + f.LeakKWh + f.StoredMoreKWh + f.SunUnusedKWh + f.HotWaterKWh + f.RoomsKWh + f.TankKWh
		if in := f.WoodKWh + f.OtherKWh + f.SunKWh + f.StandbyKWh; math.Abs(in-out) > 1e-6*in {
			t.Errorf("in %g kWh, out %g", in, out)
		}
		if page := pageOf(t, y); !strings.Contains(page, `<th scope="row">all that went in</th>`) || !strings.Contains(page, "<td>100.0</td>") {
			t.Error("the table does not add up to 100 %")
		}
	}
}

// TestContrast: text 4.5 to 1 and graphics 3 to 1 on the paper, light and dark.
// The formula is that of WCAG 2.2, 1.4.3.
func TestContrast(t *testing.T) {
	text, err := os.ReadFile("page.css")
	if err != nil {
		t.Fatal(err)
	}
	light, dark, _ := strings.Cut(string(text), "prefers-color-scheme: dark")
	for name, css := range map[string]string{"light": light, "dark": dark} {
		colour := func(of string) string {
			m := regexp.MustCompile(`--` + of + `: (#[0-9a-f]{6})`).FindStringSubmatch(css)
			if m == nil {
				t.Fatalf("%s: no colour %s", name, of)
			}
			return m[1]
		}
		for _, c := range []struct {
			of, under string
			least     float64
		}{{"ink", "paper", 4.5}, {"muted", "paper", 4.5}, {"ink", "panel", 4.5}, {"ink", "night", 4.5}, {"line", "paper", 3}, {"engine", "paper", 3}, {"engine", "night", 3},
			{"bank", "paper", 3}, {"load", "paper", 3}, {"short", "paper", 3}, {"short", "night", 3}, {"wood", "paper", 3}, {"ready", "paper", 3}, {"other", "panel", 3}, {"wood", "panel", 3}, {"sun", "paper", 3}, {"sun", "panel", 3}} {
			if got := contrast(t, colour(c.of), colour(c.under)); got < c.least {
				t.Errorf("%s: %s on %s is %.2f to 1, want %g", name, c.of, c.under, got, c.least)
			}
		}
	}
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	light := func(hex string) float64 {
		sum := 0.0
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
			if err != nil {
				t.Fatal(err)
			}
			c := float64(n) / 255
			if c <= 0.04045 {
				c /= 12.92
			} else {
				c = math.Pow((c+0.055)/1.055, 2.4)
			}
			sum += weight * c
		}
		return sum
	}
	high, low := light(a), light(b)
	if low > high {
		high, low = low, high
	}
	return (high + 0.05) / (low + 0.05)
}

// The page says what year --json says.
func TestPageSaysWhatTheJSONSays(t *testing.T) {
	y := yearOf(t)
	page := pageOf(t, y)
	for what, want := range map[string]string{
		"engine hours": "The engine ran " + report.Number(y.Total.EngineH, 0) + " hours",
		"dark":         fmt.Sprintf("%d days short, %s kWh", y.Summary.Shortage.Days, report.Number(y.Total.ShortfallKWh, 1)),
		"wood":         report.Number(y.Total.BurnedStackedM3, 1) + " stacked m³",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("%s: the page lacks %q", what, want)
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{{1424.5, 1, "1 424.5"}, {-1234567, 0, "-1 234 567"}, {-0.0001, 3, "0.000"}, {999.96, 1, "1 000.0"}, {0, 0, "0"}} {
		if got := report.Number(c.x, c.decimals); got != c.want {
			t.Errorf("%g: %q, want %q", c.x, got, c.want)
		}
	}
}

func BenchmarkPage(b *testing.B) {
	y := yearOf(b)
	for b.Loop() {
		pageOf(b, y)
	}
}
