package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// CheckListPage lists the slings that came back and wait to be looked at.
type CheckListPage struct {
	Base
	Said  string
	First Action // the check that is begun with
	Rows  []HeapRow
	Next  string
	Start string // address of the first of them; empty at the beginning
	Plate PlateAsk
	Scan  CheckScan
}

// CheckScan takes the scan of the sling that is looked at next.
type CheckScan struct {
	Key  string
	Code Field
}

func checkScan() CheckScan {
	return CheckScan{Key: newKey(), Code: Field{Name: "text", Label: "Short code", Hint: "The nine characters under the symbol", Most: 64}}
}

// checkRows is how many slings one page lists.
const checkRows = 60

func slingCheckPath(s state.Sling) string {
	return checkPath + strings.TrimPrefix(slingPath(s), "/rack")
}

func (s *Server) checkList(v *visit) error { return s.renderChecks(v, http.StatusOK, PlateAsk{}) }

func (s *Server) renderChecks(v *visit, status int, ask PlateAsk) error {
	query := store.Query{States: []gate.State{gate.StateUnchecked}, Limit: checkRows, After: v.r.URL.Query().Get("after")}
	slings, next, err := s.Store.List(v.r.Context(), query)
	if err != nil {
		return errNoPage
	}
	n, err := s.unchecked(v)
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &CheckListPage{Base: Base{Title: "Look at them one by one"}, Plate: ask, Scan: checkScan(), Said: "No sling waits to be looked at."}
	if n > 0 {
		p.Said = plural(n, "sling") + " to look at. Scan one, or pick it."
	}
	for i, sling := range slings {
		row := HeapRow{Verdict: TakenIn, Title: sling.Details.Ident, Sub: w.makeUp(sling.Details.Sling.Plate), Path: slingCheckPath(sling), Sentence: owedSays(sling, w)}
		p.Rows = append(p.Rows, row)
		if i == 0 {
			p.First = Action{Label: "Begin with " + row.Title, Sub: row.Sub, Path: row.Path, First: true}
		}
	}
	if next != "" {
		p.Next = checkPath + "?" + url.Values{"after": {next}}.Encode()
	}
	if query.After != "" {
		p.Start = checkPath
	}
	return s.render(v, status, "checks", p)
}

// owedSays says which riggers of a sling have not been asked yet; nothing of none.
func owedSays(s state.Sling, w words) string {
	var list []string
	for _, o := range s.Owes {
		list = append(list, w.name(o.Rigger)+" had it until "+o.Day.Long()+" and has not been asked yet.")
	}
	return strings.Join(list, " ")
}

// CheckPage is the return check of one sling.
type CheckPage struct {
	Base
	Done  bool // it is looked at: what became of it
	Plate HeapRow
	Must  string
	Act   string // where the answers go
	Heads string
	Asks  ReturnCheck
	Strip Strip
	Story string
	Left  string // how many more wait; empty for none
	Scan  CheckScan
}

func (s *Server) checkPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderCheck(v, http.StatusOK, sling, &CheckPage{Asks: s.returnCheck(v, sling, "")})
}

func (s *Server) renderCheck(v *visit, status int, sling state.Sling, p *CheckPage) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p.Title = sling.Details.Ident
	p.Strip, p.Story, p.Act, p.Heads = metalStrip(sling, w), slingPath(sling), slingCheckPath(sling), headsText(sling.Heads)
	p.Scan = checkScan()
	p.Plate = HeapRow{Verdict: TakenIn, Title: sling.Details.Ident, Sub: w.makeUp(sling.Details.Sling.Plate)}
	switch st := sling.Details.Sling.State; st {
	case gate.StateUnchecked:
		p.Plate.Words, p.Plate.Sentence = "Look at it", owedSays(sling, w)
	case gate.StateIn:
		p.Done, p.Plate.Words = true, "Hang it up"
		p.Plate.Sentence = "It is in. Hang it where it belongs."
		if place := sling.Details.Place; place != "" {
			p.Plate.Words, p.Plate.Sentence = "Hang it on", "It is in."
			p.Must = place
		}
	case gate.StateHeld:
		p.Done, p.Plate.Verdict, p.Plate.Words = true, StaysHere, "Held"
		p.Plate.Sentence = upperFirst(sling.Hold.Reason) + "."
		p.Plate.Next = "Lay it apart from the rack, with the held ones."
		who, err := s.releasers(v)
		if err != nil {
			return err
		}
		if len(who) > 0 {
			p.Plate.Next += " Who may release it: " + strings.Join(who, ", ") + "."
		}
	default:
		p.Done, p.Plate.Verdict, p.Plate.Words = true, LookCloser, "Moved on"
		text, _ := standing(sling, v.crib, v.today, w).stateWords(w)
		p.Plate.Sentence = upperFirst(text) + "."
	}
	n, err := s.unchecked(v)
	if err != nil {
		return err
	}
	if !p.Done {
		n--
	}
	if n > 0 {
		p.Left = plural(n, "more sling") + " to look at"
	}
	return s.render(v, status, "check", p)
}

// check records what was seen when a sling was looked at.
func (s *Server) check(v *visit) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	asks := s.returnCheck(v, sling, "") // whoever had it is asked at the next badge scan
	found, missing, err := s.readCheck(v, &asks, sling.Details.Sling.State == gate.StateUnchecked)
	if err != nil {
		return err
	}
	if missing {
		return s.renderCheck(v, http.StatusUnprocessableEntity, sling, &CheckPage{Asks: asks})
	}
	o, err := s.Counter.Check(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, found)
	switch {
	case err != nil:
		return err
	case !o.May && slices.Contains(o.Codes, gate.ChangedMeanwhile):
		s.notice(v, "Something else happened to this sling meanwhile. Look how it stands.")
	case !o.May:
		s.tellRefused(v, o.Codes)
	}
	return v.redirect(slingCheckPath(sling))
}

// scannedCheck leads to the check of what was scanned, of a tag that was not read when
// its plate agrees; one that does not wait for it lies on the counter.
func (s *Server) scannedCheck(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	reading := v.reading()
	found, err := s.Counter.Find(v.r.Context(), reading)
	if err != nil {
		return err
	}
	if found.Known && found.Sling.Details.Sling.State == gate.StateUnchecked {
		if ask := v.owesPlate(checkPath, reading, found); ask.Path != "" {
			return s.renderChecks(v, http.StatusUnprocessableEntity, ask)
		}
		return v.redirect(slingCheckPath(found.Sling))
	}
	return s.take(v, reading, key)
}
