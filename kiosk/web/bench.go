package web

import (
	"net/http"
	"net/url"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/bench"
)

const benchPath = "/bench"

// benchRows is how many slings one page of the queue lists.
const benchRows = 100

// BenchPage is the queue of the bench: what an inspector should see first stands
// first.
type BenchPage struct {
	Base
	Lead    string
	Open    []BenchQueued // begun, and not signed
	Rows    []BenchQueued
	Next    string
	Start   string
	Inspect bool // who asks may begin

	Examiner Action // to an examiner's visit; without a path where the reader may not
}

// A BenchQueued is one sling of the queue.
type BenchQueued struct {
	Verdict Verdict
	Ident   string
	Sub     string
	Why     string
	Lift    string // what was lifted with it last
	Trend   string // an arrow
	Trends  string // the same in words
	Due     string
	Late    bool
	On      string // who has it on the bench
	Path    string
}

func (s *Server) benchPage(v *visit) error {
	after := v.r.URL.Query().Get("after")
	slings, next, err := s.Store.Bench(v.r.Context(), after, benchRows)
	if err != nil {
		return errNoPage
	}
	drafts, err := s.Bench.List(v.r.Context())
	if err != nil {
		return benchError(err)
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	open := map[string]bench.Draft{}
	for _, d := range drafts {
		open[d.Sling] = d
	}
	p := &BenchPage{Base: Base{Title: "Bench"}, Inspect: v.may(actInspect), Lead: "The gravest first, then what is due first.", Examiner: v.toExaminer()}
	if len(slings) == 0 {
		p.Lead = "Nothing is here."
	}
	for _, sling := range slings {
		p.Rows = append(p.Rows, w.queued(sling, v.today, open[sling.ID.String()]))
	}
	if after == "" {
		if p.Open, err = s.begunHere(v, w, drafts); err != nil {
			return err
		}
	} else {
		p.Start = benchPath
	}
	if next != "" {
		p.Next = benchPath + "?" + url.Values{"after": {next}}.Encode()
	}
	return s.render(v, http.StatusOK, "bench", p)
}

// begunMost is how many begun inspections the queue shows above itself.
const begunMost = 12

// begunHere lists what was begun and not signed, that of whoever asks first.
func (s *Server) begunHere(v *visit, w words, drafts []bench.Draft) (rows []BenchQueued, err error) {
	me := v.who.ID.String()
	for _, mine := range []bool{true, false} {
		for _, d := range drafts {
			if (d.Who == me) != mine || len(rows) >= begunMost {
				continue
			}
			id, err := event.ParseSlingID(d.Sling)
			if err != nil {
				return nil, err
			}
			sling, err := s.Store.Sling(v.r.Context(), id)
			if err != nil {
				continue // of a register that was here before
			}
			rows = append(rows, w.queued(sling, v.today, d))
		}
	}
	return rows, nil
}

// queued puts a sling of the queue into words.
func (w words) queued(s state.Sling, today quantity.Date, d bench.Draft) BenchQueued {
	st := stand{sling: s, today: today}
	st.answer.Due = s.Next()
	row := BenchQueued{Verdict: LookCloser, Ident: s.Details.Ident, Sub: w.makeUp(s.Details.Sling.Plate), Why: w.gravity(s, today), Path: benchPath + slingPath(s)[len("/rack"):]}
	row.Due, row.Late = st.dueWords()
	switch {
	case s.Gravity() >= state.Kept:
		row.Verdict = StaysHere
	case s.Gravity() == state.Routine && !row.Late:
		row.Verdict = MayGo
	}
	row.Trend, row.Trends = trend(s.Wear)
	if s.Use.Stated && s.Use.Share > 0 {
		row.Lift = "Last lift: " + itoa(s.Use.Share) + " % of what it may carry"
		if s.Use.Hot {
			row.Lift += ", warm"
		}
		if s.Use.Edge {
			row.Lift += ", over an edge"
		}
		row.Lift += "."
	}
	if d.Revision > 0 {
		row.On = w.draftName(d) + " has it on the bench."
		if d.Aside {
			row.On = "Laid aside by " + w.draftName(d) + ", to be gone on with."
		}
	}
	return row
}

// gravity says why a sling lies where it does in the queue.
func (w words) gravity(s state.Sling, today quantity.Date) string {
	switch s.Gravity() {
	case state.Seized:
		return "Impounded: " + sentenceEnd(s.Impound.Reason)
	case state.Reported, state.Doubted, state.Kept:
		if s.Repair != (state.Repair{}) {
			return "At the repairer’s: " + sentenceEnd(s.Repair.To)
		}
		return "Held: " + sentenceEnd(s.Hold.Reason)
	case state.Watched:
		if len(s.Defects) > 0 {
			return "An examiner’s defect is open: " + sentenceEnd(s.Defects[0].What)
		}
		return "At this rate it is worn out before it is due."
	case state.Worked:
		return "It worked hard."
	}
	switch next := s.Next(); {
	case s.Details.Sling.State == gate.StateUnchecked:
		return "It came back, and nobody has looked at it yet."
	case s.Details.Sling.Inspected.IsZero():
		return w.say("No thorough inspection is on record.")
	case next.Before(today):
		return "Overdue."
	}
	return "By its date."
}

// trend draws how the worst measurement went from one inspection to the next.
func trend(worn []state.Worn) (arrow, says string) {
	n := len(worn)
	if n == 0 {
		return "", ""
	}
	now := worn[n-1].Used
	says = "worst measurement at " + itoa((now+9)/10) + " % of its limit"
	if n == 1 {
		return "·", says
	}
	switch before := worn[n-2].Used; {
	case now > before+steady:
		return "↗", says + ", up from " + itoa((before+9)/10) + " %"
	case now < before-steady:
		return "↘", says + ", down from " + itoa((before+9)/10) + " %"
	}
	return "→", says + ", as before"
}

// steady is a change that is no trend, per mille of the way to the limit (site policy,
// no source): what two people read differently off one gauge.
const steady = 20

// benchError gives an error of the drafts its sentence.
func benchError(err error) error {
	seen := registerError(err)
	if known, ok := seen.(*Visible); ok && known.Code != Unexpected {
		return &Visible{Code: known.Code, Cause: err,
			Sentence: "What is typed at the bench cannot be kept just now.",
			Next:     "Write the figures down before you leave the page, and tell the keeper to look at the disk."}
	}
	return err
}
