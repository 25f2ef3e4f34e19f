package webtest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/cdp"
	browser "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// Go opens an address. A page that goes to another one by itself at that moment, as one
// does that hears of a scan, has its way first.
func (p *Page) Go(address string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if err := p.opens(ctx, address); err != nil {
		p.t.Fatalf("browser: open %s: %v", address, err)
	}
}

// A page may cross the test's way so often; and so long is waited for one that may
// never arrive, since nothing answers it.
const (
	crossings = 5
	arriving  = 2 * time.Second
)

// opens opens an address, also where the browser gives it up for what the page before
// does by itself, or shows that afterwards. chromedp.Navigate follows whichever comes
// first, and waits for ever where that one is given up.
func (p *Page) opens(ctx context.Context, address string) error {
	for range crossings {
		p.ways.settle(ctx)
		asked, err := chromedp.Call(ctx, browser.Navigate, browser.NavigateParams{URL: address})
		switch {
		case err != nil:
			return err
		case asked.IsDownload:
			return errors.New("it is a file to be kept, and no page")
		case asked.ErrorText == aborted:
			continue
		case asked.ErrorText != "":
			return errors.New(asked.ErrorText)
		}
		if asked.LoaderID == "" || p.ways.arrived(ctx, asked.LoaderID) { // none: a place in the document that is here
			return p.complete(ctx)
		}
	}
	return fmt.Errorf("the browser goes elsewhere, %d times by now", crossings)
}

// complete waits until the document is loaded. It is asked from outside, since a page
// whose scripts are off cannot wait for anything.
func (p *Page) complete(ctx context.Context) error {
	for {
		moved := p.ways.moves()
		done, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.readyState === "complete"`))
		if left, ok := errors.AsType[*cdproto.Error](err); ok && left.Code == leftCode {
			err = nil
		}
		if done || err != nil {
			return err
		}
		select {
		case <-moved:
		case <-time.After(arriving):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// aborted is what Chromium says where it gave up one way for another.
const aborted = "net::ERR_ABORTED"

// ways are the documents that a window is on its way to.
type ways struct {
	mu    sync.Mutex
	open  map[cdp.LoaderID]bool
	came  map[cdp.LoaderID]bool // each that arrived; whether another was open then
	moved chan struct{}         // closed where something of it changes
}

// while gives a context that ends when another document stands in the window. One that
// the browser keeps for the way back stands still, and answers no more.
func (w *ways) while(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(ctx)
	w.mu.Lock()
	came, moved := len(w.came), w.moved
	w.mu.Unlock()
	go func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-moved:
			}
			w.mu.Lock()
			now := len(w.came)
			moved = w.moved
			w.mu.Unlock()
			if now != came {
				cancel()
				return
			}
		}
	}()
	return ctx, cancel
}

// follow notes what becomes of the ways of the window of ctx.
func follow(ctx context.Context) (*ways, error) {
	w := &ways{open: map[cdp.LoaderID]bool{}, came: map[cdp.LoaderID]bool{}, moved: make(chan struct{})}
	c := chromedp.FromContext(ctx)
	main := cdp.FrameID(c.Target.TargetID) // the main frame's name is its window's
	return w, chromedp.Listen(ctx, func(ev any) {
		w.mu.Lock()
		defer w.mu.Unlock()
		switch ev := ev.(type) {
		case *browser.EventFrameStartedNavigating:
			if ev.FrameID != main || ev.NavigationType == browser.FrameStartedNavigatingNavigationTypeSameDocument {
				return
			}
			w.open[ev.LoaderID] = true
		case *browser.EventFrameNavigated:
			if ev.Frame.ID != main {
				return
			}
			delete(w.open, ev.Frame.LoaderID)
			w.came[ev.Frame.LoaderID] = len(w.open) > 0
		case *browser.EventFrameStoppedLoading:
			if ev.FrameID != main {
				return
			}
			clear(w.open)
		default:
			return
		}
		close(w.moved)
		w.moved = make(chan struct{})
	})
}

// moves is closed at the next change.
func (w *ways) moves() <-chan struct{} {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.moved
}

// until waits until is holds, for as long as something may arrive.
func (w *ways) until(ctx context.Context, is func() bool) {
	late := time.NewTimer(arriving)
	defer late.Stop()
	for {
		w.mu.Lock()
		holds, moved := is(), w.moved
		w.mu.Unlock()
		if holds {
			return
		}
		select {
		case <-moved:
		case <-late.C:
			return
		case <-ctx.Done():
			return // the next step says so
		}
	}
}

// settle waits until no way is open.
func (w *ways) settle(ctx context.Context) { w.until(ctx, func() bool { return len(w.open) == 0 }) }

// arrived waits for a document that the browser has promised, and tells whether it is
// here to stay: it may have been given up, or another one was on its way by then.
func (w *ways) arrived(ctx context.Context, which cdp.LoaderID) bool {
	var came, crossed bool
	w.until(ctx, func() bool { crossed, came = w.came[which]; return came })
	return came && !crossed
}
