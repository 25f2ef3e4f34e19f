package store_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

// model is the register as a plain slice: what a reader who knows nothing of
// tables, transactions and files would expect.
type model struct {
	log     []store.Record
	answers map[string]string
}

func (m *model) sling(id event.SlingID) state.Sling {
	var story []state.Event
	for _, r := range m.log {
		if r.Envelope.Subject == event.Sling(id) {
			story = append(story, r.Event())
		}
	}
	return state.FoldSling(id, story)
}

// machine is a register under test, opened once or twice, beside its model.
type machine struct {
	path   string
	s      []*store.Store
	m      model
	keeper event.PersonID
	keys   int
}

// A register answers like a plain slice, whatever is done to it in whatever
// order, through two open programs, with reopenings and rebuilds in between.
func TestModel(t *testing.T) {
	if err := flag.Set("rapid.checks", strconv.Itoa(4**rounds)); err != nil { // each of some thirty steps
		t.Fatal(err)
	}
	rapid.Check(t, func(r *rapid.T) {
		m := newMachine(t, r)
		defer m.close(r)
		r.Repeat(map[string]func(*rapid.T){
			"append":  m.append,
			"stale":   m.stale,
			"again":   m.again,
			"fail":    m.fail,
			"bulk":    m.bulk,
			"reopen":  m.reopen,
			"rebuild": m.rebuild,
			"":        m.check,
		})
	})
}

func newMachine(t *testing.T, r *rapid.T) *machine {
	m := &machine{m: model{answers: map[string]string{}}}
	m.path = filepath.Join(t.TempDir(), "register.sqlite")
	first, keeper, err := store.Init(context.Background(), m.path, storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		r.Fatal(err)
	}
	second, err := store.Open(context.Background(), m.path, store.Options{Program: "test"})
	if err != nil {
		r.Fatal(err)
	}
	m.s, m.keeper = []*store.Store{first, second}, keeper
	if m.m.log, err = first.Since(context.Background(), 0, 100); err != nil {
		r.Fatal(err)
	}
	return m
}

func (m *machine) close(r *rapid.T) {
	report, err := m.s[0].Verify(context.Background(), nil)
	if err != nil || !report.Whole() {
		r.Errorf("%v, %v", report.Breaks, err)
	}
	for _, s := range m.s {
		if err := s.Close(); err != nil {
			r.Error(err)
		}
	}
}

func (m *machine) any(r *rapid.T) *store.Store { return rapid.SampledFrom(m.s).Draw(r, "store") }

func (m *machine) act(r *rapid.T) store.Act {
	m.keys++
	return store.Act{By: m.keeper, Station: "test", Way: "hand", Key: fmt.Sprint(m.keys), Request: [32]byte{byte(m.keys)}}
}

// slings is how many there are to draw from.
const slings = 3

// draw gives a sling as the model knows it, and an event that may follow.
func (m *machine) draw(r *rapid.T) (state.Sling, event.Body) {
	n := rapid.IntRange(0, slings-1).Draw(r, "sling")
	now := m.m.sling(event.SlingOf(storetest.Key, storetest.Sling(n).Ident))
	var bodies []event.Body
	switch now.Details.Sling.State {
	case 0:
		bodies = []event.Body{event.Registered{Details: storetest.Sling(n)}}
	case gate.StateIn:
		bodies = []event.Body{event.Issued{Rigger: m.keeper, Serial: 1}, event.Held{Reason: "x"}, event.Lost{Note: "x"}, event.Refused{Reasons: []string{"overdue"}}}
	case gate.StateOut:
		bodies = []event.Body{event.Returned{From: m.keeper, Said: event.Nothing}, event.Returned{From: m.keeper, Said: event.NotKnown}}
	case gate.StateHeld:
		bodies = []event.Body{event.Released{Reason: "x"}, event.Refused{}}
	case gate.StateLost:
		bodies = []event.Body{event.Found{}}
	}
	serial := now.NextSerial()
	if n := len(now.Tags); n > 0 && now.Tags[n-1].Status == state.TagPrinted {
		bodies = append(bodies, event.TagConfirmed{Serial: serial - 1}, event.TagConfirmed{Serial: serial - 1, Graded: &event.Graded{Letter: "A"}},
			event.TagSpoiled{Serial: serial - 1, Why: event.SpoiltPrinter})
	} else if now.Details.Ident != "" {
		bodies = append(bodies, event.TagPrinted{Serial: serial, Key: storetest.Key, Digest: tagcode.Digest(storetest.TagText(n, serial)), Version: 5, Level: "Q"})
	}
	return now, rapid.SampledFrom(bodies).Draw(r, "body")
}

func (m *machine) append(r *rapid.T) {
	now, body := m.draw(r)
	act := m.act(r)
	var rec store.Record
	answer, err := m.any(r).Do(context.Background(), act, func(ctx context.Context, tx *store.Tx) (answer []byte, err error) {
		rec, err = tx.Append(ctx, event.Sling(now.ID), now.Heads, body)
		if seen, err := tx.Sling(ctx, now.ID); err != nil || seen.Heads[0] != rec.Hash {
			r.Errorf("the act does not see its own event: %v", err)
		}
		return []byte("done " + act.Key), err
	})
	if err != nil || string(answer) != "done "+act.Key {
		r.Fatalf("%s: %q, %v", body.Kind(), answer, err)
	}
	m.m.log = append(m.m.log, rec)
	m.m.answers[act.Key] = string(answer)
}

func (m *machine) stale(r *rapid.T) {
	now, body := m.draw(r)
	if len(now.Heads) == 0 {
		r.Skip("no story yet")
	}
	_, err := append1(context.Background(), m.any(r), m.act(r), state.Sling{ID: now.ID}, body)
	var conflict *store.ConflictError
	if !errors.As(err, &conflict) || len(conflict.Since) != now.Events {
		r.Fatalf("a writer that saw nothing of %d events: %v", now.Events, err)
	}
}

func (m *machine) again(r *rapid.T) {
	if len(m.m.answers) == 0 {
		r.Skip("nothing answered yet")
	}
	n := rapid.IntRange(1, m.keys).Draw(r, "key")
	act := store.Act{Station: "test", Way: "hand", Key: fmt.Sprint(n), Request: [32]byte{byte(n)}}
	sentinel := errors.New("not answered")
	answer, err := m.any(r).Do(context.Background(), act, func(context.Context, *store.Tx) ([]byte, error) { return nil, sentinel })
	if want, known := m.m.answers[act.Key]; known && (err != nil || string(answer) != want) || !known && !errors.Is(err, sentinel) {
		r.Fatalf("key %s: %q, %v; want %q, %v", act.Key, answer, err, want, known)
	}
}

func (m *machine) fail(r *rapid.T) {
	now, body := m.draw(r)
	sentinel := errors.New("changed my mind")
	_, err := m.any(r).Do(context.Background(), m.act(r), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if _, err := tx.Append(ctx, event.Sling(now.ID), now.Heads, body); err != nil {
			return nil, err
		}
		return nil, sentinel
	})
	if !errors.Is(err, sentinel) {
		r.Fatal(err)
	}
}

func (m *machine) bulk(r *rapid.T) {
	n := rapid.IntRange(1, 5).Draw(r, "events")
	err := m.any(r).Bulk(context.Background(), m.act(r), func(ctx context.Context, tx *store.Tx) error {
		for range n {
			now, body := m.draw(r)
			rec, err := tx.Append(ctx, event.Sling(now.ID), now.Heads, body)
			if err != nil {
				return err
			}
			m.m.log = append(m.m.log, rec)
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
	s, err := store.Open(context.Background(), m.path, store.Options{Program: "test"})
	if err != nil {
		r.Fatal(err)
	}
	m.s[i] = s
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

func (m *machine) check(r *rapid.T) {
	for _, s := range m.s {
		list, err := s.Since(context.Background(), 0, len(m.m.log)+1)
		if err != nil || !slices.EqualFunc(list, m.m.log, func(a, b store.Record) bool { return reflect.DeepEqual(a, b) }) {
			r.Fatalf("the log is not the slice: %d events, want %d, %v", len(list), len(m.m.log), err)
		}
		for n := range slings {
			id := event.SlingOf(storetest.Key, storetest.Sling(n).Ident)
			want := m.m.sling(id)
			got, err := s.Sling(context.Background(), id)
			if want.Events == 0 && errors.Is(err, store.ErrNotFound) {
				continue
			}
			if err != nil || !reflect.DeepEqual(got, want) {
				r.Fatalf("sling %d: %+v\nwant %+v\n%v", n, got, want, err)
			}
		}
	}
}
