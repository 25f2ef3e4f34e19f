package desk

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"

	_ "github.com/mattn/go-sqlite3"
)

// applicationID marks a desk file in the SQLite header ("CGDK").
const applicationID = 0x4347444B

// version is the newest schema this program knows.
const version = 1

//go:embed schema.sql
var schema string

// Errors of [Init] and [Open].
var (
	ErrExists  = errors.New("desk: the file exists already")
	ErrMissing = errors.New("desk: the file is missing")
	ErrForeign = errors.New("desk: the file is not a desk file")
	ErrNewer   = errors.New("desk: the file was written by a newer program")
)

// Init makes a new desk file at path, readable by its owner only. It never
// touches a file that is there ([ErrExists]).
func Init(ctx context.Context, path string) (err error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%w: %s", ErrExists, path)
	}
	if err != nil {
		return fmt.Errorf("desk: create: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(path))
		}
	}()
	if err := f.Close(); err != nil {
		return fmt.Errorf("desk: create %s: %w", path, err)
	}
	db, err := openFile(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	script := fmt.Sprintf("BEGIN IMMEDIATE;\n%s\nPRAGMA application_id = %d;\nPRAGMA user_version = %d;\nCOMMIT;",
		schema, applicationID, version)
	if _, err := db.ExecContext(ctx, script); err != nil {
		return fmt.Errorf("desk: create %s: %w", path, err)
	}
	return nil
}

// Options are the settings of [Open]. The zero Options suit a plain HTTP
// address.
type Options struct {
	Secure bool // the kiosk is served over TLS: the cookie travels nowhere else
}

// Open opens the desk file at path, which [Init] made: [ErrMissing],
// [ErrForeign] or [ErrNewer] if it did not.
func Open(ctx context.Context, path string, o Options) (*Desk, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w: %s", ErrMissing, path)
	}
	db, err := openFile(path)
	if err != nil {
		return nil, err
	}
	if err := checkHeader(ctx, db, path); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	d := &Desk{
		db:       db,
		hashing:  make(chan struct{}, 1),
		waiting:  make(chan struct{}, maxWaiting),
		stranger: hashPIN("no PIN has letters"),
	}
	d.sessions = newSessions(d, o)
	if err := d.sessions.store.prune(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return d, nil
}

func checkHeader(ctx context.Context, db *sql.DB, path string) error {
	var id, v int
	if err := db.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&id); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrForeign, path, err)
	}
	if err := db.QueryRowContext(ctx, `PRAGMA user_version`).Scan(&v); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrForeign, path, err)
	}
	switch {
	case id != applicationID || v < 1:
		return fmt.Errorf("%w: %s", ErrForeign, path)
	case v > version:
		return fmt.Errorf("%w: %s has schema %d, this program knows %d", ErrNewer, path, v, version)
	}
	return nil
}

// openFile opens path with the settings of every file of ours: full sync, so
// that a counted failure survives a power cut, and write transactions that take
// their lock at once.
func openFile(path string) (*sql.DB, error) {
	dsn := url.URL{Scheme: "file", Opaque: url.PathEscape(path), RawQuery: url.Values{
		"mode":          {"rw"},
		"_journal_mode": {"WAL"},
		"_synchronous":  {"FULL"},
		"_foreign_keys": {"1"},
		"_txlock":       {"immediate"},
		"_busy_timeout": {"5000"},
	}.Encode()}
	db, err := sql.Open("sqlite3", dsn.String())
	if err != nil {
		return nil, fmt.Errorf("desk: open %s: %w", path, err)
	}
	db.SetMaxOpenConns(1)
	return db, nil
}
