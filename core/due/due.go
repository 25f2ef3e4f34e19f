// Package due answers when a sling must be thoroughly inspected again.
//
// [Next] adds the calendar months of one row of a published interval to the day
// of the last thorough inspection; a day that the target month does not have
// becomes its last (common practice, no source). The rows, each with its
// clause, are given by [Find]. [ParseQuestion] and [Answer.MarshalJSON] are the
// same as JSON lines.
//
// It never makes a date later than the row's longest interval, and has no date
// for what a row does not provide: that is an error, and a sling without a due
// date must not go out. A report of hard service at return moves no date; it
// holds the sling. Dates support, and never replace, the competent person, the
// maker's instructions and the local law.
package due

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/source"
)

// Service is how hard the sling is used. The zero Service is none.
type Service uint8

// The kinds of service of B30.9's periodic inspection, also in WAC table 12.
const (
	Normal  Service = iota + 1 // within the rated load
	Severe                     // abnormal conditions
	Special                    // as a qualified person says, or by a written examination scheme
)

var services = [...]string{"", "normal", "severe", "special"}

// ParseService reads normal, severe or special.
func ParseService(s string) (Service, bool) {
	for i, word := range services[1:] {
		if s == word {
			return Service(i + 1), true
		}
	}
	return 0, false
}

// String is the wire spelling; empty for the zero Service.
func (s Service) String() string {
	if int(s) < len(services) {
		return services[s]
	}
	return ""
}

// Rules is the law or practice that a crib inspects by. The zero Rules is none.
type Rules uint8

// The four sets of rules.
const (
	US   Rules = iota + 1 // 29 CFR 1910.184, 1926.251 and B30.9
	EN                    // EN 818-6
	UK                    // LOLER regulation 9
	Yard                  // 29 CFR 1915.112, US shipyards
)

var rules = [...]string{"", "us", "en", "uk", "yard"}

// ParseRules reads us, en, uk or yard.
func ParseRules(s string) (Rules, bool) {
	for i, word := range rules[1:] {
		if s == word {
			return Rules(i + 1), true
		}
	}
	return 0, false
}

// String is the wire spelling; empty for the zero Rules.
func (r Rules) String() string {
	if int(r) < len(rules) {
		return rules[r]
	}
	return ""
}

// Judge is who decides what the text leaves open: the "qualified person" of the US
// texts, the "competent person" of LOLER and of EN 818-6. They are not the same and
// are never mixed: in the US texts a competent person looks at gear each day before
// it is used (29 CFR 1910.184(d)). The zero Rules has the qualified person.
func (r Rules) Judge() string {
	if r == UK || r == EN {
		return "competent person"
	}
	return "qualified person"
}

// Interval is one row: how many months may lie between thorough inspections.
type Interval struct {
	Rules    Rules
	Service  Service
	Months   int // unless someone entitled to says otherwise; 0: someone must
	Min, Max int // what may be said instead; both 0: nothing
	Clause   source.Clause
}

// Where a text gives a span, the strict end is the row and the span is what
// site policy may choose from. Severe service under the EN and UK rules has no
// interval of its own there: the quarter of WAC table 12 is taken.
var intervals = [...]Interval{
	{US, Normal, 12, 0, 0, source.TwelveMonths},
	{US, Severe, 1, 1, 3, source.SevereMonthly},
	{US, Special, 0, 1, 12, source.ServiceIntervals},
	{EN, Normal, 12, 0, 0, source.ENTwelveMonths},
	{EN, Severe, 3, 1, 3, source.ServiceIntervals},
	{UK, Normal, 6, 0, 0, source.UKSixMonths},
	{UK, Severe, 3, 1, 3, source.ServiceIntervals},
	{UK, Special, 0, 1, 6, source.UKSixMonths},
	{Yard, Normal, 3, 0, 0, source.ShipyardQuarter},
	{Yard, Severe, 1, 1, 3, source.SevereMonthly},
}

// Find is the row for one service under one set of rules; ok is false where there is none.
func Find(service Service, rules Rules) (row Interval, ok bool) {
	for _, row := range intervals {
		if row.Service == service && row.Rules == rules {
			return row, true
		}
	}
	return Interval{}, false
}

// Errors of Next.
var (
	ErrNotInspected = errors.New("no date of inspection")
	ErrNoInterval   = errors.New("these rules have no interval for this service")
	ErrMonths       = errors.New("months out of the row's range")
	ErrMonthsNeeded = errors.New("months must be said by a qualified person")
	ErrTooLate      = errors.New("due after the year 9999")
)

// Next is the day by which a sling inspected on a day must be inspected again;
// that day itself is still good. months is what site policy or a qualified
// person has said, 0 for nothing. On error, one of the five above wrapped, the
// Date is zero.
func Next(inspected quantity.Date, service Service, rules Rules, months int) (quantity.Date, error) {
	due, err := next(inspected, service, rules, months)
	if err != nil {
		return quantity.Date{}, fmt.Errorf("due: %s service, rules %s: %w", service, rules, err)
	}
	return due, nil
}

func next(inspected quantity.Date, service Service, rules Rules, months int) (quantity.Date, error) {
	if inspected.IsZero() {
		return quantity.Date{}, ErrNotInspected
	}
	row, ok := Find(service, rules)
	switch {
	case !ok:
		return quantity.Date{}, ErrNoInterval
	case months == 0 && row.Months == 0:
		return quantity.Date{}, ErrMonthsNeeded
	case months == 0:
		months = row.Months
	case months < row.Min || months > row.Max:
		return quantity.Date{}, fmt.Errorf("%d: %w, %d to %d", months, ErrMonths, row.Min, row.Max)
	}
	due := inspected.AddMonths(months)
	if due.IsZero() {
		return quantity.Date{}, ErrTooLate
	}
	return due, nil
}
