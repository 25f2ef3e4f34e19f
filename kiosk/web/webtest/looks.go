package webtest

import (
	"fmt"
	"time"
)

// look is how long somebody looks at one thing on a sling: longer than the time in
// which a second tap counts for nothing.
const look = 500 * time.Millisecond

// Passes puts the page's own clock ahead, in place of waiting for it.
func (p *Page) Passes(d time.Duration) {
	p.t.Helper()
	Eval[float64](p, fmt.Sprintf(`(performance.now = ((by) => () => Performance.prototype.now.call(performance) + by)(performance.now() - Performance.prototype.now.call(performance) + %d), performance.now())`, d.Milliseconds()))
}

// Asked are the words of the questions of a return check within what a CSS selector
// finds, in their order.
func (p *Page) Asked(within string) []string {
	p.t.Helper()
	return Eval[[]string](p, `[...new Set([...document.querySelectorAll(`+quote(within+" .look input")+`)].map((e) => e.name.slice("is-".length)))]`)
}

// Looks taps the answer to one of them, after a look.
func (p *Page) Looks(within, word, is string) {
	p.t.Helper()
	p.Passes(look)
	p.Click(fmt.Sprintf(`%s label:has([name="is-%s"][value=%q])`, within, word, is))
}

// AllWell taps the good answer to each, and gives how many taps that took. The last
// one sends the form.
func (p *Page) AllWell(within string) (taps int) {
	p.t.Helper()
	for _, word := range p.Asked(within) {
		p.Looks(within, word, "ok")
		taps++
	}
	return taps
}
