package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/returncheck"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// Owing is what is said to a rigger who is named at the counter, before anything
// else: what they have still to answer, and what of theirs is wanted back. It is
// shown until that is done, and stands in nobody's way (site policy, no source).
// The zero value says nothing.
type Owing struct {
	Asks   string // what leads to the questions, empty for none
	About  string // which slings
	Looks  []Look // the questions, about all of them at once
	Kept   string // see ReturnCheck
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
		o.Asks = "You brought back " + plural(len(slings), "sling") + " " + daysOwed(slings, rigger.ID, v.today) + ". What happened out there, with any of them?"
		o.Looks, o.Kept = looksOf(askedOfAll(slings, v.today), v.wordsOf(nil)), o.Rigger
		var named []string
		for _, sling := range slings {
			o.Slings = append(o.Slings, sling.ID.String())
			o.Kept += " " + headsText(sling.Heads)
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

// askedAfterwards gives what a rigger is asked about one sling afterwards.
func askedAfterwards(sling state.Sling, today quantity.Date) []returncheck.Chosen {
	return returncheck.Choose(returncheck.FactsOf(sling, today)).Asks
}

// askedOfAll gives what is asked about all of them at once: what happened, and what was
// not stated of any.
func askedOfAll(slings []state.Sling, today quantity.Date) (list []returncheck.Chosen) {
	for _, sling := range slings {
		for _, q := range askedAfterwards(sling, today) {
			same := func(c returncheck.Chosen) bool { return c.Word == q.Word }
			switch {
			case slices.ContainsFunc(list, same):
			case len(list) < returncheck.MostAsks:
				list = append(list, q)
			default: // one about an edge and one about a choke: both are asked about
				q.Question, _ = returncheck.Find(returncheck.EdgeOrChoke)
				list[len(list)-1] = q
			}
		}
	}
	return list
}

// owed lists the slings about which a rigger has still to be asked.
func (s *Server) owed(v *visit, rigger event.PersonID) ([]state.Sling, error) {
	slings, _, err := s.Store.List(v.r.Context(), store.Query{Owes: rigger, Limit: store.MaxPage})
	return slings, err
}

// daysOwed says when a rigger brought them back: "today", "yesterday", "since 27 Feb
// 2026".
func daysOwed(slings []state.Sling, rigger event.PersonID, today quantity.Date) string {
	var days []quantity.Date
	for _, s := range slings {
		days = append(days, s.OwedBy(rigger)...)
	}
	if len(days) == 0 {
		return ""
	}
	first, last := slices.MinFunc(days, quantity.Date.Compare), slices.MaxFunc(days, quantity.Date.Compare)
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

// daysWords lists days: "2 Mar 2026", "2 Mar 2026 and 9 Mar 2026".
func daysWords(days []quantity.Date) string {
	list := make([]string, len(days))
	for i, d := range days {
		list[i] = d.Long()
	}
	return strings.Join(list, " and ")
}

// ToldPage asks a rigger to which slings something happened, and what.
type ToldPage struct {
	Base
	Name   string
	Rigger string
	Which  Choice
	What   Choice
	Note   Field
	Said   []Answered // what was answered about all of them
	None   bool       // nothing is to be asked any more
}

// Answered is an answer that goes on with a form.
type Answered struct{ Name, Value string }

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
		p.Which.Options = append(p.Which.Options, Option{Value: id, Label: sling.Details.Ident, On: slices.Contains(picked, id) || len(slings) == 1,
			Sub: w.makeUp(sling.Details.Sling.Plate) + ", back " + daysWords(sling.OwedBy(who.ID))})
	}
	return s.render(v, status, "told", p)
}

// unstated is what is picked where an edge or a choke was not stated.
const unstated = "unstated"

// whatHappened asks what happened out there.
func whatHappened() Choice {
	options := append(troubles(), Option{Value: unstated, Label: "Edge or choke", Sub: "it lay over an edge, or was choked, and that was not stated"})
	return Choice{Name: "what", Legend: "What happened?", Hint: "One or more; these slings are held either way", Many: true, Options: options}
}

func happenedNote() Field {
	return Field{Name: "note", Label: "In a few words", Hint: "What the inspector should look for", Most: maxText}
}

// told records what a rigger says about slings that were taken in without asking. The
// panel at the counter asks about all of them at once; where it is told that something
// happened, or that nobody can say, this page asks to which.
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
	p := &ToldPage{What: whatHappened(), Note: happenedNote()}
	what, options := v.chosen("what", p.What.Options)
	p.What.Options, p.Note.Value, p.Note.Error = options, note, complaint
	all := v.answers()
	for _, a := range all {
		p.Said = append(p.Said, Answered{answerField(a.Question), string(a.Is)})
	}
	picked, said := v.r.PostForm["about"], event.Something
	switch {
	case v.raw("said") == string(event.NotKnown):
		said = event.NotKnown
	case v.raw("said") != "" || len(picked) > 0 || len(what) > 0 || note != "":
	case event.SaidOf(all) != event.Nothing:
		return s.renderTold(v, http.StatusOK, who.ID.String(), p)
	default:
		slings, err := s.owed(v, who.ID)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(askedOfAll(slings, v.today), func(q returncheck.Chosen) bool { return answerTo(all, q.Word) == "" }) {
			s.notice(v, "Nothing is recorded yet. Answer each question; in doubt is an answer.")
			return v.redirect("/counter")
		}
		said = event.Nothing
	}
	if said != event.Nothing && p.missing(said, picked, what) {
		return s.renderTold(v, http.StatusUnprocessableEntity, who.ID.String(), p)
	}
	answers, err := s.toldOf(v, said, what, note)
	if err != nil {
		return err
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

// missing marks what is missing of the page.
func (p *ToldPage) missing(said event.Said, picked, what []string) bool {
	if len(picked) == 0 {
		p.Which.Error = "Choose at least one. If nothing happened to any of them, go back and say so."
	}
	if said != event.NotKnown && len(what) == 0 && p.Note.Value == "" {
		p.What.Error = "Choose at least one, or write it down."
	}
	return p.Which.Error != "" || p.What.Error != "" || p.Note.Error != ""
}

// toldOf gives what is recorded about each sling of the form. About those that were not
// picked everything that is asked of them is well.
func (s *Server) toldOf(v *visit, said event.Said, what []string, note string) (answers []counter.Answer, err error) {
	for _, text := range v.r.PostForm["sling"] {
		id, err := event.ParseSlingID(text)
		if err != nil {
			return nil, errNoPage
		}
		sling, err := s.Store.Sling(v.r.Context(), id)
		if errors.Is(err, store.ErrNotFound) {
			continue
		} else if err != nil {
			return nil, err
		}
		a := counter.Answer{Sling: id}
		a.Said = event.Nothing
		hit := said != event.Nothing && slices.Contains(v.r.PostForm["about"], text)
		if hit {
			a.Note = note
		}
		for _, q := range askedAfterwards(sling, v.today) {
			a.Answers = append(a.Answers, event.Answered{Question: q.Word, Is: toldIs(q.Word, hit, said, what)})
		}
		if hit && said != event.NotKnown {
			a.Answers, a.Said = happened(a.Answers, what), event.Something
		}
		answers = append(answers, a)
	}
	return answers, nil
}

// toldIs is the answer to one question about a sling to which something happened, or
// about which nobody can say; hit is false for any other.
func toldIs(word string, hit bool, said event.Said, what []string) event.Is {
	more := slices.Contains(what, unstated)
	switch {
	case !hit:
		return event.IsWell
	case said == event.NotKnown:
		return event.IsDoubt
	case word == returncheck.Mishap && (len(what) == 0 || !more || len(what) > 1), word != returncheck.Mishap && more:
		return event.IsWrong
	}
	return event.IsWell
}

// happened adds what was picked to the answers about a sling.
func happened(list []event.Answered, what []string) []event.Answered {
	for _, word := range what {
		if word == unstated {
			if len(list) < returncheck.MostAsks { // it was not asked about, and is so all the same
				list = append(list, event.Answered{Question: returncheck.EdgeOrChoke, Is: event.IsWrong})
			}
			continue
		}
		list = append(list, event.Answered{Question: word, Is: event.IsWrong})
	}
	return list
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
