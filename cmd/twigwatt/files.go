package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/gofrs/flock"
	"github.com/urfave/cli/v2"

	"twigwatt/sim/fault"
)

// wholeFile is a file that appears whole under its name, or not at all: it is
// written beside it and renamed at Commit.
type wholeFile struct {
	*os.File
	name string
	done bool
}

// An overwriting says what becomes of a file that stands under the name already.
type overwriting bool

const (
	overOlder overwriting = true
	neverOver overwriting = false // it stays as it is and is an error
)

// writeWhole writes a file whole or not at all.
func writeWhole(name string, over overwriting, write func(io.Writer) error) error {
	f, err := createWhole(name)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := write(f); err != nil {
		return unwritable(name, err)
	}
	return f.Commit(over)
}

func writeText(name string, over overwriting, text []byte) error {
	return writeWhole(name, over, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// wrote says that a file is written, unless that failed.
func wrote(c *cli.Context, name string, failed error) error {
	if failed == nil {
		fmt.Fprintln(c.App.ErrWriter, "wrote "+fault.Plain(name))
	}
	return failed
}

func createWhole(name string) (*wholeFile, error) {
	if name == "" {
		return nil, usagef("a file to write needs a name")
	}
	for {
		const readable = 0o666 // as far as the user's umask allows
		beside := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d", filepath.Base(name), rand.Uint32()))
		f, err := os.OpenFile(beside, os.O_CREATE|os.O_EXCL|os.O_RDWR, readable)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, unwritable(name, err)
		}
		unfinished.Store(f.Name(), true)
		return &wholeFile{File: f, name: name}, nil
	}
}

// Commit puts the file in its place.
func (w *wholeFile) Commit(over overwriting) error {
	w.done = true
	defer unfinished.Delete(w.Name())
	var err error
	if info, there := os.Stat(w.name); there == nil && over == overOlder {
		err = w.Chmod(info.Mode().Perm())
	}
	err = errors.Join(err, w.Sync(), w.Close())
	switch {
	case err != nil:
	case over == overOlder:
		err = os.Rename(w.Name(), w.name)
	default:
		if err = os.Link(w.Name(), w.name); err != nil && !errors.Is(err, os.ErrExist) { // a file system without links
			if _, there := os.Lstat(w.name); errors.Is(there, os.ErrNotExist) {
				err = os.Rename(w.Name(), w.name)
			}
		}
	}
	if err != nil || over == neverOver {
		os.Remove(w.Name())
	}
	if errors.Is(err, os.ErrExist) {
		return usagef("%s: exists already, and is never overwritten", w.name)
	}
	if err != nil {
		return unwritable(w.name, err)
	}
	return nil
}

// unwritable says that a file cannot be written, and why, without the names that the
// system puts before it.
func unwritable(name string, err error) error {
	return fmt.Errorf("%s: cannot be written: %w", fault.Plain(name), bare(err))
}

// openFile opens a file to be read; its error says the name and what is wrong.
func openFile(name string) (io.ReadCloser, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, unreadable(name, err)
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		f.Close()
		return nil, unreadable(name, errors.New("it is a folder"))
	}
	return f, nil
}

// unreadable says that a file cannot be read, and why.
func unreadable(name string, err error) error {
	return fmt.Errorf("%s: cannot be read: %w", fault.Plain(name), bare(err))
}

// bare is what went wrong with a file, without its path and the system's call.
func bare(err error) error {
	var of *os.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &of):
		return of.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}

// Discard takes an unfinished file away.
func (w *wholeFile) Discard() {
	if w != nil && !w.done {
		w.done = true
		w.Close()
		os.Remove(w.Name())
		unfinished.Delete(w.Name())
	}
}

// unfinished are the names of files that are taken away if the program is ended while they are
// being written.
var unfinished sync.Map

func sweepUnfinished() {
	unfinished.Range(func(name, _ any) bool {
		os.Remove(name.(string))
		return true
	})
}

// pageBegins is how every page begins, and no other: a page is written over a page
// of this program alone.
const pageBegins = `<!DOCTYPE html><html lang="en" data-made-by="twigwatt">`

// differ reports an error where two outputs have one name.
func differ(option, name, other, otherName string) error {
	if name == "" || otherName == "" || filepath.Clean(name) != filepath.Clean(otherName) {
		return nil
	}
	return usagef("--%s and --%s must be two files, got %s for both", option, other, name)
}

// replaceable reports an error unless a name is free, or stands for a plain file
// that begins as what would be written there: results are written over older
// results, never over a scenario or a household's own figures.
func replaceable(name, begins, what string) error {
	info, err := os.Lstat(name)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return unwritable(name, err)
	case info.IsDir():
		return fmt.Errorf("%s: cannot be written: it is a folder", name)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: cannot be written: it is no plain file", name)
	case info.Size() == 0:
		return nil
	}
	f, err := os.Open(name)
	if err != nil {
		return unwritable(name, err)
	}
	defer f.Close()
	head, _ := bufio.NewReader(f).ReadString('\n')
	if !strings.HasPrefix(head, begins) {
		return usagef("%s: exists already and is no %s: it is not overwritten", name, what)
	}
	return nil
}

// lock keeps others from adding to a file at the same time, by the system's own lock on a file
// beside it: it ends with the process that holds it, however that ends. unlock takes the file away.
func lock(ctx context.Context, name string) (unlock func(), err error) {
	const patience, between = 5 * time.Second, 10 * time.Millisecond
	guard := name + ".lock"
	ctx, stop := context.WithTimeoutCause(ctx, patience,
		fmt.Errorf("%s: somebody else is adding to it; nothing was added, try again", name))
	defer stop()
	for {
		f := flock.New(guard)
		switch held, err := f.TryLockContext(ctx, between); {
		case ctx.Err() != nil:
			return nil, context.Cause(ctx)
		case err != nil || !held:
			return nil, unwritable(name, err)
		}
		mine, err := f.Stat()
		if there, gone := os.Stat(guard); err == nil && gone == nil && os.SameFile(mine, there) {
			return func() {
				os.Remove(guard) // while it is held, or another's would be taken away
				f.Unlock()
			}, nil
		}
		f.Unlock() // the one that held it has taken it away: lock the one that stands there now
	}
}
