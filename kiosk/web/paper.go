package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// PaperPage enters what went on while the program could not be asked, a row of the
// pad at a time, and what was simply taken.
type PaperPage struct {
	Base
	Wrong  string // what is wrong with the form as a whole
	What   Choice
	Sling  Field
	Rigger Field
	Names  []string // that the rigger's field offers
	Day    Field
	Clock  Field
	Pad    Field
	Row    Field
	Back   Field
	Said   Choice
	Note   Field
	Heads  string
	Sheets Field
	Strays string // how many slings are kept apart
}

const paperPath = "/paper"

func (s *Server) paperPage(v *visit) error {
	return s.renderPaper(v, http.StatusOK, paperForm{"day": v.today.String()}, complaints{}, "")
}

// paperForm is the form as it was typed.
type paperForm map[string]string

// paperFields are kept from what was sent.
var paperFields = []string{"what", "sling", "rigger", "day", "clock", "pad", "row", "back", "said", "note"}

func (s *Server) renderPaper(v *visit, status int, f paperForm, c complaints, wrong string) error {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	p := &PaperPage{Base: Base{Title: "On paper"}, Wrong: wrong, Strays: straysWords(len(v.crib.Strays))}
	for _, who := range people {
		if who.Roles.Has(event.Rigger) && !who.Erased {
			p.Names = append(p.Names, who.Name)
		}
	}
	field := func(name, label, hint string) Field {
		return Field{Name: name, Label: label, Hint: hint, Value: f[name], Error: c[name]}
	}
	p.What = Choice{Name: "what", Legend: "What happened?", Error: c["what"], Options: options(f["what"], [][3]string{
		{"out", "It went out", "written on the pad, or taken without asking"}, {"back", "It came back", "and is here now"}})}
	p.Sling = field("sling", "Which sling?", "Scan its tag, or type the identification on its plate")
	p.Sling.Most, p.Sling.Focus = 16, f["sling"] == ""
	p.Rigger = field("rigger", "Who has it, or had it?", "As written; empty where nobody knows")
	p.Rigger.Most, p.Rigger.List = maxName, "riggers"
	p.Day, p.Clock = field("day", "Day", "As written"), field("clock", "Time", "As written: 7:10")
	p.Day.Type, p.Clock.Most, p.Clock.Mode = "date", 5, "numeric"
	p.Pad, p.Row = field("pad", "Sheet", "Empty for none"), field("row", "Row", "1 to "+itoa(event.PadRows))
	p.Pad.Mode, p.Pad.Most, p.Row.Mode, p.Row.Most = "numeric", 6, "numeric", 2
	p.Back = field("back", "Needed back by", "Empty where nothing is written")
	p.Back.Type = "date"
	p.Said = Choice{Name: "said", Legend: "Did anything happen to it out there?", Hint: "For what came back. Anything but “nothing” holds it", Error: c["said"], Options: options(f["said"], [][3]string{
		{string(event.Nothing), "Nothing", ""}, {string(event.Something), "Something", "shock, overload, snag, heat, or it looks wrong"}, {string(event.NotKnown), "Nobody can say", ""}})}
	p.Note = field("note", "What else is written", "Load, lift, remarks")
	p.Note.Most = maxText
	p.Sheets = Field{Name: "sheets", Label: "How many sheets?", Mode: "numeric", Value: "2", Most: 2, Hint: "1 to " + itoa(counter.MaxSheets) + ", " + itoa(event.PadRows) + " rows each", Error: c["sheets"]}
	return s.render(v, status, "paper", p)
}

func straysWords(n int) string {
	switch n {
	case 0:
		return "none at the moment"
	case 1:
		return "one is kept apart"
	}
	return itoa(n) + " are kept apart"
}

// enterPaper takes a row of the pad, or reads a tag into the form.
func (s *Server) enterPaper(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	f := paperForm{}
	for _, name := range paperFields {
		f[name] = strings.TrimSpace(v.raw(name))
	}
	if text := v.raw("text"); text != "" {
		return s.readIntoPaper(v, f, text)
	}
	c := complaints{}
	e := s.readPaper(v, f, c)
	sling, err := s.slingOnPaper(v, f["sling"], c)
	if err != nil {
		return err
	}
	rigger, err := s.riggerOnPaper(v, f["rigger"], c)
	if err != nil {
		return err
	}
	if len(c) > 0 {
		return s.renderPaper(v, http.StatusUnprocessableEntity, f, c, "")
	}
	who, seen := v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: sling.Heads}
	var o counter.Outcome
	done := sling.Details.Ident + " is recorded as out."
	if e.back {
		o, err = s.Counter.Came(v.r.Context(), who, seen, e.said, e.note, e.late)
		done = sling.Details.Ident + " is recorded as back."
	} else {
		o, err = s.Counter.Take(v.r.Context(), who, seen, counter.Gone{Rigger: rigger, ReturnBy: e.by, Late: e.late, Note: e.note})
	}
	switch {
	case errors.Is(err, counter.ErrLate):
		c.add("clock", "This time is to come, more than "+itoa(counter.LateDays)+" days ago, missing, or of a sheet that was never printed.")
		return s.renderPaper(v, http.StatusUnprocessableEntity, f, c, "")
	case errors.Is(err, store.ErrKeyReused):
		c.add("row", "This row was entered before, with something else on it.")
		return s.renderPaper(v, http.StatusConflict, f, c, "")
	case err != nil:
		return registerError(err)
	case !o.May:
		return s.renderPaper(v, http.StatusConflict, f, c, v.why(o.Codes))
	}
	if held := o.Sling.Hold.Reason; held != "" && !e.back {
		done += " It was held and went out all the same: tell the inspector."
	}
	s.notice(v, done)
	next := paperForm{"day": f["day"], "pad": f["pad"]}
	if e.late.Row != 0 && e.late.Row < event.PadRows {
		next["row"] = itoa(e.late.Row + 1)
	}
	return s.renderPaper(v, http.StatusOK, next, complaints{}, "")
}

// why gives the sentences of a refusal.
func (v *visit) why(codes []gate.Reason) string {
	var all []string
	for _, code := range codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		all = append(all, text.Sentence, text.Next)
	}
	return strings.Join(all, " ")
}

// readIntoPaper puts the identification of a sling whose tag was scanned into the
// form; nothing is recorded. Of one that was not read the identification is typed.
func (s *Server) readIntoPaper(v *visit, f paperForm, text string) error {
	found, err := s.Counter.Find(v.r.Context(), counter.Reading{Text: text, Way: counter.Scanner})
	if err != nil {
		return err
	}
	c := complaints{}
	if !found.Known {
		c.add("sling", v.why(found.Codes))
		return s.renderPaper(v, http.StatusUnprocessableEntity, f, c, "")
	}
	if counter.Way(v.raw("way")) == counter.Resembles {
		c.add("sling", "The tag is too worn to be read. Type the identification that is on the plate.")
		return s.renderPaper(v, http.StatusUnprocessableEntity, f, c, "")
	}
	f["sling"] = found.Sling.Details.Ident
	if f["what"] == "" { // what is out comes back, and what is in has gone
		f["what"] = "out"
		if found.Sling.Details.Sling.State == gate.StateOut {
			f["what"] = "back"
		}
	}
	return s.renderPaper(v, http.StatusOK, f, c, "")
}

func (s *Server) slingOnPaper(v *visit, ident string, c complaints) (state.Sling, error) {
	if ident == "" {
		c.add("sling", "Scan the tag, or type the identification.")
		return state.Sling{}, nil
	}
	sling, err := s.Store.SlingByIdent(v.r.Context(), strings.ToUpper(ident))
	if errors.Is(err, store.ErrNotFound) {
		c.add("sling", "No sling of this crib has this identification. Read the plate again; what nobody knows is kept apart.")
		return state.Sling{}, nil
	}
	return sling, err
}

func (s *Server) riggerOnPaper(v *visit, name string, c complaints) (event.PersonID, error) {
	if name == "" {
		return event.PersonID{}, nil
	}
	p, err := s.Counter.Named(v.r.Context(), name)
	if errors.Is(err, store.ErrNotFound) || errors.Is(err, store.ErrDoubled) {
		c.add("rigger", "Nobody here has this name. Choose one from the list, or leave it empty and write the name below.")
		return event.PersonID{}, nil
	}
	return p.ID, err
}

// number reads a whole number that may be left out.
func (f paperForm) number(name string, most int, c complaints) int {
	if f[name] == "" {
		return 0
	}
	n, err := strconv.Atoi(f[name])
	if err != nil || n < 1 || n > most {
		c.add(name, "A number from 1 to "+itoa(most)+".")
		return 0
	}
	return n
}
