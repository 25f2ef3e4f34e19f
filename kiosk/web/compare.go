package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// ComparePage lists what stays until it was compared with a register that was
// brought back from a copy, and the tags that know more than it does.
type ComparePage struct {
	Base
	Restored bool
	Lead     string
	Facts    []Fact
	Said     string
	Rows     []CompareRow
	Next     string
	First    string
	Ahead    []AheadRow
	Bare     BareForm
}

// A CompareRow is a sling that is still to be compared. Its identification is to
// be read off the metal, so it is not shown where its tag can be scanned.
type CompareRow struct {
	Name  string // what is called by its tag is not named
	Place string
	State string
	How   string
}

// An AheadRow is a tag that says more than the register knows.
type AheadRow struct {
	Name string
	Path string // of the sling; empty where the register has none
	Says string
	Met  string
}

// BareForm compares a sling that has no tag. Without Shown there is none.
type BareForm struct {
	Shown bool
	Typed Field
	Seen  bool // what is on record is shown, to be held against the metal
	Ident string
	Strip Strip
}

const (
	comparePath = "/compare"
	compareRows = 60 // how many one page shows
)

// CompareForm asks for the end of the plate's identification of a sling whose tag
// was scanned. Without a Key there is none.
type CompareForm struct {
	Key   string
	Card  int
	Plate Field
}

// compareForm offers the comparison of a sling that was scanned on the counter.
func (p *CounterPage) compareForm(v *visit, c *card, si sight) {
	st := si.sling.Details.Sling.State
	if !slices.Contains(si.codes, gate.NotCompared) || slices.Contains(si.codes, gate.RegisterBehind) ||
		!v.may(actCompare) || st != gate.StateIn && st != gate.StateHeld {
		return
	}
	if c.Way.AsksPlate() {
		p.Must = "Scan its tag: a sling is compared by what hangs on it, not by what was typed."
		return
	}
	p.Compare = CompareForm{Key: newKey(), Card: c.N, Plate: Field{Name: "typed", Label: "Last characters of the plate’s identification",
		Hint: "Read them off the metal plate of the sling in your hand, at least " + itoa(fewestTyped), Most: tagcode.MaxIdent, Complete: "off", Focus: true}}
}

// compareScanned compares a sling whose tag was scanned on the counter.
func (s *Server) compareScanned(v *visit) error {
	t, c, key, err := s.onCard(v)
	if err != nil {
		return err
	}
	typed, complaint := v.line("typed", tagcode.MaxIdent)
	if complaint != "" {
		s.notice(v, complaint)
		return s.toCard(v, t, c)
	}
	id, err := event.ParseSlingID(c.Sling)
	if err != nil {
		return err
	}
	o, err := s.Counter.Compare(v.r.Context(), v.by(c.Way, key), counter.Reading{Text: c.Text, Way: c.Way, Typed: typed}, id)
	if err != nil {
		return registerError(err)
	}
	if !o.May {
		s.tellRefused(v, o.Codes)
		return s.toCard(v, t, c)
	}
	s.notice(v, "Compared: tag, plate and record are of one sling.")
	return s.seeAgain(v, t, c)
}

func (s *Server) comparePage(v *visit) error {
	return s.renderCompare(v, http.StatusOK, &ComparePage{})
}

// compareBare compares a sling that has no tag: first what is on record of it is
// shown, then it is said to be what is on the metal.
func (s *Server) compareBare(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	typed, complaint := v.line("typed", tagcode.MaxIdent)
	typed = strings.ToUpper(typed)
	p := &ComparePage{Bare: BareForm{Typed: bareField(typed, complaint)}}
	if complaint == "" && typed == "" {
		p.Bare.Typed.Error = "Type the identification that is stamped on the metal, all of it."
	}
	if p.Bare.Typed.Error != "" {
		return s.renderCompare(v, http.StatusUnprocessableEntity, p)
	}
	sling, err := s.Store.SlingByIdent(v.r.Context(), typed)
	if errors.Is(err, store.ErrNotFound) {
		p.Bare.Typed.Error = "No sling on record has just this identification. Read the plate again; a sling that is not on record is registered."
		return s.renderCompare(v, http.StatusNotFound, p)
	}
	if err != nil {
		return err
	}
	if _, live := sling.Live(); live || v.raw("seen") != "yes" {
		if live {
			p.Bare.Typed.Error = "It has a tag: scan it at the counter. If the tag is gone, print the next one and confirm it on the sling, which compares it too."
			return s.renderCompare(v, http.StatusConflict, p)
		}
		p.Bare.Seen, p.Bare.Ident, p.Bare.Strip = true, typed, metalStrip(sling, v.wordsOf(nil))
		return s.renderCompare(v, http.StatusOK, p)
	}
	o, err := s.Counter.Compare(v.r.Context(), v.by(counter.Hand, key), counter.Reading{Way: counter.Hand, Typed: typed}, sling.ID)
	if err != nil {
		return registerError(err)
	}
	if !o.May {
		text := v.wordsOf(nil).says(o.Codes[0], gate.Answer{})
		p.Bare.Typed.Error = text.Sentence + " " + text.Next
		return s.renderCompare(v, http.StatusConflict, p)
	}
	s.notice(v, sling.Details.Ident+" is compared: what is stamped on it is what the record says.")
	return v.redirect(comparePath)
}

func bareField(value, complaint string) Field {
	return Field{Name: "typed", Label: "Identification, all of it", Hint: "As it is stamped on the metal of the sling in your hand",
		Value: value, Error: complaint, Most: tagcode.MaxIdent, Complete: "off"}
}

func (s *Server) renderCompare(v *visit, status int, p *ComparePage) error {
	p.Title = "To compare"
	r := v.crib.Restored
	if p.Restored = r != (state.Restoration{}); !p.Restored {
		p.Lead = "This register was never brought back from a copy, so there is nothing to compare."
		return s.render(v, status, "compare", p)
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	if err := s.compareFacts(v, p, w); err != nil {
		return err
	}
	next, err := s.compareList(v, p, w)
	if errors.Is(err, store.ErrCursor) {
		return errNoPage
	}
	if err != nil {
		return err
	}
	if next != "" {
		p.Next = comparePath + "?after=" + url.QueryEscape(next)
	}
	if v.r.URL.Query().Get("after") != "" {
		p.First = comparePath
	}
	if p.Ahead, err = s.aheadRows(v, w); err != nil {
		return err
	}
	if p.Bare.Shown = v.may(actCompareBare); p.Bare.Typed.Name == "" {
		p.Bare.Typed = bareField("", "")
	}
	return s.render(v, status, "compare", p)
}

// compareFacts says from what the register was brought back.
func (s *Server) compareFacts(v *visit, p *ComparePage, w words) error {
	r := v.crib.Restored
	last, err := s.Store.Since(v.r.Context(), r.At-1, 1)
	if err != nil {
		return err
	}
	p.Lead = "A sling stays until its tag was scanned and the end of its plate typed: then it is sure that the record is its own. " +
		"Taking back and holding go on as usual."
	if len(last) > 0 {
		p.Facts = append(p.Facts, Fact{Label: "The record ends", Value: w.moment(last[0].Envelope.UTC), Small: "position " + strconv.FormatInt(r.At, 10)})
	}
	p.Facts = append(p.Facts,
		Fact{Label: "Brought back", Value: w.moment(r.Since), Small: "position " + strconv.FormatInt(r.At+1, 10)},
		Fact{Label: "Why", Value: upperFirst(sentenceEnd(r.Why))})
	return nil
}

// compareList fills in one page of the slings that are left.
func (s *Server) compareList(v *visit, p *ComparePage, w words) (next string, err error) {
	ctx, log := v.r.Context(), v.crib.Restored.Log
	left, err := s.Store.ToCompare(ctx, log)
	if err != nil {
		return "", err
	}
	p.Said = compareSaid(left)
	list, next, err := s.Store.List(ctx, store.Query{NotIn: log, After: v.r.URL.Query().Get("after"), Limit: compareRows})
	if err != nil {
		return "", err
	}
	for _, sling := range list {
		p.Rows = append(p.Rows, compareRow(sling, v, w))
	}
	return next, nil
}

func compareSaid(left int) string {
	switch left {
	case 0:
		return "Every sling has been compared."
	case 1:
		return "1 sling is still to be compared."
	}
	return itoa(left) + " slings are still to be compared."
}

func compareRow(sling state.Sling, v *visit, w words) CompareRow {
	d := sling.Details
	r := CompareRow{Name: w.makeUp(d.Sling.Plate), Place: d.Place, How: "Scan its tag at the counter"}
	if r.Place == "" {
		r.Place = "no place on record"
	}
	if _, live := sling.Live(); !live {
		r.Name, r.How = d.Ident+", "+r.Name, "It has no tag: type its identification above"
	}
	switch text, _ := standing(sling, v.crib, v.today, w).stateWords(w); d.Sling.State {
	case gate.StateOut:
		r.State, r.How = upperFirst(text), "Take it back first"
	default:
		r.State = upperFirst(text)
	}
	return r
}

// aheadRows are the tags that still know more than the register.
func (s *Server) aheadRows(v *visit, w words) ([]AheadRow, error) {
	var rows []AheadRow
	for _, a := range slices.Backward(v.crib.Ahead) {
		row := AheadRow{Name: "A sling that is not on record", Says: "Tag " + itoa(int(a.Tag.Serial)) + ", inspected " + dayOr(a.Tag.Inspected),
			Met: "read " + a.Day.Long()}
		if !a.By.IsZero() {
			row.Met += " by " + w.name(a.By)
		}
		slings, err := s.Store.SlingsByNumber(v.r.Context(), a.Tag.Number)
		if err != nil {
			return nil, err
		}
		if len(slings) == 1 {
			if caughtUp(slings[0], a.Tag) {
				continue
			}
			row.Name, row.Path = slings[0].Details.Ident, slingPath(slings[0])
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// caughtUp tells whether the register has come to know as much as a tag that it
// was behind: another one with as high a serial was confirmed since, and its last
// inspection is as new.
func caughtUp(sling state.Sling, tag event.TagAhead) bool {
	live, ok := sling.Live()
	return ok && live.Serial >= tag.Serial && !tag.Inspected.After(sling.Details.Sling.Inspected)
}
