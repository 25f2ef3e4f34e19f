package counter

import (
	"context"
	"fmt"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// Uncompared gives the reason why a sling stays until it was compared with a
// register that was brought back from a copy; none where it was.
func Uncompared(crib state.Crib, s state.Sling) []gate.Reason {
	if crib.ToCompare(s) {
		return []gate.Reason{gate.NotCompared}
	}
	return nil
}

// Compare records that tag, plate and record are of one sling, after the register
// was brought back from a copy. The reading is the tag, scanned on the sling, and
// Typed the last characters of the plate's own identification; whoever works at
// the counter may. Where no tag lives, an inspector or a keeper looks at the sling
// and types all of its identification, and the reading has no text. Nothing else
// about the sling changes: what the gate says of it holds as before.
func (c *Counter) Compare(ctx context.Context, who Who, reading Reading, sling event.SlingID) (Outcome, error) {
	act := who.act("compare", reading.Text, reading.Typed, sling.String())
	return c.do(ctx, act, func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		s, err := tx.Sling(ctx, sling)
		if err != nil {
			return Outcome{}, fmt.Errorf("compare: %w", err)
		}
		o := Outcome{Known: true, Sling: s}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return Outcome{}, fmt.Errorf("compare: %w", err)
		}
		if st := s.Details.Sling.State; st != gate.StateIn && st != gate.StateHeld && st != gate.StateUnchecked || !crib.ToCompare(s) {
			o.Codes = append(o.Codes, gate.NotNow)
		}
		body := event.Compared{Typed: strings.ToUpper(strings.TrimSpace(reading.Typed))}
		if reading.Text == "" {
			err = c.comparePlate(ctx, tx, who, &o, body.Typed)
		} else {
			err = c.compareTag(ctx, tx, who, &o, reading)
			body.Serial = o.serial
		}
		if err != nil || len(o.Codes) > 0 {
			return o, err
		}
		return c.append(ctx, tx, o, body)
	})
}

// comparePlate judges what was typed off the metal alone.
func (c *Counter) comparePlate(ctx context.Context, tx *store.Tx, who Who, o *Outcome, typed string) error {
	refused, err := allowed(ctx, tx.Reader, who.Person, event.Inspector|event.Keeper, tx.Today())
	if err != nil {
		return err
	}
	o.Codes = append(o.Codes, refused...)
	if _, live := o.Sling.Live(); live {
		o.Codes = append(o.Codes, gate.TagNotScanned)
	}
	o.plateIs(typed, typed == o.Sling.Details.Ident)
	return nil
}

// compareTag judges a tag that was scanned on the sling and the end of what was
// typed off the metal.
func (c *Counter) compareTag(ctx context.Context, tx *store.Tx, who Who, o *Outcome, reading Reading) error {
	refused, err := allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today())
	if err != nil {
		return err
	}
	o.Codes = append(o.Codes, refused...)
	f, err := c.find(ctx, tx.Reader, reading, tx.Today())
	if err == nil {
		err = c.noteAhead(ctx, tx, f.ahead)
	}
	if err != nil {
		return err
	}
	o.serial = f.Serial
	for _, code := range f.Codes {
		if code != gate.TagDatesBehind { // the record may know more than the tag, never less
			o.Codes = append(o.Codes, code)
		}
	}
	switch {
	case f.Known && f.Sling.ID != o.Sling.ID:
		o.Codes = append(o.Codes, gate.TagOfAnother)
	case f.Known && (reading.Way.AsksPlate() || reading.Way == Hand):
		o.Codes = append(o.Codes, gate.TagNotScanned)
	}
	o.plateIs(reading.Typed, PlateMatches(o.Sling.Details.Ident, reading.Typed))
	return nil
}

// plateIs adds what is wrong with the characters of the plate.
func (o *Outcome) plateIs(typed string, right bool) {
	switch {
	case strings.TrimSpace(typed) == "":
		o.AskPlate = len(o.Codes) == 0
		o.Codes = append(o.Codes, gate.PlateNeeded)
	case !right:
		o.Codes = append(o.Codes, gate.PlateMismatch)
	}
}

// mostAhead is how many tags are listed that the register is behind of (site
// policy of this program, no source): with so many, it has to be brought back
// from something newer and not tag by tag.
const mostAhead = 1000

// noteAhead lists a tag for the keeper, once; nil for none.
func (c *Counter) noteAhead(ctx context.Context, tx *store.Tx, tag *event.TagAhead) error {
	if tag == nil {
		return nil
	}
	crib, err := tx.Crib(ctx)
	if err != nil {
		return fmt.Errorf("note a tag: %w", err)
	}
	if crib.Behind(tag.Key, tag.Number, tag.Serial) || len(crib.Ahead) >= mostAhead {
		return nil
	}
	_, err = tx.Append(ctx, event.Crib(), crib.Heads, *tag)
	return err
}

// NoteAhead lists the tag of a reading for the keeper where the register is behind
// it, and does nothing else. It is what a page calls when a tag was read that
// leads to no sling.
func (c *Counter) NoteAhead(ctx context.Context, who Who, reading Reading) error {
	_, err := c.store.Do(ctx, who.act("note a tag", reading.Text), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		f, err := c.find(ctx, tx.Reader, reading, tx.Today())
		if err != nil {
			return nil, err
		}
		return nil, c.noteAhead(ctx, tx, f.ahead)
	})
	if err != nil {
		return fmt.Errorf("counter: note a tag: %w", err)
	}
	return nil
}
