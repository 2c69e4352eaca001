package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"
)

// lock keeps others from adding to a file at the same time, by a file beside it
// that is there while the work lasts; unlock takes it away. One left behind by a
// process that died is taken over after a minute.
func lock(name string) (unlock func(), err error) {
	const patience, staleAfter, between = 5 * time.Second, time.Minute, 20 * time.Millisecond
	guard := name + ".lock"
	for begun := time.Now(); ; time.Sleep(between) {
		f, err := os.OpenFile(guard, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err == nil {
			f.Close()
			unfinished.add(guard)
			return func() {
				unfinished.remove(guard)
				os.Remove(guard)
			}, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return nil, unwritable(name, err)
		}
		if info, err := os.Stat(guard); err == nil && time.Since(info.ModTime()) > staleAfter {
			os.Remove(guard)
		}
		if time.Since(begun) > patience {
			return nil, fmt.Errorf("%s: somebody else is adding to it (%s is there); nothing was added, try again", name, guard)
		}
	}
}
