// Package browsertest opens the program's page in a real Chromium. It is a
// module of its own, so that the program needs no browser.
package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// chromium returns the browser's path, or skips; it fails where everything must
// be there.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("TWIGWATT_FULL") == "1" {
		t.Fatal("chromium is needed and not here")
	}
	t.Skip("chromium is not here: the page is not opened")
	return ""
}

// built is the program, made once.
var built = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "twigwatt-browsertest-")
	if err != nil {
		return "", err
	}
	exe := filepath.Join(dir, "twigwatt")
	build := exec.Command("go", "build", "-o", exe, ".")
	build.Dir = ".."
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return exe, nil
})

// year writes a page and returns its path with the year's JSON.
func year(t *testing.T, args ...string) (page string, answers map[string]any) {
	t.Helper()
	exe, err := built()
	if err != nil {
		t.Fatal(err)
	}
	page = filepath.Join(t.TempDir(), "page.html")
	out, err := exec.Command(exe, append([]string{"year", "--json", "--report", page}, args...)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(out, &answers); err != nil {
		t.Fatal(err)
	}
	return page, answers
}

// A tab is an open page with what it asked for and said.
type tab struct {
	ctx      context.Context
	t        *testing.T
	mu       sync.Mutex
	requests []string
	messages []string
}

// open opens a page at a width, after some settings.
func open(t *testing.T, page string, width int64, before ...chromedp.Action[chromedp.Void]) *tab {
	t.Helper()
	allocator, cancel := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)),
		chromedp.NoSandbox, chromedp.DisableGPU)...)
	t.Cleanup(cancel)
	limited, cancelTime := context.WithTimeout(allocator, time.Minute)
	t.Cleanup(cancelTime)
	ctx, cancelTab := chromedp.NewContext(limited)
	t.Cleanup(cancelTab)
	b := &tab{ctx: ctx, t: t}
	b.must(chromedp.Listen(ctx, func(event any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			b.requests = append(b.requests, e.Request.URL)
		case *runtime.EventConsoleAPICalled:
			b.messages = append(b.messages, string(e.Type))
		case *runtime.EventExceptionThrown:
			b.messages = append(b.messages, e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			b.messages = append(b.messages, e.Entry.Text)
		}
	}))
	for _, enable := range []func() error{
		func() error { _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); return err },
		func() error { _, err := chromedp.Call(ctx, log.Enable, struct{}{}); return err },
	} {
		b.must(enable())
	}
	b.must(chromedp.Do(ctx, append(before, chromedp.EmulateViewport(width, 900), chromedp.Navigate(addressOf(page)))...))
	return b
}

// addressOf is where a page is: a file, or what is served.
func addressOf(page string) string {
	if strings.HasPrefix(page, "http") {
		return page
	}
	return "file://" + page
}

func (b *tab) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

// eval evaluates an expression.
func eval[T any](b *tab, expression string) T {
	b.t.Helper()
	value, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return value
}

// shoot keeps a screenshot in a temporary folder, named at the test's end, where
// TWIGWATT_SHOTS names one.
func (b *tab) shoot(name string) {
	dir := os.Getenv("TWIGWATT_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	b.must(err)
	b.must(os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// quiet reports anything asked for beside the file, and anything said.
func (b *tab) quiet(page string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, url := range b.requests {
		if url != addressOf(page) && !strings.HasPrefix(url, "data:") {
			b.t.Errorf("the page asked for %s", url)
		}
	}
	for _, message := range b.messages {
		b.t.Errorf("the console says: %s", message)
	}
	if len(b.requests) == 0 {
		b.t.Error("not even the page was asked for: the test sees nothing")
	}
}

const charts = `Array.from(document.querySelectorAll(".chart")).map(box => echarts.getInstanceByDom(box))`

func TestChartsAreDrawnAndSayWhatTheJSONSays(t *testing.T) {
	page, answers := year(t)
	b := open(t, page, 1280)
	if drawn := eval[int](b, charts+`.filter(c => c && document.querySelector(".chart canvas")).length`); drawn != 4 {
		t.Errorf("%d charts are drawn", drawn)
	}
	months := answers["months"].([]any)
	january := months[0].(map[string]any)
	got := eval[float64](b, `echarts.getInstanceByDom(document.getElementById("wood-chart")).getOption().series.find(s => s.name === "burned in the month").data[0].value`)
	if want := january["wood_dry_kg"].(float64); math.Abs(got-want) > 0.001 {
		t.Errorf("January's wood in the chart is %g kg, in the JSON %g", got, want)
	}
	house := answers["house"].(map[string]any)
	text := eval[string](b, `document.getElementById("answers").textContent`)
	for _, want := range []string{fmt.Sprintf("%.0f days short", house["shortfall_days"]), strconv.FormatFloat(house["shortfall_kwh"].(float64), 'f', 1, 64) + " kWh"} {
		if !strings.Contains(text, want) {
			t.Errorf("the answers lack %q: %s", want, text)
		}
	}
	b.quiet(page)
	b.shoot("wide")
}

func TestTooltip(t *testing.T) {
	page, _ := year(t)
	b := open(t, page, 1280)
	eval[bool](b, `(document.getElementById("worth-chart").scrollIntoView({block: "center"}), true)`)
	box := eval[[]float64](b, `(r => [r.left + r.width/2, r.top + r.height/2])(document.getElementById("worth-chart").getBoundingClientRect())`)
	b.must(chromedp.Do(b.ctx, chromedp.MouseEvent("mouseMoved", box[0], box[1]), chromedp.MouseEvent("mouseMoved", box[0]+3, box[1])))
	for range 20 {
		if eval[bool](b, `Array.from(document.querySelectorAll("#worth-chart div")).some(d => d.textContent.includes("this plan") && getComputedStyle(d).display !== "none")`) {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Error("no tooltip after a hover")
}

func TestPhone(t *testing.T) {
	page, _ := year(t)
	b := open(t, page, 390)
	if wide := eval[int](b, `document.documentElement.scrollWidth`); wide > 390 {
		t.Errorf("the page is %d px wide and scrolls sideways", wide)
	}
	// January's hours and the DO line stand above the fold
	if low := eval[float64](b, `Math.max(...Array.from(document.querySelectorAll(".todo, #answers dl div:first-child")).map(e => e.getBoundingClientRect().bottom))`); low > 844 || low <= 0 {
		t.Errorf("January's hours and the DO line end at %g px", low)
	}
	if small := eval[float64](b, `Math.min(...Array.from(document.querySelectorAll("p, dd, li, figcaption, td, summary")).map(e => parseFloat(getComputedStyle(e).fontSize)))`); small < 16 {
		t.Errorf("text of %g px", small)
	}
	b.quiet(page)
	b.shoot("phone")
}

func TestDark(t *testing.T) {
	page, _ := year(t)
	b := open(t, page, 1280, chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}})
		return err
	}))
	if paper := eval[string](b, `getComputedStyle(document.documentElement).backgroundColor`); paper != "rgb(20, 24, 27)" {
		t.Errorf("the paper is %s", paper)
	}
	if ink := eval[string](b, charts+`[0].getOption().textStyle.color`); ink != "#eceff1" {
		t.Errorf("the charts write in %s", ink)
	}
	b.shoot("dark")
}

func TestPrintIsShort(t *testing.T) {
	page, _ := year(t)
	b := open(t, page, 1280)
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
	b.must(err)
	if pages := strings.Count(string(pdf), "/Type /Page\n"); pages < 2 || pages > 4 {
		t.Errorf("%d pages", pages)
	}
	if dir := os.Getenv("TWIGWATT_SHOTS"); dir != "" {
		b.must(os.WriteFile(filepath.Join(dir, "print.pdf"), pdf, 0o644))
	}
}

func TestWithoutScript(t *testing.T) {
	page, _ := year(t)
	b := open(t, page, 390, chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	}))
	if months := eval[int](b, `document.querySelectorAll(".months svg").length`); months != 12 {
		t.Errorf("%d months in the calendar", months)
	}
	if told := eval[int](b, `document.querySelectorAll("figure noscript p").length`); told != 4 {
		t.Errorf("%d charts say where their figures stand", told)
	}
	if room := eval[int](b, `Array.from(document.querySelectorAll(".chart")).filter(e => e.offsetHeight > 0).length`); room > 0 {
		t.Errorf("%d charts leave empty room", room)
	}
	if open := eval[int](b, `document.querySelectorAll("details[open] table").length`); open < 6 {
		t.Errorf("%d tables are open", open)
	}
	b.shoot("no-script")
}

func TestTablesHaveHeadings(t *testing.T) {
	page, _ := year(t, "--set", "days=40")
	b := open(t, page, 1280)
	if bad := eval[int](b, `Array.from(document.querySelectorAll("table")).filter(t => !t.caption || !t.querySelector("thead th[scope=col]") || !t.querySelector("tbody th[scope=row]")).length`); bad > 0 {
		t.Errorf("%d tables lack a caption or headings", bad)
	}
	if bad := eval[int](b, `Array.from(document.querySelectorAll("[role=img]")).filter(e => !e.getAttribute("aria-label")).length`); bad > 0 {
		t.Errorf("%d pictures have no text", bad)
	}
}

func TestHostileName(t *testing.T) {
	const name = `</script><script>alert(1)</script><img src=x onerror=alert(2)>`
	page, _ := year(t, "--set", "days=20", "--set", "name="+strconv.Quote(name))
	b := open(t, page, 1280)
	if title := eval[string](b, `document.querySelector("h1").textContent`); !strings.HasPrefix(title, name) {
		t.Errorf("the heading is %q", title)
	}
	if images := eval[int](b, `document.images.length`); images != 0 {
		t.Errorf("%d images", images)
	}
	b.quiet(page)
}

func TestTenYears(t *testing.T) {
	page, _ := year(t, "--set", "days=3660", "--set", "step_minutes=60", "--set", "plan.by=same-hours", "--set", "plan.same_start=16:00")
	b := open(t, page, 1280)
	if drawn := eval[int](b, charts+`.filter(c => c).length`); drawn != 5 {
		t.Errorf("%d charts are drawn", drawn)
	}
	if points := eval[int](b, `echarts.getInstanceByDom(document.getElementById("bank-chart")).getOption().series[0].data.length`); points > 600 {
		t.Errorf("%d points where a week each would do", points)
	}
	b.quiet(page)
	b.shoot("ten-years")
}

// TestPicture makes the README's picture: TWIGWATT_PICTURE=1 go test -run TestPicture
func TestPicture(t *testing.T) {
	if os.Getenv("TWIGWATT_PICTURE") != "1" {
		t.Skip("the README's picture is made on demand")
	}
	page, _ := year(t)
	b := open(t, page, 900)
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	b.must(err)
	b.must(os.WriteFile("../report/page.png", png, 0o644))
}
