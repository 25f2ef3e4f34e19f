package web

import (
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
)

// TestOneAsksTheNext: clearing the counter asks who comes, and who comes is asked
// for the lift, unless what lies there stays anyway.
func TestOneAsksTheNext(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	other := k.add("R. Cole", event.Rigger)
	_, text := k.hanging("NS-0417", nil)
	held, heldText := k.hanging("NS-0105", nil)
	k.holds(held, "gouged")
	c := k.signedIn(k.attendant)
	if page := c.takes(k.rigger); !page.hasForm("/counter/lift") || !page.has("The lift, for T. Brandt") {
		t.Errorf("who came is not asked for the lift: %s", page.main())
	}
	c.lifts(aLift())
	if page := c.takes(k.rigger); page.hasForm("/counter/lift") {
		t.Error("a lift that is stated is asked again")
	}
	if page := c.send(c.get("/counter"), "/counter/next", nil); !page.has("Who takes slings?") || !page.hasForm("/counter/rigger") {
		t.Errorf("after the next rigger: %s", page.main())
	}
	c.scan(text)
	if page := c.takes(other); !page.hasForm("/counter/lift") {
		t.Errorf("with a sling that could go: %s", page.main())
	}
	if page := c.send(c.get("/counter"), "/counter/next", nil); !page.hasForm("/counter/rigger") {
		t.Errorf("cleared with a rigger: %s", page.main())
	}
	c.scan(heldText)
	if page := c.send(c.get("/counter"), "/counter/next", nil); !page.has("Scan</span> <span>a sling") {
		t.Errorf("cleared without a rigger: %s", page.main())
	}
	c.scan(heldText)
	if page := c.takes(other); page.verdict() != StaysHere {
		t.Errorf("with a sling that stays: %s", page.main())
	}
}

// TestRailIsNeverOlderThanThePage: a card that might go when it was scanned says
// so only as long as it still may.
func TestRailIsNeverOlderThanThePage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	first, firstText := k.hanging("NS-0001", nil)
	_, secondText := k.hanging("NS-0002", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	c.scan(firstText)
	page := c.scan(secondText)
	if got := strings.Count(page.body, ">may go<"); got != 2 {
		t.Fatalf("%d cards may go: %s", got, page.main())
	}
	k.holds(first, "gouged")
	if page = c.get("/counter"); strings.Count(page.body, ">may go<") != 1 || !page.has(">held<") {
		t.Errorf("after the first was held: %s", page.main())
	}
	c.scan(firstText)
	if page = c.get("/counter"); strings.Count(page.body, `class="card may-go"`) != 1 {
		t.Errorf("cards with a green edge: %s", page.main())
	}
	if page = c.send(c.scan(secondText), "/counter/issue", nil); strings.Contains(page.body, "may-go") {
		t.Errorf("something is green after it was handed over: %s", page.main())
	}
}

// TestTakenMeanwhile: a sling that might go from here and went from elsewhere is
// no return.
func TestTakenMeanwhile(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second, other := k.add("P. Lund", event.Attendant), k.add("R. Cole", event.Rigger)
	_, text := k.hanging("NS-0417", nil)
	one, two := k.signedIn(k.attendant), k.signedIn(second)
	one.takes(k.rigger)
	one.lifts(aLift())
	two.takes(other)
	two.lifts(aLift())
	one.scan(text)
	two.send(two.scan(text), "/counter/issue", nil)
	if page := one.get("/counter"); page.verdict() != StaysHere || !page.has("R. Cole has it since") || !page.has("It is here all the same") {
		t.Errorf("looked at again: %q %s", page.verdict(), page.main())
	}
	if page := one.scan(text); page.verdict() != LookCloser || !page.has("Back from R. Cole") {
		t.Errorf("scanned again: %q %s", page.verdict(), page.main())
	}
}

// TestPlateIsNotShownWhereItIsAsked: the end of the identification is asked so that
// somebody reads it off the metal, so the screen must not show it.
func TestPlateIsNotShownWhereItIsAsked(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	hidden := func(when string, page answer) {
		t.Helper()
		if page.has("0417") || !page.has("3/8 in, grade 80, 2 legs") {
			t.Errorf("%s: %s", when, page.main())
		}
	}
	hidden("with the code alone", c.typeCode(k.short(id, 1)))
	c.takes(k.rigger)
	hidden("with the rigger", c.get("/counter"))
	page := c.lifts(aLift())
	hidden("with the lift", page)
	if page.verdict() != LookCloser {
		t.Fatalf("the plate is not asked: %q", page.verdict())
	}
	page = c.send(page, "/counter/issue", url.Values{"typed": {"0418"}})
	hidden("after a wrong answer", page)
	if page = c.send(page, "/counter/issue", url.Values{"typed": {"0417"}}); !page.has("Handed over") || !page.has("NS-0417") {
		t.Errorf("after the right answer: %s", page.main())
	}
	if page = c.scan(text); !page.has("NS-0417") {
		t.Errorf("scanned: %s", page.main())
	}
	if page = k.signedIn(k.inspector).typeCode(k.short(id, 1)); !page.has("NS-0417") {
		t.Errorf("for who hands nothing over: %s", page.main())
	}
}

// TestHelpLeadsOn: a refusal leads to where it is dealt with, or says who does.
func TestHelpLeadsOn(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	lost, lostText := k.hanging("NS-0001", nil)
	if o, err := k.server.Counter.Lose(t.Context(), k.byKeeper(), counter.Seen{Sling: lost, Heads: k.sling(lost).Heads}, "not on its peg"); err != nil || !o.May {
		t.Fatalf("lose: %v %v", o.Codes, err)
	}
	waiting := k.shelved("NS-0002", nil)
	waitingText := k.printed(waiting)
	held := k.shelved("NS-0003", nil)
	heldText := k.printed(held)
	k.holds(held, "gouged")
	c := k.signedIn(k.attendant)
	if page := c.scan(lostText); !page.has("Report it found") || !page.has(slingPath(k.sling(lost))+"#find") {
		t.Errorf("lost: %s", page.main())
	}
	if page := c.scan(waitingText); !page.has("To its tags") || page.has("An inspector or a keeper prints tags.") {
		t.Errorf("not confirmed, for an attendant: %s", page.main())
	}
	thrown := k.shelved("NS-0004", nil)
	thrownText := k.printed(thrown)
	k.happens(thrown, k.attendant, event.TagSpoiled{Serial: 1, Why: event.SpoiltPrint})
	if page := c.scan(thrownText); page.verdict() != StaysHere || !page.has("This tag was thrown away") || !page.has("An inspector or a keeper prints tags.") {
		t.Errorf("thrown away: %s", page.main())
	}
	if page := k.signedIn(k.inspector).scan(waitingText); !page.has("To its tags") || !page.has(slingPath(k.sling(waiting))+"/tag") {
		t.Errorf("not confirmed, for an inspector: %s", page.main())
	}
	k.passed.Store(int64(8 * 24 * time.Hour))
	page := c.scan(heldText)
	if !page.has("It is held in quarantine. Gouged.") || page.has("in time. Gouged.") || !page.has("Who may release it: O. Vance") {
		t.Errorf("held, with a tag that lapsed: %s", page.main())
	}
}

// TestLateIsSaid: who brings a sling back late hears by when it was needed.
func TestLateIsSaid(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	c.send(c.scan(text), "/counter/issue", nil)
	if page := c.scan(text); page.has("It was needed back by") {
		t.Errorf("in time: %s", page.plateText())
	}
	k.passed.Store(int64(3 * 24 * time.Hour))
	if page := k.signedIn(k.attendant).scan(text); !page.has("It was needed back by 4 Mar 2026.") {
		t.Errorf("late: %s", page.plateText())
	}
}

// TestInsteadHangsAsStated: what is named instead has as many legs as carry, and no
// less reach where the legs lean, and hangs here.
func TestInsteadHangsAsStated(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	legs := func(n, mm int) func(*event.Details) {
		return func(d *event.Details) {
			d.Sling.Plate = plateOf(t, "1/2", n, map[int]rating.Basis{1: rating.Vertical, 2: rating.H60, 4: rating.H60}[n], map[int]int64{1: 12_000, 2: 20_800, 4: 31_200}[n])
			d.Sling.Reach = quantity.Length(mm) * quantity.Millimetre
			d.Place = "B" + strconv.Itoa(mm)
		}
	}
	_, text := k.hanging("NS-0001", nil) // 2.4 m, 12,300 lb at 60°
	_, four := k.hanging("NS-0002", func(d *event.Details) {
		d.Sling.Plate = plateOf(t, "3/8", 4, rating.H60, 18_400)
		d.Sling.RatingTag, d.Sling.Adjustable = gate.TagMissing, true
	})
	k.hanging("NS-0010", legs(2, 2_399))
	k.hanging("NS-0011", legs(2, 2_500))
	k.hanging("NS-0012", legs(2, 2_401))
	k.hanging("NS-0013", legs(1, 2_400))
	k.hanging("NS-0014", legs(4, 2_400))
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "15,000"))
	if page := c.scan(text); page.verdict() != StaysHere || !page.has("Take NS-0012 from B2401 instead") {
		t.Errorf("instead of two legs: %s", page.main())
	}
	// One of four legs that stays whatever the lift: two legs would do, and it need
	// not be said first whether its own are shortened.
	if page := c.scan(four); page.verdict() != StaysHere || !page.has("Take NS-0014 from B2400 instead") || !page.has("Change the lift") {
		t.Errorf("instead of four legs, for two: %s", page.main())
	}
	c.lifts(with(aLift(), "load", "15,000", "degrees", "20"))
	if page := c.scan(text); page.has(" instead<") {
		t.Errorf("where none would do: %s", page.main())
	}
}

// TestSpreadIsSaidInLengths: an angle that was answered by the drawing holds for
// the sling in the hand, whose reach says how far apart the pick points may be.
func TestSpreadIsSaidInLengths(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0001", nil)
	_, unknown := k.hanging("NS-0002", func(d *event.Details) { d.Sling.Reach = 0 })
	_, four := k.hanging("NS-0003", func(d *event.Details) { d.Sling.Plate = plateOf(t, "3/8", 4, rating.H60, 18_400) })
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "angle", "45", "load", "9,000"))
	// 2.4 m is 94.5 in to the half inch; 1.4 of it is 132.3 in, or 3.36 m.
	if page := c.scan(text); !page.has("This holds for pick points no more than 11 ft apart.") || !page.has("3.36 m") {
		t.Errorf("by the drawing: %s", page.main())
	}
	// Four legs stand on a circle: each is half of that from the middle.
	c.lifts(with(aLift(), "angle", "45", "load", "9,000", "legs", "4"))
	if page := c.scan(four); !page.has("This holds for pick points no more than 5 ft 6 in from their middle.") || !page.has("1.68 m") {
		t.Errorf("four legs: %s", page.main())
	}
	c.lifts(with(aLift(), "angle", "45", "load", "9,000"))
	if page := c.scan(unknown); page.verdict() != MayGo || page.has("This holds for") {
		t.Errorf("without a known reach: %s", page.main())
	}
	for name, lift := range map[string]url.Values{
		"by degrees":  aLift(),
		"choked":      with(aLift(), "angle", "60", "load", "1,000", "hitch", "choke", "choke", "120", "bears", "round", "radius", "4"),
		"in a basket": with(aLift(), "angle", "60", "load", "1,000", "hitch", "basket", "bears", "round", "radius", "9"),
	} {
		c.lifts(lift)
		if page := c.scan(text); page.verdict() != MayGo || page.has("This holds for") || page.has("Pick points") {
			t.Errorf("%s: %s", name, page.main())
		}
	}
}
