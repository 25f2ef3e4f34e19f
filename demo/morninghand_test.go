package main

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"text/tabwriter"
	"time"

	"cribgate/kiosk/web/webtest"
)

// The hand's times are those of the keystroke-level model (S. K. Card, T. P. Moran and
// A. Newell, The keystroke-level model for user performance time with interactive
// systems, Communications of the ACM 23(7), 1980; the values as secondary texts give
// them, the paper itself not seen). They are of people at a desk who know what they
// do, without gloves.
const (
	keyPressed = 280 * time.Millisecond  // K: somebody who types, and not for a living
	pointing   = 1100 * time.Millisecond // P
	homing     = 400 * time.Millisecond  // H: the hand moves to another device
	preparing  = 1350 * time.Millisecond // M
)

// A tally is what one rigger's turn at the counter took.
type tally struct {
	who, what   string
	slings      int
	taps        int // presses of buttons and of answers
	scans       int // of badges and tags
	keys        int // typed by hand
	typed       int // fields that were typed into
	waited      time.Duration
	longestWait time.Duration
}

// hand is how long a hand takes, by the model. A tap is thought of, aimed at and
// pressed; the scanner is taken up, aimed and pressed; the first scan of a turn is
// thought of, and so is each field, for which the hand moves to the keys. Walking,
// talking and reading are not in it.
func (t tally) hand() time.Duration {
	taps := time.Duration(t.taps) * (preparing + pointing + keyPressed)
	scans := preparing + time.Duration(t.scans)*(homing+pointing+keyPressed)
	keys := time.Duration(t.typed)*(preparing+homing) + time.Duration(t.keys)*keyPressed
	return taps + scans + keys
}

// A hand does at one page what a person's does, and counts it.
type hand struct {
	t *testing.T
	*webtest.Page
	now tally
}

// waits does something that brings another page, and adds up how long that takes, from
// the press to the page that is there, with what driving a browser costs.
func (h *hand) waits(do func()) {
	h.t.Helper()
	var begun time.Time
	h.Changes(func() {
		begun = time.Now()
		do()
	})
	took := time.Since(begun)
	h.now.waited += took
	h.now.longestWait = max(h.now.longestWait, took)
}

// taps presses a button that brings another page.
func (h *hand) taps(selector string) {
	h.t.Helper()
	h.now.taps++
	h.waits(func() { h.presses(selector) })
}

// allWell taps the good answer to each question of a return check; the last one sends
// it.
func (h *hand) allWell(within string) {
	h.t.Helper()
	words := h.Asked(within)
	if len(words) == 0 {
		h.t.Fatalf("%s: nothing is asked: %s", h.now.who, h.Text("main"))
	}
	h.now.taps += len(words)
	for _, word := range words[:len(words)-1] {
		h.Looks(within, word, "ok")
	}
	h.waits(func() { h.Looks(within, words[len(words)-1], "ok") })
}

// answers presses an answer on the page.
func (h *hand) answers(name, value string) {
	h.t.Helper()
	h.now.taps++
	h.presses(fmt.Sprintf(`label:has(> input[name=%q][value=%q])`, name, value))
}

// presses presses what is there to be pressed.
func (h *hand) presses(selector string) {
	h.t.Helper()
	if !webtest.Eval[bool](h.Page, `document.querySelector(`+strconv.Quote(selector)+`)?.checkVisibility() ?? false`) {
		h.t.Fatalf("%s: %s is not there to be pressed: %s", h.now.who, selector, h.Text("main"))
	}
	h.Click(selector)
}

// fills types into a field, which is tapped first unless it has the focus already.
func (h *hand) fills(name, text string) {
	h.t.Helper()
	if !webtest.Eval[bool](h.Page, `document.activeElement?.name === `+strconv.Quote(name)) {
		h.now.taps++
		h.presses(fmt.Sprintf(`input[name=%q]`, name))
	}
	h.now.typed++
	h.now.keys += len(text)
	h.Press(webtest.ByHand, webtest.US(text)...)
}

// scans is a hand scanner; what it waits for begins at the last key, since how fast it
// types is the scanner's matter.
func (h *hand) scans(text string) {
	h.t.Helper()
	h.now.scans++
	keys := webtest.Scanned(text)
	h.Press(webtest.ByScanner, keys[:len(keys)-1]...)
	h.waits(func() { h.Press(webtest.ByScanner, keys[len(keys)-1]) })
}

// verdict is what the plate on the page says, by its mark.
func (h *hand) verdict() string {
	h.t.Helper()
	return webtest.Eval[string](h.Page, `document.querySelector("[data-verdict]")?.dataset.verdict ?? ""`)
}

func (h *hand) sees(verdict string) {
	h.t.Helper()
	if got := h.verdict(); got != verdict {
		h.t.Fatalf("%s: the page says %q, not %q: %s", h.now.who, got, verdict, h.Text("main"))
	}
}

// done ends a turn and gives what it took.
func (h *hand) done() tally {
	t := h.now
	h.now = tally{}
	return t
}

func seconds(d time.Duration) string { return fmt.Sprintf("%.1f", d.Seconds()) }

// table tells the turns, and all of them together.
func table(turns []tally) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "rigger\twhat\tslings\ttaps\tscans\tkeys\tmachine s\tlongest s\thand s\tboth s")
	line := func(t tally, hand time.Duration) {
		fmt.Fprintf(w, "%s\t%s\t%d\t%d\t%d\t%d\t%s\t%.2f\t%s\t%s\n", t.who, t.what, t.slings, t.taps, t.scans, t.keys,
			seconds(t.waited), t.longestWait.Seconds(), seconds(hand), seconds(hand+t.waited))
	}
	sum, hands := tally{who: "all"}, time.Duration(0)
	for _, t := range turns {
		line(t, t.hand())
		sum.slings, sum.taps, sum.scans, sum.keys = sum.slings+t.slings, sum.taps+t.taps, sum.scans+t.scans, sum.keys+t.keys
		sum.waited += t.waited
		sum.longestWait = max(sum.longestWait, t.longestWait)
		hands += t.hand()
	}
	line(sum, hands)
	if err := w.Flush(); err != nil {
		return err.Error() // a builder takes everything
	}
	return b.String()
}
