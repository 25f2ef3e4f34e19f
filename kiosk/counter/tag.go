package counter

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Print records a tag that is about to be printed for a sling. draw makes it from
// the sling as the act finds it, on the stock of that name, and gives what is
// recorded of it; where draw fails, nothing is. The tag is good for nothing until
// [Counter.Confirm]. A sling that is out gets its next tag where it is.
func (c *Counter) Print(ctx context.Context, who Who, seen Seen, stock string, draw func(context.Context, *store.Tx, state.Sling) (event.TagPrinted, error)) (Outcome, error) {
	return c.onSling(ctx, who, "print", seen, event.Inspector|event.Keeper, inUse(), func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		printed, err := draw(ctx, tx, s)
		return printed, nil, err
	}, stock)
}

// Spoil throws away a tag that was printed and is on no sling: why, from the
// closed list, and the words that [event.SpoiltOther] needs. The tag that is on
// the sling is replaced, never thrown away; everybody who works at the counter may
// throw away one that waits.
func (c *Counter) Spoil(ctx context.Context, who Who, seen Seen, serial tagcode.Serial, why event.Spoilt, note string) (Outcome, error) {
	if _, known := event.ParseSpoilt(string(why)); !known {
		return Outcome{}, fmt.Errorf("%w: throw away: why", ErrNeeded)
	}
	note = strings.TrimSpace(note)
	if why == event.SpoiltOther {
		if _, err := needed("throw away", "what happened", note); err != nil {
			return Outcome{}, err
		}
	}
	return c.onSling(ctx, who, "spoil", seen, atCounter, nil, func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		i := slices.IndexFunc(s.Tags, func(t state.Tag) bool { return t.Serial == serial })
		if i < 0 {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		switch s.Tags[i].Status {
		case state.TagPrinted:
			return event.TagSpoiled{Serial: serial, Why: why, Note: note}, nil, nil
		case state.TagLive:
			return nil, []gate.Reason{gate.TagIsLive}, nil
		case state.TagReplaced:
			return nil, []gate.Reason{gate.TagReplaced}, nil
		}
		return nil, []gate.Reason{gate.TagSpoiled}, nil
	}, fmt.Sprint(serial), string(why), note)
}

// leastGrade is the worst grade of a print that goes on a sling (site policy of
// this program, no source).
const leastGrade = "C"

// Confirm makes a printed tag the live one: the reading is the tag, scanned on
// the sling, and Typed the last characters of the plate's own identification.
// Whoever hangs tags on confirms them, so everybody who works at the counter may.
// A print that was graded under C is not confirmed, nor a picture that was not
// graded; one that was scanned by hand has no grade. The older tag is dead from then on.
func (c *Counter) Confirm(ctx context.Context, who Who, reading Reading, sling event.SlingID) (Outcome, error) {
	graded := ""
	if reading.Graded != nil {
		graded = fmt.Sprint(*reading.Graded)
	}
	act := who.act("confirm", reading.Text, reading.Typed, sling.String(), graded)
	return c.do(ctx, act, func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		f, err := c.find(ctx, tx.Reader, reading, tx.Today())
		if err != nil || !f.Known {
			return Outcome{Codes: f.Codes}, err
		}
		o := Outcome{Known: true, Sling: f.Sling}
		if o.Codes, err = allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today()); err != nil {
			return Outcome{}, err
		}
		for _, code := range f.Codes {
			if code != gate.TagUnconfirmed {
				o.Codes = append(o.Codes, code)
			}
		}
		switch {
		case f.Sling.ID != sling:
			o.Codes = append(o.Codes, gate.TagOfAnother)
		case f.Status == state.TagLive:
			o.Codes = append(o.Codes, gate.TagIsLive)
		case strings.TrimSpace(reading.Typed) == "":
			o.AskPlate = true
			o.Codes = append(o.Codes, gate.PlateNeeded)
		case !PlateMatches(f.Sling.Details.Ident, reading.Typed):
			o.Codes = append(o.Codes, gate.PlateMismatch)
		case reading.Way.AsksPlate() || reading.Way == Hand, reading.Way == Image && reading.Graded == nil:
			o.Codes = append(o.Codes, gate.TagNotScanned)
		}
		if reading.Graded != nil && reading.Graded.Under(leastGrade) {
			o.Codes = append(o.Codes, gate.PrintPoor)
		}
		if len(o.Codes) > 0 {
			return o, nil
		}
		return c.append(ctx, tx, o, event.TagConfirmed{Serial: f.Serial, Typed: strings.ToUpper(strings.TrimSpace(reading.Typed)), Graded: reading.Graded})
	})
}
