// Package live tells every open page how the register stands.
//
// It knows positions and what the house says of itself, and nothing of slings: a
// page that hears of something else than it was made from says so, and fetches
// itself again. Whatever happens, a page is told how things stand now: when they
// change, when it asks, and once every [Beat]; so a page knows that the line is
// down from silence, and needs no account of what it has missed.
//
// Each connection has one slot for a wake-up; the announcer fills it and never
// waits, and what is sent is read when it is sent, so that a slow page never hears
// an older position after a newer one. One goroutine reads and one writes on each
// connection, both with deadlines (the way that gorilla/websocket asks for); the
// hub's lock is never held while anything is sent. [Hub.Close] ends every
// connection and waits for them, since an HTTP server forgets connections that were
// taken over.
package live

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// Beat is how often a page hears how things stand, if nothing changes (site policy,
// no source). It is told of it, and takes two and a half of them in silence for a
// line that is down.
const Beat = 2 * time.Second

// How long a connection may be silent, and how long a message may take
// (common practice, no source).
const (
	pingEvery  = 15 * time.Second
	pongWithin = 40 * time.Second
	sendWithin = 10 * time.Second
	maxMessage = 512 // bytes; a page says nothing but that it asks
	maxPages   = 256 // open at once, so that nobody can use up the machine's sockets
)

// ErrClosed reports a hub that has been closed, ErrFull one to which as many
// pages listen as may.
var (
	ErrClosed = errors.New("live: closed")
	ErrFull   = errors.New("live: too many pages listen")
)

// House is what a page is made from besides the events of the register. Nothing
// here is read; each text is another when what it stands for is another.
type House struct {
	Register string `json:"register"` // which it is: another one after it was brought back from a copy
	Program  string `json:"program"`  // and its files
	Day      string `json:"day"`      // in the crib
	Says     string `json:"house"`    // what every page says that no event makes it say
}

// Stand is how things stand, as a page is told.
type Stand struct {
	At int64 `json:"at"` // the newest position of the register
	House
	Run string `json:"run"` // of the program: another one after it was started anew
}

// message is what a page hears.
type message struct {
	Stand
	Beat int64 `json:"beat"` // milliseconds
}

// Hub knows how things stand and who listens. It is safe for many goroutines.
type Hub struct {
	upgrade websocket.Upgrader // its default takes same-origin pages only

	mu     sync.Mutex
	now    Stand
	slots  map[chan struct{}]struct{}
	closed bool
	done   chan struct{}
	open   sync.WaitGroup
}

// NewHub returns a hub that starts at a position, and in a house that says nothing
// yet.
func NewHub(at int64) *Hub {
	return &Hub{now: Stand{At: at, Run: rand.Text()}, slots: map[chan struct{}]struct{}{}, done: make(chan struct{})}
}

// Announce tells every page that the register has reached a position. It never
// blocks; a position that is not newer is dropped.
func (h *Hub) Announce(at int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if at <= h.now.At {
		return
	}
	h.now.At = at
	h.wake()
}

// Stands tells every page how the house stands, where that is new. It never blocks.
func (h *Hub) Stands(house House) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if house == h.now.House {
		return
	}
	h.now.House = house
	h.wake()
}

// Now is how things stand.
func (h *Hub) Now() Stand {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.now
}

// wake wants the lock.
func (h *Hub) wake() {
	for slot := range h.slots {
		fill(slot)
	}
}

// fill wakes whoever waits at a slot; one that is awake looks afterwards.
func fill(slot chan<- struct{}) {
	select {
	case slot <- struct{}{}:
	default:
	}
}

// Listeners is how many pages listen now.
func (h *Hub) Listeners() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.slots)
}

// Close ends every connection and waits until they are gone.
func (h *Hub) Close() {
	h.mu.Lock()
	if !h.closed {
		h.closed = true
		close(h.done)
	}
	h.mu.Unlock()
	h.open.Wait()
}

// join gives a slot that is filled, since the first thing a page wants is to know.
func (h *Hub) join() (slot chan struct{}, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch {
	case h.closed:
		return nil, ErrClosed
	case len(h.slots) >= maxPages:
		return nil, ErrFull
	}
	slot = make(chan struct{}, 1)
	fill(slot)
	h.slots[slot] = struct{}{}
	h.open.Add(1)
	return slot, nil
}

func (h *Hub) leave(slot chan struct{}) {
	h.mu.Lock()
	delete(h.slots, slot)
	h.mu.Unlock()
	h.open.Done()
}

// Serve takes over a request and says how things stand, at once and then as the
// package comment tells, until the page goes away or the hub closes. Each message
// is a JSON object; whatever a page sends asks for one. The error says why the
// request could not be taken over; it has been answered.
func (h *Hub) Serve(w http.ResponseWriter, r *http.Request) error {
	slot, err := h.join()
	if err != nil {
		http.Error(w, "not now", http.StatusServiceUnavailable)
		return err
	}
	defer h.leave(slot)
	conn, err := h.upgrade.Upgrade(w, r, nil)
	if err != nil {
		return fmt.Errorf("live: take over: %w", err)
	}
	gone := make(chan struct{})
	go read(conn, slot, gone)
	h.write(conn, slot, gone)
	conn.Close() // also ends read
	<-gone
	return nil
}

// read takes whatever a page sends for a question, and notices when it is gone.
func read(conn *websocket.Conn, slot chan<- struct{}, gone chan<- struct{}) {
	defer close(gone)
	conn.SetReadLimit(maxMessage)
	extend := func(string) error { return conn.SetReadDeadline(time.Now().Add(pongWithin)) }
	conn.SetPongHandler(extend)
	for err := extend(""); err == nil; {
		if _, _, err = conn.ReadMessage(); err == nil {
			fill(slot)
		}
	}
}

func (h *Hub) write(conn *websocket.Conn, slot <-chan struct{}, gone <-chan struct{}) {
	ping, beat := time.NewTicker(pingEvery), time.NewTicker(Beat)
	defer ping.Stop()
	defer beat.Stop()
	send := func(kind int, text []byte) error {
		if err := conn.SetWriteDeadline(time.Now().Add(sendWithin)); err != nil {
			return err
		}
		return conn.WriteMessage(kind, text)
	}
	tell := func() error {
		text, err := json.Marshal(message{Stand: h.Now(), Beat: Beat.Milliseconds()})
		if err != nil {
			return err
		}
		return send(websocket.TextMessage, text)
	}
	for {
		var err error
		select {
		case <-slot:
			err = tell()
		case <-beat.C:
			err = tell()
		case <-ping.C:
			err = send(websocket.PingMessage, nil)
		case <-gone:
			return
		case <-h.done:
			// A page that does not hear this is gone anyway.
			_ = send(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseGoingAway, ""))
			return
		}
		if err != nil {
			return
		}
	}
}
