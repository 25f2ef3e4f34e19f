package main

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"cribgate/demo/browser"
	"cribgate/demo/crib"
	"cribgate/kiosk/scan"
	"cribgate/store"
)

// tries runs a command line in this process.
func tries(t *testing.T, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e strings.Builder
	code = run(t.Context(), args, &o, &e)
	return code, o.String(), e.String()
}

// The demonstration as a person meets it: it says where to look and how to sign
// in, and that holds; its pictures read; Ctrl-C ends it; with --dir it is there
// again the next time.
func TestDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "crib")
	begun := time.Now()
	d := serves(t, "demo", "--dir", dir, "--listen", "127.0.0.1:0")
	ready := time.Since(begun)
	t.Logf("ready after %.1f s", ready.Seconds())
	for _, p := range crib.Cast() {
		if p.PIN != "" {
			d.visit().signIn(p.Name, p.PIN, "")
		}
	}
	pictures, err := filepath.Glob(filepath.Join(dir, "tags", "*.png"))
	if err != nil || len(pictures) < 10 {
		t.Fatalf("%d pictures of tags, %v", len(pictures), err)
	}
	for _, picture := range pictures {
		data, err := os.ReadFile(picture)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := scan.Image(data); err != nil {
			t.Errorf("%s: %v", picture, err)
		}
	}
	told := d.interrupt()
	for _, want := range []string{"Sign in", "470193", "good.png", "never replaces", "Ctrl-C"} {
		if !strings.Contains(told, want) {
			t.Errorf("it does not say %q:\n%s", want, told)
		}
	}
	shorts := regexp.MustCompile(`\b[0-9A-Z]{3}-[0-9A-Z]{3}-[0-9A-Z]{3}\b`).FindAllString(told, -1)
	if len(shorts) < len(pictures) {
		t.Errorf("%d short codes for %d pictures", len(shorts), len(pictures))
	}

	again := serves(t, "demo", "--dir", dir, "--listen", "127.0.0.1:0")
	v := again.visit()
	v.signIn("Marla Tidewater", "592714", "")
	v.must(v.Get("/counter"))
	if told := again.interrupt(); !strings.Contains(told, "was here already") {
		t.Errorf("the second time it says\n%s", told)
	}
}

// Without --dir nothing stays behind.
func TestDemoLeavesNothing(t *testing.T) {
	place := t.TempDir()
	t.Setenv("TMPDIR", place)
	t.Setenv("TMP", place)
	ctx, end := context.WithCancel(t.Context())
	reader, writer, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, []string{"--listen", "127.0.0.1:0"}, writer, os.Stderr)
		writer.Close()
	}()
	buffer := make([]byte, 64<<10)
	n, err := reader.Read(buffer)
	if err != nil {
		t.Fatal(err)
	}
	b, err := browser.New(t.Context(), address.FindString(string(buffer[:n])))
	if err != nil {
		t.Fatal(err)
	}
	p, err := b.Get("/")
	if err != nil || p.Path != "/sign-in" {
		t.Errorf("at %s, %v", p.Path, err)
	}
	b.Close()
	end()
	if c := <-code; c != 0 {
		t.Errorf("it ended with %d", c)
	}
	left, err := os.ReadDir(place)
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestZoneOfTheVisitor(t *testing.T) {
	for hours := -12; hours <= 14; hours++ {
		now := time.Date(2026, 3, 3, 12, 0, 0, 0, time.FixedZone("here", hours*3600))
		zone, err := time.LoadLocation(zoneOf(now))
		if err != nil {
			t.Fatal(err)
		}
		if got := now.In(zone); got.Hour() != 12 || got.Day() != 3 {
			t.Errorf("%d hours east: %s is %s", hours, zone, got)
		}
	}
	if got := zoneOf(time.Date(2026, 3, 3, 12, 0, 0, 0, time.FixedZone("half", 5*3600+1800))); got != "Etc/GMT-6" {
		t.Errorf("half an hour off gives %s", got)
	}
}

func TestListenTakesAFreePort(t *testing.T) {
	one, err := listen(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer one.Close()
	two, err := listen(t.Context(), "")
	if err != nil {
		t.Fatalf("the usual port is taken: %v", err)
	}
	defer two.Close()
	for _, l := range []net.Listener{one, two} {
		if !l.Addr().(*net.TCPAddr).IP.IsLoopback() {
			t.Errorf("%s is open to others", l.Addr())
		}
	}
	code, _, errOut := tries(t, "--listen", one.Addr().String(), "--dir", t.TempDir())
	if code != 1 || !strings.Contains(errOut, "hint: ") {
		t.Errorf("an address that is taken: %d %s", code, errOut)
	}
}

func TestSeed(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made", "here")
	args := []string{"seed", "--slings", "40", "--years", "1", "--events", "900", "--until", "2026-03-03", "--pins=false", "--out", dir}
	code, out, errOut := tries(t, args...)
	if code != 0 || errOut != "" || strings.ContainsAny(out, "\r\x1b") {
		t.Fatalf("%d, %q, %q", code, out, errOut)
	}
	events := opened(t, dir, func(st *store.Store) (int64, error) {
		head, err := st.Head(t.Context())
		return head.At, err
	})
	if events < 800 || events > 1000 {
		t.Errorf("%d events, asked for some 900", events)
	}
	for _, name := range []string{"register.sqlite", "desk.sqlite", "keys"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	if code, _, errOut := tries(t, args...); code != 1 || !strings.Contains(errOut, "hint: ") {
		t.Errorf("over an old register: %d %s", code, errOut)
	}
	if code, _, errOut := tries(t, "--dir", dir, "--listen", "127.0.0.1:0", "surplus"); code != 2 || !strings.Contains(errOut, "surplus") {
		t.Errorf("an argument too many: %d %s", code, errOut)
	}
}

func TestSeedRefuses(t *testing.T) {
	for name, args := range map[string][]string{
		"no place":     {"seed", "--slings", "3"},
		"no day":       {"seed", "--out", "x", "--until", "2026-02-30"},
		"no number":    {"seed", "--out", "x", "--slings", "many"},
		"no such flag": {"seed", "--out", "x", "--gulls", "3"},
		"no command":   {"sow"},
	} {
		if code, _, errOut := tries(t, args...); code != 2 || errOut == "" {
			t.Errorf("%s: %d %s", name, code, errOut)
		}
	}
	for name, args := range map[string][]string{
		"no slings":      {"seed", "--slings", "0"},
		"too many years": {"seed", "--years", "99"},
	} {
		dir := filepath.Join(t.TempDir(), "x")
		if code, _, errOut := tries(t, append(args, "--out", dir)...); code != 1 || errOut == "" {
			t.Errorf("%s: %d %s", name, code, errOut)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("%s: left %s behind", name, dir)
		} else if !os.IsNotExist(err) {
			t.Error(err)
		}
	}
}

// The demonstration never serves somebody's own register as the invented one.
func TestDemoRefusesAnotherRegister(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "crib")
	ran(t, "kiosk", "init", "--register", dir, "--name", "Sluice crib", "--keeper", "K. Alder")
	code, out, errOut := tries(t, "--dir", dir, "--listen", "127.0.0.1:0")
	if code != 1 || out != "" || !strings.Contains(errOut, "another crib") || !strings.Contains(errOut, "hint: ") {
		t.Errorf("%d %q %q", code, out, errOut)
	}
}
