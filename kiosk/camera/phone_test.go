package camera

import (
	"errors"
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"cribgate/kiosk/web/webtest"
)

// offers gives a code for a station.
func (k *crib) offers(station string) string {
	k.t.Helper()
	o, err := k.c.Offer(k.station(station))
	if err != nil {
		k.t.Fatal(err)
	}
	return o.Code
}

// pairs gives the token of a phone that is paired to a station.
func (k *crib) pairs(station string) string {
	k.t.Helper()
	token, _, err := k.c.Pair(k.offers(station))
	if err != nil {
		k.t.Fatal(err)
	}
	return token
}

func (k *crib) isPaired(token string, want bool) {
	k.t.Helper()
	if _, got := k.c.Paired(token); got != want {
		k.t.Errorf("paired: %v, want %v", got, want)
	}
}

// TestACodeIsGoodOnceAndForFiveMinutes, however it is typed.
func TestACodeIsGoodOnceAndForFiveMinutes(t *testing.T) {
	k := newCrib(t)
	for name, row := range map[string]struct {
		typed func(code string) string
		good  bool
	}{
		"as shown":            {func(c string) string { return c }, true},
		"small, with spaces":  {func(c string) string { return " " + strings.ToLower(strings.ReplaceAll(c, "-", " ")) }, true},
		"figures for letters": {strings.NewReplacer("O", "0", "I", "1", "B", "8").Replace, true},
		"nothing":             {func(string) string { return "" }, false},
		"cut short":           {func(c string) string { return c[:8] }, false},
		"another one":         {func(string) string { return "AAAA-AAAA" }, false},
		"five minutes, less a second": {func(c string) string {
			k.at.Add(299)
			return c
		}, true},
		"five minutes": {func(c string) string {
			k.at.Add(300)
			return c
		}, false},
		"the one before the newest": {func(c string) string {
			k.offers("a")
			return c
		}, false},
		"the station is signed out": {func(c string) string {
			k.c.SignedOut("a")
			return c
		}, false},
	} {
		code := k.offers("a")
		token, _, err := k.c.Pair(row.typed(code))
		if (err == nil) != row.good || err != nil && !errors.Is(err, ErrNoOffer) || (token != "") != row.good {
			t.Errorf("%s: %q, %v", name, token, err)
		}
		if row.good {
			k.isPaired(token, true)
			if _, _, err := k.c.Pair(code); !errors.Is(err, ErrNoOffer) {
				t.Errorf("%s: a second time: %v", name, err)
			}
		}
	}
	k.isPaired("", false)
	code := k.offers("a")
	k.in.Store(false)
	if _, _, err := k.c.Pair(code); !errors.Is(err, ErrNoOffer) {
		t.Errorf("the station's session is over: %v", err)
	}
}

func TestOnlySoManyCodes(t *testing.T) {
	k := newCrib(t)
	for i := range mostOffers {
		k.offers(strings.Repeat("x", i+1))
	}
	if _, err := k.c.Offer(k.station("one more")); !errors.Is(err, ErrFull) {
		t.Errorf("one more: %v", err)
	}
	k.offers("x") // in place of its own
	k.at.Add(300)
	k.offers("one more")
}

// TestAPairingEnds from either side, with the session, with the time, and when
// another phone comes; the phone's line is told why.
func TestAPairingEnds(t *testing.T) {
	for why, end := range map[string]func(k *crib, token string){
		endedByStation: func(k *crib, _ string) { k.c.LetGo("a") },
		endedByPhone:   func(k *crib, token string) { k.c.Leave(token) },
		endedSignedOut: func(k *crib, _ string) { k.c.SignedOut("a") },
		endedReplaced:  func(k *crib, _ string) { k.pairs("a") },
		endedTime:      func(k *crib, _ string) { k.at.Add(12 * 3600) },
	} {
		k := newCrib(t)
		token := k.pairs("a")
		station, phone := k.dial("/station/a"), k.dial("/phone/"+token)
		station.hears("the phone", func(n note) bool { return n.Phone != nil && n.Phone.Up })
		end(k, token)
		if got := phone.ends(); got != why {
			t.Errorf("%s: the phone hears %q", why, got)
		}
		if why != endedReplaced {
			station.hears("the end", func(n note) bool { return n.Phone != nil && !n.Phone.Paired && n.Phone.Words == why })
		}
		k.isPaired(token, false)
		if got := k.dial("/phone/" + token).ends(); !strings.Contains(got, "not paired") {
			t.Errorf("%s: a new line hears %q", why, got)
		}
	}
	k := newCrib(t)
	phone := k.dial("/phone/" + k.pairs("a"))
	k.in.Store(false) // the session lapses, and no page of the station is open
	if got := phone.ends(); got != endedSignedOut {
		t.Errorf("the session lapsed: %q", got)
	}
}

// TestAScanGoesToThePageSomebodyLooksAt: to that one only, and the phone hears that
// it has it. A line of the phone that drops is told to the station.
func TestAScanGoesToThePageSomebodyLooksAt(t *testing.T) {
	k := newCrib(t)
	tag := webtest.Held(t, tagText, frameSize, 8)
	token := k.pairs("a")
	one, two, other := k.dial("/station/a"), k.dial("/station/a"), k.dial("/station/b")
	for _, l := range []line{one, two, other} {
		l.hears("how its phone is", func(n note) bool { return n.Phone != nil })
	}
	one.sends(websocket.TextMessage, []byte("here"))
	phone := k.dial("/phone/" + token)
	one.hears("the phone", func(n note) bool { return n.Phone != nil && n.Phone.Up })
	phone.sends(websocket.BinaryMessage, sent(Grey, 640, 480, tag.Pix))
	n := one.hears("a scan", func(n note) bool { return n.Scan != "" })
	if n.Scan != tagText || n.Number == 0 {
		t.Fatalf("the page hears %+v", n)
	}
	one.sends(websocket.TextMessage, []byte("took 1"))
	if n := phone.hears("what became of it", func(n note) bool { return n.Sent != "" || n.Scan != "" }); n.Sent != "1 sent to counter-1" || n.Scan != "" {
		t.Errorf("the phone hears %+v", n)
	}
	phone.conn.Close()
	for _, l := range []line{one, two} {
		l.hears("that the phone is away", func(n note) bool {
			if n.Scan != "" {
				t.Error("a second page has the scan as well")
			}
			return n.Phone != nil && n.Phone.Paired && !n.Phone.Up
		})
	}
	k.isPaired(token, true)
	k.dial("/phone/" + token)
	two.hears("that it is back", func(n note) bool { return n.Phone != nil && n.Phone.Up })
	k.c.LetGo("b")
	k.isPaired(token, true)
}

// TestWhatNobodyTakesIsShownAgain: no page is open, or the page does not say that it
// has the scan, or it closes before it does.
func TestWhatNobodyTakesIsShownAgain(t *testing.T) {
	k := newCrib(t)
	k.c.patient = 0
	tag := webtest.Held(t, tagText, frameSize, 8)
	phone := k.dial("/phone/" + k.pairs("a"))
	lost := func(what string) {
		t.Helper()
		phone.sends(websocket.BinaryMessage, sent(Grey, 640, 480, tag.Pix))
		if n := phone.hears(what, func(n note) bool { return n.Sent != "" }); n.Sent != "Not taken at counter-1" {
			t.Errorf("%s: %+v", what, n)
		}
	}
	if n := phone.hears("that no page is open", func(n note) bool { return n.Station != nil }); n.Station.Open {
		t.Errorf("no page is open, and the phone hears %+v", n)
	}
	lost("no page is open")
	station := k.dial("/station/a")
	phone.hears("that a page is open", func(n note) bool { return n.Station != nil && n.Station.Open })
	lost("the page is silent")
	station.hears("a scan", func(n note) bool { return n.Scan != "" })

	k = newCrib(t)
	phone, station = k.dial("/phone/"+k.pairs("a")), k.dial("/station/a")
	phone.hears("that a page is open", func(n note) bool { return n.Station != nil && n.Station.Open })
	phone.sends(websocket.BinaryMessage, sent(Grey, 640, 480, tag.Pix))
	station.hears("a scan", func(n note) bool { return n.Scan != "" })
	station.conn.Close()
	if n := phone.hears("the page closed", func(n note) bool { return n.Sent != "" }); n.Sent != "Not taken at counter-1" {
		t.Errorf("the page closed: %+v", n)
	}
}

// TestAStationThatTalks in other words is hung up on.
func TestAStationThatTalks(t *testing.T) {
	k := newCrib(t)
	for _, words := range []string{"", "hello", "took", "took x", "took 1 2", strings.Repeat("x", maxHeard+1)} {
		l := k.dial("/station/a")
		l.sends(websocket.TextMessage, []byte(words))
		l.ends()
		<-k.errs
	}
}
