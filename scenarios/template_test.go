package scenarios_test

import (
	"strings"
	"testing"

	"twigwatt/scenarios"
)

// The file that new writes says: take the # from a line and its table's. Done to any
// one line, it reads, or says which other key stands against it or is needed beside it.
func TestEveryLineOfTheTemplateWorks(t *testing.T) {
	rows := strings.Split(strings.TrimRight(scenarios.Template(), "\n"), "\n")
	table, tried := 0, 0
	for i, row := range rows {
		if len([]rune(row)) > 80 && !strings.Contains(row, " = ") {
			t.Errorf("line %d has more than 80 characters: %s", i+1, row)
		}
		bare := strings.TrimPrefix(row, "# ")
		if strings.HasPrefix(bare, "[") && strings.HasSuffix(bare, "]") && !strings.Contains(bare, "=") {
			table = i
		}
		key, _, ok := strings.Cut(bare, " = ")
		if bare == row || !ok || strings.ContainsAny(key, " ,;:") {
			continue
		}
		text := append([]string(nil), rows...)
		text[i], text[table] = bare, strings.TrimPrefix(rows[table], "# ")
		tried++
		var options []scenarios.Option
		if !full() && key != "days" {
			options = append(options, scenarios.Set("days=2"))
		}
		_, err := readText(strings.Join(text, "\n"), nil, options...)
		if err == nil {
			continue
		}
		for fault := range strings.SplitSeq(err.Error(), "\n") {
			if !strings.Contains(fault, "contradicts") && !strings.Contains(fault, "need") && !strings.Contains(fault, "must be a file beside the scenario") {
				t.Errorf("line %d, %s: %s", i+1, bare, fault)
			}
		}
	}
	if want := len(scenarios.Manual()) - 3; tried != want {
		t.Errorf("%d lines tried, of %d keys that a new scenario leaves out", tried, want)
	}
}
