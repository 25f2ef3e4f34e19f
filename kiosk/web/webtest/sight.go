package webtest

import (
	"context"
	"strconv"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// Scripts tells the browser whether the pages that are opened from now on may run
// scripts.
func (p *Page) Scripts(on bool) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		p.t.Fatalf("browser: scripts: %v", err)
	}
}

// Hides tells the page that another one is shown in its window, or that it is shown
// again. A browser without a window hides none by itself.
func (p *Page) Hides(away bool) {
	p.t.Helper()
	Eval[bool](p, `(Object.defineProperty(document, "hidden", { configurable: true, value: `+strconv.FormatBool(away)+` }),
	document.dispatchEvent(new Event("visibilitychange")))`)
}
