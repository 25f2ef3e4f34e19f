package live

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func serve(t *testing.T, h *Hub) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_ = h.Serve(w, r) // answered; the tests look at what the page sees
	}))
	t.Cleanup(s.Close)
	t.Cleanup(h.Close) // runs first: taken-over connections end before the server
	return "ws" + strings.TrimPrefix(s.URL, "http")
}

func dial(t *testing.T, url string) *websocket.Conn {
	t.Helper()
	conn, _, err := websocket.DefaultDialer.Dial(url, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	return conn
}

func position(t *testing.T, conn *websocket.Conn) int64 {
	t.Helper()
	_, text, err := conn.ReadMessage()
	if err != nil {
		t.Fatal(err)
	}
	at, err := strconv.ParseInt(string(text), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestAPageHearsTheNewestPositionAtOnceAndThenEachNewerOne(t *testing.T) {
	h := NewHub(41)
	conn := dial(t, serve(t, h))
	if at := position(t, conn); at != 41 {
		t.Errorf("first position %d, want 41", at)
	}
	h.Announce(42)
	if at := position(t, conn); at != 42 {
		t.Errorf("next position %d, want 42", at)
	}
	h.Announce(42)
	h.Announce(40)
	h.Announce(50)
	if at := position(t, conn); at != 50 {
		t.Errorf("after announcements that are not newer: %d, want 50", at)
	}
}

// TestASlowPageMissesPositionsButNeverGoesBack announces from many goroutines
// to a slot that nobody empties: no announcement waits, and what lies in the
// slot at the end is the newest.
func TestASlowPageMissesPositionsButNeverGoesBack(t *testing.T) {
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
	if at := <-slot; at != 100 {
		t.Errorf("slot holds %d, want 100", at)
	}
}

func TestCloseEndsEveryConnectionAndRefusesNewOnes(t *testing.T) {
	h := NewHub(1)
	url := serve(t, h)
	conn := dial(t, url)
	position(t, conn)
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
	position(t, conn)
	if err := conn.WriteMessage(websocket.TextMessage, make([]byte, maxMessage+1)); err != nil {
		t.Fatal(err)
	}
	if _, _, err := conn.ReadMessage(); err == nil {
		t.Error("the connection lives on")
	}
}
