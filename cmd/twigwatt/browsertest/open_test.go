package browsertest

import (
	"bufio"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// served begins twigwatt open on a household of its own, and returns where, and its file.
func served(t *testing.T, more ...string) (url, file string) {
	t.Helper()
	exe, err := built()
	if err != nil {
		t.Fatal(err)
	}
	file = filepath.Join(t.TempDir(), "home.toml")
	if out, err := exec.Command(exe, "new", file).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	command := exec.Command(exe, append([]string{"open", file, "--no-browser", "--diary", filepath.Join(filepath.Dir(file), "runs.csv")}, more...)...)
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		command.Process.Signal(os.Interrupt)
		begun := time.Now()
		command.Wait()
		if took := time.Since(begun); took > 2*time.Second {
			t.Errorf("Ctrl-C took %v", took)
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	return regexp.MustCompile(`http://\S+`).FindString(line), file
}

// until waits for an expression to be true.
func (b *tab) until(expression string) {
	b.t.Helper()
	for range 200 {
		if eval[bool](b, expression) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("it never came: %s; state %q, faults %q", expression, eval[string](b, `document.getElementById("state").textContent`),
		eval[string](b, `document.getElementById("faults").textContent`))
}

const moveBank = `(() => { const s = document.querySelector('[data-key="battery.kwh"]'); s.value = %; s.dispatchEvent(new Event("input")); s.dispatchEvent(new Event("change")); return true; })()`

// A newcomer's way: the year as it is, a slider moved and what changed marked, kept with every comment,
// taken back to the byte, a question stopped, another answered, tonight's sheet, a row for the diary, a
// key that is wrong, a file that changed on the disk.
func TestANewcomersWay(t *testing.T) {
	url, file := served(t)
	b := open(t, url, 1280)
	text := func() string {
		got, err := os.ReadFile(file)
		b.must(err)
		return string(got)
	}
	before := text()
	b.until(`document.getElementById("state").textContent === "as it is"`)
	if rows := eval[int](b, `document.querySelectorAll("#compared tr").length`); rows < 5 {
		t.Errorf("%d answers", rows)
	}
	eval[bool](b, strings.Replace(moveBank, "%", "20", 1))
	b.until(`document.getElementById("state").textContent.startsWith("what if: battery.kwh = 20") && document.querySelectorAll("td.changed").length > 0`)
	eval[bool](b, `document.getElementById("keep").click(), true`)
	b.until(`document.getElementById("state").textContent === "kept"`)
	if kept := text(); !strings.Contains(kept, "kwh = 20") || strings.Count(kept, "#") != strings.Count(before, "#")+1 {
		t.Error("it was kept otherwise than moved")
	}
	eval[bool](b, `document.getElementById("back").click(), true`)
	b.until(`document.getElementById("state").textContent === "taken back"`)
	if text() != before {
		t.Error("it was not taken back to the byte")
	}
	eval[bool](b, `document.querySelector('[data-question="risk"]').click(), true`)
	b.until(`!document.getElementById("stop").hidden`)
	eval[bool](b, `document.getElementById("stop").click(), true`)
	b.until(`document.getElementById("answer").textContent.includes("was stopped")`)
	eval[bool](b, `document.querySelector('[data-question="wood"]').click(), true`)
	b.until(`document.querySelector("#answer h3")?.textContent === "wood"`)
	eval[bool](b, `document.querySelector("#day [name=soc]").value = "55", document.querySelector("#day [name=at]").value = "15:00", document.getElementById("day").requestSubmit(), true`)
	b.until(`document.querySelectorAll("#sheet li").length > 5 && document.getElementById("sheet").textContent.includes("carbon monoxide")`)
	eval[bool](b, `(() => { const f = document.getElementById("run"); f.elements.date.value = "2026-01-14"; f.elements.start.value = "16:30"; f.elements.stop.value = "21:00"; f.requestSubmit(); return true; })()`)
	b.until(`document.getElementById("added").textContent.includes("1 runs")`)
	eval[bool](b, `(() => { const i = document.querySelector('[data-key="battery.floor_pct"] input'); i.value = "120"; i.dispatchEvent(new Event("change")); return true; })()`)
	b.until(`document.querySelector('[data-key="battery.floor_pct"] .fault').textContent.includes("got 120")`)
	eval[bool](b, `document.getElementById("reset").click(), true`)
	b.until(`document.getElementById("state").textContent === "as it is"`)
	b.must(os.WriteFile(file, []byte(before+"# by hand\n"), 0o644))
	eval[bool](b, strings.Replace(moveBank, "%", "18", 1))
	b.until(`document.getElementById("state").textContent.startsWith("what if")`)
	eval[bool](b, `document.getElementById("keep").click(), true`)
	b.until(`document.getElementById("state").textContent.includes("changed meanwhile") && document.getElementById("answer").textContent.includes("# by hand")`)
	if text() != before+"# by hand\n" {
		t.Error("a file that was changed by hand was overwritten")
	}
	eval[bool](b, `document.getElementById("nights").dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowRight"})), true`)
	if night := eval[string](b, `document.getElementById("night").textContent`); !regexp.MustCompile(`run|no run`).MatchString(night) || !strings.Contains(night, "%") {
		t.Errorf("a night says %q", night)
	}
	for _, message := range b.messages {
		if !strings.Contains(message, "409") && !strings.Contains(message, "422") { // what the page shows as faults
			t.Errorf("the console says: %s", message)
		}
	}
	for _, asked := range b.requests {
		if !strings.HasPrefix(asked, url) && !strings.HasPrefix(asked, "data:") {
			t.Errorf("the page asked for %s", asked)
		}
	}
	b.shoot("open")
}

// Fifty moves are each answered; how soon is told, not judged: machines differ.
func TestFiftyMoves(t *testing.T) {
	url, _ := served(t)
	b := open(t, url, 1280)
	b.until(`document.getElementById("state").textContent === "as it is"`)
	eval[bool](b, `((async () => {
		const all = [];
		for (let i = 0; i < 50; i++) {
			const begun = performance.now();
			const answer = await fetch("/try", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ set: { "battery.kwh": String(10 + i / 5) } }) });
			if (!answer.ok) { throw new Error(answer.status); }
			await answer.json();
			all.push(performance.now() - begun);
		}
		window.took = all;
	})(), true)`)
	for range 600 { // a slow machine answers too
		if eval[bool](b, `window.took !== undefined`) {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	took := eval[[]float64](b, `window.took`)
	slices.Sort(took)
	t.Logf("fifty moves: %.0f ms in the median, %.0f ms at worst", took[25], took[49])
	if len(took) != 50 {
		t.Errorf("%d answers", len(took))
	}
}

// On a phone the page does not scroll sideways, and every control has a name.
func TestOpenOnAPhone(t *testing.T) {
	url, _ := served(t)
	b := open(t, url, 390)
	b.until(`document.getElementById("state").textContent === "as it is"`)
	if wide := eval[int](b, `document.documentElement.scrollWidth`); wide > 390 {
		t.Errorf("the page is %d px wide", wide)
	}
	if bare := eval[int](b, `Array.from(document.querySelectorAll("input, select, button")).filter(e => !e.closest("label") && !e.textContent.trim() && !e.getAttribute("aria-label")).length`); bare > 0 {
		t.Errorf("%d controls have no name", bare)
	}
	b.shoot("open-phone")
}

// Without a script the page shows the year.
func TestOpenWithoutScript(t *testing.T) {
	url, _ := served(t)
	b := open(t, url+"?plain", 1280, chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	}))
	if text := eval[string](b, `document.querySelector("pre").textContent`); !strings.Contains(text, "Run ") {
		t.Errorf("%q", text)
	}
}
