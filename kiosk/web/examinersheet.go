package web

import (
	"net/http"
	"strconv"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
)

// VisitSheetPage is the sheet of the visit that goes on, or of the last one, to be
// printed and filed with the examiner's report.
type VisitSheetPage struct {
	Base
	Said    string
	Ended   string // when, by whom, with which report; empty while it goes on
	Note    string
	Facts   []Fact
	Changed string      // that the register stands otherwise now than when it ended
	Danger  []CountName // dangerous now
	Waiting []CountName
	Defect  []CountName // any other
	Passed  []CountName
	Pages   []string // addresses of the pictures of the report
}

// lastVisit is the newest visit, zero where there was none.
func (s *Server) lastVisit(v *visit) (id event.VisitID, err error) {
	story, err := s.Store.Story(v.r.Context(), event.Crib())
	for _, r := range story {
		if b, begun := r.Body.(event.VisitBegun); begun {
			id = b.Visit
		}
	}
	return id, err
}

func (s *Server) visitSheet(v *visit) error {
	id, err := s.lastVisit(v)
	if err != nil {
		return err
	}
	if id.IsZero() {
		return &Visible{Code: NoPage, Sentence: "No examiner has been here.", Next: "Begin a visit first."}
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	run, err := counter.Present(v.r.Context(), s.Store.Reader, id)
	if err != nil {
		return err
	}
	p := &VisitSheetPage{Base: Base{Title: "Examiner’s visit", Sheet: true}, Said: visitSays(run, w)}
	end := run.Ended
	if end.Visit.IsZero() {
		end.Passed, end.Defect, end.NotPresented = len(run.Passed), len(run.Defect), len(run.Waiting)
	} else {
		p.Ended = "Ended " + w.clock(run.Until) + " by " + w.name(run.EndedBy) + ". Report " + end.Report + "."
		p.Note = end.Note
		if len(run.Waiting) != end.NotPresented {
			p.Changed = "When the visit ended " + plural(end.NotPresented, "sling") + " had not been presented. The list is as the register stands now."
		}
	}
	p.Facts = []Fact{{Label: "Passed", Value: strconv.Itoa(end.Passed)}, {Label: "With a defect", Value: strconv.Itoa(end.Defect)}, {Label: "Not presented", Value: strconv.Itoa(end.NotPresented)}}
	for _, photo := range end.Pages {
		p.Pages = append(p.Pages, "/photo/"+photo.String())
	}
	for _, one := range run.Defect {
		to := &p.Defect
		if one.Dangerous() {
			to = &p.Danger
		}
		*to = append(*to, CountName{Ident: one.Sling.Details.Ident, Sub: one.Date.Long() + ": " + saidWordsOf(one.Examined)})
	}
	for _, one := range run.Passed {
		p.Passed = append(p.Passed, CountName{Ident: one.Sling.Details.Ident, Sub: one.Date.Long() + ": " + saidWordsOf(one.Examined)})
	}
	for _, sling := range run.Waiting {
		p.Waiting = append(p.Waiting, CountName{Ident: sling.Details.Ident, Sub: presentWords(standing(sling, v.crib, v.today, w), w)})
	}
	return s.render(v, http.StatusOK, "examined", p)
}
