package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// badgeOf prints the next badge of a person and gives its text.
func (k *kiosk) badgeFor(p state.Person) string {
	k.t.Helper()
	crib, err := k.store.Crib(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	key, err := k.server.Keys.Current(crib.Key())
	if err != nil {
		k.t.Fatal(err)
	}
	next, ok := k.person(p.ID).NextBadge(crib.Key())
	if !ok {
		k.t.Fatal("there is no next badge")
	}
	sealed, err := next.Seal(key)
	if err != nil {
		k.t.Fatal(err)
	}
	err = k.server.Counter.PrintBadge(k.t.Context(), k.byKeeper(), p.ID,
		event.BadgePrinted{Serial: next.Serial, Key: next.Key, Digest: tagcode.Digest(sealed.Text()), Until: next.Until, Stock: "badge"})
	if err != nil {
		k.t.Fatal(err)
	}
	return sealed.Text()
}

// onTerms changes what holds for a person.
func (k *kiosk) onTerms(p state.Person, terms event.Terms) state.Person {
	k.t.Helper()
	p = k.person(p.ID)
	if err := k.server.Counter.ChangePerson(k.t.Context(), k.byKeeper(), p.ID, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: terms}); err != nil {
		k.t.Fatal(err)
	}
	return k.person(p.ID)
}

// leg is a sling of one leg, 7,100 lb straight (US OSHA, Guidance on Safe Sling Use,
// table 1).
func leg(t testing.TB) func(*event.Details) {
	return func(d *event.Details) { d.Sling.Plate = plateOf(t, "3/8", 1, rating.Vertical, 7_100) }
}

// out counts the slings that are out with a rigger.
func (k *kiosk) out(who state.Person, ids ...event.SlingID) (n int) {
	k.t.Helper()
	for _, id := range ids {
		if s := k.sling(id); s.Details.Sling.State == gate.StateOut && s.Loan.Rigger == who.ID {
			n++
		}
	}
	return n
}

// TestLoanOfMany: badge, lift, scan, scan, scan, one button; then the slip.
func TestLoanOfMany(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	badge := k.badgeFor(k.rigger)
	a, aText := k.hanging("NS-0001", nil)
	b, bText := k.hanging("NS-0002", nil)
	c, cText := k.hanging("NS-0003", nil)
	weak, weakText := k.hanging("NS-0004", func(d *event.Details) { d.Sling.RatingTag = gate.TagPartial })
	at := k.signedIn(k.attendant)
	if page := at.scan(badge); !page.has("The lift, for T. Brandt") {
		t.Fatalf("after the badge: %s", page.main())
	}
	at.lifts(aLift())
	at.scan(aText)
	page := at.scan(bText)
	if page.verdict() != MayGo || !page.has("Hand over 2 slings to T. Brandt") || !page.has("needed back by 4 Mar 2026") {
		t.Fatalf("two: %s", page.main())
	}
	for range 5 {
		page = at.scan(bText)
	}
	if !page.has("NS-0002 is on the loan already, and counts once.") || !page.has("Hand over 2 slings") {
		t.Errorf("the same scan again: %s", page.main())
	}
	page = at.scan(weakText)
	if page.verdict() != StaysHere || !page.has("Hand over 2 slings to T. Brandt") || k.recorded(weak, event.KindRefused) != 1 {
		t.Errorf("one that stays: %q %s", page.verdict(), page.main())
	}
	at.send(at.scan(cText), "/counter/off", nil)
	page = at.scan(cText)
	if !page.has("Hand over 3 slings to T. Brandt") {
		t.Fatalf("three: %s", page.main())
	}
	page = at.send(page, "/counter/issue", nil)
	if !page.has("Handed over") || !page.has("NS-0001, NS-0002, NS-0003") || k.out(k.rigger, a, b, c, weak) != 3 {
		t.Fatalf("handed over: %s", page.main())
	}
	loan := k.sling(a).Loan.Line.Loan
	if k.sling(b).Loan.Line.Loan != loan || k.sling(c).Loan.Line.Loan != loan || loan.IsZero() {
		t.Error("they did not go out together")
	}
	slip := at.get("/loan/" + loan.String())
	for _, text := range []string{"Slip for T. Brandt", "3 slings, handed over", "by I. Maro", "NS-0003", "May carry 12,300 lb rigged like this. The lift needs 12,000 lb.",
		"Lift 1: 12,000 lb; two legs, straight, 60° from horizontal.", "Needed back by 4 Mar 2026.", "never replaces"} {
		if !slip.has(text) {
			t.Errorf("the slip lacks %q: %s", text, slip.main())
		}
	}
	pdf := at.get("/loan/" + loan.String() + "/slip.pdf")
	if pdf.status != http.StatusOK || !strings.HasPrefix(pdf.body, "%PDF-") || pdf.header.Get("Content-Type") != "application/pdf" {
		t.Errorf("the PDF: %d %s", pdf.status, pdf.header)
	}
	for _, path := range []string{"/loan/x", "/loan/" + event.LoanID{7}.String(), "/loan/" + event.LoanID{7}.String() + "/slip.pdf"} {
		if a := at.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}
}

// TestSameAsYesterday: the lift of the rigger's newest loan, shown, and stated again
// with one tap.
func TestSameAsYesterday(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	badge := k.badgeFor(k.rigger)
	_, text := k.hanging("NS-0001", nil)
	other, otherText := k.hanging("NS-0002", nil)
	at := k.signedIn(k.attendant)
	at.scan(badge)
	at.lifts(with(aLift(), "angle", "60", "back", "2026-03-02"))
	at.send(at.scan(text), "/counter/issue", nil)
	k.passed.Store(int64(24 * time.Hour))
	at = k.signedIn(k.attendant)
	page := at.scan(badge)
	if !page.has("Same as yesterday. Needed back by?") || !page.has("12,000 lb") || !page.has("or steeper, by the drawing") {
		t.Fatalf("what for: %s", page.main())
	}
	page = at.send(page, "/counter/same", url.Values{"back": {"2026-03-04"}})
	if !page.has("The lift, as it will hang") || !page.has("4 Mar 2026") {
		t.Fatalf("stated again: %s", page.main())
	}
	if page = at.scan(otherText); page.verdict() != MayGo || !page.has("This holds for pick points") {
		t.Fatalf("scanned: %s", page.main())
	}
	at.send(page, "/counter/issue", nil)
	s := k.sling(other)
	if s.Loan.ReturnBy != day(t, "2026-03-04") || !s.Loan.Line.Drawn || !s.Loan.Line.Weighed {
		t.Errorf("%+v", s.Loan)
	}
	// It is this rigger's own; somebody else's is not stated by a form from before.
	second := k.add("R. Cole", event.Rigger)
	at.scan(badge)
	at.send(at.get("/counter"), "/counter/next", nil)
	at.takes(second)
	if page := at.follow(at.post("/counter/same", url.Values{"key": {newKey()}, "loan": {s.Loan.Line.Loan.String()}, "back": {"2026-03-04"}})); !page.has("Somebody else takes slings now") {
		t.Errorf("another's loan: %s", page.main())
	}
	for _, bad := range []url.Values{{"loan": {"x"}, "back": {"2026-03-04"}}, {"loan": {s.Loan.Line.Loan.String()}, "back": {"2026-03-01"}}} {
		bad.Set("key", newKey())
		if a := at.post("/counter/same", bad); a.status != http.StatusNotFound {
			t.Errorf("%v: %d", bad, a.status)
		}
	}
}

// TestBadgeAtTheCounter: whoever it names takes slings; one that is no good says why,
// and what was scanned for somebody else is not handed to the next.
func TestBadgeAtTheCounter(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	first := k.badgeFor(k.rigger)
	badge := k.badgeFor(k.rigger)
	other := k.add("R. Cole", event.Rigger)
	otherBadge := k.badgeFor(other)
	guest := k.onTerms(k.add("G. Guest", event.Rigger), event.Terms{Until: day(t, "2026-03-02")})
	guestBadge := k.badgeFor(guest)
	keeperBadge := k.badgeFor(k.keeper)
	id, text := k.hanging("NS-0001", nil)
	_, second := k.hanging("NS-0002", nil)
	at := k.signedIn(k.attendant)
	at.scan(text)
	at.lifts(aLift())
	if page := at.scan(badge); page.verdict() != MayGo || !page.has("Hand it over to T. Brandt") {
		t.Errorf("a sling that waited: %s", page.main())
	}
	at.scan(second)
	if page := at.send(at.get("/counter"), "/counter/next", nil); !page.has("2 slings for the one before: not handed over.") {
		t.Errorf("next, with two that wait: %s", page.main())
	}
	at.takes(k.rigger)
	at.lifts(aLift())
	at.scan(text)
	at.scan(second)
	if page := at.scan(otherBadge); !page.has("1 sling for the one before: not handed over.") || page.has("Hand over 2") {
		t.Errorf("the next one: %s", page.main())
	}
	if got := k.out(k.rigger, id) + k.out(other, id); got != 0 {
		t.Errorf("%d went by a badge alone", got)
	}
	k.passed.Store(int64(24 * time.Hour))
	at = k.signedIn(k.attendant)
	last := badge[len(badge)-1:]
	forged := badge[:len(badge)-1] + map[bool]string{true: "B", false: "A"}[last == "A"]
	for name, row := range map[string]struct {
		text string
		want gate.Reason
	}{
		"replaced": {first, gate.BadgeReplaced}, "ended": {guestBadge, gate.BadgeEnded}, "forged": {forged, gate.BadgeForged}, "no rigger": {keeperBadge, gate.RiggerNotCleared},
	} {
		page := at.scan(row.text)
		if says := row.want.Text(gate.Answer{}, inUS); page.verdict() != StaysHere || !page.has(escaped(says.Sentence)) || page.has("For T. Brandt") {
			t.Errorf("%s: %q %s", name, page.verdict(), page.plateText())
		}
	}
	if page := k.signedIn(k.inspector).scan(badge); page.verdict() != StaysHere {
		t.Errorf("for who hands nothing over: %q", page.verdict())
	}
	if page := at.get("/counter"); strings.Contains(page.body, badge) || strings.Contains(page.body, forged) {
		t.Error("the badge's text stands on the page")
	}
}

// TestLoadIsAsked: a load that is far from what this rigger lifts, or more than any
// sling here may carry, is asked about and never put right by itself.
func TestLoadIsAsked(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0001", nil)
	k.hanging("NS-0002", func(d *event.Details) { d.Sling.Plate = plateOf(t, "1", 4, rating.H60, 123_900) })
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	state := func(load string) answer {
		t.Helper()
		return at.send(at.get("/counter/lift?anew"), "/counter/lift", with(aLift(), "load", load))
	}
	// 123,900 lb is what the strongest may carry (US OSHA, Guidance on Safe Sling Use, table 1).
	for load, asks := range map[string]bool{"123,900": false, "124,000": true, "9999999999": false} {
		if got := state(load).has("may carry more than 123,900 lb. Which is it?"); got != asks {
			t.Errorf("%s lb: asked %v", load, got)
		}
	}
	for load, want := range map[string]string{"99": "99 lb or 198,000 lb?", "3": "3 lb or 6,000 lb?", "100": ""} { // tons were typed
		if page := state(load); (page.status == http.StatusUnprocessableEntity) != (want != "") || want != "" && (!page.has(want) || !page.has("short tons were typed")) {
			t.Errorf("%s lb: %d, want %q: %s", load, page.status, want, page.main())
		}
	}
	page := state("400,000")
	if page.status != http.StatusUnprocessableEntity || !page.has("400,000 lb or 40,000 lb?") {
		t.Fatalf("%d %s", page.status, page.main())
	}
	if got := at.get("/counter"); !got.has("No lift is stated yet") && !got.has("123,900 lb") {
		t.Errorf("stated all the same: %s", got.main())
	}
	if page = at.send(page, "/counter/lift", with(aLift(), "load", "400,000", "sure", "40000")); !page.has("40,000 lb") || page.has("400,000 lb") {
		t.Errorf("the smaller one was chosen: %s", page.main())
	}
	at.cleared()
	at.takes(k.rigger)
	at.lifts(with(aLift(), "load", "4,000"))
	at.send(at.scan(text), "/counter/issue", nil)
	if k.out(k.rigger, id) != 1 {
		t.Fatal("the loan was not made")
	}
	for load, want := range map[string]string{
		"31,999": "", "32,000": "32,000 lb or 3,200 lb?", "40,000": "40,000 lb or 4,000 lb?", "400,000": "400,000 lb or 4,000 lb?",
		"501": "", "500": "500 lb or 5,000 lb?", "40": "40 lb or 4,000 lb?", "2": "2 lb or 4,000 lb?", "4,000": "", "32,001": "",
	} {
		page := state(load)
		if got := page.status == http.StatusUnprocessableEntity; got != (want != "") || want != "" && !page.has(want) {
			t.Errorf("%s lb, after 4,000: %d, want %q: %s", load, page.status, want, page.main())
		}
	}
	page = state("40,000")
	if page = at.send(page, "/counter/lift", with(aLift(), "load", "40,000", "sure", "40000")); page.status != http.StatusOK || !page.has("40,000 lb") {
		t.Errorf("the larger one was chosen: %d %s", page.status, page.main())
	}
}

// TestBadgeInTheLoadField: what a scanner left there is no load.
func TestBadgeInTheLoadField(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	badge := k.badgeFor(k.rigger)
	_, tag := k.hanging("NS-0001", nil)
	at := k.signedIn(k.attendant)
	for text, says := range map[string]string{badge: "A scanned badge stood here", tag: "A scanned tag stood here", badge[:40]: "Type whole pounds"} {
		page := at.lifts(with(aLift(), "load", text))
		if page.status != http.StatusUnprocessableEntity || !page.has(says) || text != badge[:40] && strings.Contains(page.body, text) {
			t.Errorf("%d %s", page.status, page.main())
		}
	}
	// Somebody else's badge was scanned while the lift was filled in.
	other := k.add("R. Cole", event.Rigger)
	at.takes(k.rigger)
	page := at.get("/counter/lift")
	at.takes(other)
	page = at.send(page, "/counter/lift", aLift())
	if page.status != http.StatusUnprocessableEntity || !page.has("Somebody else takes slings now: R. Cole.") {
		t.Fatalf("%d %s", page.status, page.main())
	}
	if page = at.send(page, "/counter/lift", aLift()); !page.has("The lift, as it will hang") {
		t.Errorf("sent again: %s", page.main())
	}
}

// TestShiftGear: only for whom the keeper allows it, with what it may carry; listed.
func TestShiftGear(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0001", nil)
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	if page := at.get("/counter"); page.hasForm("/counter/shift") {
		t.Errorf("offered to anybody: %s", page.main())
	}
	at.follow(at.post("/counter/shift", url.Values{"key": {newKey()}, "back": {"2026-03-02"}}))
	if page := at.scan(text); page.verdict() != StaysHere || !page.has("This person may not draw gear for a shift.") || k.recorded(id, event.KindRefused) != 1 {
		t.Errorf("not allowed: %q %s", page.verdict(), page.plateText())
	}
	at.cleared()
	k.onTerms(k.rigger, event.Terms{ShiftGear: true})
	page := at.takes(k.rigger)
	if !page.has("Gear for a shift, without a lift. Back by?") {
		t.Fatalf("what for: %s", page.main())
	}
	at.send(page, "/counter/shift", url.Values{"back": {"2026-03-03"}})
	page = at.scan(text)
	// US OSHA, Guidance on Safe Sling Use, table 1: 12,300, 10,000 and 7,100 lb.
	if page.verdict() != MayGo || !page.has("it may carry 12,300 lb at 60° from horizontal, 10,000 lb at 45° from horizontal, 7,100 lb at 30° from horizontal. Between two angles the smaller figure holds.") {
		t.Fatalf("may carry: %q %s", page.verdict(), page.plateText())
	}
	at.send(page, "/counter/issue", nil)
	s := k.sling(id)
	if s.Loan.ReturnBy != day(t, "2026-03-03") || s.Loan.Line.Lift != 0 || k.out(k.rigger, id) != 1 {
		t.Fatalf("%+v", s.Loan)
	}
	if slip := at.get("/loan/" + s.Loan.Line.Loan.String()); !slip.has("Gear for a shift: no lift was stated.") || !slip.has("May carry 12,300 lb at 60° from horizontal") {
		t.Errorf("the slip: %s", slip.main())
	}
	k.passed.Store(int64(2 * time.Hour))
	if list := k.signedIn(k.keeper).get("/shift"); !list.has("NS-0001") || !list.has("T. Brandt") || !list.has("out for 2 hours, needed back by 3 Mar 2026") {
		t.Errorf("listed: %s", list.main())
	}
	at = k.signedIn(k.attendant)
	at.returns(at.scan(text))
	if list := k.signedIn(k.keeper).get("/shift"); !list.has("was out for 2 hours") {
		t.Errorf("listed after return: %s", list.main())
	}
	for _, bad := range []string{"2026-03-04", "2026-03-01", "x"} {
		if a := at.post("/counter/shift", url.Values{"key": {newKey()}, "back": {bad}}); a.status != http.StatusNotFound {
			t.Errorf("back by %s: %d", bad, a.status)
		}
	}
	if a := at.get("/shift?before=x"); a.status != http.StatusNotFound {
		t.Errorf("before x: %d", a.status)
	}
}

// TestLearnerHandsOver: only with another attendant's own PIN, typed there and then.
func TestLearnerHandsOver(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	learner := k.onTerms(k.add("L. Voss", event.Attendant), event.Terms{Learner: true})
	k.signedIn(k.attendant) // has a PIN of their own from then on
	id, text := k.hanging("NS-0001", nil)
	at := k.signedIn(learner)
	at.takes(k.rigger)
	at.lifts(aLift())
	page := at.send(at.scan(text), "/counter/issue", nil)
	if !page.has("Who signs for L. Voss?") || !page.has("I. Maro") || page.has(`value="`+learner.ID.String()+`"`) || k.out(k.rigger, id) != 0 {
		t.Fatalf("asked to sign: %s", page.main())
	}
	sign := func(who state.Person, pin string) answer {
		t.Helper()
		return at.send(page, "/counter/issue", url.Values{"sign-who": {who.ID.String()}, "sign-pin": {pin}})
	}
	if again := sign(k.attendant, "111222"); !again.has("do not belong together") || k.out(k.rigger, id) != 0 || strings.Contains(again.body, "111222") {
		t.Errorf("a wrong PIN: %s", again.main())
	}
	if again := at.send(page, "/counter/issue", url.Values{"sign-who": {"x"}, "sign-pin": {"1"}}); !again.has("Choose who signs.") {
		t.Errorf("nobody: %s", again.main())
	}
	if again := sign(learner, testPIN); k.out(k.rigger, id) != 0 || !again.has("Choose who signs: another attendant, and no learner.") {
		t.Errorf("signed by themselves: %s", again.main())
	}
	k.passed.Store(int64(time.Minute))
	if done := sign(k.attendant, testPIN); !done.has("Handed over") || k.sling(id).Loan.Line.Countersign != k.attendant.ID {
		t.Errorf("signed: %s", done.main())
	}
	if slip := at.get("/loan/" + k.sling(id).Loan.Line.Loan.String()); !slip.has("by L. Voss, countersigned by I. Maro") {
		t.Errorf("the slip: %s", slip.main())
	}
	at.returns(at.scan(text))
	if k.sling(id).Details.Sling.State != gate.StateIn {
		t.Error("a learner may take in")
	}
}

// TestSinglesOnOneHook: as many as carry, all alike, and none before the others.
func TestSinglesOnOneHook(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	a, aText := k.hanging("NS-0001", leg(t))
	b, bText := k.hanging("NS-0002", leg(t))
	_, short := k.hanging("NS-0003", func(d *event.Details) { leg(t)(d); d.Sling.Reach -= quantity.Millimetre })
	_, third := k.hanging("NS-0004", leg(t))
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(with(aLift(), "together", "one-hook"))
	page := at.scan(aText)
	const asks = "1 of 2 on the loan: scan the other one, same size, grade and reach. None of them goes before."
	onRail := func(card string) bool { return strings.Contains(page.body, `<a class="card `+card) }
	if page.verdict() != LookCloser || page.hasForm("/counter/issue") || !strings.Contains(page.plateText(), asks) || strings.Count(page.words(), asks) != 1 {
		t.Fatalf("one of two: %q %s", page.verdict(), page.main())
	}
	if !onRail("look-closer") || onRail("may-go") || !page.has(`<span class="note">1 of 2 on the loan</span>`) || !page.hasForm("/counter/off") {
		t.Errorf("one of two on the rail: %s", page.main())
	}
	if page = at.scan(short); page.verdict() != StaysHere || !page.has("The one-leg slings on this hook are not alike.") || !page.has(`<p class="notice missing">`+asks) || onRail("may-go") {
		t.Errorf("not alike: %q %s", page.verdict(), page.main())
	}
	page = at.scan(bText)
	if page.verdict() != MayGo || onRail("look-closer") || page.has("None of them goes before") || !page.has("Hand over 2 slings to T. Brandt") || !page.has("two legs like this one may carry 12,297 lb") {
		t.Fatalf("two of two: %s", page.main())
	}
	if three := at.scan(third); three.verdict() != StaysHere || !three.has("More slings are on the loan than share this lift.") {
		t.Errorf("a third: %q %s", three.verdict(), three.plateText())
	}
	// One of the two is taken meanwhile: then the other stays as well.
	k.holds(a, "gouged")
	if page = at.send(page, "/counter/issue", nil); k.out(k.rigger, a, b) != 0 || !page.has("0 of 2 slings were handed over.") || !page.has("NS-0002 stays. Another sling that shares this lift stays, so this one stays too.") {
		t.Errorf("one is held meanwhile: %s", page.main())
	}
}

// TestUnderABeam: the beam is counted, and a part that is stated is asked of each.
func TestUnderABeam(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	a, aText := k.hanging("NS-0001", leg(t))
	b, bText := k.hanging("NS-0002", leg(t))
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	beam := func(pairs ...string) url.Values {
		return with(with(aLift(), "legs", "1", "load", "13,999", "together", "beam", "slings", "2", "beam", "200", "parts", "equal"), pairs...)
	}
	for field, bad := range map[string]string{"slings": "1", "beam": "", "parts": ""} {
		if page := at.lifts(beam(field, bad)); page.status != http.StatusUnprocessableEntity {
			t.Errorf("%s %q: %d", field, bad, page.status)
		}
	}
	at.lifts(beam())
	// (13,999 + 200) / 2 is 7,099.5, rounded up to 7,100 lb, which is what it may carry.
	if page := at.scan(aText); page.verdict() != LookCloser || page.hasForm("/counter/issue") || !page.has("1 of 2 on the loan: scan the other one. None of them goes before.") {
		t.Errorf("one of two: %s", page.main())
	}
	if page := at.scan(bText); page.verdict() != MayGo || !page.hasForm("/counter/issue") || !page.has("Its part of the lift is 7,100 lb.") {
		t.Errorf("equal parts: %s", page.main())
	}
	at.lifts(beam("load", "14,001"))
	if page := at.scan(aText); page.verdict() != StaysHere || !page.has("the lift needs 7,101 lb") {
		t.Errorf("rounded up: %s", page.main())
	}
	at.lifts(beam("load", "10,000", "beam", "0", "parts", "stated"))
	page := at.scan(aText)
	if page.verdict() != LookCloser || !page.has("What does it carry?") {
		t.Fatalf("its part is asked: %s", page.main())
	}
	if page = at.send(page, "/counter/answer", url.Values{"carries": {"7.1"}}); page.verdict() != LookCloser {
		t.Errorf("7.1: %s", page.main())
	}
	at.send(page, "/counter/answer", url.Values{"carries": {"7,100"}})
	page = at.send(at.scan(bText), "/counter/answer", url.Values{"carries": {"2,899"}})
	if page = at.send(page, "/counter/issue", nil); k.out(k.rigger, a, b) != 0 || !page.has("The stated parts come to less than the load and the beam.") {
		t.Errorf("too little: %s", page.main())
	}
	page = at.send(at.scan(bText), "/counter/answer", url.Values{"again": {"yes"}})
	page = at.send(page, "/counter/answer", url.Values{"carries": {"2,900"}})
	page = at.send(page, "/counter/issue", nil)
	if k.out(k.rigger, a, b) != 2 {
		t.Fatalf("all of it: %s", page.main())
	}
	if slip := at.get("/loan/" + k.sling(a).Loan.Line.Loan.String()); !slip.has("Lift 1: 7,100 lb, its part of 10,000 lb and a beam of 0 lb on 2 slings") {
		t.Errorf("the slip: %s", slip.main())
	}
}

// TestCraneAndFitting: held against what was measured, asked where it was not.
func TestCraneAndFitting(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.policy()
	p.Cranes = []event.Crane{{Name: "North bay", Hook: 60 * quantity.Millimetre}, {Name: "Yard"}}
	k.setPolicy(p)
	id, text := k.hanging("NS-0001", func(d *event.Details) {
		d.Fittings = event.Fittings{Inside: 60 * quantity.Millimetre, Lower: event.LatchHook}
	})
	k.hanging("NS-0002", func(d *event.Details) {
		d.Fittings = event.Fittings{Inside: 90 * quantity.Millimetre, Lower: event.LatchHook}
		d.Place = "B2"
	})
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(with(aLift(), "crane", "North bay"))
	if page := at.scan(text); page.verdict() != StaysHere || !page.has("does not go over the crane’s hook") && !page.has("does not go over the crane&#39;s hook") || !page.has("Take NS-0002 from B2 instead") {
		t.Errorf("too small: %q %s", page.verdict(), page.main())
	}
	at.lifts(with(aLift(), "crane", "", "lower", "grab-hook"))
	if page := at.scan(text); page.verdict() != StaysHere || !page.has("another lower fitting") {
		t.Errorf("another fitting: %q %s", page.verdict(), page.plateText())
	}
	at.lifts(with(aLift(), "crane", "Yard", "lower", "latch-hook"))
	page := at.scan(text)
	if page.verdict() != LookCloser || !page.has("Does the link seat in the bowl of the hook of Yard?") {
		t.Fatalf("asked: %q %s", page.verdict(), page.main())
	}
	if no := at.send(page, "/counter/answer", url.Values{"seat": {"no"}}); no.verdict() != StaysHere {
		t.Errorf("no: %q", no.verdict())
	}
	page = at.send(at.send(at.get("/counter"), "/counter/answer", url.Values{"again": {"yes"}}), "/counter/answer", url.Values{"seat": {"yes"}})
	page = at.send(page, "/counter/issue", nil)
	if line := k.sling(id).Loan.Line; !line.Seats || line.Crane != "Yard" || line.Lower != event.LatchHook {
		t.Errorf("%+v %s", line, page.main())
	}
	if page := at.lifts(with(aLift(), "crane", "South")); page.status != http.StatusUnprocessableEntity {
		t.Errorf("a crane that is not on the list: %d", page.status)
	}
}

// TestTwoLifts: each sling is for the lift that was stated last before it was scanned.
func TestTwoLifts(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	a, aText := k.hanging("NS-0001", nil)
	b, bText := k.hanging("NS-0002", nil)
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(aLift())
	at.scan(aText)
	page := at.send(at.get("/counter/lift?anew"), "/counter/lift", with(aLift(), "load", "6,000", "day", "2026-03-05"))
	if !page.has("Scan on for lift 1") {
		t.Errorf("two lifts: %s", page.main())
	}
	page = at.scan(bText)
	if !page.has("Hand over 2 slings") || !page.has("needed back from 4 Mar 2026 to 5 Mar 2026") {
		t.Fatalf("two lines: %s", page.main())
	}
	if back := at.send(page, "/counter/for", url.Values{"for": {"1"}}); !back.has("Scan on for lift 2") {
		t.Errorf("back to the first: %s", back.main())
	}
	at.send(page, "/counter/issue", nil)
	if one, two := k.sling(a).Loan, k.sling(b).Loan; one.Line.Lift != 1 || two.Line.Lift != 2 || two.ReturnBy != day(t, "2026-03-05") {
		t.Errorf("%+v %+v", one, two)
	}
	at.cleared()
	if page := at.takes(k.rigger); !page.has("Same as earlier today") || !page.has("<h3>Lift 2</h3>") {
		t.Errorf("both again: %s", page.main())
	}
}

// TestRecordedLiftsAreStatedAgain: whatever lift the page can state, the record of it
// gives the same lift again, but for the day.
func TestRecordedLiftsAreStatedAgain(t *testing.T) {
	terms := termsOf(t)
	terms.cranes = []event.Crane{{Name: "Yard"}}
	for name, f := range map[string]liftForm{
		"plain":    formOf(),
		"drawn":    formOf("angle", "45"),
		"flat":     formOf("degrees", "31.5"),
		"vertical": formOf("degrees", "7.125", "from", "vertical"),
		"choke":    formOf("hitch", "choke", "bears", "round", "radius", "2 1/2", "choke", "90"),
		"basket":   formOf("hitch", "basket", "bears", "round", "radius", "200", "radius-unit", "mm"),
		"hot":      formOf("special", "yes", "use", "ordinary", "heat", "other", "temperature", "451"),
		"cold":     formOf("special", "yes", "use", "ordinary", "heat", "other", "temperature", "-12", "scale", "C"),
		"people":   formOf("special", "yes", "use", "people", "heat", "ordinary"),
		"span":     formOf("angle", bySpan, "span", "2438", "headroom", "3000", "length-unit", "mm"),
		"places": formOf("angle", byPlaces, "centred", "", "length-unit", "mm", "p1x", "0", "p1z", "1219", "p2x", "2438", "p2z", "1300",
			"cx", "1100", "cy", "-30", "cz", "0", "hook", "1800", "headroom", "2500"),
		"papers":   formOf("known", "papers"),
		"metric":   formOf("unit", "kg", "load", "5,443"),
		"one hook": formOf("together", "one-hook"),
		"beam":     formOf("legs", "1", "together", "beam", "slings", "3", "beam", "250", "parts", "equal"),
		"ends":     formOf("crane", "Yard", "lower", "shackle"),
	} {
		stated, wrong := f.read(terms)
		if len(wrong) > 0 {
			t.Errorf("%s: %v", name, wrong)
			continue
		}
		lift := stated.Lift
		if stated.Share == event.Beam {
			lift.Load = stated.Equal(quantity.Imperial)
		}
		q := gate.Question{ID: "NS-0001", Now: terms.today, Policy: gate.DefaultPolicy(), Lift: &lift,
			Sling: gate.Sling{Plate: plateOf(t, "3/8", 2, rating.H60, 12_300), RatingTag: gate.TagLegible, State: gate.StateIn}}
		line, err := q.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		issued := event.Issued{Verdict: event.Verdict{Question: string(line)}, Line: event.Line{Lift: 1, Share: stated.Share, Slings: stated.Many(), Beam: stated.Beam,
			Crane: stated.Crane, Lower: stated.Lower, Weighed: stated.Weighed, Drawn: stated.Drawn, Span: stated.Span, Headroom: stated.Headroom}}
		if stated.Share == event.Beam {
			issued.Line.Whole = stated.Lift.Load
		}
		back, ok := formOfLift(issued, quantity.Imperial)
		if !ok {
			t.Errorf("%s: cannot be stated again", name)
			continue
		}
		back["back"], back["day"] = f["back"], f["day"]
		again, wrong := back.read(terms)
		if len(wrong) > 0 {
			t.Errorf("%s: stated again: %v", name, wrong)
			continue
		}
		again.Radius, stated.Radius = "", ""
		x, _ := gate.Question{Lift: &again.Lift}.MarshalJSON()
		y, _ := gate.Question{Lift: &stated.Lift}.MarshalJSON()
		again.Lift, stated.Lift = gate.Lift{}, gate.Lift{}
		if string(x) != string(y) || fmt.Sprintf("%+v", again) != fmt.Sprintf("%+v", stated) {
			t.Errorf("%s: %s %+v, was %s %+v", name, x, again, y, stated)
		}
	}
	if !slices.Contains(liftFields(), "together") {
		t.Error("the lift page does not ask whether slings carry together")
	}
}

// TestWhatStaysIsNotAskedAgain: a sling that stays and does not lie in front hangs on
// its peg again, so that another lift does not put it on the loan.
func TestWhatStaysIsNotAskedAgain(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	stays, staysText := k.hanging("NS-0001", nil)
	goes, goesText := k.hanging("NS-0002", func(d *event.Details) { d.Sling.Plate = plateOf(t, "1/2", 2, rating.H60, 20_800) })
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(with(aLift(), "load", "15,000"))
	if page := at.scan(staysText); page.verdict() != StaysHere {
		t.Fatalf("too light: %q", page.verdict())
	}
	at.scan(goesText)
	page := at.lifts(with(aLift(), "load", "9,000"))
	if !page.has("Hand it over to T. Brandt") {
		t.Errorf("for the lighter lift: %s", page.main())
	}
	at.send(page, "/counter/issue", nil)
	if k.out(k.rigger, stays) != 0 || k.out(k.rigger, goes) != 1 {
		t.Error("what stayed went along")
	}
	at.lifts(with(aLift(), "load", "15,000"))
	at.returns(at.scan(goesText))
	at.scan(staysText)
	if page = at.lifts(with(aLift(), "load", "9,000")); page.verdict() != MayGo {
		t.Errorf("in front: %q", page.verdict())
	}
}
