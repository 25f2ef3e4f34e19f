package web

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"slices"
	"strings"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
)

// aReport is a page of a report, as a PNG.
func aReport(t *testing.T) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 300, 420))
	draw.Draw(m, m.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.Draw(m, image.Rect(30, 30, 270, 60), image.NewUniform(color.Black), image.Point{}, draw.Src)
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// A visit of ten slings on a telephone: seven pass with one tap each, one has a defect
// to be remedied, one is dangerous and is held at once, one is not presented, and the
// sheet says so.
func TestExaminerInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, tags := k.rackOf(10, "A")
	k.goesOut(ids[9], k.rigger, k.today())
	k.follow()
	p := k.openedBy(webtest.Start(t), k.http.URL, k.keeper)
	p.Size(390, 844)
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("in the end the page at %s says: %s", webtest.Eval[string](p, `location.pathname + " " + document.visibilityState + " " + document.readyState + " " + document.activeElement?.outerHTML.slice(0, 200)`), p.Text("body"))
		}
	})
	p.Go(k.http.URL + examinerPath)
	looks(t, p, "examiner-begin")
	p.Type("#f-examiner", "X. Aminer")
	p.Type("#f-firm", "North examiners")
	p.Type("#f-qualification", "lifting gear, level 2")
	p.Type("#f-due-before", "")
	webtest.Eval[bool](p, `(document.querySelector("#f-due-before").value = "2026-12-01", true)`)
	p.Follow(`form[action="/examiner"] button.first`)
	p.Waits(`document.querySelector("[data-check-scan]")`)
	if text := p.Text("main"); !strings.Contains(text, "of 10 done") || !strings.Contains(text, "out with "+k.rigger.Name) {
		t.Errorf("to be presented: %s", text)
	}
	scan := func(i int) {
		t.Helper()
		p.Waits(`document.querySelector("main h1")?.textContent === "Examiner from outside"`)
		p.Press(webtest.ByScanner, webtest.Scanned(tags[i])...)
		p.Waits(fmt.Sprintf(`document.querySelector("#verdict")?.textContent === "A-%04d"`, i+1))
	}
	// One that a camera has told by what it resembles asks for its plate first.
	webtest.Eval[bool](p, `(() => {
		const form = document.querySelector("form[data-scan]");
		form.elements.text.value = "`+tags[3]+`";
		form.elements.way.value = "resembles";
		form.requestSubmit();
		return true;
	})()`)
	p.Waits(`document.querySelector("#f-typed")`)
	looks(t, p, "examiner-worn-tag")
	p.Type("#f-typed", "004")
	p.Follow(`form:has(#f-typed) button.first`)
	p.Waits(`document.querySelector("#verdict")?.textContent === "A-0004"`)
	p.Go(k.http.URL + examinerPath)
	for i := range 7 {
		scan(i)
		if i == 0 {
			looks(t, p, "examiner-sling")
		}
		p.Follow(`button.first.large`)
	}
	defect := func(i int, what, when, by string) {
		t.Helper()
		scan(i)
		p.Click(`form.sheet input[name="rating-tag"][value="legible"]`)
		p.Type("#f-what-1", what)
		p.Click(`input[name="when-1"][value="` + when + `"]`)
		webtest.Eval[bool](p, `(document.querySelector("#f-by-1").value = "`+by+`", true)`)
		p.Follow(`button[name="said"][value="defect"]`)
	}
	defect(7, "latch of leg 2 does not close", "by", "2026-04-01")
	defect(8, "crack in the master link", "now", "")
	p.Waits(`document.querySelector(".notice.done")?.textContent.includes("A-0009 is held.")`)
	k.stands(ids[8], gate.StateHeld)
	if order := webtest.Eval[string](p, `[...document.querySelectorAll(".counting h2")].map((h) => h.textContent).filter((h) => h !== "No scanner at hand?").join(", ")`); order != "Dangerous now, To be presented, Done" {
		t.Errorf("the list is in the order %q", order)
	}
	for words, want := range map[string]string{"Dangerous now": "stays-here", "Not presented yet": "", "Has a defect": "look-closer", "Passed": "may-go"} {
		if shape := webtest.Eval[string](p, `[...document.querySelectorAll(".taken .card")].find((c) => c.querySelector(".words").textContent === "`+words+`")?.className ?? "not there"`); strings.TrimSpace(strings.TrimPrefix(shape, "card")) != want {
			t.Errorf("%s is drawn as %q, want %q", words, shape, want)
		}
	}
	looks(t, p, "examiner-list")
	p.Press(webtest.ByScanner, webtest.Scanned(tags[0])...)
	p.Waits(`document.querySelector("main h2")?.textContent === "Correct what was written down"`)
	looks(t, p, "examiner-correct")
	p.Go(k.http.URL + examinerPath)
	p.Click(".rare > summary")
	p.Type("#f-report", "NE 2026/17")
	p.Chooses("#f-page-1", "page.png", aReport(t))
	p.Follow(`form[action="/examiner/end"] button`)
	p.Waits(`document.querySelector(".count-sheet")`)
	sheet := strings.Join(strings.Fields(p.Text("main")), " ")
	for _, want := range []string{"Passed 7", "With a defect 2", "Not presented 1", "Report NE 2026/17.", "latch of leg 2 does not close, to be remedied by 1 Apr 2026", "dangerous now: crack in the master link", "A-0010 out with " + k.rigger.Name} {
		if !strings.Contains(sheet, want) {
			t.Errorf("the sheet does not say %q: %s", want, sheet)
		}
	}
	if n := webtest.Eval[int](p, `document.querySelectorAll("figure.photo img, figure.stands svg").length`); n != 2 {
		t.Errorf("%d of the page of the report and the head of the register", n)
	}
	looks(t, p, "examiner-sheet")

	queue, _, err := k.store.Bench(t.Context(), "", 100)
	if err != nil || len(queue) != 9 {
		t.Fatalf("%d on the bench: %v", len(queue), err)
	}
	at := slices.IndexFunc(queue, func(s state.Sling) bool { return s.ID == ids[7] })
	if at != 1 || queue[at].Gravity() != state.Watched || queue[0].ID != ids[8] {
		t.Errorf("the sling with a defect is number %d of the bench, %d", at, queue[at].Gravity())
	}
	// What passed, and what may still be remedied in time, goes out by its rules; what
	// is held does not.
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	for i, want := range map[int]Verdict{0: MayGo, 7: MayGo, 8: StaysHere} {
		text := k.printed(ids[i]) // its dates are those of the examination
		k.confirmed(ids[i], text)
		if a := c.scan(text); a.verdict() != want {
			t.Errorf("sling %d: %q, want %q: %s", i+1, a.verdict(), want, a.words())
		}
	}
}
