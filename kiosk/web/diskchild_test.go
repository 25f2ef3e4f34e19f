package web

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/audit"
	"cribgate/kiosk/bench"
	"cribgate/kiosk/camera"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/kiosk/live"
	"cribgate/kiosk/web/webtest"
	"cribgate/kiosk/worn"
	"cribgate/store"
	"cribgate/store/keyring"
)

// childEnv names the crib that the test program serves, as a kiosk in a process of
// its own, in place of running tests.
const childEnv = "CRIBGATE_WEB_CHILD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childEnv); dir != "" {
		if err := serveCrib(context.Background(), dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(webtest.Main(m))
}

// serveCrib serves until standard input ends, and tells the address first.
func serveCrib(ctx context.Context, dir string) error {
	register, deskFile, keys := store.Paths(dir)
	ring, err := keyring.Load(keys)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	st, err := store.Open(ctx, register, store.Options{Now: testNow, Program: "v0.0.0-test", Log: log})
	if err != nil {
		return err
	}
	d, err := desk.Open(ctx, deskFile, desk.Options{Log: log})
	if err != nil {
		return err
	}
	drafts, err := bench.Open(ctx, filepath.Join(dir, bench.File), bench.Options{Log: log})
	if err != nil {
		return err
	}
	hub := live.NewHub(1)
	cameras := camera.Open(camera.Options{})
	defer cameras.Close()
	watch := audit.Open(st, filepath.Join(dir, audit.File), log)
	s, err := New(Config{Store: st, Counter: counter.New(st, ring).Under(watch), Audit: watch, Desk: d, Bench: drafts, Keys: ring, Live: hub, Cameras: cameras, Worn: worn.New(st, ring, log), Version: "v0.0.0-test", Log: log})
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	server := &http.Server{Handler: s.Handler()}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	fmt.Printf("http://%s\n", listener.Addr())
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return err
	}
	hub.Close()
	err = server.Shutdown(ctx)
	if served := <-ended; !errors.Is(served, http.ErrServerClosed) {
		err = errors.Join(err, served)
	}
	return errors.Join(err, drafts.Close(), d.Close(), st.Close())
}

// A readyCrib is a crib with one sling on the counter that may go, before the
// button that hands it over is pressed. It is copied and never served itself.
type readyCrib struct {
	dir     string
	cookies []*http.Cookie
	form    url.Values // of the button
	sling   event.SlingID
}

func newReadyCrib(t *testing.T) *readyCrib {
	t.Helper()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	page := c.scan(text)
	if page.verdict() != MayGo {
		t.Fatalf("%q: %s", page.verdict(), page.main())
	}
	at, err := url.Parse(k.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(k.desk.Close(), k.store.Close()); err != nil && !errors.Is(err, sql.ErrConnDone) {
		t.Fatal(err)
	}
	return &readyCrib{dir: filepath.Dir(k.deskFile), cookies: c.http.Jar.Cookies(at), form: page.form(t, "/counter/issue"), sling: id}
}

// A childKiosk is a kiosk in a process of its own.
type childKiosk struct {
	t      *testing.T
	dir    string
	cmd    *exec.Cmd
	log    *bytes.Buffer
	client *client
	ready  *readyCrib
}

// serves starts a kiosk on the crib in dir, a copy of r.
func (r *readyCrib) serves(t *testing.T, dir string) *childKiosk {
	t.Helper()
	k := &childKiosk{t: t, dir: dir, log: &bytes.Buffer{}, ready: r}
	k.cmd = exec.CommandContext(t.Context(), os.Args[0])
	k.cmd.Env = append(os.Environ(), childEnv+"="+dir)
	k.cmd.Stderr = k.log
	if _, err := k.cmd.StdinPipe(); err != nil { // open until the kiosk is killed or this test ends
		t.Fatal(err)
	}
	out, err := k.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := k.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		k.kill()
		if t.Failed() {
			t.Logf("the kiosk says:\n%s", k.log)
		}
	})
	address, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the kiosk did not start: %v\n%s", err, k.log)
	}
	address = strings.TrimSpace(address)
	at, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	jar.SetCookies(at, r.cookies)
	k.client = (&kiosk{t: t, http: &httptest.Server{URL: address}}).client()
	k.client.http.Jar = jar
	if page := k.client.get("/counter"); page.verdict() != MayGo && !page.has("Handed over") {
		t.Fatalf("the counter after the start: %d %s", page.status, page.main())
	}
	return k
}

// kill ends the kiosk as a power cut would, except that what the system has
// taken is written.
func (k *childKiosk) kill() {
	if k.cmd.ProcessState != nil {
		return
	}
	if err := k.cmd.Process.Kill(); err != nil {
		k.t.Error(err)
	}
	var ended *exec.ExitError
	if err := k.cmd.Wait(); !errors.As(err, &ended) {
		k.t.Errorf("the kiosk ended by itself: %v\n%s", err, k.log)
	}
}

// press presses the button, the same one each time, and gives what is shown then.
func (k *childKiosk) press() answer {
	k.t.Helper()
	return k.client.follow(k.client.post("/counter/issue", k.ready.form))
}

// issued is how often the sling was handed over as the register has it when
// nobody else has it open. It must be whole.
func (k *childKiosk) issued() (n int) {
	k.t.Helper()
	register, _, _ := store.Paths(k.dir)
	s, err := store.Open(k.t.Context(), register, store.Options{Now: testNow, Program: "v0.0.0-test"})
	if err != nil {
		k.t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			k.t.Error(err)
		}
	}()
	report, err := s.Verify(k.t.Context(), nil)
	if err != nil || !report.Whole() {
		k.t.Errorf("the register is not whole: %v, %v", report.Breaks, err)
	}
	story, err := s.Story(k.t.Context(), event.Sling(k.ready.sling))
	if err != nil {
		k.t.Fatal(err)
	}
	for _, r := range story {
		if r.Envelope.Kind == event.KindIssued {
			n++
		}
	}
	return n
}
