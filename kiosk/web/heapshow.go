package web

import (
	"errors"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/scan"
	"cribgate/store"
)

// TakenIn is the shape of a sling that was taken in and that nobody has looked at: a
// whole plate of plain steel, which says nothing of whether it may go.
const TakenIn Verdict = "taken-in"

// HeapPage takes in what came back without its riggers, one scan a sling.
type HeapPage struct {
	Base
	Taken     string // how many were taken in
	Look      []HeapRow
	Rows      []HeapRow // newest first
	Newest    HeapRow   // what was scanned last; zero: nothing yet
	Unchecked string    // how many wait to be looked at; empty for none
	Scan      ScanBox
}

// A HeapRow is one sling, or one reading that led to none.
type HeapRow struct {
	N        int
	Verdict  Verdict
	Words    string // of the verdict
	Title    string
	Sub      string
	Sentence string
	Next     string // what to do now
	Path     string // where it is dealt with; empty for nowhere
	Do       string // what that is called
}

func (s *Server) showHeap(v *visit) (*HeapPage, error) {
	names, err := s.names(v)
	if err != nil {
		return nil, err
	}
	w := v.wordsOf(names)
	h := s.heap(v)
	p := &HeapPage{Base: Base{Title: "A heap came back"}, Taken: itoa(h.Taken), Scan: scanBox(false)}
	for i, c := range h.Scans {
		row, err := s.heapRow(v, c, w)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			p.Newest = row
		}
		if c.plain() {
			p.Rows = append(p.Rows, row)
			continue
		}
		p.Look = append(p.Look, row)
	}
	n, err := s.unchecked(v)
	if err != nil {
		return nil, err
	}
	if n > 0 {
		p.Unchecked = plural(n, "sling")
	}
	return p, nil
}

// edge is the shape of a scan.
func (c aScan) edge() Verdict {
	edge := TakenIn
	if !c.Taken {
		edge = LookCloser
	}
	for _, r := range parseCodes(c.Codes) {
		switch r {
		case gate.Held, gate.Retired, gate.Lost, gate.RoleNotAllowed,
			gate.UnknownSling, gate.TagNotOurs, gate.TagForged, gate.TagNewerFormat, gate.RegisterBehind:
			return StaysHere
		}
		edge = LookCloser
	}
	return edge
}

var heapWords = map[Verdict]string{TakenIn: "Taken in", LookCloser: "Look closer", StaysHere: "Stays here"}

// heapRow puts a scan into words, as its sling stands now.
func (s *Server) heapRow(v *visit, c aScan, w words) (HeapRow, error) {
	row := HeapRow{N: c.N, Verdict: c.edge(), Title: "No sling"}
	row.Words = heapWords[row.Verdict]
	codes := parseCodes(c.Codes)
	for i, r := range codes {
		text := heapText(r, w)
		if i == 0 {
			row.Next = text.Next
		} else {
			row.Sentence += " "
		}
		row.Sentence += text.Sentence
	}
	if problem := scan.Problem(c.Bad); problem != 0 {
		row.Sentence, row.Next = problem.Sentence(), problem.Next()
	}
	id, known := c.slingOf()
	if !known {
		if nobodys(codes) && v.may(actPaper) {
			row.Path, row.Do = straysPath, "Keep it apart"
		}
		return row, nil
	}
	sling, err := s.Store.Sling(v.r.Context(), id)
	if errors.Is(err, store.ErrNotFound) {
		row.Sentence = "The register does not know it any more." // it was brought back from a copy
		return row, nil
	}
	if err != nil {
		return HeapRow{}, err
	}
	row.Title, row.Sub = sling.Details.Ident, w.makeUp(sling.Details.Sling.Plate)
	row.stands(sling, c, w)
	if sling.Details.Sling.State == gate.StateUnchecked {
		row.Path, row.Do = slingCheckPath(sling), "Look at it"
	} else if row.Verdict != TakenIn {
		row.Path, row.Do = slingPath(sling), "Its story"
	}
	return row, nil
}

// stands says how the sling of a scan stands by now.
func (r *HeapRow) stands(s state.Sling, c aScan, w words) {
	switch st := s.Details.Sling.State; {
	case r.Sentence != "" && st == gate.StateHeld && s.Hold.Reason != "":
		r.Sentence += " " + upperFirst(s.Hold.Reason) + "."
		if kept := keptAt(s); kept != "" {
			r.Sentence += " On record it is " + kept + "."
		}
	case r.Sentence != "":
	case st == gate.StateUnchecked && c.Again:
		r.Sentence = "It was taken in already. One scan is enough."
	case st == gate.StateUnchecked && len(s.Owes) > 0:
		r.Sentence = "Off the name of " + w.name(s.Owes[len(s.Owes)-1].Rigger) + ". It waits to be looked at."
	case st == gate.StateUnchecked:
		r.Sentence = "It waits to be looked at."
	case st == gate.StateHeld:
		r.Sentence = "It was looked at since, and is held: " + sentenceEnd(s.Hold.Reason)
	case st == gate.StateIn:
		r.Sentence = "It was looked at since, and is in."
	default:
		r.Sentence = "It has moved on since."
	}
}

// heapText is what a reason says of a sling in a heap, where that is not what it says
// of one that is asked for.
func heapText(r gate.Reason, w words) gate.Text {
	text := w.says(r, gate.Answer{})
	switch r {
	case gate.NotOut:
		text.Next = "It is taken in, and nobody gets it before it was looked at. Find out where it was, and whether it was used."
	case gate.Lost:
		text.Sentence, text.Next = "It was lost, and here it is.", "It is held until an inspector has looked at it. Lay it with the held ones."
	case gate.Held:
		text.Sentence, text.Next = "It is held.", "Lay it with the held ones; an inspector looks at it."
	case gate.Retired:
		text.Sentence, text.Next = "It was retired from service for good.", "Keep it, and do not give it back. Tell the keeper: it should have been made unusable."
	}
	return text
}
