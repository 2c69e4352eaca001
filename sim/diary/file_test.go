package diary

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"twigwatt/sim/calendar"
	"twigwatt/sim/fault"
)

func readText(text string) ([]Row, error) { return Read("home.csv", strings.NewReader(text)) }

var someDay = calendar.NewDate(2025, time.January, 31)

const wholeHeader = "date,start,stop,wood_as_is_kg,kwh,soc_start_pct,soc_end_pct,moisture_pct,note\n"

// aRow is a run with nothing noted but its times.
func aRow(start, stop, line int) Row {
	return Row{Date: someDay, StartMinute: start, StopMinute: stop, WoodAsIsKg: NotNoted(), KWh: NotNoted(), SocStartPct: NotNoted(), SocEndPct: NotNoted(),
		MoisturePct: NotNoted(), Line: line}
}

func TestReadTakesWhatPeopleWrite(t *testing.T) {
	full := aRow(16*60, 20*60+30, 2)
	full.WoodAsIsKg, full.KWh, full.SocStartPct, full.SocEndPct, full.MoisturePct, full.Note = 14.5, 9, 55, 82, 18, "damp, new filter"
	for _, c := range []struct {
		reason, text string
		want         []Row
	}{
		{"all columns", wholeHeader + "2025-01-31,16:00,20:30,14.5,9,55,82,18,\"damp, new filter\"\n", []Row{full}},
		{"another order, a byte-order mark, CRLF, blank lines, spaces",
			"\ufeffnote,stop,start,date,moisture_pct,soc_end_pct,soc_start_pct,kwh,wood_as_is_kg\r\n\"damp, new filter\", 20:30,16:00 ,2025-01-31,18,82,55,9,14.5\r\n\r\n,,,,,,,,\r\n\r\n", []Row{full}},
		{"only the times", "date,start,stop\n2025-01-31,9:05,24:00", []Row{aRow(9*60+5, 24*60, 2)}},
		{"empty cells", wholeHeader + "2025-01-31,16:00,20:30,,,,,,\n", []Row{aRow(16*60, 20*60+30, 2)}},
		{"runs that touch", "date,start,stop\n2025-01-31,09:00,10:00\n2025-01-31,10:00,11:00\n", []Row{aRow(540, 600, 2), aRow(600, 660, 3)}},
		{"no run yet", wholeHeader, nil},
	} {
		got, err := readText(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.reason, err)
		}
		if diff := cmp.Diff(c.want, got, cmpopts.EquateNaNs()); diff != "" {
			t.Errorf("%s: -want +got\n%s", c.reason, diff)
		}
	}
}

func TestReadNamesEachFault(t *testing.T) {
	text := wholeHeader +
		"2025-02-30,16:00,15:00,-1,x,101,NaN,60,\n" +
		"2025-01-31,16:00,20:00,,Inf,,,,\n" +
		"2025-01-31,19:00,21:00,,,,,,\n" +
		"2025-01-30,09:00,10:00,,,,,,\n" +
		"2025-01-31,16:00,20:00,,,,,,\n" +
		"2025-01-31,21:00,25:00,,,,,,\n" +
		"2025-02-01,09:00,10:00\n" +
		"2025-02-02,0\"9:00,10:00,,,,,,\n" +
		"2025-02-03,10:00,10:00,20000,,,,,\n"
	want := []string{
		`home.csv:2: date: must be a date like 2025-01-31, from 1970 to 2200, got "2025-02-30"`,
		`home.csv:2: stop: must be after the start on the same day (over midnight: write two runs), got 15:00 after 16:00`,
		`home.csv:2: wood_as_is_kg: must be 0 to 10000 kg, got -1`,
		`home.csv:2: kwh: must be a number like 3.5, or empty where it was not noted, got "x"`,
		`home.csv:2: soc_start_pct: must be 0 to 100 %, got 101`,
		`home.csv:2: soc_end_pct: must be a number like 3.5, or empty where it was not noted, got "NaN"`,
		`home.csv:2: moisture_pct: must be 0 to below 60 %, wet basis, got 60`,
		`home.csv:3: kwh: must be a number like 3.5, or empty where it was not noted, got "Inf"`,
		`home.csv:4: start: must not overlap the run of 2025-01-31 16:00-20:00, got 2025-01-31 19:00-21:00`,
		`home.csv:5: date: must be in the order of time, got 2025-01-30 09:00-10:00 after the run of 2025-01-31 16:00-20:00`,
		`home.csv:6: start: must be a run of its own, got the run of 2025-01-31 16:00-20:00 a second time`,
		`home.csv:7: stop: must be a time of day like 16:30, from 00:00 to 24:00, got "25:00"`,
		`home.csv:8: must have 9 cells like the header, got 3`,
		`home.csv:9: must be cells between commas, with quotes that close; a quote within a quoted cell is written twice`,
		`home.csv:10: stop: must be after the start on the same day (over midnight: write two runs), got 10:00 after 10:00`,
		`home.csv:10: wood_as_is_kg: must be 0 to 10000 kg, got 20000`,
	}
	_, err := readText(text)
	if err == nil {
		t.Fatal("read")
	}
	if diff := cmp.Diff(want, strings.Split(err.Error(), "\n")); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

func TestReadNamesFaultsOfTheHeader(t *testing.T) {
	for text, want := range map[string]string{
		"":                                  "home.csv:1: must begin with a header of date,start,stop,wood_as_is_kg,kwh,soc_start_pct,soc_end_pct,moisture_pct,note, got an empty file",
		"start,stop\n":                      "home.csv:1: date: must be a column, got start,stop",
		"\ndate,start,stop,stop\n":          "home.csv:2: stop: must be one column, got two",
		"date,start,stop,wood\n1,2,3,4\n":   `home.csv:1: columns must be among date,start,stop,wood_as_is_kg,kwh,soc_start_pct,soc_end_pct,moisture_pct,note, got "wood"`,
		"2025-01-31,16:00,20:00,14.5,9,5,8": "", // no header at all: named cell by cell
	} {
		_, err := readText(text)
		if err == nil || want != "" && err.Error() != want {
			t.Errorf("%q: got %v", text, err)
		}
	}
}

// anyRow draws a row that a diary could hold.
func anyRow(t *rapid.T, first, last int) Row {
	cell := func(name string, low, high float64) float64 {
		if rapid.Bool().Draw(t, name+" noted") {
			return rapid.Float64Range(low, high).Draw(t, name)
		}
		return NotNoted()
	}
	row := Row{Date: calendar.Date(rapid.IntRange(first, last).Draw(t, "date")), StartMinute: rapid.IntRange(0, 1439).Draw(t, "start"),
		WoodAsIsKg: cell("wood", 0, 10000), KWh: cell("kwh", 0, 10000), SocStartPct: cell("soc start", 0, 100), SocEndPct: cell("soc end", 0, 100),
		MoisturePct: cell("moisture", 0, 59.9), Note: strings.TrimSpace(rapid.StringMatching(`[a-zé ",;#'\\.\-]*`).Draw(t, "note"))}
	row.StopMinute = rapid.IntRange(row.StartMinute+1, 1440).Draw(t, "stop")
	return row
}

// TestAppendThenRead: whatever is appended is read back, and the old bytes stand.
func TestAppendThenRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old := []byte(rapid.SampledFrom([]string{"", "\n \n", "\ufeff", wholeHeader, "\ufeff" + wholeHeader, strings.TrimSpace(wholeHeader),
			"stop,start,note,date,soc_end_pct,kwh,wood_as_is_kg,moisture_pct,soc_start_pct\r\n10:00,09:00,\"a \"\"b\"\"\",2020-01-01,,,,,\r\n",
			wholeHeader + "2020-01-01,09:00,10:00,,,,,,"}).Draw(t, "old"))
		var want []Row
		if rows, err := Read("old", bytes.NewReader(old)); err == nil {
			want = rows
		}
		for day := 20000; day < 20000+40; day += 10 {
			row := anyRow(t, day, day+9)
			text, err := Append(old, row)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.HasPrefix(text, old) {
				t.Fatalf("the old bytes were changed:\n%q\n%q", old, text)
			}
			if bytes.Contains(old, []byte("\r\n")) && bytes.Count(text, []byte("\n")) != bytes.Count(text, []byte("\r\n")) {
				t.Fatalf("line ends were mixed: %q", text)
			}
			old, want = text, append(want, row)
		}
		got, err := Read("new", bytes.NewReader(old))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.IgnoreFields(Row{}, "Line")); diff != "" {
			t.Fatalf("-want +got\n%s", diff)
		}
	})
}

// TestAppendAfterAMark: a byte-order mark alone is followed by the header at once.
func TestAppendAfterAMark(t *testing.T) {
	row := aRow(600, 660, 0)
	plain, _ := Append(nil, row)
	if got, err := Append([]byte("\ufeff"), row); err != nil || string(got) != "\ufeff"+string(plain) {
		t.Errorf("%q, %v", got, err)
	}
}

func TestReadRefusesMoreThanALifetime(t *testing.T) {
	lines := func(n int) string { return wholeHeader + strings.Repeat("\n", n) }
	if _, err := readText(lines(1 << 20)); err != nil {
		t.Errorf("1 MB: %v", err)
	}
	_, err := readText(lines(16 << 20))
	if err == nil || err.Error() != "home.csv: must be smaller than 16 MB to be a diary" {
		t.Errorf("more than 16 MB: %v", err)
	}
}

func TestAppendRefusesWhatCannotBe(t *testing.T) {
	old := wholeHeader + "2025-01-31,16:00,20:00,,,,,,\n"
	change := func(change func(r *Row)) Row {
		r := aRow(20*60, 21*60, 0)
		change(&r)
		return r
	}
	for _, c := range []struct {
		reason, old string
		row         Row
		want        string
	}{
		{"the same run", old, aRow(16*60, 20*60, 0), "start: must be a run of its own, got the run of 2025-01-31 16:00-20:00 a second time"},
		{"an overlap", old, aRow(19*60, 21*60, 0), "start: must not overlap the run of 2025-01-31 16:00-20:00, got 2025-01-31 19:00-21:00"},
		{"an earlier run that overlaps", old, aRow(9*60, 17*60, 0), "start: must not overlap the run of 2025-01-31 16:00-20:00, got 2025-01-31 09:00-17:00"},
		{"stop before start", old, aRow(21*60, 20*60, 0), "stop: must be after the start on the same day, 24:00 at the latest, got 20:00, and the start was 21:00"},
		{"a stop after midnight", old, aRow(21*60, 1441, 0), "stop: must be after the start on the same day, 24:00 at the latest, got 24:01, and the start was 21:00"},
		{"negative wood", old, change(func(r *Row) { r.WoodAsIsKg = -1 }), "wood_as_is_kg: must be 0 to 10000 kg, got -1"},
		{"infinite kWh", old, change(func(r *Row) { r.KWh = math.Inf(1) }), "kwh: must be 0 to 10000 kWh, got +Inf"},
		{"wet wood", old, change(func(r *Row) { r.MoisturePct = 60 }), "moisture_pct: must be 0 to below 60 %, wet basis, got 60"},
		{"a note of two lines", old, change(func(r *Row) { r.Note = "a\nb" }), `note: must be one line without control characters, got "a\nb"`},
		{"no such column", "date,start,stop\n", change(func(r *Row) { r.KWh = 5 }), "kwh: must be empty, for the file has no such column, got 5"},
		{"a diary that does not read", "date,start\n", aRow(0, 1, 0), "the diary:1: stop: must be a column, got date,start"},
	} {
		text, err := Append([]byte(c.old), c.row)
		if err == nil || err.Error() != c.want || text != nil {
			t.Errorf("%s: got %v, want %s", c.reason, err, c.want)
		}
	}
}

// TestAnEarlierRunGoesToItsPlace: before, between and behind the runs that stand there, whose bytes
// are untouched, over notes of two lines and with the file's own line ends.
func TestAnEarlierRunGoesToItsPlace(t *testing.T) {
	const header, first, last = "date,start,stop,note\r\n", "2025-01-30,16:00,20:00,\"a\r\nb\"\r\n", "2025-02-01,16:00,20:00,\r\n"
	old := header + first + last
	for date, want := range map[int]string{
		29: header + "2025-01-29,09:00,10:00,\r\n" + first + last,
		31: header + first + "2025-01-31,09:00,10:00,\r\n" + last,
		33: header + first + last + "2025-02-02,09:00,10:00,\r\n",
	} {
		row := aRow(9*60, 10*60, 0)
		row.Date += calendar.Date(date - 31)
		row.WoodAsIsKg = NotNoted()
		text, err := Append([]byte(old), row)
		if err != nil || string(text) != want {
			t.Errorf("%s: %v\n%q, want\n%q", row.String(), err, text, want)
		}
		if rows, err := Read("d", strings.NewReader(string(text))); err != nil || len(rows) != 3 {
			t.Errorf("%s: %d rows, %v", row.String(), len(rows), err)
		}
	}
}

// FuzzRead: nothing panics, faults name the file, and what reads can be added to.
func FuzzRead(f *testing.F) {
	f.Add([]byte(wholeHeader + "2025-01-31,16:00,20:30,14.5,9,55,82,18,\"damp, new filter\"\n"))
	f.Add([]byte("\ufeffdate,start,stop\r\n2025-01-31,9:05,24:00\r\n\r\n"))
	f.Add([]byte("date,start,stop,note\n\"\n2025-01-31,1:00,2:00,\"a\nb\""))
	f.Add([]byte(" \n\t"))
	f.Fuzz(func(t *testing.T, text []byte) {
		rows, err := Read("home.csv", bytes.NewReader(text))
		if err != nil {
			var all fault.Faults
			if !errors.As(err, &all) || len(all) == 0 || !strings.HasPrefix(all[0].String(), "home.csv") {
				t.Fatalf("not faults of the file: %v", err)
			}
			return
		}
		next := aRow(600, 660, 0)
		next.Date = calendar.NewDate(2200, time.December, 31)
		if n := len(rows); n > 0 && rows[n-1].Date == next.Date {
			return // no day is left
		}
		longer, err := Append(text, next)
		if err != nil {
			t.Fatalf("%q reads, but: %v", text, err)
		}
		again, err := Read("home.csv", bytes.NewReader(longer))
		if err != nil {
			t.Fatalf("%q, added to, does not read: %v", text, err)
		}
		if diff := cmp.Diff(append(rows, next), again, cmpopts.EquateNaNs(), cmpopts.IgnoreFields(Row{}, "Line")); diff != "" {
			t.Fatalf("-want +got\n%s", diff)
		}
	})
}
