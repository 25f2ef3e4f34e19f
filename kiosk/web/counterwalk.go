package web

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/state"
)

// A Walk leads from a sling that stays to the peg of one that would do instead.
// Without an Ident there is none.
type Walk struct {
	Key   string
	Sling string // its id
	Ident string
	Place string // the peg; empty where none is on record
	Is    string // what it is made of, and until when it is inspected
	May   string // what it may carry in this lift
	Going bool   // somebody was sent for it
	First bool   // nothing else comes before it
	Story string // address of its page
}

// fetched is the sling that somebody was sent for; it is told beside the rail until
// it is scanned, and is on no record.
type fetched struct {
	Sling string `json:"sling"`
	Ident string `json:"ident"`
	Place string `json:"place,omitempty"`
}

// walkTo leads to a sling that would do, which the gate has let go for the lift.
func walkTo(t *turn, other state.Sling, may gate.Answer, w words) Walk {
	d := other.Details
	k := Walk{Key: newKey(), Sling: other.ID.String(), Ident: d.Ident, Place: d.Place, Story: slingPath(other),
		Is: w.makeUp(d.Sling.Plate) + ". Due " + d.Sling.Due.Long(), Going: t.fetches(other)}
	if may.Scope == gate.ByAngle {
		k.May = upperFirst(rating.LegsWords(d.Sling.Legs)) + ", may carry " + w.lead.MassDown(may.Allowed) + " here"
	}
	return k
}

// fetch marks the sling that somebody is sent for.
func (s *Server) fetch(v *visit) error {
	id, err := event.ParseSlingID(v.raw("sling"))
	if err != nil {
		return &Visible{Code: BadInput, Cause: err, Sentence: "No sling was chosen.", Next: "Go back to the counter and press the peg again."}
	}
	sling, err := s.Store.Sling(v.r.Context(), id)
	if err != nil {
		return err
	}
	t := s.turn(v)
	t.Fetching = []fetched{fetchedOf(sling)}
	if err := s.keepTurn(v, t); err != nil {
		return err
	}
	return v.redirect("/counter")
}

// fetches tells whether somebody was sent for a sling.
func (t *turn) fetches(x state.Sling) bool {
	return slices.ContainsFunc(t.Fetching, func(f fetched) bool { return f.Sling == x.ID.String() })
}

// card is how the sling that is being fetched hangs on the rail.
func (f fetched) card() Card {
	sub := "Scan it when it is here"
	if f.Place != "" {
		sub = "from " + f.Place + ". " + sub
	}
	return Card{Title: "Fetch " + f.Ident, Sub: sub}
}
