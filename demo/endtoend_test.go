package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/demo/browser"
	kiosk "cribgate/kiosk/command"
	labeler "cribgate/labeler/command"
	"cribgate/store"
)

// programVariable makes the test binary one of the programs, so that tests start
// real processes without building anything.
const programVariable = "CRIBGATE_TEST_PROGRAM"

func TestMain(m *testing.M) {
	program := os.Getenv(programVariable)
	if program == "" {
		os.Exit(m.Run())
	}
	ctx, stop := interrupted()
	code := 3
	switch program {
	case "kiosk":
		code = kiosk.Run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	case "labeler":
		code = labeler.Run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	case "demo":
		code = run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	}
	stop()
	os.Exit(code)
}

// program is a child process of one of the programs.
func program(ctx context.Context, t testing.TB, name string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(ctx, self, args...)
	cmd.Env = append(os.Environ(), programVariable+"="+name)
	return cmd
}

// ran is what a program printed that must do what it is asked for.
func ran(t *testing.T, name string, args ...string) string {
	t.Helper()
	cmd := program(t.Context(), t, name, args...)
	var warned strings.Builder
	cmd.Stderr = &warned
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, warned.String())
	}
	return string(out)
}

// A child is a program that serves until it is ended.
type child struct {
	t    *testing.T
	cmd  *exec.Cmd
	home string
	rest chan string // what it printed after its address
}

var address = regexp.MustCompile(`http://127\.0\.0\.1:[0-9]+`)

// serves starts a program and waits for it to say where it serves.
func serves(t *testing.T, name string, args ...string) *child {
	t.Helper()
	c := &child{t: t, cmd: program(t.Context(), t, name, args...), rest: make(chan string, 1)}
	var log bytes.Buffer
	c.cmd.Stderr = &log
	out, err := c.cmd.StdoutPipe()
	if err == nil {
		err = c.cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		// Both fail where the test has ended it already.
		_ = c.cmd.Process.Kill()
		_ = c.cmd.Wait()
		if t.Failed() {
			for line := range strings.Lines(log.String()) {
				if !strings.Contains(line, " level=INFO ") {
					t.Logf("%s said: %s", name, line)
				}
			}
		}
	})
	lines := bufio.NewReader(out)
	for c.home == "" {
		line, err := lines.ReadString('\n')
		c.home = address.FindString(line)
		if err != nil {
			t.Fatalf("%s %q ended without serving: %v", name, args, err)
		}
	}
	go func() {
		rest, err := io.ReadAll(lines)
		if err != nil {
			rest = append(rest, err.Error()...)
		}
		c.rest <- string(rest)
	}()
	return c
}

// kill ends it as a power cut does.
func (c *child) kill() {
	c.t.Helper()
	if err := c.cmd.Process.Kill(); err != nil {
		c.t.Fatal(err)
	}
	<-c.rest
	if err := c.cmd.Wait(); err == nil {
		c.t.Fatal("it ended by itself")
	}
}

// interrupt ends it as Ctrl-C does, and gives what it had printed.
func (c *child) interrupt() string {
	c.t.Helper()
	if runtime.GOOS == "windows" {
		c.kill()
		return ""
	}
	if err := c.cmd.Process.Signal(os.Interrupt); err != nil {
		c.t.Fatal(err)
	}
	rest := <-c.rest
	if err := c.cmd.Wait(); err != nil {
		c.t.Fatalf("it did not end cleanly: %v", err)
	}
	return rest
}

// visitor is somebody at a browser; where something comes out otherwise, the
// test ends.
type visitor struct {
	*browser.Browser
	t *testing.T
}

func (c *child) visit() visitor {
	c.t.Helper()
	b, err := browser.New(c.t.Context(), c.home)
	if err != nil {
		c.t.Fatal(err)
	}
	c.t.Cleanup(b.Close)
	return visitor{b, c.t}
}

func (v visitor) must(p browser.Page, err error) browser.Page {
	v.t.Helper()
	if err != nil {
		v.t.Fatal(err)
	}
	if p.Status >= 400 {
		v.t.Fatalf("%s answered %d: %s %s", p.Path, p.Status, p.Text(browser.Wrong), p.Text(browser.Sentence))
	}
	return p
}

// signIn signs in, and past a one-time PIN chooses own.
func (v visitor) signIn(name, pin, own string) {
	v.t.Helper()
	p := v.must(v.Send("/sign-in", url.Values{"name": {name}, "pin": {pin}}))
	if p.Path == "/pin" {
		p = v.must(v.Fill("/pin", "/pin", url.Values{"first": {own}, "again": {own}}))
	}
	if strings.HasPrefix(p.Path, "/sign-in") || p.Path == "/pin" {
		v.t.Fatalf("%s is at %s: %s", name, p.Path, p.Text(browser.Wrong))
	}
}

func (v visitor) verdict(p browser.Page, want string) {
	v.t.Helper()
	if err := p.Verdict(want); err != nil {
		v.t.Fatal(err)
	}
}

// lift states a weighed load on two legs, picks a leg's length apart.
func lift(pounds, back string) url.Values {
	return url.Values{
		"load": {pounds}, "unit": {"lb"}, "known": {"weighed"}, "special": {"no"}, "hitch": {"straight"}, "legs": {"2"},
		"angle": {"60"}, "centred": {"yes"}, "bears": {"nothing"}, "back": {"other"}, "day": {back},
	}
}

// The main job in real processes, with a power cut after each part of it: a crib
// is founded, a sling registered, its tag printed, confirmed on the sling, issued
// for a stated load, taken back, and refused for one too heavy.
func TestEndToEnd(t *testing.T) {
	const ident, ending, blank = "TR-4071", "071", "plate-50x80"
	dir := filepath.Join(t.TempDir(), "crib")
	out := ran(t, "kiosk", "init", "--register", dir, "--name", "Sluice crib", "--keeper", "K. Alder")
	pin := regexp.MustCompile(`(?m)^PIN +([0-9]+)`).FindStringSubmatch(out)
	if pin == nil {
		t.Fatalf("init gives no PIN:\n%s", out)
	}
	serve := []string{"serve", "--register", dir, "--listen", "127.0.0.1:0"}
	own := map[string]string{"K. Alder": "602915", "A. Birch": "719204", "I. Cedar": "830416"}

	k := serves(t, "kiosk", serve...)
	keeper := k.visit()
	keeper.signIn("K. Alder", pin[1], own["K. Alder"])
	given := map[string]string{}
	for name, role := range map[string]string{"A. Birch": "attendant", "I. Cedar": "inspector", "R. Dogwood": "rigger"} {
		p := keeper.must(keeper.Fill("/people", "/people", url.Values{"name": {name}, "role": {role}}))
		if given[name] = p.Text(browser.GivenPIN); given[name] == "" {
			t.Fatalf("no one-time PIN for %s at %s", name, p.Path)
		}
	}
	p := keeper.must(keeper.Fill("/register", "/register", url.Values{
		"ident": {ident}, "system": {"us"}, "grade": {"80"}, "size-us": {"3/8"}, "legs": {"2"}, "reach": {"8"}, "reach-unit": {"ft"},
		"adjustable": {"no"}, "unit": {"lb"}, "stamp-2-h60": {"12300"}, "rating-tag": {"legible"}, "heat": {"no"},
		"when": {"day"}, "date": {today(t, dir, 0)}, "outcome": {"fit"}, "service": {"normal"}, "hang": {"in"}, "place": {"D-07"}, "lower": {"latch-hook"},
	}))
	sling := "/rack/" + ident
	if p.Path != sling {
		t.Fatalf("after registering: %s %s", p.Path, p.Text(browser.Wrong))
	}
	k.kill()

	picture := filepath.Join(t.TempDir(), "tag.png")
	k = serves(t, "kiosk", serve...)
	ran(t, "labeler", "print", "--template", blank, "--register", dir, "--sling", ident, "--out", picture)
	read := strings.TrimSuffix(ran(t, "kiosk", "read", picture), "\n")
	text := strings.TrimPrefix(read, picture+"\t")
	if len(text) != 64 {
		t.Fatalf("the printed tag reads %q", read)
	}
	k.kill()

	k = serves(t, "kiosk", serve...)
	inspector := k.visit()
	inspector.signIn("I. Cedar", given["I. Cedar"], own["I. Cedar"])
	p = inspector.must(inspector.Upload(sling+"/tag", sling+"/tag/confirm", url.Values{"typed": {ending}}, "picture", picture))
	if p.Path != sling {
		t.Fatalf("after confirming: %s %s", p.Path, p.Text(browser.Wrong))
	}
	k.kill()

	k = serves(t, "kiosk", serve...)
	attendant := k.visit()
	attendant.signIn("A. Birch", given["A. Birch"], own["A. Birch"])
	riggers := attendant.must(attendant.Get("/counter/rigger"))
	rigger := riggers.Value("rigger", "R. Dogwood")
	attendant.must(attendant.Again("/counter/rigger", url.Values{"rigger": {rigger}}))
	attendant.must(attendant.Fill("/counter/lift", "/counter/lift", lift("9000", today(t, dir, 1))))
	scanned := url.Values{"text": {text}, "way": {"scanner"}}
	// Now and then, at random, the plate's last characters are asked for.
	if p := attendant.must(attendant.Fill("/counter", "/counter/scan", scanned)); p.Verdict("look-closer") != nil {
		attendant.verdict(p, "may-go")
	}
	attendant.must(attendant.Again("/counter/issue", url.Values{"typed": {ending}}))
	k.kill()

	k = serves(t, "kiosk", serve...)
	attendant = k.visit()
	attendant.signIn("A. Birch", own["A. Birch"], "")
	attendant.must(attendant.Fill("/counter", "/counter/scan", scanned))
	attendant.must(attendant.Again("/counter/return", attendant.Now().AllWell("/counter/return")))
	attendant.must(attendant.Fill("/counter/rigger", "/counter/rigger", url.Values{"rigger": {rigger}}))
	attendant.must(attendant.Fill("/counter/lift", "/counter/lift", lift("12301", today(t, dir, 1))))
	attendant.verdict(attendant.must(attendant.Fill("/counter", "/counter/scan", scanned)), "stays-here")
	k.interrupt()

	t.Log(ran(t, "kiosk", "verify", "--register", dir))
	if got, want := storyOf(t, dir, ident), []event.Kind{
		event.KindRegistered, event.KindTagPrinted, event.KindTagConfirmed, event.KindIssued, event.KindReturned, event.KindRefused,
	}; !slices.Equal(got, want) {
		t.Errorf("the register tells %v, want %v", got, want)
	}
}

// opened opens a register for a moment.
func opened[T any](t *testing.T, dir string, read func(*store.Store) (T, error)) T {
	t.Helper()
	register, _, _ := store.Paths(dir)
	st, err := store.Open(t.Context(), register, store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	v, err := read(st)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// today is the crib's date some days from now.
func today(t *testing.T, dir string, days int) string {
	t.Helper()
	return opened(t, dir, func(st *store.Store) (string, error) {
		d, err := st.Today(t.Context())
		return d.AddDays(days).String(), err
	})
}

func storyOf(t *testing.T, dir, ident string) []event.Kind {
	t.Helper()
	return opened(t, dir, func(st *store.Store) (kinds []event.Kind, err error) {
		s, err := st.SlingByIdent(t.Context(), ident)
		if err != nil {
			return nil, err
		}
		story, err := st.Story(t.Context(), event.Sling(s.ID))
		for _, r := range story {
			kinds = append(kinds, r.Envelope.Kind)
		}
		return kinds, err
	})
}
