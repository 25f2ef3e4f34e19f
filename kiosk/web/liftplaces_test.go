package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// TestLiftsThatCannotBe: what is incomplete, absurd or contradicts itself is said at its
// own field; nothing is offered for it, and it is no lift at the counter.
func TestLiftsThatCannotBe(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("NS-0290", reaching(t, 2, 8, "B2"))
	k.hanging("NS-0401", reaching(t, 4, 8, "B3"))
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	span := func(pairs ...string) url.Values {
		return stating("9,000", 2, append([]string{"angle", bySpan, "span", "8"}, pairs...)...)
	}
	places := func(pairs ...string) url.Values {
		return with(stating("9,000", 2, "angle", byPlaces, "centred", "", "p1x", "0", "p1z", "4", "p2x", "8", "p2z", "4", "cx", "4", "cy", "0", "cz", "1"), pairs...)
	}
	four := func(pairs ...string) url.Values {
		return with(byPlacesOf(placed("9,000", "4", "0 0 3", "6 0 3", "6 4 3", "0 4 3", "3 2 1")), pairs...)
	}
	for _, r := range []struct {
		name  string
		v     url.Values
		field string // empty: nothing is wrong
		says  string
	}{
		{"a span", span(), "", ""},
		{"no span", span("span", ""), "span", "how far apart"},
		{"picks on one spot", span("span", "0"), "span", "on one spot"},
		{"no number", span("span", "NaN"), "span", "in digits"},
		{"a decimal comma", span("span", "2,5"), "span", "in digits"},
		{"below zero", span("span", "-8"), "span", "in digits"},
		{"an exponent", span("span", "1e3"), "span", "in digits"},
		{"longer than a crane’s yard", span("span", "400"), "span", "look at the number and the unit"},
		{"no unit", span("length-unit", ""), "span", "Choose the unit"},
		{"legs of half the span", span("reach", "4"), "reach", "they do not meet"},
		{"legs longer than that", span("reach", "4.01"), "", ""},
		{"legs shorter than half the span", span("reach", "3"), "reach", "they do not meet"},
		{"a hook without legs", span("hook", "6"), "hook", "without the length of the legs"},
		{"legs of 5, half a span of 4, a hook at 3: 3, 4, 5", span("reach", "5", "hook", "3"), "", ""},
		{"and a hook at 4", span("reach", "5", "hook", "4"), "hook", "cannot be one lift"},
		{"no room", span("headroom", "0"), "headroom", "No room at all"},
		{"a span of a choked load", span("hitch", "choke", "bears", "round", "radius", "50", "choke", "120"), "angle", "nobody has measured"},
		{"one side of a rectangle", with(stating("9,000", 4, "angle", bySpan, "span", "6"), "width", ""), "width", "the other way"},
		{"places", places(), "", ""},
		{"a pick without a place", places("p2x", ""), "p2x", "how far along pick point 2"},
		{"a pick without a height", places("p1z", ""), "p1z", "how high pick point 1"},
		{"no centre of gravity along", places("cx", ""), "cx", "how far along the cent"},
		{"nor across", places("cy", ""), "cy", "how far across the cent"},
		{"nor its height", places("cz", ""), "cz", "how high the cent"},
		{"two picks on one spot", places("p2x", "0"), "p2x", "on the spot of pick point 1"},
		{"a centre of gravity beside the picks", places("cx", "9"), "cx", "would tip"},
		{"a centre of gravity over the picks", places("cz", "5"), "cz", "would roll over"},
		{"of four, outside", four("cx", "-1"), "cx", "would tip"},
		{"of four, across", four("cy", "9"), "cx", "would tip"},
		{"of four, a pick on another", four("p3x", "6", "p3y", "0"), "p3x", "on the spot of pick point 2"},
		{"of four, all in one line", four("p3y", "0", "p3x", "3", "p4y", "0", "p4x", "1"), "cx", "would tip"},
		{"absurd", places("p2x", "99999999"), "p2x", "in digits"},
		{"far", places("p2x", "999999"), "p2x", "look at the number and the unit"},
		{"only a sign", places("cz", "-"), "cz", "in digits"},
		{"places of one leg", places("legs", "1"), "", ""}, // an upright leg asks for none
		{"places of a choke", places("hitch", "choke", "bears", "round", "radius", "50", "choke", "120"), "angle", "straight lift"},
	} {
		form := liftForm{}
		for name := range r.v {
			form[name] = r.v.Get(name)
		}
		_, wrong := form.read(liftTerms{margin: 10, today: k.today()})
		if r.field == "" && len(wrong) > 0 || r.field != "" && (len(wrong) != 1 || !strings.Contains(wrong[r.field], r.says)) {
			t.Errorf("%s: %v, want %s: …%s…", r.name, wrong, r.field, r.says)
			continue
		}
		if r.field == "" {
			continue
		}
		if got := c.asks(r.v); got.first != "" || !strings.Contains(got.text, "Not whole yet") || !strings.Contains(got.text, r.says) {
			t.Errorf("%s: the page says %s", r.name, got.text)
		}
		page := c.send(c.get(liftPath), liftPath, r.v)
		if page.status != http.StatusUnprocessableEntity || !page.has("Not stated yet") || !strings.Contains(page.body, `id="e-`+r.field+`"`) {
			t.Errorf("%s: at the counter %d", r.name, page.status)
		}
	}
	if !c.get("/counter").has("No lift is stated yet") {
		t.Error("one of them is a lift at the counter")
	}
}

// TestUnitsBesideALength: a unit that stands beside a length counts, whatever is chosen.
func TestUnitsBesideALength(t *testing.T) {
	for text, want := range map[string]quantity.Length{
		"2 m": 2 * quantity.Metre, "7 ft 6 in": 2286 * quantity.Millimetre, `6'6"`: 1981*quantity.Millimetre + 200, "240": 240 * quantity.Inch, "1/2": quantity.Inch / 2,
	} {
		got, complaint := liftForm{"span": text, "length-unit": "in"}.readLength("span", "", false)
		if got != want || complaint != "" {
			t.Errorf("%q: %v %q, want %v", text, got, complaint, want)
		}
	}
	for text, want := range map[string]quantity.Length{"-2 m": -2 * quantity.Metre, "−1": -quantity.Inch, "3": 3 * quantity.Inch} {
		if got, complaint := (liftForm{"cz": text, "length-unit": "in"}).readLength("cz", "", true); got != want || complaint != "" {
			t.Errorf("%q: %v %q, want %v", text, got, complaint, want)
		}
	}
}

// TestWeighedBySize: the helper makes a load of a size, which says that it is estimated,
// and says what is missing; nothing is taken that is not whole. A foot of 36 in pipe of
// schedule 40 weighs 282.36 lb (a rigger's study guide): 20 ft of it, with the density
// of Iowa DOT IM 452.02, come to 5,654 lb, rounded up.
func TestWeighedBySize(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	pipe := url.Values{"do": {doWeigh}, "unit": {"lb"}, "of": {"steel"}, "shape": {"pipe"}, "w-length": {"20 ft"}, "w-diameter": {"36"}, "w-thickness": {"3/4"}, "w-unit": {"in"}}
	page := c.send(c.get(liftPath), liftPath, pipe)
	if page.status != http.StatusOK || !strings.Contains(page.body, `name="load" type="text" autocomplete="off" value="5654"`) || !strings.Contains(page.body, `name="known" value="estimated" checked`) || !page.has("Iowa") {
		t.Errorf("%d: %s", page.status, between(page.body, `id="f-load"`, ">")+between(page.body, `id="lift-estimate"`, "<p class=\"hint\">An"))
	}
	for field, says := range map[string]string{"w-length": "Type the length.", "w-thickness": "Type the thickness.", "of": "made of", "shape": "what shape"} {
		page := c.send(c.get(liftPath), liftPath, with(url.Values{"do": {doWeigh}, "unit": {"lb"}, "of": {"steel"}, "shape": {"pipe"}, "w-length": {"20 ft"}, "w-diameter": {"36"}, "w-thickness": {"3/4"}, "w-unit": {"in"}}, field, ""))
		if !page.has(says) || strings.Contains(page.body, `value="5654"`) {
			t.Errorf("without %s: %s", field, between(page.body, `id="lift-estimate"`, "<div class=\"actions\">"))
		}
	}
}

// TestTakenFromTheList: without a script the page says what would do, and a button there
// states the lift and sends somebody for its slings: singles on one hook together, and
// those under a beam.
func TestTakenFromTheList(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	single := func(d *event.Details) {
		d.Sling.Plate = plateOf(t, "1/2", 1, rating.Vertical, 12_000)
		d.Place = "S1"
	}
	one, oneText := k.hanging("NS-0101", single)
	two, twoText := k.hanging("NS-0102", single)
	other, _ := k.hanging("NS-0103", func(d *event.Details) {
		single(d)
		d.Sling.Plate.Reach = 3 * quantity.Metre
	})
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	v := with(byPlacesOf(placed("15,000", "2", "0 0 4", "8 0 4", "4 0 1")), "together", "one-hook")
	page := c.send(c.get(liftPath), liftPath, with(v, "do", doShow))
	if page.status != http.StatusOK || !page.has("2 slings here would do; 2 go together") || !page.has("Take NS-0101, NS-0102") || page.has("Take NS-0103") {
		t.Fatalf("%d: %s", page.status, page.main())
	}
	v.Del("do")
	page = c.send(page, liftPath, with(v, "take", one.String()+" "+two.String()))
	if !page.has("Fetch NS-0101") || !page.has("Fetch NS-0102") {
		t.Fatalf("not sent for: %s", page.main())
	}
	if page = c.scan(oneText); page.has("Fetch NS-0101") || !page.has("Fetch NS-0102") {
		t.Errorf("after the first: %s", page.main())
	}
	page = c.scan(twoText)
	c.send(page, "/counter/issue", nil)
	if k.out(k.rigger, one)+k.out(k.rigger, two) != 2 || k.out(k.rigger, other) != 0 {
		t.Errorf("not issued together: %s", page.main())
	}
	beam := stating("6,000", 1, "together", "beam", "slings", "2", "beam", "500", "parts", "equal")
	if got := c.asks(beam); got.first != "" || !strings.Contains(got.text, gate.TooFewTogether.Text(gate.Answer{}, inUS).Sentence) {
		t.Errorf("one sling for two under a beam: %s", got.text)
	}
	if got := c.asks(with(beam, "parts", "stated")); got.first != "" || !strings.Contains(got.text, "asked when it is scanned") {
		t.Errorf("parts that nobody stated: %s", got.text)
	}
}
