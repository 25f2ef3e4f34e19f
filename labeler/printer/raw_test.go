package printer

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"strings"
	"testing"
	"time"
)

// socket is a raw printer that does this with each connection.
func socket(t *testing.T, serve func(*net.TCPConn)) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			serve(conn.(*net.TCPConn))
			conn.Close()
		}
	}()
	t.Cleanup(func() {
		l.Close()
		<-done
	})
	return "tcp://" + l.Addr().String()
}

func TestRawSent(t *testing.T) {
	var got bytes.Buffer
	url := socket(t, func(c *net.TCPConn) {
		io.Copy(&got, c) // until the sender has closed its side
		c.Write([]byte("whatever it says\n"))
	})
	doc := paper(large)
	p, said := at(t, url, Options{})
	out := p.Send(t.Context(), doc)
	if out.End != Sent || out.Err() != nil || out.KeepsSize {
		t.Fatalf("%s", out)
	}
	if !bytes.Equal(got.Bytes(), contents(t, doc)) {
		t.Errorf("%d bytes arrived", got.Len())
	}
	if s := out.String(); !strings.Contains(s, "does not say whether it was printed") {
		t.Errorf("%q", s)
	}
	if list := said.list(); len(list) != 1 {
		t.Errorf("said %q", list)
	}
	if _, err := p.Ask(t.Context()); !errors.Is(err, ErrRaw) {
		t.Errorf("asked: %v", err)
	}
}

func TestRawClosesHalfWay(t *testing.T) {
	url := socket(t, func(c *net.TCPConn) {
		io.CopyN(io.Discard, c, 1000)
		c.SetLinger(0) // what it has not read is thrown away
	})
	p, _ := at(t, url, Options{})
	if out := p.Send(t.Context(), paper(large)); out.End != Unknown || !errors.Is(out.Err(), ErrUnknown) {
		t.Errorf("%s", out)
	}
}

func TestRawHangs(t *testing.T) {
	for _, c := range []struct {
		name string
		read bool
	}{{"takes no more", false}, {"does not close its side", true}} {
		release := make(chan struct{})
		url := socket(t, func(conn *net.TCPConn) {
			if c.read {
				io.Copy(io.Discard, conn)
			}
			<-release
		})
		p, _ := at(t, url, Options{Patience: 200 * time.Millisecond, AnswerTime: 200 * time.Millisecond})
		out := p.Send(t.Context(), paper(large))
		close(release)
		if out.End != Unknown || c.read && !errors.Is(out.Err(), errOpen) {
			t.Errorf("%s: %s", c.name, out)
		}
	}
}

func TestRawRefused(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	url := "tcp://" + l.Addr().String()
	l.Close()
	p, _ := at(t, url, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Refused || !errors.Is(out.Err(), ErrNotPrinted) {
		t.Errorf("%s", out)
	}
}

func TestRawInterrupted(t *testing.T) {
	ctx, stop := context.WithCancelCause(t.Context())
	why := errors.New("somebody pressed Ctrl-C")
	release := make(chan struct{})
	url := socket(t, func(c *net.TCPConn) {
		io.CopyN(io.Discard, c, 1000)
		stop(why)
		<-release
	})
	p, _ := at(t, url, Options{})
	out := p.Send(ctx, paper(large))
	close(release)
	if out.End != Unknown || !errors.Is(out.Err(), why) {
		t.Errorf("%s", out)
	}
}
