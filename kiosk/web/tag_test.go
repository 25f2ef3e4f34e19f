package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/scan"
)

// sends a form with a file in it, as a browser does.
func (c *client) sends(path string, form url.Values, file []byte) answer {
	c.k.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, values := range form {
		for _, value := range values {
			if err := w.WriteField(name, value); err != nil {
				c.k.t.Fatal(err)
			}
		}
	}
	if file != nil {
		part, err := w.CreateFormFile("picture", "tag.png")
		if err != nil {
			c.k.t.Fatal(err)
		}
		if _, err := part.Write(file); err != nil {
			c.k.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		c.k.t.Fatal(err)
	}
	r := c.request(http.MethodPost, path, &body)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return c.do(r)
}

func TestTagFromPrintToConfirm(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	other := k.shelved("NS-0290", nil)
	c := k.signedIn(k.keeper)
	page := c.get("/rack/NS-0417/tag")
	for _, text := range []string{"No tag waits to be confirmed. Print one first.", "disc-70", "plate-50x80", "after 7 days it lapses",
		"A QR tag never stands in for the maker’s rating tag."} {
		if !strings.Contains(page.words(), text) {
			t.Errorf("the page lacks %q: %s", text, page.words())
		}
	}
	if a := c.send(page, "/rack/NS-0417/tag", url.Values{}); a.status != http.StatusUnprocessableEntity || !a.has("Choose the blank tag") {
		t.Errorf("without a stock: %d", a.status)
	}
	if a := c.get("/rack/NS-0417/tag/1.pdf"); a.status != http.StatusNotFound {
		t.Errorf("a file of a tag that was not printed: %d", a.status)
	}
	form := page.form(t, "/rack/NS-0417/tag")
	form.Set("stock", "plate-50x80")
	for range 2 { // sent twice
		if a := c.post("/rack/NS-0417/tag", form); a.status != http.StatusSeeOther || a.to != "/rack/NS-0417/tag" {
			t.Fatalf("print: %d %s", a.status, a.words())
		}
	}
	if n := k.recorded(id, event.KindTagPrinted); n != 1 {
		t.Fatalf("%d tags recorded by one form", n)
	}
	page = c.get("/rack/NS-0417/tag")
	if code := k.short(id, 1); !page.has("Tag 1 waits to be confirmed") || !page.has(code) || !page.has("Good until 9 Mar 2026, 7 days left.") {
		t.Errorf("the page: %s", page.words())
	}

	// The files are the tag that the register knows.
	for _, x := range []struct{ file, kind, begins string }{
		{"1.pdf", "application/pdf", "%PDF-"}, {"1.svg", "image/svg+xml", "<"}, {"1.png", "image/png", "\x89PNG"}, {"1.dxf", "image/vnd.dxf", "999\r\n"},
	} {
		a, again := c.get("/rack/NS-0417/tag/"+x.file), c.get("/rack/NS-0417/tag/"+x.file)
		if a.status != http.StatusOK || a.header.Get("Content-Type") != x.kind || !strings.HasPrefix(a.body, x.begins) ||
			!strings.Contains(a.header.Get("Content-Disposition"), "tag-NS-0417-"+x.file) {
			t.Errorf("%s: %d %v %.20q", x.file, a.status, a.header, a.body)
		}
		if a.body != again.body {
			t.Errorf("%s is another file the second time", x.file)
		}
	}
	for _, file := range []string{"2.pdf", "1.exe", "01.pdf", "x.pdf", "1"} {
		if a := c.get("/rack/NS-0417/tag/" + file); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", file, a.status)
		}
	}
	picture := []byte(c.get("/rack/NS-0417/tag/1.png").body)
	text, err := scan.Image(picture)
	if err != nil {
		t.Fatal(err)
	}
	tag := k.sling(id).Tags[0]
	if tagcode.Digest(text) != tag.Digest || tag.Stock != "plate-50x80" || tag.Version < 1 || tag.Level == "" {
		t.Errorf("the picture reads %q, the register has %+v", text, tag)
	}

	// What does not confirm it.
	otherText := k.printed(other)
	for _, x := range []struct {
		name, text, typed, says string
		status                  int
	}{
		{"no scan", "", "0417", "Scan the tag, or choose a picture of it.", 422},
		{"nothing typed", text, "", "The last characters of the plate are needed.", 409},
		{"too few characters", text, "17", "These are too few: type at least the last 3.", 409},
		{"another plate", text, "0418", "not the last ones of this sling", 409},
		{"the tag of another sling", otherText, "0417", "This tag belongs to another sling.", 409},
		{"a foreign symbol", "https://example.test/", "0417", "web address", 409},
		{"a cut tag", text[:50], "0417", "not one of this crib", 409},
		{"a forged tag", strings.Replace(text, text[60:], "AAAA", 1), "0417", "its seal is wrong", 409},
		{"the short code", k.short(id, 1), "0417", "not one of this crib", 409},
	} {
		form := c.get("/rack/NS-0417/tag").form(t, "/rack/NS-0417/tag/confirm")
		form.Set("text", x.text)
		form.Set("typed", x.typed)
		a := c.sends("/rack/NS-0417/tag/confirm", form, nil)
		if a.status != x.status || !strings.Contains(a.words(), x.says) {
			t.Errorf("%s: %d, want %d with %q: %s", x.name, a.status, x.status, x.says, a.words())
		}
	}
	if _, live := k.sling(id).Live(); live {
		t.Fatal("a refused scan made the tag live")
	}
	for name, file := range map[string][]byte{"no picture": []byte("not a picture"), "no symbol": blankPNG(t)} {
		form := c.get("/rack/NS-0417/tag").form(t, "/rack/NS-0417/tag/confirm")
		form.Set("typed", "0417")
		if a := c.sends("/rack/NS-0417/tag/confirm", form, file); a.status != http.StatusUnprocessableEntity || !a.has(`id="e-picture"`) {
			t.Errorf("%s: %d %s", name, a.status, a.words())
		}
	}

	// The plate asked for after the scan keeps the scan.
	form = c.get("/rack/NS-0417/tag").form(t, "/rack/NS-0417/tag/confirm")
	form.Set("text", text)
	a := c.sends("/rack/NS-0417/tag/confirm", form, nil)
	kept := a.form(t, "/rack/NS-0417/tag/confirm")
	if kept.Get("text") != text {
		t.Errorf("the scan is lost: %v", kept)
	}
	// By a picture, with the end of the plate in small letters; sent twice it counts once.
	form = c.get("/rack/NS-0417/tag").form(t, "/rack/NS-0417/tag/confirm")
	form.Set("typed", " ns-0417 ")
	for range 2 {
		if a := c.follow(c.sends("/rack/NS-0417/tag/confirm", form, picture)); !a.has("the tag is confirmed and good from now on") {
			t.Fatalf("confirm: %d %s", a.status, a.words())
		}
	}
	if k.recorded(id, event.KindTagConfirmed) != 1 {
		t.Errorf("recorded %v", k.kinds(id))
	}
	if live, ok := k.sling(id).Live(); !ok || live.Serial != 1 {
		t.Error("the tag is not live")
	}
	if a := c.get("/rack/NS-0417/tag/1.pdf"); a.status != http.StatusNotFound {
		t.Errorf("a file of a tag that is on the sling: %d", a.status)
	}
	if strings.Contains(k.log.String(), text) {
		t.Error("a tag's text is in the log")
	}
}

// The next tag kills the one before it, and only when it is confirmed.
func TestTagReplaced(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, first := k.hanging("NS-0417", nil)
	c := k.signedIn(k.inspector)
	c.send(c.get("/rack/NS-0417/tag"), "/rack/NS-0417/tag", url.Values{"stock": {"disc-70"}})
	if live, ok := k.sling(id).Live(); !ok || live.Serial != 1 {
		t.Fatal("printing killed the older tag")
	}
	text, err := scan.Image([]byte(c.get("/rack/NS-0417/tag/2.png").body))
	if err != nil {
		t.Fatal(err)
	}
	confirm := func(text string) answer {
		form := c.get("/rack/NS-0417/tag").form(t, "/rack/NS-0417/tag/confirm")
		form.Set("text", text)
		form.Set("typed", "417")
		return c.follow(c.sends("/rack/NS-0417/tag/confirm", form, nil))
	}
	if a := confirm(first); !a.has("This tag is confirmed already.") {
		t.Errorf("confirming the live tag: %s", a.words())
	}
	if a := confirm(text); !a.has("the tag is confirmed") {
		t.Fatalf("confirm: %s", a.words())
	}
	tags := k.sling(id).Tags
	if tags[0].Status != state.TagReplaced || tags[1].Status != state.TagLive {
		t.Errorf("tags %+v", tags)
	}
	if a := c.get("/rack/NS-0417"); !a.has("dead: a newer one was confirmed") {
		t.Errorf("the page: %s", a.words())
	}
}

// A waiting tag is not drawn again once it would lie.
func TestTagBehindRecord(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	c := k.signedIn(k.inspector)
	c.send(c.get("/rack/NS-0417/tag"), "/rack/NS-0417/tag", url.Values{"stock": {"disc-70"}})
	if a := c.get("/rack/NS-0417/tag/1.pdf"); a.status != http.StatusOK {
		t.Fatalf("before: %d", a.status)
	}
	c.act("NS-0417", "inspect", url.Values{"date": {"2026-03-02"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}})
	if a := c.get("/rack/NS-0417/tag/1.pdf"); a.status != http.StatusConflict || !a.has("the tag would lie") {
		t.Errorf("after an inspection: %d", a.status)
	}
	if n := k.recorded(id, event.KindTagPrinted); n != 1 {
		t.Errorf("%d tags", n)
	}
}

// A tag that nobody confirms lapses after seven days: the seventh is still good
// (site policy of this program, no source).
func TestTagLapses(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.shelved("NS-0417", nil)
	c := k.signedIn(k.inspector)
	c.send(c.get("/rack/NS-0417/tag"), "/rack/NS-0417/tag", url.Values{"stock": {"disc-70"}})
	text, err := scan.Image([]byte(c.get("/rack/NS-0417/tag/1.png").body))
	if err != nil {
		t.Fatal(err)
	}
	k.passed.Store(int64(7 * 24 * time.Hour))
	page := c.get("/rack/NS-0417/tag")
	if !page.has("Tag 1 waits to be confirmed") {
		t.Errorf("on the seventh day: %s", page.words())
	}
	form := page.form(t, "/rack/NS-0417/tag/confirm")
	form.Set("text", text)
	form.Set("typed", "0417")
	k.passed.Store(int64(8 * 24 * time.Hour))
	if a := c.sends("/rack/NS-0417/tag/confirm", form, nil); a.status != http.StatusConflict || !a.has("never confirmed on the sling in time") {
		t.Errorf("confirmed on the eighth day: %d %s", a.status, a.words())
	}
	if a := c.get("/rack/NS-0417/tag/1.pdf"); a.status != http.StatusNotFound {
		t.Errorf("the file of a lapsed tag: %d", a.status)
	}
	if a := c.get("/rack/NS-0417"); !a.has("lapsed on 10 Mar 2026, never confirmed") || !a.has("Print its tag") {
		t.Errorf("the sling: %s", a.words())
	}
}

func TestTagRefusals(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	c := k.signedIn(k.keeper)
	for ident, says := range map[string]string{
		"NS-0502": "It is lost.", "NS-0077": "It is retired for good",
	} {
		a := c.get("/rack/" + ident + "/tag")
		if !a.has(says) || a.hasForm("/rack/"+ident+"/tag") {
			t.Errorf("%s: %s", ident, a.words())
		}
		s, err := k.store.SlingByIdent(t.Context(), ident)
		if err != nil {
			t.Fatal(err)
		}
		before := k.recorded(s.ID, event.KindTagPrinted)
		b := c.post("/rack/"+ident+"/tag", url.Values{"key": {newKey()}, "heads": {headsText(s.Heads)}, "stock": {"disc-70"}})
		if b.status != http.StatusConflict || !b.has(gate.NotNow.Text(gate.Answer{}, inUS).Sentence) {
			t.Errorf("%s printed all the same: %d %s", ident, b.status, b.words())
		}
		if after := k.recorded(s.ID, event.KindTagPrinted); after != before {
			t.Errorf("%s: a tag was recorded", ident)
		}
	}
	attendant := k.signedIn(k.attendant)
	if a := attendant.get("/rack/NS-0290/tag"); a.status != http.StatusOK || a.hasForm("/rack/NS-0290/tag") {
		t.Errorf("an attendant is offered to print: %d", a.status)
	}
	if a := attendant.post("/rack/NS-0290/tag", url.Values{"key": {newKey()}, "stock": {"disc-70"}}); a.status != http.StatusForbidden {
		t.Errorf("an attendant prints: %d", a.status)
	}
	// Two pages that print at once: one tag, and the other page is told.
	first, second := c.get("/rack/NS-0311/tag"), c.get("/rack/NS-0311/tag")
	c.send(first, "/rack/NS-0311/tag", url.Values{"stock": {"disc-70"}})
	if a := c.send(second, "/rack/NS-0311/tag", url.Values{"stock": {"disc-70"}}); a.status != http.StatusConflict || !a.has("Changed meanwhile") {
		t.Errorf("the second page: %d %s", a.status, a.words())
	}
}

// A tag that cannot be drawn is said in words.
func TestTagThatCannotBeDrawn(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.shelved("NS-1999", func(d *event.Details) { d.Sling.Inspected = day(t, "1999-12-31") })
	c := k.signedIn(k.keeper)
	a := c.send(c.get("/rack/NS-1999/tag"), "/rack/NS-1999/tag", url.Values{"stock": {"disc-70"}})
	if a.status != http.StatusConflict || !a.has("A tag has no room for what is recorded") {
		t.Errorf("inspected before 2000: %d %s", a.status, a.words())
	}
	id := k.shelved("NS-0419", nil)
	k.happens(id, k.keeper, event.TagPrinted{Serial: 1, Key: id.Key, Version: 5, Level: "H", Stock: "blank-of-our-own"})
	if a := c.get("/rack/NS-0419/tag/1.pdf"); a.status != http.StatusNotFound || !a.has("blank-of-our-own") {
		t.Errorf("a stock of the labeler's own: %d %s", a.status, a.words())
	}
}
