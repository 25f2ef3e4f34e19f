package counter

import (
	"context"
	"database/sql"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// newer adds an event to a story as a newer program would write it.
func (b *bench) newer(subject event.Subject, kind event.Kind, parents []event.Hash) {
	b.t.Helper()
	ctx := context.Background()
	list, err := b.st.Since(ctx, 0, 1000)
	if err != nil {
		b.t.Fatal(err)
	}
	e := list[len(list)-1].Envelope
	e.At, e.Prev, e.Subject, e.Parents = e.At+1, list[len(list)-1].Hash, subject, parents
	body, salt := []byte(`{"newer":true}`), [16]byte{1}
	e.Kind, e.Schema, e.Body = kind, 99, event.Commit(salt, body)
	envelope, err := e.Bytes()
	if err != nil {
		b.t.Fatal(err)
	}
	hash := event.HashOf(envelope)
	db, err := sql.Open("sqlite3", b.file)
	if err != nil {
		b.t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("INSERT INTO log VALUES (?, ?, ?, ?)", e.At, hash[:], subject.String(), envelope); err != nil {
		b.t.Fatal(err)
	}
	if _, err := db.Exec("INSERT INTO body VALUES (?, ?, ?)", e.At, salt[:], body); err != nil {
		b.t.Fatal(err)
	}
	if err := b.st.Rebuild(ctx); err != nil {
		b.t.Fatal(err)
	}
}

// Where a newer program wrote something that this one cannot read, of the sling, of
// whoever acts, or of the crib, whose policy it may have made stricter, nothing
// goes out.
func TestWhatANewerProgramWroteStopsTheIssue(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name  string
		write func(b *bench, id event.SlingID)
		want  gate.Reason
	}{
		{"the sling", func(b *bench, id event.SlingID) {
			b.newer(event.Sling(id), "melted", b.seen(id).Heads)
		}, gate.RecordNotUnderstood},
		{"the crib", func(b *bench, _ event.SlingID) {
			crib, err := b.st.Crib(ctx)
			if err != nil {
				b.t.Fatal(err)
			}
			b.newer(event.Crib(), event.KindPolicySet, crib.Heads)
		}, gate.RecordNotUnderstood},
		{"the crib, in two stories", func(b *bench, _ event.SlingID) {
			b.newer(event.Crib(), event.KindPolicySet, nil)
		}, gate.RecordForked},
		{"the attendant", func(b *bench, _ event.SlingID) {
			p, err := b.st.Person(ctx, b.attendant)
			if err != nil {
				b.t.Fatal(err)
			}
			b.newer(event.Person(p.ID), event.KindPersonChanged, p.Heads)
		}, gate.RoleNotAllowed},
		{"the rigger", func(b *bench, _ event.SlingID) {
			p, err := b.st.Person(ctx, b.rigger)
			if err != nil {
				b.t.Fatal(err)
			}
			b.newer(event.Person(p.ID), event.KindPersonChanged, p.Heads)
		}, gate.RiggerNotCleared},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, nil)
			id, text := b.tagged("NS-0417")
			b.must(b.Look(ctx, b.as(b.attendant, ""), b.ask(text, 100)))
			c.write(b, id)
			o, err := b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100))
			if err != nil {
				t.Fatal(err)
			}
			if o.May || len(o.Codes) == 0 || o.Codes[0] != c.want {
				t.Errorf("may %t, reasons %v, want %v", o.May, o.Codes, c.want)
			}
		})
	}
}
