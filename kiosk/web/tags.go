package web

import (
	"errors"
	"net/http"
	"net/url"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/printtemplates"
	"cribgate/store"
)

// TagsPage is the queue from print to confirmed tag: what waits to be hung on,
// what nobody hung on in time, which slings are to get a tag, and what was thrown
// away.
type TagsPage struct {
	Base
	Lists  []Sieve
	Stocks []Sieve // none where there is nothing to choose among
	Said   string
	Hint   string
	Rows   []TagsRow
	Empty  string
	Next   string
	First  string
}

// A TagsRow is one tag, or one sling that is to get one.
type TagsRow struct {
	Ident   string
	Path    string // where the tag is printed, confirmed and thrown away
	MakeUp  string
	Tag     string // which, with its short code; that a sling has none
	Printed string
	State   string // until when it is good; why it is here
	Late    bool
	Note    string
	Verdict Verdict
}

const (
	tagsRows     = 60   // how many one page shows
	tagsCounted  = 1000 // a list is counted so far
	tagsRecently = 30   // days for which the page shows what was thrown away (site policy, no source)
)

// A tagsList is one list of the page.
type tagsList struct {
	name, label string
	empty       string
	hint        string
	wanted      bool // slings, not tags
	list        store.TagList
}

var tagsLists = [...]tagsList{
	{name: "", label: "To confirm", empty: "No tag waits to be confirmed.", list: store.TagsWaiting,
		hint: "Hang each on its sling and confirm it there. Until then it opens nothing."},
	{name: "wanted", label: "Need a tag", empty: "Every sling has a tag that says what the record says.", wanted: true,
		hint: "Print one on its page; the labeler prints many at once."},
	{name: "lapsed", label: "Lapsed", empty: "No tag has lapsed.", list: store.TagsLapsed,
		hint: "Nobody confirmed these in time. Print the next one, or throw it away."},
	{name: "thrown", label: "Thrown away", empty: "No tag was thrown away in the last 30 days.", list: store.TagsSpoiled,
		hint: "In the last 30 days. Each should have been cut up; a scan of one is refused."},
}

func (s *Server) tags(v *visit) error {
	asked := v.r.URL.Query()
	show, stock := tagsList{label: ""}, asked.Get("stock")
	p := &TagsPage{Base: Base{Title: "Tags"}}
	for _, l := range tagsLists {
		if l.name == asked.Get("show") {
			show = l
		}
	}
	if show.label == "" || !knownStock(stock) {
		return errNoPage
	}
	if err := s.tagsSieves(v, p, show, stock); err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	next, err := s.tagsRows(v, p, show, stock, asked.Get("after"), v.wordsOf(names))
	if errors.Is(err, store.ErrCursor) {
		return errNoPage
	}
	if err != nil {
		return err
	}
	if next != "" {
		p.Next = tagsPath(show.name, stock, next)
	}
	if asked.Get("after") != "" {
		p.First = tagsPath(show.name, stock, "")
	}
	p.Said, p.Hint, p.Empty = tagsSaid(len(p.Rows), show, stock, p.Next != "" || p.First != ""), show.hint, show.empty
	if stock != "" {
		p.Empty = "None on " + stock + ". " + show.empty
	}
	return s.render(v, http.StatusOK, "tags", p)
}

func tagsSaid(n int, show tagsList, stock string, more bool) string {
	what := "tag"
	if show.wanted {
		what = "sling"
	}
	text := plural(n, what)
	if more {
		text += " on this page"
	}
	text += ": " + lowerFirst(show.label)
	switch {
	case stock != "" && show.wanted:
		text += ", last on " + stock
	case stock != "":
		text += ", on " + stock
	}
	return text
}

// knownStock keeps what is no stock's name out of the page; empty is any.
func knownStock(name string) bool {
	if name == "" {
		return true
	}
	stock, err := printtemplates.Open(name)
	return err == nil && stock.Kind == printtemplates.Tag
}

// tagsSieves counts every list on the stock that is chosen, and the list that is
// chosen on every stock.
func (s *Server) tagsSieves(v *visit, p *TagsPage, show tagsList, stock string) error {
	for _, l := range tagsLists {
		n, err := s.countTags(v, l, stock)
		if err != nil {
			return err
		}
		p.Lists = append(p.Lists, Sieve{Label: l.label, Count: countWords(n), Path: tagsPath(l.name, stock, ""), Here: l.name == show.name})
	}
	stocks, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		return err
	}
	for _, st := range stocks {
		n, err := s.countTags(v, show, st.Name)
		if err != nil {
			return err
		}
		if n > 0 || st.Name == stock {
			p.Stocks = append(p.Stocks, Sieve{Label: st.Name, Count: countWords(n), Path: tagsPath(show.name, st.Name, ""), Here: st.Name == stock})
		}
	}
	if len(p.Stocks) > 0 {
		p.Stocks = append([]Sieve{{Label: "Every stock", Path: tagsPath(show.name, "", ""), Here: stock == ""}}, p.Stocks...)
	}
	return nil
}

func (s *Server) countTags(v *visit, l tagsList, stock string) (int, error) {
	if l.wanted {
		return s.Store.CountWants(v.r.Context(), stock, tagsCounted+1)
	}
	return s.Store.CountTags(v.r.Context(), s.tagQuery(v, l, stock), tagsCounted+1)
}

func (s *Server) tagQuery(v *visit, l tagsList, stock string) store.TagQuery {
	today := s.today(v)
	return store.TagQuery{List: l.list, Today: today, Since: today.AddDays(-tagsRecently), Stock: stock, Limit: tagsRows}
}

// countWords says how many there are, as far as they are counted.
func countWords(n int) string {
	if n > tagsCounted {
		return "over " + itoa(tagsCounted)
	}
	return itoa(n)
}

// tagsRows fills in one page of the list that is chosen.
func (s *Server) tagsRows(v *visit, p *TagsPage, show tagsList, stock, after string, w words) (next string, err error) {
	ctx, today := v.r.Context(), s.today(v)
	if show.wanted {
		slings, next, err := s.Store.List(ctx, store.Query{WantsTag: true, Stock: stock, After: after, Limit: tagsRows})
		if err != nil {
			return "", err
		}
		for _, sling := range slings {
			p.Rows = append(p.Rows, wantRow(sling, standing(sling, v.crib, today, w), w))
		}
		return next, nil
	}
	q := s.tagQuery(v, show, stock)
	q.After = after
	tags, next, err := s.Store.Tags(ctx, q)
	if err != nil {
		return "", err
	}
	for _, t := range tags {
		p.Rows = append(p.Rows, tagsRow(t, today, w))
	}
	return next, nil
}

func tagsRow(t store.SlingTag, today quantity.Date, w words) TagsRow {
	s := t.Sling
	r := TagsRow{
		Ident: s.Details.Ident, Path: slingPath(s) + "/tag", MakeUp: hangsWords(s, w.makeUp(s.Details.Sling.Plate)), Verdict: LookCloser,
		Tag: "Tag " + itoa(int(t.Tag.Serial)) + ", " + shortCode(s, t.Tag), Printed: upperFirst(printedWords(t.Tag, w)),
	}
	until := t.Tag.Printed.AddDays(state.LapseDays)
	switch {
	case t.Tag.Status == state.TagSpoiled:
		r.State, r.Verdict = upperFirst(spoiledWords(t.Tag.Spoiled, w)), Away
	case t.Tag.Lapsed(today):
		r.State, r.Late, r.Verdict = "Lapsed on "+until.AddDays(1).Long(), true, StaysHere
	default:
		r.State, r.Late = upperFirst(daysLeft(until.DaysSince(today)))+": good until "+until.Long(), until.DaysSince(today) <= 1
		if !s.Agrees(t.Tag) {
			r.Note, r.Verdict = "The record has changed since it was printed: throw it away and print the next one.", StaysHere
		}
	}
	return r
}

// wantRow is a sling that is to get a tag.
func wantRow(s state.Sling, st stand, w words) TagsRow {
	r := TagsRow{Ident: s.Details.Ident, Path: slingPath(s) + "/tag", MakeUp: hangsWords(s, w.makeUp(s.Details.Sling.Plate)), Verdict: StaysHere,
		Tag: "No tag on it", State: "Without one no counter can hand it over", Late: true}
	if n := len(s.Tags); n > 0 {
		r.Printed = "The last one was " + printedWords(s.Tags[n-1], w)
	}
	if live, ok := s.Live(); ok {
		r.Tag, r.Verdict = "Tag "+itoa(int(live.Serial))+", "+shortCode(s, live), LookCloser
		r.Printed, r.Late = upperFirst(printedWords(live, w)), st.tag != 0
		r.State = "Its tag says something else than the record"
		if s.Wants() == state.WantsWorn {
			r.State = "Its tag is worn: " + wornWords(live)
		}
		switch says, now := live.Says, s.Details.Sling; {
		case says.Inspected != now.Inspected:
			r.State = "Inspected " + now.Inspected.Long() + ", its tag says " + dayOr(says.Inspected)
		case says.Due != now.Due:
			r.State = "Due " + dayOr(now.Due) + ", its tag says " + dayOr(says.Due)
		}
	}
	if no := noTag(s); no != "" {
		r.Note = w.say(no)
	}
	return r
}

func dayOr(d quantity.Date) string {
	if d.IsZero() {
		return "no date"
	}
	return d.Long()
}

// hangsWords says what a sling is, and where.
func hangsWords(s state.Sling, makeUp string) string {
	switch d := s.Details; {
	case d.Sling.State == gate.StateOut:
		return makeUp + ", is out"
	case d.Place != "":
		return makeUp + ", hangs at " + d.Place
	}
	return makeUp
}

func tagsPath(show, stock, after string) string {
	q := url.Values{}
	for name, value := range map[string]string{"show": show, "stock": stock, "after": after} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if len(q) == 0 {
		return "/tags"
	}
	return "/tags?" + q.Encode()
}
