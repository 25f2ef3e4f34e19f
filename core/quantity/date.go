package quantity

import (
	"errors"
	"fmt"
	"strconv"
	"time"
)

// ErrDate is wrapped by the errors of ParseDate and ParseMonth.
var ErrDate = errors.New("not a date")

// Date is a day of the Gregorian calendar from 0001-01-01 to 9999-12-31,
// without time or place. The zero Date is no date; it is before every other.
type Date struct{ n int32 } // days since 0000-12-31, so that 0001-01-01 is 1

const (
	daysIn400Years = 146_097
	lastDay        = 3_652_059 // 9999-12-31
)

// NewDate is the day y-m-d; ok is false where the calendar or the range has no such day.
func NewDate(y, m, d int) (date Date, ok bool) {
	if y < 1 || y > 9999 || m < 1 || m > 12 || d < 1 || d > daysIn(y, m) {
		return Date{}, false
	}
	return Date{dayNumber(y, m, d)}, true
}

// DateOf is the day that a clock in t's own location shows; the zero Date
// outside years 1 to 9999.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	date, _ := NewDate(y, int(m), d)
	return date
}

// ParseDate reads YYYY-MM-DD and no other spelling. On error the Date is zero.
func ParseDate(s string) (Date, error) {
	if len(s) == 10 && s[4] == '-' && s[7] == '-' {
		y, m, d := number(s[:4]), number(s[5:7]), number(s[8:])
		if date, ok := NewDate(y, m, d); ok {
			return date, nil
		}
	}
	return Date{}, fmt.Errorf("quantity: %q: %w of the form YYYY-MM-DD", s, ErrDate)
}

// ParseMonth reads YYYY-MM and gives the first day of that month. On error the Date is zero.
func ParseMonth(s string) (Date, error) {
	if len(s) == 7 && s[4] == '-' {
		if date, ok := NewDate(number(s[:4]), number(s[5:]), 1); ok {
			return date, nil
		}
	}
	return Date{}, fmt.Errorf("quantity: %q: %w of the form YYYY-MM", s, ErrDate)
}

// number reads ASCII digits; -1 where there is anything else.
func number(s string) int {
	n := 0
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return -1
		}
		n = n*10 + int(c-'0')
	}
	return n
}

// IsZero tells whether there is no date.
func (d Date) IsZero() bool { return d.n == 0 }

// Compare is -1 where d is before o, 0 where they are the same, 1 where it is after.
func (d Date) Compare(o Date) int {
	switch {
	case d.n < o.n:
		return -1
	case d.n > o.n:
		return 1
	}
	return 0
}

// Before tells whether d is before o.
func (d Date) Before(o Date) bool { return d.n < o.n }

// After tells whether d is after o.
func (d Date) After(o Date) bool { return d.n > o.n }

// AddDays is the day n days later (earlier where n is below zero); the zero
// Date where d is zero or the result would leave the range.
func (d Date) AddDays(n int) Date {
	sum := int64(d.n) + int64(n)
	if d.IsZero() || n < -lastDay || n > lastDay || sum < 1 || sum > lastDay {
		return Date{}
	}
	return Date{int32(sum)}
}

// DaysSince is the number of days from o to d, below zero where d is before o;
// 0 where either is zero.
func (d Date) DaysSince(o Date) int {
	if d.IsZero() || o.IsZero() {
		return 0
	}
	return int(d.n - o.n)
}

// AddMonths is the same day n calendar months later; a day that does not exist
// becomes the last of its month. It is the zero Date where d is zero or the
// result would leave the range.
func (d Date) AddMonths(n int) Date {
	if d.IsZero() || n < -120_000 || n > 120_000 {
		return Date{}
	}
	y, m, day := d.YMD()
	months := y*12 + m - 1 + n
	if months < 12 || months >= 10_000*12 {
		return Date{}
	}
	y, m = months/12, months%12+1
	return Date{dayNumber(y, m, min(day, daysIn(y, m)))}
}

// YMD is the day's year, month and day of the month; all 0 for the zero Date.
func (d Date) YMD() (year, month, day int) {
	if d.IsZero() {
		return 0, 0, 0
	}
	// Years that begin in March put the leap day last, so that a year and a
	// month follow from a day by division.
	n := int(d.n) - 1 + 306
	era, n := n/daysIn400Years, n%daysIn400Years
	y := (n - n/1460 + n/36_524 - n/146_096) / 365
	n -= 365*y + y/4 - y/100
	m := (5*n + 2) / 153
	day = n - (153*m+2)/5 + 1
	year, month = era*400+y, m+3
	if month > 12 {
		year, month = year+1, month-12
	}
	return year, month, day
}

// dayNumber counts days from 0001-01-01 as 1, by years that begin in March.
func dayNumber(y, m, d int) int32 {
	if m < 3 {
		y, m = y-1, m+12
	}
	return int32(365*y + y/4 - y/100 + y/400 + (153*(m-3)+2)/5 + d - 306)
}

func daysIn(y, m int) int {
	switch m {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// String is YYYY-MM-DD; empty for the zero Date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	y, m, day := d.YMD()
	b := [10]byte{4: '-', 7: '-'}
	digits(b[:4], y)
	digits(b[5:7], m)
	digits(b[8:], day)
	return string(b[:])
}

func digits(dst []byte, n int) {
	for i := len(dst) - 1; i >= 0; i-- {
		dst[i] = byte('0' + n%10)
		n /= 10
	}
}

// Long is the day for people: "10 Nov 2026"; empty for the zero Date.
func (d Date) Long() string {
	if d.IsZero() {
		return ""
	}
	_, _, day := d.YMD()
	return strconv.Itoa(day) + " " + d.Month()
}

// Month is the month for people: "Nov 2026"; empty for the zero Date.
func (d Date) Month() string {
	if d.IsZero() {
		return ""
	}
	const names = "JanFebMarAprMayJunJulAugSepOctNovDec"
	y, m, _ := d.YMD()
	return names[3*m-3:3*m] + " " + strconv.Itoa(y)
}

// MarshalText is String; empty for the zero Date.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText writes: an empty text is the zero Date.
func (d *Date) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = Date{}
		return nil
	}
	date, err := ParseDate(string(text))
	*d = date
	return err
}
