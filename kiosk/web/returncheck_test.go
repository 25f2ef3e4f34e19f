package web

import (
	"fmt"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/returncheck"
	"cribgate/kiosk/web/webtest"
)

// TestReturnCheckBrowser: on a telephone, a sling on which all is well takes one tap a
// question; answers outlive a reload and are nobody else's; the second of two quick
// taps counts for nothing; and one in doubt is held, says where to lay it, and is
// refused when it is asked for.
func TestReturnCheckBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.goneOut("NS-0417")
	p := k.opened(webtest.Start(t), k.attendant)
	p.Size(390, 844)
	p.Go(k.http.URL + "/counter")
	scanned(p, text)
	looks(t, p, "return-check")
	words := p.Asked("main")
	if len(words) < 4 || len(words) > returncheck.MostLooks+returncheck.MostAsks {
		t.Fatalf("asked %v", words)
	}
	low := webtest.Eval[[]string](p, `[...document.querySelectorAll(".looks .answers label")].filter((e) => e.getBoundingClientRect().height < 64 && e.getBoundingClientRect().height).map((e) => e.textContent)`)
	if len(low) > 0 {
		t.Errorf("lower than 64 px: %q", low)
	}
	p.Looks("main", words[0], "ok")
	p.Click(`main label:has([name="is-` + words[1] + `"][value="ok"])`) // at once
	if got := webtest.Eval[int](p, `document.querySelectorAll(".look :checked").length`); got != 1 {
		t.Errorf("two quick taps answered %d questions", got)
	}
	p.Looks("main", words[1], "doubt")
	p.Go(k.http.URL + "/counter")
	if got := webtest.Eval[string](p, `[...document.querySelectorAll(".look :checked")].map((e) => e.name + "=" + e.value).join(" ")`); got != "is-"+words[0]+"=ok is-"+words[1]+"=doubt" {
		t.Fatalf("after a reload: %q", got)
	}
	for _, word := range words[2:] {
		p.Looks("main", word, "ok")
	}
	if k.recorded(id, event.KindReturned) != 0 {
		t.Fatal("a doubt was sent unasked")
	}
	looks(t, p, "return-check-doubt")
	p.Changes(func() { p.Click(`form[action="/counter/return"] button.first`) })
	s := k.sling(id)
	if s.Details.Sling.State != gate.StateHeld || s.Check.Worst != event.IsDoubt || len(s.Check.Open) != 1 || verdictOf(p) != StaysHere {
		t.Fatalf("in doubt: %v, %+v, %q", s.Details.Sling.State, s.Check, verdictOf(p))
	}
	if got := p.Text("main"); !strings.Contains(got, "Lay it apart from the rack. Who may release it: O. Vance.") {
		t.Errorf("it does not say where to lay it: %s", got)
	}
	looks(t, p, "return-check-held")

	second, text := k.goneOut("NS-0418")
	scanned(p, text)
	if got := webtest.Eval[int](p, `document.querySelectorAll(".look :checked").length`); got != 0 {
		t.Errorf("%d answers about another sling stand", got)
	}
	taps := 0
	p.Changes(func() { taps = p.AllWell("main") })
	if got := k.sling(second); got.Details.Sling.State != gate.StateIn || p.Text("#verdict") != "Back in" || taps > 6 || len(got.Check.Open) > 0 {
		t.Errorf("all well: %v after %d taps: %q", got.Details.Sling.State, taps, p.Text("#verdict"))
	}
	t.Logf("all well: %d taps", taps)

	_, text = k.goneOut("NS-0419") // a wide screen
	p.Size(1280, 800)
	scanned(p, text)
	looks(t, p, "return-check-wide")
}

// TestReturnPictures: every question has a good and a bad picture, and they differ.
func TestReturnPictures(t *testing.T) {
	t.Parallel()
	for _, q := range returncheck.Questions() {
		p := picturesOf(q.Word)
		if len(p.Good.Paths) == 0 || len(p.Bad.Paths) == 0 || fmt.Sprint(p.Good.Paths) == fmt.Sprint(p.Bad.Paths) {
			t.Errorf("%s has no pair of pictures", q.Word)
		}
	}
	if len(pictures) != len(returncheck.Questions()) {
		t.Errorf("%d pictures of %d questions", len(pictures), len(returncheck.Questions()))
	}
}
