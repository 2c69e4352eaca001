package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	if !full() {
		debug.SetGCPercent(400) // time is scarcer here than memory
	}
	testscript.Main(m, map[string]func(){
		"twigwatt": func() { os.Exit(run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// full reports that all is to be run, the slow too: TWIGWATT_FULL=1, as .ci/run sets it.
func full() bool { return os.Getenv("TWIGWATT_FULL") == "1" }

// TestCommands runs each script of testdata. A line that begins with [full] is run with
// TWIGWATT_FULL=1 alone: it is slow, and its claim is tested on a shorter span beside it.
// Without it each program works on one core, since scripts run side by side.
func TestCommands(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "testdata",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"ask": ask},
		Setup: func(env *testscript.Env) error {
			if !full() {
				env.Setenv("GOMAXPROCS", "1")
			}
			return nil
		},
		Condition: func(name string) (bool, error) {
			if name != "full" {
				return false, fmt.Errorf("no such condition: %s", name)
			}
			return full(), nil
		},
	})
}

// ask is a script's "exec twigwatt" for what writes no file: it is answered within the
// test's own process, which is quicker, or with TWIGWATT_FULL=1 by a process as a user has it.
func ask(ts *testscript.TestScript, wantsFault bool, args []string) {
	if full() {
		if err := ts.Exec("twigwatt", args...); (err != nil) != wantsFault {
			ts.Fatalf("twigwatt %s: %v", strings.Join(args, " "), err)
		}
		return
	}
	folder := ts.MkAbs(".") + string(filepath.Separator)
	for i, arg := range args {
		if _, err := os.Stat(folder + arg); err == nil && arg != "" {
			args[i] = folder + arg
		}
	}
	var stdout, stderr bytes.Buffer
	code := run(context.Background(), args, &stdout, &stderr)
	io.WriteString(ts.Stdout(), strings.ReplaceAll(stdout.String(), folder, ""))
	io.WriteString(ts.Stderr(), strings.ReplaceAll(stderr.String(), folder, ""))
	if (code != exitDone) != wantsFault {
		ts.Fatalf("twigwatt %s: exit code %d: %s", strings.Join(args, " "), code, stderr.String())
	}
}
