package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// Owing is what is said to a rigger who is named at the counter, before anything
// else: what they have still to answer, and what of theirs is wanted back. It is
// shown until that is done, and stands in nobody's way (site policy, no source).
// The zero value says nothing.
type Owing struct {
	Asks   string // the question, empty for none
	About  string // which slings
	Key    string
	Rigger string // by id
	Slings []string
	Pick   string // address where those are picked to which something happened
	Back   []BackSaid
	Name   string
}

// BackSaid is one sling that a rigger has and that is wanted back, or soon will be.
type BackSaid struct {
	Verdict  Verdict
	Ident    string
	Sentence string
}

// mostNamed is how many slings are named in a question (common practice, no source).
const mostNamed = 8

// owing gives what a rigger has to answer and to bring back; zero for nobody.
func (s *Server) owing(v *visit, rigger state.Person) (Owing, error) {
	if rigger.ID.IsZero() {
		return Owing{}, nil
	}
	o := Owing{Name: rigger.Name, Rigger: rigger.ID.String()}
	slings, err := s.owed(v, rigger.ID)
	if err != nil {
		return Owing{}, err
	}
	if len(slings) > 0 {
		o.Key, o.Pick = newKey(), toldPath+"/"+o.Rigger
		o.Asks = "You brought back " + plural(len(slings), "sling") + " " + daysOwed(slings, v.today) + ". Did anything happen?"
		var named []string
		for _, sling := range slings {
			o.Slings = append(o.Slings, sling.ID.String())
			named = append(named, sling.Details.Ident)
		}
		if more := len(named) - mostNamed; more > 0 {
			named = append(named[:mostNamed], plural(more, "more"))
		}
		o.About = strings.Join(named, ", ")
	}
	o.Back, err = s.wantedOf(v, rigger.ID)
	return o, err
}

// owed lists the slings about which a rigger has still to be asked.
func (s *Server) owed(v *visit, rigger event.PersonID) ([]state.Sling, error) {
	slings, _, err := s.Store.List(v.r.Context(), store.Query{Owes: rigger, Limit: store.MaxPage})
	return slings, err
}

// daysOwed says when they came back: "today", "yesterday", "since 27 Feb 2026".
func daysOwed(slings []state.Sling, today quantity.Date) string {
	first, last := slings[0].Owes.Day, slings[0].Owes.Day
	for _, s := range slings {
		if s.Owes.Day.Before(first) {
			first = s.Owes.Day
		}
		if s.Owes.Day.After(last) {
			last = s.Owes.Day
		}
	}
	switch days := today.DaysSince(first); {
	case first != last:
		return "since " + first.Long()
	case days == 0:
		return "today"
	case days == 1:
		return "yesterday"
	}
	return "on " + first.Long()
}

// ToldPage asks a rigger about each sling that was taken in without asking.
type ToldPage struct {
	Base
	Name   string
	Rigger string
	Which  Choice
	What   Choice
	Note   Field
	None   bool // nothing is to be asked any more
}

func (s *Server) toldPage(v *visit) error {
	return s.renderTold(v, http.StatusOK, v.r.PathValue("person"), nil)
}

// renderTold asks; was is a form that was sent and is not complete.
func (s *Server) renderTold(v *visit, status int, rigger string, was *ToldPage) error {
	who, err := s.personOf(v, rigger)
	if err != nil {
		return err
	}
	slings, err := s.owed(v, who.ID)
	if err != nil {
		return err
	}
	p := was
	if p == nil {
		p = &ToldPage{What: whatHappened(), Note: happenedNote()}
	}
	p.Title, p.Name, p.Rigger, p.None = "What happened?", who.Name, who.ID.String(), len(slings) == 0
	p.Which.Name, p.Which.Many = "about", true
	p.Which.Legend, p.Which.Hint = "To which of them did something happen?", "Nothing happened to those that you leave out"
	picked := v.r.PostForm["about"]
	w := v.wordsOf(nil)
	for _, sling := range slings {
		id := sling.ID.String()
		p.Which.Options = append(p.Which.Options, Option{Value: id, Label: sling.Details.Ident, On: slices.Contains(picked, id),
			Sub: w.makeUp(sling.Details.Sling.Plate) + ", back " + sling.Owes.Day.Long()})
	}
	return s.render(v, status, "told", p)
}

// whatHappened asks what happened out there.
func whatHappened() Choice {
	return Choice{Name: "what", Legend: "What happened?", Hint: "One or more; these slings are held either way", Many: true, Options: troubles()}
}

func happenedNote() Field {
	return Field{Name: "note", Label: "In a few words", Hint: "What the inspector should look for", Most: maxText}
}

// told records what a rigger says about slings that were taken in without asking.
func (s *Server) told(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	who, err := s.personOf(v, v.raw("rigger"))
	if err != nil {
		return err
	}
	note, complaint := v.text("note", maxText)
	what, options := v.chosen("what", troubles())
	picked := v.r.PostForm["about"]
	said := event.Said(v.raw("said"))
	switch {
	case said == event.Nothing && (len(what) > 0 || len(picked) > 0):
		said = event.Something // what is ticked counts, whatever button was pressed
	case said != event.Nothing && said != event.NotKnown:
		said = event.Something
	}
	if note != "" {
		what = append(what, note)
	}
	if p, missing := toldMissing(said, picked, what, complaint); missing {
		p.What.Options, p.Note.Value = options, note
		return s.renderTold(v, http.StatusUnprocessableEntity, who.ID.String(), p)
	}
	var answers []counter.Answer
	for _, text := range v.r.PostForm["sling"] {
		id, err := event.ParseSlingID(text)
		if err != nil {
			return errNoPage
		}
		a := counter.Answer{Sling: id, Finding: counter.Finding{Said: event.Nothing}}
		if said != event.Nothing && slices.Contains(picked, text) {
			a.Finding = counter.Finding{Said: said, Note: strings.Join(what, ", ")}
		}
		answers = append(answers, a)
	}
	told, err := s.Counter.Tell(v.r.Context(), v.by(counter.Hand, key), who.ID, answers)
	if err != nil {
		return err
	}
	switch {
	case len(told.Codes) > 0:
		s.tellRefused(v, told.Codes)
	case told.Slings == 0:
		s.notice(v, "It had been answered before, and nothing was added.")
	case told.Held > 0:
		s.notice(v, plural(told.Slings, "answer")+" of "+who.Name+" written down. "+plural(told.Held, "sling")+" held until an inspector has looked.")
	default:
		s.notice(v, plural(told.Slings, "answer")+" of "+who.Name+" written down: nothing happened.")
	}
	return v.redirect("/counter")
}

// toldMissing gives the form with what is missing marked.
func toldMissing(said event.Said, picked, what []string, complaint string) (*ToldPage, bool) {
	if said == event.Nothing {
		return nil, false
	}
	p := &ToldPage{What: whatHappened(), Note: happenedNote()}
	p.Note.Error = complaint
	if len(picked) == 0 {
		p.Which.Error = "Choose at least one, or say that nothing happened to any of them."
	}
	if said == event.Something && len(what) == 0 {
		p.What.Error = "Choose at least one, or write it down."
	}
	return p, p.Which.Error != "" || p.What.Error != "" || complaint != ""
}

// personOf gives the person of an id in a form or an address.
func (s *Server) personOf(v *visit, text string) (state.Person, error) {
	id, err := event.ParsePersonID(text)
	if err != nil {
		return state.Person{}, errNoPage
	}
	who, err := s.Store.Person(v.r.Context(), id)
	if errors.Is(err, store.ErrNotFound) {
		return state.Person{}, &Visible{Code: Stale, Cause: err, Sentence: "This person is not in the register.", Next: "Go back to the counter and look how things stand."}
	}
	return who, err
}

// wantedOf lists what a rigger has that is wanted back, or soon will be: the gravest
// first.
func (s *Server) wantedOf(v *visit, rigger event.PersonID) ([]BackSaid, error) {
	slings, _, err := s.Store.List(v.r.Context(), store.Query{Holder: rigger, States: []gate.State{gate.StateOut}, Limit: store.MaxPage})
	if err != nil {
		return nil, err
	}
	var back []BackSaid
	w := v.wordsOf(nil)
	for _, a := range sortAway(slings, v.crib, v.today) {
		if a.level > dueIn3 || a.level == notDue {
			continue
		}
		back = append(back, BackSaid{Verdict: a.level.verdict(), Ident: a.sling.Details.Ident, Sentence: a.says(w)})
	}
	return back, nil
}

// heapSteps lead from the empty counter to a heap that came back.
func (s *Server) heapSteps(v *visit) ([]Action, error) {
	steps := []Action{{Label: "A heap came back", Sub: "take it in without its riggers", Path: heapPath}}
	n, err := s.unchecked(v)
	if n > 0 {
		steps = append(steps, Action{Label: "Look at what came back", Sub: plural(n, "sling") + " to look at", Path: checkPath})
	}
	return steps, err
}
