package web

import (
	"errors"
	"net/http"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

const (
	countPath = "/count"
	sheetPath = countPath + "/sheet"
)

// countPage shows the count, and the place that is counted where the address names
// one. Nothing is kept of a browser: several count side by side.
func (s *Server) countPage(v *visit) error {
	at := countAt{}
	if q := v.r.URL.Query(); q.Has("at") {
		at = countAt{chosen: true, place: q.Get("at")}
	}
	return s.renderCount(v, http.StatusOK, at, CountCard{})
}

// countAt is where somebody stands who counts; the zero value has not said it.
type countAt struct {
	chosen bool
	place  string // begins the places; empty: slings without a place on record
}

// atOf reads the place that a form was sent from.
func (v *visit) atOf() (countAt, error) {
	place, complaint := v.line("place", maxPlace)
	if complaint != "" {
		return countAt{}, &Visible{Code: BadInput, Sentence: "The place cannot be read.", Next: "Choose it again."}
	}
	return countAt{chosen: v.raw("chosen") != "", place: place}, nil
}

// maxPlace is the most characters of a rack place (site policy of this program, no
// source).
const maxPlace = 60

// beginCount begins a count.
func (s *Server) beginCount(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	places := v.r.PostForm["places"]
	if v.raw("all") != "" {
		places = nil
	} else if len(places) == 0 {
		return &Visible{Code: BadInput, Sentence: "No place was chosen.", Next: "Choose places, or count the whole rack."}
	}
	if len(places) > mostParts || slices.ContainsFunc(places, func(p string) bool { return len(p) > maxPlace }) {
		return &Visible{Code: BadInput, Sentence: "So many places cannot be counted.", Next: "Choose among those that the page shows."}
	}
	_, err = s.Counter.BeginCount(v.r.Context(), v.by(counter.Hand, key), places)
	switch {
	case errors.Is(err, counter.ErrCounting): // somebody was quicker, and both count
		s.notice(v, "A count was going on already. You count in it.")
	case err != nil:
		return countError(err)
	}
	return v.redirect(countPath)
}

// mostParts is more places than a page offers to choose among.
const mostParts = 100

// countError puts what kept the counter from counting into words.
func countError(err error) error {
	if errors.Is(err, counter.ErrRole) {
		return errNotYours
	}
	if errors.Is(err, counter.ErrNoCount) {
		return &Visible{Code: Stale, Cause: err, Sentence: "This count has ended already.", Next: "Load the page again."}
	}
	return registerError(err)
}

// countScanned counts what was scanned or typed.
func (s *Server) countScanned(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	return s.countReading(v, v.reading(), key)
}

// countPictured counts what a picture of a tag shows.
func (s *Server) countPictured(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	at, err := v.atOf()
	if err != nil {
		return err
	}
	reading, problem, err := s.readTag(v)
	if err != nil {
		return err
	}
	if problem != 0 {
		return s.renderCount(v, http.StatusOK, at, CountCard{Verdict: LookCloser, Words: "Not counted", Sentence: problem.Sentence(), Next: problem.Next()})
	}
	return s.countReading(v, reading, key)
}

func (s *Server) countReading(v *visit, reading counter.Reading, key string) error {
	at, err := v.atOf()
	if err != nil {
		return err
	}
	count, err := event.ParseCountID(v.raw("count"))
	if err != nil {
		return &Visible{Code: BadInput, Cause: err, Sentence: "The form does not say for which count it is.", Next: "Load the page again and scan again."}
	}
	if !at.chosen {
		if at, err = s.standsAt(v, reading); err != nil {
			return err
		}
	}
	if !at.chosen { // nothing is known of where it hangs
		found, err := s.Counter.Find(v.r.Context(), reading)
		if err != nil {
			return err
		}
		return s.renderCount(v, http.StatusOK, at, s.strangeCard(v, found))
	}
	n, err := s.Counter.CountScan(v.r.Context(), v.by(reading.Way, key), count, reading, at.place)
	if err != nil {
		return countError(err)
	}
	card, err := s.countCard(v, n)
	if err != nil {
		return err
	}
	return s.renderCount(v, http.StatusOK, at, card)
}

// standsAt guesses where somebody stands who scans the first sling of a place: where
// it should hang.
func (s *Server) standsAt(v *visit, reading counter.Reading) (countAt, error) {
	found, err := s.Counter.Find(v.r.Context(), reading)
	if err != nil || !found.Known || found.Sling.Details.Place == "" {
		return countAt{}, err
	}
	places, err := s.countPlaces(v)
	if err != nil {
		return countAt{}, err
	}
	own := store.KeyOfPlace(found.Sling.Details.Place)
	words := 1
	if i := slices.IndexFunc(places, func(p counter.CountPlace) bool { return own.In(p.Begins) }); i >= 0 {
		words = places[i].Words
	}
	return countAt{chosen: true, place: counter.BeginningOf(found.Sling.Details.Place, words)}, nil
}

// moveCounted gives a sling that hangs elsewhere than on record its new place.
func (s *Server) moveCounted(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	at, err := v.atOf()
	if err != nil {
		return err
	}
	id, err := event.ParseSlingID(v.raw("sling"))
	if err != nil {
		return errNoPage
	}
	heads, err := parseHeads(v.raw("heads"))
	if err != nil {
		return err
	}
	to, complaint := v.line("moved-to", maxPlace)
	if complaint == "" && to == "" {
		complaint = "Write where it hangs now."
	}
	if complaint != "" {
		return s.moveAgain(v, at, id, to, complaint)
	}
	o, err := s.Counter.Move(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: id, Heads: heads}, to)
	switch {
	case err != nil:
		return countError(err)
	case !o.May && slices.Contains(o.Codes, gate.RoleNotAllowed):
		return errNotYours
	case !o.May:
		return &Visible{Code: Stale, Sentence: "The sling has moved on since it was scanned, and its place was not changed.", Next: "Scan it again."}
	}
	s.notice(v, o.Sling.Details.Ident+" hangs at "+to+" now.")
	return v.redirect(at.path())
}

// endCount ends the count.
func (s *Server) endCount(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	c := complaints{}
	note := v.note(c, "end-note")
	if len(c) > 0 {
		return &Visible{Code: BadInput, Sentence: c["end-note"], Next: "Go back and write it again."}
	}
	count, err := event.ParseCountID(v.raw("count"))
	if err != nil {
		return &Visible{Code: BadInput, Cause: err, Sentence: "The form does not say which count it is for.", Next: "Load the page again."}
	}
	if _, err := s.Counter.EndCount(v.r.Context(), v.by(counter.Hand, key), count, note); err != nil {
		return countError(err)
	}
	s.notice(v, "The count has ended. Print the sheet for the keeper.")
	return v.redirect(sheetPath)
}

// moveAgain shows the form of a new place with what is wrong with it.
func (s *Server) moveAgain(v *visit, at countAt, id event.SlingID, to, complaint string) error {
	sling, err := s.Store.Sling(v.r.Context(), id)
	if err != nil {
		return registerError(err)
	}
	card, err := s.countCard(v, counter.Counted{Known: true, Counts: true, Sling: sling})
	if err != nil {
		return err
	}
	card.Move.Value, card.Move.Error = to, complaint
	return s.renderCount(v, http.StatusUnprocessableEntity, at, card)
}
