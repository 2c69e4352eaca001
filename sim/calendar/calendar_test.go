package calendar

import (
	"testing"
)

func TestDates(t *testing.T) {
	for _, text := range []string{"1999-12-31", "2000-02-29", "2025-01-01", "1970-01-01", "1969-12-31", "1900-03-01"} {
		d, err := ParseDate(text)
		if err != nil || d.String() != text || NewDate(d.Year(), d.Month(), d.Day()) != d {
			t.Errorf("%s: %v %v", text, d, err)
		}
		if d.Weekday() != d.Time().Weekday() {
			t.Errorf("%s is a %s, not a %s", text, d.Time().Weekday(), d.Weekday())
		}
	}
	for _, text := range []string{"2025-02-29", "2025-1-1", "01.02.2025", ""} {
		if _, err := ParseDate(text); err == nil {
			t.Errorf("%q was read", text)
		}
	}
}

func TestParsing(t *testing.T) {
	for text, want := range map[string]Window{"07:00-21:00": {420, 1260}, "0:00 - 24:00": {0, 1440}} {
		if got, err := ParseWindow(text); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{
		"21:00-07:00", "07:00-07:00", "7-21", "07:00", "25:00-26:00", "-1:00-2:00", "07:60-08:00", "00:00-24:01"} {
		if _, err := ParseWindow(text); err == nil {
			t.Errorf("%q was read", text)
		}
	}
	for text, want := range map[string]string{
		"workdays": "workdays", "sat-mon": "mon, sat, sun", "Monday": "mon", "weekend": "weekend", "mon-sun": "all"} {
		if got, err := ParseWeekdays(text); err != nil || got.String() != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for text, want := range map[string]string{
		"nov-mar": "jan, feb, mar, nov, dec", "July": "jul", "all": "all", "feb-jan": "all"} {
		if got, err := ParseMonths(text); err != nil || got.String() != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "mo", "mon-", "someday"} {
		if _, err := ParseWeekdays(text); err == nil {
			t.Errorf("%q was read as days", text)
		}
	}
	if _, err := ParseDateRange("2025-07-24..2025-07-10"); err == nil {
		t.Error("a range that runs backwards was read")
	}
}
