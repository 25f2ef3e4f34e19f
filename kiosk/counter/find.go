package counter

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Reading is what came off a tag, or what was typed for it.
type Reading struct {
	Text  string
	Way   Way
	Typed string // the last characters of the plate's identification, where they were asked

	// Doubtful: the sling may be elsewhere than its tag's picture, so that before it
	// goes out the end of its plate's identification is asked for, whatever the way.
	Doubtful bool

	Graded *event.Graded // the print, where its picture was graded; only Confirm asks
}

// Found is the sling that a reading leads to. Codes say why the reading is not
// enough to issue the sling; a return goes through with many of them.
type Found struct {
	Known  bool // Sling is the one; without it only Codes counts
	Sling  state.Sling
	Serial tagcode.Serial // of the tag that was read
	Status state.TagStatus
	Codes  []gate.Reason

	ahead *event.TagAhead // the tag that was read, where it says more than the register knows
}

// Find identifies a sling.
func (c *Counter) Find(ctx context.Context, reading Reading) (Found, error) {
	today, err := c.store.Today(ctx)
	if err != nil {
		return Found{}, fmt.Errorf("counter: find: %w", err)
	}
	return c.find(ctx, c.store.Reader, reading, today)
}

// OwesPlate says what a reading still owes before its sling is the one to be looked at,
// for whoever does not ask for the plate otherwise: of a tag that was not read and only
// told by what it resembles, the end of the plate's identification. 0 is nothing.
func (f Found) OwesPlate(reading Reading) gate.Reason {
	typed := strings.TrimSpace(reading.Typed)
	switch {
	case !f.Known || reading.Way != Resembles:
		return 0
	case typed == "":
		return gate.PlateNeeded
	case !PlateMatches(f.Sling.Details.Ident, typed):
		return gate.PlateMismatch
	}
	return 0
}

func (c *Counter) find(ctx context.Context, r store.Reader, reading Reading, today quantity.Date) (Found, error) {
	if reading.Way == ShortCode {
		return c.findShort(ctx, r, reading, today)
	}
	sling, tag, err := r.SlingByTag(ctx, tagcode.Digest(reading.Text))
	if errors.Is(err, store.ErrNotFound) {
		return c.foreign(ctx, r, reading.Text)
	}
	if err != nil {
		return Found{}, fmt.Errorf("counter: find the sling of a tag: %w", err)
	}
	sealed, err := tagcode.Parse(reading.Text)
	if err != nil {
		return Found{}, fmt.Errorf("counter: a tag of this register does not read: %w", err)
	}
	f, err := c.own(ctx, r, sling, tag, today)
	if err != nil || f.Status != state.TagLive {
		return f, err
	}
	return c.compare(ctx, r, f, sealed.Tag)
}

// own judges a tag that this register printed.
func (c *Counter) own(ctx context.Context, r store.Reader, sling state.Sling, tag state.Tag, today quantity.Date) (Found, error) {
	f := Found{Known: true, Sling: sling, Serial: tag.Serial, Status: tag.Status}
	switch {
	case tag.Status == state.TagReplaced:
		f.Codes = append(f.Codes, gate.TagReplaced)
	case tag.Status == state.TagSpoiled:
		f.Codes = append(f.Codes, gate.TagSpoiled)
	case tag.Lapsed(today):
		f.Codes = append(f.Codes, gate.TagLapsed)
	case tag.Status == state.TagPrinted:
		f.Codes = append(f.Codes, gate.TagUnconfirmed)
	}
	return f, nil
}

// compare holds what a live tag says against the record.
func (c *Counter) compare(ctx context.Context, r store.Reader, f Found, says tagcode.Tag) (Found, error) {
	crib, err := r.Crib(ctx)
	if err != nil {
		return Found{}, fmt.Errorf("counter: policy: %w", err)
	}
	want, err := f.Sling.Tag(says.Key, says.Serial)
	if err != nil || want.Facts != says.Facts || want.Number != says.Number {
		f.Codes = append(f.Codes, gate.TagDisagrees)
		return f, nil
	}
	switch {
	case says.Inspected.After(want.Inspected):
		f.behind(says)
	case want.Outcome == tagcode.Fit && (says.Outcome == tagcode.Hold || says.Outcome == tagcode.Out):
		f.Codes = append(f.Codes, gate.TagDatesBehind) // it says on its face that the sling is not for use
	case (want.Inspected != says.Inspected || want.Due != says.Due) && !crib.Founded.Policy.OldTagGoes:
		f.Codes = append(f.Codes, gate.TagDatesBehind)
	}
	return f, nil
}

// foreign says what a text is that this register did not print.
func (c *Counter) foreign(ctx context.Context, r store.Reader, text string) (Found, error) {
	switch kind, _ := tagcode.KindOf(text); kind { // what is none is told apart below
	case tagcode.KindBadge:
		return Found{Codes: []gate.Reason{gate.TagIsBadge}}, nil
	case tagcode.KindSlip:
		return Found{Codes: []gate.Reason{gate.TagIsSlip}}, nil
	case tagcode.KindHead:
		return Found{Codes: []gate.Reason{gate.TagIsSeal}}, nil
	}
	sealed, err := tagcode.Parse(text)
	switch {
	case errors.Is(err, tagcode.ErrNewer):
		return Found{Codes: []gate.Reason{gate.TagNewerFormat}}, nil
	case errors.Is(err, tagcode.ErrMalformed):
		return Found{Codes: []gate.Reason{gate.TagForged}}, nil
	case err != nil && strings.TrimSpace(text) == "":
		return Found{Codes: []gate.Reason{gate.TagUnreadable}}, nil
	case err != nil && isWebAddress(text):
		return Found{Codes: []gate.Reason{gate.TagWebAddress}}, nil
	case err != nil:
		return Found{Codes: []gate.Reason{gate.TagNotOurs}}, nil
	}
	crib, err := r.Crib(ctx)
	if err != nil {
		return Found{}, fmt.Errorf("counter: the crib's keys: %w", err)
	}
	for _, fingerprint := range crib.Keys {
		if fingerprint != sealed.Key {
			continue
		}
		key, err := c.keys.Current(fingerprint)
		if err != nil || sealed.Verify(key) != nil { // without the key nobody can tell
			return Found{Codes: []gate.Reason{gate.TagForged}}, nil
		}
		sling, err := r.Sling(ctx, event.SlingID{Key: sealed.Key, Number: sealed.Number})
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return Found{}, fmt.Errorf("counter: find a sling by its number: %w", err)
		}
		return unrecorded(crib, sling, err == nil, sealed.Tag), nil
	}
	return Found{Codes: []gate.Reason{gate.TagNotOurs}}, nil
}

// unrecorded judges a tag that the crib's own key sealed and that this register
// did not print.
func unrecorded(crib state.Crib, sling state.Sling, known bool, says tagcode.Tag) Found {
	f := Found{Known: known, Sling: sling, Serial: says.Serial}
	newest := tagcode.Serial(0)
	if n := len(sling.Tags); n > 0 {
		newest = sling.Tags[n-1].Serial
	}
	switch {
	case known && (says.Serial > newest || says.Inspected.After(sling.Details.Sling.Inspected)):
		f.behind(says)
	case known: // one of its own numbers, saying something that was never printed here
		f = Found{Codes: []gate.Reason{gate.TagDisagrees}}
	case crib.Restored != (state.Restoration{}): // the record is among what was lost
		f.behind(says)
	default:
		f.Codes = append(f.Codes, gate.UnknownSling)
	}
	return f
}

// behind says that the tag knows more than the register.
func (f *Found) behind(says tagcode.Tag) {
	f.Codes = append(f.Codes, gate.RegisterBehind)
	f.ahead = &event.TagAhead{Key: says.Key, Number: says.Number, Serial: says.Serial, Inspected: says.Inspected}
}

func isWebAddress(text string) bool {
	lower := strings.ToLower(text)
	return strings.HasPrefix(lower, "http://") || strings.HasPrefix(lower, "https://") || strings.HasPrefix(lower, "www.")
}

func (c *Counter) findShort(ctx context.Context, r store.Reader, reading Reading, today quantity.Date) (Found, error) {
	short, err := tagcode.ParseShort(reading.Text)
	if err != nil {
		return Found{Codes: []gate.Reason{gate.ShortCodeMistyped}}, nil
	}
	slings, err := r.SlingsByShort(ctx, short)
	switch {
	case err != nil:
		return Found{}, fmt.Errorf("counter: find the sling of a short code: %w", err)
	case len(slings) == 0:
		return Found{Codes: []gate.Reason{gate.ShortCodeUnknown}}, nil
	case len(slings) > 1:
		return Found{Codes: []gate.Reason{gate.ShortCodeAmbiguous}}, nil
	}
	for _, tag := range slings[0].Tags {
		if tag.Serial != short.Serial {
			continue
		}
		f, err := c.own(ctx, r, slings[0], tag, today)
		if err != nil || f.Status != state.TagLive {
			return f, err
		}
		return c.compare(ctx, r, f, slings[0].Printed(tag))
	}
	return Found{}, fmt.Errorf("counter: sling %s has no tag %d", slings[0].ID, short.Serial)
}
