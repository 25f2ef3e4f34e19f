package web

import (
	"net/http"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/report"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	slip "cribgate/labeler/card"
	"cribgate/store"
)

// ReportPage is a report of thorough examination: the same as on paper, line for line.
type ReportPage struct {
	Base
	Sling    string // identification
	Path     string // of the sling
	Paper    string // address of the same as PDF
	Report   report.Report
	Measured []ReportRow
}

// A ReportRow is a measurement, and how far along its bar it is.
type ReportRow struct {
	report.Row
	Width string // of the bar, per cent of the way from new to the limit, at most 100
	Over  bool
	Mark  string // what follows, in a word
}

// reportPath is where the report of an inspection is.
func reportPath(sling event.SlingID, at int64) string {
	return "/rack/" + sling.String() + "/report/" + strconv.FormatInt(at, 10)
}

func (s *Server) reportPage(v *visit) error {
	r, sling, err := s.report(v)
	if err != nil {
		return err
	}
	p := &ReportPage{Base: Base{Title: v.list().Say(r.Title), Sheet: true}, Sling: sling.Details.Ident, Path: slingPath(sling), Paper: v.r.URL.EscapedPath() + "/report.pdf", Report: worded(r, v)}
	for _, m := range r.Measured {
		p.Measured = append(p.Measured, ReportRow{Row: m, Width: strconv.Itoa(min(m.Used/10, 100)), Over: m.Grade > removal.Note, Mark: m.Grade.String()})
	}
	return s.render(v, http.StatusOK, "report", p)
}

// reportFile is the same on paper.
func (s *Server) reportFile(v *visit) error {
	r, sling, err := s.report(v)
	if err != nil {
		return err
	}
	return s.paper(v, "report-"+r.Number+".pdf", slip.Report{
		Words: v.list(), Of: r, Under: sling.Details.Ident + ", " + v.crib.Founded.Name,
		Foot: "Printed " + Day(v.today) + ". The register stands at " + v.head.String() + ".", Head: v.head,
	})
}

// worded puts what the program says of a report into the words of the crib; what
// somebody wrote is left alone.
func worded(r report.Report, v *visit) report.Report {
	say := v.list().Say
	r.Caution = say(r.Caution)
	sections := make([]report.Section, len(r.Sections))
	for n, s := range r.Sections {
		sections[n] = report.Section{Heading: say(s.Heading), Items: make([]report.Item, len(s.Items))}
		for m, i := range s.Items {
			i.Name = say(i.Name)
			sections[n].Items[m] = i
		}
	}
	r.Sections = sections
	return r
}

// report makes the report that the address names, of what the register knew when it
// was signed. The sling is as it is now.
func (s *Server) report(v *visit) (report.Report, state.Sling, error) {
	id, err := event.ParseSlingID(v.r.PathValue("sling"))
	at, notNumber := strconv.ParseInt(v.r.PathValue("at"), 10, 64)
	if err != nil || notNumber != nil || v.r.PathValue("at") != strconv.FormatInt(at, 10) {
		return report.Report{}, state.Sling{}, errNoPage
	}
	ctx := v.r.Context()
	story, err := s.Store.Story(ctx, event.Sling(id))
	if err != nil {
		return report.Report{}, state.Sling{}, err
	}
	crib, err := s.Store.Story(ctx, event.Crib())
	if err != nil {
		return report.Report{}, state.Sling{}, err
	}
	names, err := s.names(v)
	if err != nil {
		return report.Report{}, state.Sling{}, err
	}
	f, sling, found := reported(story, crib, at, v.wordsOf(names))
	if !found {
		return report.Report{}, state.Sling{}, errNoPage
	}
	r, err := report.Of(f)
	return r, sling, err
}

// reported gathers the facts of the inspection at a position.
func reported(story, crib []store.Record, at int64, w words) (f report.Facts, now state.Sling, found bool) {
	for _, r := range story {
		b, inspected := r.Body.(event.Inspected)
		switch e := r.Envelope; {
		case inspected && e.At == at:
			found = true
			f = report.Facts{
				Units: w.lead, Sling: now, Inspected: b, Examiner: w.name(e.By), At: at, Hash: r.Hash.String(), Signed: e.Day,
				Crib: cribAt(crib, at),
			}
			f.Metal = w.againstMetal(now, f.Crib, b.Date)
		case found && f.Superseded == nil:
			f.Superseded = later(r)
		}
		now = now.Apply(r.Event())
	}
	return f, now, found
}

// againstMetal says what stands against the metal of a sling whatever was measured, and
// by which rule.
func (w words) againstMetal(s state.Sling, crib state.Crib, on quantity.Date) (list []string) {
	metal, err := counter.Metal(s, crib.Founded.Policy, on)
	if err != nil {
		return []string{"What is recorded of this sling cannot be judged."}
	}
	for _, r := range metal {
		text := w.says(r, gate.Answer{})
		list = append(list, text.Sentence+" "+text.Rule+".")
	}
	return list
}

// later is an inspection that takes the place of one before it; nil for anything else.
func later(r store.Record) *report.Later {
	switch b := r.Body.(type) {
	case event.Inspected:
		return &report.Later{Date: b.Date, At: r.Envelope.At}
	case event.Examined:
		return &report.Later{Date: b.Date, At: r.Envelope.At}
	}
	return nil
}

// cribAt is what was known of the crib at a position.
func cribAt(story []store.Record, at int64) (c state.Crib) {
	for _, r := range story {
		if r.Envelope.At < at {
			c = c.Apply(r.Event())
		}
	}
	return c
}
