package main

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// Whatever a file holds, the reader of numbers gives two finite ones or more, or
// one line that says what is wrong.
func FuzzNumbers(f *testing.F) {
	for _, seed := range []string{"", "1\n2\n", "\ufeff1\r\n2", "NaN\n1", "1e999\n", "1,5\n2"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		all, err := readNumbers("x.txt", strings.NewReader(string(text)))
		soundFault(t, err)
		if err == nil && len(all) < 2 {
			t.Errorf("%d numbers and no error", len(all))
		}
		for _, x := range all {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("%g was let in", x)
			}
		}
	})
}

// The same of a discharge table.
func FuzzRates(f *testing.F) {
	for _, seed := range []string{"", "hours,amp_hours\n1,60\n5,80\n20,100\n", "hours,amp_hours\n1\n", "hours,amp_hours\n1,inf\n", "\"", "\ufeffhours, amp_hours\r\n1,2\r\n", "a,b\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		rows, err := readRates("x.csv", strings.NewReader(string(text)))
		soundFault(t, err)
		for _, r := range rows {
			if math.IsNaN(r.Hours+r.AmpHours) || math.IsInf(r.Hours, 0) || math.IsInf(r.AmpHours, 0) {
				t.Errorf("%+v was let in", r)
			}
		}
	})
}

// soundFault holds that an error is a wrong use, on one line that begins with the file.
func soundFault(t *testing.T, err error) {
	if err == nil {
		return
	}
	if text := err.Error(); !errors.As(err, new(usageError)) || !strings.HasPrefix(text, "x.") || strings.ContainsAny(text, "\n\r\x00") {
		t.Errorf("%q", text)
	}
}
