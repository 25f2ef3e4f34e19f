package web

import (
	"slices"

	"cribgate/core/event"
)

// An act is something that a role may do. Every route names its act, and the
// table below is the only place that says who may: it is enforced on each
// request, shown on the people page, and tested for every route.
type act int

const (
	actNothing     act = iota // no permission needed: sign-in and what leads there
	actSelf                   // one's own PIN and leaving: everyone who is signed in
	actPeople                 // see who is who
	actAddPeople              // add people, change them, give PINs
	actBadge                  // print badges
	actMarked                 // see what is marked for the keeper
	actCounter                // see the counter, read tags, take slings back
	actIssue                  // hand slings over
	actLift                   // state a lift, and see which slings would do
	actRack                   // see slings, their stories, and what is out
	actHold                   // hold a sling, report it lost or found
	actCustody                // say who has an impounded sling, free it, send slings to repair and take them back
	actInspect                // inspect, release, correct, retire
	actBench                  // see what waits for the inspector
	actFigures                // say what parts measured when new
	actRegister               // enter slings
	actHang                   // see the tags, confirm them on the sling, throw spoilt ones away
	actTag                    // print tags
	actSeal                   // see the register's seal and print it
	actClock                  // see what the clock says; two people sign for it there
	actCompare                // compare slings by their tags with a register that was brought back
	actCompareBare            // compare those that have no tag
	actCopies                 // see the copies of the register, and the room on the disks
	actCount                  // count the rack, and give a sling another place
	actExaminer               // write down what an examiner from outside says
	actDay                    // see and plan the lifts of the coming days
	actAside                  // propose slings for a day's lifts, and set them aside
	actLacks                  // see what the crib lacks
	actPaper                  // enter what went on without the program, keep unknown slings apart
	actSettle                 // say what became of those
	actPhotoOut               // take a picture out for good
	actSetup                  // see how the crib is set up, and set its policy
)

const everyone = event.Attendant | event.Rigger | event.Inspector | event.Keeper

// acts says for each act how the people page calls it and who may. Acts without
// a name are not listed there.
var acts = [...]struct {
	name string
	who  event.Roles
}{
	actNothing:     {"", 0},
	actSelf:        {"", everyone},
	actPeople:      {"See who is who, and what each may do", everyone},
	actAddPeople:   {"Add people, take them off, change roles and terms, give one-time PINs", event.Keeper},
	actBadge:       {"Print badges, and give day passes", event.Keeper},
	actMarked:      {"See what is marked for the keeper", event.Keeper},
	actCounter:     {"Read tags at the counter, and take slings back", event.Attendant | event.Inspector | event.Keeper},
	actIssue:       {"Hand slings over", event.Attendant},
	actLift:        {"State a lift, and see which slings would do", everyone},
	actRack:        {"See every sling, its story, and what is outside", everyone},
	actHold:        {"Hold a sling, impound it with a second person, report it lost or found", event.Attendant | event.Inspector | event.Keeper},
	actCustody:     {"Say who has an impounded sling, free it with a second person, send slings to repair and take them back", event.Inspector | event.Keeper},
	actInspect:     {"Inspect, release, correct and retire slings", event.Inspector},
	actBench:       {"See what waits on the bench", event.Inspector | event.Keeper},
	actFigures:     {"Enter what parts measured when new", event.Inspector | event.Keeper},
	actRegister:    {"Register slings", event.Inspector | event.Keeper},
	actHang:        {"See the QR tags, confirm them on the sling, throw spoilt ones away", event.Attendant | event.Inspector | event.Keeper},
	actTag:         {"Print QR tags", event.Inspector | event.Keeper},
	actSeal:        {"See the register’s seal, and print it", event.Inspector | event.Keeper},
	actClock:       {"See what the clock says; its date is signed there by a keeper and an inspector", everyone},
	actCompare:     {"Compare slings with a register that was brought back from a copy", event.Attendant | event.Inspector | event.Keeper},
	actCompareBare: {"Compare those that have no tag", event.Inspector | event.Keeper},
	actCopies:      {"See the copies of the register, and the room on the disks", event.Attendant | event.Inspector | event.Keeper},
	actCount:       {"Count the rack, and give a sling another place", event.Attendant | event.Inspector | event.Keeper},
	actExaminer:    {"Write down what an examiner from outside says", event.Inspector | event.Keeper},
	actDay:         {"See the lifts of the coming days; riggers plan their own", everyone},
	actAside:       {"Propose slings for a day’s lifts, and set them aside", event.Attendant | event.Inspector | event.Keeper},
	actLacks:       {"See which slings the crib lacks", event.Inspector | event.Keeper},
	actPaper:       {"Enter what went on without the program, and keep unknown slings apart", event.Attendant | event.Inspector | event.Keeper},
	actSettle:      {"Say what became of slings that were kept apart", event.Inspector | event.Keeper},
	actPhotoOut:    {"Take a picture out for good", event.Keeper},
	actSetup:       {"See how the crib is set up, and set its policy", event.Keeper},
}

// roleNames are the roles in the order of the people page.
var roleNames = [...]struct {
	role event.Roles
	name string
	does string
}{
	{event.Attendant, "Attendant", "hands over and takes back"},
	{event.Rigger, "Rigger", "draws slings for lifts"},
	{event.Inspector, "Inspector", "inspects, holds, releases"},
	{event.Keeper, "Keeper", "answers for the crib"},
}

// A Permission is one line of the people page.
type Permission struct {
	Act string
	Who string // the roles that may
}

// permissions lists the acts that some route needs, in the order of the table.
func permissions() []Permission {
	var out []Permission
	for a, row := range acts {
		used := slices.ContainsFunc(routes(), func(r route) bool { return r.act == act(a) })
		if row.name == "" || !used {
			continue
		}
		p := Permission{Act: row.name, Who: row.who.String()}
		if row.who == everyone {
			p.Who = "everyone who signs in"
		}
		out = append(out, p)
	}
	return out
}
