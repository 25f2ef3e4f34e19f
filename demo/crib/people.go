package crib

import (
	"fmt"
	"io"

	"cribgate/core/event"
)

// Name is the crib's.
const Name = "Quillon Bight Yard, crib 1"

// Person is one of the crib's people.
type Person struct {
	ID    event.PersonID
	Name  string
	Roles event.Roles
	PIN   string // empty for those who never sign in

	from, until int // days of the history between which the person is here
}

// part is a line of the cast.
type part struct {
	name  string
	roles event.Roles
	pin   string
}

// The cast is everybody who ever worked here, those who sign in first. Riggers
// are named at the counter and need no PIN.
var cast = []part{
	{"Odette Copperkettle", event.Keeper, "470193"},
	{"Amos Farthinglow", event.Keeper | event.Inspector, ""},
	{"Petra Mossgrove", event.Inspector, "306841"},
	{"Lionel Wickerby", event.Inspector, ""},
	{"Marla Tidewater", event.Attendant, "592714"},
	{"Bram Thistlewick", event.Attendant, ""},
	{"Ines Dunnock", event.Attendant, ""},
	{"Hob Saltwhistle", event.Attendant | event.Rigger, ""},
	{"Ruth Ironmallow", event.Rigger, "741380"},
	{"Cole Brackenshaw", event.Rigger, ""}, {"Dagny Fairlead", event.Rigger, ""},
	{"Ezra Quickwater", event.Rigger, ""}, {"Fern Hollowell", event.Rigger, ""},
	{"Gideon Plumbridge", event.Rigger, ""}, {"Hattie Lanternby", event.Rigger, ""},
	{"Igor Pebblecombe", event.Rigger, ""}, {"Juno Marlspike", event.Rigger, ""},
	{"Kit Overwater", event.Rigger, ""}, {"Leda Stonecrop", event.Rigger, ""},
	{"Milo Turnbuckley", event.Rigger, ""}, {"Nell Ashgarth", event.Rigger, ""},
	{"Orin Capstanley", event.Rigger, ""}, {"Pia Windrow", event.Rigger, ""},
	{"Quentin Burdock", event.Rigger, ""}, {"Rosa Shacklebrook", event.Rigger, ""},
	{"Silas Eyebright", event.Rigger, ""}, {"Thea Longsplice", event.Rigger, ""},
	{"Udo Fenwhistle", event.Rigger, ""}, {"Vera Hawserby", event.Rigger, ""},
	{"Wim Gantryman", event.Rigger, ""}, {"Xenia Tallowby", event.Rigger, ""},
	{"Yorick Bollardson", event.Rigger, ""}, {"Zora Pickerelle", event.Rigger, ""},
}

// gathered gives the cast ids. Two riggers come in the middle of the history
// and one leaves, so that the register also knows somebody who may do nothing
// any more.
func gathered(random io.Reader, days int) ([]Person, error) {
	people := make([]Person, len(cast))
	for i, p := range cast {
		id, err := event.NewPersonID(random)
		if err != nil {
			return nil, fmt.Errorf("crib: gather the people: %w", err)
		}
		people[i] = Person{ID: id, Name: p.name, Roles: p.roles, PIN: p.pin, until: days + 1}
	}
	n := len(people)
	people[n-1].from, people[n-2].from = days/2, days/3
	people[n-3].until = days * 3 / 4
	return people, nil
}

// Cast lists everybody by name, roles and PIN, without ids: those are in each
// register.
func Cast() []Person {
	people := make([]Person, len(cast))
	for i, p := range cast {
		people[i] = Person{Name: p.name, Roles: p.roles, PIN: p.pin}
	}
	return people
}
