package store

import (
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
