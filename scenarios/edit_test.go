package scenarios_test

import (
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"twigwatt/scenarios"
)

func TestEdited(t *testing.T) {
	const before = `# ours
name = "x"
[load]
kwh_per_day = 5 # measured
[engine]
kw = 2.6
wood_curve = [ # from the scales
  [0, 1.1],
  [2.6, 4.5], # full ]
]
[battery]
kind = "flooded"
kwh = 14
`
	const after = `# ours
name = "x"
[load]
scale = 1.1  # from the diary
kwh_per_day = 5 # measured
[engine]
wood_idle_kg_h = 1.3
wood_per_kwh_kg = 1
# was: kw = 2.6
kw = 2.5
# wood_curve = [ # from the scales
#   [0, 1.1],
#   [2.6, 4.5], # full ]
# ]
[battery]
kind = "flooded"
kwh = 14

[plan]
hour_kg = 3
`
	got, err := scenarios.Edited(before, []scenarios.Line{{Key: "load.scale", Value: "1.1", Comment: "from the diary"}, {Key: "engine.kw", Value: "2.5"},
		{Key: "engine.wood_idle_kg_h", Value: "1.3"}, {Key: "engine.wood_per_kwh_kg", Value: "1"}, {Key: "plan.hour_kg", Value: "3"}})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(after, strings.TrimRight(got, "\n")+"\n"); diff != "" {
		t.Error(diff)
	}
	s, err := scenarios.Read("x.toml", func(string) (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(got)), nil })
	if err != nil || s.House.Set.KW != 2.5 {
		t.Errorf("read again: %v", err)
	}
	crlf, err := scenarios.Edited("[load]\r\nkwh_per_day=5\r\n[engine]\r\nkw=2 # plate\r\nkw_x=1\r\n", []scenarios.Line{{Key: "engine.kw", Value: "3"}, {Key: "load.scale", Value: "2"}})
	if want := "[load]\r\nscale = 2\r\nkwh_per_day=5\r\n[engine]\r\n# was: kw=2 # plate\r\nkw = 3\r\nkw_x=1\r\n"; err != nil || crlf != want {
		t.Errorf("lines that end in CRLF: got %q, want %q, %v", crlf, want, err)
	}
	if _, err := scenarios.Edited("load = {kwh_per_day = 5, scale = 1}\n", []scenarios.Line{{Key: "load.scale", Value: "2"}}); err == nil || !strings.Contains(err.Error(), "load.scale") {
		t.Errorf("a key in an inline table: got %v", err)
	}
}
