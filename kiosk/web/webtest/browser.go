// Package webtest drives the pages in a real browser, for tests: it opens
// headless Chromium, goes to addresses, types, clicks, reads, and takes pictures
// at the sizes and in the light that the pages must look right in.
//
// [Start] gives the browser, or skips the test where -short is given, and
// loudly where there is no browser
// (with CRIBGATE_REQUIRE set it fails instead). [Main] has all tests of a package share
// one. [Browser.Page] is as good as a browser of its own: no
// cookie is shared between two pages. [Page.Shot] writes a picture into the
// folder that CRIBGATE_SHOTS names, and does nothing where that is not set.
//
// [Filming] opens a browser whose camera plays a film of [Film]: tags held up one
// after the other, over and over. Its pages may use the camera without being asked.
//
//	p := webtest.Filming(t, webtest.Film(t, webtest.Shown{Text: tag, For: time.Second})).Page(t)
//	p.Go(address)
//	p.Click("[data-camera] [data-on]")
//	p.Waits(`document.querySelector("[data-verdict]")`)
package webtest

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"cribgate/core/required"
)

// patience is how long one step in the browser may take.
const patience = 60 * time.Second

// What may show pages. Without a desktop's windows, each of which draws a bar of its
// own, a page opens in an eighth of the time; but only the whole browser asks for a camera.
const (
	wholeBrowser   = "chromium"
	windowlessOnly = "chromium-headless-shell"
)

// A Browser is a running Chromium.
type Browser struct{ ctx context.Context }

// Start gives a running Chromium. Names that end in .test lead to this machine, so
// that a page can be seen under an address that is not loopback. Under [Main] all tests
// of a package have the same one, else it is closed when the test ends.
func Start(t testing.TB) *Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("-short looks at no page in a browser")
	}
	path, err := exec.LookPath(windowlessOnly)
	if err != nil {
		path = required.Program(t, wholeBrowser)
	}
	if b := common.get(t, path); b != nil {
		return b
	}
	b, end, err := open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(end)
	return b
}

func open(path string, more ...chromedp.ExecAllocatorOption) (b *Browser, end func(), err error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("font-render-hinting", "none"), // letters as wide as in the whole browser
		chromedp.Flag("host-resolver-rules", "MAP *.test 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
	)
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(options, more...)...)
	ctx, close := chromedp.NewContext(ctx)
	end = func() { close(); stop() }
	if err := chromedp.Do(ctx); err != nil {
		end()
		return nil, nil, fmt.Errorf("start %s: %w", path, err)
	}
	return &Browser{ctx: ctx}, end, nil
}

// A Page is one window with cookies of its own. A step that fails ends the test.
type Page struct {
	t       testing.TB
	ctx     context.Context
	ways    *ways
	lastKey time.Time // what the page was told of the last key of Press
}

// Page opens a window of 1280 × 800 in daylight.
func (b *Browser) Page(t testing.TB) *Page {
	t.Helper()
	ctx, stop := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	// The window lives as long as the context that opens it, so not within a step.
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("browser: open a window: %v", err)
	}
	ways, err := follow(ctx)
	if err != nil {
		t.Fatalf("browser: follow a window: %v", err)
	}
	p := &Page{t: t, ctx: ctx, ways: ways}
	p.Size(1280, 800)
	p.Night(false)
	return p
}

// Do takes steps of chromedp.
func (p *Page) Do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	p.does("", steps...)
}

// does takes steps, and names what they were where they fail.
func (p *Page) does(what string, steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	for {
		err := chromedp.Do(ctx, steps...)
		if lost, ok := errors.AsType[*cdproto.Error](err); ok && strings.Contains(lost.Message, lostNode) && ctx.Err() == nil {
			continue
		}
		if err != nil {
			p.t.Fatalf("browser: %s%v", what, err)
		}
		return
	}
}

// lostNode is what Chromium says of what was found on a page and is gone with it before
// anything was done to it: it is looked for again, until patience ends.
const lostNode = "node with given id"

// Type puts text into the field that a CSS selector finds, in place of what it
// held. It arrives whole, as from the clipboard: keys that a test sends come as
// fast as a scanner's, and pages throw those away.
func (p *Page) Type(selector, text string) {
	p.t.Helper()
	p.Do(chromedp.Focus(chromedp.CSS(selector)))
	Eval[bool](p, `(document.activeElement.select?.(), true)`)
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if _, err := chromedp.Call(ctx, input.InsertText, input.InsertTextParams{Text: text}); err != nil {
		p.t.Fatalf("browser: type into %s: %v", selector, err)
	}
}

// Chooses gives a file to a field of that type, as if it had been chosen.
func (p *Page) Chooses(selector, name string, data []byte) {
	p.t.Helper()
	Eval[bool](p, `(() => {
	const bytes = Uint8Array.from(atob(`+quote(base64.StdEncoding.EncodeToString(data))+`), (c) => c.charCodeAt(0));
	const chosen = new DataTransfer();
	chosen.items.add(new File([bytes], `+quote(name)+`));
	document.querySelector(`+quote(selector)+`).files = chosen.files;
	return true;
})()`)
}

// Click clicks what a CSS selector finds, once the page takes presses: one that has just
// been renewed does not.
func (p *Page) Click(selector string) {
	p.t.Helper()
	p.Waits(`!document.documentElement.hasAttribute("data-fresh")`)
	p.does("click "+selector+": ", chromedp.Click(chromedp.CSS(selector)))
}

// Follow clicks what leads to another page and waits for that page, whether it is
// loaded or put in the place of this one.
func (p *Page) Follow(selector string) {
	p.t.Helper()
	p.Changes(func() { p.Click(selector) })
}

// Text reads what a CSS selector finds.
func (p *Page) Text(selector string) string {
	p.t.Helper()
	return Eval[string](p, `document.querySelector(`+quote(selector)+`)?.innerText ?? ""`)
}

// Eval evaluates an expression of JavaScript in the page.
func Eval[T any](p *Page, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		p.t.Fatalf("browser: evaluate %.60q: %v", expression, err)
	}
	return v
}

// Size sets the window's size.
func (p *Page) Size(width, height int) {
	p.t.Helper()
	p.Do(chromedp.EmulateViewport(int64(width), int64(height)))
}

// Night tells the page that the device is in dark light, or that it is not.
func (p *Page) Night(on bool) {
	p.t.Helper()
	value := "light"
	if on {
		value = "dark"
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: value}},
	})
	if err != nil {
		p.t.Fatalf("browser: light: %v", err)
	}
}

// Shot writes a picture of the whole page as name.png.
func (p *Page) Shot(name string) {
	p.t.Helper()
	dir := os.Getenv("CRIBGATE_SHOTS")
	if dir == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), p.shot(name), 0o644); err != nil {
		p.t.Fatal(err)
	}
}

// Shots takes four pictures: a phone and a desk, by day and by night.
func (p *Page) Shots(name string) {
	p.t.Helper()
	for _, night := range []bool{false, true} {
		light := "day"
		if night {
			light = "night"
		}
		p.Night(night)
		p.Size(390, 844)
		p.Shot(name + "-phone-" + light)
		p.Size(1280, 800)
		p.Shot(name + "-desk-" + light)
	}
	p.Night(false)
}
