package crib

import (
	"fmt"
	"io"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Name is the crib's.
const Name = "Quillon Bight Yard, crib 1"

// Person is one of the crib's people.
type Person struct {
	ID    event.PersonID
	Name  string
	Roles event.Roles
	PIN   string // empty for those who never sign in
	Terms event.Terms
	Badge string // text of the badge; empty for who has none

	from, until int // days of the history between which the person is here
}

// part is a line of the cast.
type part struct {
	name  string
	roles event.Roles
	pin   string
	terms event.Terms
}

// The cast is everybody who ever worked here, those who sign in first. Riggers
// are named at the counter and need no PIN. The last few came in the last week.
var cast = []part{
	{"Odette Copperkettle", event.Keeper, "470193", event.Terms{}},
	{"Amos Farthinglow", event.Keeper | event.Inspector, "", event.Terms{}},
	{"Petra Mossgrove", event.Inspector, "306841", event.Terms{}},
	{"Lionel Wickerby", event.Inspector, "", event.Terms{}},
	{"Marla Tidewater", event.Attendant, "592714", event.Terms{}},
	{"Bram Thistlewick", event.Attendant, "", event.Terms{}},
	{"Ines Dunnock", event.Attendant, "", event.Terms{}},
	{"Hob Saltwhistle", event.Attendant | event.Rigger, "", event.Terms{}},
	{"Ruth Ironmallow", event.Rigger, "741380", event.Terms{}},
	{"Cole Brackenshaw", event.Rigger, "", event.Terms{ShiftGear: true}}, {"Dagny Fairlead", event.Rigger, "", event.Terms{}},
	{"Ezra Quickwater", event.Rigger, "", event.Terms{}}, {"Fern Hollowell", event.Rigger, "", event.Terms{}},
	{"Gideon Plumbridge", event.Rigger, "", event.Terms{}}, {"Hattie Lanternby", event.Rigger, "", event.Terms{}},
	{"Igor Pebblecombe", event.Rigger, "", event.Terms{}}, {"Juno Marlspike", event.Rigger, "", event.Terms{}},
	{"Kit Overwater", event.Rigger, "", event.Terms{}}, {"Leda Stonecrop", event.Rigger, "", event.Terms{}},
	{"Milo Turnbuckley", event.Rigger, "", event.Terms{}}, {"Nell Ashgarth", event.Rigger, "", event.Terms{}},
	{"Orin Capstanley", event.Rigger, "", event.Terms{}}, {"Pia Windrow", event.Rigger, "", event.Terms{}},
	{"Quentin Burdock", event.Rigger, "", event.Terms{}}, {"Rosa Shacklebrook", event.Rigger, "", event.Terms{}},
	{"Silas Eyebright", event.Rigger, "", event.Terms{}}, {"Thea Longsplice", event.Rigger, "", event.Terms{}},
	{"Udo Fenwhistle", event.Rigger, "", event.Terms{}}, {"Vera Hawserby", event.Rigger, "", event.Terms{}},
	{"Wim Gantryman", event.Rigger, "", event.Terms{}}, {"Xenia Tallowby", event.Rigger, "", event.Terms{}},
	{"Yorick Bollardson", event.Rigger, "", event.Terms{}}, {"Zora Pickerelle", event.Rigger, "", event.Terms{}},
	{"Tamsin Reedlight", event.Attendant, "268405", event.Terms{Learner: true}},
	{dayRigger, event.Rigger, "", event.Terms{}},
}

// dayRigger is here for one day, with a pass. Who comes last is counted by lately.
const (
	dayRigger = "Otto Vanbreaker"
	lately    = 2
)

// gathered gives the cast ids; last is the last day of the history, and the pass of
// dayRigger is for the day after it. Two riggers come in the middle of the history
// and one leaves, so that the register also knows somebody who may do nothing
// any more.
func gathered(random io.Reader, days int, last quantity.Date) ([]Person, error) {
	people := make([]Person, len(cast))
	for i, p := range cast {
		id, err := event.NewPersonID(random)
		if err != nil {
			return nil, fmt.Errorf("crib: gather the people: %w", err)
		}
		people[i] = Person{ID: id, Name: p.name, Roles: p.roles, PIN: p.pin, Terms: p.terms, until: days + 1}
	}
	n := len(people) - lately
	people[n-1].from, people[n-2].from = days/2, days/3
	people[n-3].until = days * 3 / 4
	people[n].from, people[n+1].from = max(0, days-5), days-1
	people[n+1].Terms.Until = last.AddDays(1)
	return people, nil
}

// Cast lists everybody by name, roles and PIN, without ids: those are in each
// register.
func Cast() []Person {
	people := make([]Person, len(cast))
	for i, p := range cast {
		people[i] = Person{Name: p.name, Roles: p.roles, PIN: p.pin, Terms: p.terms}
	}
	return people
}
