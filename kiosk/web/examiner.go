package web

import (
	"bytes"
	"errors"
	"net/http"
	"slices"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

const (
	examinerPath  = "/examiner"
	visitEndPath  = examinerPath + "/end"
	visitSheet    = examinerPath + "/sheet"
	visitScanPath = examinerPath + "/scan"
	examinePath   = examinerPath + "/sling/"
)

// reportPages is how many pages of a report can be sent with the end of a visit, and
// maxReport the most bytes of all of them (site policy of this program, no source).
const (
	reportPages = 4
	maxReport   = 2 * maxPicture
)

// examiner shows the visit that goes on, or how one is begun.
func (s *Server) examiner(v *visit) error {
	return s.renderExaminer(v, http.StatusOK, complaints{}, CountCard{}, PlateAsk{})
}

// beginVisit begins the visit of an examiner from outside.
func (s *Server) beginVisit(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	c := complaints{}
	named := func(name, ask string) string {
		text, complaint := v.line(name, maxName)
		if complaint == "" && text == "" {
			complaint = ask
		}
		c.add(name, complaint)
		return text
	}
	b := event.VisitBegun{
		Examiner: named("examiner", "Write who examines."), Firm: named("firm", "Write for whom the examiner works."),
		Qualification: named("qualification", "Write what makes the examiner fit to examine."),
	}
	if text := v.raw("due-before"); text != "" {
		if b.DueBefore, err = quantity.ParseDate(text); err != nil {
			c.add("due-before", "This is no day of the calendar. Type it as year, month and day, like 2026-03-02.")
		}
	}
	b.Places = v.r.PostForm["places"]
	if len(b.Places) > mostParts || slices.ContainsFunc(b.Places, func(p string) bool { return len(p) > maxPlace }) {
		return &Visible{Code: BadInput, Sentence: "So many places cannot be presented.", Next: "Choose among those that the page shows."}
	}
	if len(c) > 0 {
		return s.renderExaminer(v, http.StatusUnprocessableEntity, c, CountCard{}, PlateAsk{})
	}
	_, err = s.Counter.BeginVisit(v.r.Context(), v.by(counter.Hand, key), b)
	switch {
	case errors.Is(err, counter.ErrVisiting):
		s.notice(v, "A visit was going on already.")
	case err != nil:
		return visitError(err)
	}
	return v.redirect(examinerPath)
}

// visitError puts what kept the counter from an act of a visit into words.
func visitError(err error) error {
	for _, known := range []struct {
		is             error
		sentence, next string
	}{
		{counter.ErrNoVisit, "This visit has ended already, and nothing was written down.", "Load the page again."},
		{counter.ErrExaminedOnce, "Something was written down for this sling just now, and what you sent was not.", "Look what it says, and correct it if it is wrong."},
		{counter.ErrUnmeasured, "It was measured at its last thorough inspection and did not pass, so no word of anybody passes it.", "An inspector measures it again on its page. What the examiner found wrong can be written down here."},
	} {
		if errors.Is(err, known.is) {
			return &Visible{Code: Stale, Cause: err, Sentence: known.sentence, Next: known.next}
		}
	}
	if errors.Is(err, counter.ErrRole) {
		return errNotYours
	}
	return registerError(err)
}

// visitScanned leads to the page of the sling that was scanned, or typed; of a tag that
// was not read, when its plate agrees.
func (s *Server) visitScanned(v *visit) error {
	if _, err := v.key(); err != nil {
		return err
	}
	reading := v.reading()
	found, err := s.Counter.Find(v.r.Context(), reading)
	if err != nil {
		return err
	}
	if !found.Known && reading.Way == counter.ShortCode {
		sling, err := s.Store.SlingByIdent(v.r.Context(), strings.ToUpper(strings.TrimSpace(reading.Text)))
		if err != nil && !errors.Is(err, store.ErrNotFound) && !errors.Is(err, store.ErrDoubled) {
			return registerError(err)
		}
		if err == nil {
			found = counter.Found{Known: true, Sling: sling}
		}
	}
	// What else is said of a tag, such as that a newer one is due, is no doubt of which sling it is.
	if found.Known && !slices.ContainsFunc(found.Codes, counter.NeverHung) {
		if ask := v.owesPlate(visitScanPath, reading, found); ask.Path != "" {
			return s.renderExaminer(v, http.StatusUnprocessableEntity, complaints{}, CountCard{}, ask)
		}
		return v.redirect(slingExaminePath(found.Sling))
	}
	card := s.strangeCard(v, found)
	card.Words, card.Next, card.Link = "Look closer", "Read the identification on its plate, and pick the sling in the list or type it.", Action{}
	return s.renderExaminer(v, http.StatusOK, complaints{}, card, PlateAsk{})
}

func slingExaminePath(sling state.Sling) string {
	return examinePath + strings.TrimPrefix(slingPath(sling), "/rack/")
}

// examinePage shows what can be said of one sling.
func (s *Server) examinePage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	if v.crib.Visit.Visit.IsZero() {
		return v.redirect(examinerPath)
	}
	return s.renderExamine(v, http.StatusOK, sling, complaints{})
}

// examine writes down what the examiner said of a sling.
func (s *Server) examine(v *visit) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	c := complaints{}
	e := s.readExamination(v, c)
	if len(c) > 0 {
		return s.renderExamine(v, http.StatusUnprocessableEntity, sling, c)
	}
	o, err := s.Counter.Examine(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, e)
	switch {
	case errors.Is(err, counter.ErrInspection):
		c.add("date", "An examination is dated from the last inspection on record to today.")
	case errors.Is(err, counter.ErrDue):
		c.add("due", "The next may be due sooner than the rules of this crib ask, never later, and not before tomorrow.")
	case errors.Is(err, due.ErrNoInterval), errors.Is(err, due.ErrMonthsNeeded), errors.Is(err, due.ErrMonths):
		c.add("due", "How hard it is used is not on record, so that no day follows. An inspector corrects its details first.")
	case err != nil:
		return visitError(err)
	case !o.May && slices.Contains(o.Codes, gate.RoleNotAllowed):
		return errNotYours
	case !o.May:
		s.tellRefused(v, o.Codes)
		return v.redirect(slingExaminePath(sling))
	}
	if len(c) > 0 {
		return s.renderExamine(v, http.StatusUnprocessableEntity, sling, c)
	}
	s.notice(v, examinedNotice(o.Sling, e))
	return v.redirect(examinerPath)
}

func examinedNotice(sling state.Sling, e counter.Examination) string {
	ident := sling.Details.Ident
	switch {
	case sling.Details.Sling.State == gate.StateOut && (event.Examined{Defects: e.Defects}).Dangerous():
		return ident + " is dangerous and it is out: have it brought back at once. It is held as soon as it is here."
	case sling.Details.Sling.State == gate.StateHeld:
		return ident + " is held. Lay it apart, with the held ones."
	case len(e.Defects) > 0:
		return ident + " has a defect to be remedied by " + sling.Next().Long() + "."
	}
	return ident + " passed."
}

// defectRows is how many defects of a sling the form has room for.
const defectRows = 3

// readExamination reads what was said of a sling.
func (s *Server) readExamination(v *visit, c complaints) counter.Examination {
	form := liftForm{"rating-tag": v.raw("rating-tag")}
	e := counter.Examination{
		Date:      readPastDate(c, "date", v.raw("date"), s.today(v), "Choose the day of the examination."),
		RatingTag: pick(form, c, "rating-tag", "Look at the maker’s rating tag and choose.", ratingTags),
		Note:      v.note(c, "examine-note"), Corrects: v.raw("corrects") != "",
	}
	var err error
	if e.Visit, err = event.ParseVisitID(v.raw("visit")); err != nil {
		c.add("date", "The form does not say for which visit it is. Load the page again.")
	}
	if text := v.raw("due"); text != "" {
		if e.Due, err = quantity.ParseDate(text); err != nil {
			c.add("due", "This is no day of the calendar. Type it as year, month and day, like 2026-03-02.")
		}
	}
	for i := range defectRows {
		e.Defects = append(e.Defects, v.defect(c, itoa(i+1), e.Date)...)
	}
	switch said := v.raw("said"); {
	case said == "defect" && len(e.Defects) == 0 && len(c) == 0:
		c.add("what-1", "Write what is wrong.")
	case said == "passed" && len(e.Defects) > 0:
		c.add("what-1", "A defect is written here. Empty it, or write the defect down.")
	case said != "defect" && said != "passed":
		c.add("what-1", "Say whether it passed or has a defect.")
	}
	return e
}

// defect reads one row of the form, nothing where it is empty.
func (v *visit) defect(c complaints, row string, date quantity.Date) []event.Defect {
	what, when, by := "what-"+row, "when-"+row, "by-"+row
	text := v.note(c, what)
	if text == "" {
		if c[what] == "" && (v.raw(when) != "" || v.raw(by) != "") {
			c.add(what, "Write what is wrong.")
		}
		return nil
	}
	d := event.Defect{What: text}
	switch v.raw(when) {
	case "now":
		if v.raw(by) != "" {
			c.add(by, "It is dangerous now, or is remedied by a day: not both.")
		}
	case "by":
		var err error
		d.By, err = quantity.ParseDate(v.raw(by))
		switch {
		case err != nil:
			c.add(by, "Choose the day by which it is to be remedied.")
		case !d.By.After(date):
			c.add(by, "This day is not after the examination. What cannot wait is dangerous now.")
		}
	default:
		c.add(when, "Say whether it is dangerous now.")
	}
	return []event.Defect{d}
}

// endVisit ends the visit, with the examiner's report.
func (s *Server) endVisit(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	id, err := event.ParseVisitID(v.raw("visit"))
	if err != nil {
		return &Visible{Code: BadInput, Cause: err, Sentence: "The form does not say for which visit it is.", Next: "Load the page again."}
	}
	c := complaints{}
	report, complaint := v.line("report", maxName)
	if complaint == "" && report == "" {
		complaint = "Write the number of the examiner’s report. Until it is here the visit stays open."
	}
	c.add("report", complaint)
	note := v.note(c, "end-note")
	var pages []event.Photo
	for i := range reportPages {
		field := "page-" + itoa(i+1)
		data, err := v.picture(field)
		if err != nil {
			return err
		}
		if bytes.HasPrefix(data, []byte("%PDF")) {
			c.add(field, "A PDF is not taken: nobody can see what else is in it. Send its pages as pictures.")
			continue
		}
		p, err := s.photo(v, field, c)
		if err != nil {
			return err
		}
		if p != (event.Photo{}) {
			pages = append(pages, p)
		}
	}
	if len(c) > 0 {
		return s.renderExaminer(v, http.StatusUnprocessableEntity, c, CountCard{}, PlateAsk{})
	}
	if _, err := s.Counter.EndVisit(v.r.Context(), v.by(counter.Hand, key), id, report, pages, note); err != nil {
		return visitError(err)
	}
	s.notice(v, "The visit has ended. Print the sheet, and file it with the report.")
	return v.redirect(visitSheet)
}
