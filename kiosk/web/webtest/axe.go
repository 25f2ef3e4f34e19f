package webtest

import (
	"context"
	"encoding/json"
	"os"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"cribgate/core/required"
)

// axeTags are the rules of axe-core that a page is held to: WCAG 2.2 up to level
// AA, with what it takes over from 2.0 and 2.1, and what axe-core calls best
// practice.
const axeTags = `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"]`

var axeSource = sync.OnceValues(func() (string, error) {
	data, err := os.ReadFile(os.Getenv("CRIBGATE_AXE"))
	return string(data), err
})

// AxeMissing skips a test that is nothing without axe-core, where CRIBGATE_AXE
// does not name its axe.min.js; with CRIBGATE_REQUIRE set it fails instead.
func AxeMissing(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("-short looks at no page in a browser")
	}
	if !axeHere(t) {
		required.Lacks(t, "CRIBGATE_AXE names no axe.min.js, so no page was held against WCAG 2.2 AA (npm pack axe-core, and take package/axe.min.js out of it)")
	}
}

func axeHere(t testing.TB) bool {
	t.Helper()
	switch {
	case os.Getenv("CRIBGATE_AXE") != "":
		if _, err := axeSource(); err != nil {
			t.Fatalf("CRIBGATE_AXE: %v", err)
		}
		return true
	case os.Getenv(required.Everything) != "":
		t.Fatal("CRIBGATE_AXE names no axe.min.js: npm pack axe-core, and take package/axe.min.js out of it")
	}
	return false
}

// axeColours are those of them that colours can break. By night a page has other colours
// and nothing else: see TestNightIsColoursOnly.
const axeColours = `["color-contrast", "link-in-text-block"]`

// Axe holds the page as it stands against axe-core, on a phone of 390 px and on a
// desk of 1280 px, by day and, as far as colours go, by night, and tells what it finds,
// in sentences; none if all is well. It tells nothing where axe-core is not here and
// CRIBGATE_REQUIRE is not set.
func Axe(p *Page) []string {
	p.t.Helper()
	if !axeHere(p.t) {
		return nil
	}
	source, err := axeSource()
	if err != nil {
		p.t.Fatal(err)
	}
	if !Eval[bool](p, `Boolean(window.axe)`) {
		Eval[bool](p, source+"\n;Boolean(window.axe)")
	}
	defer func() { p.Night(false); p.Size(1280, 800) }()
	var out []string
	for _, night := range []bool{false, true} {
		p.Night(night)
		light, only := "day", `{ type: "tag", values: `+axeTags+` }`
		if night {
			light, only = "night", `{ type: "rule", values: `+axeColours+` }`
		}
		for _, width := range []int{390, 1280} {
			p.Size(width, 844)
			for _, finding := range p.axe(only) {
				out = append(out, light+", "+finding)
			}
		}
	}
	return out
}

func (p *Page) axe(only string) []string {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	got, err := chromedp.Call(ctx, runtime.Evaluate, runtime.EvaluateParams{Expression: "(" + axeRun + ")(" + only + ")", AwaitPromise: new(true), ReturnByValue: new(true)})
	if err != nil {
		p.t.Fatalf("browser: axe-core: %v", err)
	}
	if got.ExceptionDetails != nil {
		p.t.Fatalf("browser: axe-core: %v", got.ExceptionDetails)
	}
	var said struct {
		Passed int
		Found  []string
	}
	if err := json.Unmarshal(got.Result.Value, &said); err != nil {
		p.t.Fatalf("browser: axe-core answers %.80q: %v", got.Result.Value, err)
	}
	if said.Passed == 0 {
		p.t.Fatal("browser: axe-core had nothing to say of this page, good or bad")
	}
	return said.Found
}

// What axe-core cannot decide counts as found, but for colours: it reads none under
// a clip-path or beneath another element. Those are held by the test of contrast,
// over the whole palette. Captions are for what is heard (WCAG 2.2, 1.2.2 and 1.2.4):
// what a camera sees here has no sound, and what it means is said in words beside it.
const axeRun = `(only) => axe.run(document, { runOnly: only, rules: { "video-caption": { enabled: false } }, resultTypes: ["violations", "incomplete"] }).then((r) => ({
  Passed: r.passes.length,
  Found: r.violations.concat(r.incomplete.filter((v) => v.id !== "color-contrast")).flatMap((v) => v.nodes.map((n) =>
    innerWidth + " px: " + v.id + ": " + n.html.slice(0, 160) + ": " + (n.failureSummary || v.help).replace(/\s+/g, " "))),
}))`
