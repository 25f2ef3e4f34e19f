package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/returncheck"
	"cribgate/kiosk/web/webtest"
	"cribgate/store"
)

// contest has the second station put a sling on a loan that lies on this one's too.
// This one is faster, and the other page says so without being touched.
func (m *morning) contest() {
	m.t.Helper()
	other, wanted := m.station, m.free[len(m.free)-2]
	other.now.who = lastEvening
	other.scans(m.people[lastEvening].badge)
	other.taps(".same button.first")
	other.scans(wanted.text)
	other.sees("may-go")
	m.putsSome(1)
	m.puts(wanted)
	m.leaves()
	if got := other.Text(".plate"); other.verdict() == "may-go" || !strings.Contains(got, comers[1]) {
		m.t.Errorf("%s has gone with %s, and the second station says %q", wanted.ident, comers[1], got)
	}
	other.taps(`form[action="/counter/next"] button`)
}

// heap takes in forty slings without their riggers: what was handed over this morning,
// and nine that were out since yesterday. Then each is looked at.
func (m *morning) heap() {
	m.t.Helper()
	var slings []hung
	for _, ident := range slices.Sorted(maps.Keys(m.hung)) {
		if s := made(m.st.SlingByIdent(m.t.Context(), ident))(m.t); s.Details.Sling.State == gate.StateOut {
			slings = append(slings, m.hung[ident])
		}
	}
	if len(slings) != 40 {
		m.t.Fatalf("the heap has %d slings", len(slings))
	}
	m.now.who, m.now.what, m.now.slings = "nobody", "a heap, at five scans a second", len(slings)
	m.taps(`form[action="/counter/next"] button`)
	m.taps(`main a[href="/heap"]`)
	taken := func(n int) {
		m.Waits(fmt.Sprintf(`document.querySelector("[data-taken]").textContent === "%d" && document.querySelector("[data-waiting]").hidden`, n))
	}
	scans := func(slings []hung, n int) {
		var keys []webtest.Key
		for _, h := range slings {
			keys = append(keys, webtest.Scanned(h.text)...)
		}
		begun := time.Now()
		m.Press(200*time.Millisecond*time.Duration(len(slings))/time.Duration(len(keys)), keys...)
		pressed := time.Now()
		taken(n)
		m.now.scans += len(slings)
		took := time.Since(pressed)
		m.now.waited, m.now.longestWait = m.now.waited+took, max(m.now.longestWait, took)
		m.t.Logf("a heap: %.1f scans a second by this machine's clock; the last was answered %v after its last key", float64(len(slings))/pressed.Sub(begun).Seconds(), took.Round(time.Millisecond))
	}
	scans(slings[:23], 23)
	m.looks(m.Page, "heap", atDesk.X, atDesk.Y)
	scans(slings[23:], 40)
	m.ends()

	m.now.who, m.now.what, m.now.slings = "nobody", "the heap, looked at one by one", len(slings)
	m.taps(`.tally a.first`)
	today := made(m.st.Clock(m.t.Context()))(m.t).Today()
	for i, h := range slings {
		sling := made(m.st.SlingByIdent(m.t.Context(), h.ident))(m.t)
		m.looked += len(returncheck.Choose(returncheck.FactsOf(sling, today)).Looks)
		m.scans(h.text)
		if i > 0 {
			m.allWell("main")
			continue
		}
		for n, word := range m.Asked("main") {
			m.now.taps++
			m.Looks("main", word, map[bool]string{true: "wrong", false: "ok"}[n == 0])
		}
		m.taps(`main form button.first`)
	}
	m.ends()
}

// asked: who comes again is asked what happened to what came back without them.
func (m *morning) asked() {
	m.t.Helper()
	m.now.who, m.now.what, m.now.slings = comers[0], "asked about the heap", 3
	m.taps(`main a[href="/counter"]`)
	m.scans(m.people[comers[0]].badge)
	if got, want := m.Text(".owing .lead"), "“You brought back 3 slings today. What happened out there, with any of them?”"; got != want {
		m.t.Errorf("%s is asked %q: %s", comers[0], got, m.Text("main"))
	}
	m.allWell(".owing")
	m.ends()
}

// counted: part of the rack is counted on the phone.
func (m *morning) counted() {
	m.t.Helper()
	m.told()
	at := m.phone
	at.now = tally{who: attendantThere, what: "a rack place counted on a phone"}
	at.Go(m.home + "/count")
	at.taps(`button[name="all"]`)
	for i, ident := range []string{"QB-0200", "QB-0201"} {
		at.now.scans++
		at.now.slings++
		at.Press(webtest.ByScanner, webtest.Scanned(m.hung[ident].text)...)
		at.Waits(fmt.Sprintf(`document.querySelector("[data-count-now]")?.textContent.replace(/\s+/g, " ").includes("%d of ")`, i+1))
	}
	m.looks(at.Page, "count", onPhone.X, onPhone.Y)
	m.turns = append(m.turns, at.done())
	m.others[0].holds(m.head())
}

// evening holds the register against what was done.
func (m *morning) evening() {
	t, ctx := m.t, m.t.Context()
	t.Helper()
	events := made(m.st.Since(ctx, m.begun, 1000))(t)
	m.tapped()
	kinds := kindsOf(events)
	want := map[event.Kind]int{event.KindIssued: 31, event.KindRefused: 4, event.KindTakenIn: 40, event.KindChecked: 40, event.KindTold: 3, event.KindCountBegun: 1, event.KindSeen: 2}
	if !maps.Equal(kinds, want) {
		t.Errorf("the register has %v, want %v", kinds, want)
	}
	var codes []string
	for _, e := range events {
		if r, ok := e.Body.(event.Refused); ok {
			codes = append(codes, r.Reasons[0])
		}
	}
	if want := []string{gate.Overdue.String(), gate.UnderRated.String(), gate.Held.String(), gate.TagReplaced.String()}; !slices.Equal(codes, want) {
		t.Errorf("refused for %v, want %v", codes, want)
	}
	counts := made(m.st.Count(ctx))(t)
	if counts[gate.StateOut] != 0 || counts[gate.StateUnchecked] != 0 || counts[gate.StateLost] != 0 || counts[gate.StateHeld] != 2 || counts[gate.StateIn] != len(m.hung)-2 {
		t.Errorf("in the evening: %v of %d slings", counts, len(m.hung))
	}
	for _, name := range append([]string{lastEvening}, comers...) {
		owing, _, err := m.st.List(ctx, store.Query{Owes: m.people[name].ID, Limit: 100})
		if err != nil {
			t.Fatal(err)
		}
		if asked := name == comers[0]; asked != (len(owing) == 0) {
			t.Errorf("%s is still to be asked about %d slings", name, len(owing))
		}
	}
	if report := made(m.st.Verify(ctx, nil))(t); !report.Whole() {
		t.Errorf("the register does not hold: %v", report.Breaks)
	}
}

// told says how soon the second station and the phone heard of each event.
func (m *morning) told() {
	m.t.Helper()
	events := made(m.st.Since(m.t.Context(), m.begun, 1000))(m.t)
	for _, w := range m.others {
		late := w.heard(events)
		if len(late) != len(events) {
			m.t.Fatalf("%s was told of %d of %d events", w.name, len(late), len(events))
		}
		p95 := late[len(late)*95/100]
		m.t.Logf("%s was told of each of %d events: after %v at the median, %v of 95 in 100, %v at the most", w.name, len(late), late[len(late)/2], p95, late[len(late)-1])
		if p95 > liveWithin {
			m.t.Errorf("%s hears of events only after %v", w.name, p95)
		}
	}
}

// tapped holds what each turn took against what it takes, so that no press more comes
// in unseen.
func (m *morning) tapped() {
	m.t.Helper()
	type counts struct{ slings, taps, scans, keys int }
	want := []counts{
		{3, 2, 4, 0}, {2, 2, 3, 0}, {4, 2, 5, 0}, {3, 3, 5, 0}, // same as yesterday; one of them fetches a sling instead
		{2, 10, 3, 4}, {2, 11, 4, 5}, {2, 11, 3, 4}, {2, 14, 3, 9}, // a lift is stated; one fetches, one on one hook, one under a beam
		{5, 2, 6, 0},                             // gear for a shift
		{2, 3, 4, 0}, {2, 3, 4, 0}, {2, 4, 3, 2}, // same as yesterday, and fetched; by name
		{40, 2, 40, 0}, {40, 2 + m.looked, 40, 0}, {3, 3, 1, 0}, {2, 1, 2, 0}, // a heap; its checks, a tap a question; its rigger asked two; a count
	}
	var got []counts
	for _, t := range m.turns {
		got = append(got, counts{t.slings, t.taps, t.scans, t.keys})
	}
	if !slices.Equal(got, want) {
		m.t.Errorf("slings, taps, scans and keys of each turn:\n%v, want\n%v", got, want)
	}
}
