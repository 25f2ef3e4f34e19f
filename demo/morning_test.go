package main

import (
	"flag"
	"image"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/command"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/web/webtest"
	"cribgate/store"
)

var morningFile = flag.String("morning", "", "file that the table of TestMorning is written to")

// A morning is played out at one counter by what a person does there: badges and tags
// are scanned, buttons pressed, numbers typed.
type morning struct {
	t *testing.T
	*yard
	*hand
	home    string
	st      *store.Store
	free    []hung // two-leg slings of 3/8 in that hang in the rack
	gone    map[event.SlingID]bool
	station *hand // the second one
	phone   *hand
	others  []*watcher // what looks on at both
	turns   []tally
	begun   int64 // events before
	looked  int   // questions about the slings of the heap
}

// TestMorning plays a morning: twelve riggers take 31 slings, five times something is
// refused, and at the end of the shift a heap of forty comes back without them. A
// second station and a phone are open all the while.
func TestMorning(t *testing.T) {
	m := opensAtSeven(t)
	m.riggers()
	m.heap()
	m.asked()
	m.counted()
	m.evening()
	text := table(m.turns)
	t.Logf("\n%s", text)
	if *morningFile != "" {
		if err := os.WriteFile(*morningFile, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// Who comes, in that order.
var comers = []string{
	"Ruth Ironmallow", "Cole Brackenshaw", "Dagny Fairlead", "Ezra Quickwater", "Fern Hollowell", "Gideon Plumbridge",
	"Hattie Lanternby", "Igor Pebblecombe", "Juno Marlspike", "Kit Overwater", "Leda Stonecrop", "Milo Turnbuckley",
}

const (
	attendantHere, attendantThere, inspector, lastEvening = "Marla Tidewater", "Bram Thistlewick", "Lionel Wickerby", "Nell Ashgarth"
	overdueOne, heldOne, replacedOne                      = "QB-0401", "QB-0402", "QB-0403"
)

// opensAtSeven lays out the yard, starts the kiosk, and opens three pages.
func opensAtSeven(t *testing.T) *morning {
	t.Helper()
	b := webtest.Start(t) // first, since it may skip
	m := &morning{t: t, yard: newYard(t), gone: map[event.SlingID]bool{}}
	m.lays(func(k *command.Kiosk) {
		m.joins(k, attendantHere, event.Attendant, event.Terms{}, "592714")
		m.joins(k, attendantThere, event.Attendant, event.Terms{}, "613859")
		m.joins(k, inspector, event.Inspector, event.Terms{}, "")
		m.joins(k, lastEvening, event.Rigger, event.Terms{}, "")
		for _, name := range comers {
			m.joins(k, name, event.Rigger, event.Terms{ShiftGear: name == "Juno Marlspike"}, "")
		}
		for n := range 32 {
			m.free = append(m.free, m.hangs(k, 101+n, threeEighths, 40))
		}
		for n := range 2 {
			m.hangs(k, 200+n, half, 40)
			m.hangs(k, 300+n, single, 40)
		}
		for i, name := range []string{"Ruth Ironmallow", "Cole Brackenshaw", "Dagny Fairlead", "Ezra Quickwater", "Kit Overwater", "Leda Stonecrop", "Milo Turnbuckley"} {
			m.lends(k, name, true, m.free[i])
		}
		var kept []hung
		for n := range 9 {
			kept = append(kept, m.hangs(k, 501+n, threeEighths, 40))
		}
		m.lends(k, lastEvening, false, kept...)
		m.hangs(k, 401, threeEighths, 400)
		held := m.hangs(k, 402, threeEighths, 40)
		seen := counter.Seen{Sling: held.id, Heads: made(k.Store.Sling(t.Context(), held.id))(t).Heads}
		made(k.Counter.Hold(t.Context(), m.yard.keeper, seen, "a link looks bent"))(t)
		replaced := m.hangs(k, 403, threeEighths, 40)
		m.tagged(k, replaced.id) // what is scanned is the one before
		m.begun = made(k.Store.Head(t.Context()))(t).At
	})
	register, _, _ := store.Paths(m.dir)
	m.home = serves(t, "kiosk", "serve", "--register", m.dir, "--listen", "127.0.0.1:0").home
	m.st = made(store.Open(t.Context(), register, store.Options{Program: "test"}))(t)
	t.Cleanup(func() {
		if err := m.st.Close(); err != nil {
			t.Error(err)
		}
	})
	m.hand = m.at(b, attendantHere, "592714", "/counter")
	m.station = m.at(b, attendantThere, "613859", "/counter")
	m.phone = m.at(b, attendantThere, "613859", "/outside?by=rigger")
	m.phone.Size(onPhone.X, onPhone.Y)
	m.others = []*watcher{{t, "the second station", m.station.Page}, {t, "the phone", m.phone.Page}}
	for _, w := range m.others {
		w.listens()
	}
	return m
}

// at is a browser of its own in which somebody has signed in.
func (m *morning) at(b *webtest.Browser, name, pin, path string) *hand {
	m.t.Helper()
	h := &hand{t: m.t, Page: b.Page(m.t)}
	h.Go(m.home + "/sign-in")
	h.Type("#f-name", name)
	h.Type("#f-pin", pin)
	h.Follow("main button.first")
	h.Go(m.home + path)
	h.Waits(`document.body.hasAttribute("data-followed")`)
	return h
}

func (m *morning) head() int64 {
	m.t.Helper()
	return made(m.st.Head(m.t.Context()))(m.t).At
}

// takes is the next sling that hangs in the rack.
func (m *morning) takes() hung {
	m.t.Helper()
	if len(m.free) == 0 {
		m.t.Fatal("the rack is empty")
	}
	return m.free[0]
}

// comes begins a turn: a badge is scanned.
func (m *morning) comes(name, what string) {
	m.now.who, m.now.what = name, what
	m.scans(m.people[name].badge)
}

// puts scans slings that may go.
func (m *morning) puts(slings ...hung) {
	m.t.Helper()
	for _, h := range slings {
		m.hangsOn(h, "may-go")
	}
}

// share scans slings that share a lift: none may go before the last of them.
func (m *morning) share(slings ...hung) {
	m.t.Helper()
	for i, h := range slings {
		m.hangsOn(h, map[bool]string{true: "may-go", false: "look-closer"}[i == len(slings)-1])
	}
}

// hangsOn scans a sling that goes with the loan, and looks for what the page says of it.
func (m *morning) hangsOn(h hung, says string) {
	m.t.Helper()
	m.scans(h.text)
	m.sees(says)
	m.now.slings++
	m.gone[h.id] = true
	m.free = slices.DeleteFunc(m.free, func(f hung) bool { return f.id == h.id })
}

func (m *morning) putsSome(n int) {
	m.t.Helper()
	for range n {
		m.puts(m.takes())
	}
}

// stays scans something that is refused, and looks for the reason on the page.
func (m *morning) stays(text string, why gate.Reason) {
	m.t.Helper()
	m.scans(text)
	m.sees("stays-here")
	if m.Text(".must") == "" {
		m.t.Errorf("%s: nothing is said of what to do: %s", why, m.Text("main"))
	}
}

// walks takes what the refusal names instead, and scans it.
func (m *morning) walks() {
	m.t.Helper()
	ident := m.Text(".walk .which a")
	h, ok := m.hung[ident]
	if !ok {
		m.t.Fatalf("%s: the refusal names %q instead: %s", m.now.who, ident, m.Text("main"))
	}
	m.taps(`form[action="/counter/fetch"] button`)
	m.puts(h)
}

// leaves hands over what lies on the counter, and waits until the others show it.
func (m *morning) leaves() {
	m.t.Helper()
	m.taps(`form[action="/counter/issue"] button`)
	if got := m.Text("#verdict"); got != "Handed over" {
		m.t.Fatalf("%s: the page says %q: %s", m.now.who, got, m.Text("main"))
	}
	m.ends()
	for id := range m.gone {
		if ident := made(m.st.Sling(m.t.Context(), id))(m.t).Details.Ident; !strings.Contains(m.phone.Text("main"), ident) {
			m.t.Errorf("%s is out, and the phone does not list it", ident)
		}
	}
}

// ends ends a turn, and waits until the others show what came of it.
func (m *morning) ends() {
	m.t.Helper()
	m.turns = append(m.turns, m.done())
	at := m.head()
	for _, w := range m.others {
		w.holds(at)
	}
}

// looks takes the picture that the README shows, where -update-pictures asks for it. It
// says today's date, so that nothing is held against it.
func (m *morning) looks(p *webtest.Page, name string, width, height int) {
	m.t.Helper()
	webtest.Eval[bool](p, `(document.activeElement?.blur(), scrollTo(0, 0), true)`)
	p.Keeps("testdata/morning", name, width, height)
	p.Size(width, height)
}

// same is a tap for "same as yesterday".
func (m *morning) same() {
	m.t.Helper()
	if got := m.Text(".same .ask"); !strings.HasPrefix(got, "Same as yesterday") {
		m.t.Fatalf("%s: after the badge: %s", m.now.who, m.Text("main"))
	}
	m.taps(".same button.first")
}

// lift states one anew: pounds on so many legs, weighed, back tomorrow.
func (m *morning) lift(load string, legs int, more func()) {
	m.t.Helper()
	m.fills("load", load)
	m.answers("known", "weighed")
	tomorrow := made(m.st.Today(m.t.Context()))(m.t).AddDays(1)
	m.answers("back", tomorrow.String())
	m.answers("hitch", "straight")
	m.answers("legs", strconv.Itoa(legs))
	if more != nil {
		more()
	}
	if legs > 1 {
		m.answers("angle", "60")
		m.answers("centred", "yes")
	}
	m.answers("bears", "nothing")
	m.answers("special", "no")
	m.taps("main .lift-form .actions button.first")
}

var atDesk, onPhone = image.Pt(1280, 800), image.Pt(390, 844)

// slip looks at the slip of what was handed over last, which is nobody's turn.
func (m *morning) slip() {
	m.t.Helper()
	p := m.Page
	p.Go(m.home + webtest.Eval[string](p, `document.querySelector('main a[href^="/loan/"]').getAttribute("href")`))
	m.looks(p, "slip", onPhone.X, onPhone.Y)
	p.Size(atDesk.X, atDesk.Y)
	p.Go(m.home + "/counter")
}

// riggers come, one after the other.
func (m *morning) riggers() {
	m.t.Helper()
	const sameAgain, anew = "same as yesterday", "a new lift"
	m.comes(comers[0], sameAgain)
	m.looks(m.Page, "same", atDesk.X, atDesk.Y)
	m.same()
	m.putsSome(3)
	m.looks(m.Page, "loan", atDesk.X, atDesk.Y)
	m.leaves()
	m.slip()

	m.comes(comers[1], sameAgain)
	m.same()
	m.contest()

	m.comes(comers[2], sameAgain)
	m.same()
	m.putsSome(4)
	m.leaves()

	m.comes(comers[3], sameAgain+", one overdue")
	m.same()
	m.stays(m.hung[overdueOne].text, gate.Overdue)
	m.looks(m.Page, "walk", atDesk.X, atDesk.Y)
	m.walks()
	m.putsSome(2)
	m.leaves()

	m.comes(comers[4], anew)
	m.lift("8000", 2, nil)
	m.putsSome(2)
	m.leaves()

	m.comes(comers[5], anew+", one too light")
	m.lift("15000", 2, nil)
	m.stays(m.free[len(m.free)-1].text, gate.UnderRated)
	m.walks()
	for _, ident := range []string{"QB-0200", "QB-0201"} {
		if h := m.hung[ident]; !m.gone[h.id] {
			m.puts(h)
		}
	}
	m.leaves()

	m.comes(comers[6], "two singles on one hook")
	m.lift("9000", 2, func() { m.answers("together", "one-hook") })
	m.share(m.hung["QB-0300"], m.hung["QB-0301"])
	m.leaves()

	m.comes(comers[7], "two under a beam")
	m.lift("14000", 2, func() {
		m.answers("together", "beam")
		m.fills("slings", "2")
		m.fills("beam", "600")
		m.answers("parts", "equal")
	})
	m.share(m.free[0], m.free[1])
	m.leaves()

	m.comes(comers[8], "gear for a shift")
	m.taps(`form[action="/counter/shift"] button`)
	m.putsSome(5)
	m.leaves()

	for i, bad := range []struct {
		text, what string
		why        gate.Reason
	}{{m.hung[heldOne].text, "one held", gate.Held}, {m.hung[replacedOne].text, "one with an old tag", gate.TagReplaced}} {
		m.comes(comers[9+i], sameAgain+", "+bad.what)
		m.same()
		m.stays(bad.text, bad.why)
		m.walks()
		m.putsSome(1)
		m.leaves()
	}

	m.now.who, m.now.what = comers[11], sameAgain+", with another's badge"
	m.stays(m.people[inspector].badge, gate.RiggerNotCleared)
	if want := gate.RiggerNotCleared.Text(gate.Answer{}, gate.Speech{}).Next; !strings.Contains(m.Text(".must"), want) {
		m.t.Errorf("another's badge: the page says %q, not %q", m.Text(".must"), want)
	}
	m.taps(`a[href="/counter/rigger"]`)
	m.fills("find", "mt")
	m.taps(`button[value="` + m.people[comers[11]].ID.String() + `"]`)
	m.same()
	m.putsSome(2)
	m.leaves()
}
