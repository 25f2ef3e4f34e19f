package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"unicode"
	"unicode/utf8"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// rackPegs is how many slings one page of the rack shows.
const rackPegs = 100

// RackPage shows the slings as they hang.
type RackPage struct {
	Base
	Find        Field
	Show        string // name of the sieve
	Sieves      []Sieve
	Pegs        []Peg
	Said        string // what is shown, in words
	Empty       string // what to say where nothing is
	Next        string // address of the next pegs; empty at the end
	First       string // address of the first pegs; empty at the beginning
	More        string // what to do about those that are not shown, where no address leads to them
	MayRegister bool
}

// A Sieve shows only some of the slings.
type Sieve struct {
	Label string
	Count string // empty where it is not counted
	Path  string
	Here  bool
}

// counts fills in how many slings each sieve leaves.
func (s *Server) counts(v *visit, to []Sieve) error {
	ctx := v.r.Context()
	counts, err := s.Store.Count(ctx)
	if err != nil {
		return err
	}
	for i, sieve := range sieves {
		n := 0
		switch {
		case sieve.due != nil:
			if n, err = s.countDue(v, sieve.due); err != nil {
				return err
			}
		default:
			for _, state := range sieve.states {
				n += counts[state]
			}
		}
		to[i].Count = itoa(n)
	}
	return nil
}

// countDue counts the slings that are due from a day on and before another.
func (s *Server) countDue(v *visit, due func(quantity.Date) (from, before quantity.Date)) (int, error) {
	from, before := due(s.today(v))
	months := v.crib.Founded.Policy.MaxMonths
	n, err := s.Store.Overdue(v.r.Context(), before, months)
	if err != nil || from.IsZero() {
		return n, err
	}
	earlier, err := s.Store.Overdue(v.r.Context(), from, months)
	return n - earlier, err
}

// A Peg is one sling on the rail.
type Peg struct {
	Place     string
	PlacePath string // address of what hangs there
	Ident     string
	Path      string
	MakeUp    string
	Verdict   Verdict
	State     string
	Late      bool // State is late
	Due       string
	Overdue   bool // Due is past
}

// sieves are what the rack can be narrowed to.
var sieves = []struct {
	name, label string
	states      []gate.State
	due         func(today quantity.Date) (from, before quantity.Date) // when it is due; nil for whenever
}{
	{"", "All but retired", append([]gate.State{gate.StateLost}, inUse...), nil},
	{"in", "In", []gate.State{gate.StateIn}, nil},
	{"out", "Out", []gate.State{gate.StateOut}, nil},
	{"held", "Held", []gate.State{gate.StateHeld, gate.StateUnchecked}, nil},
	{"overdue", "Overdue", inUse, func(today quantity.Date) (from, before quantity.Date) { return quantity.Date{}, today }},
	{"soon", "Due in 30 days", inUse, func(today quantity.Date) (from, before quantity.Date) { return today, today.AddDays(soonDays + 1) }},
	{"lost", "Lost", []gate.State{gate.StateLost}, nil},
	{"retired", "Retired", []gate.State{gate.StateRetired}, nil},
}

var inUse = []gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld}

func (s *Server) rack(v *visit) error {
	asked := v.r.URL.Query()
	p := &RackPage{Base: Base{Title: "Rack"}, MayRegister: v.may(actRegister)}
	show, find := asked.Get("show"), cleanFind(asked.Get("find"))
	query, ok := s.rackQuery(v, show, find)
	if !ok {
		return errNoPage
	}
	query.After = asked.Get("after")
	for _, sieve := range sieves {
		p.Sieves = append(p.Sieves, Sieve{Label: v.list().Say(sieve.label), Path: rackPath(sieve.name, find, ""), Here: sieve.name == show})
	}
	return s.renderRack(v, http.StatusOK, p, query, show, find, "")
}

// rackQuery asks for what a sieve leaves of the slings that a text finds; false where
// there is no such sieve.
func (s *Server) rackQuery(v *visit, show, find string) (store.Query, bool) {
	query := store.Query{Limit: rackPegs, Text: find, ByPlace: find == "", MaxMonths: v.crib.Founded.Policy.MaxMonths}
	for _, sieve := range sieves {
		if sieve.name != show {
			continue
		}
		query.States = sieve.states
		if sieve.due != nil {
			query.DueFrom, query.DueBefore = sieve.due(s.today(v))
		}
		return query, true
	}
	return store.Query{}, false
}

func (s *Server) renderRack(v *visit, status int, p *RackPage, query store.Query, show, find, complaint string) error {
	if err := s.hang(v, p, query, show, find); err != nil {
		return err
	}
	if find == "" {
		if err := s.counts(v, p.Sieves); err != nil {
			return err
		}
	}
	p.Find = Field{Name: "find", Label: "Find a sling", Hint: "Identification, rack place, chain size, or the short code on its tag",
		Value: find, Error: complaint, Type: "search"}
	return s.render(v, status, "rack", p)
}

// hang puts on the pegs what a query finds.
func (s *Server) hang(v *visit, p *RackPage, query store.Query, show, find string) error {
	slings, next, err := s.Store.List(v.r.Context(), query)
	if errors.Is(err, store.ErrCursor) {
		return errNoPage
	}
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	for _, sling := range slings {
		p.Pegs = append(p.Pegs, peg(standing(sling, v.crib, s.today(v), w), w))
	}
	if next != "" {
		p.Next = rackPath(show, find, next)
	}
	if query.After != "" {
		p.First = rackPath(show, find, "")
	}
	p.Show = show
	p.Said = rackSaid(len(p.Pegs), p.Next != "" || p.First != "", show, find)
	p.Empty = "Nothing hangs here."
	if find != "" {
		p.Empty = "Nothing here has this at the beginning of its identification, nor as its place or size."
	}
	return nil
}

func rackSaid(n int, more bool, show, find string) string {
	text := plural(n, "sling")
	if more {
		text += " on this page"
	}
	if find != "" {
		text += " for " + find
	}
	for _, sieve := range sieves {
		if show != "" && sieve.name == show {
			text += ": " + lowerFirst(sieve.label)
		}
	}
	return text
}

func peg(st stand, w words) Peg {
	d := st.sling.Details
	p := Peg{Place: d.Place, PlacePath: rackPath("", cleanFind(d.Place), ""), Ident: d.Ident, Path: slingPath(st.sling), MakeUp: w.makeUp(d.Sling.Plate), Verdict: st.verdict}
	p.State, p.Late = st.stateWords(w)
	p.Due, p.Overdue = st.dueWords()
	in := d.Sling.State == gate.StateIn
	switch {
	case st.sling.Doubt != 0:
		p.State, p.Late = "stays here: the record is in doubt", true
	case in && st.verdict == StaysHere && !p.Overdue:
		p.State, p.Late = "stays here: "+lowerFirst(strings.TrimSuffix(st.reasons[0].Sentence, ".")), true
	case in && st.verdict == LookCloser && st.tag == tagNone:
		p.State = "in, without a confirmed tag"
	case in && st.verdict == LookCloser && st.tag == tagOtherwise:
		p.State = "in, but its tag says something else than the record"
	case in && st.verdict == LookCloser:
		p.State = "in, but its tag shows old dates"
	case in && st.sling.Aside.On(st.today) && !p.Overdue:
	case in: // one line says it all
		p.State, p.Late, p.Due = "in, "+p.Due, p.Overdue, ""
		if p.Overdue {
			p.State = "stays here: " + strings.TrimPrefix(p.State, "in, ")
		}
	}
	p.State, p.Due = upperFirst(p.State), upperFirst(p.Due)
	return p
}

func lowerFirst(text string) string {
	if text == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToLower(first)) + text[n:]
}

// rackPath is an address of the rack. Nothing that was scanned is ever in it:
// find holds no more than an identification can.
func rackPath(show, find, after string) string {
	q := url.Values{}
	for name, value := range map[string]string{"show": show, "find": find, "after": after} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if len(q) == 0 {
		return "/rack"
	}
	return "/rack?" + q.Encode()
}

// cleanFind is what may be looked for: capitals, no longer than an
// identification.
func cleanFind(text string) string {
	text = strings.ToUpper(strings.Join(strings.Fields(text), " "))
	if utf8.RuneCountInString(text) > tagcode.MaxIdent {
		return ""
	}
	return text
}

// seek looks for a sling by what was typed. It leads to the sling where there is
// just one, else to the rack; a code never gets into an address.
func (s *Server) seek(v *visit) error {
	ctx := v.r.Context()
	name := "find"
	if v.raw("text") != "" {
		name = "text" // what a scanner sent
	}
	text, complaint := v.line(name, 4096)
	if complaint != "" || text == "" {
		return s.seekAgain(v, complaint)
	}
	sling, err := s.Store.SlingByIdent(ctx, strings.ToUpper(text))
	switch {
	case err == nil:
		return v.redirect(slingPath(sling))
	case !errors.Is(err, store.ErrNotFound) && !errors.Is(err, store.ErrDoubled):
		return err
	}
	reading := counter.Reading{Text: text, Way: counter.Scanner}
	if _, err := tagcode.ParseShort(text); err == nil {
		reading.Way = counter.ShortCode
	} else if name == "find" && cleanFind(text) != "" { // what was scanned never gets into an address
		return v.redirect(rackPath("", cleanFind(text), ""))
	}
	found, err := s.Counter.Find(ctx, reading)
	switch {
	case err != nil:
		return err
	case found.Known:
		return v.redirect(slingPath(found.Sling))
	case len(found.Codes) == 0:
		return s.seekAgain(v, "")
	}
	said := v.wordsOf(nil).says(found.Codes[0], gate.Answer{})
	return s.seekAgain(v, said.Sentence+" "+said.Next)
}

func (s *Server) seekAgain(v *visit, complaint string) error {
	if complaint == "" {
		return v.redirect("/rack")
	}
	p := &RackPage{Base: Base{Title: "Rack"}, MayRegister: v.may(actRegister)}
	for _, sieve := range sieves {
		p.Sieves = append(p.Sieves, Sieve{Label: sieve.label, Path: rackPath(sieve.name, "", ""), Here: sieve.name == ""})
	}
	query := store.Query{Limit: rackPegs, States: sieves[0].states, ByPlace: true}
	return s.renderRack(v, http.StatusUnprocessableEntity, p, query, "", "", complaint)
}

// names are those of everyone in the register, the ones who left too, since a
// story speaks of them.
func (s *Server) names(v *visit) (map[event.PersonID]string, error) {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return nil, err
	}
	names := make(map[event.PersonID]string, len(people))
	for _, p := range people {
		names[p.ID] = p.Name
	}
	return names, nil
}
