package quantity

import (
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
)

// Every day of the range, against the calendar of package time.
func TestDateAgreesWithTime(t *testing.T) {
	day := time.Date(1, 1, 1, 12, 0, 0, 0, time.UTC)
	d, ok := NewDate(1, 1, 1)
	if !ok {
		t.Fatal("no 0001-01-01")
	}
	for n := 1; ; n++ {
		y, m, dd := d.YMD()
		ty, tm, td := day.Date()
		if y != ty || m != int(tm) || dd != td {
			t.Fatalf("day %d is %d-%d-%d, want %d-%d-%d", n, y, m, dd, ty, tm, td)
		}
		if same, ok := NewDate(y, m, dd); !ok || same != d {
			t.Fatalf("NewDate(%d, %d, %d) = %v, %v", y, m, dd, same, ok)
		}
		next := d.AddDays(1)
		if next.IsZero() {
			if n != lastDay || y != 9999 {
				t.Fatalf("the calendar ends at day %d, year %d", n, y)
			}
			break
		}
		d, day = next, day.AddDate(0, 0, 1)
	}
}

func TestParseDate(t *testing.T) {
	for _, s := range []string{"0001-01-01", "9999-12-31", "2000-02-29", "2024-02-29", "2026-11-10"} {
		d, err := ParseDate(s)
		if err != nil || d.String() != s {
			t.Errorf("ParseDate(%q) = %q, %v", s, d, err)
		}
		var back Date
		text, err := d.MarshalText()
		if err != nil || back.UnmarshalText(text) != nil || back != d {
			t.Errorf("%s reads back as %s, %v", s, back, err)
		}
	}
	for _, c := range []struct{ text, why string }{
		{"", "empty"},
		{"0000-01-01", "no year 0"},
		{"10000-01-01", "five digits"},
		{"2026-1-01", "one digit of month"},
		{"2026-01-1", "one digit of day"},
		{"2026-00-01", "no month 0"},
		{"2026-13-01", "no month 13"},
		{"2026-01-00", "no day 0"},
		{"2026-01-32", "no 32 January"},
		{"2026-04-31", "no 31 April"},
		{"2026-02-29", "no leap year"},
		{"1900-02-29", "a hundredth year"},
		{"2026/01/01", "slashes"},
		{"20260101", "no hyphens"},
		{"2026-01-01 ", "space after"},
		{" 026-01-01", "space for a digit"},
		{"+026-01-01", "sign for a digit"},
		{"-001-01-01", "year below zero"},
		{"2026-01-0x", "letter"},
		{"2026-01-01T00:00:00Z", "time"},
		{"２026-01-01", "wide digit"},
		{"2026-01", "month only"},
		{"202:-01-01", "colon, the character after 9"},
		{"2026-0:-01", "colon, the character after 9"},
		{"2026-01-0:", "colon, the character after 9"},
		{"2026-01-2/", "slash, the character before 0"},
	} {
		d, err := ParseDate(c.text)
		if !errors.Is(err, ErrDate) || !d.IsZero() {
			t.Errorf("%s: ParseDate(%q) = %v, %v", c.why, c.text, d, err)
		}
		keep := Date{1}
		if c.text != "" && (keep.UnmarshalText([]byte(c.text)) == nil || !keep.IsZero()) {
			t.Errorf("%s: UnmarshalText(%q) left %v", c.why, c.text, keep)
		}
	}
	if d, err := ParseMonth("2026-12"); err != nil || d.String() != "2026-12-01" {
		t.Errorf("ParseMonth = %v, %v", d, err)
	}
	for _, s := range []string{"", "2026-13", "2026-00", "0000-01", "2026-1", "2026-12-01", "2026/12", "2026-1x", "202612"} {
		if d, err := ParseMonth(s); !errors.Is(err, ErrDate) || !d.IsZero() {
			t.Errorf("ParseMonth(%q) = %v, %v", s, d, err)
		}
	}
}

func FuzzParseDate(f *testing.F) {
	seeds := []string{"2026-01-31", "0001-01-01", "9999-12-31", "2024-02-29", "2023-02-29", "2026-12", "", "2026-1-1"}
	if len(seeds) != 8 {
		f.Fatalf("%d seeds", len(seeds))
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		bounded.Run(t, time.Now, 1<<20, func() {
			d, err := ParseDate(s)
			want, timeErr := time.Parse("2006-01-02", s)
			if err != nil {
				if !d.IsZero() {
					t.Fatalf("%q: error and date %v", s, d)
				}
				if timeErr == nil && want.Year() > 0 {
					t.Fatalf("%q: refused, time reads it", s)
				}
				return
			}
			if d.String() != s || timeErr != nil || DateOf(want) != d {
				t.Fatalf("%q reads as %v; time: %v, %v", s, d, want, timeErr)
			}
		})
	})
}

func date(t testing.TB, s string) Date {
	t.Helper()
	d, err := ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestAddMonths(t *testing.T) {
	for _, c := range []struct {
		from string
		n    int
		want string
	}{
		{"2026-01-31", 1, "2026-02-28"},
		{"2024-01-31", 1, "2024-02-29"},
		{"2024-02-29", 12, "2025-02-28"},
		{"2024-02-29", 48, "2028-02-29"},
		{"2026-01-30", 1, "2026-02-28"},
		{"2026-02-28", 1, "2026-03-28"},
		{"2026-08-31", 1, "2026-09-30"},
		{"2026-12-31", 2, "2027-02-28"},
		{"2026-03-31", -1, "2026-02-28"},
		{"2026-01-15", -1, "2025-12-15"},
		{"9998-12-31", 12, "9999-12-31"},
		{"9999-01-01", 12, ""},
		{"0001-01-01", -1, ""},
		{"0001-02-01", -1, "0001-01-01"},
		{"2026-01-01", 1 << 40, ""},
		{"2026-01-01", -1 << 40, ""},
	} {
		if got := date(t, c.from).AddMonths(c.n).String(); got != c.want {
			t.Errorf("%s + %d months = %q, want %q", c.from, c.n, got, c.want)
		}
	}
	if !(Date{}).AddMonths(1).IsZero() || !(Date{}).AddDays(1).IsZero() {
		t.Error("a date grew out of none")
	}
}

func TestDateDays(t *testing.T) {
	a, b := date(t, "2026-03-01"), date(t, "2026-02-28")
	if a.DaysSince(b) != 1 || b.DaysSince(a) != -1 || a.DaysSince(a) != 0 || a.DaysSince(Date{}) != 0 {
		t.Error("DaysSince miscounts")
	}
	if !b.Before(a) || !a.After(b) || a.Before(a) || a.After(a) || a.Compare(b) != 1 || b.Compare(a) != -1 || a.Compare(a) != 0 {
		t.Error("order is wrong")
	}
	if a.AddDays(-1) != b || !date(t, "9999-12-31").AddDays(1).IsZero() || !a.AddDays(1<<40).IsZero() {
		t.Error("AddDays is wrong")
	}
	first, last := date(t, "0001-01-01"), date(t, "9999-12-31")
	if first.AddDays(lastDay-1) != last || last.AddDays(1-lastDay) != first || first.AddDays(lastDay) != (Date{}) ||
		last.AddDays(-lastDay) != (Date{}) || first.AddDays(-1) != (Date{}) || first.AddDays(0) != first || a.AddDays(-1<<40) != (Date{}) {
		t.Error("AddDays is wrong at the ends of the range")
	}
	if a.Long() != "1 Mar 2026" || a.Month() != "Mar 2026" || (Date{}).Long()+(Date{}).Month()+(Date{}).String() != "" {
		t.Error("text is wrong")
	}
	if y, m, d := (Date{}).YMD(); y != 0 || m != 0 || d != 0 {
		t.Error("no date has a day")
	}
	east := time.FixedZone("east", 14*3600)
	late := time.Date(2026, 3, 1, 23, 0, 0, 0, time.UTC)
	if DateOf(late).String() != "2026-03-01" || DateOf(late.In(east)).String() != "2026-03-02" {
		t.Error("DateOf does not take t's own location")
	}
	if !DateOf(time.Date(10_000, 1, 1, 0, 0, 0, 0, time.UTC)).IsZero() {
		t.Error("a day beyond the range is a date")
	}
}

// Months later is never earlier, and at most as many days as the months can have.
func TestAddMonthsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Date{int32(rapid.IntRange(1, lastDay-400).Draw(t, "day"))}
		n := rapid.IntRange(1, 12).Draw(t, "months")
		later := d.AddMonths(n)
		if days := later.DaysSince(d); days < 28*n || days > 31*n {
			t.Fatalf("%s + %d months is %d days", d, n, days)
		}
		if next := d.AddDays(1).AddMonths(n); next.Before(later) {
			t.Fatalf("a day later is due earlier: %s, %s", later, next)
		}
	})
}
