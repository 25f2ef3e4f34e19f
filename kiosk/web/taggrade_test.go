package web

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/scan"
)

// spotted is a picture of a tag with light spots all over its symbol, as a print
// head with dead dots leaves them: it still reads.
func spotted(t testing.TB, picture []byte) []byte {
	t.Helper()
	src, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewGray(src.Bounds())
	draw.Draw(out, out.Bounds(), src, src.Bounds().Min, draw.Src)
	side := out.Bounds().Dx()
	for y := side / 20; y < out.Bounds().Dy(); y += side / 11 {
		for x := side / 20; x < side; x += side / 11 {
			draw.Draw(out, image.Rect(x, y, x+side/45, y+side/45), image.NewUniform(color.White), image.Point{}, draw.Src)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, out); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// smudged is a picture of a tag with a smudge in the clear margin of its symbol,
// and nothing else wrong.
func smudged(t testing.TB, picture []byte) []byte {
	t.Helper()
	seen, err := scan.Locate(picture)
	if err != nil {
		t.Fatal(err)
	}
	src, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewGray(src.Bounds())
	draw.Draw(out, out.Bounds(), src, src.Bounds().Min, draw.Src)
	left, top := seen.At(-3, 4)
	right, bottom := seen.At(-1, 20)
	draw.Draw(out, image.Rect(int(left), int(top), int(right), int(bottom)), image.NewUniform(color.Black), image.Point{}, draw.Src)
	var b bytes.Buffer
	if err := png.Encode(&b, out); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// blurred is a picture out of focus.
func blurred(t testing.TB, picture []byte) []byte {
	t.Helper()
	src, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	b := src.Bounds()
	out := image.NewGray(b)
	const r = 3
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			sum, n := 0, 0
			for j := max(b.Min.Y, y-r); j <= min(b.Max.Y-1, y+r); j++ {
				for i := max(b.Min.X, x-r); i <= min(b.Max.X-1, x+r); i++ {
					sum, n = sum+int(color.GrayModel.Convert(src.At(i, j)).(color.Gray).Y), n+1
				}
			}
			out.SetGray(x, y, color.Gray{Y: uint8(sum / n)})
		}
	}
	var w bytes.Buffer
	if err := png.Encode(&w, out); err != nil {
		t.Fatal(err)
	}
	return w.Bytes()
}

// drawn prints the sling's next tag and gives its picture, 300 dpi.
func (c *client) drawn(ident, stock, file string) []byte {
	c.k.t.Helper()
	if a := c.send(c.get("/rack/"+ident+"/tag"), "/rack/"+ident+"/tag", url.Values{"stock": {stock}}); !a.has("waits to be confirmed") {
		c.k.t.Fatalf("print: %d %s", a.status, a.words())
	}
	return []byte(c.get("/rack/" + ident + "/tag/" + file).body)
}

// pictures sends a picture with the end of the plate.
func (c *client) confirms(ident, typed string, picture []byte) answer {
	c.k.t.Helper()
	path := "/rack/" + ident + "/tag/confirm"
	form := c.get("/rack/"+ident+"/tag").form(c.k.t, path)
	form.Set("typed", typed)
	return c.sends(path, form, picture)
}

// A good print is confirmed with its grade; a bad one is refused with what to
// change, thrown away, and the next one has the next number.
func TestPrintGraded(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	keeper := k.signedIn(k.keeper)
	c := k.signedIn(k.attendant) // who hangs tags on
	picture := keeper.drawn("NS-0417", "plate-50x80", "1.png")

	a := c.confirms("NS-0417", "0417", spotted(t, picture))
	for _, text := range []string{"Not confirmed", "graded under C", "site policy, no source", "What to change", "Unused error correction", "under C", "Throw tag 1 away",
		"What a camera cannot give", "contrast"} {
		if a.status != http.StatusConflict || !strings.Contains(a.words(), text) {
			t.Errorf("a bad print: %d, lacks %q: %s", a.status, text, a.words())
		}
	}
	if _, live := k.sling(id).Live(); live {
		t.Fatal("a bad print was confirmed")
	}
	_, note, _ := strings.Cut(between(a.body, `<textarea id="f-away-note"`, "</textarea>"), ">")
	if !strings.Contains(a.body, `name="why" value="grade" checked`) || !strings.Contains(note, "fixed patterns F") {
		t.Errorf("why it is thrown away: %s", note)
	}
	// Out of focus is no verdict on the print.
	if a := c.confirms("NS-0417", "0417", blurred(t, picture)); a.status != http.StatusUnprocessableEntity || !strings.Contains(between(a.body, `id="e-picture">`, "<"), "picture") || a.has("Not confirmed") {
		t.Errorf("out of focus: %d %s", a.status, between(a.body, `id="e-picture">`, "<"))
	}
	// A good picture without the plate's characters is sent again with them.
	if a := c.confirms("NS-0417", "", picture); a.status != http.StatusConflict || !a.has("Choose the picture again") || a.form(t, "/rack/NS-0417/tag/confirm").Get("text") != "" {
		t.Errorf("without the plate: %d %s", a.status, a.words())
	}

	bad := c.send(a, "/rack/NS-0417/tag/away", url.Values{"why": {"grade"}, "away-note": {note}})
	if !bad.has("Tag 1 is thrown away. Cut it up") {
		t.Fatalf("thrown away: %d %s", bad.status, bad.words())
	}
	if tag := k.sling(id).Tags[0]; tag.Status != state.TagSpoiled || tag.Spoiled.Why != event.SpoiltGrade || tag.Spoiled.By != k.attendant.ID || tag.Spoiled.Note == "" {
		t.Errorf("recorded %+v", tag)
	}
	if a := keeper.get("/rack/NS-0417/tag/1.png"); a.status != http.StatusNotFound {
		t.Errorf("the file of a tag that was thrown away: %d", a.status)
	}
	page := keeper.get("/rack/NS-0417/tag")
	if got := between(between(page.body, `name="stock"`, "</label>"), `value="`, `"`); got != "plate-50x80" {
		t.Errorf("the first stock offered is %q", got)
	}
	if !page.has("Its last tag was on this one.") || strings.Contains(page.body, `value="badge"`) || strings.Contains(page.body, `value="slip"`) {
		t.Errorf("the stocks: %s", page.words())
	}
	good := keeper.drawn("NS-0417", "plate-50x80", "2.png")
	if a := c.follow(c.confirms("NS-0417", "0417", good)); !a.has("the tag is confirmed and good from now on. Its print is graded A.") {
		t.Fatalf("a good print: %d %s", a.status, a.words())
	}
	if live, ok := k.sling(id).Live(); !ok || live.Serial != 2 || live.Graded != "A" {
		t.Errorf("live %+v", live)
	}
	sling := c.get("/rack/NS-0417")
	for _, text := range []string{"on the sling, its print graded A", "Its print was graded A from a picture: read A", "QR tag 1 thrown away: its print was graded too low",
		"thrown away 2 Mar 2026: its print was graded too low (", "fixed patterns F), by I. Maro"} {
		if !strings.Contains(sling.words(), text) {
			t.Errorf("the sling lacks %q: %s", text, sling.words())
		}
	}
}

func TestThrowAwayForm(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	c := k.signedIn(k.keeper)
	c.drawn("NS-0417", "disc-70", "1.png")
	page := c.get("/rack/NS-0417/tag")
	for _, x := range []struct {
		name, says string
		form       url.Values
		status     int
	}{
		{"no reason", "Choose why.", url.Values{"away-note": {"x"}}, 422},
		{"a reason that is none", "Choose why.", url.Values{"why": {"boredom"}}, 422},
		{"something else without words", "Write what happened to it.", url.Values{"why": {"other"}, "away-note": {" "}}, 422},
		{"too long", "there is room for 400", url.Values{"why": {"print"}, "away-note": {strings.Repeat("x", 401)}}, 422},
		{"control characters", "cannot be used here", url.Values{"why": {"print"}, "away-note": {"a\x00b"}}, 422},
		{"no number", "without the tag’s number", url.Values{"why": {"print"}, "serial": {"x"}}, 422},
		{"another number", gateNotNow, url.Values{"why": {"print"}, "serial": {"7"}}, 409},
	} {
		a := c.send(page, "/rack/NS-0417/tag/away", x.form)
		if a.status != x.status || !strings.Contains(a.words(), x.says) {
			t.Errorf("%s: %d, want %d with %q: %s", x.name, a.status, x.status, x.says, a.words())
		}
	}
	if k.recorded(id, event.KindTagSpoiled) != 0 {
		t.Fatal("a tag was thrown away")
	}
	// Sent twice, and from a page that is older than the facts.
	old := c.get("/rack/NS-0417/tag")
	form := c.get("/rack/NS-0417/tag").form(t, "/rack/NS-0417/tag/away")
	form.Set("why", "lost")
	for range 2 {
		if a := c.post("/rack/NS-0417/tag/away", form); a.to != "/rack/NS-0417/tag" {
			t.Fatalf("%d %s", a.status, a.words())
		}
	}
	if a := c.send(old, "/rack/NS-0417/tag/away", url.Values{"why": {"lost"}}); a.status != http.StatusConflict || !a.has("no tag was thrown away") || k.recorded(id, event.KindTagSpoiled) != 1 {
		t.Errorf("from an old page: %d %s", a.status, a.words())
	}
	if a := k.signedIn(k.rigger).post("/rack/NS-0417/tag/away", form); a.status != http.StatusForbidden {
		t.Errorf("a rigger: %d", a.status)
	}
}

const gateNotNow = "This cannot be done with the sling as it stands now."

// Which blank of a sheet is free, and which colour the period has, is asked with
// the file.
func TestTagFileAsked(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.shelved("NS-0417", nil)
	c := k.signedIn(k.keeper)
	one := c.drawn("NS-0417", "sheet-a4", "1.svg")
	if again := c.get("/rack/NS-0417/tag/1.svg?place=1"); again.body != string(one) {
		t.Error("the first place is another file than none")
	}
	if second := c.get("/rack/NS-0417/tag/1.svg?place=2"); second.status != http.StatusOK || second.body == string(one) {
		t.Errorf("the second place: %d", second.status)
	}
	for query, status := range map[string]int{"place=0": 422, "place=10000": 422, "place=x": 422, "colour=mauve": 404} {
		if a := c.get("/rack/NS-0417/tag/1.svg?" + query); a.status != status {
			t.Errorf("%s: %d, want %d", query, a.status, status)
		}
	}
	if page := c.get("/rack/NS-0417/tag"); !page.has("First free place on the sheet") {
		t.Errorf("the page: %s", page.words())
	}
	k.shelved("NS-0418", nil)
	plain := c.drawn("NS-0418", "plate-50x80", "1.svg")
	if blue := c.get("/rack/NS-0418/tag/1.svg?colour=blue"); blue.status != http.StatusOK || blue.body == string(plain) {
		t.Errorf("a colour: %d", blue.status)
	}
	if a := c.get("/rack/NS-0418/tag/1.svg?place=2"); a.status != http.StatusUnprocessableEntity {
		t.Errorf("a place where there is no sheet: %d", a.status)
	}
}
