package webtest

import (
	"context"
	"errors"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/chromedp"
)

// Changes does something that puts another page in place of this one, with or
// without leaving it, and waits for that.
func (p *Page) Changes(do func()) {
	p.t.Helper()
	p.Waits(`document.querySelector("main")?.toggleAttribute("data-old", true)`) // it may just be coming
	do()
	p.Waits(`document.querySelector("body:not([aria-busy]) main:not([data-old])") && document.readyState === "complete"`)
}

// Waits waits until an expression of JavaScript is true, in this page or in one that
// comes in its place meanwhile. The page itself looks, at every frame: chromedp.Poll
// names the document by a number that it may have from the document before, where a
// page has only just been opened.
func (p *Page) Waits(expression string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if err := p.waits(ctx, expression); err != nil {
		p.t.Fatalf("browser: wait until %s: %v", expression, err)
	}
}

// An expression may read what a page does not have yet that is only coming.
func (p *Page) waits(ctx context.Context, expression string) error {
	looks := `new Promise((done, fail) => {
	const look = () => {
		let wrong = null;
		try { if (` + expression + `) return done(true); } catch (thrown) { wrong = thrown; }
		if (wrong && document.readyState === "complete") fail(wrong);
		else requestAnimationFrame(look);
	};
	look();
})`
	for {
		here, cancel := p.ways.while(ctx)
		_, err := chromedp.Run(here, chromedp.Evaluate[bool](looks, chromedp.EvalAwaitPromise))
		gone := here.Err() != nil
		cancel()
		if left, ok := errors.AsType[*cdproto.Error](err); ok && left.Code == leftCode {
			gone = true
		}
		if err == nil || !gone || ctx.Err() != nil {
			return err
		}
	}
}

// leftCode is what Chromium answers where the page was left while it was asked.
const leftCode = -32000
