package web

import (
	"bytes"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/kiosk/web/webtest"
)

// filesWith gives the files beside the desk's, the register's among them, that
// have a text anywhere in them.
func (k *kiosk) filesWith(text string) (names []string) {
	k.t.Helper()
	list, err := filepath.Glob(filepath.Join(filepath.Dir(k.deskFile), "*"))
	if err != nil || len(list) < 2 {
		k.t.Fatal(list, err)
	}
	for _, path := range list {
		if info, err := os.Stat(path); err != nil || info.IsDir() {
			continue
		}
		data, err := os.ReadFile(path)
		if err != nil {
			k.t.Fatal(err)
		}
		if bytes.Contains(bytes.ToLower(data), []byte(strings.ToLower(text))) {
			names = append(names, filepath.Base(path))
		}
	}
	return names
}

func (k *kiosk) erases(page answer, change ...string) url.Values {
	v := url.Values{"key": {newKey()}, "heads": {value(page, "heads")}, "why": {"asked for in writing"}, "pin": {testPIN}}
	for i := 0; i < len(change); i += 2 {
		v.Set(change[i], change[i+1])
	}
	return v
}

// The keeper erases a person who was taken off, with the own PIN once more; no
// file has the name then.
func TestErase(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	_ = text
	gone := k.add("Q. Ferment", event.Rigger|event.Attendant)
	k.signedIn(gone)
	k.goesOut(id, gone, quantity.Date{})
	c := k.signedIn(k.keeper)
	path := "/people/" + gone.ID.String() + "/erase"
	if a := c.post(path, k.erases(c.get("/people"))); a.status != http.StatusUnprocessableEntity || !a.has("still works here") {
		t.Errorf("who is here: %d %s", a.status, a.words())
	}
	if a := c.post("/people/"+gone.ID.String()+"/off", url.Values{"key": {newKey()}}); a.status != http.StatusSeeOther {
		t.Fatalf("taken off: %d", a.status)
	}
	page := c.get("/people")
	if !page.has("Erase name and notes") || !page.has("What stays") {
		t.Fatalf("%s", page.main())
	}
	for _, wrong := range []struct {
		says   string
		change []string
	}{
		{"Name and PIN do not belong together", []string{"pin", "111222"}},
		{"Say why, without the name", []string{"why", " "}},
		{"The reason has the name in it", []string{"why", "q. ferment asked"}},
		{"has slings outside", nil},
	} {
		if a := c.post(path, k.erases(page, wrong.change...)); a.status < 400 || !a.has(wrong.says) || !a.has("open") {
			t.Errorf("%v: %d %s", wrong.change, a.status, a.words())
		}
	}
	k.happens(id, k.attendant, event.Returned{From: gone.ID, Said: event.Something, Note: "Q. FERMENT says it slipped"})
	if len(k.filesWith("ferment")) == 0 {
		t.Fatal("the name is nowhere to begin with")
	}
	form := k.erases(page)
	if a := c.post(path, form); a.status != http.StatusSeeOther {
		t.Fatalf("%d %s", a.status, a.words())
	}
	if files := k.filesWith("ferment"); len(files) > 0 {
		t.Errorf("the name is in %v", files)
	}
	page = c.get("/people")
	if page.has("Ferment") || !page.has(event.InsteadOf(gone.ID)) || !page.has("the name was erased") || page.has("Erase name and notes") {
		t.Errorf("%s", page.main())
	}
	if a := c.post(path, form); a.status != http.StatusSeeOther {
		t.Errorf("sent twice: %d", a.status)
	}
	if page = c.get("/rack/NS-0417"); page.has("erment") || !page.has(event.InsteadOf(gone.ID)+" says it slipped") || !page.has("Came back from "+event.InsteadOf(gone.ID)) {
		t.Errorf("%s", page.words())
	}
	k.stands(id, gate.StateHeld)
	if strings.Contains(k.log.String(), "erment") {
		t.Error("the name is in the log")
	}
	if files := k.filesWith("ferment"); len(files) > 0 {
		t.Errorf("after pages were shown the name is in %v", files)
	}
	for who, status := range map[string]int{k.attendant.ID.String(): http.StatusForbidden, k.inspector.ID.String(): http.StatusForbidden} {
		p := k.attendant
		if who == k.inspector.ID.String() {
			p = k.inspector
		}
		if a := k.signedIn(p).post(path, form); a.status != status {
			t.Errorf("%s: %d", p.Name, a.status)
		}
	}
}

// A browser does not offer the name of who is not here any more.
func TestErasedNameIsNotOffered(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	gone := k.add("Q. Ferment", event.Rigger)
	c := k.signedIn(gone)
	c.post("/sign-out", nil)
	if a := c.get("/sign-in"); !a.has("Q. Ferment") {
		t.Fatalf("%s", a.words())
	}
	k.leaves(gone)
	if a := c.get("/sign-in"); a.has("Ferment") {
		t.Errorf("%s", a.words())
	}
}

// TestEraseLooks measures the form and takes its pictures.
func TestEraseLooks(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.leaves(k.add("Q. Ferment", event.Rigger))
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + "/people")
	webtest.Eval[bool](p, `(document.querySelectorAll("details:has(form[action$='/erase'])").forEach(d => { d.open = true; }), true)`)
	looks(t, p, "people-erase")
}
