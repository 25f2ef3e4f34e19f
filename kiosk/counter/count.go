package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/strict"
	"cribgate/store"
)

// ErrCounting reports a count that is to begin while another one goes on.
var ErrCounting = errors.New("counter: the rack is being counted already")

// ErrNoCount reports a count that does not go on, or not any more.
var ErrNoCount = errors.New("counter: this count does not go on")

// BeginCount begins a count of the places that begin so, of the whole rack where
// there are none. One goes on at a time; everybody who works at the counter may
// begin, and count.
func (c *Counter) BeginCount(ctx context.Context, who Who, places []string) (event.CountID, error) {
	kept := placesOf(places)
	answer, err := c.store.Do(ctx, who.act("begin count", kept...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, atCounter); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		if !crib.Count.ID.IsZero() {
			return nil, ErrCounting
		}
		var id event.CountID
		if _, err := rand.Read(id[:]); err != nil {
			return nil, fmt.Errorf("name a count: %w", err)
		}
		_, err = tx.Append(ctx, event.Crib(), crib.Heads, event.CountBegun{Count: id, Places: kept})
		return []byte(id.String()), err
	})
	if err != nil {
		return event.CountID{}, fmt.Errorf("counter: begin a count: %w", err)
	}
	id, err := event.ParseCountID(string(answer))
	if err != nil {
		return event.CountID{}, fmt.Errorf("%w: it was done, and then: counter: begin a count: %w", store.ErrUnknownOutcome, err)
	}
	return id, nil
}

// placesOf gives the beginnings of places, each once, spaces single.
func placesOf(places []string) (kept []string) {
	for _, p := range places {
		p = strings.Join(strings.Fields(p), " ")
		if p != "" && !slices.Contains(kept, p) {
			kept = append(kept, p)
		}
	}
	return kept
}

// A Counted is what came of one scan in a count. The zero Counted counted nothing.
type Counted struct {
	Known  bool          // Sling is the one; without it only Codes counts
	Sling  state.Sling   // as it is now
	Codes  []gate.Reason // what is to be said of the tag, or why it does not count
	Counts bool          // it was seen, now or by an earlier scan
	Again  bool          // it had been seen at this place before, and nothing was written
	Over   bool          // the count had ended before the scan came
	Place  string        // where it was seen
}

// CountScan counts the sling that a reading leads to as seen at a place, empty where
// that was not said. It changes nothing else, whatever state the sling is in, and
// counts once however often it is scanned there. A tag that never was confirmed on
// its sling does not count: it may lie anywhere. What is typed by hand may be a
// short code or the whole identification on the plate.
func (c *Counter) CountScan(ctx context.Context, who Who, count event.CountID, reading Reading, place string) (Counted, error) {
	place = strings.Join(strings.Fields(place), " ")
	act := who.act("count scan", count.String(), reading.Text, string(reading.Way), place)
	answer, err := c.store.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		n, err := c.countScan(ctx, tx, who, count, reading, place)
		if err != nil {
			return nil, err
		}
		return n.encode()
	})
	if err != nil {
		return Counted{}, fmt.Errorf("counter: count a scan: %w", err)
	}
	n, err := decodeCounted(ctx, c.store.Reader, answer)
	if err != nil {
		return Counted{}, fmt.Errorf("%w: it was done, and then: counter: count a scan: %w", store.ErrUnknownOutcome, err)
	}
	return n, nil
}

func (c *Counter) countScan(ctx context.Context, tx *store.Tx, who Who, count event.CountID, reading Reading, place string) (Counted, error) {
	if err := mustBe(ctx, tx, who, atCounter); err != nil {
		return Counted{}, err
	}
	crib, err := tx.Crib(ctx)
	if err != nil {
		return Counted{}, err
	}
	f, err := c.findCounted(ctx, tx, reading)
	if err != nil {
		return Counted{}, err
	}
	if err := c.noteAhead(ctx, tx, f.ahead); err != nil {
		return Counted{}, err
	}
	n := Counted{Known: f.Known, Sling: f.Sling, Codes: f.Codes, Place: place, Over: count.IsZero() || crib.Count.ID != count}
	if !f.Known || n.Over || slices.ContainsFunc(f.Codes, NeverHung) {
		return n, nil
	}
	n.Counts = true
	if seen := f.Sling.Seen; seen.Count == count && store.KeyOfPlace(seen.Place) == store.KeyOfPlace(place) {
		n.Again = true
		return n, nil
	}
	_, err = tx.Append(ctx, event.Sling(f.Sling.ID), f.Sling.Heads, event.Seen{Count: count, Place: place})
	return n, err
}

// NeverHung tells whether a reason says of a tag that nobody has confirmed it on its
// sling.
func NeverHung(r gate.Reason) bool {
	return r == gate.TagUnconfirmed || r == gate.TagLapsed || r == gate.TagSpoiled
}

// findCounted finds a sling by its tag, and by its identification where that was
// typed.
func (c *Counter) findCounted(ctx context.Context, tx *store.Tx, reading Reading) (Found, error) {
	f, err := c.find(ctx, tx.Reader, reading, tx.Today())
	if err != nil || f.Known || reading.Way != ShortCode {
		return f, err
	}
	s, err := tx.SlingByIdent(ctx, strings.ToUpper(strings.TrimSpace(reading.Text)))
	switch {
	case errors.Is(err, store.ErrNotFound), errors.Is(err, store.ErrDoubled):
		return f, nil // and nobody can tell which
	case err != nil:
		return Found{}, fmt.Errorf("find a sling by its identification: %w", err)
	}
	return Found{Known: true, Sling: s}, nil
}

// EndCount ends a count, with what it came to.
func (c *Counter) EndCount(ctx context.Context, who Who, count event.CountID, note string) (event.Tally, error) {
	note = strings.TrimSpace(note)
	answer, err := c.store.Do(ctx, who.act("end count", count.String(), note), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, atCounter); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		if count.IsZero() || crib.Count.ID != count {
			return nil, ErrNoCount
		}
		found, err := Sightings(ctx, tx.Reader, crib.Count.ID, crib.Count.Places)
		if err != nil {
			return nil, err
		}
		b := event.CountEnded{Count: count, Tally: found.Tally(), Note: note}
		if _, err = tx.Append(ctx, event.Crib(), crib.Heads, b); err != nil {
			return nil, err
		}
		return event.Encode(b)
	})
	if err != nil {
		return event.Tally{}, fmt.Errorf("counter: end a count: %w", err)
	}
	b, err := event.Decode(event.KindCountEnded, 1, answer)
	if err != nil {
		return event.Tally{}, fmt.Errorf("%w: it was done, and then: counter: end a count: %w", store.ErrUnknownOutcome, err)
	}
	return b.(event.CountEnded).Tally, nil
}

// Move gives a sling that is neither lost nor retired another rack place.
func (c *Counter) Move(ctx context.Context, who Who, seen Seen, place string) (Outcome, error) {
	place, err := needed("move", "place", strings.Join(strings.Fields(place), " "))
	if err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "move", seen, atCounter, inUse(), plain(event.Moved{Place: place}), place)
}

func (n Counted) encode() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	id := ""
	if n.Known {
		id = n.Sling.ID.String()
	}
	w.Str("sling", id)
	writeCodes(&w, n.Codes)
	w.Bool("counts", n.Counts)
	w.Bool("again", n.Again)
	w.Bool("over", n.Over)
	w.Str("place", n.Place)
	w.End()
	return w.Bytes()
}

func decodeCounted(ctx context.Context, r store.Reader, text []byte) (Counted, error) {
	v, err := strict.Parse(text)
	if err != nil {
		return Counted{}, fmt.Errorf("a stored answer: %w", err)
	}
	f := strict.Open("answer", v)
	n := Counted{Counts: f.Bool("counts"), Again: f.Bool("again"), Over: f.Bool("over"), Place: f.Str("place")}
	sling := f.Str("sling")
	n.Codes = readCodes(f)
	if err := f.Done(); err != nil {
		return Counted{}, fmt.Errorf("a stored answer: %w", err)
	}
	if sling == "" {
		return n, nil
	}
	id, err := event.ParseSlingID(sling)
	if err != nil {
		return Counted{}, fmt.Errorf("a stored answer: %w", err)
	}
	if n.Sling, err = r.Sling(ctx, id); err != nil && !errors.Is(err, store.ErrNotFound) {
		return Counted{}, fmt.Errorf("the sling of a stored answer: %w", err)
	}
	n.Known = err == nil
	return n, nil
}
