package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/subtle"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"maps"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/urfave/cli/v2"

	"twigwatt/cmd/twigwatt/report"
	"twigwatt/scenarios"
	"twigwatt/sim/fault"
)

//go:embed open/page.html
var openPage string

//go:embed open/page.css
var openStyle string

//go:embed open/page.js
var openScript string

// A server answers one household's page. It reads and writes the scenario and the diary it was begun
// with, and no other file.
type server struct {
	scenario, diary string
	key             string   // asked of every request; "": none
	hosts           []string // that a request may name
	heavy           chan struct{}

	keeping sync.Mutex // of the scenario's file
	kept    [][]byte   // what it held before each time it was kept
}

// questions are what may be asked, each by its command.
var questions = []string{"year", "hours", "bank", "risk", "wood", "day", "check"}

// mostBody is the most that a request may hold, and slowest how long an answer may take to be read.
const (
	mostBody = 1 << 20
	slowest  = 10 * time.Second
)

func (s *server) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page)
	mux.HandleFunc("GET /report", s.report)
	for _, question := range questions {
		mux.HandleFunc("POST /"+question, func(w http.ResponseWriter, r *http.Request) { s.ask(w, r, question) })
	}
	mux.HandleFunc("POST /try", s.try)
	mux.HandleFunc("GET /scenario", s.text)
	mux.HandleFunc("POST /keep", s.keep)
	mux.HandleFunc("POST /back", s.back)
	mux.HandleFunc("POST /new", s.fresh)
	mux.HandleFunc("POST /map", s.mapped)
	mux.HandleFunc("POST /diary", s.diaryAdd)
	mux.HandleFunc("GET /diary", s.diaryCheck)
	origin := http.NewCrossOriginProtection()
	return s.guard(origin.Handler(mux))
}

// guard lets through what comes from the page itself, and turns a panic into an answer.
func (s *server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy",
			"default-src 'none'; connect-src 'self'; img-src data:; style-src 'self' 'unsafe-inline'; script-src "+
				scriptHash+"; frame-ancestors 'none'; base-uri 'none'; form-action 'self'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		defer func() {
			if what := recover(); what != nil {
				if what == http.ErrAbortHandler { // the library's own
					panic(what)
				}
				refuse(w, http.StatusInternalServerError, "this is a fault of the program: nothing was changed")
			}
		}()
		if !slices.Contains(s.hosts, r.Host) {
			refuse(w, http.StatusForbidden, "the page is not served by that name")
			return
		}
		if !s.holdsKey(w, r) {
			refuse(w, http.StatusUnauthorized, "open the address with the key that twigwatt open printed")
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		next.ServeHTTP(w, r)
	})
}

var scriptHash = func() string {
	sum := sha256.Sum256([]byte(openScript))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}()

// holdsKey reports whether a request holds the access key, in its address at first and in a cookie then.
func (s *server) holdsKey(w http.ResponseWriter, r *http.Request) bool {
	if s.key == "" {
		return true
	}
	const name = "twigwatt"
	same := func(given string) bool { return subtle.ConstantTimeCompare([]byte(given), []byte(s.key)) == 1 }
	if cookie, err := r.Cookie(name); err == nil && same(cookie.Value) {
		return true
	}
	if same(r.URL.Query().Get("key")) {
		http.SetCookie(w, &http.Cookie{Name: name, Value: s.key, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		return true
	}
	return false
}

// refuse answers with one fault.
func refuse(w http.ResponseWriter, status int, text string) {
	answerFaults(w, status, []faultJSON{{Text: text}})
}

// A faultJSON is what is wrong with a request.
type faultJSON struct {
	Key  string `json:"key"`
	Line int    `json:"line"`
	Text string `json:"text"`
}

func answerFaults(w http.ResponseWriter, status int, faults []faultJSON) {
	writeDocument(w, status, map[string]any{"faults": faults})
}

func writeDocument(w http.ResponseWriter, status int, document any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(document)
}

// An asking is the body of a question.
type asking struct {
	Set     map[string]string `json:"set"`
	Options map[string]string `json:"options"`
	Base    string            `json:"base"` // the version of the file that the page shows
}

// read reads a request's body; false where it answered with what is wrong.
func read(w http.ResponseWriter, r *http.Request) (a asking, ok bool) {
	if kind, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); kind != "application/json" {
		refuse(w, http.StatusUnsupportedMediaType, "a question is JSON")
		return a, false
	}
	decoder := json.NewDecoder(r.Body)
	decoder.DisallowUnknownFields()
	err := decoder.Decode(&a)
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		refuse(w, http.StatusRequestEntityTooLarge, "a question must be smaller than 1 MB")
		return a, false
	case err != nil:
		refuse(w, http.StatusBadRequest, `a question is {"set": {"KEY": "VALUE"}, "options": {"NAME": "VALUE"}}`)
		return a, false
	}
	for key := range a.Set { // no request may name a file
		if strings.HasSuffix(strings.ToLower(strings.TrimSpace(key)), ".file") || strings.ContainsAny(key, "\"'\\=\n") {
			refuse(w, http.StatusForbidden, "a page cannot name a file to be read, or a key in quotes: "+fault.Plain(key))
			return a, false
		}
	}
	return a, true
}

// hidden are options that a page cannot give: they name files, or are the page's own.
var hidden = []string{"report", "no-report", "trace", "out", "json", "set", "jobs", "diary", "plan"}

// words are the words of a command that asks what a page asks.
func (s *server) words(command string, a asking) ([]string, error) {
	words := []string{command, s.scenario, "--json"}
	for _, key := range slices.Sorted(maps.Keys(a.Set)) {
		words = append(words, "--set="+key+"="+a.Set[key])
	}
	for _, name := range slices.Sorted(maps.Keys(a.Options)) {
		if slices.Contains(hidden, name) || strings.ContainsAny(name, "= ") {
			return nil, usagef("--%s cannot be given from a page", fault.Plain(name))
		}
		words = append(words, "--"+name+"="+a.Options[name])
	}
	if command == "day" && s.diary != "" {
		if _, err := os.Stat(s.diary); err == nil {
			words = append(words, "--diary="+s.diary)
		}
	}
	return words, nil
}

// progress is how far a question has come, on its way through the context.
type progress struct{}

// ask answers a question as its command does with --json.
func (s *server) ask(w http.ResponseWriter, r *http.Request, command string) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	words, err := s.words(command, a)
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	s.work(w, r, func(ctx context.Context) (status int, document []byte) { return s.answer(ctx, words) })
}

// work answers with what is worked out, once there is room for it; how far it has come is told meanwhile
// to who asks for a stream of events.
func (s *server) work(w http.ResponseWriter, r *http.Request, do func(ctx context.Context) (status int, document []byte)) {
	if !s.begin(r.Context()) {
		return
	}
	defer s.end()
	ctx, out := r.Context(), http.NewResponseController(w)
	soon := func() { out.SetWriteDeadline(time.Now().Add(slowest)) } // who reads more slowly is cut off
	if !strings.Contains(r.Header.Get("Accept"), "text/event-stream") {
		status, document := do(ctx)
		soon()
		if w.Header().Get("Content-Type") == "" {
			w.Header().Set("Content-Type", "application/json; charset=utf-8")
		}
		w.WriteHeader(status)
		w.Write(document)
		return
	}
	w.Header().Set("Content-Type", "text/event-stream")
	w.WriteHeader(http.StatusOK)
	out.Flush()
	last := time.Time{}
	var sending sync.Mutex
	ctx = context.WithValue(ctx, progress{}, func(done, of int) {
		sending.Lock()
		defer sending.Unlock()
		const between = 100 * time.Millisecond
		if time.Since(last) >= between {
			last = time.Now()
			soon()
			fmt.Fprintf(w, "event: progress\ndata: {\"done\": %d, \"of\": %d}\n\n", done, of)
			out.Flush()
		}
	})
	status, document := do(ctx)
	event := "answer"
	if status != http.StatusOK {
		event = "fault"
	}
	soon()
	fmt.Fprintf(w, "event: %s\n", event)
	for line := range strings.SplitSeq(strings.TrimSpace(string(document)), "\n") {
		fmt.Fprintf(w, "data: %s\n", line)
	}
	fmt.Fprint(w, "\n")
	out.Flush()
}

// begin waits for one of as many places as there are cores; false where the asker went away.
func (s *server) begin(ctx context.Context) bool {
	select {
	case s.heavy <- struct{}{}:
		return true
	case <-ctx.Done():
		return false
	}
}

func (s *server) end() { <-s.heavy }

// answer runs a command and returns what it prints, or its faults.
func (s *server) answer(ctx context.Context, words []string) (status int, document []byte) {
	var out, wrong bytes.Buffer
	err := runWords(ctx, words, &out, &wrong)
	if err == nil {
		return http.StatusOK, out.Bytes()
	}
	faults, status := faultsIn(err)
	text, _ := json.Marshal(map[string]any{"faults": faults})
	return status, append(text, '\n')
}

// faultsIn are what an error says is wrong, and how the answer is called.
func faultsIn(err error) (all []faultJSON, status int) {
	var told fault.Faults
	if errors.As(err, &told) {
		for _, f := range told {
			all = append(all, faultJSON{f.Key, max(0, f.Line), f.Text})
		}
		return all, http.StatusUnprocessableEntity
	}
	return []faultJSON{{Text: fault.Plain(err.Error())}}, http.StatusUnprocessableEntity
}

// runWords runs a command in this program.
func runWords(ctx context.Context, words []string, stdout, stderr io.Writer) error {
	app := newApp(stdout, stderr)
	words, err := optionsFirst(app, words)
	if err != nil {
		return err
	}
	return app.RunContext(ctx, append([]string{"twigwatt"}, words...))
}

// page is the household's own.
func (s *server) page(w http.ResponseWriter, r *http.Request) {
	var out, wrong bytes.Buffer
	text := ""
	if r.URL.Query().Has("plain") { // without a script: the year, as at the command line
		if !s.begin(r.Context()) {
			return
		}
		defer s.end()
		if err := runWords(r.Context(), []string{"year", s.scenario, "--no-report"}, &out, &wrong); err != nil {
			text = err.Error()
		} else {
			text = out.String()
		}
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	openMade.Execute(w, map[string]any{"Name": s.scenario,
		"Style": template.CSS(openStyle), "Script": template.JS(openScript), "Plain": text,
		"Cautions": report.Cautions, "Diary": s.diary,
		"Sliders": sliders, "Questions": questions[1:5], "Examples": scenarios.Examples()})
}

var openMade = template.Must(template.New("open").Parse(openPage))

// A slider is a key that is tried most, with the reach of its slider.
type slider struct {
	Key, Label, Unit  string
	Least, Most, Step float64
	Fallback          float64 // where the scenario has none
}

var sliders = []slider{
	{"tending.max_hours_a_day", "hours a day, at most", "h", 0, 12, 0.5, 8},
	{"tending.max_starts_a_day", "light-ups a day", "", 1, 2, 1, 1},
	{"load.kwh_per_day", "the house", "kWh a day", 1, 20, 0.25, 5},
	{"battery.kwh", "bank", "kWh", 2, 60, 0.5, 14},
	{"engine.kw", "set", "kW", 0.5, 6, 0.1, 2.6},
	{"panels.roof.kw_peak", "panels", "kW", 0, 6, 0.1, 0},
	{"engine.rated_moisture_pct", "moisture of the wood", "%", 8, 30, 1, 15},
	{"plan.spare_pct", "spare above the floor", "%", 0, 50, 5, 10},
}

// report is the page that year writes.
func (s *server) report(w http.ResponseWriter, r *http.Request) {
	s.work(w, r, func(ctx context.Context) (int, []byte) {
		page, err := yearPage(ctx, s.scenario)
		if err != nil {
			return told(err)
		}
		w.Header().Del("Content-Security-Policy") // the page has its own
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		return http.StatusOK, page
	})
}

// yearPage is the page of a year, as the command writes it.
func yearPage(ctx context.Context, scenario string) ([]byte, error) {
	var page bytes.Buffer
	app := newApp(io.Discard, io.Discard)
	for _, command := range app.Commands {
		if command.Name == "year" {
			command.Action = func(c *cli.Context) error {
				s, r, err := yearOf(c)
				if err != nil {
					return err
				}
				return r.WritePage(&page, basisOf(c, s))
			}
		}
	}
	err := app.RunContext(ctx, []string{"twigwatt", "year", scenario})
	return page.Bytes(), err
}

// file is the scenario's text as it stands on the disk, and its version; an example has none.
func (s *server) file() (text []byte, version string, err error) {
	if text, _, ok := scenarios.Example(s.scenario); ok {
		if _, err := os.Stat(s.scenario); err != nil {
			return text, versionOf(text), errExample
		}
	}
	text, err = os.ReadFile(s.scenario)
	if err != nil {
		return nil, "", unreadable(s.scenario, err)
	}
	return text, versionOf(text), nil
}

var errExample = errors.New("this is an example of the program and is not written to: " +
	"twigwatt new home.toml makes a scenario of your own, and twigwatt open home.toml opens it")

func versionOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// text answers the scenario's text, its version and whether it may be kept.
func (s *server) text(w http.ResponseWriter, _ *http.Request) {
	text, version, err := s.file()
	if err != nil && !errors.Is(err, errExample) {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	writeDocument(w, http.StatusOK,
		map[string]any{"name": s.scenario, "text": string(text), "version": version, "example": err != nil,
			"back": len(s.kept)})
}

// keep writes changed keys into the scenario's file, all else as it stands.
func (s *server) keep(w http.ResponseWriter, r *http.Request) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	text, version, err := s.file()
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	if version != a.Base {
		writeDocument(w, http.StatusConflict,
			map[string]any{"faults": []faultJSON{{Text: "the file was changed meanwhile; nothing was kept"}},
				"text": string(text), "version": version})
		return
	}
	options := []scenarios.Option{today()}
	var lines []scenarios.Line
	for _, key := range slices.Sorted(maps.Keys(a.Set)) {
		options = append(options, scenarios.Set(key+"="+a.Set[key]))
		lines = append(lines, scenarios.Line{Key: key, Value: scenarios.Written(a.Set[key])})
	}
	if _, err := scenarios.Read(s.scenario, openFile, options...); err != nil {
		faults, status := faultsIn(err)
		answerFaults(w, status, faults)
		return
	}
	edited, err := scenarios.Edited(string(text), lines)
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	s.put(w, text, []byte(edited))
}

// put writes the scenario's file, which must still read as a scenario.
func (s *server) put(w http.ResponseWriter, old, text []byte) {
	again := func(name string) (io.ReadCloser, error) {
		if name == s.scenario {
			return io.NopCloser(bytes.NewReader(text)), nil
		}
		return openFile(name)
	}
	if _, err := scenarios.Read(s.scenario, again, today()); err != nil {
		faults, status := faultsIn(err)
		answerFaults(w, status, faults)
		return
	}
	if err := writeText(s.scenario, overOlder, text); err != nil {
		refuse(w, http.StatusInsufficientStorage, err.Error())
		return
	}
	if old != nil {
		s.kept = append(s.kept, old)
	}
	writeDocument(w, http.StatusOK, map[string]any{"text": string(text), "version": versionOf(text), "back": len(s.kept)})
}

// back takes the last keeping back.
func (s *server) back(w http.ResponseWriter, r *http.Request) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	text, version, err := s.file()
	switch {
	case err != nil:
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	case len(s.kept) == 0:
		refuse(w, http.StatusUnprocessableEntity, "nothing was kept that could be taken back")
		return
	case version != a.Base:
		writeDocument(w, http.StatusConflict,
			map[string]any{"faults": []faultJSON{{Text: "the file was changed meanwhile; nothing was taken back"}},
				"text": string(text), "version": version})
		return
	}
	before := s.kept[len(s.kept)-1]
	s.kept = s.kept[:len(s.kept)-1]
	s.put(w, nil, before)
}

// diaryAdd adds a run to the diary.
func (s *server) diaryAdd(w http.ResponseWriter, r *http.Request) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	if s.diary == "" {
		refuse(w, http.StatusUnprocessableEntity, "begin with twigwatt open --diary runs.csv to keep a diary")
		return
	}
	words := []string{"diary", "add", s.diary, "--json"}
	for _, name := range slices.Sorted(maps.Keys(a.Options)) {
		if slices.Contains(hidden, name) || strings.ContainsAny(name, "= ") {
			refuse(w, http.StatusUnprocessableEntity, "--"+fault.Plain(name)+" cannot be given from a page")
			return
		}
		words = append(words, "--"+name+"="+a.Options[name])
	}
	s.respond(w, r, words)
}

// diaryCheck compares the diary with the scenario.
func (s *server) diaryCheck(w http.ResponseWriter, r *http.Request) {
	if s.diary == "" {
		refuse(w, http.StatusUnprocessableEntity, "begin with twigwatt open --diary runs.csv to keep a diary")
		return
	}
	s.respond(w, r, []string{"diary", "check", s.diary, s.scenario, "--json"})
}

// respond answers with what a command prints.
func (s *server) respond(w http.ResponseWriter, r *http.Request, words []string) {
	s.work(w, r, func(ctx context.Context) (status int, document []byte) { return s.answer(ctx, words) })
}

// fresh puts an example in place of the scenario's text; it can be taken back.
func (s *server) fresh(w http.ResponseWriter, r *http.Request) {
	a, ok := read(w, r)
	if !ok {
		return
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	old, version, err := s.file()
	text, beside, known := scenarios.Example(a.Options["from"])
	switch {
	case err != nil:
		refuse(w, http.StatusUnprocessableEntity, err.Error())
	case !known:
		refuse(w, http.StatusUnprocessableEntity, "there is no such example; there are "+strings.Join(scenarios.Examples(), ", "))
	case version != a.Base:
		refuse(w, http.StatusConflict, "the file was changed meanwhile; nothing was kept")
	case len(beside) > 0:
		refuse(w, http.StatusUnprocessableEntity,
			"that example has files of its own beside it: twigwatt new NAME.toml --from "+a.Options["from"])
	default:
		s.put(w, old, text)
	}
}
