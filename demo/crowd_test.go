package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	mathrand "math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/demo/browser"
	"cribgate/kiosk/command"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/storetest"
)

var (
	rounds = flag.Int("rounds", 0, "how long the tests with many at the counter go on; 0: a fiftieth of the whole, which each of them names")
	seed   = flag.Uint64("seed", uint64(time.Now().UnixNano()), "seed of the random tests")
)

// roundsOf is how many rounds a test goes, and whether they are the whole.
func roundsOf(whole int) (n int, all bool) {
	if *rounds == 0 {
		return whole / 50, false
	}
	return *rounds, *rounds >= whole
}

// random gives a source and says how to run the test again with it.
func random(t *testing.T) *mathrand.Rand {
	t.Helper()
	t.Logf("again: go test ./demo -run '^%s$' -seed %d -rounds %d", t.Name(), *seed, *rounds)
	return mathrand.New(mathrand.NewPCG(*seed, 1))
}

// A crowd is a crib with many people and slings, laid out without its pages.
type crowd struct {
	t       *testing.T
	dir     string
	staff   []state.Person // attendants with a PIN
	riggers []state.Person
	slings  []hung

	base    int64 // events before anybody works
	printed int   // tags by the labeler
}

// hung is a sling with a live tag.
type hung struct {
	id    event.SlingID
	ident string
	text  string // of its tag
}

// plate is what is read off the metal where it is asked for: on a counter where the
// sling has just come back.
func (h hung) plate() string { return h.ident[max(0, len(h.ident)-4):] }

const crowdPIN = "602915"

func newCrowd(t *testing.T, staff, riggers, slings int) *crowd {
	t.Helper()
	c := &crowd{t: t, dir: t.TempDir()}
	register, deskFile, keys := store.Paths(c.dir)
	key := made(keyring.Create(keys, rand.Reader))(t)
	founding := storetest.Founding()
	founding.Key, founding.Policy.AskEvery = key.Fingerprint(), 0 // so that each issue goes the same way
	st, keeper, err := store.Init(t.Context(), register, founding, store.Options{Program: "test"})
	if err == nil {
		err = errors.Join(st.Close(), desk.Init(t.Context(), deskFile))
	}
	if err != nil {
		t.Fatal(err)
	}
	c.within(func(k *command.Kiosk) {
		who := counter.Who{Person: keeper, Station: "test", Way: counter.Scanner}
		person := func(name string, role event.Roles) state.Person {
			id := made(k.Counter.AddPerson(t.Context(), who, event.PersonAdded{Name: name, Roles: role}))(t)
			return made(k.Store.Person(t.Context(), id))(t)
		}
		for n := range staff {
			p := person(fmt.Sprintf("Attendant %d", n+1), event.Attendant)
			made(k.Desk.SetOneTime(t.Context(), p.ID.String()))(t)
			if err := k.Desk.Choose(t.Context(), p.ID.String(), crowdPIN); err != nil {
				t.Fatal(err)
			}
			c.staff = append(c.staff, p)
		}
		for n := range riggers {
			c.riggers = append(c.riggers, person(fmt.Sprintf("Rigger %d", n+1), event.Rigger))
		}
		for n := range slings {
			c.slings = append(c.slings, hang(t, k, who, key, n+1))
		}
	})
	return c
}

// made is a value that must be there.
func made[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// hang registers a sling that was found fit today, and hangs its tag on.
func hang(t *testing.T, k *command.Kiosk, who counter.Who, key tagcode.Key, n int) hung {
	t.Helper()
	ctx := t.Context()
	d := storetest.Sling(n)
	d.Sling.Inspected, d.Sling.Due = made(k.Store.Today(ctx))(t), quantity.Date{}
	o := made(k.Counter.Register(ctx, who, d))(t)
	if !o.May {
		t.Fatalf("register %s: %v", d.Ident, o.Codes)
	}
	id, text := o.Sling.ID, ""
	seen := counter.Seen{Sling: id, Heads: made(k.Store.Sling(ctx, id))(t).Heads}
	o = made(k.Counter.Print(ctx, who, seen, "test", func(_ context.Context, _ *store.Tx, s state.Sling) (event.TagPrinted, error) {
		tag, err := s.Tag(key.Fingerprint(), s.NextSerial())
		if err != nil {
			return event.TagPrinted{}, err
		}
		sealed, err := tag.Seal(key)
		text = sealed.Text()
		return event.TagPrinted{Serial: tag.Serial, Key: tag.Key, Digest: tagcode.Digest(text), Version: 5, Level: "H", Stock: "test"}, err
	}))(t)
	if !o.May {
		t.Fatalf("print the tag of %s: %v", d.Ident, o.Codes)
	}
	o = made(k.Counter.Confirm(ctx, who, counter.Reading{Text: text, Way: counter.Scanner, Typed: d.Ident}, id))(t)
	if !o.May {
		t.Fatalf("confirm the tag of %s: %v", d.Ident, o.Codes)
	}
	return hung{id: id, ident: d.Ident, text: text}
}

// within opens the crib as a program does, for a while.
func (c *crowd) within(do func(*command.Kiosk)) {
	c.t.Helper()
	k := made(command.Open(c.t.Context(), c.dir, store.Options{Program: "test"}))(c.t)
	do(k)
	if err := k.Close(); err != nil {
		c.t.Fatal(err)
	}
}

// serves serves the crib from this process until the test ends, and says where.
func (c *crowd) serves() (home string, st *store.Store) {
	c.t.Helper()
	k := made(command.Open(c.t.Context(), c.dir, store.Options{Program: "test"}))(c.t)
	listener := made(net.Listen("tcp", "127.0.0.1:0"))(c.t)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- k.Serve(ctx, listener) }()
	c.t.Cleanup(func() {
		stop()
		if err := errors.Join(<-ended, k.Close()); err != nil {
			c.t.Error(err)
		}
	})
	return "http://" + listener.Addr().String(), k.Store
}

// each lets everybody do something at the same time.
func each[T any](list []T, do func(i int, one T)) {
	var all sync.WaitGroup
	begin := make(chan struct{})
	for i, one := range list {
		all.Go(func() {
			<-begin
			do(i, one)
		})
	}
	close(begin)
	all.Wait()
}

// A clerk is one browser at the counter.
type clerk struct {
	*browser.Browser
	staff, rigger state.Person
}

// clerks are browsers in which attendants are signed in, each with a rigger of
// its own. A PIN takes most of a second to look at, on purpose, so the sessions
// are opened past it, by a page of the test that shares the desk.
func (c *crowd) clerks(n int) []*clerk {
	c.t.Helper()
	list := make([]*clerk, n)
	c.within(func(k *command.Kiosk) {
		sessions := k.Desk.Sessions()
		door := httptest.NewServer(sessions.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if err := sessions.SignIn(r.Context(), r.FormValue("who")); err != nil {
				http.Error(w, err.Error(), http.StatusInternalServerError)
			}
		}), func(w http.ResponseWriter, _ *http.Request, err error) {
			http.Error(w, err.Error(), http.StatusInternalServerError)
		}))
		defer door.Close()
		for i := range list {
			at := &clerk{staff: c.staff[i%len(c.staff)], rigger: c.riggers[i%len(c.riggers)]}
			at.Browser = made(browser.New(c.t.Context(), door.URL))(c.t)
			c.t.Cleanup(at.Close)
			if p := made(at.Send("/", url.Values{"who": {at.staff.ID.String()}}))(c.t); p.Status != http.StatusOK {
				c.t.Fatalf("sign in: %d %s", p.Status, p.Body)
			}
			list[i] = at
		}
	})
	return list
}

// ready says for whom slings are taken, and for which lift.
func (at *clerk) ready(t *testing.T, home, back string) {
	t.Helper()
	at.Moves(home)
	v := visitor{at.Browser, t}
	v.must(at.Fill("/counter/rigger", "/counter/rigger", url.Values{"rigger": {at.rigger.ID.String()}}))
	v.must(at.Fill("/counter/lift", "/counter/lift", lift("9000", back)))
	v.must(at.Get("/counter"))
}

// scanned is what a hand scanner sends with the form of the page that is open.
func (at *clerk) scanned(text string) (browser.Page, error) {
	return at.Again("/counter/scan", url.Values{"text": {text}, "way": {"scanner"}})
}
