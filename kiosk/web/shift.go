package web

import (
	"net/http"
	"strconv"
	"time"

	"cribgate/core/event"
	"cribgate/store"
)

// ShiftPage lists gear that was drawn for a shift, without a stated lift, the newest
// first: nobody asked the gate whether it is right for what it was used for.
type ShiftPage struct {
	Base
	Rows  []ShiftRow
	Next  string // address of the next page; empty for the last
	First string
}

// A ShiftRow is one sling that was drawn for a shift.
type ShiftRow struct {
	Ident  string
	Path   string
	MakeUp string
	Rigger string
	By     string
	When   string
	Long   string // how long it was out, or is
	Back   string
	Late   bool
	Loan   string // address of its slip
}

// shiftRows is how many are on a page.
const shiftRows = 100

const shiftPath = "/shift"

func (s *Server) shiftPage(v *visit) error {
	from := int64(0)
	if text := v.r.URL.Query().Get("before"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 {
			return errNoPage
		}
		from = n
	}
	records, err := s.Store.ShiftGear(v.r.Context(), from, shiftRows)
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &ShiftPage{Base: Base{Title: "Gear for a shift", Sheet: true}}
	if from > 0 {
		p.First = shiftPath
	}
	for _, r := range records {
		row, err := s.shiftRow(v, r, w)
		if err != nil {
			return err
		}
		p.Rows = append(p.Rows, row)
	}
	if len(records) == shiftRows {
		p.Next = shiftPath + "?before=" + strconv.FormatInt(records[len(records)-1].Envelope.At, 10)
	}
	return s.render(v, http.StatusOK, "shift", p)
}

func (s *Server) shiftRow(v *visit, r store.Record, w words) (ShiftRow, error) {
	issued, _ := r.Body.(event.Issued) // the store lists nothing else
	row := ShiftRow{Rigger: w.name(issued.Rigger), By: w.name(r.Envelope.By), When: w.clock(r.Envelope.UTC), Loan: "/loan/" + issued.Line.Loan.String()}
	id := r.Envelope.Subject.Sling()
	sling, err := s.Store.Sling(v.r.Context(), id)
	if err != nil {
		return row, err
	}
	row.Ident, row.Path, row.MakeUp = sling.Details.Ident, slingPath(sling), w.makeUp(sling.Details.Sling.Plate)
	if sling.Loan.Line.Loan == issued.Line.Loan {
		row.Long = "out for " + spanWords(max(0, v.clock.Stamp().Sub(r.Envelope.UTC)))
		row.Back = "needed back by " + Day(issued.ReturnBy)
		row.Late = issued.ReturnBy.Before(v.today)
		return row, nil
	}
	story, err := s.Store.Story(v.r.Context(), r.Envelope.Subject)
	if err != nil {
		return row, err
	}
	row.Long = "not out any more"
	if end, known := endOf(story, r.Envelope.At); known {
		row.Long = "was out for " + spanWords(max(0, end.Sub(r.Envelope.UTC)))
	}
	return row, nil
}

// endOf is when a sling that went out at a position came in.
func endOf(story []store.Record, at int64) (time.Time, bool) {
	for _, r := range story {
		if r.Envelope.At <= at {
			continue
		}
		switch r.Body.(type) {
		case event.Returned, event.TakenIn, event.Lost, event.Retired:
			return r.Envelope.UTC, true
		}
	}
	return time.Time{}, false
}
