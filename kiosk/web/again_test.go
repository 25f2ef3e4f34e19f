package web

import (
	"context"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/store"
)

// atScan is a browser that shows a sling that may go, and the form that hands it
// over.
func (k *kiosk) atScan(text string) (*client, url.Values) {
	k.t.Helper()
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	return c, c.scan(text).form(k.t, "/counter/issue")
}

// TestAnswerLostThenLooked: who loads the page after an answer was lost is told
// what became of the act, also where the kiosk ended between recording it and
// keeping the counter.
func TestAnswerLostThenLooked(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c, _ := k.atScan(text)
	k.goesOut(id, k.rigger, day(t, "2026-03-04")) // by the attendant, and the session knows nothing of it
	if page := c.get("/counter"); !page.has("Handed over") || !page.has("T. Brandt has it since") {
		t.Errorf("looked at: %s", page.main())
	}
	if page := c.scan(text); !page.has("Back from T. Brandt") {
		t.Errorf("scanned: %s", page.main())
	}
}

// TestSentAgainLate: a form that was done is never told as not done, whatever has
// changed since, and one that was not done never as done.
func TestSentAgainLate(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	for name, change := range map[string]struct {
		do          func(*client)
		done, never string
	}{
		"cleared": {func(c *client) { c.cleared() },
			"What you sent had arrived before that and was done, once.", "The counter was cleared meanwhile, and nothing was done."},
		"lift": {func(c *client) { c.lifts(with(aLift(), "load", "9000")) },
			"it was handed over then, once.", "nothing was handed over."},
		"signed out": {func(c *client) { c.post("/sign-out", nil) },
			"What you sent had arrived before that, and counts once", "What you sent was not done"},
	} {
		for ident, arrived := range map[string]bool{"YES ": true, "NO ": false} {
			id, text := k.hanging(ident+strings.ToUpper(name), nil)
			c, form := k.atScan(text)
			want, not := change.never, change.done
			if arrived {
				want, not = not, want
				c.post("/counter/issue", form)
			}
			change.do(c)
			page := c.follow(c.post("/counter/issue", form))
			if !page.has(want) || page.has(not) {
				t.Errorf("%s, arrived before: %v: %s", name, arrived, page.main())
			}
			if (k.recorded(id, event.KindIssued) == 1) != arrived {
				t.Errorf("%s, arrived before: %v: recorded %v", name, arrived, k.kinds(id))
			}
		}
	}
}

// TestTakenOffTwice: a form that stands in its own way when it is sent again is
// answered as it was the first time.
func TestTakenOffTwice(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	path := "/people/" + k.rigger.ID.String()
	for _, act := range []struct{ path, says string }{{"/off", "T. Brandt is taken off."}, {"/on", "T. Brandt is here again."}} {
		form := c.get("/people").form(t, path+act.path)
		for range 2 {
			if page := c.follow(c.post(path+act.path, form)); !page.has(act.says) {
				t.Errorf("%s: %d %s", act.path, page.status, page.main())
			}
		}
		form.Set("key", newKey())
		if a := c.post(path+act.path, form); a.status != http.StatusNotFound {
			t.Errorf("%s from another page: %d", act.path, a.status)
		}
	}
	story, err := k.store.Story(t.Context(), event.Person(k.rigger.ID))
	if err != nil || len(story) != 3 {
		t.Errorf("%d facts are recorded, want added, off and on; %v", len(story), err)
	}
}

// TestFormsGrowOld: nothing is taken from a page that is older than the answers may
// be, so that none is done a second time.
func TestFormsGrowOld(t *testing.T) {
	t.Parallel()
	if taken := time.Duration(formLife+2) * 24 * time.Hour; taken > store.AnswersKept {
		t.Errorf("forms are taken for up to %v, answers are kept for %v", taken, store.AnswersKept)
	}
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c, form := k.atScan(text)
	today := dayOf(time.Now())
	for _, row := range []struct {
		key   string
		taken bool
	}{
		{keyOf(today - formLife - 1), false}, {keyOf(today + 2), false}, {strings.Repeat("A", len(newKey())), false}, {newKey()[1:], false}, {"", false},
		{keyOf(today - formLife + 1), true},
	} {
		form.Set("key", row.key)
		a := c.post("/counter/issue", form)
		if got := k.recorded(id, event.KindIssued) == 1; got != row.taken || a.status == http.StatusSeeOther != row.taken {
			t.Errorf("key %q: %d %v", row.key, a.status, k.kinds(id))
		}
	}
}

// TestWhereAFormLeads: our script is told where a form leads and loads that page
// itself, so that what is said once is said there.
func TestWhereAFormLeads(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	path := slingPath(k.sling(id))
	form := c.get(path).form(t, path+"/hold")
	form.Set("hold-reason", "gouged")
	r := c.request(http.MethodPost, path+"/hold", strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set(byScript, "1")
	a := c.do(r)
	if a.status != http.StatusNoContent || a.header.Get(leadsTo) != path || k.recorded(id, event.KindHeld) != 1 {
		t.Fatalf("%d to %q, recorded %v", a.status, a.header.Get(leadsTo), k.kinds(id))
	}
	if page := c.get(path); !page.has("NS-0417 is held.") {
		t.Errorf("there: %s", page.main())
	}
}

// TestAskAgainWhenBusy: while another program writes for longer than anybody waits,
// the page says so and offers the same once more, which is then done once.
func TestAskAgainWhenBusy(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c, form := k.atScan(text)
	ends := k.writes()
	page := c.post("/counter/issue", form)
	if page.status != http.StatusServiceUnavailable || !page.has("Another program is writing to the register") || !page.has("If you had pressed before, that may have been saved: look first.") {
		t.Fatalf("while another program writes: %d %s", page.status, page.main())
	}
	ends()
	again := page.form(t, "/counter/issue")
	for range 2 {
		if page = c.follow(c.post("/counter/issue", again)); !page.has("Handed over") {
			t.Errorf("asked again: %s", page.main())
		}
	}
	if again.Encode() != form.Encode() || k.recorded(id, event.KindIssued) != 1 {
		t.Errorf("asked %v, then %v; recorded %v", form, again, k.kinds(id))
	}
}

// TestNoPINInAPage: a form that holds a PIN is never offered again.
func TestNoPINInAPage(t *testing.T) {
	v := &visit{private: true, r: &http.Request{Method: http.MethodPost, URL: &url.URL{Path: "/pin"},
		PostForm: url.Values{"key": {newKey()}, "first": {"902758"}}}}
	if v.again(Busy) != nil {
		t.Error("it is offered")
	}
	if v.private = false; v.again(Busy) == nil || v.again(Stale) != nil {
		t.Error("what is no PIN is not offered, or where it is of no use")
	}
	v.r.PostForm.Set("keeper-pin", "902758")
	if v.again(Busy) != nil {
		t.Error("a PIN among other fields is offered")
	}
	// Fields that take one are known by their names, or lie on a page of nothing else.
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(text)) {
			if strings.HasSuffix(file, "_test.go") || file == "pin.go" || !strings.Contains(line, `Type: "password"`) {
				continue
			}
			found++
			if !strings.Contains(line, `Name: "pin"`) && !strings.Contains(line, `-pin"`) {
				t.Errorf("%s: a field for a PIN is not known as one: %s", file, line)
			}
		}
	}
	if found < 2 {
		t.Errorf("%d fields for PINs were found", found)
	}
}

// writes lets another program have the register until ends is called.
func (k *kiosk) writes() (ends func()) {
	k.t.Helper()
	register, _, _ := store.Paths(filepath.Dir(k.deskFile))
	other, err := store.Open(k.t.Context(), register, store.Options{Now: k.now, Program: "other"})
	if err != nil {
		k.t.Fatal(err)
	}
	begun, end, ended := make(chan struct{}), make(chan struct{}), make(chan error, 1)
	go func() {
		_, err := other.Do(context.Background(), store.Act{Station: "other", Way: "program"}, func(context.Context, *store.Tx) ([]byte, error) {
			close(begun)
			<-end
			return nil, nil
		})
		ended <- err
	}()
	<-begun
	return func() {
		k.t.Helper()
		close(end)
		if err := <-ended; err != nil {
			k.t.Error(err)
		}
		if err := other.Close(); err != nil {
			k.t.Error(err)
		}
	}
}
