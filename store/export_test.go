package store

import (
	"context"
	"database/sql"
	"testing"

	"cribgate/core/event"
	"cribgate/store/sqlite"
)

// Unchecked opens a register without the checks that Open makes, for tests of
// Verify.
func Unchecked(t *testing.T, path string) *Store {
	t.Helper()
	layout, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	db, err := sqlite.Open(t.Context(), path, layout, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return &Store{Reader: Reader{db.Read}, db: db, o: Options{}.filled()}
}

// AppendIn appends an event of the crib under whatever log, as a forger would who
// has this program.
func AppendIn(ctx context.Context, s *Store, log event.LogID, body event.Body) error {
	return s.db.Tx(ctx, func(sqlTx *sql.Tx) error {
		tx, err := s.begin(ctx, sqlTx, restoring)
		if err != nil {
			return err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return err
		}
		tx.head.Log = log
		rec, err := event.Encode(body)
		if err != nil {
			return err
		}
		r := Record{Raw: rec, Body: body, Envelope: event.Envelope{
			Log: log, Crib: tx.head.Crib, At: tx.head.At + 1, Prev: tx.head.Hash, Subject: event.Crib(), Parents: crib.Heads,
			Kind: body.Kind(), Schema: event.SchemaOf(body), Body: event.Commit([16]byte{}, rec),
			UTC: tx.Now(), Day: tx.Today(), Station: "forger", Way: "program", Program: "test",
		}}
		text, err := r.Envelope.Bytes()
		if err != nil {
			return err
		}
		r.Hash = event.HashOf(text)
		if err := tx.insert(ctx, &r, text); err != nil {
			return err
		}
		return tx.settle(ctx)
	})
}

// OnOneConnection gives a reader of s whose statements all run on one
// connection, and that connection.
func OnOneConnection(t testing.TB, s *Store) (Reader, *sql.Conn) {
	t.Helper()
	conn, err := s.db.Read.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
	})
	return Reader{conn}, conn
}
