package web

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
	"cribgate/kiosk/web/webtest"
)

// newParts puts the figures of a sling of two legs on record, off a drawing.
func (k *kiosk) newParts(id event.SlingID) {
	k.t.Helper()
	figure := func(d event.Dimension, what removal.What, leg int, value quantity.Length, links int64) event.Figure {
		return event.Figure{Of: event.FigureOf{Dimension: d, What: what, Leg: leg}, Value: value, Links: links, Basis: event.FromMaker, Source: "drawing 12"}
	}
	set := event.FiguresSet{Figures: []event.Figure{figure(event.Thickness, removal.Master, 0, 15_875, 0)}}
	for leg := 1; leg <= 2; leg++ {
		set.Figures = append(set.Figures, figure(event.RunLength, 0, leg, 330_200, 11), figure(event.Throat, 0, leg, 28_000, 0),
			figure(event.Section, 0, leg, 20_000, 0), figure(event.LinkCount, 0, leg, 0, 61))
	}
	k.happens(id, k.inspector, set)
}

// keys types texts, each with Enter behind it.
func keys(texts ...string) (list []webtest.Key) {
	for _, text := range texts {
		list = append(list, webtest.US(text+"\n")...)
	}
	return list
}

const byHand = 60 * time.Millisecond // between two keys of a quick typist

// TestInspectionByKeyboard: what came back in doubt is first on the bench; a whole
// inspection of it, typed by keyboard alone, with a reload in the middle; a slip of the
// point is asked about, a second inspector is told, and the sling goes out again only by
// its rules.
func TestInspectionByKeyboard(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	policy := k.policy()
	policy.OldTagGoes, policy.AskEvery = true, 0
	k.setPolicy(policy)
	overdue, _ := k.hanging("NS-0001", func(d *event.Details) { d.Sling.Inspected, d.Sling.Due = day(t, "2025-01-10"), day(t, "2026-01-10") })
	kept, _ := k.hanging("NS-0002", nil)
	k.holds(kept, "a nick")
	id, text := k.goneOut("NS-0417")
	k.newParts(id)
	at := k.signedIn(k.attendant)
	back := at.scan(text)
	answers := back.allWell(t, "/counter/return")
	answers["is-legs"], answers["note"] = []string{"doubt"}, []string{"dropped from the hook"}
	at.send(back, "/counter/return", answers)
	p := k.opened(webtest.Start(t), k.inspector)
	p.Go(k.http.URL + benchPath)
	if first := p.Text(".queue .card"); !strings.Contains(first, "NS-0417") || !strings.Contains(first, "legs (in doubt): dropped from the hook") {
		t.Fatalf("first in the queue: %s", first)
	}
	if got := webtest.Eval[[]string](p, `[...document.querySelectorAll(".queue .card .title")].map((e) => e.textContent.trim())`); !slices.Equal(got, []string{"NS-0417", k.sling(kept).Details.Ident, k.sling(overdue).Details.Ident}) {
		t.Errorf("the queue is %q", got)
	}
	looks(t, p, "bench")
	leg := func(n int, whole bool) {
		p.Go(k.http.URL + benchPath + "/NS-0417?step=leg-" + fmt.Sprint(n))
		p.Waits(`document.activeElement.name === "l` + fmt.Sprint(n) + `-links"`)
		p.Press(byHand, keys("61")...)
		p.Waits(`document.activeElement.name === "l` + fmt.Sprint(n) + `-reach"`)
		p.Press(byHand, keys("94 1/2", "0.385", "25/64", "0.38", "0.39", ".388", ".388", "13", "13.02", "13.01")...)
		if !whole {
			return
		}
		p.Press(byHand, keys("1.11", "0.78", "0")...)
		p.Waits(`document.activeElement.type === "radio"`)
		p.Press(byHand, webtest.US(" \n")...)
		p.Waits(`document.querySelector("[data-saved]").textContent.startsWith("Saved") && !document.body.hasAttribute("data-unsaved")`)
	}
	p.Go(k.http.URL + benchPath + "/NS-0417")
	webtest.Eval[bool](p, `(document.querySelector("#f-gauge-1").focus(), true)`)
	p.Press(byHand, webtest.US("caliper 7")...)
	webtest.Eval[bool](p, `(document.querySelector("[name=rating-tag]").focus(), true)`)
	p.Press(byHand, webtest.US(" ")...)
	p.Waits(`document.querySelector("[data-saved]").textContent.startsWith("Saved") && !document.body.hasAttribute("data-unsaved")`)
	says := func() string {
		return webtest.Eval[string](p, `document.querySelector("#f-calibrated-1").parentElement.querySelector("[data-day]").textContent`)
	}
	if got := says(); got != "" {
		t.Errorf("no day is chosen, and it says %q", got)
	}
	webtest.Eval[bool](p, `((f) => { f.value = "2026-02-03"; return f.dispatchEvent(new Event("input", { bubbles: true })); })(document.querySelector("#f-calibrated-1"))`)
	if got := says(); got != "3 Feb 2026" { // 02/03 in one country, 03/02 in another
		t.Errorf("beside the field stands %q", got)
	}
	p.Waits(`document.querySelector("[data-saved]").textContent.startsWith("Saved") && !document.body.hasAttribute("data-unsaved")`)
	looks(t, p, "bench-start")

	leg(1, false)
	p.Waits(`document.activeElement.name === "l1-throat"`)
	p.Waits(`!document.body.hasAttribute("data-unsaved") && document.querySelector("#bars-l1-r2 .bar") !== null`)
	p.Go(k.http.URL + benchPath + "/NS-0417?step=leg-1") // a reload in the middle
	if got := webtest.Eval[string](p, `["l1-links", "l1-k1-d2", "l1-r3"].map((n) => document.forms[1].elements[n]?.value ?? document.querySelector("[name=" + n + "]").value).join(" ")`); got != "61 25/64 13.01" {
		t.Fatalf("after a reload: %q", got)
	}
	if at := webtest.Eval[string](p, `document.activeElement.name`); at != "l1-throat" {
		t.Errorf("the first empty field is not ready: %q", at)
	}
	p.Press(byHand, keys("11.1")...) // the point slipped
	p.Waits(`document.querySelector("#is-l1-throat .asks")?.textContent.includes("point slip")`)
	looks(t, p, "bench-asked")
	p.Type("#f-l1-throat", "1.11")
	p.Waits(`document.querySelector("#is-l1-throat .asks") === null`)
	p.Press(byHand, keys("", "0.78", "0")...)
	p.Press(byHand, webtest.US(" ")...)
	p.Waits(`!document.body.hasAttribute("data-unsaved") && document.querySelector("#bars-l1-hook .bar") !== null`)
	looks(t, p, "bench-leg")
	leg(2, true)
	p.Go(k.http.URL + benchPath + "/NS-0417?step=upper")
	p.Waits(`document.activeElement.name === "master"`)
	p.Press(webtest.ByScanner, keys("0.62")...) // a caliper that types
	p.Waits(`document.querySelector("#f-master").value === "0.62" && document.querySelector("#bars-master .bar") !== null`)
	p.Go(k.http.URL + benchPath + "/NS-0417?step=seen")
	webtest.Eval[bool](p, `(document.querySelector("[name=all-seen]").focus(), true)`)
	p.Press(byHand, webtest.US(" ")...)
	p.Waits(`document.querySelector("#bench-aside strong").textContent === "Nothing found."`)
	looks(t, p, "bench-seen")

	other := k.add("P. Lund", event.Inspector)
	second := k.signedIn(other)
	page := second.get(benchPath + "/NS-0417")
	if !page.has("O. Vance is inspecting this sling") || page.has(`data-bench`) {
		t.Errorf("a second inspector: %s", page.words())
	}
	second.send(page, benchPath+"/NS-0417/take", nil)
	webtest.Eval[bool](p, `(document.querySelector("#f-where").focus(), true)`)
	p.Press(byHand, webtest.US("x")...)
	p.Waits(`document.querySelector("#bench-stand [role=alert]")?.textContent.includes("P. Lund took this inspection over")`)
	if seen := webtest.Eval[bool](p, `((r) => r.top >= 0 && r.bottom <= innerHeight)(document.querySelector("#bench-stand [role=alert]").getBoundingClientRect()) && document.activeElement === document.body`); !seen {
		t.Error("whoever types far below does not see that nothing is saved any more")
	}
	looks(t, p, "bench-taken")
	page = second.get(benchPath + "/NS-0417")
	second.send(page, benchPath+"/NS-0417/aside", nil)
	p.Go(k.http.URL + benchPath + "/NS-0417?step=sign")
	if got := p.Text(".stopped h2"); got != "Laid aside" {
		t.Errorf("it is headed %q", got)
	}
	looks(t, p, "bench-aside")
	p.Follow(".stopped button.first")
	p.Go(k.http.URL + benchPath + "/NS-0417?step=sign")
	webtest.Eval[bool](p, `(document.querySelector("[name=decision][value=fit]").focus(), true)`)
	p.Press(byHand, webtest.US(" ")...)
	looks(t, p, "bench-sign")
	webtest.Eval[bool](p, `(document.querySelector("#f-pin").focus(), true)`)
	p.Press(byHand, webtest.US(testPIN)...)
	p.Follow(`form[data-bench] button.first`)
	if got := p.Text(".notice.done"); !strings.Contains(got, "NS-0417 is inspected and signed: fit, next due 2 Mar 2027") {
		t.Fatalf("signed: %q", got)
	}
	s := k.sling(id)
	if s.Details.Outcome != tagcode.Fit || s.Details.Sling.State != gate.StateHeld || len(s.Wear) != 1 {
		t.Errorf("what was held before stays held until it is released: %+v %+v", s.Details, s.Wear)
	}
	looks(t, p, "bench-signed")
	p.Follow(`a[href*="/report/"], a[href$="/report"]`)
	looks(t, p, "report")
	at.takes(k.rigger)
	at.lifts(aLift())
	if a := at.scan(text); a.verdict() != StaysHere {
		t.Errorf("inspected and still held: %s", a.words())
	}
	k.signedIn(k.inspector).act("NS-0417", "release", url.Values{"release-reason": {"measured link for link"}})
	if a := at.scan(text); a.verdict() != LookCloser || !a.has("The last characters of the plate are needed.") { // it came back within the hour
		t.Errorf("released at once: %s", a.words())
	}
	k.passed.Add(int64(2 * time.Hour))
	if a := at.scan(text); a.verdict() != MayGo {
		t.Errorf("released: %s", a.words())
	}
	if d, err := k.server.Bench.Draft(t.Context(), id.String()); err != nil || d.Revision != 0 {
		t.Errorf("the draft is still there: %+v %v", d, err)
	}
}
