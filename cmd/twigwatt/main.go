// Command twigwatt answers a household that makes its own electricity from its
// own wood: how many hours a day to run, how much wood that is in a year, and
// whether the battery bank is big enough.
package main

import (
	"context"
	"os"
)

func main() { os.Exit(run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) }
