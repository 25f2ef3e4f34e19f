package counter

import (
	"context"
	"errors"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/store"
)

// ErrChanged reports parts that this sling has not got.
var ErrChanged = errors.New("counter: these are no parts of this sling")

// SendOff records that a held sling went to its maker, or a repairer whom the maker
// authorises: nothing is mended in the crib (DOE-STD-1090 chapter 11). One that is
// impounded is freed first.
func (c *Counter) SendOff(ctx context.Context, who Who, seen Seen, b event.SentOff) (Outcome, error) {
	var err error
	if b.To, err = needed("send off", "to whom", b.To); err != nil {
		return Outcome{}, err
	}
	if b.Why, err = needed("send off", "why", b.Why); err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "send off", seen, ofCustody, []gate.State{gate.StateHeld}, func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		switch {
		case s.Impound != (state.Impound{}):
			return nil, []gate.Reason{gate.Impounded}, nil
		case s.Repair != (state.Repair{}):
			return nil, []gate.Reason{gate.AtRepairer}, nil
		}
		return b, nil, nil
	}, b.To, b.Why)
}

// ComeBack records that a sling came back from whoever it was sent to, with which
// certificate, and which parts were put in anew: what was known of those when new
// holds no longer. It stays held, and lies at place where that is given, until a
// thorough inspection passes it and, where it was stamped anew, its details were
// corrected. From is filled in here.
func (c *Counter) ComeBack(ctx context.Context, who Who, seen Seen, b event.CameBack, place string) (Outcome, error) {
	var err error
	if b.Certificate, err = needed("come back", "certificate", b.Certificate); err != nil {
		return Outcome{}, err
	}
	b.Stamp, b.Note = strings.TrimSpace(b.Stamp), strings.TrimSpace(b.Note)
	b.From = ""
	var changed []event.Piece
	for _, part := range b.Changed {
		if !slices.Contains(changed, part) {
			changed = append(changed, part)
		}
	}
	b.Changed = changed
	request, err := event.Encode(b)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSlingAt(ctx, who, "come back", seen, ofCustody, inUse(), place, func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if s.Repair == (state.Repair{}) {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		for _, part := range b.Changed {
			ofLeg := part.Chain || part.Hook
			if part.Leg < 0 || part.Leg > s.Details.Sling.Legs || ofLeg == (part.What != 0) || ofLeg && part.Leg == 0 || part.What == removal.Master && part.Leg > 0 {
				return nil, nil, ErrChanged
			}
		}
		back := b
		back.From = s.Repair.To
		return back, nil, nil
	}, string(request))
}
