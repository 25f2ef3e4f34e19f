package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// onCard reads what every form of a card carries.
func (s *Server) onCard(v *visit) (t *turn, c *card, key string, err error) {
	if key, err = v.key(); err != nil {
		return nil, nil, "", err
	}
	t = s.turn(v)
	n, err := strconv.Atoi(v.raw("card"))
	if c = t.card(n); err != nil || c == nil || c.Sling == "" {
		return nil, nil, "", s.cleared(v, key)
	}
	return t, c, key, nil
}

// toCard keeps the turn and leads to a card.
func (s *Server) toCard(v *visit, t *turn, c *card) error {
	if err := s.keepTurn(v, t); err != nil {
		return err
	}
	if c == nil {
		return v.redirect("/counter")
	}
	return v.redirect("/counter/" + strconv.Itoa(c.N))
}

// changed answers a press on a page from before rigger or lift were changed. Where
// it had arrived before that, it was done then.
func (s *Server) changed(v *visit, t *turn, c *card, key string) error {
	switch first, known, err := s.Counter.Before(v.r.Context(), key); {
	case err != nil:
		return err
	case known && first.May:
		c.Done = handedOver
		s.notice(v, "This had arrived before rigger or lift were changed, and it was handed over then, once.")
		return s.seeAgain(v, t, c)
	}
	s.notice(v, "Rigger or lift were changed on another page, and nothing was handed over. Look again.")
	return s.toCard(v, t, c)
}

// faults are what is offered at the counter as a reason to hold a sling; what
// they are called is common practice, no source.
func faults() []Option {
	return []Option{
		{Value: "bent or twisted", Label: "Bent or twisted", Sub: "link, hook or ring"},
		{Value: "cut, nick or crack", Label: "Cut, nick or crack"},
		{Value: "stretched or stiff", Label: "Stretched or stiff"},
		{Value: "hook or latch", Label: "Hook or latch", Sub: "open, worn, missing"},
		{Value: "heat or weld spatter", Label: "Heat or weld spatter"},
		{Value: "plate cannot be read", Label: "Plate cannot be read", Sub: "or is missing"},
	}
}

// chosen gives which of several answers were chosen, and marks them.
func (v *visit) chosen(name string, options []Option) (values []string, marked []Option) {
	for i, o := range options {
		if slices.Contains(v.r.PostForm[name], o.Value) {
			values, options[i].On = append(values, o.Value), true
		}
	}
	return values, options
}

// takeBack takes a sling in. Anything wrong or in doubt holds it.
func (s *Server) takeBack(v *visit) error {
	t, c, key, err := s.onCard(v)
	if err != nil {
		return err
	}
	si, err := s.see(v, t, c)
	if err != nil {
		return err
	}
	found, missing, err := s.lookedAt(v, t, c, si)
	if missing || err != nil {
		return err
	}
	o, err := s.Counter.Return(v.r.Context(), v.by(c.Way, key), t.reading(v, c), found)
	if err != nil {
		return err
	}
	if !o.May {
		s.tellRefused(v, o.Codes)
		return s.toCard(v, t, c)
	}
	if err := s.noteRead(v, o.Sling, t.reading(v, c), key); err != nil {
		return fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
	}
	t.tookBack(v, c)
	return s.seeAgain(v, t, c)
}

// lookedAt reads the return check of a card's sling. Where something is missing it has
// answered with the page that asks again.
func (s *Server) lookedAt(v *visit, t *turn, c *card, si sight) (counter.Finding, bool, error) {
	names, err := s.names(v)
	if err != nil {
		return counter.Finding{}, false, err
	}
	check := s.returnCheck(v, si.sling, askedOf(si, v.wordsOf(names)))
	check.Later = si.later()
	found, missing, err := s.readCheck(v, &check, si.known && si.sling.Details.Sling.State == gate.StateOut)
	if err != nil || !missing {
		return found, false, err
	}
	p := &CounterPage{}
	p.TakeBack.ReturnCheck = check
	p.TakeBack.Here.Open = v.raw("typed") != ""
	p.TakeBack.Here.Plate.Value = v.raw("typed")
	return found, true, s.renderCounter(v, http.StatusUnprocessableEntity, t, c, p)
}

// later tells whether somebody can be asked at the next badge scan.
func (si sight) later() bool { return !si.sling.Loan.Rigger.IsZero() }

// hold puts a sling on hold, with a reason.
func (s *Server) hold(v *visit) error {
	t, c, key, err := s.onCard(v)
	if err != nil {
		return err
	}
	heads, err := parseHeads(v.raw("heads"))
	if err != nil {
		return err
	}
	reason, complaint := v.text("reason", maxText)
	seen, options := v.chosen("what", faults())
	if complaint == "" && reason == "" && len(seen) == 0 {
		complaint = "Choose what is wrong, or write it: the inspector starts from it."
	}
	lies, apart := v.line("lies", maxPlace)
	if complaint != "" || apart != "" {
		p := &CounterPage{Hold: holdAsks(options, reason, complaint)}
		p.Hold.Open, p.Hold.Lies = true, liesAsks(lies, apart)
		return s.renderCounter(v, http.StatusUnprocessableEntity, t, c, p)
	}
	if reason != "" {
		seen = append(seen, reason)
	}
	reason = strings.Join(seen, ", ")
	id, err := event.ParseSlingID(c.Sling)
	if err != nil {
		return err
	}
	o, err := s.Counter.HoldAt(v.r.Context(), v.by(c.Way, key), counter.Seen{Sling: id, Heads: heads}, reason, lies)
	if err != nil {
		return err
	}
	if !o.May {
		s.tellRefused(v, o.Codes)
		return s.toCard(v, t, c)
	}
	c.Done = putOnHold
	return s.seeAgain(v, t, c)
}

// answer keeps what only some slings are asked, and asks the gate.
func (s *Server) answer(v *visit) error {
	t, c, key, err := s.onCard(v)
	if err != nil {
		return err
	}
	complaint := ""
	switch singles, shortened, seat := v.raw("singles"), v.raw("shortened"), v.raw("seat"); {
	case singles == "yes" || singles == "no":
		if p := t.of(c); p != nil && p.Shift == "" && p.Plan == "" && p.Lift["together"] == "" { // what was said when it was stated stands
			p.Lift["together"] = map[string]string{"yes": "one-hook", "no": "one"}[singles]
		}
	case shortened == "no" || shortened == "cradled" || shortened == "plain":
		c.Shortened = shortened
	case seat == "yes" || seat == "no":
		c.Seat = seat
	case v.raw("aside") == "no":
		t.Cards = slices.DeleteFunc(t.Cards, func(other card) bool { return other.N == c.N })
		s.notice(v, "It stays for whom it is set aside.")
		return s.toCard(v, t, nil)
	case v.raw("aside") != "":
		c.Aside = v.raw("aside")
	case v.r.PostForm.Has("carries"):
		if c.Carries, complaint = v.line("carries", 12); complaint == "" {
			_, complaint = readLoad(c.Carries, quantity.Pound) // whole, in whichever unit
		}
	case v.r.PostForm.Has("typed"):
		c.Typed, complaint = v.line("typed", 16)
	case v.raw("again") != "":
		c.Shortened, c.Carries, c.Seat, c.Aside = "", "", "", ""
	default:
		return s.toCard(v, t, c)
	}
	if complaint != "" {
		c.Carries, c.Typed = "", ""
		s.notice(v, complaint)
		return s.toCard(v, t, c)
	}
	if v.r.PostForm.Has("singles") { // said of all slings of this lift
		for i := range t.Cards {
			if other := &t.Cards[i]; other.N != c.N && other.waits() && other.For == c.For && other.Edge != StaysHere {
				if err := s.ask(v, t, other, key+"."+strconv.Itoa(other.N)); err != nil {
					return err
				}
			}
		}
	}
	if err := s.ask(v, t, c, key); err != nil {
		return err
	}
	return s.toCard(v, t, c)
}

// tellRefused says on the next page why the counter did not do it.
func (s *Server) tellRefused(v *visit, codes []gate.Reason) {
	text := v.wordsOf(nil).says(gate.NotDecided, gate.Answer{})
	if len(codes) > 0 {
		text = v.wordsOf(nil).says(codes[0], gate.Answer{})
	}
	s.notice(v, text.Sentence+" "+text.Next)
}

// seeAgain hangs a card as it stands after an act, and leads to it. The act was
// recorded, so an error must not be told as one of the act.
func (s *Server) seeAgain(v *visit, t *turn, c *card) error {
	si, err := s.see(v, t, c)
	if err != nil {
		return fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
	}
	c.hang(si, v.wordsOf(nil))
	return s.toCard(v, t, c)
}

// nextRigger clears the counter, and asks who comes next where somebody has just
// taken slings.
func (s *Server) nextRigger(v *visit) error {
	t := s.turn(v)
	asks := v.may(actIssue) && t.Rigger != ""
	if left := len(t.lines()); left > 0 {
		s.notice(v, plural(left, "sling")+" for the one before: not handed over. They stay here.")
	}
	if err := s.keepTurn(v, t.afresh()); err != nil {
		return err
	}
	if asks {
		return v.redirect("/counter/rigger")
	}
	return v.redirect("/counter")
}
