package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// wholeFile is a file that appears whole under its name, or not at all: it is
// written beside it and renamed at Commit.
type wholeFile struct {
	*os.File
	name string
	done bool
}

func createWhole(name string) (*wholeFile, error) {
	if name == "" {
		return nil, usagef("a file to write needs a name")
	}
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return nil, unwritable(name, err)
	}
	unfinished.add(f.Name())
	return &wholeFile{File: f, name: name}, nil
}

// Commit puts the file in its place. Without replace, a file that stands there
// stays as it is and is an error.
func (w *wholeFile) Commit(replace bool) error {
	w.done = true
	defer unfinished.remove(w.Name())
	mode := fs.FileMode(0o644) // everybody reads
	if info, err := os.Stat(w.name); err == nil && replace {
		mode = info.Mode().Perm()
	}
	err := errors.Join(w.Chmod(mode), w.Sync(), w.Close())
	switch {
	case err != nil:
	case replace:
		err = os.Rename(w.Name(), w.name)
	default:
		if err = os.Link(w.Name(), w.name); err != nil && !errors.Is(err, os.ErrExist) { // a file system without links
			if _, there := os.Lstat(w.name); errors.Is(there, os.ErrNotExist) {
				err = os.Rename(w.Name(), w.name)
			}
		}
	}
	if err != nil || !replace {
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
	return fmt.Errorf("%s: cannot be written: %w", name, bare(err))
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
	return fmt.Errorf("%s: cannot be read: %w", name, bare(err))
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
		unfinished.remove(w.Name())
	}
}

// fileNames are files that are taken away if the program is ended while they are
// being written.
type fileNames struct {
	sync.Mutex
	names map[string]bool
}

var unfinished = fileNames{names: map[string]bool{}}

func (f *fileNames) add(name string) {
	f.Lock()
	defer f.Unlock()
	f.names[name] = true
}

func (f *fileNames) remove(name string) {
	f.Lock()
	defer f.Unlock()
	delete(f.names, name)
}

func (f *fileNames) sweep() {
	f.Lock()
	defer f.Unlock()
	for name := range f.names {
		os.Remove(name)
	}
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
