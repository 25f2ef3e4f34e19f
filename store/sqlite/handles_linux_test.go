package sqlite

import (
	"database/sql"
	"os"
	"strings"
	"testing"
)

// A file whose connections are all in use at once has as many handles as Handles
// says, and no more when they were given back and taken again.
func TestHandles(t *testing.T) {
	path := create(t, schemaOf(step1))
	db := open(t, path, schemaOf(step1))
	for range 2 {
		var held []*sql.Conn
		for range readers() {
			held = append(held, taken(t, db.Read))
		}
		held = append(held, taken(t, db.Write))
		if n := handlesTo(t, path); n != Handles() {
			t.Errorf("%d connections have %d handles, want %d", len(held), n, Handles())
		}
		for _, c := range held {
			if err := c.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// taken is a connection of a pool that has read from the file.
func taken(t *testing.T, pool *sql.DB) *sql.Conn {
	t.Helper()
	c, err := pool.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var n int
	if err := c.QueryRowContext(t.Context(), "SELECT count(*) FROM peg").Scan(&n); err != nil {
		t.Fatal(err)
	}
	return c
}

// handlesTo counts the handles to a file and to what SQLite has beside it.
func handlesTo(t *testing.T, path string) (n int) {
	t.Helper()
	const own = "/proc/self/fd"
	list, err := os.ReadDir(own)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list { // one of them was of the list itself
		if to, err := os.Readlink(own + "/" + e.Name()); err == nil && strings.HasPrefix(to, path) {
			n++
		}
	}
	return n
}
