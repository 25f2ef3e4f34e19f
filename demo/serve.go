package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/demo/crib"
	"cribgate/kiosk/command"
	"cribgate/labeler/commandline"
	"cribgate/store"
)

type serving struct{ dir, listen string }

// usualAddress is where the kiosk is served where nothing else is said.
const usualAddress = "127.0.0.1:8480"

// errOtherRegister reports a directory with a register that the demonstration
// did not make.
var errOtherRegister = errors.New("there is another crib's register")

func hintFor(err error) string {
	switch {
	case errors.Is(err, errOtherRegister), errors.Is(err, store.ErrExists):
		return "name a directory that is empty or not there yet"
	case errors.Is(err, syscall.EADDRINUSE):
		return "another program has that port; leave --listen out to take a free one"
	}
	return ""
}

func serve(ctx context.Context, o serving, out, errOut io.Writer) (err error) {
	if o.dir == "" {
		if o.dir, err = os.MkdirTemp("", "crib-"); err != nil {
			return fmt.Errorf("make a directory: %w", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(o.dir)) }()
	}
	listener, err := listen(ctx, o.listen)
	if err != nil {
		return err
	}
	defer listener.Close() // Serve closes it; this is for the ways that do not come to it
	scene, err := prepare(ctx, o.dir, errOut)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(errOut, &slog.HandlerOptions{Level: slog.LevelWarn}))
	kiosk, err := command.Open(ctx, o.dir, store.Options{Program: release.Version(), Log: log})
	if err != nil {
		return err
	}
	if _, err := crib.Morning(ctx, kiosk.Store, kiosk.Counter); err != nil {
		return errors.Join(err, kiosk.Close())
	}
	if err := scene.tell(ctx, kiosk.Store, listener.Addr(), out); err != nil {
		return errors.Join(err, kiosk.Close())
	}
	return errors.Join(kiosk.Serve(ctx, listener), kiosk.Close())
}

// listen takes the address that was asked for; where none was, the usual one, or
// a free port where that is taken.
func listen(ctx context.Context, address string) (net.Listener, error) {
	var c net.ListenConfig
	if address == "" {
		l, err := c.Listen(ctx, "tcp", usualAddress)
		if !errors.Is(err, syscall.EADDRINUSE) {
			return l, err
		}
		address = "127.0.0.1:0"
	}
	return c.Listen(ctx, "tcp", address)
}

// scene is a crib ready to be served.
type scene struct {
	dir     string
	people  []crib.Person
	samples []crib.Sample
	files   []string // picture of each sample
	again   bool     // it was there already
}

// prepare builds the crib, or finds the one that is there.
func prepare(ctx context.Context, dir string, errOut io.Writer) (scene, error) {
	register, _, _ := store.Paths(dir)
	_, err := os.Stat(register)
	switch {
	case err == nil:
		return scene{dir: dir, people: crib.Cast(), again: true}, isOurs(ctx, register)
	case !errors.Is(err, fs.ErrNotExist):
		return scene{}, fmt.Errorf("look at %s: %w", dir, err)
	}
	show := commandline.NewProgress(errOut, "playing two years, day")
	now := time.Now()
	built, err := crib.Build(ctx, crib.Options{
		Dir: dir, Slings: 300, Years: 2, Zone: zoneOf(now), Last: quantity.DateOf(now).AddDays(-1), Seed: 1, PINs: true,
		Progress: func(done, of int) { show.Show(int64(done), int64(of)) },
	})
	show.End()
	if err != nil {
		return scene{}, err
	}
	s := scene{dir: dir, people: built.People, samples: built.Samples}
	if s.files, err = crib.Draw(ctx, filepath.Join(dir, "tags"), built.Samples); err != nil {
		return scene{}, err
	}
	return s, crib.DrawBadges(ctx, filepath.Join(dir, "badges.pdf"), built.People)
}

// zoneOf is the name of a time zone without seasons in which it is now as late as
// on this machine, to the hour, so that the crib's today is the visitor's. The
// names count westward.
func zoneOf(now time.Time) string {
	_, east := now.Zone()
	hours := int(math.Round(float64(east) / 3600))
	if hours == 0 {
		return "UTC"
	}
	return fmt.Sprintf("Etc/GMT%+d", -hours)
}

// isOurs makes sure that nobody serves a real crib as the invented one.
func isOurs(ctx context.Context, register string) error {
	st, err := store.Open(ctx, register, store.Options{Program: release.Version()})
	if err != nil {
		return err
	}
	c, err := st.Crib(ctx)
	if err = errors.Join(err, st.Close()); err != nil {
		return err
	}
	if c.Founded.Name != crib.Name {
		return fmt.Errorf("%s: %w", register, errOtherRegister)
	}
	return nil
}

// toTry is what the invented crib is there to show, by page.
var toTry = []struct{ page, says string }{
	{"/counter", "Who takes slings? " + crib.Usual + ": the same as yesterday, with one press; then scan on, and hand over at the end"},
	{"/counter", "Cole Brackenshaw may draw gear for a shift, without a lift"},
	{"/counter/lift", "several slings on one hook or under a beam; two cranes, whose hooks not every upper link goes over"},
	{"/heap", "scan what comes back in one run; /heap/check looks at four that came yesterday, and their riggers are asked at their next badge"},
	{"/outside", "one is wanted back, one is kept at press 4, one falls due out there; scan one to hand it on, place or recall it"},
	{"/strays", "a sling that nobody knows, kept apart"},
	{"/count", "count the rack on a phone; the sheet of yesterday's count is there"},
	{"/people", "as the keeper: a pass for one day, a learner, badges"},
}

// tell says where to look, how to sign in and what to scan.
func (s scene) tell(ctx context.Context, st *store.Store, at net.Addr, out io.Writer) error {
	head, err := st.Head(ctx)
	if err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s, an invented crib: 300 slings and what happened to them, %d events.\n\n", crib.Name, head.At)
	fmt.Fprintf(&b, "  look at    http://%s/\n  kept in    %s\n\nSign in with name and PIN:\n", at, s.dir)
	for _, p := range s.people {
		if p.PIN != "" {
			roles := p.Roles.String()
			if p.Terms.Learner {
				roles += ", learning: hands over with a countersign"
			}
			fmt.Fprintf(&b, "  %-20s %s   %s\n", p.Name, p.PIN, roles)
		}
	}
	if s.again {
		fmt.Fprintf(&b, "\nThis crib was here already; it is as it was left. Pictures of tags are in %s.\n", filepath.Join(s.dir, "tags"))
	} else {
		fmt.Fprintf(&b, "\nTags to scan, pictures in %s, and their short codes:\n", filepath.Join(s.dir, "tags"))
		for i, t := range s.samples {
			fmt.Fprintf(&b, "  %-20s %-8s %s  %s\n", filepath.Base(s.files[i]), t.Ident, t.Short, t.Shows)
		}
	}
	fmt.Fprintf(&b, "\nBadges of everybody are in %s.\n\nTo try, as an attendant unless it says otherwise:\n", filepath.Join(s.dir, "badges.pdf"))
	for _, t := range toTry {
		fmt.Fprintf(&b, "  %-18s %s\n", t.page, t.says)
	}
	fmt.Fprintf(&b, "\n%s\nCtrl-C ends it.\n", caution)
	_, err = io.WriteString(out, b.String())
	return err
}
