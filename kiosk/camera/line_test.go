package camera

import (
	"context"
	"encoding/json"
	"errors"
	"image"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"cribgate/kiosk/web/webtest"
)

// A crib serves cameras to a test.
type crib struct {
	t    *testing.T
	c    *Cameras
	url  string
	errs chan error // how each line ended
	in   atomic.Bool
	at   atomic.Int64 // seconds since the test began
}

func newCrib(t *testing.T) *crib {
	k := &crib{t: t, errs: make(chan error, 100)}
	k.in.Store(true)
	began := time.Now()
	k.c = Open(Options{Workers: 1, Now: func() time.Time { return began.Add(time.Duration(k.at.Load()) * time.Second) }})
	k.c.beat = 5 * time.Millisecond
	mux := http.NewServeMux()
	mux.HandleFunc("/camera", func(w http.ResponseWriter, r *http.Request) { k.errs <- k.c.Serve(w, r, k.check) })
	mux.HandleFunc("/phone/{token}", func(w http.ResponseWriter, r *http.Request) { k.errs <- k.c.ServePhone(w, r, r.PathValue("token")) })
	mux.HandleFunc("/station/{id}", func(w http.ResponseWriter, r *http.Request) {
		k.errs <- k.c.ServeStation(w, r, k.station(r.PathValue("id")))
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	t.Cleanup(k.c.Close)
	k.url = "ws" + strings.TrimPrefix(server.URL, "http")
	return k
}

func (k *crib) check(context.Context) (bool, error) { return k.in.Load(), nil }

func (k *crib) station(id string) Station { return Station{ID: id, Name: "counter-1", Check: k.check} }

// lineWithin is how long a test waits for what never comes.
const lineWithin = 30 * time.Second

// A line is one page of a test.
type line struct {
	t    *testing.T
	conn *websocket.Conn
}

func (k *crib) dial(path string) line {
	k.t.Helper()
	conn, _, err := websocket.DefaultDialer.Dial(k.url+path, nil)
	if err != nil {
		k.t.Fatal(err)
	}
	k.t.Cleanup(func() { conn.Close() })
	if err := conn.SetReadDeadline(time.Now().Add(lineWithin)); err != nil {
		k.t.Fatal(err)
	}
	return line{k.t, conn}
}

// hears waits for a note that has what is asked for.
func (l line) hears(what string, has func(note) bool) note {
	l.t.Helper()
	for {
		_, text, err := l.conn.ReadMessage()
		if err != nil {
			l.t.Fatalf("waiting for %s: %v", what, err)
		}
		var n note
		if err := json.Unmarshal(text, &n); err != nil {
			l.t.Fatalf("%s: %v", text, err)
		}
		if has(n) {
			return n
		}
	}
}

// ends waits until the line is closed, and gives the last note that had an end.
func (l line) ends() (ended string) {
	for {
		_, text, err := l.conn.ReadMessage()
		if err != nil {
			return ended
		}
		var n note
		if err := json.Unmarshal(text, &n); err != nil {
			l.t.Fatalf("%s: %v", text, err)
		}
		ended = n.Ended
	}
}

func (l line) sends(kind int, data []byte) {
	l.t.Helper()
	if err := l.conn.WriteMessage(kind, data); err != nil {
		l.t.Fatal(err)
	}
}

// shows sends a picture and waits until it was looked at.
func (l line) shows(m *image.Gray) note {
	l.t.Helper()
	l.sends(websocket.BinaryMessage, sent(Grey, m.Rect.Dx(), m.Rect.Dy(), m.Pix))
	l.hears("taken", func(n note) bool { return n.Taken })
	return l.hears("advice", func(n note) bool { return n.Frame == 7 && !n.Taken })
}

// TestACameraIsToldWhatItShows: taken, then read with its outline, and told once while
// it stays in view.
func TestACameraIsToldWhatItShows(t *testing.T) {
	k := newCrib(t)
	tag, wall := webtest.Held(t, tagText, frameSize, 8), webtest.Held(t, "", frameSize, 8)
	l := k.dial("/camera")
	if n := l.shows(tag); n.Scan != tagText || n.Advice != "read" || len(n.Outline) != 4 {
		t.Errorf("a tag: %+v", n)
	}
	if n := l.shows(tag); n.Scan != "" || n.Advice != "read" || len(n.Outline) != 4 {
		t.Errorf("the same, a moment later: %+v", n)
	}
	if n := l.shows(wall); n.Scan != "" || n.Outline != nil {
		t.Errorf("a wall: %+v", n)
	}
	l.sends(websocket.BinaryMessage, sent(JPEG, 64, 48, []byte("not a picture")))
	if n := l.hears("a sentence", func(n note) bool { return n.Words != "" && n.Advice == "" }); !strings.Contains(n.Words, "damaged") {
		t.Errorf("no picture: %+v", n)
	}
	l.shows(wall)
	k.at.Add(2)
	l.shows(wall)
	if n := l.shows(tag); n.Scan != tagText {
		t.Errorf("back after two seconds: %+v", n)
	}
}

// TestALineThatSendsNoFrames is closed, and so is one that sends too much.
func TestALineThatSendsNoFrames(t *testing.T) {
	k := newCrib(t)
	for name, bad := range badFrames(t) {
		l := k.dial("/camera")
		_ = l.conn.WriteMessage(websocket.BinaryMessage, bad) // it may be cut off meanwhile
		l.ends()
		if err := <-k.errs; !errors.Is(err, ErrFrame) && len(bad) < maxSent {
			t.Errorf("%s: %v", name, err)
		}
	}
	l := k.dial("/camera")
	_ = l.conn.WriteMessage(websocket.BinaryMessage, make([]byte, 8<<20)) // as well
	l.ends()
	<-k.errs
}

// TestALineEndsWithItsSession: the page is told why, and does not hang on.
func TestALineEndsWithItsSession(t *testing.T) {
	k := newCrib(t)
	camera, station := k.dial("/camera"), k.dial("/station/a")
	k.in.Store(false)
	for _, l := range []line{camera, station} {
		if got := l.ends(); got != endedSignedOut {
			t.Errorf("ended with %q", got)
		}
	}
}

func TestAPageOfAnotherSiteIsRefused(t *testing.T) {
	k := newCrib(t)
	for _, path := range []string{"/camera", "/phone/x", "/station/a"} {
		_, resp, err := websocket.DefaultDialer.Dial(k.url+path, http.Header{"Origin": {"https://elsewhere.example"}})
		if err == nil || resp.StatusCode != http.StatusForbidden {
			t.Errorf("%s: %v", path, err)
		}
	}
}

// TestOnlySoManyCameras: one more is told so, and one that goes makes room.
func TestOnlySoManyCameras(t *testing.T) {
	k := newCrib(t)
	wall := webtest.Held(t, "", image.Pt(64, 64), 1)
	var first line
	for i := range maxCameras {
		l := k.dial("/camera")
		l.shows(wall)
		if i == 0 {
			first = l
		}
	}
	more := k.dial("/camera")
	if n := more.hears("a sentence", func(n note) bool { return n.Words != "" }); !strings.Contains(n.Words, "Too many cameras") {
		t.Errorf("one camera more: %+v", n)
	}
	more.ends()
	<-k.errs
	first.conn.Close()
	<-k.errs
	k.dial("/camera").shows(wall)
}

// TestCloseEndsEveryLine, and takes no new one.
func TestCloseEndsEveryLine(t *testing.T) {
	k := newCrib(t)
	l := k.dial("/camera")
	l.shows(webtest.Held(t, tagText, frameSize, 8))
	k.c.Close()
	l.ends()
	if _, resp, err := websocket.DefaultDialer.Dial(k.url+"/camera", nil); err == nil || resp.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("a new line after Close: %v", err)
	}
	k.c.Close() // a second time does nothing
}
