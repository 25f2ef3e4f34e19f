package web

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

// loanSeen is how the cards of the loan stand while a page is made.
type loanSeen struct {
	rigger state.Person
	sights map[int]sight // by number of the card
}

// hand makes the one button for all slings that may go, and says what is missing.
func (p *CounterPage) hand(v *visit, t *turn, c *card, l loanSeen) {
	if !v.may(actIssue) || l.rigger.ID.IsZero() {
		return
	}
	var cards []*card
	var sights []sight
	for _, line := range t.lines() {
		if si := l.sights[line.N]; si.stage == mayGo {
			cards, sights = append(cards, line), append(sights, si)
		}
	}
	cards, sights = l.whole(t, cards, sights)
	if p.Plated.Key != "" && len(cards) > 0 {
		p.Plated.Action, p.Plated.Label, p.Plated.Sub = "/counter/answer", "Put it on the loan", "then hand all over together"
	}
	if len(cards) == 0 {
		return
	}
	h := HandOver{Key: newKey(), Seen: seenOf(sights), Label: fmt.Sprintf("Hand over %d slings to %s", len(cards), l.rigger.Name), Sub: backWords(sights)}
	h.Sub += stayWords(t)
	numbers := make([]string, len(cards))
	for i, line := range cards {
		numbers[i] = strconv.Itoa(line.N)
	}
	h.Lines, h.Card = strings.Join(numbers, " "), cards[len(cards)-1].N
	if len(cards) == 1 {
		h.Label = "Hand over " + sights[0].sling.Details.Ident + " to " + l.rigger.Name
		if c != nil && c.N == cards[0].N {
			h.Label = "Hand it over to " + l.rigger.Name
		}
	}
	h.First = c == nil || l.sights[c.N].stage == mayGo || !slices.ContainsFunc(p.Steps, func(a Action) bool { return a.First }) && p.Plated.Key == "" && p.Asks.Key == ""
	p.HandOver = h
}

// whole leaves out the slings of a shared lift while others of it are missing.
func (l loanSeen) whole(t *turn, cards []*card, sights []sight) (ready []*card, seen []sight) {
	for i, c := range cards {
		if _, short := l.short(t, c); !short {
			ready, seen = append(ready, c), append(seen, sights[i])
		}
	}
	return ready, seen
}

// backWords say when the slings are needed back.
func backWords(sights []sight) string {
	first, last := sights[0].ask.Lift.ReturnBy, sights[0].ask.Lift.ReturnBy
	for _, si := range sights[1:] {
		day := si.ask.Lift.ReturnBy
		if day.Before(first) {
			first = day
		}
		if day.After(last) {
			last = day
		}
	}
	if first != last {
		return "needed back from " + Day(first) + " to " + Day(last)
	}
	return "needed back by " + Day(first)
}

// stayWords name what lies on the counter and does not go with the others.
func stayWords(t *turn) string {
	var stay []string
	for i := range t.Cards {
		if c := &t.Cards[i]; c.Sling != "" && c.Edge == StaysHere && c.waits() {
			stay = append(stay, c.Title)
		}
	}
	switch len(stay) {
	case 0:
		return ""
	case 1:
		return "; " + stay[0] + " stays here"
	}
	return fmt.Sprintf("; %d slings stay here", len(stay))
}

// seenOf marks what a page showed, so that a button pressed on an old page does not
// do something else.
func seenOf(sights []sight) string {
	h := sha256.New()
	for _, si := range sights {
		q := gate.Question{Lift: &si.ask.Lift}
		if si.ask.Shift {
			q.Lift = nil
		}
		line, err := q.MarshalJSON()
		if err != nil {
			return "" // never equal to a mark that was made
		}
		fmt.Fprintf(h, "%s\x00%s\x00%s\x00%s\x00%+v\x00%s\x00", si.ask.Rigger, si.sling.ID, line, si.ask.Lift.ReturnBy, si.ask.Ends, si.ask.Aside)
	}
	return hex.EncodeToString(h.Sum(nil)[:12])
}

// pressed finds the cards that the button named, as they stand now: the oldest first.
func (s *Server) pressed(v *visit, t *turn) (cards []*card, sights []sight, err error) {
	numbers := strings.Fields(v.raw("lines"))
	if len(numbers) == 0 {
		numbers = []string{v.raw("card")}
	}
	for _, text := range numbers {
		n, err := strconv.Atoi(text)
		c := t.card(n)
		if err != nil || c == nil || c.Sling == "" || slices.Contains(cards, c) {
			return nil, nil, errCleared
		}
		cards = append(cards, c)
	}
	slices.SortFunc(cards, func(a, b *card) int { return cmp.Compare(a.N, b.N) })
	for _, c := range cards {
		id, err := event.ParseSlingID(c.Sling)
		if err != nil {
			return nil, nil, err
		}
		var si sight
		if si.sling, err = s.Store.Sling(v.r.Context(), id); err != nil {
			return nil, nil, err
		}
		missing, err := s.askOf(v, t, c, &si)
		if err != nil {
			return nil, nil, err
		}
		if si.stage = missing; missing != mayGo {
			return cards, nil, nil
		}
		sights = append(sights, si)
	}
	return cards, sights, nil
}

var errCleared = errors.New("web: a card that does not lie on the counter any more")

// issue hands over all slings that the button named. The counter decides again, in
// the transaction that records it.
func (s *Server) issue(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	t := s.turn(v)
	cards, sights, err := s.pressed(v, t)
	switch {
	case errors.Is(err, errCleared):
		return s.cleared(v, key)
	case err != nil:
		return err
	}
	newest := cards[len(cards)-1]
	typed, complaint := v.line("typed", 16)
	if complaint != "" {
		s.notice(v, complaint)
		return s.toCard(v, t, newest)
	}
	if len(sights) == 0 || v.raw("seen") != seenOf(sights) {
		return s.changed(v, t, newest, key)
	}
	if len(cards) == 1 && typed != "" {
		newest.Typed, sights[0].ask.Reading.Typed = typed, typed
	}
	signed, asked, err := s.countersigned(v, t, newest, sights)
	if asked || err != nil {
		return err
	}
	ask := loanOf(cards, sights, key)
	ask.Countersign = signed
	out, err := s.Counter.IssueLoan(v.r.Context(), v.by(newest.Way, key), ask)
	if err != nil {
		return cannotAsk(err)
	}
	return s.handed(v, t, cards, out)
}

// loanOf puts together what the counter is asked about the cards. The loan is named
// after the key of the form, so that asking again is about the same loan.
func loanOf(cards []*card, sights []sight, key string) counter.LoanAsk {
	sum := sha256.Sum256([]byte("loan\x00" + key))
	ask := counter.LoanAsk{Loan: event.LoanID(sum[:16]), Rigger: sights[0].ask.Rigger}
	lifts := map[int]int{}
	for i, c := range cards {
		si := sights[i]
		line := counter.LoanLine{Reading: si.ask.Reading, Part: c.part(si.stated.Unit), Seat: c.seat(), Aside: si.ask.Aside}
		switch {
		case si.stated.Shift:
			ask.ShiftBack = si.stated.Lift.ReturnBy
		case lifts[c.For] == 0:
			ask.Lifts, ask.For = append(ask.Lifts, si.stated.StatedLift), append(ask.For, si.stated.Plan)
			lifts[c.For] = len(ask.Lifts)
		}
		if !si.stated.Shift {
			line.Lift = lifts[c.For]
		}
		ask.Lines = append(ask.Lines, line)
	}
	return ask
}

// handed keeps what became of each card, and leads to the newest that stays, or to
// the newest of all.
func (s *Server) handed(v *visit, t *turn, cards []*card, out counter.LoanOutcome) error {
	w := v.wordsOf(nil)
	show := cards[len(cards)-1]
	var stays []string
	for i, c := range cards {
		o := out.Lines[i]
		switch {
		case o.May:
			c.Done, c.Loan = handedOver, out.Loan.String()
			continue
		case o.Known && o.Sling.Details.Sling.State == gate.StateOut:
			c.Done = tooLate
		case o.AskPlate:
			c.Typed = ""
		}
		show = c
		if len(o.Codes) > 0 && len(cards) > 1 {
			stays = append(stays, c.Title+" stays. "+w.says(o.Codes[0], o.Answer).Sentence)
		}
	}
	for _, c := range cards {
		si, err := s.see(v, t, c)
		if err != nil {
			return fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
		}
		c.hang(si, w)
	}
	if len(stays) > 0 {
		s.notice(v, fmt.Sprintf("%d of %d slings were handed over. %s", out.Went(), len(cards), strings.Join(stays, " ")))
	}
	return s.toCard(v, t, show)
}

// showGone says what was handed over, together with the sling that is shown.
func (p *CounterPage) showGone(t *turn, c *card, si sight, w words) {
	loan := si.sling.Loan
	p.Says = Says{About: si.sling.Details.Ident, Words: "Handed over", Sentence: w.name(loan.Rigger) + " has it since " + w.clock(loan.Since) + "."}
	var idents []string
	for i := len(t.Cards) - 1; i >= 0; i-- {
		if other := &t.Cards[i]; other.Done == handedOver && other.Loan != "" && other.Loan == c.Loan {
			idents = append(idents, other.Title)
		}
	}
	if len(idents) > 1 {
		p.Says.About = fmt.Sprintf("%d slings", len(idents))
		p.Says.Sentence = w.name(loan.Rigger) + " has them since " + w.clock(loan.Since) + ": " + strings.Join(idents, ", ") + "."
	}
	if back := loan.ReturnBy; !back.IsZero() {
		it := " It is"
		if len(idents) > 1 {
			it = " This one is"
		}
		p.Says.Sentence += it + " needed back by " + back.Long() + "."
	}
	p.Must, p.Done = "Scan the next one, or let the next rigger come.", true
	if c.Loan != "" {
		p.Steps = append(p.Steps, Action{Label: "The slip", Sub: "what each may carry, to show or to print", Path: "/loan/" + c.Loan})
	}
}

// countersigned gives who signed for a learner, after the PIN was checked; zero
// where nobody has to. asked says that the page that asks for it was answered.
func (s *Server) countersigned(v *visit, t *turn, c *card, sights []sight) (by event.PersonID, asked bool, err error) {
	if !v.who.Terms.Learner {
		return event.PersonID{}, false, nil
	}
	text := v.raw("sign-who")
	if text == "" {
		return by, true, s.renderSign(v, http.StatusOK, t, c, sights, "", "")
	}
	by, err = event.ParsePersonID(text)
	if err != nil {
		return by, true, s.renderSign(v, http.StatusUnprocessableEntity, t, c, sights, "", "Choose who signs.")
	}
	arrived, err := s.arrived(v)
	if err != nil || arrived {
		return by, false, err // it was checked then
	}
	other, err := s.Store.Person(v.r.Context(), by)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return by, true, err
	}
	if !maySign(v, other, sights[0].ask.Rigger) {
		return by, true, s.renderSign(v, http.StatusUnprocessableEntity, t, c, sights, "", "Choose who signs: another attendant, and no learner.")
	}
	standing, err := s.Desk.Standing(v.r.Context(), by.String())
	if err != nil {
		return by, true, err
	}
	if standing.OneTime { // the keeper who gave it knows it as well
		return by, true, s.renderSign(v, http.StatusUnprocessableEntity, t, c, sights, text, other.Name+" has a one-time PIN: sign in once and choose another first.")
	}
	if err := s.Desk.Verify(v.r.Context(), by.String(), v.raw("sign-pin")); err != nil {
		problem, status := signInProblem(err)
		if problem == "" {
			return by, true, err
		}
		return by, true, s.renderSign(v, status, t, c, sights, text, problem)
	}
	return by, false, nil
}

// maySign tells whether a person may sign for the learner who hands over.
func maySign(v *visit, p state.Person, rigger event.PersonID) bool {
	return counter.MayCountersign(p, v.today) && p.ID != v.who.ID && p.ID != rigger
}

// renderSign asks another attendant to sign with their own PIN.
func (s *Server) renderSign(v *visit, status int, t *turn, c *card, sights []sight, chosen, problem string) error {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	sign := Countersign{Error: problem, Typed: v.raw("typed"),
		HandOver: HandOver{Key: newKey(), Card: c.N, Lines: v.raw("lines"), Seen: v.raw("seen"), Label: "I have looked, and sign for it", Sub: backWords(sights)},
		Who:      Choice{Name: "sign-who", Legend: "Who signs for " + v.who.Name + "?", Hint: "Another attendant, who has looked at slings, lift and rigger"},
		PIN:      Field{Name: "sign-pin", Label: "Their own PIN", Type: "password", Mode: "numeric", Most: desk.MaxDigits, Needed: true}}
	for _, p := range people {
		if !maySign(v, p, sights[0].ask.Rigger) {
			continue
		}
		standing, err := s.Desk.Standing(v.r.Context(), p.ID.String())
		if err != nil {
			return err
		}
		if standing.HasPIN && !standing.OneTime { // nobody else could sign
			sign.Who.Options = append(sign.Who.Options, Option{Value: p.ID.String(), Label: p.Name, On: p.ID.String() == chosen})
		}
	}
	if len(sign.Who.Options) == 0 && problem == "" {
		sign.Error = "Nobody with a PIN is here who may sign for a learner. The keeper adds attendants and gives PINs on the people page."
	}
	return s.renderCounter(v, status, t, c, &CounterPage{Sign: sign})
}

// offLoan takes a sling off the counter, before it was handed over.
func (s *Server) offLoan(v *visit) error {
	t, c, _, err := s.onCard(v)
	if err != nil {
		return err
	}
	if !c.waits() {
		return s.toCard(v, t, c)
	}
	s.notice(v, c.Title+" is off the loan. Hang it back where it belongs.")
	n := c.N
	t.Cards = slices.DeleteFunc(t.Cards, func(c card) bool { return c.N == n })
	return s.toCard(v, t, t.newest())
}

// scanFor says for which of the stated lifts the next sling is.
func (s *Server) scanFor(v *visit) error {
	if _, err := v.key(); err != nil {
		return err
	}
	t := s.turn(v)
	if n, err := strconv.Atoi(v.raw("for")); err == nil && t.purpose(n) != nil {
		t.Now = n
	}
	if err := s.keepTurn(v, t); err != nil {
		return err
	}
	return v.redirect("/counter")
}
