package web

import (
	"net/http"
	"slices"

	"cribgate/kiosk/counter"
	"cribgate/store"
)

// CountSheetPage is the sheet of the newest count for the keeper, to be printed: per
// place what was seen, what was not, and what hangs where it should not.
type CountSheetPage struct {
	Base
	Run   CountLine
	Facts []Fact // what is open now
	Parts []SheetPart
	Last  []CountLine
}

// A SheetPart is one place of the sheet.
type SheetPart struct {
	Label      string
	Seen       []CountName // no Sub
	SeenSaid   string
	NotSeen    []CountName
	More       string // how many more were not seen than are listed
	WrongPlace []CountName
	OutButHere []CountName
	Kept       []CountName // at a repairer's or impounded
}

// countSheet shows the sheet of the count that goes on, or else of the last one.
func (s *Server) countSheet(v *visit) error {
	runs, err := s.countRuns(v)
	if err != nil {
		return err
	}
	if len(runs) == 0 {
		return &Visible{Code: NoPage, Sentence: "The rack was never counted.", Next: "Begin a count first."}
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	run := runs[0]
	found, err := counter.Sightings(v.r.Context(), s.Store.Reader, run.count, run.places)
	if err != nil {
		return err
	}
	p := &CountSheetPage{Base: Base{Title: "Count of the rack", Sheet: true}, Run: run.line(w)}
	t := found.Tally()
	p.Facts = []Fact{
		{Label: "Seen", Value: itoa(t.Seen)}, {Label: "Not seen", Value: itoa(t.NotSeen)},
		{Label: "Wrong place", Value: itoa(t.WrongPlace)}, {Label: "Booked out but here", Value: itoa(t.OutButHere)},
	}
	for _, r := range runs[1:min(len(runs), 1+lastRuns)] {
		p.Last = append(p.Last, r.line(w))
	}
	sheet, err := s.newSheet(v, run, found)
	if err != nil {
		return err
	}
	if p.Parts, err = sheet.parts(w); err != nil {
		return err
	}
	return s.render(v, http.StatusOK, "counted", p)
}

// sheetListed is how many slings of a place that were not seen the sheet lists: of a
// place that was counted there are few (site policy of this program, no source).
const sheetListed = 300

// sheet sorts the slings of a count into the places of the rack.
type sheet struct {
	s      *Server
	v      *visit
	run    countRun
	places []counter.CountPlace
	lists  map[int]*counter.Sighted // by place; -1: none of them
}

func (s *Server) newSheet(v *visit, run countRun, found counter.Sighted) (*sheet, error) {
	pegs, err := s.Store.Pegs(v.r.Context(), "")
	if err != nil {
		return nil, err
	}
	h := &sheet{s: s, v: v, run: run, places: counter.CountPlaces(counter.Within(pegs, run.places), run.count), lists: map[int]*counter.Sighted{}}
	h.sort(found.Seen, ownPlace, func(l *counter.Sighted) *[]store.Peg { return &l.Seen })
	h.sort(found.NotSeen, ownPlace, func(l *counter.Sighted) *[]store.Peg { return &l.NotSeen })
	h.sort(found.Elsewhere, ownPlace, func(l *counter.Sighted) *[]store.Peg { return &l.Elsewhere })
	h.sort(found.WrongPlace, seenPlace, func(l *counter.Sighted) *[]store.Peg { return &l.WrongPlace })
	h.sort(found.OutButHere, seenPlace, func(l *counter.Sighted) *[]store.Peg { return &l.OutButHere })
	return h, nil
}

func ownPlace(p store.Peg) store.PlaceKey  { return p.Place }
func seenPlace(p store.Peg) store.PlaceKey { return p.SeenAt }

func (h *sheet) sort(pegs []store.Peg, at func(store.Peg) store.PlaceKey, list func(*counter.Sighted) *[]store.Peg) {
	for _, p := range pegs {
		i := slices.IndexFunc(h.places, func(c counter.CountPlace) bool { return at(p).In(c.Begins) })
		if h.lists[i] == nil {
			h.lists[i] = &counter.Sighted{}
		}
		l := list(h.lists[i])
		*l = append(*l, p)
	}
}

func (h *sheet) parts(w words) (parts []SheetPart, err error) {
	h.v.crib.Count.ID = h.run.count // of which names are put into words
	for i := range len(h.places) + 1 {
		part := SheetPart{Label: "Other places"}
		l := h.lists[-1]
		if i < len(h.places) {
			l = h.lists[i]
			if part.Label, _, err = h.s.labelOf(h.v, h.places[i]); err != nil {
				return nil, err
			}
		}
		if l == nil {
			continue
		}
		for _, p := range l.Seen {
			part.Seen = append(part.Seen, CountName{Ident: p.Ident})
		}
		part.SeenSaid = itoa(len(l.Seen)) + " seen"
		if n := len(l.NotSeen) - sheetListed; n > 0 {
			part.More = "and " + plural(n, "more sling") + " that " + map[bool]string{true: "was", false: "were"}[n == 1] + " not seen: count this place to its end first."
			l.NotSeen = l.NotSeen[:sheetListed]
		}
		for from, to := range map[*[]store.Peg]*[]CountName{&l.NotSeen: &part.NotSeen, &l.WrongPlace: &part.WrongPlace, &l.OutButHere: &part.OutButHere, &l.Elsewhere: &part.Kept} {
			for _, p := range *from {
				n, err := h.s.countName(h.v, p, w)
				if err != nil {
					return nil, err
				}
				*to = append(*to, n)
			}
		}
		parts = append(parts, part)
	}
	return parts, nil
}
