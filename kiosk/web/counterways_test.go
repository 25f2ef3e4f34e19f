package web

import (
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// TestWhatStaysIsSaidAtTheButton: the button that hands over the others says what
// of the counter does not go with them.
func TestWhatStaysIsSaidAtTheButton(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, good := k.hanging("NS-0001", nil)
	first, firstText := k.hanging("NS-0105", nil)
	second, secondText := k.hanging("NS-0106", nil)
	k.holds(first, "gouged")
	k.holds(second, "bent")
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	if page := c.scan(good); page.has("stays here") || page.has("stay here") {
		t.Errorf("with nothing that stays: %s", page.main())
	}
	if page := c.scan(firstText); !page.has("Hand over NS-0001 to T. Brandt") || !page.has("; NS-0105 stays here") {
		t.Errorf("with one that stays: %s", page.main())
	}
	if page := c.scan(secondText); !page.has("; 2 slings stay here") {
		t.Errorf("with two that stay: %s", page.main())
	}
}

// TestChangeTheLiftOnlyWhereItHelps: a sling that would go for no lift does not lead
// to another one, and one that is too weak does.
func TestChangeTheLiftOnlyWhereItHelps(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	held, heldText := k.hanging("NS-0105", nil)
	k.holds(held, "gouged")
	_, overdue := k.hanging("NS-0106", func(d *event.Details) { d.Sling.Due = quantity.DateOf(k.clock()).AddDays(-30) })
	_, weak := k.hanging("NS-0107", func(d *event.Details) { d.Sling.Plate = plateOf(t, "9/32", 2, rating.H60, 6_100) })
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "7,000"))
	const step = `<span class="label">Change the lift</span> <span class="sub">7,000 lb`
	for name, x := range map[string]struct {
		text string
		want bool
	}{"held": {heldText, false}, "overdue": {overdue, false}, "too weak": {weak, true}} {
		if page := c.scan(x.text); page.verdict() != StaysHere || page.has(step) != x.want {
			t.Errorf("%s: %q, led to another lift: %v: %s", name, page.verdict(), page.has(step), page.main())
		}
	}
}

// TestNobodysSlingHasAWay: a tag of somebody else leads to where a sling is kept
// apart, at the counter and in a heap; a sling of this crib does not.
func TestNobodysSlingHasAWay(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, own := k.hanging("NS-0001", nil)
	foreign := badText(k)["another owner"]
	c := k.signedIn(k.attendant)
	const way = `href="/strays"`
	if page := c.get("/counter"); !page.has(way) {
		t.Errorf("the empty counter: %s", page.main())
	}
	if page := c.scan(foreign); page.verdict() != StaysHere || !page.has(way) {
		t.Errorf("somebody else's: %s", page.main())
	}
	if page := c.scan(own); page.has(way) {
		t.Errorf("our own: %s", page.main())
	}
	form := c.get("/heap").form(t, "/heap/scan")
	form.Set("text", foreign)
	form.Set("way", "scanner")
	if page := c.follow(c.post("/heap/scan", form)); strings.Count(page.body, way) != 1 {
		t.Errorf("in a heap: %s", page.main())
	}
}
