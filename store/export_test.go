package store

import (
	"database/sql"
	"testing"

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
