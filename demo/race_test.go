package main

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/demo/browser"
)

// raced is how many races the whole of TestRaceForOneSling has.
const raced = 500

// Two hundred browsers show that one sling may go, and all press at once: one hands
// it over, and every other is told who has it, since when, and to leave it.
func TestRaceForOneSling(t *testing.T) {
	n, _ := roundsOf(raced)
	const browsers = 200
	c := newCrowd(t, 2, browsers, 1)
	clerks, sling := c.clerks(browsers), c.slings[0]
	home, st := c.serves()
	back := made(st.Today(t.Context()))(t).AddDays(30).String()
	for _, at := range clerks {
		at.ready(t, home, back)
		visitor{at.Browser, t}.must(at.scanned(sling.text))
	}
	t.Logf("%d races of %d browsers; again: go test ./demo -run '^TestRaceForOneSling$' -rounds %d", n, browsers, n)
	begun, slowest := time.Now(), time.Duration(0)
	for round := range n {
		forms := make([]url.Values, browsers)
		each(clerks, func(i int, at *clerk) {
			p, err := at.Get("/counter")
			if err == nil {
				err = p.Verdict("may-go")
			}
			if err == nil {
				forms[i], err = p.Form("/counter/issue")
			}
			if err != nil {
				t.Errorf("race %d: before it, browser %d: %v", round, i, err)
			}
		})
		if t.Failed() {
			return
		}
		pages, took := make([]browser.Page, browsers), make([]time.Duration, browsers)
		each(clerks, func(i int, at *clerk) {
			pressed := time.Now()
			var err error
			if pages[i], err = at.Send("/counter/issue", forms[i]); err != nil {
				t.Errorf("race %d: browser %d: %v", round, i, err)
			}
			took[i] = time.Since(pressed)
		})
		var won *clerk
		for i, p := range pages {
			slowest = max(slowest, took[i])
			if p.Text(browser.VerdictWords) != "Handed over" {
				continue
			}
			if won != nil {
				t.Fatalf("race %d: %s and %s were both told that they have it", round, won.rigger.Name, clerks[i].rigger.Name)
			}
			won = clerks[i]
		}
		if won == nil {
			t.Fatalf("race %d: nobody has it", round)
		}
		for i, p := range pages {
			if clerks[i] == won {
				continue
			}
			says := p.Text(browser.Sentence)
			if err := p.Verdict("stays-here"); err != nil || p.Status != http.StatusOK || !strings.HasPrefix(says, won.rigger.Name+" has it since ") {
				t.Fatalf("race %d: %s lost to %s and was told %d %q (%v)", round, clerks[i].rigger.Name, won.rigger.Name, p.Status, says, err)
			}
		}
		issued := 0
		for _, rec := range made(st.Story(t.Context(), event.Sling(sling.id)))(t) {
			if rec.Envelope.Kind == event.KindIssued {
				issued++
			}
		}
		if now := made(st.Sling(t.Context(), sling.id))(t); issued != round+1 || now.Loan.Rigger != won.rigger.ID {
			t.Fatalf("race %d: recorded %d issues, the newest to %s; the page said %s", round, issued, now.Loan.Rigger, won.rigger.Name)
		}
		v := visitor{won.Browser, t}
		v.must(won.scanned(sling.text))
		if p := v.must(won.Again("/counter/return", won.Now().AllWell("/counter/return"))); p.Text(browser.VerdictWords) != "Back in" {
			t.Fatalf("race %d: taken back: %q", round, p.Text(browser.VerdictWords))
		}
		p := v.must(won.scanned(sling.text)) // which came back just now, so that the plate is asked for
		form := made(p.Form("/counter/issue"))(t)
		form.Set("typed", sling.plate())
		v.must(won.Send("/counter/answer", form))
	}
	if report := made(st.Verify(t.Context(), nil))(t); !report.Whole() {
		t.Fatalf("verify: %v", report.Breaks)
	}
	t.Logf("%d races in %.1f s, %d losers told, the slowest answer took %.2f s", n, time.Since(begun).Seconds(), n*(browsers-1), slowest.Seconds())
}
