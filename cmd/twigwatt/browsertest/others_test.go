package browsertest

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// other writes the page of a command beside year.
func other(t *testing.T, args ...string) string {
	t.Helper()
	exe, err := built()
	if err != nil {
		t.Fatal(err)
	}
	page := filepath.Join(t.TempDir(), "page.html")
	if out, err := exec.Command(exe, append(args, "--report", page)...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return page
}

// TestOtherPages opens the page of every other command: charts drawn, no network,
// no message, not too wide for a phone; the cards' first page is A5.
func TestOtherPages(t *testing.T) {
	short := []string{"--set", "days=60", "--set", "step_minutes=60"}
	for _, c := range []struct {
		name   string
		args   []string
		charts int
		card   bool
	}{
		{"hours", append([]string{"hours", "--every", "3"}, short...), 1, true},
		{"bank", append([]string{"bank", "--kwh", "8,40", "--set", "load.kwh_per_day=4"}, short...), 2, false},
		{"risk", append([]string{"risk", "--years", "5"}, short...), 2, false},
		{"day", []string{"day", "--soc", "55", "--date", "2026-01-14", "--at", "15:00", "--set", "step_minutes=60"}, 1, true},
		{"wood", []string{"wood", "saddle", "--set", "step_minutes=60"}, 1, false},
		{"diary", []string{"diary", "fit", "orchard-diary", "orchard"}, 2, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := other(t, c.args...)
			b := open(t, page, 390)
			if drawn := eval[int](b, charts+`.filter(c => c).length`); drawn != c.charts {
				t.Errorf("%d charts are drawn, want %d", drawn, c.charts)
			}
			if wide := eval[int](b, `document.documentElement.scrollWidth`); wide > 390 {
				t.Errorf("the page is %d px wide and scrolls sideways", wide)
			}
			if bad := eval[int](b, `Array.from(document.querySelectorAll("table")).filter(t => !t.caption || !t.querySelector("thead th[scope=col]")).length`); bad > 0 {
				t.Errorf("%d tables lack a caption or headings", bad)
			}
			if cautions := eval[int](b, `document.querySelectorAll("#care li").length`); cautions != 6 {
				t.Errorf("%d cautions", cautions)
			}
			b.quiet(page)
			b.shoot(c.name)
			if !c.card {
				return
			}
			pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
			b.must(err)
			if !strings.Contains(string(pdf), "/MediaBox [0 0 420 594") && !strings.Contains(string(pdf), "/MediaBox [0 0 419") {
				t.Error("the card is not printed on A5")
			}
		})
	}
}
