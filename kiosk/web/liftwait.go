package web

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// ownLiftPath is where somebody states a lift who does not hand over: on a phone in
// the yard. It waits for them at the counter.
const ownLiftPath = "/lift"

// A waitingLift is a lift that a rigger stated for the counter.
type waitingLift struct {
	form  liftForm
	since time.Time
	day   quantity.Date // in the crib; it lapses with it
	fetch []fetched     // slings that were chosen for it
}

// waiting holds the lifts that riggers stated, the newest of each: in memory only,
// since nothing follows from them before somebody takes them up at the counter.
type waiting struct {
	mu    sync.Mutex
	of    map[event.PersonID]waitingLift
	moves int // how often one came or went
}

// mostWaiting is for how many people a lift can wait (site policy, no source).
const mostWaiting = 1000

func (w *waiting) put(who event.PersonID, l waitingLift) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	maps.DeleteFunc(w.of, func(_ event.PersonID, old waitingLift) bool { return old.day != l.day })
	if w.of == nil {
		w.of = map[event.PersonID]waitingLift{}
	}
	if _, known := w.of[who]; !known && len(w.of) >= mostWaiting {
		return false
	}
	w.of[who] = l
	w.moves++
	return true
}

// get gives the lift of a person that waits today.
func (w *waiting) get(who event.PersonID, today quantity.Date) (waitingLift, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	l, ok := w.of[who]
	return l, ok && l.day == today
}

func (w *waiting) drop(who event.PersonID) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.of, who)
	w.moves++
}

// moved is another number whenever a lift came or went, so that open pages look.
func (w *waiting) moved() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.moves
}

// mark names a lift, so that another one is not taken up by an old page.
func (l waitingLift) mark() string {
	h := sha256.New()
	for _, name := range slices.Sorted(maps.Keys(l.form)) {
		fmt.Fprintf(h, "%s\x00%s\x00", name, l.form[name])
	}
	fmt.Fprint(h, l.since.UnixNano(), l.fetch)
	return hex.EncodeToString(h.Sum(nil)[:12])
}

// ownLift is the lift page of who does not hand over. For those who do, it is the one
// at the counter.
func (s *Server) ownLift(v *visit) error {
	if v.may(actIssue) {
		return v.redirect(liftPath)
	}
	form := freshLift(v.crib.Founded.Units)
	if l, ok := s.waiting.get(v.who.ID, v.today); ok {
		form = l.form
	}
	return s.renderLift(v, http.StatusOK, s.turn(v), 0, form, nil)
}

// stateOwn keeps a lift for who states it until they come to the counter.
func (s *Server) stateOwn(v *visit) error {
	if _, err := v.key(); err != nil {
		return err
	}
	t := s.turn(v)
	form, wrong := liftSent(v)
	if answered, err := s.onlySees(v, t, 0, form, wrong); answered || err != nil {
		return err
	}
	if len(wrong) > 0 {
		return s.renderLift(v, http.StatusUnprocessableEntity, t, 0, form, wrong)
	}
	if again, err := s.doubtLoad(v, t, 0, form); again || err != nil {
		return err
	}
	fetch, err := s.taken(v)
	if err != nil {
		return err
	}
	if !s.waiting.put(v.who.ID, waitingLift{form: form, since: v.clock.Reads, day: v.today, fetch: fetch}) {
		return &Visible{Code: BadInput, Sentence: "Too many lifts wait at the counter.", Next: "State it there."}
	}
	s.tellAll(v)
	return v.redirect(ownLiftPath)
}

// forCounter says on the page how it goes on for who does not hand over.
func (s *Server) forCounter(v *visit, p *LiftPage) {
	if v.may(actIssue) {
		return
	}
	p.Action, p.Phone = ownLiftPath, true
	p.MayTake = v.who.May(event.Rigger, v.today)
	l, ok := s.waiting.get(v.who.ID, v.today)
	if !ok || !v.who.May(event.Rigger, v.today) {
		return
	}
	p.Waits = "A lift of yours waits at the counter since " + v.wordsOf(nil).clock(l.since) + "."
	if len(l.fetch) > 0 {
		p.Waits += " For it: " + fetchWords(l.fetch) + "."
	}
	p.Waits += " Show your badge there, or say your name. It lapses with the day; nothing is set aside by it."
}

// taken are the slings that a button of the lift page chose.
func (s *Server) taken(v *visit) (list []fetched, err error) {
	text := v.raw("take")
	if text == "" {
		text = v.raw("taken")
	}
	for _, one := range strings.Fields(text) {
		id, err := event.ParseSlingID(one)
		if err != nil || len(list) >= mostTogether {
			return nil, errNoPage
		}
		sling, err := s.Store.Sling(v.r.Context(), id)
		if err != nil {
			return nil, err
		}
		list = append(list, fetchedOf(sling))
	}
	return list, nil
}

func fetchedOf(s state.Sling) fetched {
	return fetched{Sling: s.ID.String(), Ident: s.Details.Ident, Place: s.Details.Place}
}

func fetchWords(list []fetched) string {
	words := make([]string, len(list))
	for i, f := range list {
		words[i] = f.Ident
		if f.Place != "" {
			words[i] += " from " + f.Place
		}
	}
	return strings.Join(words, ", ")
}

// Waits is a lift that the rigger who came has stated beforehand. Without a Mark there
// is none.
type Waits struct {
	Key    string
	Mark   string
	Legend string
	Lift   SameLift
	Fetch  string // slings that were chosen
}

// waits gives the lift of a rigger that waits at the counter, where it can still be
// taken up as it is.
func (s *Server) waits(v *visit, rigger state.Person) Waits {
	l, ok := s.waiting.get(rigger.ID, v.today)
	if !ok {
		return Waits{}
	}
	stated, wrong := l.form.read(v.liftTerms())
	if len(wrong) > 0 {
		return Waits{}
	}
	w := v.wordsOf(nil)
	return Waits{Key: newKey(), Mark: l.mark(), Legend: rigger.Name + " stated a lift at " + l.since.In(w.zone).Format("15:04"), Fetch: fetchWords(l.fetch),
		Lift: SameLift{Drawing: v.drawStated(stated), Facts: stated.facts(w.lead)}}
}

// takeUpLift makes the lift that waits for the rigger the one that slings are drawn for.
func (s *Server) takeUpLift(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	t := s.turn(v)
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	l, ok := s.waiting.get(rigger.ID, v.today)
	if !ok || rigger.ID.IsZero() || v.raw("mark") != l.mark() {
		s.notice(v, "That lift does not wait any more, or is another one now. Look again.")
		return v.redirect("/counter")
	}
	if _, wrong := l.form.read(v.liftTerms()); len(wrong) > 0 {
		return s.renderLift(v, http.StatusUnprocessableEntity, t, 0, l.form, wrong)
	}
	t.state(0, purpose{Lift: l.form})
	t.Fetching = l.fetch
	if err := s.askFor(v, t, t.Now, key); err != nil {
		return err
	}
	s.waiting.drop(rigger.ID)
	s.tellAll(v)
	return nil
}

// tellAll lets the open pages look whether a lift came or went. They look once a beat
// all the same.
func (s *Server) tellAll(v *visit) {
	if err := s.Tell(v.r.Context()); err != nil {
		s.Log.WarnContext(v.r.Context(), "open pages are not told of a lift", "id", v.id, "error", err)
	}
}
