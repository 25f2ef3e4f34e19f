package web

import (
	"bytes"
	"net/http"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
	slip "cribgate/labeler/card"
	"cribgate/labeler/render"
	"cribgate/store"
)

// LoanPage is the slip of a loan: what each sling is, what it may carry as it is
// rigged, and by when it is needed back. It shows all that was handed over, and
// of each sling what has happened since (see SlipLine.since).
type LoanPage struct {
	Base
	Under string // when, and by whom
	Lines []SlipLine
	Paper string // address of the same as PDF
	Back  string // to the counter; empty for those who do not work there
}

// A SlipLine is one sling of a loan, in the crib's words.
type SlipLine struct {
	Ident    string
	Path     string
	MakeUp   string
	Recalled string // that it is to be brought back; empty while it is not
	Why      string // as somebody typed it
	May      string
	Lift     string
	Back     string
	Notes    []string
}

// loanOfPath reads the loan that the address names.
func (s *Server) loanOfPath(v *visit) ([]store.Record, error) {
	id, err := event.ParseLoanID(v.r.PathValue("loan"))
	if err != nil {
		return nil, errNoPage
	}
	records, err := s.Store.Loan(v.r.Context(), id)
	if err == nil && len(records) == 0 {
		return nil, errNoPage
	}
	return records, err
}

func (s *Server) loanPage(v *visit) error {
	p, err := s.slip(v)
	if err != nil {
		return err
	}
	if v.may(actCounter) {
		p.Back = "/counter"
	}
	return s.render(v, http.StatusOK, "loan", p)
}

// slip puts a loan into words.
func (s *Server) slip(v *visit) (*LoanPage, error) {
	records, err := s.loanOfPath(v)
	if err != nil {
		return nil, err
	}
	names, err := s.names(v)
	if err != nil {
		return nil, err
	}
	w := v.wordsOf(names)
	p := &LoanPage{Base: Base{Sheet: true}, Paper: v.r.URL.EscapedPath() + "/slip.pdf"}
	for i, r := range records {
		issued, ok := r.Body.(event.Issued)
		if !ok {
			continue
		}
		if i == 0 {
			p.Title = "Slip for " + w.name(issued.Rigger)
			p.Under = plural(len(records), "sling") + ", handed over " + w.clock(r.Envelope.UTC) + " by " + w.name(r.Envelope.By)
			if by := issued.Line.Countersign; !by.IsZero() {
				p.Under += ", countersigned by " + w.name(by)
			}
			p.Under += "."
		}
		line := slipLine(issued, w)
		sling, err := s.Store.Sling(v.r.Context(), r.Envelope.Subject.Sling())
		if err != nil {
			return nil, err
		}
		line.since(issued, sling, w)
		line.Path = "/rack/" + r.Envelope.Subject.Sling().String()
		p.Lines = append(p.Lines, line)
	}
	return p, nil
}

// slipLine puts one sling of a loan into words. The figures are those of the answer
// that was recorded; where the rules have changed since, only those that stand in it.
func slipLine(i event.Issued, w words) SlipLine {
	line := SlipLine{Back: "Needed back by " + Day(i.ReturnBy) + "."}
	q, err := gate.ParseQuestion([]byte(i.Verdict.Question))
	if err != nil {
		line.Notes = append(line.Notes, "What was asked cannot be read by this program. Look at the sling’s story.")
		return line
	}
	line.Ident, line.MakeUp = q.ID, w.say(w.makeUp(q.Sling.Plate))
	a, err := gate.Decide(q)
	now := err == nil && i.Verdict.Edition == gate.RulesEdition
	if q.Lift == nil {
		line.Lift = "Gear for a shift: no lift was stated. Straight, the load in the middle of the legs."
		if now {
			line.May = w.say("May carry " + capacities(a, w))
		}
		return line
	}
	stated := statedOf(i.Line, *q.Lift)
	if now {
		needs, may := w.held(a)
		line.May = "May carry " + unbroken(may) + " rigged like this. The lift needs " + unbroken(needs) + "."
		switch {
		case i.Line.Share == event.Beam:
			line.May = "May carry " + unbroken(may) + " rigged like this. Its part of the lift is " + unbroken(needs) + "."
		case q.Lift.Singles:
			line.May = upperFirst(rating.LegsWords(q.Lift.Legs)) + " like this one may carry " + unbroken(may) + " together, rigged like this. The lift needs " + unbroken(needs) + "."
		}
	} else {
		for _, f := range answeredFacts(i.Verdict.Answer, w) {
			line.May += f.Label + " " + f.Value + ". "
		}
	}
	line.Lift = liftLine(i.Line, *q.Lift, stated, w)
	line.Notes = liftNotes(i.Line, q, stated, w)
	return line
}

// capacities lists what a sling may carry without a stated lift.
func capacities(a gate.Answer, w words) string {
	list := make([]string, len(a.Capacity))
	for i, c := range a.Capacity {
		list[i] = unbroken(w.may("", c.Load)) + " " + capacityWords(c)
	}
	text := strings.Join(list, ", ") + "."
	if len(list) > 1 && !a.Capacity[0].Choked && a.Capacity[0].Basis != rating.Vertical {
		text += " Between two angles the smaller figure holds."
	}
	return text
}

// liftLine says in one line for which lift a sling went out.
func liftLine(line event.Line, l gate.Lift, s statedLift, w words) string {
	text := "Lift " + strconv.Itoa(line.Lift) + ": " + w.lead.Mass(l.Load)
	switch line.Share {
	case event.Beam:
		text += ", its part of " + w.lead.Mass(line.Whole) + " and a beam of " + w.lead.Mass(line.Beam) + " on " + plural(line.Slings, "sling")
	case event.OneHook:
		text += ", singles together on one hook"
	}
	if l.Margin > 0 {
		text += ", not weighed: the site adds " + strconv.Itoa(l.Margin) + " %"
	}
	text += "; " + w.say(l.Words())
	if s.Drawn {
		text += " or steeper"
	}
	if s.Crane != "" {
		text += "; on the hook of " + s.Crane
	}
	return text + "."
}

// statedOf is a lift as it was stated, by the line of a sling that went out for it.
func statedOf(line event.Line, l gate.Lift) statedLift {
	s := statedLift{StatedLift: event.StatedLift{Lift: l, Share: line.Share, Slings: line.Slings, Beam: line.Beam,
		Crane: line.Crane, Lower: line.Lower, Weighed: line.Weighed, Drawn: line.Drawn, Span: line.Span, Headroom: line.Headroom}}
	if s.Span > 0 {
		s.Lift.Angle = nil // it followed from the reach of the sling that went out
	}
	if line.Share == event.Beam {
		s.Lift.Load = line.Whole
	}
	return s
}

// edge says what a chain bears on.
func (w words) edge(r quantity.Length) string {
	if r == 0 {
		return "a sharp edge"
	}
	return "a radius of " + r.String()
}

// liftNotes say what is to be minded with just this sling.
func liftNotes(line event.Line, q gate.Question, s statedLift, w words) []string {
	l := *q.Lift
	var list []string
	if l.Legs > 1 && !l.Centred {
		list = append(list, w.say("The centre of gravity is not known to be in the middle: it counts for half."))
	}
	si := sight{stated: s, ask: counter.Ask{Lift: l}}
	si.sling.Details.Sling = q.Sling
	if apart, known := si.apart(w); known {
		list = append(list, apart.Label+" "+apart.Value+".")
	}
	switch l.Shortened {
	case gate.Cradled:
		list = append(list, "Legs shortened in a hook that supports the chain.")
	case gate.Plain:
		list = append(list, "Legs shortened in a plain hook.")
	}
	if l.Edge != nil {
		list = append(list, "The chain bears on "+w.edge(*l.Edge)+".")
	}
	if l.Heat != nil {
		list = append(list, "The chain reaches "+w.lead.Temperature(*l.Heat)+".")
	}
	if line.Seats {
		list = append(list, "Somebody looked: the upper link seats in the bowl of the hook.")
	}
	if q.Sling.Due.IsZero() {
		return list
	}
	return append(list, w.say("Thorough inspection due ")+Day(q.Sling.Due)+".")
}

// slipFile is the same on paper.
func (s *Server) slipFile(v *visit) error {
	p, err := s.slip(v)
	if err != nil {
		return err
	}
	loan := slip.Loan{Words: v.list(), Title: p.Title, Under: v.crib.Founded.Name + ". " + p.Under, Foot: "Printed " + Day(v.today) + ". The register stands at " + v.head.String() + ".", Head: v.head}
	for _, line := range p.Lines {
		loan.Lines = append(loan.Lines, slip.LoanLine{Ident: line.Ident, MakeUp: line.MakeUp, May: line.onPaper(), Lift: line.Lift, Back: line.Back, Notes: strings.Join(line.Notes, " ")})
	}
	return s.paper(v, "slip.pdf", loan)
}

// paper answers with sheets of paper as PDF.
func (s *Server) paper(v *visit, name string, sheets slip.Sheets) error {
	var out bytes.Buffer
	if err := drawSheets(&out, sheets, slipPaper(v.crib.Founded.Units)); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "application/pdf")
	v.w.Header().Set("Content-Disposition", `inline; filename="`+name+`"`)
	if _, err := out.WriteTo(v.w); err != nil {
		s.Log.InfoContext(v.r.Context(), "answer not delivered", "id", v.id, "error", err)
	}
	return nil
}

// drawSheets writes sheets of paper as PDF.
func drawSheets(out *bytes.Buffer, sheets slip.Sheets, name string) error {
	for _, paper := range slip.Papers() {
		if paper.Name != name {
			continue
		}
		pages, err := sheets.Draw(paper)
		if err != nil {
			return err
		}
		doc := render.NewPDF(out, render.Options{})
		for _, page := range pages {
			if err := doc.Add(page.Page()); err != nil {
				return err
			}
		}
		return doc.Close()
	}
	return slip.ErrNoPaper
}
