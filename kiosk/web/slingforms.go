package web

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// An ActForm is something that can be done with a sling, folded up until it is
// wanted.
type ActForm struct {
	Act    string // its name in addresses
	No     int    // of what it is about, where a sling has several; 0 where not
	Title  string
	Sub    string
	Path   string
	Key    string // makes sending it twice the same as once
	Heads  string // what the page has seen of the sling
	Open   bool
	First  bool   // the one that comes next
	Whole  string // what is wrong with the form as a whole
	Parts  []FormPart
	Due    *DueSays // where a day follows from what is filled in
	File   bool     // a picture is sent with it
	Check  string   // where it is checked while it is filled in; empty for nowhere
	Button Action
}

// A FormPart is one of a field, a PIN, an area and a choice.
type FormPart struct {
	Field  *Field
	PIN    *Field // with a keypad
	Area   *Area
	Choice *Choice
}

// An Area is a text of some lines.
type Area struct {
	Name   string
	Label  string
	Hint   string
	Value  string
	Error  string
	Most   int
	Needed bool
}

// slingActs are the acts of the page, the states in which the counter does them,
// and who may.
var slingActs = []struct {
	name   string
	act    act
	states []gate.State
	form   func(*Server, *visit, state.Sling, sent) ActForm
}{
	{"release", actInspect, []gate.State{gate.StateHeld}, releaseForm},
	{"inspect", actInspect, inUse, (*Server).inspectForm},
	{"find", actHold, []gate.State{gate.StateLost}, findForm},
	{"hold", actHold, inUse, holdForm},
	{"lose", actHold, inUse, loseForm},
	{"retire", actInspect, append([]gate.State{gate.StateLost}, inUse...), retireForm},
}

// actForms are the forms that the reader may send for this sling as it stands:
// those that come next, and the others.
func (s *Server) actForms(v *visit, sling state.Sling, was sent, next []string) (first, others []ActForm) {
	for _, a := range slingActs {
		if !v.may(a.act) || !slices.Contains(a.states, sling.Details.Sling.State) {
			continue
		}
		f := a.form(s, v, sling, was)
		f.Act, f.Path, f.Key, f.Heads = a.name, slingPath(sling)+"/"+a.name, newKey(), headsText(sling.Heads)
		f.Open = was.open == a.name
		if f.Open {
			f.Whole = was.whole
		}
		if at := slices.Index(next, a.name); at >= 0 {
			f.First = at == 0
			first = append(first, f)
			continue
		}
		others = append(others, f)
	}
	slices.SortFunc(first, func(a, b ActForm) int { return slices.Index(next, a.Act) - slices.Index(next, b.Act) })
	return first, others
}

func area(was sent, act, name, label, hint string, needed bool) FormPart {
	return FormPart{Area: &Area{Name: name, Label: label, Hint: hint, Value: was.text(act, name), Error: was.complaint(act, name), Most: maxText, Needed: needed}}
}

// placeField asks where a sling lies or hangs from then on; home is offered.
func placeField(was sent, act, name, label, hint, home string) FormPart {
	f := &Field{Name: name, Label: label, Hint: hint, Value: home, Most: maxPlace}
	if was.open == act && was.value != nil {
		f.Value, f.Error = was.text(act, name), was.complaint(act, name)
	}
	return FormPart{Field: f}
}

func releaseForm(_ *Server, _ *visit, sling state.Sling, was sent) ActForm {
	return ActForm{
		Title: "Release it", Sub: "with a written reason",
		Parts: []FormPart{area(was, "release", "release-reason", "Why may it go out again?",
			"What you looked at and found. It stays in the register with your name.", true),
			placeField(was, "release", "release-place", "Where does it hang from now on?", "Empty: it stays at "+placeWords(sling.Details.Place), was.home)},
		Button: Action{Label: "Release " + sling.Details.Ident, First: true},
	}
}

func holdForm(_ *Server, _ *visit, sling state.Sling, was sent) ActForm {
	until := "it stays in until an inspector releases it"
	if sling.Details.Sling.State == gate.StateOut {
		until = "it is held as soon as it comes back; tell who has it to stop using it"
	}
	return ActForm{
		Title: "Hold it", Sub: until,
		Parts: []FormPart{area(was, "hold", "hold-reason", "Why?", "What you saw, heard or were told.", true),
			placeField(was, "hold", "hold-lies", "Where will it lie?", "Apart from what may go out. Empty: "+placeWords(sling.Details.Place), "")},
		Button: Action{Label: "Hold " + sling.Details.Ident, First: true},
	}
}

func loseForm(_ *Server, _ *visit, sling state.Sling, was sent) ActForm {
	return ActForm{
		Title: "Report it lost", Sub: "nobody knows where it is",
		Parts:  []FormPart{area(was, "lose", "lose-note", "Note", "Where it was looked for, who had it last.", false)},
		Button: Action{Label: "Report " + sling.Details.Ident + " lost", First: true},
	}
}

func findForm(_ *Server, _ *visit, sling state.Sling, was sent) ActForm {
	return ActForm{
		Title: "It turned up", Sub: "it is held until an inspector has looked at it",
		Parts:  []FormPart{area(was, "find", "find-note", "Note", "Where it was, and in what state.", false)},
		Button: Action{Label: sling.Details.Ident + " is here again", First: true},
	}
}

func retireForm(_ *Server, v *visit, sling state.Sling, was sent) ActForm {
	return ActForm{
		Title: "Retire it for good", Sub: "there is no way back", File: true,
		Parts: []FormPart{
			area(was, "retire", "retire-reason", "Why?", "What is wrong with it.", true),
			area(was, "retire", "retire-how", "How was it made unusable?", "Do it first: cut through every leg, say, and where the pieces went.", true),
			{Field: &Field{Name: "retire-witness", Label: "Who saw it done", Hint: "a name; empty where nobody did", Most: 60, Value: was.text("retire", "retire-witness"), Error: was.complaint("retire", "retire-witness")}},
			area(was, "retire", "retire-salvage", "What may be saved", "Parts without a finding, kept apart and marked. The repair shop decides, never the crib.", false),
			{Field: &Field{Name: "retire-picture", Label: "Picture of what is left", Hint: photoSays, Type: "file", Accept: "image/*", Error: was.complaint("retire", "retire-picture")}},
		},
		Button: Action{Label: v.list().Say("Retire") + " " + sling.Details.Ident, Sub: "for good", First: true},
	}
}

func (s *Server) inspectForm(v *visit, sling state.Sling, was sent) ActForm {
	const name = "inspect"
	choice := func(field, legend, hint string, options []Option) FormPart {
		return FormPart{Choice: &Choice{Name: field, Legend: legend, Hint: hint, Error: was.complaint(name, field), Options: options}}
	}
	says := DueSays{}
	if was.open == name && was.value != nil {
		says = s.dueSays(v, v.raw)
	}
	fit := "may go out again"
	switch sling.Details.Sling.State {
	case gate.StateHeld:
		fit = "it stays held until it is released"
	case gate.StateOut:
		fit = "it stays out"
	}
	return ActForm{
		Title: "Record a thorough inspection", Sub: "its result alone, from paper; by gauge it is made at the bench",
		Check: slingPath(sling) + "/inspect/check", Due: &says,
		Parts: []FormPart{
			{Field: &Field{Name: "date", Label: "Day of the inspection", Type: "date", Value: was.text(name, "date"), Error: was.complaint(name, "date"), Needed: true}},
			choice("outcome", "What did it come to?", "", options(was.text(name, "outcome"), [][3]string{
				{"fit", "Fit", fit}, {"hold", "To be held", "a " + v.crib.Founded.Rules.Judge() + " decides"}, {"out", "Out of service", "it must not lift again"},
			})),
			choice("rating-tag", "The maker’s rating tag", "", ratingTagOptions(was.text(name, "rating-tag"))),
			choice("service", "How hard is it used?", "", serviceOptions(v.crib.Founded.Rules, was.text(name, "service"))),
			{Field: &Field{Name: "months", Label: "Months to the next one", Hint: "Only where site policy or a " + v.crib.Founded.Rules.Judge() + " has set them; empty for the rule’s own",
				Mode: "numeric", Unit: "months", Most: 2, Value: was.text(name, "months"), Error: was.complaint(name, "months")}},
			area(was, name, "inspect-note", "Note", "What was found, measured and done.", false),
		},
		Button: Action{Label: "Record the inspection", Sub: "signed with your name", First: true},
	}
}

// A next is what most people of the reader's role do next with a sling: forms of
// the page, then pages elsewhere. The very first of them is the black one.
type next struct {
	acts  []string
	links []Action
	no    string // who does what, where there is nothing for the reader
}

func (s *Server) nextSteps(v *visit, st stand) next {
	n := s.likely(v, st)
	if len(n.acts) == 0 && len(n.links) > 0 {
		n.links[0].First = true
	}
	if len(n.acts) > 0 || len(n.links) > 0 {
		n.no = ""
	}
	return n
}

func (s *Server) likely(v *visit, st stand) (n next) {
	sling, path := st.sling, slingPath(st.sling)
	_, late := st.dueWords()
	switch sling.Details.Sling.State {
	case gate.StateRetired:
		n.no = "It is out of service for good. Nothing more is done with it."
	case gate.StateLost:
		n.acts = []string{"find"}
		n.no = "Whoever finds it brings it to the counter."
	case gate.StateOut:
		if v.may(actCounter) {
			n.links = append(n.links, Action{Label: "Take it back", Sub: "at the counter: scan it", Path: "/counter"},
				Action{Label: "Hand on, place, recall", Sub: "while it is out", Path: awayPath(sling)})
		}
		n.no = "It comes back over the counter."
	case gate.StateUnchecked:
		if v.may(actCounter) {
			n.links = append(n.links, Action{Label: "Look at it now", Sub: "it came back, and nobody has", Path: slingCheckPath(sling)})
		}
		n.no = "Whoever works at the counter looks at it."
	case gate.StateHeld:
		if keptAt(sling) != "" {
			n.links = append(n.links, Action{Label: "What it is kept for", Sub: "who has it, and what comes next", Path: keptPath(sling)})
			break
		}
		if sling.Mended.Stamp != "" && v.may(actInspect) {
			n.links = append(n.links, Action{Label: "Correct its details", Sub: "by what is stamped on it anew", Path: path + "/correct"})
		}
		// What it is held for is looked at first; it is let go where that has been done.
		switch n.acts = []string{"inspect", "release"}; {
		case sling.Details.Outcome == tagcode.Out && sling.Mended.Day.IsZero():
			n.acts = []string{"retire"}
		case len(sling.Failed) > 0 && v.may(actInspect): // it is passed by gauge only
			n.acts, n.links = nil, append(n.links, atBench(sling))
		case sling.Details.Outcome == tagcode.Fit && !late && st.looked:
			n.acts = []string{"release", "inspect"}
		}
		n.no = "An inspector looks at it and decides."
	case gate.StateIn:
		if late {
			n.acts = []string{"inspect"}
		}
		if st.misread() && v.may(actInspect) {
			n.links = append(n.links, Action{Label: "Correct its details", Sub: "after reading the plate again", Path: path + "/correct"})
		}
		n.no = "At the counter it is handed over for a stated lift."
	}
	if !v.may(actInspect) {
		n.acts = slices.DeleteFunc(n.acts, func(act string) bool { return act != "find" })
	}
	if !v.may(actHold) {
		n.acts = nil
	}
	n.links = append(n.links, s.tagSteps(v, st)...)
	if v.may(actInspect) && slices.Contains(inUse, sling.Details.Sling.State) && !slices.Contains(n.links, atBench(sling)) {
		n.links = append(n.links, atBench(sling))
	}
	if st.verdict == MayGo && v.may(actIssue) {
		n.links = append(n.links, Action{Label: "Hand it over", Sub: "at the counter: state the lift, scan it", Path: "/counter"})
	}
	return n
}

func atBench(s state.Sling) Action {
	return Action{Label: "Inspect it", Sub: "at the bench, leg by leg", Path: benchOf(s)}
}

// tagSteps lead to the sling's tag where it has none that counts.
func (s *Server) tagSteps(v *visit, st stand) []Action {
	if !v.may(actHang) || noTag(st.sling) != "" {
		return nil
	}
	path := slingPath(st.sling) + "/tag"
	if _, waiting := st.sling.Waiting(st.today); waiting {
		return []Action{{Label: "Confirm its tag", Sub: "scan it on the sling", Path: path + "#confirm"}}
	}
	if !v.may(actTag) {
		return nil
	}
	switch st.tag {
	case tagNone:
		return []Action{{Label: "Print its tag", Sub: "without one no counter can hand it over", Path: path}}
	case tagOldDates, tagOtherwise:
		return []Action{{Label: "Print its next tag", Sub: "the one on it does not say what the record says", Path: path}}
	}
	return nil
}

// lookedAt tells whether a thorough inspection was recorded since the sling was
// last held.
func lookedAt(story []store.Record) bool {
	for _, r := range slices.Backward(story) {
		switch r.Body.(type) {
		case event.Inspected:
			return true
		case event.Held, event.Returned, event.TakenIn, event.Checked, event.Told, event.Found, event.Registered, event.Corrected:
			return false
		}
	}
	return false
}

// misread tells whether something stands against the sling that a second look at
// the plate may mend.
func (st stand) misread() bool {
	return slices.ContainsFunc(st.answer.Reasons, func(r gate.Reason) bool {
		return r == gate.StampTooHigh || r == gate.StampsDisagree || r == gate.NoStampedRating || r == gate.NoListedRating
	})
}
