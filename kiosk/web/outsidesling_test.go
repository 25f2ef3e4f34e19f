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
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// TestLevels: 30, 14 and 3 days before, each side of each boundary, and what presses
// more than that (site policy, no source).
func TestLevels(t *testing.T) {
	today := day(t, "2026-03-02")
	crib := state.Crib{Founded: event.Founded{Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree}}}
	d := event.Details{Ident: "NS-0417", Outcome: tagcode.Fit, Sling: gate.Sling{Plate: plateOf(t, "3/8", 2, rating.H60, 12_300),
		RatingTag: gate.TagLegible, State: gate.StateOut, Inspected: today.AddDays(-100)}}
	for _, row := range []struct {
		days int
		want level
		bars int
	}{{-1, notToBeUsed, 0}, {0, dueIn3, 3}, {3, dueIn3, 3}, {4, dueIn14, 2}, {14, dueIn14, 2}, {15, dueIn30, 1}, {30, dueIn30, 1}, {31, notDue, 0}} {
		s := state.Sling{Details: d}
		s.Details.Sling.Due = today.AddDays(row.days)
		s.Loan.Rigger = event.PersonID{1}
		a := awayOf(s, crib, today)
		if a.level != row.want || a.level.bars() != row.bars || (a.level == notToBeUsed) != (a.level.verdict() == StaysHere) {
			t.Errorf("due in %d days: %v, %d bars, %s: %v", row.days, a.level, a.level.bars(), a.level.verdict(), a.codes)
		}
		for _, graver := range []struct {
			name string
			do   func(*state.Sling)
			want level
		}{
			{"recalled", func(s *state.Sling) { s.Loan.Recall.Reason = "needed" }, isRecalled},
			{"late", func(s *state.Sling) { s.Loan.ReturnBy = today.AddDays(-1) }, isLate},
			{"to be held", func(s *state.Sling) { s.Hold.Reason = "a gouge" }, notToBeUsed},
			{"rating tag unreadable", func(s *state.Sling) { s.Details.Sling.RatingTag = gate.TagIllegible }, notToBeUsed},
			{"in doubt", func(s *state.Sling) { s.Doubt = state.Forked }, notToBeUsed},
		} {
			more := s
			graver.do(&more)
			if got, want := awayOf(more, crib, today).level, min(graver.want, row.want); got != want {
				t.Errorf("due in %d days and %s: %v, want %v", row.days, graver.name, got, want)
			}
		}
	}
}

// TestOutsideLists: by how much it presses, by rigger, by area, and the sheet for
// today.
func TestOutsideLists(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second := k.add("P. Lund", event.Rigger)
	c := k.signedIn(k.attendant)
	due := func(days int) func(*event.Details) { // 12 months after it was inspected
		return func(d *event.Details) { d.Sling.Inspected = day(t, "2025-03-02").AddDays(days) }
	}
	goes := func(ident string, days int, who state.Person) event.SlingID {
		id, _ := k.hanging(ident, due(days))
		k.goesOut(id, who, quantity.Date{})
		return id
	}
	goes("NS-0103", 3, k.rigger)
	goes("NS-0114", 14, second)
	placed := goes("NS-0130", 30, second)
	goes("NS-0199", 99, k.rigger)
	recalled := goes("NS-0200", 200, second)
	held := goes("NS-0201", 200, k.rigger)
	k.happens(placed, k.attendant, event.Placed{Area: "press 4"})
	k.happens(recalled, k.keeper, event.Recalled{Reason: "needed at bay 2"})
	k.happens(held, k.inspector, event.Held{Reason: "another of this batch cracked"})
	for path, want := range map[string]string{
		"/outside":           "NS-0201 NS-0200 NS-0103 NS-0114 NS-0130 NS-0199",
		"/outside?only=back": "NS-0201 NS-0200",
		"/outside?only=3":    "NS-0103",
		"/outside?only=14":   "NS-0103 NS-0114",
		"/outside?only=30":   "NS-0103 NS-0114 NS-0130",
		"/outside?only=30&with=" + second.ID.String(): "NS-0114 NS-0130",
		"/outside?by=rigger":                          "NS-0200 NS-0114 NS-0130 NS-0201 NS-0103 NS-0199",
		"/outside?by=area":                            "NS-0201 NS-0200 NS-0103 NS-0114 NS-0199 NS-0130",
		"/outside?at=press+4":                         "NS-0130",
		"/outside?at=press+5":                         "",
		"/outside/today":                              "NS-0201 NS-0200 NS-0103 NS-0114 NS-0130",
	} {
		a := c.get(path)
		var got []string
		for _, part := range strings.Split(a.main(), `<span class="which"><span class="title">`)[1:] {
			got = append(got, part[:7])
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %s, want %s", path, strings.Join(got, " "), want)
		}
	}
	a := c.get("/outside")
	for _, text := range []string{"Within 30 days 3", "Wanted back 2", "at press 4", "Recalled, wanted back at once: needed at bay 2.",
		"It is held as soon as it is back: another of this batch cracked.", "Its inspection is due 5 Mar 2026, in 3 days.", "press 4 1"} {
		if !strings.Contains(a.words(), text) {
			t.Errorf("outside lacks %q: %s", text, a.words())
		}
	}
	rigger := k.signedIn(k.rigger)
	if a := rigger.get("/outside"); !a.has(`href="/rack/NS-0103"`) || a.has(`href="/outside/NS-0103"`) {
		t.Errorf("a rigger's: %s", a.main())
	}
	if a := rigger.get("/outside/NS-0103"); a.status != http.StatusForbidden {
		t.Errorf("a rigger: %d", a.status)
	}
}

// TestHandOver: a sling goes from rigger to rigger for the same use, and not where it
// is wanted back.
func TestHandOver(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second := k.add("P. Lund", event.Rigger)
	c := k.signedIn(k.attendant)
	id, text := k.goneOut("NS-0101")
	page := c.send(c.get("/outside"), "/outside", url.Values{"text": {text}})
	if !page.has("Somebody takes it over from T. Brandt?") || page.has(`value="`+k.rigger.ID.String()+`"`) {
		t.Fatalf("scanned: %s", page.main())
	}
	picked := c.send(page, "/outside/NS-0101/to", url.Values{"rigger": {second.ID.String()}})
	if !picked.has("P. Lund takes it over from T. Brandt. For what?") || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Fatalf("picked: %s", picked.main())
	}
	if a := c.send(picked, "/outside/NS-0101/hand-on", url.Values{"use": {"other"}}); a.status != http.StatusConflict || !a.has("only for the same lift or use as before") {
		t.Errorf("another use: %d %s", a.status, a.main())
	}
	if a := c.send(picked, "/outside/NS-0101/hand-on", url.Values{}); a.status != http.StatusConflict || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Errorf("nobody said for what: %d", a.status)
	}
	picked = c.send(page, "/outside/NS-0101/to", url.Values{"rigger": {second.ID.String()}})
	done := c.send(picked, "/outside/NS-0101/hand-on", url.Values{"use": {"same"}})
	if k.sling(id).Loan.Rigger != second.ID || !done.has("NS-0101 is handed on") || !done.has("With P. Lund since") {
		t.Errorf("handed on: %s", done.main())
	}
	// On facts that have moved on since.
	old := c.send(done, "/outside/NS-0101/to", url.Values{"rigger": {k.rigger.ID.String()}})
	k.happens(id, k.inspector, event.Placed{Area: "press 4"})
	if a := c.send(old, "/outside/NS-0101/hand-on", url.Values{"use": {"same"}}); a.status != http.StatusConflict || !a.has("Someone else did something with this sling") {
		t.Errorf("from an old page: %d %s", a.status, a.main())
	}
	// Wanted back.
	recalled := c.send(c.get("/outside/NS-0101"), "/outside/NS-0101/recall", url.Values{"recall-reason": {"needed"}, "by": {"2026-03-09"}})
	if !recalled.has("Bring it back:") || recalled.hasForm("/outside/NS-0101/hand-on") || strings.Contains(recalled.main(), "takes it over") {
		t.Errorf("recalled: %s", recalled.main())
	}
	form := url.Values{"key": {newKey()}, "heads": {headsText(k.sling(id).Heads)}, "rigger": {k.rigger.ID.String()}, "use": {"same"}}
	if a := c.post("/outside/NS-0101/hand-on", form); a.status != http.StatusConflict || !a.has("It has been recalled") {
		t.Errorf("recalled, and handed on all the same: %d %s", a.status, a.main())
	}
	for _, who := range []state.Person{k.inspector, k.keeper} {
		if a := k.signedIn(who).post("/outside/NS-0101/hand-on", form); a.status != http.StatusForbidden {
			t.Errorf("%s: %d", who.Name, a.status)
		}
	}
	// What is scanned there and is not out lies on the counter; a badge that names
	// nobody is told.
	_, in := k.hanging("NS-0102", nil)
	other, _ := k.goneOut("NS-0103")
	page = c.get("/outside/NS-0103")
	if a := c.send(page, "/outside/NS-0103/to", url.Values{"text": {in}, "way": {"scanner"}}); !a.has("NS-0102") || k.sling(other).Loan.Rigger != k.rigger.ID {
		t.Errorf("another sling: %s", a.main())
	}
	if a := c.send(page, "/outside/NS-0103/to", url.Values{"text": {k.badgeOf(second, 2)}, "way": {"scanner"}}); !a.has("does not know that this badge was printed") {
		t.Errorf("a badge that was not printed: %s", a.main())
	}
}

// badgeOf is a badge that the crib's key sealed and nobody printed.
func (k *kiosk) badgeOf(p state.Person, serial int) string {
	k.t.Helper()
	key, err := k.server.Keys.Current(k.cribNow().Key())
	if err != nil {
		k.t.Fatal(err)
	}
	sealed, err := tagcode.Badge{Key: key.Fingerprint(), Person: tagcode.NumberOf(key.Fingerprint(), p.ID.String()), Serial: tagcode.Serial(serial)}.Seal(key)
	if err != nil {
		k.t.Fatal(err)
	}
	return sealed.Text()
}

// TestPlaceRecall: where it is kept, and that it is wanted back.
func TestPlaceRecall(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	id, text := k.goneOut("NS-0101")
	other, _ := k.goneOut("NS-0102")
	k.happens(other, k.attendant, event.Placed{Area: "press 4"})
	page := c.get("/outside/NS-0101")
	for i, row := range []struct {
		form url.Values
		want string
		ok   bool
	}{
		{url.Values{}, "", false},
		{url.Values{"area": {strings.Repeat("x", maxArea+1)}}, "", false},
		{url.Values{"known": {"press 4"}}, "press 4", true},
		{url.Values{"known": {"press 4"}, "area": {" bay  2 "}}, "bay 2", true},
		{url.Values{"known": {nowhere}}, "", true},
	} {
		a := c.send(page, "/outside/NS-0101/place", row.form)
		if got := k.sling(id).Loan.Area; got != row.want || (a.status == http.StatusOK) != row.ok {
			t.Errorf("%d: kept at %q, %d: %s", i, got, a.status, a.main())
		}
		page = c.get("/outside/NS-0101")
	}
	if a := c.send(page, "/outside/NS-0101/recall", url.Values{"recall-reason": {" "}}); a.status != http.StatusUnprocessableEntity || !a.has("Write why") {
		t.Errorf("without a reason: %d", a.status)
	}
	for _, by := range []string{"2026-03-01", "soon"} {
		if a := c.send(page, "/outside/NS-0101/recall", url.Values{"recall-reason": {"needed"}, "by": {by}}); a.status != http.StatusUnprocessableEntity {
			t.Errorf("by %s: %d", by, a.status)
		}
	}
	c.send(page, "/outside/NS-0101/recall", url.Values{"recall-reason": {"needed"}, "by": {"2026-03-02"}})
	if got := k.sling(id).Loan.Recall; got.Reason != "needed" || got.By != day(t, "2026-03-02") {
		t.Errorf("%+v", got)
	}
	story := c.get("/rack/NS-0101")
	for _, text := range []string{"Recalled, to be back by 2 Mar 2026: needed.", "Kept at press 4.", "Kept nowhere in particular any more."} {
		if !story.has(text) {
			t.Errorf("the story lacks %q", text)
		}
	}
	c.inHeap(text)
	if a := c.get("/outside/NS-0101"); !a.has("It is not out.") {
		t.Errorf("taken in: %s", a.main())
	}
}

// TestTagWhileOut: inspected, printed and confirmed where it is, and it stays out.
func TestTagWhileOut(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.goneOut("NS-0101")
	inspector := k.signedIn(k.inspector)
	a := inspector.act("NS-0101", "inspect", url.Values{"date": {"2026-03-02"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}})
	if s := k.sling(id); s.Details.Sling.State != gate.StateOut || s.Details.Sling.Inspected != day(t, "2026-03-02") {
		t.Fatalf("inspected: %v %d %s", s.Details.Sling.State, a.status, a.words())
	}
	before := k.recorded(id, event.KindTagPrinted)
	page := inspector.get("/rack/NS-0101/tag")
	inspector.send(page, "/rack/NS-0101/tag", url.Values{"stock": {"disc-70"}})
	if k.recorded(id, event.KindTagPrinted) != before+1 || k.sling(id).Details.Sling.State != gate.StateOut {
		t.Errorf("printed: %v", k.kinds(id))
	}
	inspector.act("NS-0101", "inspect", url.Values{"date": {"2026-03-02"}, "outcome": {"hold"}, "rating-tag": {"legible"}, "service": {"normal"}, "inspect-note": {"gouge"}})
	if a := k.signedIn(k.attendant).get("/outside"); !a.has("It is held as soon as it is back") || !strings.Contains(a.main(), `class="card `+string(StaysHere)) {
		t.Errorf("not passed while out: %s", a.main())
	}
}
