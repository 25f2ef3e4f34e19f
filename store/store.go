package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"path/filepath"
	"sync"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/store/sqlite"
)

//go:embed migrations/*.sql
var migrations embed.FS

// appID marks a register in its file's header ("crib").
const appID = 0x63726962

func schema() (sqlite.Schema, error) {
	files, err := fs.Sub(migrations, "migrations")
	return sqlite.Schema{AppID: appID, Migrations: files}, err
}

// Options are the settings of a store. The zero Options are right but for
// Program, which every envelope names.
type Options struct {
	Now     func() time.Time // nil: time.Now; for made-up registers and tests
	Machine Machine          // nil: this machine; with a Now of its own, one that starts now and goes by that clock
	Random  io.Reader        // nil: crypto/rand
	Program string           // version; letters, digits, '-', '.', '+', '_'; "" is "unknown"
	Log     *slog.Logger     // nil: discards
}

func (o Options) filled() Options {
	switch {
	case o.Machine != nil:
	case o.Now != nil:
		o.Machine = madeUp(o.Now)
	default:
		o.Machine = thisMachine()
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Random == nil {
		o.Random = rand.Reader
	}
	if o.Program == "" {
		o.Program = "unknown"
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o
}

// Store is an open register. It may be used by many goroutines, and other
// programs may have the same file open.
type Store struct {
	Reader
	db     *sqlite.DB
	o      Options
	path   string // "" of one that is being founded
	watch  watch
	feed   feed
	tasks  sync.WaitGroup
	ending context.Context
	end    context.CancelFunc
}

// Founding is what a register begins with.
type Founding struct {
	Name    string
	Units   quantity.Units
	Rules   due.Rules
	Zone    string // time zone name, such as Europe/Berlin
	Policy  event.Policy
	Key     tagcode.Fingerprint // of the key that seals the first tags
	Keeper  string              // name of the first keeper
	Station string              // where it is founded
}

// Init makes the register at path with the crib, its key and its first keeper in
// it, and opens it. It is ErrExists where there is a file of that name; where
// making it fails there is none afterwards.
func Init(ctx context.Context, path string, f Founding, o Options) (*Store, event.PersonID, error) {
	o = o.filled()
	if _, err := zoneOf(f.Zone); err != nil {
		return nil, event.PersonID{}, err
	}
	layout, err := schema()
	if err != nil {
		return nil, event.PersonID{}, fmt.Errorf("store: init %s: %w", path, err)
	}
	var keeper event.PersonID
	err = sqlite.Create(ctx, path, layout, func(ctx context.Context, db *sqlite.DB) error {
		keeper, err = found(ctx, db, f, o)
		return err
	})
	if err != nil {
		return nil, event.PersonID{}, fmt.Errorf("store: init %s: %w", path, explain(err))
	}
	s, err := Open(ctx, path, o)
	return s, keeper, err
}

// found writes the first events into a register that nobody else can see yet.
func found(ctx context.Context, db *sqlite.DB, f Founding, o Options) (keeper event.PersonID, err error) {
	s := &Store{db: db, o: o}
	head := Head{}
	if head.Log, err = event.NewLogID(o.Random); err != nil {
		return keeper, err
	}
	if head.Crib, err = event.NewCribID(o.Random); err != nil {
		return keeper, err
	}
	if keeper, err = event.NewPersonID(o.Random); err != nil {
		return keeper, err
	}
	zone, err := zoneOf(f.Zone)
	if err != nil {
		return keeper, err
	}
	return keeper, db.Tx(ctx, func(sqlTx *sql.Tx) error {
		tx := &Tx{
			s: s, act: Act{Station: f.Station, Way: "program"}, head: head, tx: sqlTx, present: present{tx: sqlTx},
			at: trusted(o.clock(), time.Time{}, zone),
		}
		if tx.machine, err = o.Machine.read(); err != nil {
			return err
		}
		tx.Reader = Reader{settled{tx}}
		founded, err := tx.Append(ctx, event.Crib(), nil,
			event.Founded{Name: f.Name, Units: f.Units, Rules: f.Rules, Zone: f.Zone, Policy: f.Policy})
		if err != nil {
			return err
		}
		if _, err := tx.Append(ctx, event.Crib(), []event.Hash{founded.Hash}, event.KeyMade{Fingerprint: f.Key}); err != nil {
			return err
		}
		if _, err := tx.Append(ctx, event.Person(keeper), nil, event.PersonAdded{Name: f.Keeper, Roles: event.Keeper}); err != nil {
			return err
		}
		return tx.settle(ctx)
	})
}

// Open opens the register at path, which Init made: ErrNotInitialised,
// ErrNotOurs, ErrNewerSchema, ErrReadOnly, ErrLocked or ErrDamaged where that
// cannot be. It checks the header, the layout, the head and the newest
// envelopes; Verify checks the rest. A register of an older layout is brought to
// this one, and its present is made again from the log.
//
// What the list beside it says was erased is erased before anybody reads it.
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	s, err := openAsIs(ctx, path, o)
	if err != nil {
		return nil, err
	}
	if err := s.cleanAgain(ctx, filepath.Dir(path)); err != nil {
		return nil, errors.Join(fmt.Errorf("store: open %s: %w", path, err), s.Close())
	}
	return s, nil
}

func openAsIs(ctx context.Context, path string, o Options) (*Store, error) {
	o = o.filled()
	layout, err := schema()
	if err != nil {
		return nil, fmt.Errorf("store: open %s: %w", path, err)
	}
	db, err := sqlite.Open(ctx, path, layout, o.Log)
	if err != nil {
		return nil, fmt.Errorf("store: open %s: %w", path, explain(err))
	}
	s := &Store{Reader: Reader{db.Read}, db: db, o: o, path: path}
	head, err := s.checkEnd(ctx)
	if err == nil {
		err = s.fill(ctx)
	}
	if err == nil {
		_, err = s.Today(ctx) // the crib can be read, its zone is known, and the watch has begun
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("store: open %s: %w", path, err), db.Close())
	}
	s.feed.newest = head
	s.ending, s.end = context.WithCancel(context.WithoutCancel(ctx))
	s.tasks.Go(func() { s.poll(s.ending) })
	return s, nil
}

// Close ends what runs beside the answers and closes the file. Acts that still
// go on are ended.
func (s *Store) Close() error {
	s.end()
	s.tasks.Wait()
	if err := s.db.Close(); err != nil {
		return fmt.Errorf("store: close: %w", explain(err))
	}
	return nil
}
