package web

import (
	"net/http"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/rating"
)

// CounterPage is the one screen for issue and return: whatever is scanned
// decides what it asks.
type CounterPage struct {
	Base
	Rigger   string // who takes slings; empty: nobody was chosen
	Shown    bool   // a card is shown; else the page waits for a scan
	Plate    Plate  // the verdict
	Says     Says   // in place of a plate, where there is no verdict
	Done     bool   // nothing more to do with this sling: the next one may come
	Must     string // what to do now
	Steps    []Action
	Worn     string // that the sling's tag is to be replaced
	WornPath string // where it is
	Walk     Walk   // to one that would do instead

	WhatFor  WhatFor
	HandOver HandOver
	Plated   PlateForm
	Sign     Countersign
	Missing  []string // what is still to be scanned for shared lifts, of which no sling is shown
	Off      TakeOff
	TakeBack TakeBack
	Asks     Asks
	Hold     HoldForm
	Compare  CompareForm
	Owing    Owing // what the rigger has still to answer, and to bring back
	Heap     []Action

	Strip    Strip
	Story    string // address of the sling's own page
	Working  Working
	Rail     Rail
	Lift     LiftShown
	Scan     ScanBox
	Mistyped Field  // the short code that was typed and is none
	NextKey  string // of the form that ends the turn
}

// Says is a plate without a verdict.
type Says struct {
	About    string
	Words    string
	Sentence string
}

// HandOver is the one button for all slings that may go. Without a Key there is
// none.
type HandOver struct {
	Key   string
	Card  int
	Lines string // numbers of the cards
	Seen  string // rigger, lifts and slings that the page shows
	Label string
	Sub   string
	First bool // the black one
}

// PlateForm asks for the end of the identification on the plate. Without a Key it
// asks nothing.
type PlateForm struct {
	HandOver
	Action string // where it leads: the loan, or the handing over where this is all of it
	Plate  Field
}

// Countersign asks another attendant to sign for a learner. Without a Key it asks
// nothing.
type Countersign struct {
	HandOver
	Typed string
	Who   Choice
	PIN   Field
	Error string
}

// TakeOff takes a sling off the loan. Without a Key there is none.
type TakeOff struct {
	Key   string
	Card  int
	Again bool // something was answered about the sling, and can be answered again
}

// TakeBack is the check at return. Without a Key there is none.
type TakeBack struct {
	ReturnCheck
	Key  string
	Card int
	Fold bool   // someone else has it: for the case that it is here all the same
	Over string // address where somebody else takes it over out there; empty for not at all
	Here HereForm
}

// Asks is a question that some slings need answered first. Without a Key there is
// none.
type Asks struct {
	Key     string
	Card    int
	Legend  string
	Name    string
	Answers []Action
	Field   Field // in place of answers: to be filled in
}

// HoldForm puts a sling on hold. Without a Key there is none.
type HoldForm struct {
	Key    string
	Card   int
	Heads  string
	What   Choice
	Reason Field
	Lies   Field
	Open   bool
}

// LiftShown is the lift beside the verdict.
type LiftShown struct {
	Stated  bool
	Title   string
	Shift   bool
	Key     string   // of the form that says what the next sling is for
	Others  []Action // what else slings are drawn for
	Drawing Drawing
	Facts   []Fact
	Ask     bool // the reader may state one, and no button above says so
}

// ScanBox is what reads without a scanner: a short code by hand, and a picture.
type ScanBox struct {
	Key      string
	Code     Field
	ImageKey string
	Picture  string // what is said of the picture that is to be sent
	First    bool   // nothing is shown yet, so it is what the page is about
	Away     bool   // only for the scanner, on a page that is about something else
	Stay     bool   // a scan does not leave the page, since somebody fills it in
}

// maxCode is more than a short code has, so that a slip does not stop short.
const maxCode = 64

func scanBox(first bool) ScanBox {
	return ScanBox{Key: newKey(), ImageKey: newKey(), Picture: pictureSays, First: first, Code: Field{
		Name: "text", Label: "Short code", Hint: "The nine characters under the symbol", Most: maxCode,
	}}
}

const liftPath = "/counter/lift"

func (s *Server) counterPage(v *visit) error {
	t := s.turn(v)
	c := t.newest()
	if text := v.r.PathValue("card"); text != "" {
		n, err := strconv.Atoi(text)
		if c = t.card(n); err != nil || c == nil {
			return v.redirect("/counter")
		}
	}
	return s.renderCounter(v, http.StatusOK, t, c, &CounterPage{})
}

// renderCounter shows a card, or the empty counter for nil. p may carry a form
// that was sent and could not be done.
func (s *Server) renderCounter(v *visit, status int, t *turn, c *card, p *CounterPage) error {
	p.Title = "Counter"
	p.Scan = scanBox(c == nil)
	p.Scan.Code.Value, p.Scan.Code.Error = p.Mistyped.Value, p.Mistyped.Error
	p.NextKey = newKey()
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	p.Rigger = rigger.Name
	if p.Owing, err = s.owing(v, rigger); err != nil {
		return err
	}
	if c == nil && rigger.ID.IsZero() {
		if p.Heap, err = s.heapSteps(v); err != nil {
			return err
		}
		if v.may(actPaper) {
			p.Heap = append(p.Heap, Action{Label: "A sling nobody knows", Sub: "no tag of this crib", Path: straysPath})
		}
	}
	have := p.liftBeside(v, t, c)
	l := loanSeen{rigger: rigger, sights: map[int]sight{}}
	if c != nil {
		si, err := s.showCard(v, t, c, p)
		if err != nil {
			return err
		}
		l.sights[c.N] = si
	}
	if (c == nil || p.Says.Words == goingOut) && !have {
		if p.WhatFor, err = s.whatFor(v, t); err != nil {
			return err
		}
	}
	if c == nil || p.Says.Words == goingOut {
		p.Steps = steps(v, rigger.ID, have)
		if p.WhatFor.Same.Loan != "" && len(p.Steps) > 0 {
			p.Steps = slices.DeleteFunc(p.Steps, func(a Action) bool { return a.Path == liftPath }) // it stands beside the days
		}
		if len(p.WhatFor.Planned) > 0 && len(p.Steps) > 0 {
			p.Steps[0].First = false
		}
	}
	if err := s.seeRail(v, t, c, l); err != nil {
		return err
	}
	p.share(t, c, l, v.wordsOf(nil))
	if p.Sign.Key == "" {
		p.hand(v, t, c, l)
	}
	p.Rail = t.rail(p.Rigger, c, l)
	p.Lift.Ask = v.may(actIssue) && !slices.ContainsFunc(p.Steps, func(a Action) bool { return a.Path == liftPath })
	return s.render(v, status, "counter", p)
}

// steps are what is still to be said, the first of them black.
func steps(v *visit, rigger event.PersonID, lift bool) []Action {
	if !v.may(actIssue) {
		return nil
	}
	var list []Action
	if rigger.IsZero() {
		list = append(list, Action{Label: "Who takes slings?", Sub: "pick the rigger by name", Path: "/counter/rigger"})
	}
	if !lift {
		list = append(list, Action{Label: "State the lift", Sub: "load, legs, angle", Path: liftPath})
	}
	if len(list) > 0 {
		list[0].First = true
	}
	return list
}

// liftBeside shows what the card's sling is drawn for, or the next one, and what else
// was stated. It tells whether anything was, and holds.
func (p *CounterPage) liftBeside(v *visit, t *turn, c *card) bool {
	n := t.Now
	if c != nil && c.For != 0 && c.waits() {
		n = c.For
	}
	stated, have := v.stated(t.purpose(n))
	w := v.wordsOf(nil)
	p.Lift = LiftShown{Stated: have, Shift: stated.Shift}
	if have {
		p.Lift.Facts = stated.facts(w.lead)
		if !stated.Shift {
			p.Lift.Drawing = v.drawStated(stated)
		}
	}
	if len(t.For) < 2 {
		return have
	}
	p.Lift.Title = t.title(n)
	for i := range t.For {
		other, holds := v.stated(t.purpose(i + 1))
		if i+1 == t.Now || !holds {
			continue
		}
		if p.Lift.Key == "" {
			p.Lift.Key = newKey()
		}
		a := Action{Label: "Scan on for " + lowerFirst(t.title(i+1)), Name: "for", Value: strconv.Itoa(i + 1), Sub: "until " + Day(other.Lift.ReturnBy)}
		if !other.Shift {
			a.Sub = w.lead.Mass(other.Lift.Load) + ", " + rating.LegsWords(other.Lift.Legs)
		}
		p.Lift.Others = append(p.Lift.Others, a)
	}
	return have
}

// title calls a purpose by its number.
func (t *turn) title(n int) string {
	if p := t.purpose(n); p == nil || p.Shift != "" {
		return "Gear for a shift"
	}
	return "Lift " + strconv.Itoa(n)
}

// seeRail asks again about the cards that may go, so that the rail shows nobody a
// verdict that is older than the page.
func (s *Server) seeRail(v *visit, t *turn, current *card, l loanSeen) error {
	for i := range t.Cards {
		c := &t.Cards[i]
		if c == current || c.Edge != MayGo {
			continue
		}
		si, err := s.see(v, t, c)
		if err != nil {
			return err
		}
		c.hang(si, v.wordsOf(nil))
		l.sights[c.N] = si
	}
	return nil
}

// rail is what was handled in this turn, the newest first.
func (t *turn) rail(rigger string, current *card, l loanSeen) Rail {
	r := Rail{Title: "On the counter", Empty: "Nothing yet. Scan a sling: it hangs here."}
	if rigger != "" {
		r.Title = "On the counter for " + rigger
	}
	for _, f := range t.Fetching {
		r.Cards = append(r.Cards, f.card())
	}
	for i := range t.Cards {
		c := &t.Cards[i]
		edge, note := c.Edge, c.Note
		if s, short := l.short(t, c); short {
			edge, note = LookCloser, s.String()
		}
		if len(t.For) > 1 && c.waits() && c.Edge == MayGo {
			note += ", " + lowerFirst(t.title(c.For))
		}
		r.Cards = append(r.Cards, Card{Verdict: edge, Title: c.Title, Sub: c.Sub, Note: note,
			Path: "/counter/" + strconv.Itoa(c.N), Current: c == current})
	}
	return r
}
