package webtest

import (
	"errors"
	"net"
	"sync"
	"testing"
)

// A Line is what lies between a browser and a server, and can be cut: bytes go
// through it both ways, and it understands none of them.
type Line struct {
	t      testing.TB
	to     string
	listen net.Listener
	all    sync.WaitGroup

	mu    sync.Mutex
	now   lineState
	moves *sync.Cond
	ends  map[net.Conn]struct{}
}

type lineState int

const (
	lineWhole lineState = iota
	lineStill           // what is sent lies there and arrives later
	lineCut             // connections end, and none is taken
	lineGone            // the test is over
)

// NewLine lays a line to a server's address, until the test ends.
func NewLine(t testing.TB, to string) *Line {
	t.Helper()
	listen, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := &Line{t: t, to: to, listen: listen, ends: map[net.Conn]struct{}{}}
	l.moves = sync.NewCond(&l.mu)
	l.all.Go(l.accept)
	t.Cleanup(func() {
		l.become(lineGone)
		if err := listen.Close(); err != nil {
			t.Error(err)
		}
		l.all.Wait()
	})
	return l
}

// Address is where a browser finds the server by way of the line.
func (l *Line) Address() string { return "http://" + l.listen.Addr().String() }

// Cut ends every connection and takes no other, as where the server's machine is
// turned off.
func (l *Line) Cut() { l.become(lineCut) }

// Still lets nothing through and ends nothing, as where a cable is pulled.
func (l *Line) Still() { l.become(lineStill) }

// Mend lets everything through again.
func (l *Line) Mend() { l.become(lineWhole) }

// Leads lets new connections lead to another server, and ends those there are.
func (l *Line) Leads(to string) {
	l.become(lineCut)
	l.mu.Lock()
	l.to = to
	l.mu.Unlock()
	l.become(lineWhole)
}

func (l *Line) become(s lineState) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.now = s
	l.moves.Broadcast()
	if s != lineCut && s != lineGone {
		return
	}
	for end := range l.ends {
		_ = end.Close() // it may have ended by itself
	}
	clear(l.ends)
}

func (l *Line) accept() {
	for {
		here, err := l.listen.Accept()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil {
			l.t.Errorf("line: %v", err)
			return
		}
		l.mu.Lock()
		to := l.to
		l.mu.Unlock()
		there, err := net.Dial("tcp", to)
		if err != nil {
			_ = here.Close() // the browser sees that nobody is there
			continue
		}
		if !l.takes(here, there) {
			continue
		}
		l.all.Go(func() { l.carry(there, here) })
		l.all.Go(func() { l.carry(here, there) })
	}
}

// takes keeps the two ends of a connection, or ends them where the line is cut.
func (l *Line) takes(here, there net.Conn) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.now == lineCut || l.now == lineGone {
		_ = here.Close() // the browser sees that nobody is there
		_ = there.Close()
		return false
	}
	l.ends[here], l.ends[there] = struct{}{}, struct{}{}
	return true
}

// carry takes bytes from one end to the other until one of them is gone, and then
// ends both.
func (l *Line) carry(to, from net.Conn) {
	defer func() {
		_ = to.Close() // the other direction may have been quicker
		_ = from.Close()
		l.mu.Lock()
		delete(l.ends, to)
		delete(l.ends, from)
		l.mu.Unlock()
	}()
	buffer := make([]byte, 32<<10)
	for {
		n, err := from.Read(buffer)
		l.mu.Lock()
		for l.now == lineStill {
			l.moves.Wait()
		}
		l.mu.Unlock()
		if n > 0 {
			if _, err := to.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}
