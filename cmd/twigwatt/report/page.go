package report

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io"

	"github.com/go-echarts/statsview/statics"
)

//go:embed page.tmpl
var pageTemplate string

//go:embed page.css
var pageStyle string

//go:embed page.js
var pageScript string

// A Page is one HTML file that needs nothing else. Its parts are the same for
// every command.
type Page struct {
	Basis
	Title    string
	Subtitle string
	Card     *Card // a sheet to hang up, printed on A5; nil: none
	Answers  []Answer
	Todo     []string
	Parts    []Part
	Warnings []string
	Cautions []string
}

// A Basis is what results rest on.
type Basis struct {
	Rests []Table  // every value in force, by table of the scenario
	Again []string // how to make the same page again
	Text  string   // of the scenario
}

// A Card is a sheet to hang up or to carry: a table in large type, and lines under it.
type Card struct {
	Title string
	Lead  string // under the title
	Table
	Lines []string
}

// An Answer is a plain sentence under a word.
type Answer struct{ Label, Text string }

// answer adds a sentence under a word; nothing where there is no text.
func (p *Page) answer(label, text string) {
	if text != "" {
		p.Answers = append(p.Answers, Answer{label, text})
	}
}

// A Part is a section: a caption that is a finding, a figure, a table of the same numbers.
type Part struct {
	ID, Title, Caption string
	Still              template.HTML // our own SVG, drawn without a script
	Chart              any           // options of a chart, nil: none
	Tall               bool
	Tables             []Table
}

// A Table has a heading row and, in each row, a heading cell first.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
	Words   bool // cells are words, not figures
}

// options are a chart's, as JSON that stands safely in a script element.
func (p Part) options() (template.JS, error) {
	text, err := json.Marshal(p.Chart) // escapes < > &
	return template.JS(text), err
}

var pageMade = template.Must(template.New("page").Funcs(template.FuncMap{"options": Part.options}).Parse(pageTemplate))

// WritePage writes a page, the same bytes for the same page.
func WritePage(w io.Writer, p *Page) error {
	library, script := template.JS(statics.EchartJS), template.JS(pageScript)
	var out bytes.Buffer
	err := pageMade.Execute(&out, struct {
		*Page
		Policy          template.HTMLAttr
		Style           template.CSS
		Library, Script template.JS
	}{p, policy(string(library), string(script)), template.CSS(pageStyle), library, script})
	if err != nil {
		return fmt.Errorf("writing the page: %w", err)
	}
	_, err = w.Write(out.Bytes())
	return err
}

// policy lets the two scripts run and nothing be fetched.
func policy(scripts ...string) template.HTMLAttr {
	text := "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src"
	for _, s := range scripts {
		sum := sha256.Sum256([]byte(s))
		text += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return template.HTMLAttr(`content="` + text + `"`)
}
