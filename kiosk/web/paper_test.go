package web

import (
	"bytes"
	"image/jpeg"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// A sheet of the pad is entered row by row: out, back, and each row once.
func TestPaper(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, tag := k.hanging("NS-0417", nil)
	k.hanging("NS-0418", nil)
	c := k.signedIn(k.attendant)

	sheets := c.send(c.get("/paper"), "/paper/pad", url.Values{"sheets": {"2"}})
	if n := strings.Count(sheets.body, `class="pad"`); sheets.status != http.StatusOK || n != 2 || !sheets.has("Sheet 2") || strings.Count(sheets.body, `<th scope="row">`) != 2*event.PadRows {
		t.Fatalf("%d, %d sheets: %s", sheets.status, n, sheets.words())
	}
	for _, path := range []string{"/paper/pad/1-3", "/paper/pad/0-1", "/paper/pad/2-1", "/paper/pad/x", "/paper/pad/1-1-"} {
		if a := c.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}

	out := url.Values{"what": {"out"}, "sling": {"ns-0417"}, "rigger": {k.rigger.Name}, "day": {"2026-03-02"}, "clock": {"7:10"}, "pad": {"2"}, "row": {"1"}, "note": {"9,000 lb at 60°"}}
	with := func(change ...string) url.Values {
		v := url.Values{}
		for name, value := range out {
			v[name] = value
		}
		for i := 0; i < len(change); i += 2 {
			v.Set(change[i], change[i+1])
		}
		return v
	}
	page := c.get("/paper")
	for _, x := range []struct {
		form url.Values
		says string
	}{
		{with("what", ""), "Say whether it went out or came back."},
		{with("sling", ""), "Scan the tag, or type the identification."},
		{with("sling", "NS-9999"), "No sling of this crib has this identification."},
		{with("rigger", "N. Body"), "Nobody here has this name."},
		{with("clock", "25:10"), "Hours and minutes"},
		{with("clock", "7:1"), "Hours and minutes"},
		{with("clock", ""), "Type the time that is written in the row."},
		{with("day", ""), "On which day?"},
		{with("day", "2026-03-03"), "This time is to come"}, // it is the 2nd in the crib
		{with("day", "2026-02-01"), "more than 14 days ago"},
		{with("pad", "3"), "of a sheet that was never printed"},
		{with("pad", ""), "Which sheet is the row on?"},
		{with("row", ""), "Which row of the sheet?"},
		{with("row", "13"), "A number from 1 to 12."},
		{with("back", "soon"), "This is no date."},
		{with("what", "back"), "Ask whoever had it, or say that nobody can say."},
		{with("what", "back", "said", "something", "note", ""), "Write what happened"},
		{with("what", "back", "said", "nothing"), "cannot be done with the sling"},
	} {
		if a := c.send(page, "/paper", x.form); a.status < 400 || !strings.Contains(a.words(), x.says) {
			t.Errorf("%v: %d, want %q: %s", x.form, a.status, x.says, a.words())
		}
	}
	if n := k.recorded(id, event.KindTaken); n != 0 {
		t.Fatalf("%d recorded by forms that cannot be", n)
	}
	if a := c.send(page, "/paper", out); !a.has("NS-0417 is recorded as out.") || !a.has(`name="row" type="text" autocomplete="off" value="2"`) {
		t.Fatalf("%d: %s", a.status, a.words())
	}
	if s := k.sling(id); s.Details.Sling.State != gate.StateOut || s.Loan.Rigger != k.rigger.ID {
		t.Errorf("%s with %s", s.Details.Sling.State, s.Loan.Rigger)
	}
	if a := c.send(c.get("/paper"), "/paper", with("sling", "NS-0418")); a.status != http.StatusConflict || !a.has("This row was entered before") {
		t.Errorf("the row again: %d %s", a.status, a.words())
	}
	read := c.send(c.get("/paper"), "/paper", url.Values{"text": {tag}, "way": {"scanner"}})
	if read.status != http.StatusOK || !read.has(`value="NS-0417"`) || !read.has(`value="back" checked`) || k.recorded(id, event.KindReturned) != 0 {
		t.Errorf("scanned into the form: %d %s", read.status, read.main())
	}
	if a := c.send(read, "/paper", with("what", "back", "said", "not-known", "row", "2", "clock", "14.05")); !a.has("NS-0417 is recorded as back.") {
		t.Errorf("back: %d %s", a.status, a.words())
	}
	if s := k.sling(id); s.Details.Sling.State != gate.StateHeld {
		t.Errorf("after nobody could say: %s", s.Details.Sling.State)
	}
	if a := c.send(c.get("/paper"), "/paper", url.Values{"text": {"HTTPS://X.TEST/"}, "way": {"scanner"}}); a.status != http.StatusUnprocessableEntity || !a.has("web address") {
		t.Errorf("a web address: %d %s", a.status, a.words())
	}
	if a := k.signedIn(k.rigger).get("/paper"); a.status != http.StatusForbidden {
		t.Errorf("a rigger: %d", a.status)
	}
}

// What nobody knows is kept apart with a picture that has nothing in it but what it
// shows, until somebody who may says what became of it; the keeper takes a picture
// out for good.
func TestStrays(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	page := c.get("/strays")
	if !page.has("Nothing is kept apart.") {
		t.Fatalf("%d %s", page.status, page.words())
	}
	form := page.form(t, "/strays")
	if a := c.sends("/strays", form, blankPNG(t)); a.status != http.StatusUnprocessableEntity || !a.has("Say where it lies") {
		t.Errorf("nowhere: %d %s", a.status, a.words())
	}
	form.Set("lies", "cage")
	form.Set("note", "no tag, 1/2 in, two legs")
	if a := c.sends("/strays", form, []byte("no picture")); a.status != http.StatusUnprocessableEntity || len(k.cribNow().Strays) != 0 {
		t.Errorf("no picture: %d %s", a.status, a.words())
	}
	a := c.follow(c.sends("/strays", form, blankPNG(t)))
	if !a.has("Write the number 1 on a label") || !a.has("Number 1") || a.hasForm("/strays/1/settle") {
		t.Fatalf("%d %s", a.status, a.words())
	}
	src := regexp.MustCompile(`src="(/photo/[0-9a-f]{64})"`).FindStringSubmatch(a.body)
	if src == nil {
		t.Fatalf("no picture: %s", a.main())
	}
	picture := c.get(src[1])
	if _, err := jpeg.Decode(bytes.NewReader([]byte(picture.body))); picture.status != http.StatusOK || err != nil || strings.Contains(picture.body, "Exif") {
		t.Errorf("the picture: %d, %v", picture.status, err)
	}
	for _, path := range []string{"/photo/" + strings.Repeat("0", 64), "/photo/" + strings.Repeat("1", 64), "/photo/x"} {
		if a := c.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}

	keeper := k.signedIn(k.keeper)
	list := keeper.get("/strays")
	if a := keeper.send(list, src[1]+"/out", nil); !a.has("The picture is gone") {
		t.Errorf("%d %s", a.status, a.words())
	}
	if a := keeper.get(src[1]); a.status != http.StatusNotFound || !a.has("This picture was taken out.") {
		t.Errorf("%d %s", a.status, a.words())
	}
	form = list.form(t, "/strays")
	form.Set("lies", "cage")
	if a := keeper.sends("/strays", form, blankPNG(t)); a.status != http.StatusUnprocessableEntity || !a.has("This picture was taken out for good.") {
		t.Errorf("the same picture again: %d %s", a.status, a.words())
	}
	inspector := k.signedIn(k.inspector)
	list = inspector.get("/strays")
	if a := inspector.send(list, "/strays/1/settle", nil); a.status != http.StatusUnprocessableEntity || !a.has("Write what became of it.") {
		t.Errorf("nothing written: %d %s", a.status, a.words())
	}
	if a := inspector.send(list, "/strays/1/settle", url.Values{"how-1": {"given back to its crib"}}); !a.has("Number 1 is settled.") || !a.has("Nothing is kept apart.") {
		t.Errorf("%d %s", a.status, a.words())
	}
	if a := inspector.send(list, "/strays/1/settle", url.Values{"how-1": {"cut up"}}); a.status != http.StatusConflict && a.status != http.StatusGone {
		t.Errorf("settled twice: %d %s", a.status, a.words())
	}
}
