package web

import (
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/web/webtest"
)

var tab, space, enter = webtest.Key{Key: "Tab", Code: "Tab"}, webtest.US(" "), webtest.US("\n")

// onFocus tells what has the focus, and what is wrong with how it is shown: it must
// be on something, in sight, not covered, and marked.
const onFocus = `(() => {
	const e = document.activeElement, box = e.getBoundingClientRect();
	const name = [e.tagName.toLowerCase(), e.name ?? "", e.value ?? "", e.textContent.trim()].join(" ");
	if (e === document.body) return name + "!the focus is lost";
	const marked = (x) => x && getComputedStyle(x).outlineStyle !== "none" && parseFloat(getComputedStyle(x).outlineWidth) >= 2;
	if (!marked(e) && !marked(e.closest("label"))) return name + "!the focus is not shown";
	const shown = (e.closest("label") ?? e).getBoundingClientRect();
	if (shown.bottom < 1 || shown.top > innerHeight - 1) return name + "!the focus is out of sight at " + Math.round(shown.top);
	const x = Math.min(Math.max(shown.left + shown.width / 2, 1), innerWidth - 2), y = Math.min(Math.max(shown.top + shown.height / 2, 1), innerHeight - 2);
	const top = document.elementFromPoint(x, y);
	if (top && !e.contains(top) && !top.contains(e) && !(e.closest("label") ?? e).contains(top)) return name + "!the focus is covered by " + top.className;
	return name + "!";
})()`

// TestIssueAndReturnByKeyboard hands a sling over and takes it back without a mouse,
// a scanner or a screen that is touched.
func TestIssueAndReturnByKeyboard(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/counter")
	focus := func() string {
		t.Helper()
		name, wrong, _ := strings.Cut(webtest.Eval[string](p, onFocus), "!")
		if wrong != "" {
			t.Errorf("%s: %s", name, wrong)
		}
		return name
	}
	to := func(want string) {
		t.Helper()
		for range 90 {
			p.Press(webtest.ByHand, tab)
			if webtest.Eval[bool](p, `document.activeElement === document.body`) {
				continue // past the end of the page it is on what stands around the page
			}
			if strings.Contains(focus(), want) {
				return
			}
		}
		t.Fatalf("Tab never comes to %q on %s", want, p.Text("main h1"))
	}
	press := func(want string) {
		t.Helper()
		to(want)
		p.Changes(func() { p.Press(webtest.ByHand, enter...) })
		focus()
	}
	types := func(field, text string) {
		t.Helper()
		to("input " + field + " ")
		p.Press(webtest.ByHand, webtest.US(text)...)
	}
	// Of a question's answers Tab reaches the first, or the one that was chosen; the
	// arrows choose.
	picks := func(field, value string) {
		t.Helper()
		to("input " + field + " ")
		p.Press(webtest.ByHand, space...)
		for range 8 {
			if strings.HasPrefix(focus(), "input "+field+" "+value+" ") {
				return
			}
			p.Press(webtest.ByHand, webtest.Key{Key: "ArrowDown", Code: "ArrowDown"})
		}
		t.Fatalf("the arrows never come to %s %s", field, value)
	}
	press("Who takes slings?")
	press("T. Brandt")
	types("load", "12000")
	for _, answer := range [][2]string{{"known", "weighed"}, {"back", "2026-03-02"}, {"hitch", "straight"}, {"legs", "2"},
		{"angle", "60"}, {"centred", "yes"}, {"bears", "nothing"}, {"special", "no"}} {
		picks(answer[0], answer[1])
	}
	press("This is the lift")
	types("text", k.short(id, 1))
	p.Changes(func() { p.Press(webtest.ByHand, enter...) })
	if got := verdictOf(p); got != LookCloser || !strings.Contains(focus(), "Look closer") {
		t.Fatalf("verdict %q, the focus is on %q", got, focus())
	}
	types("typed", "0417")
	p.Changes(func() { p.Press(webtest.ByHand, enter...) })
	if got := k.sling(id).Loan.Rigger; got != k.rigger.ID || !strings.Contains(focus(), "Handed over") {
		t.Fatalf("out with %s; the focus is on %q", got, focus())
	}
	types("text", k.short(id, 1))
	p.Changes(func() { p.Press(webtest.ByHand, enter...) })
	focus()
	for _, word := range p.Asked("main") {
		picks("is-"+word, "ok")
	}
	if k.recorded(id, event.KindReturned) != 0 {
		t.Fatal("an answer by keyboard sent the form")
	}
	press("Take it in")
	if got := k.sling(id).Details.Sling.State; got != gate.StateIn || !strings.Contains(focus(), "Back in") {
		t.Fatalf("the sling is %s; the focus is on %q", got, focus())
	}
}
