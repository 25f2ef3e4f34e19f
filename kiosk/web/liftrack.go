package web

import (
	"context"
	"fmt"
	"sync"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// A shelf holds the slings of the register ready to be chosen from, so that an answer
// to a lift does not read all of them. It is as old as the position it was made at,
// and is brought up to date before it is used; nothing goes out by it, since the
// counter decides again with the sling in hand.
type shelf struct {
	register string
	at       int64 // position of the register
	today    quantity.Date
	crib     string // of the crib, what stands against slings
	slings   map[event.SlingID]fit.Sling
	rack     *fit.Rack
	ids      map[string]event.SlingID // by identification
}

// shelves keeps the shelf of the last answer.
type shelves struct {
	mu  sync.Mutex
	now *shelf // nil: none is kept
}

// fewEvents is up to how many events are followed one by one; beyond that everything
// is read anew (site policy, no source).
const fewEvents = 2000

// rackNow gives the slings as the register has them at the position that the visit saw,
// or later.
func (s *Server) rackNow(v *visit) (*fit.Rack, map[string]event.SlingID, error) {
	return s.shelves.at(v.r.Context(), s.Store.Reader, v.register, v.at, v.today, v.crib)
}

// fill reads the slings before anybody asks, since that takes a second for 20,000. What
// fails here fails again, and is told, when somebody asks.
func (s *Server) fill(ctx context.Context) {
	crib, err := s.Store.Crib(ctx)
	if err != nil {
		return
	}
	clock, err := s.Store.Clock(ctx)
	if err != nil {
		return
	}
	head, err := s.Store.Head(ctx)
	if err != nil {
		return
	}
	if _, _, err := s.shelves.at(ctx, s.Store.Reader, head.Log.String(), head.At, clock.Today(), crib); err != nil && ctx.Err() == nil {
		s.Log.WarnContext(ctx, "the slings to choose from are not read yet", "error", err)
	}
}

func (l *shelves) at(ctx context.Context, r store.Reader, register string, at int64, today quantity.Date, of state.Crib) (*fit.Rack, map[string]event.SlingID, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	h := l.now
	crib := fmt.Sprint(of.Doubt, of.Restored)
	if h != nil && h.register == register && h.today == today && h.crib == crib {
		followed, err := h.follow(ctx, r, of, at)
		if err != nil {
			l.now = nil // what is kept may be half of what there is
			return nil, nil, err
		}
		if followed {
			return h.rack, h.ids, nil
		}
	}
	l.now = nil
	h = &shelf{register: register, today: today, crib: crib, at: at, slings: map[event.SlingID]fit.Sling{}}
	if err := h.load(ctx, r, of); err != nil {
		return nil, nil, err
	}
	l.now = h
	return h.rack, h.ids, nil
}

// put keeps a sling, or lets it go where it never comes back.
func (h *shelf) put(x state.Sling, crib state.Crib) {
	if st := x.Details.Sling.State; st == gate.StateRetired || st == gate.StateLost || x.Details.Ident == "" {
		delete(h.slings, x.ID)
		return
	}
	h.slings[x.ID] = counter.Choosable(x, crib, h.today)
}

func (h *shelf) load(ctx context.Context, r store.Reader, crib state.Crib) error {
	q := store.Query{Limit: store.MaxPage}
	for {
		page, next, err := r.List(ctx, q)
		if err != nil {
			return fmt.Errorf("web: the slings to choose from: %w", err)
		}
		for _, x := range page {
			h.put(x, crib)
		}
		if next == "" {
			h.hang()
			return nil
		}
		q.After = next
	}
}

// follow reads again what has changed up to a position; false where that is too much.
func (h *shelf) follow(ctx context.Context, r store.Reader, crib state.Crib, to int64) (bool, error) {
	if h.at >= to {
		return true, nil
	}
	records, err := r.Since(ctx, h.at, fewEvents)
	if err != nil {
		return false, fmt.Errorf("web: what has changed among the slings: %w", err)
	}
	if len(records) == fewEvents {
		return false, nil
	}
	changed := map[event.SlingID]bool{}
	for _, rec := range records {
		if rec.Envelope.Subject.Kind() == event.OfSling {
			changed[rec.Envelope.Subject.Sling()] = true
		}
		h.at = rec.Envelope.At
	}
	for id := range changed {
		x, err := r.Sling(ctx, id)
		if err != nil {
			return false, fmt.Errorf("web: a sling that has changed: %w", err)
		}
		h.put(x, crib)
	}
	if len(changed) > 0 {
		h.hang()
	}
	return true, nil
}

// hang makes the rack of what is kept.
func (h *shelf) hang() {
	list := make([]fit.Sling, 0, len(h.slings))
	h.ids = make(map[string]event.SlingID, len(h.slings))
	for id, x := range h.slings {
		list = append(list, x)
		h.ids[x.Ident] = id
	}
	h.rack = fit.NewRack(list)
}
