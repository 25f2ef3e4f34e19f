package web

import (
	"errors"
	"net/url"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// CountPage counts the rack, place by place. While it is open a scan only counts.
type CountPage struct {
	Base
	On       bool       // a count goes on
	Count    string     // its id, for the forms
	Said     string     // what is counted, since when, by whom
	Seen     string     // of everything that is counted
	Of       string     // so many
	Parts    []CountRow // to choose among
	At       CountHere
	Card     CountCard // what was scanned last
	Scan     CountScan
	Begin    Choice // places to count
	Note     Field  // of the end
	Last     []CountLine
	Examiner Action // to an examiner's visit; without a path where the reader may not
	Runs     bool   // there is a count to print the sheet of
}

// A CountRow is one place to choose.
type CountRow struct {
	Label string
	Path  string
	Seen  string // "3 of 12 seen"
	All   bool
}

// CountHere is the place that is counted. The zero value is none.
type CountHere struct {
	Chosen  bool
	Label   string
	Place   string // as forms send it
	Seen    string
	Of      string
	Missing []CountName
	More    string // how many more are missing than are listed
	Away    []CountName
	Strange []CountName
	Kept    []CountName // at a repairer's or impounded
}

// A CountName is one sling of a place.
type CountName struct {
	Ident string
	Path  string
	Sub   string
}

// CountScan takes scans.
type CountScan struct {
	Key      string
	ImageKey string
	Code     Field
	Picture  string
}

// listed is how many names of what is missing one page shows.
const listed = 60

// path is the address of a place.
func (a countAt) path() string {
	if !a.chosen {
		return countPath
	}
	return countPath + "?" + url.Values{"at": {a.place}}.Encode()
}

// countPlaces gives the parts of the rack that are counted, or could be where no
// count goes on.
func (s *Server) countPlaces(v *visit) ([]counter.CountPlace, error) {
	pegs, err := s.Store.Pegs(v.r.Context(), "")
	if err == nil {
		pegs, _, err = counter.SplitElsewhere(v.r.Context(), s.Store.Reader, pegs, v.crib.Count.ID)
	}
	if err != nil {
		return nil, err
	}
	return counter.CountPlaces(counter.Within(pegs, v.crib.Count.Places), v.crib.Count.ID), nil
}

// standsNow has the page say how things stand after what a form did.
func (s *Server) standsNow(v *visit) error {
	head, err := s.Store.Head(v.r.Context())
	if err != nil {
		return err
	}
	v.at, v.head = head.At, tagcode.Head{At: head.At, Hash: head.Hash}
	v.crib, err = s.Store.Crib(v.r.Context())
	return err
}

func (s *Server) renderCount(v *visit, status int, at countAt, card CountCard) error {
	if err := s.standsNow(v); err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &CountPage{Base: Base{Title: "Count the rack"}, On: !v.crib.Count.ID.IsZero(), Card: card}
	p.Scan = CountScan{Key: newKey(), ImageKey: newKey(), Picture: pictureSays,
		Code: Field{Name: "text", Label: "Short code, or the identification on the plate", Hint: "For a tag that cannot be read", Most: maxPlace}}
	p.Examiner = v.toExaminer()
	if p.On {
		p.Count, p.Said = v.crib.Count.ID.String(), countSays(v.crib.Count.Places, w)+", since "+w.clock(v.crib.Count.Since)+", begun by "+w.name(v.crib.Count.By)+"."
		p.Note = Field{Name: "end-note", Label: "Note", Hint: "Empty, or what the keeper should know", Most: maxText}
	}
	if p.On && at.chosen {
		if p.At, err = s.countHere(v, at, w); err != nil {
			return err
		}
		p.Title = p.At.Label
		return s.render(v, status, "count", p)
	}
	if err := s.countChoices(v, p, w); err != nil {
		return err
	}
	return s.render(v, status, "count", p)
}

// countChoices shows what can be chosen among, and the counts before.
func (s *Server) countChoices(v *visit, p *CountPage, w words) error {
	places, err := s.countPlaces(v)
	if err != nil {
		return err
	}
	seen, of := 0, 0
	for _, place := range places {
		label, at, err := s.labelOf(v, place)
		if err != nil {
			return err
		}
		seen, of = seen+place.Seen, of+place.Expected
		p.Parts = append(p.Parts, CountRow{Label: label, Path: countAt{chosen: true, place: at}.path(),
			Seen: itoa(place.Seen) + " of " + itoa(place.Expected) + " seen", All: place.Seen == place.Expected})
		if at != "" {
			p.Begin.Options = append(p.Begin.Options, Option{Value: at, Label: label, Sub: plural(place.Expected, "sling")})
		}
	}
	p.Seen, p.Of = itoa(seen), itoa(of)
	p.Begin.Name, p.Begin.Legend, p.Begin.Many = "places", "Or choose places", true
	runs, err := s.countRuns(v)
	if err != nil {
		return err
	}
	p.Runs = len(runs) > 0
	for _, r := range runs[:min(len(runs), lastRuns)] {
		p.Last = append(p.Last, r.line(w))
	}
	return nil
}

// labelOf gives how a part of the rack is called, and how forms name it.
func (s *Server) labelOf(v *visit, p counter.CountPlace) (label, place string, err error) {
	if p.Words == 0 {
		return "No place on record", "", nil
	}
	one, err := s.Store.Sling(v.r.Context(), p.One.ID)
	if errors.Is(err, store.ErrNotFound) {
		return string(p.Begins), string(p.Begins), nil
	}
	if err != nil {
		return "", "", err
	}
	place = counter.BeginningOf(one.Details.Place, p.Words)
	return place, place, nil
}

func countSays(places []string, w words) string {
	if len(places) == 0 {
		return "The whole rack"
	}
	return plural(len(places), "place") + ": " + joinAnd(places)
}

func joinAnd(list []string) string {
	text := ""
	for i, one := range list {
		switch {
		case i == 0:
		case i == len(list)-1:
			text += " and "
		default:
			text += ", "
		}
		text += one
	}
	return text
}

// countHere shows one place: what should hang there and was not seen yet, and what
// was seen there and should not.
func (s *Server) countHere(v *visit, at countAt, w words) (CountHere, error) {
	key, count := store.KeyOfPlace(at.place), v.crib.Count.ID
	here := CountHere{Chosen: true, Label: "Place " + at.place, Place: at.place}
	if at.place == "" {
		here.Label = "No place on record"
	}
	pegs, err := s.Store.Pegs(v.r.Context(), key)
	if err != nil {
		return CountHere{}, err
	}
	pegs, kept, err := counter.SplitElsewhere(v.r.Context(), s.Store.Reader, pegs, count)
	if err != nil {
		return CountHere{}, err
	}
	for _, p := range kept {
		n, err := s.countName(v, p, w)
		if err != nil {
			return CountHere{}, err
		}
		here.Kept = append(here.Kept, n)
	}
	seen, missing := 0, 0
	for _, p := range pegs {
		switch {
		case p.Seen == count && (p.SeenAt == store.KeyOfPlace("") || p.Place.In(p.SeenAt)):
			seen++
		case p.Seen == count:
			seen++
			n, err := s.countName(v, p, w)
			if err != nil {
				return CountHere{}, err
			}
			here.Away = append(here.Away, n)
		default:
			if missing++; missing > listed {
				continue
			}
			n, err := s.countName(v, p, w)
			if err != nil {
				return CountHere{}, err
			}
			here.Missing = append(here.Missing, n)
		}
	}
	if missing > listed {
		here.More = "and " + plural(missing-listed, "more sling")
	}
	here.Seen, here.Of = itoa(seen), itoa(len(pegs))
	strange, err := s.Store.SeenAt(v.r.Context(), count, key)
	if err != nil {
		return CountHere{}, err
	}
	for _, p := range strange {
		if counter.Hangs(p.Stands) && (at.place == "" || p.Place.In(p.SeenAt)) {
			continue
		}
		n, err := s.countName(v, p, w)
		if err != nil {
			return CountHere{}, err
		}
		here.Strange = append(here.Strange, n)
	}
	return here, nil
}

// countName puts a sling of a count into words.
func (s *Server) countName(v *visit, p store.Peg, w words) (CountName, error) {
	sling, err := s.Store.Sling(v.r.Context(), p.ID)
	if err != nil {
		return CountName{}, err
	}
	n := CountName{Ident: sling.Details.Ident, Path: slingPath(sling), Sub: placeWords(sling.Details.Place)}
	switch sight := counter.SightOf(sling, v.crib.Count.ID, nil); {
	case sight == counter.Elsewhere:
		n.Sub = keptAt(sling)
	case sight == counter.WrongPlace:
		n.Sub += ", seen at " + placeWords(sling.Seen.Place)
	case sight == counter.OutButHere && sling.Details.Sling.State == gate.StateOut:
		n.Sub = "booked out to " + w.name(sling.Loan.Rigger)
	case sight == counter.OutButHere:
		n.Sub = w.say("on record: " + sling.Details.Sling.State.String())
	}
	return n, nil
}

func placeWords(place string) string {
	if place == "" {
		return "no place on record"
	}
	return place
}

// A countRun is one count, begun and perhaps ended.
type countRun struct {
	begun   store.Record
	ended   store.Record // no body: it goes on
	count   event.CountID
	places  []string
	outcome event.CountEnded
}

// lastRuns is how many counts the page lists.
const lastRuns = 10

// countRuns gives the counts of the rack, the newest first.
func (s *Server) countRuns(v *visit) ([]countRun, error) {
	story, err := s.Store.Story(v.r.Context(), event.Crib())
	if err != nil {
		return nil, err
	}
	var runs []countRun
	for _, r := range story {
		switch b := r.Body.(type) {
		case event.CountBegun:
			runs = append(runs, countRun{begun: r, count: b.Count, places: b.Places})
		case event.CountEnded:
			if i := slices.IndexFunc(runs, func(c countRun) bool { return c.count == b.Count }); i >= 0 {
				runs[i].ended, runs[i].outcome = r, b
			}
		}
	}
	slices.Reverse(runs)
	return runs, nil
}

// A CountLine is one count in words.
type CountLine struct {
	When  string
	What  string
	Who   string
	Facts []Fact // empty while it goes on
	Note  string
}

func (r countRun) line(w words) CountLine {
	l := CountLine{When: w.clock(r.begun.Envelope.UTC), What: countSays(r.places, w), Who: "begun by " + w.name(r.begun.Envelope.By)}
	if r.ended.Body == nil {
		l.Note = "It goes on."
		return l
	}
	l.Who += ", ended " + w.clock(r.ended.Envelope.UTC) + " by " + w.name(r.ended.Envelope.By)
	t := r.outcome.Tally
	l.Facts = []Fact{
		{Label: "Seen", Value: strconv.Itoa(t.Seen)}, {Label: "Not seen", Value: strconv.Itoa(t.NotSeen)},
		{Label: "Wrong place", Value: strconv.Itoa(t.WrongPlace)}, {Label: "Booked out but here", Value: strconv.Itoa(t.OutButHere)},
	}
	l.Note = r.outcome.Note
	return l
}

// tellCount puts what a count says of a sling into words, and its new place.
func (t *Telling) tellCount(body event.Body, before event.Details) {
	switch b := body.(type) {
	case event.Seen:
		t.Sentence = "Seen while the rack was counted"
		if b.Place != "" {
			t.Sentence += ", at " + b.Place
		}
		t.Sentence += "."
	case event.Moved:
		t.Sentence = "Hangs at " + placeWords(b.Place) + " from then on; it was " + placeWords(before.Place) + "."
	}
}
