package crib

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
)

// Options say which crib is built. The zero Options are not valid: Dir, Slings,
// Years and Last are needed.
type Options struct {
	Dir    string // is made where it is missing; must hold no register
	Slings int    // 1 to 1,000,000
	Years  int    // 1 to 20
	Last   quantity.Date
	Seed   uint64
	Events int    // about how many events in all; 0: each sling goes out some ten times a year
	Zone   string // time zone name; "" is UTC
	// PINs are set at the desk for those of the cast who have one. Each takes
	// most of a second, on purpose.
	PINs     bool
	Progress func(done, of int) // days played; may be nil
}

// drawAll is up to how many slings the symbol of each tag is drawn to learn its
// mask, a millisecond each. Larger cribs are for measuring; the masks of their
// tags are made up.
const drawAll = 2000

// Built is what Build made.
type Built struct {
	Dir     string
	Events  int64
	Head    store.Head
	People  []Person
	Samples []Sample
}

// ErrOptions reports options out of their range.
var ErrOptions = errors.New("crib: slings are 1 to 1,000,000 and years 1 to 20, and a last day is needed")

// Build founds a register in o.Dir, with its desk and its key, and plays its
// history up to the evening of o.Last. What it wrote before it fails stays.
func Build(ctx context.Context, o Options) (Built, error) {
	if o.Slings < 1 || o.Slings > 1_000_000 || o.Years < 1 || o.Years > 20 || o.Last.IsZero() {
		return Built{}, ErrOptions
	}
	if o.Zone == "" {
		o.Zone = "UTC"
	}
	zone, err := time.LoadLocation(o.Zone)
	if err != nil {
		return Built{}, fmt.Errorf("crib: %w", err)
	}
	start := o.Last.AddMonths(-12 * o.Years)
	p := &play{
		seed: o.Seed, rng: rand.New(source(o.Seed, "play")), zone: zone, policy: opening(), target: o.Events,
		slings: make([]*sling, o.Slings), agenda: map[int][]task{}, shown: map[int]bool{}, drawn: o.Slings <= drawAll,
		ids:   source(o.Seed, "ids"),
		start: start, days: o.Last.DaysSince(start) + 1, stories: map[event.PersonID]state.Person{},
	}
	if p.people, err = gathered(source(o.Seed, "people"), p.days, o.Last); err != nil {
		return Built{}, err
	}
	p.until(p.clock(5 * time.Hour))
	st, err := p.found(ctx, o)
	if err != nil {
		return Built{}, err
	}
	built, err := p.fill(ctx, st, o)
	return built, errors.Join(err, st.Close())
}

// found makes directory, key and register.
func (p *play) found(ctx context.Context, o Options) (*store.Store, error) {
	if err := os.MkdirAll(o.Dir, 0o700); err != nil {
		return nil, fmt.Errorf("crib: %w", err)
	}
	register, _, keys := store.Paths(o.Dir)
	if _, err := os.Lstat(register); err == nil {
		return nil, fmt.Errorf("crib: %s: %w", register, store.ErrExists)
	}
	var err error
	if p.key, err = keyring.Create(keys, source(o.Seed, "key")); err != nil {
		return nil, fmt.Errorf("crib: %w", err)
	}
	st, keeper, err := store.Init(ctx, register, store.Founding{
		Name: Name, Units: quantity.Imperial, Rules: due.US, Zone: o.Zone, Policy: p.policy,
		Key: p.key.Fingerprint(), Keeper: p.people[0].Name, Station: officeStation,
	}, store.Options{Now: func() time.Time { return p.at }, Random: source(o.Seed, "register"), Program: "demo"})
	if err != nil {
		return nil, fmt.Errorf("crib: %w", err)
	}
	p.people[0].ID = keeper
	return st, nil
}

// fill sets up the desk while the history is written, and sums up.
func (p *play) fill(ctx context.Context, st *store.Store, o Options) (Built, error) {
	var err error
	if p.crib, err = st.Crib(ctx); err != nil {
		return Built{}, fmt.Errorf("crib: %w", err)
	}
	if p.stories[p.people[0].ID], err = st.Person(ctx, p.people[0].ID); err != nil {
		return Built{}, fmt.Errorf("crib: %w", err)
	}
	pins := make(chan error, 1)
	go func() { pins <- p.openDesk(ctx, o) }()
	err = p.write(ctx, st, o)
	if err := errors.Join(err, <-pins); err != nil {
		return Built{}, err
	}
	built := Built{Dir: o.Dir, Events: int64(p.events), People: p.people, Samples: p.samples}
	if built.Head, err = st.Head(ctx); err != nil {
		return Built{}, fmt.Errorf("crib: %w", err)
	}
	if built.Head.At != built.Events {
		return Built{}, fmt.Errorf("crib: played %d events, the register has %d", built.Events, built.Head.At)
	}
	return built, nil
}

// write plays the history into the register.
func (p *play) write(ctx context.Context, st *store.Store, o Options) error {
	p.events = 3 // founded, key made, first keeper
	p.furnish()
	for p.day < p.days {
		if err := st.Bulk(ctx, store.Act{Station: officeStation, Way: "program"}, func(ctx context.Context, tx *store.Tx) error {
			p.book = bulk{ctx, tx}
			return p.run(ctx, o.Progress)
		}); err != nil {
			return fmt.Errorf("crib: %w", err)
		}
	}
	return nil
}

// openDesk makes the desk file and sets the PINs.
func (p *play) openDesk(ctx context.Context, o Options) (err error) {
	_, file, _ := store.Paths(o.Dir)
	if err := desk.Init(ctx, file); err != nil {
		return fmt.Errorf("crib: %w", err)
	}
	if !o.PINs {
		return nil
	}
	d, err := desk.Open(ctx, file, desk.Options{})
	if err != nil {
		return fmt.Errorf("crib: %w", err)
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	for _, person := range p.people {
		if person.PIN == "" {
			continue
		}
		if _, err := d.SetOneTime(ctx, person.ID.String()); err != nil {
			return fmt.Errorf("crib: PIN of %s: %w", person.Name, err)
		}
		if err := d.Choose(ctx, person.ID.String(), person.PIN); err != nil {
			return fmt.Errorf("crib: PIN of %s: %w", person.Name, err)
		}
	}
	return nil
}

// bulk writes into one bulk act of the register.
type bulk struct {
	ctx context.Context
	tx  *store.Tx
}

func (b bulk) write(e entry) (state.Event, error) {
	b.tx.As(e.by, e.station, e.way)
	rec, err := b.tx.Append(b.ctx, e.subject, e.parents, e.body)
	return rec.Event(), err
}

// source is a stream of chance that follows from a seed and what it is for. It
// is no secret.
func source(seed uint64, use string) *rand.ChaCha8 {
	h := sha256.Sum256(binary.BigEndian.AppendUint64([]byte("cribgate demo "+use), seed))
	return rand.NewChaCha8(h)
}
