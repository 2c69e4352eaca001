package scenarios

import (
	"embed"
	"io"
	"io/fs"
	"strings"
)

//go:embed *.toml *.csv
var examples embed.FS

// Examples returns the names of the embedded examples.
func Examples() (names []string) {
	for _, file := range filesLike("*.toml") {
		names = append(names, strings.TrimSuffix(file, ".toml"))
	}
	return names
}

// filesLike are the names of the embedded files that fit a pattern, in order.
func filesLike(pattern string) []string {
	names, err := fs.Glob(examples, pattern)
	if err != nil {
		panic(err) // the patterns are ours
	}
	return names
}

// An ExampleFile is a file of an embedded example.
type ExampleFile struct {
	Name string // like holm-load.csv
	Text []byte
}

// Example returns an embedded example's scenario and the files that lie beside it,
// a load or a diary: those whose names begin with its own. False where there is
// no example of that name.
func Example(name string) (scenario []byte, beside []ExampleFile, ok bool) {
	scenario, err := examples.ReadFile(name + ".toml")
	if err != nil {
		return nil, nil, false
	}
	for _, file := range filesLike(name + "-*") {
		text, err := examples.ReadFile(file)
		if err != nil {
			panic(err) // embedded
		}
		beside = append(beside, ExampleFile{file, text})
	}
	return scenario, beside, true
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
