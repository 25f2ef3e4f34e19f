// Package worn knows how the tags look that hang on a register's slings. Where one is
// too worn to be read, [Tags.Resembles] says which it resembles; where one is read,
// [Tags.Saw] takes in how much of its error correction that took, and [Tags.Wear] says
// what it came to.
//
// It writes nothing into the register. What a reading came to is an event
// (event.TagRead) that whoever acts at the counter records, and only where it is news
// (state.Wear.News): a tag is read ten times a second before a camera, and a table
// beside the log would be one more thing that a copy, a restore and a verification
// have to know of. What is kept here is of the last hour and in memory.
//
// # The index
//
// [Tags.Follow] makes an index of all live tags when it begins and keeps it up by what
// the register records; until the first is made, nothing resembles anything. The
// register has a digest of each tag's text and not the text. That is made again from
// what the tag said when it was printed, the crib's key and its prefix, and counts only
// where its digest is the one on record; the symbol is drawn by the version, level and
// mask on record. A tag whose key is not on this machine, or whose prefix was another
// than the crib's of today or none, is left out and counted ([Tags.Size]).
package worn

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/resemble"
	"cribgate/kiosk/scan"
	"cribgate/labeler/symbol"
	"cribgate/store"
)

// Keys finds the key that seals a register's tags, from its fingerprint. A
// keyring.Ring is one.
type Keys interface {
	Current(tagcode.Fingerprint) (tagcode.Key, error)
}

// Tags are the tags that hang on the slings of one register. They are safe for many
// goroutines.
type Tags struct {
	store *store.Store
	keys  Keys
	log   *slog.Logger
	now   func() time.Time
	index resemble.Index

	mu     sync.Mutex
	hung   map[event.SlingID]resemble.Digest // the live tag of each sling that is in the index
	absent map[event.SlingID]bool            // those whose live tag could not be made again
	seen   map[resemble.Digest]*seen
}

// New knows of no tag yet: that begins with [Tags.Follow].
func New(s *store.Store, keys Keys, log *slog.Logger) *Tags {
	return &Tags{store: s, keys: keys, log: log, now: time.Now,
		hung: map[event.SlingID]resemble.Digest{}, absent: map[event.SlingID]bool{}, seen: map[resemble.Digest]*seen{}}
}

// Size is how many live tags can be resembled, and how many cannot be made again.
func (t *Tags) Size() (known, absent int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	return len(t.hung), len(t.absent)
}

// Follow makes the index and keeps it up until ctx ends. What goes wrong is logged and
// tried again with the next event: an index that lacks a tag resembles nothing wrong.
func (t *Tags) Follow(ctx context.Context) {
	moved := t.store.Watch(ctx)
	at, err := t.Fill(ctx)
	for {
		if err != nil && ctx.Err() == nil {
			t.log.WarnContext(ctx, "keep up with the tags that hang on slings", "error", err)
		}
		if _, open := <-moved; !open {
			return
		}
		if at == 0 {
			at, err = t.Fill(ctx)
		} else {
			at, err = t.catchUp(ctx, at)
		}
	}
}

// Fill makes the index of all live tags as they are now, and gives the position up to
// which it knows the register.
func (t *Tags) Fill(ctx context.Context) (at int64, err error) {
	head, err := t.store.Head(ctx)
	if err != nil {
		return 0, fmt.Errorf("worn: %w", err)
	}
	crib, err := t.store.Crib(ctx)
	if err != nil {
		return 0, fmt.Errorf("worn: %w", err)
	}
	q := store.Query{States: []gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld, gate.StateLost}, Limit: store.MaxPage}
	for {
		page, more, err := t.store.List(ctx, q)
		if err != nil {
			return 0, fmt.Errorf("worn: list the slings: %w", err)
		}
		for _, s := range page {
			t.take(s, crib.Founded.Policy.Prefix)
		}
		if more == "" {
			return head.At, nil
		}
		q.After = more
	}
}

// someEvents is how many are read together.
const someEvents = 500

// catchUp takes in what was recorded after a position, and gives the newest.
func (t *Tags) catchUp(ctx context.Context, at int64) (int64, error) {
	for {
		list, err := t.store.Since(ctx, at, someEvents)
		if err != nil {
			return at, fmt.Errorf("worn: %w", err)
		}
		for _, r := range list {
			if err := t.follow(ctx, r.Envelope); err != nil {
				return at, err
			}
			at = r.Envelope.At
		}
		if len(list) < someEvents {
			return at, nil
		}
	}
}

// follow takes in one event. Others than these leave the live tag what it is.
func (t *Tags) follow(ctx context.Context, e event.Envelope) error {
	if e.Kind != event.KindTagConfirmed && e.Kind != event.KindRetired {
		return nil
	}
	s, err := t.store.Sling(ctx, e.Subject.Sling())
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("worn: %w", err)
	}
	crib, err := t.store.Crib(ctx)
	if err != nil {
		return fmt.Errorf("worn: %w", err)
	}
	t.take(s, crib.Founded.Policy.Prefix)
	return nil
}

// take puts the live tag of a sling into the index, in the place of the one before.
func (t *Tags) take(s state.Sling, prefix string) {
	live, ok := s.Live()
	ok = ok && s.Details.Sling.State != gate.StateRetired
	var put error
	if ok {
		text, err := t.textOf(s, live, prefix)
		if put = err; err == nil {
			put = t.index.Put(live.Digest, text, live.Version, levelOf(live), live.Mask)
		}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if was, hung := t.hung[s.ID]; hung && (!ok || put != nil || was != live.Digest) {
		t.index.Drop(was)
		delete(t.hung, s.ID)
	}
	delete(t.absent, s.ID)
	switch {
	case !ok:
	case put != nil:
		t.absent[s.ID] = true
	default:
		t.hung[s.ID] = live.Digest
	}
}

func levelOf(t state.Tag) symbol.Level {
	if len(t.Level) != 1 {
		return 0
	}
	return symbol.Level(t.Level[0])
}

// errAgain is a tag whose text does not come out as it was printed.
var errAgain = errors.New("worn: its text cannot be made again")

// textOf makes the text of a printed tag again.
func (t *Tags) textOf(s state.Sling, printed state.Tag, prefix string) (string, error) {
	key, err := t.keys.Current(printed.Key)
	if err != nil {
		return "", fmt.Errorf("worn: %w", err)
	}
	sealed, err := s.Printed(printed).Seal(key)
	if err != nil {
		return "", fmt.Errorf("worn: %w", err)
	}
	for _, p := range []string{prefix, ""} {
		with, err := sealed.WithPrefix(p)
		if err != nil {
			return "", fmt.Errorf("worn: %w", err)
		}
		if text := with.Text(); tagcode.Digest(text) == printed.Digest {
			return text, nil
		}
	}
	return "", errAgain
}

// Resembles gives the text of the live tag that one of the grids of a picture
// resembles, or one of the runs: grids that were laid beside each other in the last
// frames of one camera, the newest first, which are added up. It is false where none
// does, or not so surely that a wrong one is less likely than [resemble.Chance]. The
// text was not read: a sling goes out by it only with the end of its plate's
// identification.
func (t *Tags) Resembles(ctx context.Context, grids []scan.Grid, runs [][]scan.Grid) (text string, ok bool, err error) {
	var shown []resemble.Grid
	for _, g := range grids {
		shown = append(shown, g)
	}
	for _, r := range runs {
		if len(r) > 0 {
			shown = append(shown, added{scan.Mean(r...), r[0]})
		}
	}
	m, ok := t.index.Find(shown)
	if !ok {
		return "", false, nil
	}
	s, printed, err := t.store.SlingByTag(ctx, m.ID)
	if err != nil {
		return "", false, fmt.Errorf("worn: %w", err)
	}
	if printed.Status != state.TagLive { // the index is a moment behind
		return "", false, nil
	}
	crib, err := t.store.Crib(ctx)
	if err != nil {
		return "", false, fmt.Errorf("worn: %w", err)
	}
	if text, err = t.textOf(s, printed, crib.Founded.Policy.Prefix); err != nil {
		return "", false, err
	}
	want, err := symbol.Again(text, printed.Version, levelOf(printed), printed.Mask)
	if err != nil {
		return "", false, fmt.Errorf("worn: %w", err)
	}
	t.note(m.ID, want, m.Upright.Dark, 0)
	return text, true, nil
}

// added is what a run of grids shows together.
type added struct {
	scan.Grid
	newest scan.Grid
}

func (a added) Newest() resemble.Grid { return a.newest }
