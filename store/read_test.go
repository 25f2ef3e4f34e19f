package store_test

import (
	"cmp"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

func printed(n int, serial tagcode.Serial, key tagcode.Fingerprint) event.TagPrinted {
	return event.TagPrinted{
		Serial: serial, Key: key, Digest: tagcode.Digest(storetest.TagText(n, serial)), Version: 5, Level: "H", Mask: 1, Stock: "test",
	}
}

func TestFindByTag(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	other := tagcode.Fingerprint{1, 2, 3, 4} // the crib's next key
	a, b := storetest.Register(t, s, 1), storetest.Register(t, s, 2)
	a = storetest.Append(t, s, a.ID, a.Heads, printed(1, 1, storetest.Key))
	a = storetest.Append(t, s, a.ID, a.Heads, event.TagConfirmed{Serial: 1, Typed: "001"})
	a = storetest.Append(t, s, a.ID, a.Heads, printed(1, 2, other))
	b = storetest.Append(t, s, b.ID, b.Heads, printed(2, 1, storetest.Key))

	find := func(n int, serial tagcode.Serial, want state.TagStatus) {
		t.Helper()
		got, tag, err := s.SlingByTag(t.Context(), tagcode.Digest(storetest.TagText(n, serial)))
		if err != nil || got.Details.Ident != storetest.Sling(n).Ident || tag.Serial != serial || tag.Status != want {
			t.Errorf("tag %d of %d: %s, %+v, %v", serial, n, got.Details.Ident, tag, err)
		}
	}
	find(1, 1, state.TagLive)
	find(1, 2, state.TagPrinted)
	find(2, 1, state.TagPrinted)
	if _, _, err := s.SlingByTag(t.Context(), [32]byte{}); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("a tag never printed: %v", err)
	}

	short := func(ident string, key tagcode.Fingerprint, serial tagcode.Serial, want ...event.SlingID) {
		t.Helper()
		code := tagcode.ShortOf(tagcode.NumberOf(key, ident), serial)
		list, err := s.SlingsByShort(t.Context(), code)
		if err != nil || !slices.EqualFunc(list, want, func(s state.Sling, id event.SlingID) bool { return s.ID == id }) {
			t.Errorf("short code of %s, key %s, serial %d: %d found, want %v, %v", ident, key, serial, len(list), want, err)
		}
	}
	short("CS-00001", storetest.Key, 1, a.ID)
	short("CS-00001", other, 2, a.ID)
	short("CS-00001", storetest.Key, 2) // serial 2 was printed with the other key
	short("CS-00002", storetest.Key, 1, b.ID)
	short("CS-00003", storetest.Key, 1)

	for _, n := range []tagcode.Number{a.ID.Number, tagcode.NumberOf(other, "CS-00001")} {
		list, err := s.SlingsByNumber(t.Context(), n)
		if err != nil || len(list) != 1 || list[0].ID != a.ID {
			t.Errorf("number %s: %d found, %v", n, len(list), err)
		}
	}

	storetest.Append(t, s, a.ID, a.Heads, event.TagConfirmed{Serial: 2, Typed: "001"})
	find(1, 1, state.TagReplaced)
	find(1, 2, state.TagLive)
	short("CS-00001", storetest.Key, 1) // replaced: the code is dead
	short("CS-00001", other, 2, a.ID)
}

func TestFindByIdent(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	a := storetest.Register(t, s, 1)
	if got, err := s.SlingByIdent(t.Context(), "CS-00001"); err != nil || got.ID != a.ID {
		t.Errorf("%v, %v", got.ID, err)
	}
	for _, ident := range []string{"", "CS-00002", "cs-00001", "CS-0000", "CS-00001 "} {
		if _, err := s.SlingByIdent(t.Context(), ident); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("%q: %v", ident, err)
		}
	}
	// The same identification under another key is another sling; nobody can say which is meant.
	storetest.Append(t, s, event.SlingOf(tagcode.Fingerprint{9}, "CS-00001"), nil, event.Registered{Details: storetest.Sling(1)})
	if _, err := s.SlingByIdent(t.Context(), "CS-00001"); !errors.Is(err, store.ErrDoubled) {
		t.Errorf("two of one identification: %v", err)
	}
}

func TestPeople(t *testing.T) {
	s, keeper, _ := storetest.New(t, store.Options{Program: "test"})
	add := func(name string) event.PersonID {
		id := event.PersonID{byte(len(name)), name[0]}
		_, err := s.Do(t.Context(), plain, appendTo(event.Person(id), event.PersonAdded{Name: name, Roles: event.Rigger}))
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	// The order is that of the bytes, whatever a language would say.
	for _, name := range []string{"Zoë", "zoe", "Ärla", "Zo", "Anna"} {
		add(name)
	}
	people, err := s.People(t.Context())
	var names []string
	for _, p := range people {
		names = append(names, p.Name)
	}
	if want := []string{"Anna", "Kay Keeper", "Zo", "Zoë", "zoe", "Ärla"}; err != nil || !slices.Equal(names, want) {
		t.Errorf("%q, want %q, %v", names, want, err)
	}
	if p, err := s.PersonByName(t.Context(), "Kay Keeper"); err != nil || p.ID != keeper {
		t.Errorf("%v, %v", p, err)
	}
	if _, err := s.PersonByName(t.Context(), "kay keeper"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("another spelling: %v", err)
	}
	if _, err := s.Person(t.Context(), event.PersonID{}); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("nobody: %v", err)
	}
	add("Annab")
	if _, err := s.Do(t.Context(), plain, appendTo(event.Person(event.PersonID{77}), event.PersonAdded{Name: "Annab"})); err != nil {
		t.Fatal(err)
	}
	if _, err := s.PersonByName(t.Context(), "Annab"); !errors.Is(err, store.ErrDoubled) {
		t.Errorf("two of one name: %v", err)
	}
}

// List and Count agree with a plain look at every sling, page by page, for
// every kind of question.
func TestListAgainstPlain(t *testing.T) {
	s, keeper, _ := storetest.New(t, store.Options{Program: "test"})
	r := random(t)
	all := rack(t, s, r, keeper)
	date := func(text string) quantity.Date {
		d, err := quantity.ParseDate(text)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	texts := []string{"", "CS-", "cs-000", "CS-00012", "B-03", "b-03 peg", "13", "16", "peg 13", "nothing", "CS-00012 13", "13 16", "%", "_", "'"}
	states := [][]gate.State{nil, {gate.StateIn}, {gate.StateHeld, gate.StateOut}, {gate.StateRetired}, {gate.StateUnchecked}}
	dues := []quantity.Date{{}, date("2026-08-10"), date("2027-01-10"), date("2027-01-01"), date("2030-01-01")}
	for _, text := range texts {
		for _, in := range states {
			for _, due := range dues {
				for _, holder := range []event.PersonID{{}, keeper, {1}} {
					q := store.Query{Text: text, States: in, DueBefore: due, Holder: holder, Limit: 1 + r.IntN(20)}
					q.MaxMonths = r.IntN(8)
					if r.IntN(3) == 0 {
						q.DueFrom = dues[r.IntN(len(dues))]
					}
					q.ByPlace = text == "" && holder.IsZero() && r.IntN(2) == 0
					got := list(t, s, q)
					if want := plainly(all, q); !slices.Equal(got, want) {
						t.Errorf("%+v:\n got %q\nwant %q", q, got, want)
					}
				}
			}
		}
	}
	counts, err := s.Count(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, sling := range all {
		counts[sling.Details.Sling.State]--
	}
	for st, n := range counts {
		if n != 0 {
			t.Errorf("%d too many counted %s", n, st)
		}
	}
	for months := range 13 {
		q := store.Query{DueBefore: date("2026-08-10"), MaxMonths: months}
		want := len(plainly(all, q))
		if n, err := s.Overdue(t.Context(), q.DueBefore, months); err != nil || n != want {
			t.Errorf("%d overdue by %d months, want %d, %v", n, months, want, err)
		}
	}
}

// plainly looks at every sling.
func plainly(all []state.Sling, q store.Query) []string {
	all = slices.Clone(all)
	if q.ByPlace {
		slices.SortFunc(all, func(a, b state.Sling) int {
			return cmp.Or(walk(a.Details.Place)-walk(b.Details.Place), cmp.Compare(a.Details.Ident, b.Details.Ident))
		})
	}
	var idents []string
	for _, sling := range all {
		if matches(q, sling) {
			idents = append(idents, sling.Details.Ident)
		}
	}
	return idents
}

// walk is how far along the rack a place of rack lies.
func walk(place string) int {
	at := slices.Index([]string{"A-2", "a-10", "B-2", "B-03 PEG 4", "B-03 peg 13", ""}, place)
	if at < 0 {
		panic("a place that the test does not know: " + place)
	}
	return at
}

// rack registers some slings in every state and gives them by identification.
func rack(t *testing.T, s *store.Store, r *rand.Rand, keeper event.PersonID) []state.Sling {
	t.Helper()
	var all []state.Sling
	for n := range 60 {
		sling := storetest.Register(t, s, n)
		d := sling.Details
		d.Place = []string{"A-2", "a-10", "B-2", "B-03 PEG 4", "B-03 peg 13"}[r.IntN(5)]
		d.Sling.Inspected = d.Sling.Inspected.AddDays(r.IntN(200))
		sling = storetest.Append(t, s, sling.ID, sling.Heads, event.Corrected{Details: d, Reason: "hangs elsewhere"})
		switch r.IntN(6) {
		case 0:
			sling = storetest.Append(t, s, sling.ID, sling.Heads, event.Issued{Rigger: keeper, Serial: 1})
		case 1:
			sling = storetest.Append(t, s, sling.ID, sling.Heads, event.Held{Reason: "x"})
		case 2:
			sling = storetest.Append(t, s, sling.ID, sling.Heads, event.Retired{Reason: "x", How: "cut"})
		case 3:
			d := sling.Details
			d.Place, d.Sling.Due = "", quantity.Date{}
			sling = storetest.Append(t, s, sling.ID, sling.Heads, event.Corrected{Details: d, Reason: "never had one"})
		}
		all = append(all, sling)
	}
	return all
}

// list reads every page.
func list(t *testing.T, s *store.Store, q store.Query) []string {
	t.Helper()
	var idents []string
	for {
		page, next, err := s.List(t.Context(), q)
		if err != nil {
			t.Fatalf("%+v: %v", q, err)
		}
		if len(page) > q.Limit || next != "" && len(page) != q.Limit {
			t.Fatalf("%+v: a page of %d, next %q", q, len(page), next)
		}
		for _, sling := range page {
			idents = append(idents, sling.Details.Ident)
		}
		if next == "" {
			return idents
		}
		q.After = next
	}
}

func matches(q store.Query, s state.Sling) bool {
	d := s.Details
	if len(q.States) > 0 && !slices.Contains(q.States, d.Sling.State) {
		return false
	}
	due := d.Sling.Due
	if last := d.Sling.Inspected.AddMonths(q.MaxMonths); q.MaxMonths > 0 && !due.IsZero() && last.Before(due) {
		due = last // as the gate counts it
	}
	if !q.DueBefore.IsZero() {
		gone := d.Sling.State == gate.StateRetired || d.Sling.State == gate.StateLost
		if !due.Before(q.DueBefore) || gone && len(q.States) == 0 {
			return false
		}
	}
	if due.Before(q.DueFrom) {
		return false
	}
	if !q.Holder.IsZero() && s.Loan.Rigger != q.Holder {
		return false
	}
	text := strings.ToUpper(q.Text)
	known := append(strings.Fields(strings.ToUpper(d.Place)), strings.ToUpper(d.Place), d.Sling.Size.String())
	asked := strings.Fields(text)
	for _, w := range asked {
		if !slices.Contains(known, w) {
			return strings.HasPrefix(d.Ident, text)
		}
	}
	return true
}

func TestListRefuses(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	for _, q := range []store.Query{
		{Limit: -1}, {Limit: store.MaxPage + 1}, {After: "x"}, {After: "x\ny"}, {After: "\n"},
		{ByPlace: true, Text: "CS"}, {ByPlace: true, Holder: event.PersonID{1}}, {ByPlace: true, After: "CS-00001\n" + event.SlingID{}.String()},
	} {
		if _, _, err := s.List(t.Context(), q); err == nil {
			t.Errorf("%+v was answered", q)
		}
	}
	if page, next, err := s.List(t.Context(), store.Query{Text: "\xff\x00"}); err != nil || len(page) != 0 || next != "" {
		t.Errorf("%v, %q, %v", page, next, err)
	}
}

func TestStory(t *testing.T) {
	s, keeper, _ := storetest.New(t, store.Options{Program: "test"})
	a := storetest.Register(t, s, 1)
	storetest.Register(t, s, 2)
	a = storetest.Append(t, s, a.ID, a.Heads, event.Issued{Rigger: keeper, Serial: 1})
	storetest.Append(t, s, a.ID, a.Heads, event.Returned{From: keeper, Said: event.Something, Note: "a jerk"})
	story, err := s.Story(t.Context(), event.Sling(a.ID))
	var told []string
	for _, r := range story {
		told = append(told, fmt.Sprintf("%d %s", r.Envelope.At, r.Envelope.Kind))
	}
	if want := []string{"4 registered", "6 issued", "7 returned"}; err != nil || !slices.Equal(told, want) {
		t.Errorf("%q, want %q, %v", told, want, err)
	}
	if b, ok := story[2].Body.(event.Returned); !ok || b.Note != "a jerk" {
		t.Errorf("%+v", story[2].Body)
	}
	if none, err := s.Story(t.Context(), event.Sling(event.SlingID{})); err != nil || len(none) != 0 {
		t.Errorf("%v, %v", none, err)
	}
	if list, err := s.Since(t.Context(), 5, 1); err != nil || len(list) != 1 || list[0].Envelope.At != 6 {
		t.Errorf("%v, %v", list, err)
	}
}
