package live

import (
	"context"
	"net"
	"net/http"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gorilla/websocket"
)

// pipes is a listener without a network, so that the time of a test can be made up:
// what waits at a pipe waits for nothing outside of the test.
type pipes struct {
	dialled chan net.Conn
	closed  chan struct{}
}

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.dialled:
		return c, nil
	case <-p.closed:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error   { close(p.closed); return nil }
func (p *pipes) Addr() net.Addr { return &net.UnixAddr{Name: "pipes"} }

func (p *pipes) dial(context.Context, string, string) (net.Conn, error) {
	ours, theirs := net.Pipe()
	p.dialled <- theirs
	return ours, nil
}

// aside serves a hub in made-up time and gives a page of it, and what waits until
// its line has ended on the side of the hub.
func aside(t *testing.T, h *Hub) (page *websocket.Conn, ended <-chan time.Time) {
	t.Helper()
	lines, over := &pipes{dialled: make(chan net.Conn), closed: make(chan struct{})}, make(chan time.Time, 1)
	server := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := h.Serve(w, r); err != nil {
			t.Error(err)
		}
		over <- time.Now()
	})}
	served := make(chan error)
	go func() { served <- server.Serve(lines) }()
	dialer := websocket.Dialer{NetDialContext: lines.dial}
	page, _, err := dialer.Dial("ws://hub/", nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		page.Close()
		h.Close()
		server.Close()
		<-served
	})
	return page, over
}

// A page is told how things stand once a beat, though nothing happens, for hours.
func TestAPageHearsTheBeat(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		page, _ := aside(t, NewHub(7))
		begun := time.Now()
		for n := range 3 * 3600 / int(Beat.Seconds()) {
			s, err := hear(page)
			if err != nil || s.At != 7 {
				t.Fatalf("beat %d: %+v, %v", n, s, err)
			}
			if came := time.Since(begun); came != time.Duration(n)*Beat {
				t.Fatalf("beat %d came after %s", n, came)
			}
		}
	})
}

// A page that answers nothing any more is given up: one that hears everything and
// says nothing when its time for it is over, one that takes nothing when what it is
// sent has waited long enough.
func TestAPageThatIsGoneIsGivenUp(t *testing.T) {
	for name, row := range map[string]struct {
		listens bool
		within  time.Duration
	}{
		"says nothing":  {true, pongWithin},
		"takes nothing": {false, Beat + sendWithin},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := NewHub(7)
				page, ended := aside(t, h)
				if _, err := hear(page); err != nil {
					t.Fatal(err)
				}
				page.SetPingHandler(func(string) error { return nil })
				begun := time.Now()
				if row.listens {
					go func() {
						for {
							if _, err := hear(page); err != nil {
								return
							}
						}
					}()
				}
				if took := (<-ended).Sub(begun); took != row.within {
					t.Errorf("given up after %s, want %s", took, row.within)
				}
				if n := h.Listeners(); n != 0 {
					t.Errorf("%d pages listen", n)
				}
			})
		})
	}
}

// A page that answers the pings is kept, however long nothing happens.
func TestAPageThatAnswersIsKept(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := NewHub(7)
		page, _ := aside(t, h)
		for begun := time.Now(); time.Since(begun) < 24*time.Hour; {
			if _, err := hear(page); err != nil {
				t.Fatalf("after %s: %v", time.Since(begun), err)
			}
		}
		if n := h.Listeners(); n != 1 {
			t.Errorf("%d pages listen", n)
		}
	})
}
