package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

const served = `# a house to be served
days = 6
step_minutes = 60
[load]
kwh_per_day = 5 # as measured
[engine]
kw = 2.6
[battery]
kwh = 12
`

// page serves a scenario of a text, and returns where, with its file.
func page(t *testing.T, text string) (s *server, url, file string) {
	t.Helper()
	file = filepath.Join(t.TempDir(), "home.toml")
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s = &server{scenario: file, heavy: make(chan struct{}, 2)}
	at := httptest.NewServer(s.handler())
	t.Cleanup(at.Close)
	s.hosts = []string{strings.TrimPrefix(at.URL, "http://")}
	return s, at.URL, file
}

// post asks, and returns status and body.
func post(t *testing.T, url, body string, header ...string) (int, string) {
	t.Helper()
	r, err := http.NewRequest("POST", url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	for i := 0; i+1 < len(header); i += 2 {
		if header[i] == "Host" {
			r.Host = header[i+1]
		} else {
			r.Header.Set(header[i], header[i+1])
		}
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, _ := io.ReadAll(answer.Body)
	return answer.StatusCode, string(text)
}

// A question on the page is answered as the command answers it with --json, to the byte; a fault names
// its key, and no answer comes with it.
func TestThePageAnswersAsTheCommand(t *testing.T) {
	_, url, file := page(t, served)
	for question, options := range map[string]string{"year": "", "check": "", "wood": "", "hours": `"every": "6", "lives": "2"`, "bank": `"kwh": "8,12", "lives": "2"`,
		"risk": `"years": "3"`, "day": `"soc": "60", "date": "2025-01-03", "at": "10:00"`} {
		status, got := post(t, url+"/"+question, `{"set": {"load.kwh_per_day": "6"}, "options": {`+options+`}}`)
		words := []string{question, file, "--json", "--set", "load.kwh_per_day=6"}
		var given map[string]string
		if err := json.Unmarshal([]byte("{"+options+"}"), &given); err != nil {
			t.Fatal(err)
		}
		for name, value := range given {
			words = append(words, "--"+name, value)
		}
		var want, wrong bytes.Buffer
		if code := run(t.Context(), words, &want, &wrong); code != 0 || status != 200 || got != want.String() {
			t.Errorf("%s: %d, %.200s\nthe command (%d): %.200s %s", question, status, got, code, want.String(), wrong.String())
		}
	}
	status, got := post(t, url+"/year", `{"set": {"load.kwh_per_day": "-3"}}`)
	var refused struct{ Faults []faultJSON }
	if err := json.Unmarshal([]byte(got), &refused); err != nil || status != http.StatusUnprocessableEntity || len(refused.Faults) != 1 ||
		refused.Faults[0].Key != "load.kwh_per_day" || !strings.Contains(refused.Faults[0].Text, "got -3") {
		t.Errorf("%d %s", status, got)
	}
	if status, got := post(t, url+"/try", `{"set": {"battery.kwh": "20"}}`); status != 200 || !strings.Contains(got, `"nights"`) {
		t.Errorf("%d %.200s", status, got)
	}
}

// What does not come from the page itself, is no question or would name a file is refused, and the server
// stays up.
func TestThePageRefuses(t *testing.T) {
	s, url, _ := page(t, served)
	for name, c := range map[string]struct {
		path, body string
		header     []string
		want       int
	}{
		"another host":     {"/year", "{}", []string{"Host", "evil.example"}, 403},
		"another origin":   {"/year", "{}", []string{"Origin", "http://evil.example"}, 403},
		"another site":     {"/year", "{}", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		"no JSON":          {"/year", "days=3", []string{"Content-Type", "text/plain"}, 415},
		"a form":           {"/keep", "set=x", []string{"Content-Type", "application/x-www-form-urlencoded"}, 415},
		"broken JSON":      {"/year", `{"set": `, nil, 400},
		"another field":    {"/year", `{"file": "/etc/passwd"}`, nil, 400},
		"too large":        {"/year", `{"set": {"name": "` + strings.Repeat("x", mostBody) + `"}}`, nil, 413},
		"a file to read":   {"/year", `{"set": {"load.file": "/etc/passwd"}}`, nil, 403},
		"in quotes":        {"/year", `{"set": {"load.\"file\"": "/etc/passwd"}}`, nil, 403},
		"an assignment":    {"/year", `{"set": {"load.scale=1 --set load.file": "/etc/passwd"}}`, nil, 403},
		"a file to write":  {"/year", `{"options": {"report": "elsewhere.html"}}`, nil, 422},
		"a trace":          {"/year", `{"options": {"trace": "elsewhere.csv"}}`, nil, 422},
		"a diary":          {"/day", `{"options": {"soc": "50", "diary": "/etc/passwd"}}`, nil, 422},
		"no such option":   {"/year", `{"options": {"nosuch": "1"}}`, nil, 422},
		"no such question": {"/diary/../etc", "{}", nil, 404},
		"no such file":     {"/etc/passwd", "{}", nil, 404},
		"without a diary":  {"/diary", "{}", nil, 422},
	} {
		if status, text := post(t, url+c.path, c.body, c.header...); status != c.want {
			t.Errorf("%s: %d, want %d: %.200s", name, status, c.want, text)
		}
	}
	if answer, err := http.Get(url + "/year"); err != nil || answer.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("GET /year: %v %v", answer.StatusCode, err)
	}
	s.heavy = nil // a channel that lets nobody in: whoever asks goes away
	ctx, stop := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer stop()
	r, _ := http.NewRequestWithContext(ctx, "POST", url+"/year", strings.NewReader("{}"))
	r.Header.Set("Content-Type", "application/json")
	if _, err := http.DefaultClient.Do(r); err == nil {
		t.Error("an answer from a full house")
	}
}

// A handler's panic is an answer of its own, and the server stays up.
func TestAPanicIsAnAnswer(t *testing.T) {
	s := &server{hosts: []string{"here"}}
	guarded := s.guard(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("no") }))
	w, r := httptest.NewRecorder(), httptest.NewRequest("GET", "http://here/", nil)
	guarded.ServeHTTP(w, r)
	if w.Code != 500 || !strings.Contains(w.Body.String(), "fault of the program") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

// Off the machine a key is asked for: in the address at first, then in a cookie that no script reads.
func TestTheKey(t *testing.T) {
	s, url, _ := page(t, served)
	s.key = "a-key-of-the-test"
	if status, _ := post(t, url+"/check", "{}"); status != http.StatusUnauthorized {
		t.Errorf("without a key: %d", status)
	}
	if status, _ := post(t, url+"/check?key=wrong", "{}"); status != http.StatusUnauthorized {
		t.Errorf("with a wrong key: %d", status)
	}
	answer, err := http.Get(url + "/?key=" + s.key)
	if err != nil || answer.StatusCode != 200 || len(answer.Cookies()) != 1 || !answer.Cookies()[0].HttpOnly {
		t.Fatalf("with the key: %v %v", answer, err)
	}
	if status, _ := post(t, url+"/check", "{}", "Cookie", "twigwatt="+s.key); status != 200 {
		t.Errorf("with the cookie: %d", status)
	}
	if status, _ := post(t, url+"/check", "{}", "Cookie", "twigwatt=other"); status != http.StatusUnauthorized {
		t.Errorf("with another cookie: %d", status)
	}
}

// Keep changes the keys that were moved and no byte else; take back restores every byte; a file that was
// changed meanwhile is shown and not overwritten; what is wrong is not kept.
func TestKeepAndTakeBack(t *testing.T) {
	_, url, file := page(t, served)
	version := func() string {
		answer, err := http.Get(url + "/scenario")
		if err != nil {
			t.Fatal(err)
		}
		var document struct{ Version, Text string }
		json.NewDecoder(answer.Body).Decode(&document)
		return document.Version
	}
	text := func() string {
		got, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return string(got)
	}
	first := version()
	if status, got := post(t, url+"/keep", `{"set": {"battery.kwh": "16", "name": "the mill"}, "base": "`+first+`"}`); status != 200 {
		t.Fatalf("%d %s", status, got)
	}
	kept := text()
	for _, want := range []string{"# a house to be served\n", "kwh_per_day = 5 # as measured\n", "# was: kwh = 12\nkwh = 16\n", `name = "the mill"`} {
		if !strings.Contains(kept, want) {
			t.Errorf("kept without %q:\n%s", want, kept)
		}
	}
	if status, _ := post(t, url+"/keep", `{"set": {"battery.kwh": "0"}, "base": "`+version()+`"}`); status != 422 || text() != kept {
		t.Errorf("what is wrong was kept (%d)", status)
	}
	if status, got := post(t, url+"/keep", `{"set": {"battery.kwh": "18"}, "base": "`+first+`"}`); status != http.StatusConflict || text() != kept || !strings.Contains(got, "kwh = 16") {
		t.Errorf("a changed file was overwritten (%d): %s", status, got)
	}
	if status, got := post(t, url+"/back", `{"base": "`+version()+`"}`); status != 200 || text() != served {
		t.Errorf("%d %s\n%s", status, got, text())
	}
	if status, _ := post(t, url+"/back", `{"base": "`+version()+`"}`); status != 422 {
		t.Errorf("taken back twice: %d", status)
	}
	if err := os.Chmod(filepath.Dir(file), 0o555); err == nil && os.Getuid() != 0 { // a folder that takes no more
		if status, _ := post(t, url+"/keep", `{"set": {"battery.kwh": "16"}, "base": "`+version()+`"}`); status != http.StatusInsufficientStorage || text() != served {
			t.Errorf("where nothing can be written: %d", status)
		}
		os.Chmod(filepath.Dir(file), 0o755)
	}
	s := &server{scenario: "cabin", heavy: make(chan struct{}, 1), hosts: []string{"here"}}
	w, r := httptest.NewRecorder(), httptest.NewRequest("POST", "http://here/keep", strings.NewReader(`{"set": {"battery.kwh": "16"}}`))
	r.Header.Set("Content-Type", "application/json")
	if s.handler().ServeHTTP(w, r); w.Code != 422 || !strings.Contains(w.Body.String(), "example") {
		t.Errorf("an example: %d %s", w.Code, w.Body)
	}
}

// A long question tells how far it has come and ends with its answer; a diary takes a row.
func TestALongQuestionAndADiary(t *testing.T) {
	s, url, _ := page(t, served)
	s.diary = filepath.Join(t.TempDir(), "runs.csv")
	status, got := post(t, url+"/risk", `{"options": {"years": "400"}}`, "Accept", "text/event-stream")
	if status != 200 || !strings.Contains(got, "event: progress\ndata: {\"done\": ") || !strings.Contains(got, "event: answer\ndata: {\n") {
		t.Errorf("%d %.300s", status, got)
	}
	if status, got := post(t, url+"/risk", `{"options": {"years": "0"}}`, "Accept", "text/event-stream"); status != 200 || !strings.Contains(got, "event: fault\n") {
		t.Errorf("%d %.300s", status, got)
	}
	row := `{"options": {"date": "2025-01-03", "start": "16:30", "stop": "20:00", "wood-as-is-kg": "12", "kwh": "6"}}`
	if status, got := post(t, url+"/diary", row); status != 200 || !strings.Contains(got, `"rows": 1`) {
		t.Errorf("%d %s", status, got)
	}
	if answer, err := http.Get(url + "/diary"); err != nil || answer.StatusCode != 200 {
		t.Errorf("the diary's check: %v %v", answer, err)
	}
	if answer, err := http.Get(url + "/report"); err != nil || answer.StatusCode != 200 || !strings.Contains(answer.Header.Get("Content-Type"), "text/html") {
		t.Errorf("the report: %v %v", answer, err)
	}
	answer, err := http.Get(url + "/?plain")
	if err != nil {
		t.Fatal(err)
	}
	if text, _ := io.ReadAll(answer.Body); !strings.Contains(string(text), "Run ") || strings.Contains(string(text), "https://") {
		t.Errorf("without a script: %.300s", text)
	}
}

// The map counts dark days for limits and sizes: a larger bank and more hours are not darker by much; an
// example takes the place of the scenario, and is taken back to the byte.
func TestTheMapAndANewHousehold(t *testing.T) {
	_, url, file := page(t, served)
	status, got := post(t, url+"/map", `{"set": {"load.kwh_per_day": "9"}}`)
	var mapped struct {
		MaxHours      []float64 `json:"max_hours"`
		KWh           []float64 `json:"kwh"`
		ShortfallDays []int     `json:"shortfall_days"`
	}
	if err := json.Unmarshal([]byte(got), &mapped); err != nil || status != 200 || len(mapped.ShortfallDays) != len(mapped.MaxHours)*len(mapped.KWh) {
		t.Fatalf("%d %v %.300s", status, err, got)
	}
	first, last := mapped.ShortfallDays[0], mapped.ShortfallDays[len(mapped.ShortfallDays)-1]
	if first <= last {
		t.Errorf("the least hours and bank are dark on %d days, the most on %d", first, last)
	}
	answer, err := http.Get(url + "/scenario")
	if err != nil {
		t.Fatal(err)
	}
	var document struct{ Version string }
	json.NewDecoder(answer.Body).Decode(&document)
	if status, got := post(t, url+"/new", `{"options": {"from": "holm"}, "base": "`+document.Version+`"}`); status != 422 || !strings.Contains(got, "--from holm") {
		t.Errorf("an example with files of its own: %d %s", status, got)
	}
	status, got = post(t, url+"/new", `{"options": {"from": "glade"}, "base": "`+document.Version+`"}`)
	var kept struct{ Version, Text string }
	if json.Unmarshal([]byte(got), &kept); status != 200 || !strings.Contains(kept.Text, "[panels.roof]") {
		t.Fatalf("%d %.200s", status, got)
	}
	if status, _ := post(t, url+"/back", `{"base": "`+kept.Version+`"}`); status != 200 {
		t.Errorf("taken back: %d", status)
	}
	if text, _ := os.ReadFile(file); string(text) != served {
		t.Errorf("not to the byte:\n%s", text)
	}
}

// Thirty at once are all answered, two at a time.
func TestThirtyAtOnce(t *testing.T) {
	_, url, _ := page(t, served)
	var all sync.WaitGroup
	for range 30 {
		all.Go(func() {
			if status, text := post(t, url+"/try", `{"set": {}}`); status != 200 {
				t.Errorf("%d %.200s", status, text)
			}
		})
	}
	all.Wait()
}
