package web

import (
	"encoding/hex"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// SlingPage is the whole story of one sling.
type SlingPage struct {
	Base
	Stand   StandPlate
	Strip   Strip
	Record  []Fact    // what is known besides what is stamped
	First   []ActForm // what the reader's role does next, the likeliest first
	Links   []Action
	No      string // who does what, where there is nothing for the reader
	Acts    []ActForm
	Slip    string // address of what is hung on it while it is held
	Kept    string // address of what it is kept for: accident, repair, defects
	Correct string // address of the correction; empty where the reader may not
	Carry   Carry
	Tags    []TagRow
	Health  Health
	TagPath string // where a tag is printed and confirmed; empty where the reader may not
	Story   []Telling
	Newer   string // address of the newer part of the story
	Older   string
	Foot    string // position and head
	Changed Changed
}

// A StandPlate is the plate that says how a sling stands: the words, and the
// shape of a verdict.
type StandPlate struct {
	Verdict  Verdict
	Ident    string
	Word     string // In, Out, Held …
	Sentence string
	Rule     string // in a few words
	InFull   string
	More     []Reason
}

// Rules are the rules on the plate in full, each once.
func (p StandPlate) Rules() []string {
	return inFull(append([]Reason{{InFull: p.InFull}}, p.More...))
}

// Carry is what the sling may carry, whatever hangs on it.
type Carry struct {
	Facts   []Fact
	None    string // why it may carry nothing
	Note    string
	Working Working
}

// A TagRow is one QR tag of the sling.
type TagRow struct {
	Serial string
	Code   string
	Status string
	Sub    string
	Live   bool
}

// Changed says that a form was older than the facts, and what happened since.
// The zero value says nothing.
type Changed struct {
	Sentence string
	Since    []Telling
}

// storyLength is how much of a story one page tells.
const storyLength = 40

// findSling gives the sling that the address names, by its identification or by
// its id.
func (s *Server) findSling(v *visit) (state.Sling, error) {
	ctx, name := v.r.Context(), v.r.PathValue("sling")
	sling, err := s.Store.SlingByIdent(ctx, name)
	if id, bad := event.ParseSlingID(name); errors.Is(err, store.ErrNotFound) && bad == nil {
		sling, err = s.Store.Sling(ctx, id)
	}
	switch {
	case errors.Is(err, store.ErrNotFound):
		return state.Sling{}, &Visible{Code: NoPage,
			Sentence: "No sling here has this identification.",
			Next:     "Look for it on the rack."}
	case errors.Is(err, store.ErrDoubled):
		return state.Sling{}, &Visible{Code: Unusable, Cause: err,
			Sentence: "Two slings of this register have this identification.",
			Next:     "Hold both, and tell the keeper."}
	}
	return sling, err
}

func (s *Server) slingPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderSling(v, http.StatusOK, sling, sent{open: v.r.URL.Query().Get("do")})
}

// renderSling shows a sling, with what was sent by a form that could not be done.
func (s *Server) renderSling(v *visit, status int, sling state.Sling, was sent) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	story, err := s.Store.Story(v.r.Context(), event.Sling(sling.ID))
	if err != nil {
		return err
	}
	st := standing(sling, v.crib, s.today(v), w)
	st.looked, was.home = lookedAt(story), homeOf(story)
	p := &SlingPage{
		Base:    Base{Title: sling.Details.Ident},
		Stand:   standPlate(st, w),
		Strip:   metalStrip(sling, w),
		Record:  recordFacts(st, inspectedBy(story, w), w),
		Carry:   carry(st, w),
		Changed: was.changed(story, w),
	}
	n := s.nextSteps(v, st)
	p.Links, p.No = n.links, n.no
	if sling.Details.Sling.State == gate.StateHeld {
		p.Slip = slingPath(sling) + "/slip"
	}
	p.First, p.Acts = s.actForms(v, sling, was, n.acts)
	if v.may(actInspect) {
		p.Correct = slingPath(sling) + "/correct"
	}
	if sling.Details.Sling.State != gate.StateRetired {
		p.Kept = keptPath(sling)
	}
	p.Tags, p.Health = tagRows(st, w), healthOf(sling, story)
	if v.may(actHang) && sling.Details.Sling.State != gate.StateRetired && sling.Details.Sling.State != gate.StateLost {
		p.TagPath = slingPath(sling) + "/tag"
	}
	if err := p.tell(v, sling, story, w); err != nil {
		return err
	}
	return s.render(v, status, "sling", p)
}

// tell puts a part of the story on the page, the newest first.
func (p *SlingPage) tell(v *visit, sling state.Sling, story []store.Record, w words) error {
	told := tellings(story, w)
	slices.Reverse(told)
	from := 0
	if text := v.r.URL.Query().Get("story"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 || n >= len(told) {
			return errNoPage
		}
		from = n
	}
	to := min(from+storyLength, len(told))
	p.Story = told[from:to]
	at := func(n int) string { return slingPath(sling) + "?story=" + strconv.Itoa(n) + "#story" }
	if from > 0 {
		p.Newer = at(max(0, from-storyLength))
	}
	if to < len(told) {
		p.Older = at(to)
	}
	if len(story) > 0 {
		last := story[len(story)-1]
		p.Foot = "Newest entry: position " + strconv.FormatInt(last.Envelope.At, 10) + " of the register, head " +
			last.Hash.String() + "."
	}
	return nil
}

// metalStrip is what is stamped on the metal.
func metalStrip(s state.Sling, w words) Strip {
	d := s.Details
	strip := Strip{Title: "Stamped on the metal", Facts: []Fact{
		{Label: "Identification", Value: d.Ident},
		{Label: "Size", Value: d.Sling.Size.Words()},
		{Label: "Grade", Value: strconv.Itoa(int(d.Sling.Grade))},
		{Label: "Legs", Value: strconv.Itoa(d.Sling.Legs)},
		w.reach(d.Sling.Reach),
	}}
	for _, stamp := range d.Sling.Stamped {
		strip.Facts = append(strip.Facts, w.stamped(stampName(stamp.Legs, stamp.Basis), stamp.Load))
	}
	if d.Maker != "" {
		strip.Facts = append(strip.Facts, Fact{Label: "Maker", Value: d.Maker})
	}
	if d.Made != "" {
		strip.Facts = append(strip.Facts, Fact{Label: "Made", Value: string(d.Made)})
	}
	return strip
}

// inspectedBy says who made the inspection that is on record. One that was entered
// with the sling was made before it had a record here.
func inspectedBy(story []store.Record, w words) string {
	by := ""
	var s state.Sling
	for _, r := range story {
		before := s.Details.Sling.Inspected
		s = s.Apply(r.Event())
		if _, here := r.Body.(event.Inspected); here {
			by = "by " + w.name(r.Envelope.By)
		} else if s.Details.Sling.Inspected != before {
			by = "entered by " + w.name(r.Envelope.By) + "; see the paper for who made it"
		}
	}
	return by
}

// recordFacts is what the record says besides.
func recordFacts(st stand, by string, w words) []Fact {
	d := st.sling.Details
	facts := []Fact{}
	add := func(label, value, small string, over bool) {
		facts = append(facts, Fact{Label: label, Value: value, Small: small, Over: over})
	}
	place := d.Place
	if place == "" {
		place = "none"
	}
	add("Place", place, "", false)
	if d.Sling.Inspected.IsZero() {
		add("Last thorough inspection", "none on record", "", true)
	} else {
		add("Last thorough inspection", d.Sling.Inspected.Long(), outcomeWords(d.Outcome)+", "+serviceWords(d.Service, d.Months)+"; "+by, d.Outcome != tagcode.Fit)
	}
	if due, late := st.dueWords(); due != "" {
		add("Next due", strings.TrimPrefix(due, "due "), "", late)
	}
	add("Rating tag", ratingTagWords(d.Sling.RatingTag), "", d.Sling.RatingTag != gate.TagLegible)
	if d.Sling.Hottest != nil {
		heat := w.temperature(*d.Sling.Hottest)
		add("Hottest it has been", heat.Value, heat.Small, false)
	} else {
		add("Hottest it has been", "no heat known of", "", false)
	}
	if d.Sling.Adjustable {
		add("Legs", "can be shortened", "", false)
	}
	facts = append(facts, fittingFacts(d.Fittings, w)...)
	for _, x := range []struct {
		label string
		mass  quantity.Mass
	}{
		{"Single leg by the maker’s chart", d.Sling.Chart}, {"Weakest component, one leg", d.Sling.Weakest},
		{"Upper fitting", d.Sling.Master},
	} {
		if x.mass != 0 {
			facts = append(facts, w.stamped(x.label, x.mass))
		}
	}
	add("Went out", plural(st.sling.Issues, "time"), "", false)
	if d.Note != "" {
		add("Note", d.Note, "", false)
	}
	return facts
}

// carry shows what the gate says the sling may carry on its own legs.
func carry(st stand, w words) Carry {
	c := Carry{Working: Working{Title: "How this was worked out"}}
	if st.sling.Details.Sling.State == gate.StateRetired {
		c.None = "Nothing any more: it is out of service for good."
		return c
	}
	nothing := true
	for _, x := range st.answer.Capacity {
		label := stampName(st.sling.Details.Sling.Legs, x.Basis)
		if x.Choked {
			label = "One leg choked, angle of choke over 120°: left to pull tight by itself"
		}
		f := w.may(label, x.Load)
		f.Over = x.Load == 0
		nothing = nothing && x.Load == 0
		c.Facts = append(c.Facts, f)
	}
	if nothing {
		c.Facts = nil
		c.None = "Nothing, as long as what the plate says stands against it."
	}
	for _, step := range st.answer.Working {
		value := step.Figure.Text(w.lead)
		if m, ok := step.Figure.Mass(); ok {
			value = w.lead.MassDown(m) // without a lift every load of a working is one that may be lifted
		}
		c.Working.Steps = append(c.Working.Steps, Step{Label: upperFirst(step.What), Value: value, Rule: w.cites(step.Source)})
	}
	c.Note = "Straight, the load in balance, no heat. Every lift is decided at the counter by itself."
	if st.sling.Details.Sling.Legs == 1 {
		c.Note = "No heat, no edge. Every lift is decided at the counter by itself."
	}
	if st.verdict != MayGo {
		c.Note = "What the metal is rated for; as it stands now it does not go out. " + c.Note
	}
	return c
}

// headsText spells the heads that a page shows, for the hidden field of its
// forms; parseHeads reads them back.
func headsText(heads []event.Hash) string {
	texts := make([]string, len(heads))
	for i, h := range heads {
		texts[i] = hex.EncodeToString(h[:])
	}
	return strings.Join(texts, " ")
}

func parseHeads(text string) ([]event.Hash, error) {
	var heads []event.Hash
	for word := range strings.FieldsSeq(text) {
		h, err := event.ParseHash(word)
		if err != nil {
			return nil, &Visible{Code: BadInput, Cause: err,
				Sentence: "The form was sent without what it had seen of the sling.",
				Next:     "Go back, load the page again and repeat what you did."}
		}
		heads = append(heads, h)
	}
	return heads, nil
}
