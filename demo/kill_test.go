package main

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	mathrand "math/rand/v2"

	"cribgate/core/event"
	"cribgate/demo/browser"
	"cribgate/kiosk/command"
	"cribgate/store"
)

// killed is how often the kiosk dies in the whole of TestKilledUnderLoad.
const killed = 1000

// A kiosk that is killed at any moment, with eight browsers at its counter and a
// labeler beside it, has lost nothing that it acknowledged and done nothing twice.
// What a browser does not know it learns by asking again, or by looking.
func TestKilledUnderLoad(t *testing.T) {
	r := random(t)
	n, _ := roundsOf(killed)
	const browsers = 8
	c := newCrowd(t, 2, browsers, browsers+1)
	own, spare := c.slings[:browsers], c.slings[browsers] // nobody takes the spare one; its tags are printed
	var workers []*worker
	for i, at := range c.clerks(browsers) {
		workers = append(workers, &worker{clerk: at, sling: own[i], chance: mathrand.New(mathrand.NewPCG(r.Uint64(), 2))})
	}
	c.within(func(k *command.Kiosk) { c.base = made(k.Store.Head(t.Context()))(t).At })
	var asked, looked int
	for round := range n {
		k := serves(t, "kiosk", "serve", "--register", c.dir, "--listen", "127.0.0.1:0")
		for _, w := range workers {
			if round == 0 {
				w.ready(t, k.home, today(t, c.dir, 30))
			}
			w.Moves(k.home)
			if w.open != nil {
				asked++
			}
			if err := w.settle(); err != nil {
				t.Fatalf("round %d: %v", round, err)
			}
		}
		c.holdsWhat(workers, spare, round%10 == 9)
		var labeler sync.WaitGroup
		if round%5 == 0 {
			labeler.Go(func() { c.prints(spare) })
		}
		c.load(k, workers, time.Duration(r.Int64N(int64(150*time.Millisecond))))
		labeler.Wait()
		if t.Failed() {
			t.Fatalf("round %d", round)
		}
	}
	k := serves(t, "kiosk", "serve", "--register", c.dir, "--listen", "127.0.0.1:0")
	done := 0
	for _, w := range workers {
		w.Moves(k.home)
		if err := w.settle(); err != nil {
			t.Fatal(err)
		}
		done += len(w.done)
		looked += w.looked
	}
	k.interrupt()
	c.holdsWhat(workers, spare, true)
	c.within(func(k *command.Kiosk) { sameAfterRebuild(t, k.Store) })
	t.Logf("%d kills: %d acts were acknowledged; %d times nobody knew, %d of them learned it by looking", n, done, asked, looked)
	if done < n {
		t.Errorf("%d acts in %d rounds: there was no load", done, n)
	}
}

// load has everybody work until the kiosk is killed, some time after the first
// act is acknowledged.
func (c *crowd) load(k *child, workers []*worker, after time.Duration) {
	c.t.Helper()
	var all sync.WaitGroup
	var down atomic.Bool
	begun := make(chan struct{}, len(workers))
	for _, w := range workers {
		all.Go(func() {
			if err := w.work(begun); err != nil && !down.Load() {
				c.t.Error(err)
			}
		})
	}
	<-begun
	<-time.After(after)
	down.Store(true)
	k.kill()
	all.Wait()
}

// prints has the labeler print another tag of a sling.
func (c *crowd) prints(sling hung) {
	out := filepath.Join(c.t.TempDir(), fmt.Sprintf("tag-%d.svg", c.printed))
	cmd := program(c.t.Context(), c.t, "labeler", "print", "--template", "plate-50x80", "--register", c.dir, "--sling", sling.ident, "--out", out)
	if said, err := cmd.CombinedOutput(); err != nil {
		c.t.Errorf("labeler: %v\n%s", err, said)
		return
	}
	c.printed++
	if err := os.Remove(out); err != nil {
		c.t.Error(err)
	}
}

// holdsWhat compares the register with what everybody was told: each sling's story
// is exactly the acts that were acknowledged for it, in order, and there is nothing
// else; where whole is set the chain is verified too.
func (c *crowd) holdsWhat(workers []*worker, spare hung, whole bool) {
	c.t.Helper()
	ctx := c.t.Context()
	register, _, _ := store.Paths(c.dir)
	st := made(store.Open(ctx, register, store.Options{Program: "test"}))(c.t)
	defer st.Close()
	want := c.base + int64(c.printed)
	for _, w := range workers {
		want += int64(len(w.done))
		var told []string
		for _, rec := range made(st.Story(ctx, event.Sling(w.sling.id)))(c.t) {
			switch body := rec.Body.(type) {
			case event.Issued:
				told = append(told, "issued")
			case event.Returned:
				told = append(told, "returned "+body.Note)
			}
		}
		if !slices.Equal(told, w.done) {
			c.t.Fatalf("%s: acknowledged %d, recorded %d: %q and %q", w.sling.ident, len(w.done), len(told), last(w.done), last(told))
		}
	}
	if tags := len(made(st.Sling(ctx, spare.id))(c.t).Tags); tags != 1+c.printed {
		c.t.Fatalf("%d tags of %s are recorded, %d were printed", tags, spare.ident, 1+c.printed)
	}
	if head := made(st.Head(ctx))(c.t); head.At != want {
		c.t.Fatalf("the register holds %d events, %d were acknowledged", head.At, want)
	}
	if whole {
		if report := made(st.Verify(ctx, nil))(c.t); !report.Whole() {
			c.t.Fatalf("verify: %v", report.Breaks)
		}
	}
}

func last(list []string) []string { return list[max(0, len(list)-3):] }

// sameAfterRebuild makes the present again from the log and compares.
func sameAfterRebuild(t *testing.T, st *store.Store) {
	t.Helper()
	dump := func() string {
		var text strings.Builder
		if err := st.Dump(t.Context(), &text); err != nil {
			t.Fatal(err)
		}
		return text.String()
	}
	before := dump()
	if err := st.Rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	if after := dump(); before != after {
		t.Error("a rebuild gives another present")
	}
}

// A worker takes one sling out and back again, and keeps what it was told.
type worker struct {
	*clerk
	sling  hung
	chance *mathrand.Rand
	done   []string // acts that were acknowledged, as the register tells them
	open   *act     // one that was sent and not answered
	looked int
}

type act struct {
	path string
	form url.Values
	what string // as the register tells it
	says string // what the page says after it
}

// work goes on until an answer does not come. begun is told of the first act.
func (w *worker) work(begun chan<- struct{}) error {
	for first := true; ; first = false {
		if err := w.next(); err != nil {
			return err
		}
		if err := w.send(); err != nil {
			return err
		}
		if first {
			begun <- struct{}{}
		}
	}
}

// next scans the sling and fills in the form that comes.
func (w *worker) next() error {
	p, err := w.scanned(w.sling.text)
	if err != nil {
		return err
	}
	n := len(w.done)
	a := act{path: "/counter/issue", what: "issued", says: "Handed over", form: url.Values{"typed": {w.sling.plate()}}}
	if n%2 == 1 {
		note := fmt.Sprintf("act %d", n)
		a = act{path: "/counter/return", what: "returned " + note, says: "Back in"}
		a.form = p.AllWell(a.path)
		a.form.Set("note", note)
	}
	hidden, err := p.Form(a.path)
	if err != nil {
		return fmt.Errorf("%s, act %d: %w: %s", w.sling.ident, n, err, p.Text(browser.Sentence))
	}
	for name, values := range a.form {
		hidden[name] = values
	}
	a.form = hidden
	w.open = &a
	return nil
}

// send sends what is open; the same again does no harm.
func (w *worker) send() error {
	p, err := w.Send(w.open.path, w.open.form)
	if err != nil {
		return err
	}
	if p.Status != http.StatusOK || p.Text(browser.VerdictWords) != w.open.says {
		return fmt.Errorf("%s: %s answered %d %q %q %q", w.sling.ident, w.open.what, p.Status, p.Text(browser.VerdictWords), p.Text(browser.Sentence), p.Text(browser.Wrong))
	}
	w.done, w.open = append(w.done, w.open.what), nil
	return nil
}

// settle learns what became of an act that was not answered: mostly by asking
// again, now and then by loading the page, which must tell the truth.
func (w *worker) settle() error {
	if w.open == nil {
		_, err := w.Get("/counter")
		return err
	}
	if w.chance.IntN(4) > 0 {
		return w.send()
	}
	w.looked++
	p, err := w.Get("/counter")
	if err != nil {
		return err
	}
	_, mayGo := p.Form("/counter/issue")
	_, isOut := p.Form("/counter/return")
	words, before := p.Text(browser.VerdictWords), mayGo == nil
	if w.open.path == "/counter/return" {
		before = isOut == nil || words == "Handed over"
	}
	switch {
	case words == w.open.says, w.open.path == "/counter/return" && mayGo == nil:
		w.done = append(w.done, w.open.what)
	case !before:
		return fmt.Errorf("%s: after %s was not answered the page says %q %q", w.sling.ident, w.open.what, words, p.Text(browser.Sentence))
	}
	w.open = nil
	return nil
}
