package store_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// model is the register as a plain slice: what a reader who knows nothing of
// tables, transactions and files would expect.
type model struct {
	log     []store.Record
	now     facts
	answers map[string]told
}

// told is what was answered under a key.
type told struct {
	request [32]byte
	answer  string
	at      int64 // of the event that the act recorded
}

// heads gives the newest events of a subject.
func (m *model) heads(s event.Subject) []event.Hash {
	for _, r := range slices.Backward(m.log) {
		if r.Envelope.Subject == s {
			return []event.Hash{r.Hash}
		}
	}
	return nil
}

// machine is a register under test, opened twice, beside its model.
type machine struct {
	t       *testing.T
	path    string
	s       []*store.Store
	dropped []*store.Store // by programs that were gone without a word
	m       model
	keeper  event.PersonID
	keys    int
	done    map[event.Kind]int // how many of each kind there have been, in all histories
}

// A register answers like a plain slice, and its present is what a second, plain
// fold makes of that, whatever is done to it in whatever order: by two programs
// that have it open, by one that is killed, by some that are gone without closing
// it, with reopenings, rebuilds and restorations in between. What cannot happen is
// refused.
func TestModel(t *testing.T) {
	if err := flag.Set("rapid.checks", strconv.Itoa(4**rounds)); err != nil { // each of some thirty steps
		t.Fatal(err)
	}
	done := map[event.Kind]int{}
	rapid.Check(t, func(r *rapid.T) {
		m := newMachine(t, r)
		m.done = done
		defer m.close(r)
		r.Repeat(map[string]func(*rapid.T){
			"append": m.append, "append more": m.append, "and more": m.append,
			"wild":    m.wild,
			"stale":   m.stale,
			"again":   m.again,
			"fail":    m.fail,
			"panic":   m.panics,
			"bulk":    m.bulk,
			"reopen":  m.reopen,
			"crash":   m.crash,
			"kill":    m.kill,
			"rebuild": m.rebuild,
			"restore": m.restore,
			"erase":   m.erase,
			"":        m.check,
		})
	})
	t.Log(done)
	for _, k := range event.Kinds() {
		if *rounds >= 10 && done[k] == 0 {
			t.Errorf("no %s in all these histories", k)
		}
	}
}

func newMachine(t *testing.T, r *rapid.T) *machine {
	m := &machine{t: t, m: model{now: newFacts(), answers: map[string]told{}}, path: filepath.Join(t.TempDir(), "register.sqlite")}
	first, keeper, err := store.Init(context.Background(), m.path, storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		r.Fatal(err)
	}
	m.s, m.keeper = []*store.Store{first, m.open(r)}, keeper
	m.catchUp(r)
	return m
}

func (m *machine) open(r *rapid.T) *store.Store {
	s, err := store.Open(context.Background(), m.path, store.Options{Program: "test"})
	if err != nil {
		r.Fatal(err)
	}
	return s
}

func (m *machine) close(r *rapid.T) {
	report, err := m.s[0].Verify(context.Background(), nil)
	if err != nil || !report.Whole() {
		r.Errorf("%v, %v", report.Breaks, err)
	}
	for _, r := range m.m.log {
		if m.done != nil {
			m.done[r.Envelope.Kind]++
		}
	}
	for _, s := range append(m.s, m.dropped...) {
		if err := s.Close(); err != nil {
			r.Error(err)
		}
	}
}

func (m *machine) any(r *rapid.T) *store.Store { return rapid.SampledFrom(m.s).Draw(r, "store") }

func (m *machine) act(*rapid.T) store.Act {
	m.keys++
	return store.Act{By: m.keeper, Station: "test", Way: "hand", Key: fmt.Sprint(m.keys), Request: [32]byte{byte(m.keys)}}
}

// tells adds to the slice what the register has recorded.
func (m *machine) tells(r *rapid.T, rec store.Record) {
	if e := rec.Envelope; !m.m.now.add(e.Subject, e.Log, e.By, rec.Body) {
		r.Fatalf("%s of %s was recorded at %d, and cannot happen", e.Kind, e.Subject, e.At)
	}
	m.m.log = append(m.m.log, rec)
}

// catchUp takes over what others have recorded.
func (m *machine) catchUp(r *rapid.T) {
	list, err := m.s[0].Since(context.Background(), int64(len(m.m.log)), store.MaxPage)
	if err != nil {
		r.Fatal(err)
	}
	for _, rec := range list {
		m.tells(r, rec)
	}
}

// slings and people are how many there are to draw from.
const slings, people = 2, 3

// wildly draws a fact about somebody or something, whether it can happen or not.
func (m *machine) wildly(r *rapid.T) (event.Subject, event.Body) {
	rows := kindRows
	if rapid.IntRange(0, 4).Draw(r, "of slings") > 0 { // what most of a register is about
		rows = kindRows[slices.IndexFunc(kindRows, func(row kindRow) bool { return row.of == event.OfSling }):]
	}
	row := rapid.SampledFrom(rows).Draw(r, "kind")
	if slices.Contains(seldom, row.kind) { // they end a story, or fit everywhere and say little
		row = rapid.SampledFrom(rows).Draw(r, "kind instead")
	}
	n := rapid.IntRange(0, max(slings, people)-1).Draw(r, "which")
	of := row.of
	if rapid.IntRange(0, 19).Draw(r, "of something else") == 0 {
		of = rapid.SampledFrom([]event.SubjectKind{event.OfCrib, event.OfPerson, event.OfSling}).Draw(r, "of")
	}
	body := row.make(r, m, n%slings)
	switch of {
	case event.OfSling:
		return event.Sling(slingOf(n % slings)), body
	case event.OfPerson:
		return event.Person(append([]event.PersonID{m.keeper}, event.PersonID{1}, event.PersonID{2})[n%people]), body
	}
	return event.Crib(), body
}

var seldom = []event.Kind{event.KindRetired, event.KindLost, event.KindCorrected, event.KindRefused, event.KindRegistered}

// can tells whether a fact can happen now.
func (m *machine) can(subject event.Subject, body event.Body) bool {
	try := facts{slings: maps.Clone(m.m.now.slings), people: maps.Clone(m.m.now.people), crib: m.m.now.crib}
	return try.add(subject, event.LogID{}, event.PersonID{}, body)
}

// draw draws one that can.
func (m *machine) draw(r *rapid.T) (event.Subject, event.Body) {
	subject, body, found := m.find(r)
	if !found {
		r.Skip("nothing that was drawn can happen")
	}
	return subject, body
}

func (m *machine) find(r *rapid.T) (subject event.Subject, body event.Body, found bool) {
	for range 50 {
		if subject, body = m.wildly(r); m.can(subject, body) {
			return subject, body, true
		}
	}
	return subject, body, false
}

func (m *machine) append(r *rapid.T) {
	subject, body := m.draw(r)
	act := m.act(r)
	var rec store.Record
	answer, err := m.any(r).Do(context.Background(), act, func(ctx context.Context, tx *store.Tx) (answer []byte, err error) {
		rec, err = tx.Append(ctx, subject, m.m.heads(subject), body)
		story, storyErr := tx.Story(ctx, subject)
		if err == nil && (storyErr != nil || story[len(story)-1].Hash != rec.Hash) {
			r.Errorf("the act does not see its own event: %v", storyErr)
		}
		return []byte("done " + act.Key), err
	})
	if err != nil || string(answer) != "done "+act.Key {
		r.Fatalf("%s: %q, %v", body.Kind(), answer, err)
	}
	m.tells(r, rec)
	m.m.answers[act.Key] = told{act.Request, string(answer), rec.Envelope.At}
}

// wild asks for what may be impossible, and is then told so.
func (m *machine) wild(r *rapid.T) {
	subject, body := m.wildly(r)
	if m.can(subject, body) {
		r.Skip("it can happen")
	}
	_, err := m.any(r).Do(context.Background(), m.act(r), appendAfter(subject, m.m.heads(subject), body))
	if !errors.Is(err, store.ErrContradicts) {
		r.Fatalf("%s of %s: %v", body.Kind(), subject, err)
	}
}

func (m *machine) stale(r *rapid.T) {
	subject, body := m.draw(r)
	heads := m.m.heads(subject)
	if len(heads) == 0 {
		r.Skip("no story yet")
	}
	_, err := m.any(r).Do(context.Background(), m.act(r), appendAfter(subject, nil, body))
	var conflict *store.ConflictError
	if !errors.As(err, &conflict) || conflict.Since[len(conflict.Since)-1].Hash != heads[0] {
		r.Fatalf("a writer that saw nothing of %s: %v", subject, err)
	}
}

func (m *machine) again(r *rapid.T) {
	keys := slices.Sorted(maps.Keys(m.m.answers))
	key := rapid.SampledFrom(append(keys, "never asked")).Draw(r, "key")
	first, known := m.m.answers[key]
	act := store.Act{Station: "test", Way: "hand", Key: key, Request: first.request}
	sentinel := errors.New("not answered")
	f := func(context.Context, *store.Tx) ([]byte, error) { return nil, sentinel }
	answer, err := m.any(r).Do(context.Background(), act, f)
	if known && (err != nil || string(answer) != first.answer) || !known && !errors.Is(err, sentinel) {
		r.Fatalf("key %s: %q, %v; want %+v, %v", key, answer, err, first, known)
	}
	act.Request[31]++
	if _, err := m.any(r).Do(context.Background(), act, f); known && !errors.Is(err, store.ErrKeyReused) {
		r.Fatalf("key %s for another request: %v", key, err)
	}
}

func (m *machine) fail(r *rapid.T) {
	subject, body := m.draw(r)
	sentinel := errors.New("changed my mind")
	_, err := m.any(r).Do(context.Background(), m.act(r), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if _, err := tx.Append(ctx, subject, m.m.heads(subject), body); err != nil {
			return nil, err
		}
		return nil, sentinel
	})
	if !errors.Is(err, sentinel) {
		r.Fatal(err)
	}
}

// panics is an act that does not come to its end: nothing of it is recorded, and
// the next one is not kept waiting.
func (m *machine) panics(r *rapid.T) {
	subject, body := m.draw(r)
	s, act := m.any(r), m.act(r)
	defer func() {
		if recover() == nil {
			r.Fatal("the act came to its end")
		}
	}()
	_, err := s.Do(context.Background(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if _, err := tx.Append(ctx, subject, m.m.heads(subject), body); err != nil {
			r.Error(err)
		}
		panic("in the middle of it")
	})
	r.Error(err)
}

func (m *machine) bulk(r *rapid.T) {
	n := rapid.IntRange(1, 40).Draw(r, "events")
	err := m.any(r).Bulk(context.Background(), m.act(r), func(ctx context.Context, tx *store.Tx) error {
		for range n {
			subject, body, found := m.find(r)
			if !found { // what was appended stays: skipped here, it would be in the slice alone
				break
			}
			rec, err := tx.Append(ctx, subject, m.m.heads(subject), body)
			if err != nil {
				return err
			}
			m.tells(r, rec)
		}
		return nil
	})
	if err != nil {
		r.Fatal(err)
	}
}

func (m *machine) reopen(r *rapid.T) {
	i := rapid.IntRange(0, 1).Draw(r, "store")
	if err := m.s[i].Close(); err != nil {
		r.Fatal(err)
	}
	m.s[i] = m.open(r)
}

// crash is a program that is gone without closing the register.
func (m *machine) crash(r *rapid.T) {
	i := rapid.IntRange(0, 1).Draw(r, "store")
	if len(m.dropped) == 8 {
		r.Skip("enough of them hold the file")
	}
	m.dropped = append(m.dropped, m.s[i])
	m.s[i] = m.open(r)
}

// kill lets another program work and kills it. What it was told is recorded, and
// perhaps a little that it did not hear of.
func (m *machine) kill(r *rapid.T) {
	acked := killed(m.t, "policies", m.path, rapid.IntRange(1, 5).Draw(r, "acts"))
	before := len(m.m.log)
	m.catchUp(r)
	for _, line := range acked {
		key, answer, _ := strings.Cut(line, " ")
		i := slices.IndexFunc(m.m.log[before:], func(rec store.Record) bool { return answer == fmt.Sprint(rec.Envelope.At, " ", rec.Hash) })
		if i < 0 {
			r.Fatalf("%s was acknowledged and is lost", line)
		}
		m.m.answers[key] = told{answer: answer, at: int64(before + i + 1)}
	}
}

func (m *machine) rebuild(r *rapid.T) {
	var before, after bytes.Buffer
	s := m.any(r)
	if err := errors.Join(s.Dump(context.Background(), &before), s.Rebuild(context.Background()), s.Dump(context.Background(), &after)); err != nil {
		r.Fatal(err)
	}
	if !bytes.Equal(before.Bytes(), after.Bytes()) {
		r.Fatalf("before:\n%s\nafter:\n%s", &before, &after)
	}
}

// restore goes on with a copy in another place, in a new log.
func (m *machine) restore(r *rapid.T) {
	copied, err := m.any(r).Copy(context.Background(), filepath.Join(m.t.TempDir(), "copies"), store.Copying{})
	if err != nil {
		r.Fatal(err)
	}
	path := filepath.Join(m.t.TempDir(), "restored", "register.sqlite")
	if _, err := store.Restore(context.Background(), copied.Path, path, "the disk failed", store.Options{Program: "test"}, nil); err != nil {
		r.Fatal(err)
	}
	m.dropped, m.path = append(m.dropped, m.s...), path
	m.s = []*store.Store{m.open(r), m.open(r)}
	log := m.m.log[len(m.m.log)-1].Envelope.Log
	if m.catchUp(r); m.m.log[len(m.m.log)-1].Envelope.Log == log {
		r.Fatal("a restored register goes on in the old log")
	}
}

// erase takes a person's name out of the slice as well: what is left of each body
// stands in its place, and what was answered for it is forgotten.
func (m *machine) erase(r *rapid.T) {
	id := rapid.SampledFrom(slices.SortedFunc(maps.Keys(m.m.now.people), func(a, b event.PersonID) int { return bytes.Compare(a[:], b[:]) })).Draw(r, "person")
	s, key := m.any(r), m.act(r)
	named := 0
	for _, rec := range m.m.log {
		if _, here := event.Unnamed(rec.Body, ""); here && !rec.Erased && rec.Envelope.Subject == event.Person(id) {
			named++
		}
	}
	_, err := s.Do(context.Background(), key, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		n, err := tx.ErasePerson(ctx, id, "asked for it")
		if n != named {
			r.Errorf("%d bodies were erased, %d had a name in them", n, named)
		}
		return []byte("erased"), err
	})
	if err != nil {
		r.Fatal(err)
	}
	m.catchUp(r)
	m.m.answers[key.Key] = told{key.Request, "erased", int64(len(m.m.log))}
	for i, rec := range m.m.log {
		if left, here := event.Unnamed(rec.Body, event.InsteadOf(id)); here && !rec.Erased && rec.Envelope.Subject == event.Person(id) {
			text, err := event.Encode(left)
			if err != nil {
				r.Fatal(err)
			}
			m.m.log[i].Erased, m.m.log[i].Salt, m.m.log[i].Raw, m.m.log[i].Body = true, [16]byte{}, text, left
			maps.DeleteFunc(m.m.answers, func(_ string, a told) bool { return a.at == int64(i)+1 })
		}
	}
}

func (m *machine) check(r *rapid.T) {
	for _, s := range m.s {
		list, err := s.Since(context.Background(), 0, len(m.m.log)+1)
		if err != nil || !slices.EqualFunc(list, m.m.log, func(a, b store.Record) bool { return reflect.DeepEqual(a, b) }) {
			r.Fatalf("the log is not the slice: %d events, want %d, %v", len(list), len(m.m.log), err)
		}
		if err := m.m.now.differs(context.Background(), s.Reader); err != nil {
			r.Fatal(err)
		}
		if err := m.listsDiffer(context.Background(), s.Reader); err != nil {
			r.Fatal(err)
		}
	}
}
