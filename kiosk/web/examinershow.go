package web

import (
	"net/http"
	"slices"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// ExaminerPage is the visit of an examiner from outside: what is to be presented,
// and what is done.
type ExaminerPage struct {
	Base
	On      bool
	Visit   string // its id, for the forms
	Said    string
	Done    string
	Of      string
	Danger  []VisitName // examined, and dangerous now
	Waiting []VisitName // to be presented
	More    string
	Ready   []VisitName // the rest of those that were examined, first what has a defect
	Card    CountCard   // a scan that led nowhere
	Plate   PlateAsk
	Code    Field
	Begin   []Field
	Where   Choice
	Report  Field
	Pages   []Field
	Note    Field
	Open    bool // the form of the end has something wrong
	Last    bool // there is a sheet
}

// toExaminer leads to the visit of an examiner from outside, or to how one is begun;
// nowhere for whoever may not.
func (v *visit) toExaminer() Action {
	switch {
	case !v.may(actExaminer):
		return Action{}
	case !v.crib.Visit.Visit.IsZero():
		return Action{Label: "The examiner’s visit goes on", Path: examinerPath}
	}
	return Action{Label: "An examiner from outside is here", Path: examinerPath}
}

// A VisitName is a sling of a visit and how it stands there, by shape and in words.
type VisitName struct {
	CountName
	Verdict Verdict
	Words   string
}

// examinedName is a sling that was examined; urgent where it is dangerous now.
func examinedName(one counter.Presented) (n VisitName, urgent bool) {
	n = VisitName{CountName{Ident: one.Sling.Details.Ident, Path: slingExaminePath(one.Sling), Sub: saidWordsOf(one.Examined)}, MayGo, "Passed"}
	n.Sub = upperFirst(strings.TrimPrefix(n.Sub, "passed, ")) // the word stands above it
	switch {
	case one.Dangerous():
		n.Verdict, n.Words, n.Sub = StaysHere, "Dangerous now", upperFirst(strings.TrimPrefix(saidWordsOf(one.Examined), "dangerous now: "))
	case len(one.Defects) > 0:
		n.Verdict, n.Words = LookCloser, "Has a defect"
	}
	return n, one.Dangerous()
}

func (s *Server) renderExaminer(v *visit, status int, c complaints, card CountCard, ask PlateAsk) error {
	if err := s.standsNow(v); err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &ExaminerPage{Base: Base{Title: "Examiner from outside"}, Card: card, Plate: ask}
	p.Code = Field{Name: "text", Label: "Short code, or the identification on the plate", Hint: "For a tag that cannot be read", Most: maxPlace}
	if !v.crib.Visit.Visit.IsZero() {
		if err := s.visitNow(v, p, c, w); err != nil {
			return err
		}
		return s.render(v, status, "examiner", p)
	}
	last, err := s.lastVisit(v)
	if err != nil {
		return err
	}
	p.Last = !last.IsZero()
	p.Begin = []Field{
		{Name: "examiner", Label: "Who examines?", Most: maxName, Needed: true},
		{Name: "firm", Label: "For whom does the examiner work?", Most: maxName, Needed: true},
		{Name: "qualification", Label: "What makes the examiner fit to examine?", Hint: "As it is on the card or certificate", Most: maxName, Needed: true},
		{Name: "due-before", Label: "Present what is due before", Hint: "Empty: whatever is in use", Type: "date"},
	}
	for i := range p.Begin {
		p.Begin[i].Value, p.Begin[i].Error = v.raw(p.Begin[i].Name), c[p.Begin[i].Name]
	}
	if v.r.Method == http.MethodGet {
		p.Begin[3].Value = v.today.AddMonths(1).String()
	}
	p.Where = Choice{Name: "places", Legend: "Only at these places", Hint: "None chosen: wherever they hang", Many: true}
	places, err := s.countPlaces(v)
	if err != nil {
		return err
	}
	for _, place := range places {
		label, at, err := s.labelOf(v, place)
		if err != nil {
			return err
		}
		if at != "" {
			p.Where.Options = append(p.Where.Options, Option{Value: at, Label: label, Sub: plural(place.Expected, "sling"), On: slices.Contains(v.r.PostForm["places"], at)})
		}
	}
	return s.render(v, status, "examiner", p)
}

// visitNow shows how far the visit that goes on has come.
func (s *Server) visitNow(v *visit, p *ExaminerPage, c complaints, w words) error {
	now, err := counter.Present(v.r.Context(), s.Store.Reader, v.crib.Visit.Visit)
	if err != nil {
		return err
	}
	p.On, p.Visit, p.Said = true, now.Begun.Visit.String(), visitSays(now, w)
	done := len(now.Passed) + len(now.Defect)
	p.Done, p.Of = itoa(done), itoa(done+len(now.Waiting))
	for i, sling := range now.Waiting {
		if i == listed {
			p.More = "and " + plural(len(now.Waiting)-listed, "more sling")
			break
		}
		name := CountName{Ident: sling.Details.Ident, Path: slingExaminePath(sling), Sub: presentWords(standing(sling, v.crib, v.today, w), w)}
		p.Waiting = append(p.Waiting, VisitName{CountName: name, Words: "Not presented yet"})
	}
	for _, one := range slices.Concat(now.Defect, now.Passed) {
		if name, urgent := examinedName(one); urgent {
			p.Danger = append(p.Danger, name)
		} else {
			p.Ready = append(p.Ready, name)
		}
	}
	p.Report = Field{Name: "report", Label: "Number of the examiner’s report", Value: v.raw("report"), Error: c["report"], Most: maxName, Needed: true}
	for i := range reportPages {
		name := "page-" + itoa(i+1)
		f := Field{Name: name, Label: "Page " + itoa(i+1) + " of the report", Type: "file", Accept: "image/jpeg,image/png", Error: c[name]}
		if i == 0 {
			f.Hint = "A picture: JPEG or PNG, no PDF; all pages together at most " + itoa(maxReport>>20) + " MB. It is kept smaller, and without what the telephone writes into it."
		}
		p.Pages = append(p.Pages, f)
	}
	p.Note = Field{Name: "end-note", Label: "Note", Value: v.raw("end-note"), Error: c["end-note"], Most: maxText}
	p.Open = len(c) > 0
	return nil
}

// presentWords says where a sling is that is to be presented, and when it is due.
func presentWords(st stand, w words) string {
	where, _ := st.stateWords(w)
	if st.sling.Details.Sling.State == gate.StateIn {
		where = placeWords(st.sling.Details.Place)
	}
	if r := st.sling.Repair; r != (state.Repair{}) {
		where = "away for repair at " + r.To
	}
	when, _ := st.dueWords()
	return where + " · " + when
}

func visitSays(p counter.Presentation, w words) string {
	text := p.Begun.Examiner + ", " + p.Begun.Firm + " (" + p.Begun.Qualification + "). " + countSays(p.Begun.Places, w)
	if !p.Begun.DueBefore.IsZero() {
		text += ", what is due before " + p.Begun.DueBefore.Long()
	}
	return text + ". Begun " + w.clock(p.Since) + " by " + w.name(p.By) + "."
}

// saidWordsOf puts what an examiner said into a line.
func saidWordsOf(e event.Examined) string {
	if len(e.Defects) == 0 {
		text := "passed, next due " + e.Due.Long()
		if e.RatingTag != gate.TagLegible {
			text += "; rating tag " + ratingTagWords(e.RatingTag)
		}
		return text
	}
	text := ""
	for i, d := range e.Defects {
		if i > 0 {
			text += "; "
		}
		text += defectWords(d)
	}
	return text
}

func defectWords(d event.Defect) string {
	if d.By.IsZero() {
		return "dangerous now: " + d.What
	}
	return d.What + ", to be remedied by " + d.By.Long()
}

// ExaminePage asks what the examiner says of one sling.
type ExaminePage struct {
	Base
	Ident    string
	Sub      string
	Strip    Strip
	Visit    string
	Act      string
	Heads    string
	Earlier  string // what was written down before, in words; empty: nothing
	Passed   string // small print of the button
	Day      string // on which the button says it passed
	Date     Field
	Due      Field
	Tag      Choice
	Defects  []DefectFields
	Note     Field
	More     bool // further rows have something in them
	Code     Field
	Standing string // why it may not go out whatever is said; empty: nothing
}

// A DefectFields is room for one defect.
type DefectFields struct {
	What Field
	When Choice
	By   Field
}

func (s *Server) renderExamine(v *visit, status int, sling state.Sling, c complaints) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	now, err := counter.Present(v.r.Context(), s.Store.Reader, v.crib.Visit.Visit)
	if err != nil {
		return visitError(err)
	}
	field := func(name, label, hint, kind string) Field {
		return Field{Name: name, Label: label, Hint: hint, Type: kind, Value: v.raw(name), Error: c[name], Most: maxText}
	}
	st := standing(sling, v.crib, v.today, w)
	p := &ExaminePage{Base: Base{Title: sling.Details.Ident}, Ident: sling.Details.Ident, Sub: presentWords(st, w), Strip: metalStrip(sling, w),
		Visit: v.crib.Visit.Visit.String(), Act: slingExaminePath(sling), Heads: headsText(sling.Heads), Day: v.today.String(), Code: checkScan().Code}
	for _, one := range slices.Concat(now.Passed, now.Defect) {
		if one.Sling.ID == sling.ID {
			p.Earlier = upperFirst(saidWordsOf(one.Examined)) + ". Written down by " + w.name(one.By) + "."
		}
	}
	p.Passed = "today, maker’s rating tag legible"
	if next, err := due.Next(v.today, sling.Details.Service, v.crib.Founded.Rules, sling.Details.Months); err == nil {
		p.Passed += ", next due " + next.Long()
	}
	if sling.Details.Sling.State == gate.StateHeld {
		p.Standing = "It is held: " + sentenceEnd(sling.Hold.Reason) + " Passing it here does not release it; an inspector does."
	}
	p.Date = field("date", "Day of the examination", "", "date")
	if p.Date.Value == "" {
		p.Date.Value = v.today.String()
	}
	p.Due = field("due", "Next due by the report", "Empty: as the rules of this crib ask, never later", "date")
	p.Tag = Choice{Name: "rating-tag", Legend: "The maker’s rating tag", Error: c["rating-tag"], Options: ratingTagOptions(v.raw("rating-tag"))}
	p.Note = field("examine-note", "Note", "", "")
	for i := range defectRows {
		n := itoa(i + 1)
		row := DefectFields{What: field("what-"+n, "What is wrong?", "Where on the sling, and what", ""), By: field("by-"+n, "To be remedied by", "Only where it is not dangerous now", "date")}
		row.When = Choice{Name: "when-" + n, Legend: "Is it dangerous now?", Error: c["when-"+n], Options: options(v.raw("when-"+n), [][3]string{
			{"now", "Dangerous now", "it is held at once"}, {"by", "Could become so", "it is remedied by a day"}})}
		p.More = p.More || i > 0 && (row.What.Value+row.What.Error+row.By.Value+row.When.Error) != ""
		p.Defects = append(p.Defects, row)
	}
	return s.render(v, status, "examine", p)
}
