package web

import (
	"net/http"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// keptAt says where a sling is that is impounded or at a repairer's, after "it is";
// empty for any other.
func keptAt(s state.Sling) string {
	switch {
	case s.Impound != (state.Impound{}):
		return "impounded, with " + s.Impound.Holder + ", at " + s.Impound.Lies
	case s.Repair != (state.Repair{}):
		return "at a repairer’s, " + s.Repair.To + ", since " + s.Repair.Day.Long()
	}
	return ""
}

// keptWord is the word on the plate of a sling that is held.
func keptWord(s state.Sling) string {
	switch {
	case s.Impound != (state.Impound{}):
		return "Impounded"
	case s.Repair != (state.Repair{}):
		return "At repair"
	}
	return "Held"
}

// homeOf is where a sling hung before it was held; empty where it is not, or where it
// hangs there still.
func homeOf(story []store.Record) string {
	var s state.Sling
	home := ""
	for _, r := range story {
		if s = s.Apply(r.Event()); s.Details.Sling.State != gate.StateHeld {
			home = s.Details.Place
		}
	}
	if home == s.Details.Place {
		return ""
	}
	return home
}

// KeptPage is what a sling is kept for: an accident, a repair, defects that an
// examiner found.
type KeptPage struct {
	Base
	Stand   StandPlate
	Changed Changed
	Slip    string // address of what is hung on it; empty where it is not held
	Back    string // address of the sling's page
	Forms   []ActForm
	No      string // who does what, where there is nothing for the reader
	Chain   []CustodyLink
	Trips   []RepairTrip
	Defects []DefectRow
}

// A CustodyLink is one holder of an impounded sling, from when to when.
type CustodyLink struct {
	Holder string
	Lies   string
	From   string
	To     string // empty: still
	Why    string
	Who    string // who wrote it down, and who signed beside
}

// A RepairTrip is one way to a repairer and back.
type RepairTrip struct {
	To      string
	From    string
	Back    string // empty: it is there
	Why     string
	Changed string
	Facts   []Fact
	Photo   string
}

// A DefectRow is one open defect.
type DefectRow struct {
	What string
	By   string
	Late bool
	Form ActForm // no Path where the reader may not
}

func keptPath(s state.Sling) string { return slingPath(s) + "/kept" }

// sendOffPath is where it is written down that a sling goes to be repaired.
func sendOffPath(s state.Sling) string { return keptPath(s) + "?do=send-off" }

func (s *Server) keptPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderKept(v, http.StatusOK, sling, sent{kept: true, open: v.r.URL.Query().Get("do")})
}

func (s *Server) renderKept(v *visit, status int, sling state.Sling, was sent) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	story, err := s.Store.Story(v.r.Context(), event.Sling(sling.ID))
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &KeptPage{Base: Base{Title: sling.Details.Ident + ": accident, repair, defects"}, Stand: standPlate(standing(sling, v.crib, s.today(v), w), w),
		Changed: was.changed(story, w), Back: slingPath(sling)}
	if sling.Details.Sling.State == gate.StateHeld {
		p.Slip = slingPath(sling) + "/slip"
	}
	p.Chain, p.Trips = custodyChain(story, w), repairTrips(story, w)
	for _, d := range sling.Defects {
		row := DefectRow{What: d.What, By: "dangerous now", Late: d.By.Before(v.today)}
		if !d.By.IsZero() {
			row.By = "to be put right by " + d.By.Long()
		}
		if v.may(actInspect) {
			row.Form = remedyForm(sling, d, was)
			row.Form.ready(sling, was)
		}
		p.Defects = append(p.Defects, row)
	}
	p.Forms, p.No = keptForms(v, sling, people, was)
	return s.render(v, status, "kept", p)
}

// ready fills in what every form about a sling carries.
func (f *ActForm) ready(sling state.Sling, was sent) {
	f.Key, f.Heads, f.Open = newKey(), headsText(sling.Heads), was.open == f.Act
	if f.Open {
		f.Whole = was.whole
	}
}

// keptForms are what the reader may do with the sling as it stands, the likeliest
// first, or who does.
func keptForms(v *visit, sling state.Sling, people []state.Person, was sent) (forms []ActForm, no string) {
	st := sling.Details.Sling.State
	impounded, away := sling.Impound != (state.Impound{}), sling.Repair != (state.Repair{})
	add := func(a act, path string, f ActForm) {
		if v.may(a) {
			f.Act, f.Path = path, slingPath(sling)+"/"+path
			f.ready(sling, was)
			f.First = len(forms) == 0 && (impounded || away)
			forms = append(forms, f)
		}
	}
	switch {
	case st == gate.StateRetired, st == gate.StateLost:
		return nil, "Nothing is done here with a sling that is " + v.list().Say(st.String()) + "."
	case impounded:
		add(actCustody, "custody", custodyForm(was))
		add(actCustody, "free", freeForm(v, sling, people, was))
		no = "An inspector and a keeper say who has it, and free it together."
	case away:
		add(actCustody, "came-back", cameBackForm(sling, was))
		no = "An inspector or a keeper records that it came back."
	case st == gate.StateHeld:
		add(actCustody, "send-off", sendOffForm(was))
	}
	if !impounded {
		add(actHold, "impound", impoundForm(v, people, was))
	}
	return forms, no
}

// custodyChain tells who had a sling while it was impounded, the newest first.
func custodyChain(story []store.Record, w words) (chain []CustodyLink) {
	open := false
	end := func(r store.Record) {
		if open {
			chain[len(chain)-1].To = w.clock(r.Envelope.UTC)
		}
	}
	for _, r := range story {
		at, by := w.clock(r.Envelope.UTC), w.name(r.Envelope.By)
		switch b := r.Body.(type) {
		case event.Impounded:
			end(r)
			chain = append(chain, CustodyLink{Holder: b.Holder, Lies: b.Lies, From: at, Why: "Impounded: " + sentenceEnd(b.Reason), Who: by + " and " + w.name(b.Second)})
			open = true
		case event.Custody:
			end(r)
			chain = append(chain, CustodyLink{Holder: b.Holder, Lies: b.Lies, From: at, Why: sentenceEnd(upperFirst(b.Note)), Who: by})
			open = true
		case event.Freed:
			end(r)
			chain = append(chain, CustodyLink{Holder: "The crib", Lies: "held", From: at, Why: "Freed: " + sentenceEnd(b.Reason), Who: by + " and " + w.name(b.Second)})
			chain[len(chain)-1].To, open = at, false
		}
	}
	slices.Reverse(chain)
	return chain
}

// repairTrips tells of a sling's ways to repairers and back, the newest first.
func repairTrips(story []store.Record, w words) (trips []RepairTrip) {
	for _, r := range story {
		switch b := r.Body.(type) {
		case event.SentOff:
			trips = append(trips, RepairTrip{To: b.To, From: w.clock(r.Envelope.UTC), Why: sentenceEnd(upperFirst(b.Why))})
		case event.CameBack:
			if len(trips) == 0 {
				trips = append(trips, RepairTrip{To: b.From})
			}
			t := &trips[len(trips)-1]
			t.Back, t.Changed = w.clock(r.Envelope.UTC), changedWords(b.Changed)
			t.Facts = []Fact{{Label: "Certificate", Value: b.Certificate}}
			if b.Stamp != "" {
				t.Facts = append(t.Facts, Fact{Label: "Stamped anew", Value: b.Stamp})
			}
			if b.Note != "" {
				t.Facts = append(t.Facts, Fact{Label: "Note", Value: b.Note})
			}
			if b.Photo != (event.Photo{}) {
				t.Photo = "/photo/" + b.Photo.String()
			}
		}
	}
	slices.Reverse(trips)
	return trips
}

// HeldSlipPage is the slip that is hung on a held sling.
type HeldSlipPage struct {
	Base
	Word   string
	Do     string
	Ident  string
	MakeUp string
	Why    string
	Facts  []Fact
	Back   string
}

func (s *Server) heldSlip(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	if sling.Details.Sling.State != gate.StateHeld {
		return &Visible{Code: NoPage, Sentence: "This sling is not held, so there is no slip to hang on it.", Next: "Look at the sling’s own page."}
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &HeldSlipPage{Base: Base{Title: "Slip for " + sling.Details.Ident, Sheet: true}, Word: keptWord(sling), Do: "do not use", Ident: sling.Details.Ident,
		MakeUp: w.makeUp(sling.Details.Sling.Plate), Why: upperFirst(sling.Hold.Reason) + ".", Back: slingPath(sling)}
	p.Facts = []Fact{{Label: "Since", Value: w.clock(sling.Hold.Since)}, {Label: "By", Value: w.name(sling.Hold.By)}, {Label: "Its place", Value: placeWords(sling.Details.Place)}}
	if i := sling.Impound; i != (state.Impound{}) {
		p.Do = "do not touch"
		p.Facts = []Fact{{Label: "Since", Value: w.clock(i.Since)}, {Label: "By", Value: w.name(i.By) + " and " + w.name(i.Second)}, {Label: "With", Value: i.Holder}, {Label: "Lies at", Value: i.Lies}}
	}
	return s.render(v, http.StatusOK, "held", p)
}

// seconds are the people who may sign beside whoever is signed in.
func seconds(v *visit, people []state.Person) []state.Person {
	return slices.DeleteFunc(slices.Clone(people), func(p state.Person) bool { return p.ID == v.who.ID })
}
