package web

import (
	"context"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/labeler/symbol"
	"cribgate/store"
)

// plateOf is a grade 80 sling of two legs, stamped as US OSHA, Guidance on Safe
// Sling Use, table 1 has it at 60° from horizontal: 12,300 lb for 3/8 in.
func plateOf(t testing.TB, size string, legs int, basis rating.Basis, pounds int64) rating.Plate {
	t.Helper()
	z, err := rating.ParseSize(rating.US, size)
	if err != nil {
		t.Fatal(err)
	}
	return rating.Plate{System: rating.US, Grade: rating.Grade80, Size: z, Legs: legs, Reach: 2400 * quantity.Millimetre,
		Stamped: []rating.Stamp{{Legs: legs, Basis: basis, Load: quantity.Mass(pounds) * quantity.Pound}}}
}

// shelved registers a sling, as change leaves it, and gives its id. It was
// inspected on 10 November 2025.
func (k *kiosk) shelved(ident string, change func(*event.Details)) event.SlingID {
	k.t.Helper()
	inspected, _ := quantity.NewDate(2025, 11, 10)
	d := event.Details{Ident: ident, Place: "C4", Outcome: tagcode.Fit, Service: due.Normal, Sling: gate.Sling{
		Plate: plateOf(k.t, "3/8", 2, rating.H60, 12_300), RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected}}
	if change != nil {
		change(&d)
	}
	o, err := k.server.Counter.Register(k.t.Context(), k.byKeeper(), d)
	if err != nil || !o.May {
		k.t.Fatalf("register %s: %v %v", ident, o.Codes, err)
	}
	return o.Sling.ID
}

// printed writes down the next tag of a sling and gives its text.
func (k *kiosk) printed(id event.SlingID) string {
	k.t.Helper()
	ctx := k.t.Context()
	s := k.sling(id)
	key, err := k.server.Keys.Current(id.Key)
	if err != nil {
		k.t.Fatal(err)
	}
	tag, err := s.Tag(id.Key, s.NextSerial())
	if err != nil {
		k.t.Fatal(err)
	}
	sealed, err := tag.Seal(key)
	if err != nil {
		k.t.Fatal(err)
	}
	drawn, err := symbol.Encode(sealed.Text())
	if err != nil {
		k.t.Fatal(err)
	}
	body := event.TagPrinted{Serial: tag.Serial, Key: tag.Key, Digest: tagcode.Digest(sealed.Text()), Version: 5, Level: "H", Mask: drawn.Mask(), Stock: "test"}
	act := store.Act{By: k.keeper.ID, Station: station, Way: string(counter.Program)}
	if _, err = k.store.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Sling(id), s.Heads, body)
		return nil, err
	}); err != nil {
		k.t.Fatal(err)
	}
	return sealed.Text()
}

func (k *kiosk) confirmed(id event.SlingID, text string) {
	k.t.Helper()
	ident := k.sling(id).Details.Ident
	o, err := k.server.Counter.Confirm(k.t.Context(), counter.Who{Person: k.inspector.ID, Station: station, Way: counter.Scanner},
		counter.Reading{Text: text, Way: counter.Scanner, Typed: ident[max(0, len(ident)-4):]}, id)
	if err != nil || !o.May {
		k.t.Fatalf("confirm %s: %v %v", ident, o.Codes, err)
	}
}

// hanging registers a sling with a live tag and gives its id and the tag's text.
func (k *kiosk) hanging(ident string, change func(*event.Details)) (event.SlingID, string) {
	k.t.Helper()
	id := k.shelved(ident, change)
	text := k.printed(id)
	k.confirmed(id, text)
	return id, text
}

func (k *kiosk) sling(id event.SlingID) state.Sling {
	k.t.Helper()
	s, err := k.store.Sling(k.t.Context(), id)
	if err != nil {
		k.t.Fatal(err)
	}
	return s
}

// short is the short code of a sling's tag.
func (k *kiosk) short(id event.SlingID, serial tagcode.Serial) string {
	return tagcode.ShortOf(id.Number, serial).String()
}

// kinds lists what was recorded about a sling, by kind.
func (k *kiosk) kinds(id event.SlingID) []event.Kind {
	k.t.Helper()
	story, err := k.store.Story(k.t.Context(), event.Sling(id))
	if err != nil {
		k.t.Fatal(err)
	}
	var list []event.Kind
	for _, r := range story {
		list = append(list, r.Envelope.Kind)
	}
	return list
}

func (k *kiosk) recorded(id event.SlingID, kind event.Kind) (n int) {
	k.t.Helper()
	for _, each := range k.kinds(id) {
		if each == kind {
			n++
		}
	}
	return n
}

// follow follows redirects to the page at the end.
func (c *client) follow(a answer) answer {
	c.k.t.Helper()
	for range 5 {
		if a.status != http.StatusSeeOther {
			return a
		}
		a = c.get(a.to)
	}
	c.k.t.Fatal("redirects without an end")
	return a
}

var hiddenPattern = regexp.MustCompile(`<input type="hidden" name="([^"]+)" value="([^"]*)">`)

// form gives the hidden fields of the form that posts to action.
func (a answer) form(t testing.TB, action string) url.Values {
	t.Helper()
	at := strings.Index(a.body, `action="`+action+`"`)
	if at < 0 {
		t.Fatalf("page has no form for %s: %s", action, a.main())
	}
	part := a.body[at:]
	part = part[:strings.Index(part, "</form>")]
	values := url.Values{}
	for _, m := range hiddenPattern.FindAllStringSubmatch(part, -1) {
		values.Set(m[1], html.UnescapeString(m[2]))
	}
	return values
}

// allWell answers each question of a form's return check with the good answer.
func (a answer) allWell(t testing.TB, action string) url.Values {
	t.Helper()
	_, part, _ := strings.Cut(a.body, `action="`+action+`"`)
	part, _, _ = strings.Cut(part, "</form>")
	values := url.Values{}
	for _, m := range wellPattern.FindAllStringSubmatch(part, -1) {
		values.Set(m[1], "ok")
	}
	if len(values) == 0 {
		t.Fatalf("nothing is asked in the form for %s: %s", action, a.main())
	}
	return values
}

var wellPattern = regexp.MustCompile(`name="(is-[a-z-]+)" value="ok"`)

// returns takes back the sling of a page of the counter, on which all is well.
func (c *client) returns(page answer) answer {
	c.k.t.Helper()
	return c.send(page, "/counter/return", page.allWell(c.k.t, "/counter/return"))
}

func (a answer) hasForm(action string) bool { return strings.Contains(a.body, `action="`+action+`"`) }

// main is the page without what stands around it.
func (a answer) main() string {
	_, rest, _ := strings.Cut(a.body, "<main")
	rest, _, _ = strings.Cut(rest, "</main>")
	return strings.Join(strings.Fields(rest), " ")
}

var (
	verdictPattern = regexp.MustCompile(`data-verdict="([^"]*)"`)
	tagPattern     = regexp.MustCompile(`<[^>]*>`)
)

// verdict is the verdict on the page, empty for none.
func (a answer) verdict() Verdict {
	if m := verdictPattern.FindStringSubmatch(a.body); m != nil {
		return Verdict(m[1])
	}
	return ""
}

// plateText is what the plate says.
func (a answer) plateText() string {
	_, rest, _ := strings.Cut(a.body, `<div class="said">`)
	rest, _, _ = strings.Cut(rest, "</section>")
	return strings.Join(strings.Fields(tagPattern.ReplaceAllString(rest, " ")), " ")
}

// send fills in a form of the page and sends it, and gives the page at the end.
func (c *client) send(page answer, action string, values url.Values) answer {
	c.k.t.Helper()
	form := page.form(c.k.t, action)
	for name, v := range values {
		form[name] = v
	}
	return c.follow(c.post(action, form))
}

// scan is a hand scanner at the counter.
func (c *client) scan(text string) answer {
	c.k.t.Helper()
	return c.send(c.get("/counter"), "/counter/scan", url.Values{"text": {text}, "way": {"scanner"}})
}

func (c *client) typeCode(code string) answer {
	c.k.t.Helper()
	return c.send(c.get("/counter"), "/counter/scan", url.Values{"text": {code}})
}

func (c *client) takes(who state.Person) answer {
	c.k.t.Helper()
	return c.send(c.get("/counter/rigger"), "/counter/rigger", url.Values{"rigger": {who.ID.String()}})
}

// aLift is a whole answer to the lift page: 12,000 lb, weighed, on two legs at 60°
// from horizontal, centred, ordinary, needed back on 4 March 2026.
func aLift() url.Values {
	return url.Values{"load": {"12,000"}, "unit": {"lb"}, "known": {"weighed"}, "special": {"yes"}, "use": {"ordinary"}, "hitch": {"straight"}, "legs": {"2"},
		"angle": {"degrees"}, "degrees": {"60"}, "from": {"horizontal"}, "centred": {"yes"}, "bears": {"nothing"}, "heat": {"ordinary"},
		"back": {"other"}, "day": {"2026-03-04"}, "radius-unit": {"in"}, "scale": {"F"}}
}

func with(v url.Values, pairs ...string) url.Values {
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func (c *client) lifts(v url.Values) answer {
	c.k.t.Helper()
	return c.send(c.get("/counter/lift"), "/counter/lift", v)
}

func (k *kiosk) policy() event.Policy {
	k.t.Helper()
	crib, err := k.store.Crib(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	return crib.Founded.Policy
}

func (k *kiosk) setPolicy(p event.Policy) {
	k.t.Helper()
	crib, err := k.store.Crib(k.t.Context())
	if err == nil {
		err = k.server.Counter.SetPolicy(k.t.Context(), k.byKeeper(), crib.Heads, p)
	}
	if err != nil {
		k.t.Fatal(err)
	}
}

func (k *kiosk) holds(id event.SlingID, reason string) {
	k.t.Helper()
	o, err := k.server.Counter.Hold(k.t.Context(), k.byKeeper(), counter.Seen{Sling: id, Heads: k.sling(id).Heads}, reason)
	if err != nil || !o.May {
		k.t.Fatalf("hold: %v %v", o.Codes, err)
	}
}

// cleared lets the next rigger come.
func (c *client) cleared() {
	c.k.t.Helper()
	if page := c.get("/counter"); page.hasForm("/counter/next") {
		c.send(page, "/counter/next", nil)
	}
}
