package scenarios

import (
	"embed"
	"io"
	"strings"
)

//go:embed *.toml *.csv
var examples embed.FS

// Examples returns the names of the embedded examples.
func Examples() []string {
	entries, err := examples.ReadDir(".")
	if err != nil {
		panic(err) // embedded
	}
	var names []string
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), ".toml"); ok {
			names = append(names, name)
		}
	}
	return names
}

// OpenExample opens an embedded file, like an example's diary, by its name with or
// without its ending; false where there is none.
func OpenExample(name string) (io.ReadCloser, bool) {
	for _, name := range []string{name, name + ".csv"} {
		if f, err := examples.Open(name); err == nil {
			return f, true
		}
	}
	return nil, false
}
