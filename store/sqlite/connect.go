package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"net/url"
	"runtime"
	"time"

	"github.com/mattn/go-sqlite3"
)

// busyTimeout is how long a connection waits for the lock of another process.
const busyTimeout = 5 * time.Second

// connector makes connections that all have the same settings.
type connector struct {
	dsn    string
	driver sqlite3.SQLiteDriver
}

// Connect makes one connection.
func (c *connector) Connect(context.Context) (driver.Conn, error) {
	conn, err := c.driver.Open(c.dsn)
	if err != nil {
		return nil, Explain(err)
	}
	return conn, nil
}

// Driver gives the driver.
func (c *connector) Driver() driver.Driver { return &c.driver }

// use is what a connection is for.
type use int

const (
	writing use = iota
	reading
	looking  // at a file that may be somebody else's: its journal mode is left alone
	keeping  // nobody writes the file while it is open, and nothing is written beside it
	drafting // nobody else knows the file yet
)

// dsn spells the connection string for path. An existing file is opened, never
// made.
func dsn(path string, u use) string {
	q := url.Values{
		"mode":          {"rw"},
		"_synchronous":  {"FULL"},
		"_foreign_keys": {"1"},
		"_busy_timeout": {fmt.Sprint(busyTimeout.Milliseconds())},
	}
	switch u {
	case writing, reading:
		q.Set("_journal_mode", "WAL")
		q.Set("_stmt_cache_size", "64")
	case keeping:
		q.Set("mode", "ro")
		q.Set("immutable", "1")
	case drafting:
		q.Set("_locking_mode", "EXCLUSIVE")
	}
	switch u {
	case writing:
		q.Set("_txlock", "immediate")
	case reading, looking, keeping:
		q.Set("_query_only", "1")
	}
	return (&url.URL{Scheme: "file", Opaque: url.PathEscape(path), RawQuery: q.Encode()}).String()
}

// pools makes the two pools. Connections are made at their first use.
func pools(path string) (write, read *sql.DB) {
	hook := func(c *sqlite3.SQLiteConn) error {
		_, err := c.Exec("PRAGMA wal_autocheckpoint = 0", nil) // the driver has no word for it in the connection string
		return err
	}
	open := func(u use, most int) *sql.DB {
		db := sql.OpenDB(&connector{dsn: dsn(path, u), driver: sqlite3.SQLiteDriver{ConnectHook: hook}})
		db.SetMaxOpenConns(most)
		db.SetMaxIdleConns(most)
		return db
	}
	return open(writing, 1), open(reading, readers())
}

// readers is the most connections of the reading pool: one for each core, one
// for a long read, two that the checkpoint holds, one that watches for other
// writers.
func readers() int { return runtime.GOMAXPROCS(0) + 4 }

// Handles is how many file handles an open DB has at the most: each connection of
// its pools has the file and the write-ahead log, and all share the log's index.
func Handles() int { return 2*(1+readers()) + 1 }
