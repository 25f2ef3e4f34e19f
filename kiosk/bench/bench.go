package bench

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"time"
	"unicode/utf8"

	"cribgate/store/sqlite"
)

// File is the name of the file beside a register.
const File = "bench.sqlite"

// appID marks a file of drafts in the SQLite header ("CGBN").
const appID = 0x4347424E

//go:embed migrations/*.sql
var migrations embed.FS

// Most of everything (site policy of this program, no source): four legs take some
// two hundred fields.
const (
	MaxDrafts = 5_000
	MaxFields = 500 // of one draft
	MaxName   = 60  // bytes
	MaxValue  = 2_000
)

// Errors of a Bench; see also [HeldError], [StaleError] and the errors of
// store/sqlite.
var (
	ErrNone = errors.New("bench: there is no draft of this sling")
	ErrFull = errors.New("bench: there is no room for this")
)

// HeldError says that somebody else has the draft, and that nothing was written.
type HeldError struct{ Draft Draft }

func (e *HeldError) Error() string { return "bench: somebody else has this draft" }

// StaleError says that the draft was changed since the page was made, and that
// nothing was written.
type StaleError struct{ Draft Draft }

func (e *StaleError) Error() string { return "bench: the draft was changed meanwhile" }

// A Draft is an inspection that nobody has signed yet. The zero Draft is none.
type Draft struct {
	Sling    string
	Revision int64  // from 1, and no two drafts of a sling share one; 0: there is none
	Who      string // empty: nobody
	Aside    bool   // laid aside
	Begun    time.Time
	Saved    time.Time
	Fields   map[string]string // by name; nil in a list of drafts
}

// HeldFrom reports whether somebody else than who has the draft on the bench.
func (d Draft) HeldFrom(who string) bool {
	return d.Revision > 0 && !d.Aside && d.Who != "" && d.Who != who
}

// A Bench is an open file of drafts. It is safe for concurrent use.
type Bench struct {
	db  *sqlite.DB
	now func() time.Time
}

// Options are the settings of [Open].
type Options struct {
	Now func() time.Time // nil: the machine's clock
	Log *slog.Logger     // of what goes wrong beside the answers; nil discards it
}

// Open opens the drafts at path, and makes the file where there is none.
func Open(ctx context.Context, path string, o Options) (*Bench, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, fmt.Errorf("bench: %w", err)
	}
	layout := sqlite.Schema{AppID: appID, Migrations: files}
	if err := sqlite.Create(ctx, path, layout, nil); err != nil && !errors.Is(err, sqlite.ErrExists) {
		return nil, fmt.Errorf("bench: %w", err)
	}
	db, err := sqlite.Open(ctx, path, layout, o.Log)
	if err != nil {
		return nil, fmt.Errorf("bench: %w", err)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Bench{db: db, now: o.Now}, nil
}

// Close closes the file.
func (b *Bench) Close() error {
	if err := b.db.Close(); err != nil {
		return fmt.Errorf("bench: close: %w", err)
	}
	return nil
}

// Draft gives the draft of a sling with its fields; the zero Draft, with the sling's
// id, where there is none.
func (b *Bench) Draft(ctx context.Context, sling string) (d Draft, err error) {
	tx, err := b.db.Read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return Draft{}, fmt.Errorf("bench: read the draft of %s: %w", sling, sqlite.Explain(err))
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	if d, err = read(ctx, tx, sling); err != nil {
		return Draft{}, fmt.Errorf("bench: read the draft of %s: %w", sling, sqlite.Explain(err))
	}
	return d, nil
}

const head = `SELECT sling, revision, who, aside, begun_ms, saved_ms FROM draft`

func scan(row interface{ Scan(...any) error }) (d Draft, err error) {
	var begun, saved int64
	err = row.Scan(&d.Sling, &d.Revision, &d.Who, &d.Aside, &begun, &saved)
	d.Begun, d.Saved = time.UnixMilli(begun).UTC(), time.UnixMilli(saved).UTC()
	return d, err
}

func read(ctx context.Context, tx *sql.Tx, sling string) (Draft, error) {
	d, err := scan(tx.QueryRowContext(ctx, head+` WHERE sling = ?`, sling))
	if errors.Is(err, sql.ErrNoRows) {
		return Draft{Sling: sling}, nil
	}
	if err != nil {
		return Draft{}, err
	}
	rows, err := tx.QueryContext(ctx, `SELECT name, value FROM field WHERE sling = ?`, sling)
	if err != nil {
		return Draft{}, err
	}
	defer rows.Close()
	d.Fields = map[string]string{}
	for rows.Next() {
		var name, value string
		if err := rows.Scan(&name, &value); err != nil {
			return Draft{}, err
		}
		d.Fields[name] = value
	}
	return d, rows.Err()
}

// List gives all drafts without their fields, the oldest first.
func (b *Bench) List(ctx context.Context) (list []Draft, err error) {
	rows, err := b.db.Read.QueryContext(ctx, head+` ORDER BY begun_ms, sling`)
	if err != nil {
		return nil, fmt.Errorf("bench: list the drafts: %w", sqlite.Explain(err))
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		d, err := scan(rows)
		if err != nil {
			return nil, fmt.Errorf("bench: list the drafts: %w", err)
		}
		list = append(list, d)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("bench: list the drafts: %w", sqlite.Explain(err))
	}
	return list, nil
}

// checkFields refuses what no page sends.
func checkFields(fields map[string]string) error {
	if len(fields) > MaxFields {
		return ErrFull
	}
	for name, value := range fields {
		if name == "" || len(name) > MaxName || len(value) > MaxValue || !utf8.ValidString(name) || !utf8.ValidString(value) {
			return ErrFull
		}
	}
	return nil
}
