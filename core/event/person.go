package event

import (
	"fmt"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Roles is a set of what a person does here. The zero value is none.
type Roles uint8

// The roles.
const (
	Attendant Roles = 1 << iota // hands over and takes back
	Rigger                      // takes slings out for lifts
	Inspector                   // inspects, holds, releases, retires
	Keeper                      // answers for the records, people and settings
)

// roleWords in the order in which they are written.
var roleWords = []struct {
	role Roles
	word string
}{{Attendant, "attendant"}, {Rigger, "rigger"}, {Inspector, "inspector"}, {Keeper, "keeper"}}

// Has reports whether all of r2 is in r.
func (r Roles) Has(r2 Roles) bool { return r&r2 == r2 }

// Any reports whether any of r2 is in r.
func (r Roles) Any(r2 Roles) bool { return r&r2 != 0 }

// String lists the roles with a comma and a space between, empty for none.
func (r Roles) String() string {
	var words []string
	for _, w := range roleWords {
		if r.Has(w.role) {
			words = append(words, w.word)
		}
	}
	return strings.Join(words, ", ")
}

// ParseRole reads one role's word.
func ParseRole(word string) (Roles, error) {
	for _, w := range roleWords {
		if w.word == word {
			return w.role, nil
		}
	}
	return 0, fmt.Errorf("event: %q is no role (attendant, rigger, inspector, keeper)", word)
}

func readRoles(o *strict.Object) (roles Roles) {
	for _, word := range o.Strs("roles") {
		r, err := ParseRole(word)
		if err != nil || roles.Has(r) {
			o.Fail("roles", "not a list of different roles")
			return 0
		}
		roles |= r
	}
	return roles
}

func (r Roles) write(w *strict.Writer) {
	w.List("roles")
	for _, word := range roleWords {
		if r.Has(word.role) {
			w.ItemStr(word.word)
		}
	}
	w.End()
}

// Terms is what holds for one person besides the roles. The zero value is what
// holds for most.
type Terms struct {
	ShiftGear bool          // may draw gear for a shift, without a stated lift
	Learner   bool          // hands over only with another attendant's countersign
	Until     quantity.Date // last day that the person may do anything; zero: without an end

	Qualified Qualified // with any: schema 3
}

// Qualified is what a report says of the person who made an examination (LOLER 1998
// schedule 1 items 12 and 13). The zero value is not said.
type Qualified struct {
	As       string // qualification
	Employer string // by whom employed; empty: by the crib's own employer, or self-employed where As says so
	Address  string // of that employer
}

func readQualified(o *strict.Object) Qualified {
	if o == nil {
		return Qualified{}
	}
	return Qualified{As: o.Str("as"), Employer: o.Str("employer"), Address: o.Str("address")}
}

func (q Qualified) write(w *strict.Writer) {
	if q == (Qualified{}) {
		return
	}
	w.Obj("qualified")
	w.Str("as", q.As)
	w.Str("employer", q.Employer)
	w.Str("address", q.Address)
	w.End()
}

func (t Terms) schema() int {
	switch {
	case t.Qualified != Qualified{}:
		return 3
	case t != Terms{}:
		return 2
	}
	return 1
}

func readTerms(o *strict.Object) Terms {
	t := Terms{ShiftGear: o.OptBool("shift_gear", false), Learner: o.OptBool("learner", false)}
	if o.Has("until") {
		t.Until = ReadDate(o, "until")
	}
	t.Qualified = readQualified(o.OptObj("qualified"))
	return t
}

func (t Terms) write(w *strict.Writer) {
	if t == (Terms{}) {
		return
	}
	w.Bool("shift_gear", t.ShiftGear)
	w.Bool("learner", t.Learner)
	w.Str("until", t.Until.String())
	t.Qualified.write(w)
}

// PersonAdded enters a person.
type PersonAdded struct {
	Name  string
	Roles Roles
	Terms Terms // with any: schema 2
}

// Kind is KindPersonAdded.
func (PersonAdded) Kind() Kind { return KindPersonAdded }

func readPersonAdded(o *strict.Object) PersonAdded {
	return PersonAdded{Name: readName(o), Roles: readRoles(o), Terms: readTerms(o)}
}

func (p PersonAdded) schema() int { return p.Terms.schema() }

func (p PersonAdded) write(w *strict.Writer) {
	w.Str("name", p.Name)
	p.Roles.write(w)
	p.Terms.write(w)
}

// PersonChanged replaces a person's name and roles, or takes the person off.
type PersonChanged struct {
	Name  string
	Roles Roles
	Here  bool  // false: no longer here, may do nothing
	Terms Terms // with any: schema 2
}

// Kind is KindPersonChanged.
func (PersonChanged) Kind() Kind { return KindPersonChanged }

func (p PersonChanged) schema() int { return p.Terms.schema() }

// ReadPersonChanged reads a PersonChanged body. o may hold other names for its
// caller, who also calls o.Done.
func ReadPersonChanged(o *strict.Object) PersonChanged {
	return PersonChanged{Name: readName(o), Roles: readRoles(o), Here: o.Bool("here"), Terms: readTerms(o)}
}

func (p PersonChanged) write(w *strict.Writer) {
	w.Str("name", p.Name)
	p.Roles.write(w)
	w.Bool("here", p.Here)
	p.Terms.write(w)
}

// PINSet says that a PIN was set, never which. A one-time PIN must be changed
// at the next sign-in.
type PINSet struct{ OneTime bool }

// Kind is KindPINSet.
func (PINSet) Kind() Kind { return KindPINSet }

func (p PINSet) write(w *strict.Writer) { w.Bool("one_time", p.OneTime) }
