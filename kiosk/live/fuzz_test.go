package live

import (
	"bufio"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"cribgate/core/bounded"
)

// handshake is how a browser asks to take a connection over (RFC 6455, 1.2).
const handshake = "GET /live HTTP/1.1\r\nHost: %HOST%\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n" +
	"Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n\r\n"

// A page may send whatever it likes after the handshake: it is told the position
// all the same, its connection ends when it hangs up, and nothing of it stays.
func FuzzPage(f *testing.F) {
	seeds := []string{
		"",
		"\x81\x80\x00\x00\x00\x00", // an empty text, masked (RFC 6455, 5.2)
		"\x81\x85\x37\xfa\x21\x3d\x7f\x9f\x4d\x51\x58", // "Hello" (RFC 6455, 5.7)
		"\x81\x05Hello", // without its mask
		"\x01\x80\x00\x00\x00\x00\x80\x80\x00\x00\x00\x00",            // in two parts
		"\x89\x80\x00\x00\x00\x00",                                    // a ping
		"\x8a\x80\x00\x00\x00\x00",                                    // a pong that nobody asked for
		"\x88\x82\x00\x00\x00\x00\x03\xe8",                            // a close
		"\x82\xff\x7f\xff\xff\xff\xff\xff\xff\xff\x00\x00\x00\x00",    // 2^63-1 bytes to come
		"\xf1\x80\x00\x00\x00\x00",                                    // reserved bits
		"\x83\x80\x00\x00\x00\x00",                                    // a kind that there is not
		"\x81\xfe\x02\x01\x00\x00\x00\x00" + strings.Repeat("x", 513), // over the limit
	}
	if len(seeds) != 12 {
		f.Fatalf("%d seeds, want 12", len(seeds))
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	hub := NewHub(41)
	ended := make(chan error)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { ended <- hub.Serve(w, r) }))
	f.Cleanup(server.Close)
	f.Cleanup(hub.Close)
	host := server.Listener.Addr().String()
	f.Fuzz(func(t *testing.T, sent []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			if err := speak(host, sent); err != nil {
				t.Error(err)
			}
			if err := <-ended; err != nil {
				t.Error(err)
			}
			if n := hub.Listeners(); n != 0 {
				t.Errorf("%d pages listen after it hung up", n)
			}
		})
	})
}

// speak opens a page's connection, hears the position, says what it says and
// hangs up.
func speak(host string, sent []byte) error {
	conn, err := net.Dial("tcp", host)
	if err != nil {
		return err
	}
	defer conn.Close()
	if _, err := io.WriteString(conn, strings.Replace(handshake, "%HOST%", host, 1)); err != nil {
		return err
	}
	in := bufio.NewReader(conn)
	answer, err := http.ReadResponse(in, nil)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	// A text of less than 126 bytes has its kind and its length in front (RFC 6455, 5.2).
	const begins = `{"at":41,`
	first := make([]byte, 2+len(begins))
	if _, err := io.ReadFull(in, first); err != nil || answer.StatusCode != http.StatusSwitchingProtocols || first[0] != 0x81 || string(first[2:]) != begins {
		return errors.Join(errors.New("the page was not told the position"), err)
	}
	// The other side may hang up first, in the middle of what is sent.
	_, _ = conn.Write(sent)
	return nil
}
