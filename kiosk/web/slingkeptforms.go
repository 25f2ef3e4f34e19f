package web

import (
	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/desk"
)

func lineField(was sent, act, name, label, hint string, needed bool) FormPart {
	return FormPart{Field: &Field{Name: name, Label: label, Hint: hint, Value: was.text(act, name), Error: was.complaint(act, name), Most: maxPlace, Needed: needed}}
}

// secondParts ask who signs beside whoever is signed in, and for the PIN.
func secondParts(v *visit, people []state.Person, roles event.Roles, act, legend string, was sent) []FormPart {
	chosen, _ := event.ParsePersonID(was.text(act, "second")) // nobody where it cannot be read
	f := signer(seconds(v, people), v.today, roles, "second", legend, chosen, was.complaint(act, "second"), was.complaint(act, "second-pin"))
	f.PIN.Label = "PIN of the second person"
	return []FormPart{{Choice: &f.Who}, {PIN: &Field{Name: f.PIN.Name, Label: f.PIN.Label, Type: f.PIN.Type, Mode: f.PIN.Mode, Complete: f.PIN.Complete,
		Most: desk.MaxDigits, Needed: true, Error: f.PIN.Error}}}
}

func impoundForm(v *visit, people []state.Person, was sent) ActForm {
	const act = "impound"
	return ActForm{
		Title: "Impound it after an accident", Sub: "it is kept as it is until an inspector and a keeper free it",
		Parts: append([]FormPart{
			area(was, act, "impound-reason", "What happened?", "When, where, under which load. Do not clean it, and take nothing off it.", true),
			lineField(was, act, "holder", "Who has it now?", "A name or an office", true),
			lineField(was, act, "lies", "Where is it kept?", "Locked, where nobody uses it", true),
		}, secondParts(v, people, event.Attendant|event.Inspector|event.Keeper, act, "Who signs beside you?", was)...),
		Button: Action{Label: "Impound it, both of us", Sub: "signed with both names", First: true},
	}
}

func custodyForm(was sent) ActForm {
	const act = "custody"
	return ActForm{
		Title: "It goes to somebody else", Sub: "who has it from now on",
		Parts: []FormPart{
			lineField(was, act, "to", "Who has it from now on?", "A name or an office", true),
			lineField(was, act, "now-lies", "Where is it kept?", "Locked, where nobody uses it", true),
			area(was, act, "why", "Why?", "Taken to a laboratory, shown to an inspector of the authority.", true),
		},
		Button: Action{Label: "Write it into the chain", Sub: "signed with your name", First: true},
	}
}

// partners are the roles of whoever may free a sling together with the reader.
func partners(v *visit) (roles event.Roles) {
	if v.who.May(event.Inspector, v.today) {
		roles |= event.Keeper
	}
	if v.who.May(event.Keeper, v.today) {
		roles |= event.Inspector
	}
	return roles
}

func freeForm(v *visit, sling state.Sling, people []state.Person, was sent) ActForm {
	const act = "free"
	return ActForm{
		Title: "Free it", Sub: "it stays held, and an inspector looks at it",
		Parts: append([]FormPart{
			area(was, act, "free-reason", "Why is it not needed any more as it is?", "Who has closed the enquiry, and when.", true),
			placeField(was, act, "free-lies", "Where will it lie?", "Apart from what may go out. Empty: "+placeWords(sling.Details.Place), ""),
		}, secondParts(v, people, partners(v), act, "Who signs beside you? An inspector and a keeper, two people", was)...),
		Button: Action{Label: "Free it, both of us", Sub: "signed with both names", First: true},
	}
}

func sendOffForm(was sent) ActForm {
	const act = "send-off"
	return ActForm{
		Title: "Send it off for repair", Sub: "to its maker, or a repairer whom the maker authorises",
		Parts: []FormPart{
			lineField(was, act, "to", "To whom?", "Nothing is welded or mended in the crib", true),
			area(was, act, "why", "What is to be done?", "What was found, and on which leg.", true),
		},
		Button: Action{Label: "It is on its way", Sub: "signed with your name", First: true},
	}
}

func cameBackForm(sling state.Sling, was sent) ActForm {
	const act = "came-back"
	f := ActForm{
		Title: "It came back from " + sling.Repair.To, Sub: "it stays held until a thorough inspection has passed it", File: true,
		Parts: []FormPart{
			lineField(was, act, "certificate", "Certificate", "Number and date, and that of the proof test", true),
			{Field: &Field{Name: "picture", Label: "Picture of the certificate", Hint: photoSays, Type: "file", Accept: "image/*", Error: was.complaint(act, "picture")}},
		},
		Button: Action{Label: "It is back", Sub: "signed with your name", First: true},
	}
	for leg := 1; leg <= sling.Details.Sling.Legs+1; leg++ {
		of := leg % (sling.Details.Sling.Legs + 1) // what all legs share comes last
		c := Choice{Name: "changed", Legend: "Put in anew on leg " + itoa(of), Many: true, Error: was.complaint(act, "changed")}
		if of == 0 {
			c.Legend = "Put in anew of what all legs share"
		}
		for _, p := range piecesOf(sling, of) {
			name := pieceName(p)
			c.Options = append(c.Options, Option{Value: name, Label: pieceLabel(p), On: was.open == act && was.chosen[name]})
		}
		f.Parts = append(f.Parts, FormPart{Choice: &c})
	}
	f.Parts = append(f.Parts,
		lineField(was, act, "stamp", "Stamped anew", "What the new plate says; empty where it has its old one. With a new one its details are corrected before it is released", false),
		placeField(was, act, "back-lies", "Where does it lie now?", "Apart from what may go out. Empty: "+placeWords(sling.Details.Place), ""),
		area(was, act, "back-note", "Note", "What the repairer wrote besides.", false))
	return f
}

func remedyForm(sling state.Sling, d state.OpenDefect, was sent) ActForm {
	act, name := "remedy-"+itoa(d.No), "how-"+itoa(d.No)
	return ActForm{
		Act: act, Path: slingPath(sling) + "/remedy", Title: "It is put right", Sub: "with a written how", No: d.No,
		Parts:  []FormPart{area(was, act, name, "How was it put right?", "What was done, and what you looked at.", true)},
		Button: Action{Label: "It is put right", Sub: "signed with your name", First: true},
	}
}
