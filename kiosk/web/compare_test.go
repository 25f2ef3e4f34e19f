package web

import (
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/copies"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/web/webtest"
	"cribgate/store"
)

// copied copies the register as it is.
func (k *kiosk) copied() string {
	k.t.Helper()
	c, err := k.store.Copy(k.t.Context(), k.t.TempDir(), store.Copying{})
	if err != nil {
		k.t.Fatal(err)
	}
	return c.Path
}

// restored serves the register that a copy gives in place of the one that was
// served; who is signed in stays so.
func (k *kiosk) restored(copied string) {
	k.t.Helper()
	o := store.Options{Now: k.clock, Machine: k.up, Program: "v0.0.0-test"}
	path := filepath.Join(k.t.TempDir(), "register.sqlite")
	if _, err := store.Restore(k.t.Context(), copied, path, "the disk failed", o, nil); err != nil {
		k.t.Fatal(err)
	}
	st, err := store.Open(k.t.Context(), path, o)
	if err != nil {
		k.t.Fatal(err)
	}
	k.t.Cleanup(func() {
		if err := st.Close(); err != nil {
			k.t.Error(err)
		}
	})
	config := k.server.Config
	config.Store, config.Counter = st, counter.New(st, config.Keys.(counter.Keys)).Under(k.audit)
	server, err := New(config)
	if err != nil {
		k.t.Fatal(err)
	}
	k.store, k.server = st, server
	k.http.Config.Handler = server.Handler()
}

// A register that was never restored has nothing to compare, and no page speaks
// of it.
func TestNothingToCompare(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	a := k.signedIn(k.attendant)
	if page := a.get("/counter"); page.has("brought back") {
		t.Errorf("%s", page.words())
	}
	if page := a.get(comparePath); page.status != http.StatusOK || !page.has("never brought back from a copy") || page.hasForm(comparePath) {
		t.Errorf("%d %s", page.status, page.main())
	}
	if page := k.signedIn(k.rigger).get(comparePath); page.status != http.StatusForbidden {
		t.Errorf("a rigger: %d", page.status)
	}
}

// After a restore the counter keeps a sling and asks for its plate, without
// showing what is to be read off it; then it goes out.
func TestCompareAtTheCounter(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, tag := k.hanging("NS-0417", nil)
	_, other := k.hanging("NS-0290", nil)
	away, awayTag := k.hanging("NS-0342", nil)
	k.goesOut(away, k.rigger, k.sling(away).Details.Sling.Due)
	a := k.signedIn(k.attendant)
	k.restored(k.copied())

	a.takes(k.rigger)
	a.lifts(aLift())
	page := a.scan(tag)
	says := gate.NotCompared.Text(gate.Answer{}, inUS)
	if page.verdict() != StaysHere || !page.has(says.Sentence) || !page.hasForm("/counter/compare") {
		t.Fatalf("%q %s", page.verdict(), page.main())
	}
	if !page.has("3 slings are still to be compared.") || !page.has(`href="/compare"`) {
		t.Errorf("no page says what is left: %s", page.words())
	}
	if strings.Contains(page.main(), "NS-0417") || page.has("Take NS-") {
		t.Errorf("what is to be read off the metal is on the screen: %s", page.main())
	}
	page = a.follow(a.send(page, "/counter/compare", url.Values{"typed": {"0290"}}))
	if !page.has("The characters typed are not the last ones") || k.sling(id).ComparedIn == k.cribNow().Restored.Log {
		t.Errorf("another plate: %s", page.words())
	}
	page = a.follow(a.send(page, "/counter/compare", url.Values{"typed": {""}}))
	if needed := gate.PlateNeeded.Text(gate.Answer{}, inUS); !page.has(needed.Sentence) {
		t.Errorf("no plate: %s", page.words())
	}
	page = a.follow(a.send(page, "/counter/compare", url.Values{"typed": {"0417"}}))
	if page.verdict() != MayGo || !page.has("tag, plate and record are of one sling") || !page.has("2 slings are still to be compared.") {
		t.Fatalf("%q %s", page.verdict(), page.words())
	}
	if k.recorded(id, event.KindCompared) != 1 {
		t.Errorf("%v", k.kinds(id))
	}
	if page := a.get("/rack/NS-0417"); !page.has("Compared after the register was brought back: 0417 was typed from the plate, and tag 1 was scanned on the sling.") {
		t.Errorf("the story does not tell: %s", page.main())
	}

	page = a.scan(awayTag) // what comes back comes in
	page = a.follow(a.returns(page))
	if !page.has("Back in") || !page.has("Scan it once more to compare it") {
		t.Errorf("%s", page.words())
	}
	if page = a.scan(awayTag); !page.hasForm("/counter/compare") {
		t.Errorf("%s", page.main())
	}
	page = a.typeCode(k.short(k.sling(away).ID, 1))
	if page.hasForm("/counter/compare") || !page.has("Scan its tag") {
		t.Errorf("compared by a code: %s", page.main())
	}
	i := k.signedIn(k.inspector)
	if page := i.scan(other); !page.hasForm("/counter/compare") || strings.Contains(page.main(), "NS-0290") {
		t.Errorf("an inspector: %s", page.main())
	}
}

// A sling without a tag is compared by an inspector or a keeper, who type all of
// its identification and then see what is on record.
func TestCompareWithoutATag(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0311", nil)
	k.hanging("NS-0417", nil)
	k.restored(k.copied())
	if page := k.signedIn(k.attendant).get(comparePath); page.hasForm(comparePath) || !page.has("2 slings are still to be compared.") {
		t.Errorf("an attendant: %s", page.main())
	}
	i := k.signedIn(k.inspector)
	page := i.get(comparePath)
	if !page.has("The record ends") || !page.has("The disk failed") || strings.Contains(page.main(), "NS-0417") || !strings.Contains(page.main(), "NS-0311") {
		t.Errorf("%s", page.main())
	}
	for typed, want := range map[string]struct {
		status int
		says   string
	}{
		"":        {http.StatusUnprocessableEntity, "all of it"},
		"0311":    {http.StatusNotFound, "No sling on record has just this"},
		"NS-0417": {http.StatusConflict, "It has a tag: scan it"},
		"\x01":    {http.StatusUnprocessableEntity, "cannot be used here"},
	} {
		if a := i.send(page, comparePath, url.Values{"typed": {typed}}); a.status != want.status || !a.has(want.says) {
			t.Errorf("%q: %d %s", typed, a.status, a.main())
		}
	}
	shown := i.send(page, comparePath, url.Values{"typed": {"ns-0311"}})
	if shown.status != http.StatusOK || !shown.has("On record of NS-0311") || k.recorded(id, event.KindCompared) != 0 {
		t.Fatalf("%d %s", shown.status, shown.main())
	}
	done := i.follow(i.send(shown, comparePath, url.Values{"typed": {"NS-0311"}, "seen": {"yes"}}))
	if !done.has("NS-0311 is compared") || !done.has("1 sling is still to be compared.") || k.recorded(id, event.KindCompared) != 1 {
		t.Errorf("%s", done.words())
	}
	if again := i.send(done, comparePath, url.Values{"typed": {"NS-0311"}, "seen": {"yes"}}); again.status != http.StatusConflict {
		t.Errorf("twice: %d %s", again.status, again.main())
	}
}

// A tag that was printed after the copy is told apart, listed, and goes off the
// list when the register has caught up.
func TestTagsAhead(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	copied := k.copied()
	second := k.printed(id)
	k.confirmed(id, second)
	_, unknown := k.hanging("NS-0500", nil)
	a := k.signedIn(k.attendant)
	k.restored(copied)
	a.takes(k.rigger)
	a.lifts(aLift())
	says := gate.RegisterBehind.Text(gate.Answer{}, inUS)
	for _, text := range []string{second, unknown, second} {
		if page := a.scan(text); page.verdict() != StaysHere || !page.has(says.Sentence) || page.hasForm("/counter/compare") {
			t.Fatalf("%q %s", page.verdict(), page.main())
		}
	}
	page := a.get(comparePath)
	if n := strings.Count(page.body, "inspected 10 Nov 2025"); n != 2 || !page.has("A sling that is not on record") || !page.has(`<a href="/rack/NS-0417">`) || !page.has("by I. Maro") {
		t.Errorf("%d: %s", n, page.main())
	}
	k.confirmed(id, k.printed(id)) // serial 2 again, and another one on the sling
	if page := a.get(comparePath); page.has(`<a href="/rack/NS-0417">`) || !page.has("A sling that is not on record") {
		t.Errorf("after the register caught up: %s", page.main())
	}
}

// What the copies and the disks want is said on every page of those who work
// here, and more of it on the page of its own.
func TestCopiesPage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	a := k.signedIn(k.attendant)
	if page := a.get(copiesPath); page.status != http.StatusOK || !page.has("without anybody looking after") {
		t.Errorf("%d %s", page.status, page.main())
	}
	dir, now := k.t.TempDir(), time.Now()
	serve := func(s copies.Settings, free int64) {
		t.Helper()
		keeper := copies.New(k.store, k.deskFile, s, copies.Options{
			Now: func() time.Time { return now }, Room: func(string) (copies.Room, error) { return copies.Room{Free: free}, nil }})
		keeper.Once(t.Context())
		config := k.server.Config
		config.Copies = keeper
		server, err := New(config)
		if err != nil {
			t.Fatal(err)
		}
		k.server, k.http.Config.Handler = server, server.Handler()
	}
	settings := copies.Defaults()
	settings.Dir = dir
	serve(settings, 1<<40)
	page := a.get(copiesPath)
	if !page.has("Last good copy") || !page.has("a minute old") || !page.has("register-") || !page.has("Disk of the register and copies") || !page.has("years, at this pace") {
		t.Errorf("%s", page.main())
	}
	if page := a.get("/counter"); page.has("Copies and disks") {
		t.Errorf("nothing is wrong, and the counter says: %s", page.words())
	}
	now = now.Add(4*time.Hour + 10*time.Minute)
	if page := a.get("/counter"); !page.has("The last good copy of the register is 4 hours old") || !page.has(`href="/copies"`) {
		t.Errorf("%s", page.words())
	}
	if page := k.signedIn(k.rigger).get("/rack"); page.has("last good copy") {
		t.Errorf("a rigger is told: %s", page.words())
	}
	if page := k.client().get("/sign-in"); page.has("last good copy") {
		t.Errorf("a stranger is told: %s", page.words())
	}
	serve(copies.Settings{}, copies.LeastFree-1)
	if page := a.get("/counter"); !page.has("The disk is nearly full") || page.has("No copies of the register are made") {
		t.Errorf("%s", page.words())
	}
	if page := k.signedIn(k.keeper).get("/setup"); !page.has("No copies of the register are made") {
		t.Errorf("%s", page.words())
	}
}

// TestCompareInBrowser looks at the pages of a restored register.
func TestCompareInBrowser(t *testing.T) {
	k := newKiosk(t)
	k.filled()
	_, tag := k.hanging("NS-0701", nil)
	copied := k.copied()
	_, unknown := k.hanging("NS-0702", nil)
	k.restored(copied)
	p := k.opened(webtest.Start(t), k.inspector)
	p.Go(k.http.URL + "/counter")
	scanned(p, unknown)
	scanned(p, tag)
	looks(t, p, "counter-compare")
	p.Go(k.http.URL + comparePath)
	looks(t, p, "compare")
	p.Type("#f-typed", "NS-0311")
	p.Follow("form[action='/compare'] button")
	looks(t, p, "compare-bare")

	dir := t.TempDir()
	settings := copies.Defaults()
	settings.Dir = dir
	keeper := copies.New(k.store, k.deskFile, settings, copies.Options{
		Now: time.Now, Room: func(string) (copies.Room, error) { return copies.Room{Free: 6_000_000_000}, nil }})
	keeper.Once(t.Context())
	config := k.server.Config
	config.Copies = keeper
	server, err := New(config)
	if err != nil {
		t.Fatal(err)
	}
	k.http.Config.Handler = server.Handler()
	p.Go(k.http.URL + copiesPath)
	looks(t, p, "copies")
}
