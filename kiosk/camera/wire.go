package camera

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// How long a line may be silent, and how long a message may take (site policy, no
// source): a telephone that sleeps says nothing, and whoever waits for it at the
// counter should know before the next sling.
const (
	pingEvery  = 4 * time.Second
	silentFor  = 10 * time.Second
	sendWithin = 10 * time.Second
	mostOut    = 16 // messages that nobody has fetched yet
	maxWires   = 128
)

// ErrClosed reports cameras that have been closed, ErrFull as many lines as may be.
var (
	ErrClosed = errors.New("camera: closed")
	ErrFull   = errors.New("camera: too many lines")
)

// A wire is one connection to a page. One goroutine reads and one writes, both with
// deadlines.
type wire struct {
	conn *websocket.Conn
	out  chan any
	beat time.Duration
	over chan struct{} // closed by end
	once sync.Once
	last any // said before the line is closed
}

// connect takes a request over. The error says why not; it has been answered.
// disconnect must be called at the end.
func (c *Cameras) connect(w http.ResponseWriter, r *http.Request, most int64) (*wire, error) {
	if err := c.admit(); err != nil {
		http.Error(w, "not now", http.StatusServiceUnavailable)
		return nil, err
	}
	conn, err := c.upgrade.Upgrade(w, r, nil)
	if err != nil {
		c.disconnect()
		return nil, fmt.Errorf("camera: take over: %w", err)
	}
	conn.SetReadLimit(most)
	return &wire{conn: conn, out: make(chan any, mostOut), beat: c.beat, over: make(chan struct{})}, nil
}

func (c *Cameras) admit() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.closed:
		return ErrClosed
	case c.wires >= maxWires:
		return ErrFull
	}
	c.wires++
	c.open.Add(1)
	return nil
}

func (c *Cameras) disconnect() {
	c.mu.Lock()
	c.wires--
	c.mu.Unlock()
	c.open.Done()
}

// tell sends a message. It never waits: a page that does not fetch what it is told
// is let go.
func (w *wire) tell(message any) {
	select {
	case w.out <- message:
	default:
		w.end(nil)
	}
}

// end closes the line after a last message, nil for none.
func (w *wire) end(last any) {
	w.once.Do(func() {
		w.last = last
		close(w.over)
	})
}

// run reads and writes until either side ends; then nothing of the line is left.
// tick is called now and then by the writer; an answer that is not nil is the last
// message.
func (w *wire) run(done <-chan struct{}, hear func(kind int, r io.Reader) error, tick func() any) error {
	gone := make(chan struct{})
	var heard error
	go func() {
		defer close(gone)
		heard = w.listen(hear)
	}()
	w.speak(done, gone, tick)
	w.conn.Close() // also ends listen; what it could not say, nobody would hear
	<-gone
	if errors.Is(heard, ErrFrame) {
		return heard
	}
	return nil
}

func (w *wire) listen(hear func(kind int, r io.Reader) error) error {
	extend := func(string) error { return w.conn.SetReadDeadline(time.Now().Add(silentFor)) }
	w.conn.SetPongHandler(extend)
	for {
		if err := extend(""); err != nil {
			return err
		}
		kind, r, err := w.conn.NextReader()
		if err != nil {
			return err
		}
		if err := hear(kind, r); err != nil {
			return err
		}
	}
}

func (w *wire) speak(done, gone <-chan struct{}, tick func() any) {
	ping := time.NewTicker(w.beat)
	defer ping.Stop()
	for {
		var err error
		select {
		case message := <-w.out:
			err = w.send(message)
		case <-ping.C:
			if last := tick(); last != nil {
				w.end(last)
				continue
			}
			err = w.conn.WriteControl(websocket.PingMessage, nil, time.Now().Add(sendWithin))
		case <-gone:
			return
		case <-w.over:
			w.close(w.last)
			return
		case <-done:
			w.close(nil)
			return
		}
		if err != nil {
			return
		}
	}
}

func (w *wire) send(message any) error {
	text, err := json.Marshal(message)
	if err != nil {
		return fmt.Errorf("camera: write a message: %w", err)
	}
	if err := w.conn.SetWriteDeadline(time.Now().Add(sendWithin)); err != nil {
		return err
	}
	return w.conn.WriteMessage(websocket.TextMessage, text)
}

// close says a last message and good-bye. A page that does not hear it is gone.
func (w *wire) close(last any) {
	if last != nil && w.send(last) != nil {
		return
	}
	_ = w.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseNormalClosure, ""), time.Now().Add(sendWithin))
}

// A Check tells whether whoever a line belongs to may still have it.
type Check func(context.Context) (bool, error)

// lapsed asks a check within the time that a message may take. What cannot be found
// out counts as lapsed.
func (c *Cameras) lapsed(check Check) bool {
	if check == nil {
		return false
	}
	ctx, cancel := context.WithTimeout(context.Background(), sendWithin)
	defer cancel()
	ok, err := check(ctx)
	if err != nil {
		c.log.WarnContext(ctx, "a camera's line ends, since its sign-in cannot be looked up", "error", err)
	}
	return err != nil || !ok
}
