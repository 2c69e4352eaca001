package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// wholeFile is a file that appears whole under its name, or not at all: it is
// written beside it and renamed at Commit.
type wholeFile struct {
	*os.File
	name string
}

func createWhole(name string) (*wholeFile, error) {
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be written: %w", name, err)
	}
	return &wholeFile{File: f, name: name}, nil
}

// Commit puts the file in its place. Without replace, a file that stands there
// stays as it is and is an error.
func (w *wholeFile) Commit(replace bool) error {
	const everybodyReads = 0o644
	err := errors.Join(w.Chmod(everybodyReads), w.Close())
	switch {
	case err != nil:
	case replace:
		err = os.Rename(w.Name(), w.name)
	default:
		err = os.Link(w.Name(), w.name)
	}
	if err != nil || !replace {
		os.Remove(w.Name())
	}
	if errors.Is(err, os.ErrExist) {
		return usagef("%s: exists already, and is never overwritten", w.name)
	}
	if err != nil {
		return fmt.Errorf("%s: cannot be written: %w", w.name, err)
	}
	return nil
}

// Discard takes the unfinished file away.
func (w *wholeFile) Discard() {
	w.Close()
	os.Remove(w.Name())
}
