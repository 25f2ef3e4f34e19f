package live

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func serve(t testing.TB, h *Hub) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_ = h.Serve(w, r) // answered; the tests look at what the page sees
	}))
	t.Cleanup(s.Close)
	t.Cleanup(h.Close) // runs first: taken-over connections end before the server
	return "ws" + strings.TrimPrefix(s.URL, "http")
}

func dial(t testing.TB, url string) *websocket.Conn {
	t.Helper()
	conn, _, err := websocket.DefaultDialer.Dial(url, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	return conn
}

// hear is the next thing that a page is told.
func hear(conn *websocket.Conn) (Stand, error) {
	_, text, err := conn.ReadMessage()
	if err != nil {
		return Stand{}, err
	}
	var m message
	if err := json.Unmarshal(text, &m); err != nil {
		return Stand{}, err
	}
	if m.Beat != Beat.Milliseconds() {
		return Stand{}, errors.New("the page is told of another beat")
	}
	return m.Stand, nil
}

// position is the next position that a page hears that is not before.
func position(t testing.TB, conn *websocket.Conn, before int64) int64 {
	t.Helper()
	for {
		s, err := hear(conn)
		if err != nil {
			t.Fatal(err)
		}
		if s.At != before {
			return s.At
		}
	}
}

func TestAPageHearsTheNewestPositionAtOnceAndThenEachNewerOne(t *testing.T) {
	h := NewHub(41)
	conn := dial(t, serve(t, h))
	if at := position(t, conn, 0); at != 41 {
		t.Errorf("first position %d, want 41", at)
	}
	h.Announce(42)
	if at := position(t, conn, 41); at != 42 {
		t.Errorf("next position %d, want 42", at)
	}
	h.Announce(42)
	h.Announce(40)
	h.Announce(50)
	if at := position(t, conn, 42); at != 50 {
		t.Errorf("after announcements that are not newer: %d, want 50", at)
	}
}

// A page hears of everything that it is made from, and of each start of the program.
func TestAPageHearsOfTheHouse(t *testing.T) {
	h := NewHub(41)
	conn := dial(t, serve(t, h))
	first, err := hear(conn)
	if err != nil || first.House != (House{}) || first.Run == "" {
		t.Fatalf("first: %+v, %v", first, err)
	}
	for _, want := range []House{
		{Register: "a", Program: "v1", Day: "2026-03-02", Says: "x"},
		{Register: "b", Program: "v1", Day: "2026-03-02", Says: "x"},
		{Register: "b", Program: "v2", Day: "2026-03-02", Says: "x"},
		{Register: "b", Program: "v2", Day: "2026-03-03", Says: "x"},
		{Register: "b", Program: "v2", Day: "2026-03-03", Says: ""},
		{},
	} {
		h.Stands(want)
		got, err := hear(conn)
		if err != nil || got.House != want || got.Run != first.Run || got.At != 41 {
			t.Errorf("%+v: %+v, %v", want, got, err)
		}
	}
	if other := NewHub(41).Now().Run; other == first.Run {
		t.Errorf("two starts are the same one: %q", other)
	}
}

// A page that asks is told, though nothing has changed.
func TestAPageThatAsksIsTold(t *testing.T) {
	h := NewHub(41)
	conn := dial(t, serve(t, h))
	for range 3 {
		if s, err := hear(conn); err != nil || s.At != 41 {
			t.Fatal(s, err)
		}
		if err := conn.WriteMessage(websocket.TextMessage, []byte("?")); err != nil {
			t.Fatal(err)
		}
	}
}

// TestNobodyWaitsForASlowPage announces from many goroutines to a slot that nobody
// empties: no announcement waits, one wake-up lies in the slot at the end, and what
// is told then is the newest.
func TestNobodyWaitsForASlowPage(t *testing.T) {
	h := NewHub(0)
	slot, err := h.join()
	if err != nil {
		t.Fatal(err)
	}
	defer h.leave(slot)
	var all sync.WaitGroup
	for i := range 100 {
		all.Go(func() { h.Announce(int64(i + 1)) })
	}
	all.Wait()
	if n, at := len(slot), h.Now().At; n != 1 || at != 100 {
		t.Errorf("%d wake-ups, position %d, want 1 and 100", n, at)
	}
}

func TestCloseEndsEveryConnectionAndRefusesNewOnes(t *testing.T) {
	h := NewHub(1)
	url := serve(t, h)
	conn := dial(t, url)
	position(t, conn, 0)
	h.Close()
	if _, _, err := conn.ReadMessage(); !websocket.IsCloseError(err, websocket.CloseGoingAway) {
		t.Errorf("the page reads %v, want a close", err)
	}
	if n := h.Listeners(); n != 0 {
		t.Errorf("%d listeners after Close", n)
	}
	if _, resp, err := websocket.DefaultDialer.Dial(url, nil); err == nil || resp.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("a new page after Close: %v", err)
	}
}

func TestOnlySoManyPagesListen(t *testing.T) {
	h := NewHub(1)
	for i := range maxPages {
		slot, err := h.join()
		if err != nil {
			t.Fatalf("page %d: %v", i, err)
		}
		defer h.leave(slot)
	}
	if _, err := h.join(); !errors.Is(err, ErrFull) {
		t.Errorf("one page more: %v", err)
	}
}

func TestAPageOfAnotherOriginIsRefused(t *testing.T) {
	url := serve(t, NewHub(1))
	_, resp, err := websocket.DefaultDialer.Dial(url, http.Header{"Origin": {"https://elsewhere.example"}})
	if err == nil || resp.StatusCode != http.StatusForbidden {
		t.Errorf("answer %v, want 403", err)
	}
}

func TestAMessageOverTheLimitEndsTheConnection(t *testing.T) {
	conn := dial(t, serve(t, NewHub(1)))
	position(t, conn, 0)
	if err := conn.WriteMessage(websocket.TextMessage, make([]byte, maxMessage+1)); err != nil {
		t.Fatal(err)
	}
	for {
		if _, _, err := conn.ReadMessage(); err != nil {
			return // the connection ends; a test that waits for ever fails
		}
	}
}
