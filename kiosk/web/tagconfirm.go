package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/scan"
	"cribgate/labeler/grade"
	"cribgate/labeler/print"
)

// PrintGrade is what a picture of a print came to. The zero value is none.
type PrintGrade struct {
	Sentence string
	Rows     []GradeRow
	Advice   []string     // what to change, the weightiest first
	Absent   []GradeRow   // what no camera can give that is not calibrated, and why
	Away     event.Spoilt // why the tag is to be thrown away; empty where it is not
	Summary  string       // of what is too low, for the record
}

// A GradeRow is one parameter.
type GradeRow struct {
	Name     string
	Letter   string // empty where it has none
	Measured string // else why it is missing
	Limits   string
	Source   string
	Low      bool
}

// confirmTag makes a waiting tag the live one. A picture of it is graded first.
func (s *Server) confirmTag(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	typed, complaint := v.line("typed", tagcode.MaxIdent)
	p := &TagPage{Plate: plateField(typed, complaint)}
	if complaint != "" {
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
	}
	reading := counter.Reading{Text: v.raw("text"), Way: counter.Scanner, Typed: typed}
	if way := counter.Way(v.raw("way")); way == counter.Camera || way == counter.Resembles {
		reading.Way = way
	}
	data, err := v.picture("picture")
	if err != nil {
		return err
	}
	if data != nil {
		if complaint, err = s.gradePicture(v, sling, data, &reading, p); err != nil {
			return err
		}
		if complaint != "" {
			p.Picture = pictureField(complaint)
			return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
		}
	}
	if reading.Text == "" {
		p.Picture = pictureField("Scan the tag, or choose a picture of it.")
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
	}
	outcome, err := s.Counter.Confirm(v.r.Context(), v.by(reading.Way, key), reading, sling.ID)
	if err != nil {
		return registerError(err)
	}
	if outcome.May {
		s.notice(v, sling.Details.Ident+": the tag is confirmed and good from now on. "+gradedNotice(reading.Graded)+" Take the old one off, if there is one.")
		return v.redirect(slingPath(sling))
	}
	p.refuse(v, sling, reading, outcome.Codes)
	return s.renderTag(v, http.StatusConflict, sling, p)
}

func gradedNotice(g *event.Graded) string {
	if g == nil {
		return "It was scanned, so its print is not graded."
	}
	return "Its print is graded " + g.Letter + "."
}

// refuse puts into words why a tag was not confirmed.
func (p *TagPage) refuse(v *visit, sling state.Sling, reading counter.Reading, codes []gate.Reason) {
	for _, code := range codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		switch code {
		case gate.PlateNeeded, gate.PlateMismatch:
			complaint := text.Sentence + " " + text.Next
			if n := len(strings.TrimSpace(reading.Typed)); n > 0 && n < min(fewestTyped, len(sling.Details.Ident)) {
				complaint = "These are too few: type at least the last " + itoa(min(fewestTyped, len(sling.Details.Ident))) + "."
			}
			p.Plate = plateField(reading.Typed, complaint)
			p.Plate.Focus = true
		case gate.PrintPoor:
			p.Print.Away = event.SpoiltGrade
			fallthrough
		default:
			p.Codes = append(p.Codes, Reason{Sentence: text.Sentence + " " + text.Next, Rule: text.InFull})
		}
	}
	switch {
	case len(p.Codes) > 0:
	case reading.Way == counter.Image: // it was graded, and what is graded is sent with the plate's characters
		p.Picture = pictureField("Choose the picture again, and send it with the characters.")
		p.Picture.Focus = false
	default: // the scan is kept for the next try, so that only the plate is typed
		p.Scanned = reading.Text
	}
}

// gradePicture reads the tag in a picture and, where it is one that this sling
// waits for, grades its print. complaint says why another picture is needed.
func (s *Server) gradePicture(v *visit, sling state.Sling, data []byte, reading *counter.Reading, p *TagPage) (complaint string, err error) {
	seen, err := s.pictures.Locate(v.r.Context(), data)
	if problem, ok := errors.AsType[scan.Problem](err); ok {
		return problem.Sentence() + " " + problem.Next(), nil
	}
	if err != nil {
		return "", err
	}
	reading.Way, reading.Text = counter.Image, seen.Text()
	digest := tagcode.Digest(reading.Text)
	arrived, err := s.arrived(v) // then it is graded again, so that what is asked is the same as the first time
	if err != nil {
		return "", err
	}
	if !slices.ContainsFunc(sling.Tags, func(t state.Tag) bool { return t.Digest == digest && (t.Status == state.TagPrinted || arrived) }) {
		return "", nil // the counter says what it is instead
	}
	sealed, err := tagcode.Parse(reading.Text)
	if err != nil {
		return "", err
	}
	want, err := print.Tag{Ident: sling.Details.Ident, Sealed: sealed}.Encode()
	if err != nil {
		return "", err
	}
	report := grade.Print(seen, want)
	if !report.Graded() {
		for _, f := range report.Faults {
			complaint += f.Sentence() + " " + f.Next() + " "
		}
		return strings.TrimSpace(complaint), nil
	}
	p.Print = printGrade(report)
	if !report.Whole() && report.Overall() >= grade.C {
		return report.Sentence(), nil
	}
	reading.Graded = gradedOf(report)
	return "", nil
}

// gradedOf is what the register keeps of a report.
func gradedOf(r grade.Report) *event.Graded {
	g := &event.Graded{Letter: r.Overall().String()}
	for _, l := range r.Lines {
		part := event.GradedPart{What: l.Parameter.Key(), Measured: l.Measured}
		if l.Grade != grade.None {
			part.Letter = l.Grade.String()
		}
		if l.Missing != "" {
			part.Measured = l.Missing
		}
		g.Parts = append(g.Parts, part)
	}
	return g
}

func printGrade(r grade.Report) PrintGrade {
	p := PrintGrade{Sentence: r.Sentence()}
	var low []string
	for _, l := range r.Lines {
		row := GradeRow{Name: upperFirst(l.Parameter.String()), Measured: l.Measured, Limits: l.Parameter.Limits(), Source: l.Parameter.Source()}
		if l.Missing != "" {
			row.Measured = l.Missing
		}
		if l.Grade != grade.None {
			row.Letter, row.Low = l.Grade.String(), l.Grade < grade.C
		}
		if row.Low {
			low = append(low, l.Parameter.String()+" "+row.Letter)
		}
		p.Rows = append(p.Rows, row)
	}
	p.Summary = strings.Join(low, ", ")
	slices.SortStableFunc(p.Rows, func(a, b GradeRow) int { return lowFirst(a) - lowFirst(b) })
	for _, a := range r.Advice {
		p.Advice = append(p.Advice, a.Sentence())
	}
	for _, a := range grade.CannotGive() {
		p.Absent = append(p.Absent, GradeRow{Name: upperFirst(a.Name), Measured: a.Why})
	}
	return p
}

// lowFirst puts what is too low where it is seen first.
func lowFirst(r GradeRow) int {
	if r.Low {
		return 0
	}
	return 1
}

// parameterWords names a parameter that the register has by its key.
func parameterWords(key string) string {
	for _, p := range grade.Parameters() {
		if p.Key() == key {
			return p.String()
		}
	}
	return key
}
