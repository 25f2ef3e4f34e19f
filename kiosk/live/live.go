// Package live tells every open page when the register has moved on.
//
// It knows positions and nothing of slings: a page that learns of a newer
// position than the one it was made from says so and fetches itself again. Each
// connection has one slot; an announcement fills it or replaces what lies in it,
// so that the announcer never waits and a slow page never gets an old position
// after a newer one. A page learns that the line is down from the missing ping.
//
// One goroutine reads and one writes on each connection, both with deadlines
// (the way that gorilla/websocket asks for); the hub's lock is never held while
// anything is sent. [Hub.Close] ends every connection and waits for them, since
// an HTTP server forgets connections that were taken over.
package live

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// How long a connection may be silent, and how long a message may take
// (common practice, no source).
const (
	pingEvery  = 15 * time.Second
	pongWithin = 40 * time.Second
	sendWithin = 10 * time.Second
	maxMessage = 512 // bytes; a page sends nothing
	maxPages   = 256 // open at once, so that nobody can use up the machine's sockets
)

// ErrClosed reports a hub that has been closed, ErrFull one to which as many
// pages listen as may.
var (
	ErrClosed = errors.New("live: closed")
	ErrFull   = errors.New("live: too many pages listen")
)

// Hub knows the newest position and who listens. It is safe for many goroutines.
type Hub struct {
	upgrade websocket.Upgrader // its default takes same-origin pages only

	mu     sync.Mutex
	newest int64
	slots  map[chan int64]struct{}
	closed bool
	done   chan struct{}
	open   sync.WaitGroup
}

// NewHub returns a hub that starts at a position.
func NewHub(at int64) *Hub {
	return &Hub{newest: at, slots: map[chan int64]struct{}{}, done: make(chan struct{})}
}

// Announce tells every page that the register has reached a position. It never
// blocks; a position that is not newer is dropped.
func (h *Hub) Announce(at int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if at <= h.newest {
		return
	}
	h.newest = at
	for slot := range h.slots {
		fill(slot, at)
	}
}

func fill(slot chan int64, at int64) {
	select {
	case <-slot:
	default:
	}
	slot <- at // the slot is empty, and only a holder of the lock fills it
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

func (h *Hub) join() (slot chan int64, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch {
	case h.closed:
		return nil, ErrClosed
	case len(h.slots) >= maxPages:
		return nil, ErrFull
	}
	slot = make(chan int64, 1)
	slot <- h.newest
	h.slots[slot] = struct{}{}
	h.open.Add(1)
	return slot, nil
}

func (h *Hub) leave(slot chan int64) {
	h.mu.Lock()
	delete(h.slots, slot)
	h.mu.Unlock()
	h.open.Done()
}

// Serve takes over a request and sends positions, the newest one at once, until
// the page goes away or the hub closes. Each message is a decimal number. The
// error says why the request could not be taken over; it has been answered.
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
	go read(conn, gone)
	h.write(conn, slot, gone)
	conn.Close() // also ends read
	<-gone
	return nil
}

// read throws away what a page sends and notices when it is gone.
func read(conn *websocket.Conn, gone chan<- struct{}) {
	defer close(gone)
	conn.SetReadLimit(maxMessage)
	extend := func(string) error { return conn.SetReadDeadline(time.Now().Add(pongWithin)) }
	conn.SetPongHandler(extend)
	for err := extend(""); err == nil; {
		_, _, err = conn.ReadMessage()
	}
}

func (h *Hub) write(conn *websocket.Conn, slot <-chan int64, gone <-chan struct{}) {
	ping := time.NewTicker(pingEvery)
	defer ping.Stop()
	send := func(kind int, text []byte) error {
		if err := conn.SetWriteDeadline(time.Now().Add(sendWithin)); err != nil {
			return err
		}
		return conn.WriteMessage(kind, text)
	}
	for {
		var err error
		select {
		case at := <-slot:
			err = send(websocket.TextMessage, strconv.AppendInt(nil, at, 10))
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
