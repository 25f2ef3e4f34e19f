package due

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Question asks for one due date. Its zero value has no answer.
type Question struct {
	ID        string
	Inspected quantity.Date // a month without its day counts as its first day
	Service   Service
	Rules     Rules
	Months    int // 0: nothing said
}

// Answer is the due date to one question.
type Answer struct {
	ID  string
	Due quantity.Date
}

// ParseQuestion reads one line of the machine surface:
//
//	{"id":"d1","inspected":"2026-01-31","service":"severe","rules":"us"}
//
// id, inspected, service and rules are required; inspected is YYYY-MM-DD or,
// when only the month was recorded, YYYY-MM; months, 1 to 12, may be left out.
// The error is a *[strict.Error]; the Question then carries nothing but the
// line's id where [strict.LineID] finds one.
func ParseQuestion(line []byte) (Question, error) {
	q, err := parseQuestion(line)
	if err != nil {
		id, _ := strict.LineID(line)
		return Question{ID: id}, err
	}
	return q, nil
}

func parseQuestion(line []byte) (Question, error) {
	v, err := strict.Parse(line)
	if err != nil {
		return Question{}, err
	}
	o := strict.Open("question", v)
	q := Question{ID: o.Str("id"), Months: int(o.OptInt("months", 1, 12, 0))}
	var ok bool
	inspected := o.Str("inspected")
	if q.Inspected, err = quantity.ParseDate(inspected); err != nil {
		if q.Inspected, err = quantity.ParseMonth(inspected); err != nil {
			o.Fail("inspected", "%q is neither YYYY-MM-DD nor YYYY-MM", inspected)
		}
	}
	if q.Service, ok = ParseService(o.Str("service")); !ok {
		o.Fail("service", "not normal, severe or special")
	}
	if q.Rules, ok = ParseRules(o.Str("rules")); !ok {
		o.Fail("rules", "not us, en, uk or yard")
	}
	return q, o.Done()
}

// Ask answers one question. The errors are those of Next.
func Ask(q Question) (Answer, error) {
	due, err := Next(q.Inspected, q.Service, q.Rules, q.Months)
	if err != nil {
		return Answer{ID: q.ID}, err
	}
	return Answer{ID: q.ID, Due: due}, nil
}

// MarshalJSON writes {"id":"d1","due":"2026-02-28"}; an answer without a date is an error.
func (a Answer) MarshalJSON() ([]byte, error) {
	if a.Due.IsZero() {
		return nil, ErrNotInspected
	}
	var w strict.Writer
	w.Begin()
	w.Str("id", a.ID)
	w.Str("due", a.Due.String())
	w.End()
	return w.Bytes()
}
