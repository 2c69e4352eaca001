package fault_test

import (
	"fmt"

	"twigwatt/sim/fault"
)

// A fault stands in a file, on a line of it, under a key of it, as far as is known.
// Worked: the parts as they are put together.
func ExampleFaults() {
	fmt.Println(fault.Faults{
		{File: "runs.csv", Text: "must be smaller than 16 MB"},
		{File: "runs.csv", Line: 3, Text: "must have 9 cells, got 8"},
		{File: "home.toml", Line: 7, Key: "engine.kw", Text: "must be more than 0, got -1"},
		{File: "--set", Line: -1, Key: "engine.kw", Text: "must be more than 0, got -2"},
	}.Error())
	// Output:
	// runs.csv: must be smaller than 16 MB
	// runs.csv:3: must have 9 cells, got 8
	// home.toml:7: engine.kw: must be more than 0, got -1
	// --set: engine.kw: must be more than 0, got -2
}
