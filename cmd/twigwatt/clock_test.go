package main

import (
	"testing"
	"time"
)

// TestStandardTime: worked. In July the clocks of Vienna show an hour more than standard time and
// those of Sydney do not; in January the other way round; Dublin's winter is its standard time here.
func TestStandardTime(t *testing.T) {
	for _, c := range []struct{ zone, wall, want string }{
		{"Europe/Vienna", "2026-07-01 00:30", "2026-06-30 23:30"},
		{"Europe/Vienna", "2026-01-10 15:00", "2026-01-10 15:00"},
		{"Australia/Sydney", "2026-01-10 15:00", "2026-01-10 14:00"},
		{"Australia/Sydney", "2026-07-01 15:00", "2026-07-01 15:00"},
		{"Europe/Dublin", "2026-07-01 15:00", "2026-07-01 14:00"},
		{"UTC", "2026-07-01 15:00", "2026-07-01 15:00"},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Skip("no time zones here:", err)
		}
		const layout = "2006-01-02 15:04"
		wall, err := time.ParseInLocation(layout, c.wall, zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := standardTime(wall).Format(layout); got != c.want {
			t.Errorf("%s in %s: %s, want %s", c.wall, c.zone, got, c.want)
		}
	}
}
