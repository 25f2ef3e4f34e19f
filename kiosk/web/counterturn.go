package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// A turn is what lies on the counter of one browser from one request to the
// next: who takes slings now, for which lift, and which slings were handled. It
// is kept with the session, on the server. Nothing is decided by it: the register
// is asked again each time.
type turn struct {
	By      string   `json:"by"`               // who is signed in, by id; for another one it begins anew
	Rigger  string   `json:"rigger,omitempty"` // by id
	Lift    liftForm `json:"lift,omitempty"`
	Singles string   `json:"singles,omitempty"` // "yes" or "no": slings of one leg are several on one hook
	Last    int      `json:"last"`              // number of the newest card
	Cards   []card   `json:"cards,omitempty"`   // newest first
}

// A card is one sling, or one reading that led to none, that was handled in this
// turn.
type card struct {
	N         int         `json:"n"`
	Sling     string      `json:"sling,omitempty"` // by id; empty: the reading led to none
	Text      string      `json:"text,omitempty"`  // what was read; empty where Sling is
	Way       counter.Way `json:"way"`
	Typed     string      `json:"typed,omitempty"`     // end of the plate's identification
	Codes     []string    `json:"codes,omitempty"`     // why the reading led to no sling
	Problem   uint8       `json:"problem,omitempty"`   // why a picture led to no reading
	Shortened string      `json:"shortened,omitempty"` // "no", "cradled" or "plain", as answered for this sling
	Done      done        `json:"done,omitempty"`

	// For the rail, as it was last seen.
	Title string  `json:"title"`
	Sub   string  `json:"sub,omitempty"`
	Note  string  `json:"note,omitempty"`
	Edge  Verdict `json:"edge,omitempty"`
}

// done is what was last done with a card's sling in this turn.
type done string

const (
	notDone    done = ""
	handedOver done = "out"
	tookBack   done = "back"
	putOnHold  done = "held"
	tooLate    done = "too-late" // someone else was faster
)

// mostCards is how many cards hang on the rail; the oldest makes room.
const mostCards = 40

// turn gives what lies on the counter of who asks.
func (s *Server) turn(v *visit) *turn {
	by := v.who.ID.String()
	var t turn
	if err := json.Unmarshal([]byte(s.Desk.Sessions().Turn(v.r.Context())), &t); err != nil || t.By != by {
		return &turn{By: by} // nothing yet, or of a program that kept it otherwise
	}
	return &t
}

func (s *Server) keepTurn(v *visit, t *turn) error {
	text, err := json.Marshal(t)
	if err != nil {
		return fmt.Errorf("web: keep what lies on the counter: %w", err)
	}
	s.Desk.Sessions().PutTurn(v.r.Context(), string(text))
	return nil
}

// card gives the card of a number, nil for none.
func (t *turn) card(n int) *card {
	i := slices.IndexFunc(t.Cards, func(c card) bool { return c.N == n })
	if i < 0 {
		return nil
	}
	return &t.Cards[i]
}

// newest is the card that was handled last, nil for none.
func (t *turn) newest() *card {
	if len(t.Cards) == 0 {
		return nil
	}
	return &t.Cards[0]
}

// put hangs a new card in front. A sling that hangs there already is taken off
// first, so that it hangs once.
func (t *turn) put(c card) *card {
	if c.Sling != "" {
		t.Cards = slices.DeleteFunc(t.Cards, func(old card) bool { return old.Sling == c.Sling })
	}
	t.Last++
	c.N = t.Last
	t.Cards = slices.Insert(t.Cards, 0, c)
	t.Cards = t.Cards[:min(len(t.Cards), mostCards)]
	return &t.Cards[0]
}

// anew forgets what was said about slings that were asked about before rigger or
// lift changed: it does not hold any more.
func (t *turn) anew() {
	for i := range t.Cards {
		if c := &t.Cards[i]; c.Sling != "" && c.Done == notDone {
			c.Edge, c.Note = "", "not asked about for this lift"
		}
	}
}

// reading is what led to the card's sling.
func (c *card) reading() counter.Reading {
	return counter.Reading{Text: c.Text, Way: c.Way, Typed: c.Typed}
}

// rigger is who takes slings now; the zero person where nobody was chosen, or who
// was chosen is no longer here.
func (s *Server) rigger(v *visit, t *turn) (state.Person, error) {
	id, err := event.ParsePersonID(t.Rigger)
	if err != nil {
		return state.Person{}, nil
	}
	p, err := s.Store.Person(v.r.Context(), id)
	if errors.Is(err, store.ErrNotFound) || err == nil && !p.May(event.Rigger, v.today) {
		return state.Person{}, nil
	}
	return p, err
}

// lift is the lift that was stated, false where none is, or where it no longer
// holds: its day of return is over.
func (v *visit) lift(t *turn) (statedLift, bool) {
	if len(t.Lift) == 0 {
		return statedLift{}, false
	}
	stated, wrong := t.Lift.read(v.liftTerms())
	return stated, len(wrong) == 0
}

func (v *visit) liftTerms() liftTerms {
	return liftTerms{margin: v.crib.Founded.Policy.MarginPct, today: v.today}
}

// shortening is what was answered about a sling's legs, false where nobody was
// asked.
func (c *card) shortening() (gate.Shortening, bool) {
	switch c.Shortened {
	case "no":
		return gate.Unshortened, true
	case "cradled":
		return gate.Cradled, true
	case "plain":
		return gate.Plain, true
	}
	return gate.Unshortened, false
}
