package plan_test

import (
	"flag"
	"os"
)

// full is set where tests may take their time and need all they can use: TWIGWATT_FULL=1.
func full() bool { return os.Getenv("TWIGWATT_FULL") == "1" }

// Few draws are tried unless tests may take their time.
func init() {
	if !full() {
		flag.Set("rapid.checks", "15")
	}
}

// quick is a value for tests that must be quick, and one for those that may take their time.
func quick[T any](short, long T) T {
	if full() {
		return long
	}
	return short
}
