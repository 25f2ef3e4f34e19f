package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// A turn is what lies on the counter of one browser from one request to the
// next: who takes slings now, for which lift, and which slings were handled. It
// is kept with the session, on the server. Nothing is decided by it: the register
// is asked again each time.
type turn struct {
	By       string    `json:"by"`                 // who is signed in, by id; for another one it begins anew
	Rigger   string    `json:"rigger,omitempty"`   // by id
	For      []purpose `json:"for,omitempty"`      // what the slings are drawn for
	Now      int       `json:"now,omitempty"`      // number of the purpose of the next sling, from 1; 0: none was stated
	Last     int       `json:"last"`               // number of the newest card
	Cards    []card    `json:"cards,omitempty"`    // newest first
	Fetching []fetched `json:"fetching,omitempty"` // what somebody was sent for
	Backed   []backed  `json:"backed,omitempty"`   // what was taken back here, the latest at the end
}

// A purpose is what slings are drawn for: a lift as it was stated, or a shift.
type purpose struct {
	Lift  liftForm `json:"lift,omitempty"`
	Shift string   `json:"shift,omitempty"` // the day by which gear for a shift is back; empty: a lift

	// Of a lift that was planned: which, and how it was stated, in the spelling of
	// event.StatedLift. There is no form then.
	Plan   string `json:"plan,omitempty"`
	Stated string `json:"stated,omitempty"`
}

// A card is one sling, or one reading that led to none, that was handled in this
// turn.
type card struct {
	N         int         `json:"n"`
	Sling     string      `json:"sling,omitempty"` // by id; empty: the reading led to none
	Text      string      `json:"text,omitempty"`  // what was read; empty where Sling is
	Way       counter.Way `json:"way"`
	Typed     string      `json:"typed,omitempty"`     // end of the plate's identification
	Badge     bool        `json:"badge,omitempty"`     // the reading was a badge, and led to no rigger
	Codes     []string    `json:"codes,omitempty"`     // why the reading led to nothing
	Problem   uint8       `json:"problem,omitempty"`   // why a picture led to no reading
	For       int         `json:"for,omitempty"`       // number of its purpose; 0: not asked about for any yet
	Shortened string      `json:"shortened,omitempty"` // "no", "cradled" or "plain", as answered for this sling
	Carries   string      `json:"carries,omitempty"`   // its stated part under a beam, in the unit of the load
	Seat      string      `json:"seat,omitempty"`      // "yes" or "no": the upper link seats in the crane's hook
	Aside     string      `json:"aside,omitempty"`     // the lift that it is set aside for, by id: it goes all the same
	Done      done        `json:"done,omitempty"`
	Loan      string      `json:"loan,omitempty"` // that it went out with, by id

	// For the rail, as it was last seen.
	Title string  `json:"title"`
	Sub   string  `json:"sub,omitempty"`
	Note  string  `json:"note,omitempty"`
	Edge  Verdict `json:"edge,omitempty"`

	Plated bool `json:"plated,omitempty"` // the end of its plate was asked for, and nothing else
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

// mostCards is how many cards hang on the rail. The oldest of those with which
// nothing more is to be done makes room.
const mostCards = 100

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
	if len(t.Cards) > mostCards {
		oldest := len(t.Cards) - 1
		for i := oldest; i > 0; i-- {
			if t.Cards[i].Edge != MayGo {
				oldest = i
				break
			}
		}
		t.Cards = slices.Delete(t.Cards, oldest, oldest+1)
	}
	return &t.Cards[0]
}

// take hangs the card of a sling that was read. One that waits there already is the
// same line of the loan, with what was answered about it, for what is stated now.
func (t *turn) take(c card) (hung *card, again bool) {
	t.Fetching = slices.DeleteFunc(t.Fetching, func(f fetched) bool { return f.Sling == c.Sling }) // it is here
	if i := slices.IndexFunc(t.Cards, func(old card) bool { return old.waits() && old.Sling == c.Sling }); i >= 0 {
		old := t.Cards[i]
		c.Shortened, c.Carries, c.Seat, c.Aside = old.Shortened, old.Carries, old.Seat, old.Aside
		if again = old.Edge == MayGo && old.For == t.Now; again {
			c.Typed = old.Typed
		}
	}
	return t.put(c), again
}

// purpose gives what slings are drawn for, by its number; nil for none.
func (t *turn) purpose(n int) *purpose {
	if n < 1 || n > len(t.For) {
		return nil
	}
	return &t.For[n-1]
}

func (p purpose) same(o purpose) bool {
	return p.Shift == o.Shift && p.Plan == o.Plan && maps.Equal(p.Lift, o.Lift)
}

// of gives the purpose of a card: its own, or what the next sling is for.
func (t *turn) of(c *card) *purpose {
	if c.For == 0 {
		return t.purpose(t.Now)
	}
	return t.purpose(c.For)
}

// state keeps a purpose under a number, 0 for one more, and makes it the one of the
// next sling. Slings that wait for one are for it.
func (t *turn) state(n int, p purpose) {
	if t.purpose(n) == nil {
		if n = slices.IndexFunc(t.For, p.same) + 1; n == 0 {
			t.For = append(t.For, p)
			n = len(t.For)
		}
	}
	t.For[n-1], t.Now = p, n
	for i := range t.Cards {
		if c := &t.Cards[i]; c.waits() && c.For == 0 {
			c.For = n
		}
	}
}

// goes tells whether the card's sling was about to go when it was last seen.
func (c *card) goes() bool { return c.Edge == MayGo || c.Plated }

// waits tells whether something may still be done with the card's sling.
func (c *card) waits() bool { return c.Sling != "" && c.Done == notDone }

// lines are the cards that are on the loan: they might go when they were last
// looked at, be it once more after they were handed over or lost to somebody else.
// The oldest comes first.
func (t *turn) lines() (list []*card) {
	for i := len(t.Cards) - 1; i >= 0; i-- {
		if c := &t.Cards[i]; c.Sling != "" && c.Edge == MayGo {
			list = append(list, c)
		}
	}
	return list
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

// stated is what slings are drawn for, as it was stated; false where nothing is, or
// where it no longer holds: its day of return is over.
func (v *visit) stated(p *purpose) (statedLift, bool) {
	switch {
	case p == nil:
		return statedLift{}, false
	case p.Shift != "":
		day, err := quantity.ParseDate(p.Shift)
		s := statedLift{Shift: true}
		s.Lift.ReturnBy = day
		return s, err == nil && !day.Before(v.today)
	case p.Plan != "":
		return v.statedPlan(p)
	}
	stated, wrong := p.Lift.read(v.liftTerms())
	return stated, len(wrong) == 0
}

func (v *visit) liftTerms() liftTerms {
	p := v.crib.Founded.Policy
	return liftTerms{margin: p.MarginPct, today: v.today, cranes: p.Cranes}
}

// part is what is said of the card's sling within its lift. unit is that of the load.
func (c *card) part(unit quantity.Mass) counter.Part {
	var p counter.Part
	p.Shortened, _ = c.shortening()
	p.Carries, _ = readLoad(c.Carries, unit)
	return p
}

// seat is what was answered about the crane's hook.
func (c *card) seat() counter.Seat {
	switch c.Seat {
	case "yes":
		return counter.SeatsWell
	case "no":
		return counter.SeatsNot
	}
	return 0
}

// aside is the planned lift of which somebody said that its sling goes to another all
// the same; zero for none.
func (c *card) aside() event.LiftID {
	id, err := event.ParseLiftID(c.Aside)
	if err != nil {
		return event.LiftID{}
	}
	return id
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
