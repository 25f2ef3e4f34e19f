package web

import (
	"context"
	"crypto/rand"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/kiosk/audit"
	"cribgate/kiosk/bench"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
)

// A foundation is what lies on the disk of a crib on its first day, with one person of
// each role. It is made once and copied for each test: to found a crib waits for the
// disk some fifty times.
type foundation struct {
	files                                map[string][]byte
	keeper, attendant, rigger, inspector event.PersonID
}

var founded = map[due.Rules]func() (foundation, error){due.US: foundedUnder(due.US), due.EN: foundedUnder(due.EN), due.UK: foundedUnder(due.UK), due.Yard: foundedUnder(due.Yard)}

func foundedUnder(rules due.Rules) func() (foundation, error) {
	return sync.OnceValues(func() (foundation, error) { return found(rules) })
}

func found(rules due.Rules) (f foundation, err error) {
	dir, err := os.MkdirTemp("", "founded")
	if err != nil {
		return f, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	ctx := context.Background()
	register, deskFile, keys := store.Paths(dir)
	key, err := keyring.Create(keys, rand.Reader)
	if err != nil {
		return f, err
	}
	ring, err := keyring.Load(keys)
	if err != nil {
		return f, err
	}
	if err := desk.Init(ctx, deskFile); err != nil {
		return f, err
	}
	drafts, err := bench.Open(ctx, filepath.Join(dir, bench.File), bench.Options{Now: testNow})
	if err != nil {
		return f, err
	}
	if err := drafts.Close(); err != nil {
		return f, err
	}
	up := func() (event.BootID, time.Duration, error) { return event.BootID{1}, 0, nil }
	st, keeper, err := store.Init(ctx, register, store.Founding{
		Name: "North Sluice crib", Units: quantity.Imperial, Rules: rules, Zone: "America/Chicago",
		Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree}, Key: key.Fingerprint(), Keeper: "S. Quill", Station: "setup",
	}, store.Options{Now: testNow, Machine: up, Program: "v0.0.0-test"})
	if err != nil {
		return f, err
	}
	f.keeper = keeper
	c := counter.New(st, ring).Under(audit.Open(st, filepath.Join(dir, audit.File), slog.New(slog.DiscardHandler)))
	for _, p := range []struct {
		id    *event.PersonID
		name  string
		roles event.Roles
	}{{&f.attendant, "I. Maro", event.Attendant}, {&f.rigger, "T. Brandt", event.Rigger}, {&f.inspector, "O. Vance", event.Inspector}} {
		if *p.id, err = c.AddPerson(ctx, counter.Who{Person: keeper, Station: station, Way: counter.Hand}, event.PersonAdded{Name: p.name, Roles: p.roles}); err != nil {
			return f, errors.Join(err, st.Close())
		}
	}
	if err := st.Close(); err != nil {
		return f, err
	}
	f.files = map[string][]byte{}
	return f, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err == nil {
			f.files[name], err = os.ReadFile(path)
		}
		return err
	})
}

// copied lays the crib into a directory, for its owner only.
func (f foundation) copied(dir string) error {
	for name, data := range f.files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			return err
		}
	}
	return nil
}
