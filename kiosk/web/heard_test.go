package web

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/web/webtest"
)

// TestVerdictsReadAsText takes every style off the page: the text alone says the
// verdict first, then about what, why, by which rule, and what to do now.
func TestVerdictsReadAsText(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	policy := k.policy()
	policy.AskEvery = 0
	k.setPolicy(policy)
	good, goodText := k.hanging("NS-0311", nil)
	_, missingText := k.hanging("NS-0417", func(d *event.Details) { d.Sling.RatingTag = gate.TagMissing })
	held, heldText := k.hanging("NS-0105", nil)
	k.holds(held, "link 4 of leg 2 is gouged")
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	reads := func(name string, want ...string) {
		t.Helper()
		p.Unstyled()
		p.Shot("text-" + name)
		text := strings.Join(strings.Fields(p.Text("main .middle")), " ")
		if !strings.HasPrefix(text, want[0]) {
			t.Errorf("%s begins with %.60q, want %q", name, text, want[0])
		}
		at := 0
		for _, w := range want {
			i := strings.Index(text[at:], w)
			if i < 0 {
				t.Errorf("%s: no %q after %q in %q", name, w, text[:at], text)
				return
			}
			at += i + len(w)
		}
		p.Go(k.http.URL + "/counter")
	}
	reads("empty", "Scan a sling", "Going out or coming back")
	scanned(p, missingText)
	reads("stays-here", "Stays here", "NS-0417", "rating tag cannot be fully read", "29 CFR 1910.184(e)(1)", "Now:", "quarantine")
	scanned(p, heldText)
	reads("held", "Stays here", "NS-0105", "held in quarantine", "ASME B30.9, removal criteria", "Now:", "O. Vance")
	scanned(p, goodText)
	reads("may-go", "May go", "NS-0311", "The lift needs", "may carry", "Hand it over to T. Brandt")
	p.Answer("text", k.short(good, 1))
	p.Changes(func() { p.Click(`form[data-scan] button:not([type])`) })
	reads("look-closer", "Look closer", "3/8", "last characters of the plate", "site policy", "Last characters of the identification on the metal plate", "Hand it over")
}

// TestVerdictsEachTheirOwn holds that no verdict is told by its colour alone: each
// has words, a shape and a sound that no other has, and a browser can be told to
// keep silent.
func TestVerdictsEachTheirOwn(t *testing.T) {
	t.Parallel()
	verdicts := []Verdict{MayGo, StaysHere, LookCloser}
	source, err := staticFiles.ReadFile("static/sound.js")
	if err != nil {
		t.Fatal(err)
	}
	tunes, words := map[string]Verdict{}, map[[2]string]Verdict{}
	for _, v := range verdicts {
		m := regexp.MustCompile(`"` + string(v) + `": (\[\[.*\]\])`).FindSubmatch(source)
		if m == nil {
			t.Fatalf("%s has no tune", v)
		}
		tunes[string(m[1])] = v
		words[v.Words()] = v
	}
	if len(tunes) != len(verdicts) || len(words) != len(verdicts) {
		t.Errorf("two verdicts sound or read alike: %v %v", tunes, words)
	}

	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.attendant)
	shapes := map[string]Verdict{}
	for _, v := range verdicts {
		shape := webtest.Eval[string](p, `(() => {
	const plate = document.querySelector(".plate");
	plate.className = "plate `+string(v)+`";
	const of = getComputedStyle(plate), under = getComputedStyle(plate, "::before");
	return [of.clipPath, under.content, under.borderWidth, of.borderRadius].join(" | ");
})()`)
		if other, twice := shapes[shape]; twice {
			t.Errorf("%s has the shape of %s: %s", v, other, shape)
		}
		shapes[shape] = v
	}
}

// TestSoundsOff turns the sounds of a station off and on again.
func TestSoundsOff(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", func(d *event.Details) { d.Sling.RatingTag = gate.TagMissing })
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	hear := func(want bool) {
		t.Helper()
		webtest.Eval[bool](p, `((window.made = 0), (window.AudioContext = function () { window.made++; return { createOscillator: () => ({ frequency: {}, connect: (x) => x, start() {}, stop() {} }), createGain: () => ({ gain: { setValueAtTime() {}, linearRampToValueAtTime() {} }, connect: (x) => x }), currentTime: 0, close() {} }; }), true)`)
		scanned(p, text)
		if got := verdictOf(p); got != StaysHere {
			t.Fatalf("verdict %q", got)
		}
		if got := webtest.Eval[int](p, `window.made`) > 0; got != want {
			t.Errorf("a refusal is heard: %v, want %v", got, want)
		}
	}
	hear(true)
	p.Follow(`button[name="sound"][value="off"]`)
	hear(false)
	p.Follow(`button[name="sound"][value="on"]`)
	hear(true)
}

// TestVerdictIsHeard asks the browser what it tells readers that speak: the verdict
// is a heading that has the focus and is described by its reason, and the page has
// its landmarks.
func TestVerdictIsHeard(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", func(d *event.Details) { d.Sling.RatingTag = gate.TagMissing })
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	heard := p.Hears()
	has := func(what string, is func(h webtest.Heard) bool) {
		t.Helper()
		if !slices.ContainsFunc(heard, is) {
			t.Errorf("there is no %s: %+v", what, heard)
		}
	}
	has("verdict with the focus and its reason", func(h webtest.Heard) bool {
		return h.Role == "heading" && h.Name == "Stays here" && h.Focused && strings.Contains(h.Description, "rating tag cannot be fully read")
	})
	has("region of the verdict", func(h webtest.Heard) bool { return h.Role == "region" && h.Name == "Stays here" })
	for _, landmark := range []string{"banner", "navigation", "main", "contentinfo", "status"} {
		has(landmark, func(h webtest.Heard) bool { return h.Role == landmark })
	}
	has("what to do now", func(h webtest.Heard) bool { return strings.Contains(h.Name, "quarantine") })
	for _, h := range heard {
		if (h.Role == "button" || h.Role == "link" || h.Role == "textbox") && h.Name == "" {
			t.Errorf("a %s has no name", h.Role)
		}
	}
}
