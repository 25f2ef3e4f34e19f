package desk

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"

	"cribgate/store/sqlite"
)

// appID marks a desk file in the SQLite header ("CGDK").
const appID = 0x4347444B

//go:embed migrations/*.sql
var migrations embed.FS

func schema() (sqlite.Schema, error) {
	files, err := fs.Sub(migrations, "migrations")
	return sqlite.Schema{AppID: appID, Migrations: files}, err
}

// What can be wrong with the file; see also the other errors of store/sqlite.
var (
	ErrExists   = sqlite.ErrExists
	ErrMissing  = sqlite.ErrMissing
	ErrNotOurs  = sqlite.ErrNotOurs
	ErrNewer    = sqlite.ErrNewer
	ErrReadOnly = sqlite.ErrReadOnly
	ErrDiskFull = sqlite.ErrDiskFull
	ErrHeld     = sqlite.ErrLocked // by another program; ErrLocked is a person's
	ErrDisk     = sqlite.ErrIO
	// ErrUnknownOutcome says that nobody knows whether it was written.
	ErrUnknownOutcome = sqlite.ErrUnknownOutcome
)

// Init makes a new desk file at path, readable by its owner only. It never
// touches a file that is there ([ErrExists]).
func Init(ctx context.Context, path string) error {
	layout, err := schema()
	if err == nil {
		err = sqlite.Create(ctx, path, layout, nil)
	}
	if err != nil {
		return fmt.Errorf("desk: %w", err)
	}
	return nil
}

// Options are the settings of [Open]. The zero Options suit a plain HTTP
// address.
type Options struct {
	Secure bool         // the kiosk is served over TLS: the cookie travels nowhere else
	Log    *slog.Logger // of what goes wrong beside the answers; nil discards it
}

// Open opens the desk file at path, which [Init] made: [ErrMissing],
// [ErrNotOurs] or [ErrNewer] if it did not.
func Open(ctx context.Context, path string, o Options) (*Desk, error) {
	layout, err := schema()
	if err != nil {
		return nil, fmt.Errorf("desk: %w", err)
	}
	db, err := sqlite.Open(ctx, path, layout, o.Log)
	if err != nil {
		return nil, fmt.Errorf("desk: %w", err)
	}
	d := &Desk{
		db:      db,
		hashing: make(chan struct{}, 1),
		waiting: make(chan struct{}, maxWaiting),
		secret:  randomSeed(),
	}
	d.sessions = newSessions(d, o)
	if err := d.sessions.store.prune(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return d, nil
}
