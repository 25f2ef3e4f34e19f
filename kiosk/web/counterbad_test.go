package web

import (
	"bytes"
	"crypto/rand"
	"encoding/base32"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/skip2/go-qrcode"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
)

// badText makes the texts that a scanner may read and that lead to no issue.
func badText(k *kiosk) map[string]string {
	k.t.Helper()
	id := k.shelved("NS-0900", nil)
	replaced := k.printed(id)
	k.confirmed(id, replaced)
	live := k.printed(id)
	k.confirmed(id, live)

	other, err := tagcode.NewKey(rand.Reader)
	if err != nil {
		k.t.Fatal(err)
	}
	tag, err := k.sling(id).Tag(other.Fingerprint(), 1)
	if err != nil {
		k.t.Fatal(err)
	}
	foreign, err := tag.Seal(other)
	if err != nil {
		k.t.Fatal(err)
	}
	coding := base32.StdEncoding.WithPadding(base32.NoPadding)
	change := func(text string, f func([]byte)) string {
		raw, err := coding.DecodeString(text)
		if err != nil {
			k.t.Fatal(err)
		}
		f(raw)
		return coding.EncodeToString(raw)
	}
	waiting := k.shelved("NS-0901", nil)
	lapsing := k.shelved("NS-0902", nil)
	lapsed := k.printed(lapsing)
	k.passed.Store(int64(8 * 24 * time.Hour))
	key, err := k.server.Keys.Current(waiting.Key)
	if err != nil {
		k.t.Fatal(err)
	}
	badge, err := tagcode.Badge{Key: waiting.Key, Person: 7, Serial: 1}.Seal(key)
	if err != nil {
		k.t.Fatal(err)
	}
	slip, err := tagcode.Slip{Key: waiting.Key, Sling: waiting.Number, No: 1, Until: day(k.t, "2026-03-10")}.Seal(key)
	if err != nil {
		k.t.Fatal(err)
	}
	seal, err := tagcode.Head{At: 17, Hash: [32]byte{1}}.Text()
	if err != nil {
		k.t.Fatal(err)
	}
	return map[string]string{
		"register's seal":  seal,
		"rigger's badge":   badge.Text(),
		"lift slip":        slip.Text(),
		"another owner":    foreign.Text(),
		"forged":           change(live, func(b []byte) { b[39] ^= 1 }),
		"malformed":        change(live, func(b []byte) { b[0] &= 0x0f }),
		"cut":              live[:60],
		"replaced":         replaced,
		"lapsed":           lapsed,
		"not confirmed":    k.printed(waiting),
		"newer format":     change(live, func(b []byte) { b[0] = b[0]&0x0f | 0xf0 }),
		"web address":      "https://example.test/a?b=c",
		"empty":            "",
		"2,953 bytes":      strings.Repeat("x", 2953),
		"control":          "\x1b[2J\x00\x07" + live,
		"markup":           "<script>alert(1)</script>",
		"not UTF-8":        "\xff\xfe",
		"lower case":       strings.ToLower(live),
		"a space behind":   live + " ",
		"badge of letters": "CONTROL-Q",
	}
}

// TestBadReadings: whatever else is scanned stays here, with one clear sentence
// and a next step, and nothing of it is shown, recorded as an issue, put into an
// address or logged.
func TestBadReadings(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	texts := badText(k)
	want := map[string]gate.Reason{
		"another owner": gate.TagNotOurs, "forged": gate.TagForged, "malformed": gate.TagForged, "cut": gate.TagNotOurs,
		"replaced": gate.TagReplaced, "lapsed": gate.TagLapsed, "not confirmed": gate.TagUnconfirmed,
		"newer format": gate.TagNewerFormat, "web address": gate.TagWebAddress, "empty": gate.TagUnreadable,
		"2,953 bytes": gate.TagNotOurs, "control": gate.TagNotOurs, "markup": gate.TagNotOurs, "not UTF-8": gate.TagNotOurs,
		"lower case": gate.TagNotOurs, "a space behind": gate.TagNotOurs, "badge of letters": gate.TagNotOurs,
		"rigger's badge": gate.BadgeUnknown, "lift slip": gate.TagIsSlip, "register's seal": gate.TagIsSeal,
	}
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "day", "2026-03-12"))
	for name, text := range texts {
		form := c.get("/counter").form(t, "/counter/scan")
		form.Set("text", text)
		form.Set("way", "scanner")
		sent := c.post("/counter/scan", form)
		page := c.follow(sent)
		says := want[name].Text(gate.Answer{}, inUS)
		if page.status != http.StatusOK || page.verdict() != StaysHere || !page.has(escaped(says.Sentence)) || !page.has(escaped(says.Next)) {
			t.Errorf("%s: %d %q: %s, want %q", name, page.status, page.verdict(), page.main(), says.Sentence)
		}
		if page.hasForm("/counter/issue") {
			t.Errorf("%s: there is a button to hand it over", name)
		}
		if len(text) > 8 && (strings.Contains(page.body, text) || strings.Contains(sent.to, text) || strings.Contains(k.log.String(), text)) {
			t.Errorf("%s: the text is in the page, its address or the log", name)
		}
	}
	if len(texts) != len(want) {
		t.Errorf("%d texts, %d reasons", len(texts), len(want))
	}
}

// escaped is a sentence as it stands in a page.
func escaped(text string) string { return strings.ReplaceAll(text, "'", "&#39;") }

// TestShortCodes: a code typed by hand asks for the end of the plate's
// identification, and a mistyped one leads nowhere.
func TestShortCodes(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	code := k.short(id, 1)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	for name, said := range map[string]struct {
		code string
		want gate.Reason
	}{
		"nothing":      {"", gate.ShortCodeMistyped},
		"wrong check":  {code[:len(code)-1] + map[bool]string{true: "1", false: "0"}[strings.HasSuffix(code, "0")], gate.ShortCodeMistyped},
		"nobody's":     {tagcode.ShortOf(id.Number^1<<40, 1).String(), gate.ShortCodeUnknown},
		"not of a tag": {k.short(id, 9), gate.ShortCodeUnknown},
		"a whole tag":  {k.printed(k.shelved("NS-0500", nil)), gate.ShortCodeMistyped},
	} {
		page := c.typeCode(said.code)
		verdict := StaysHere
		if said.want == gate.ShortCodeMistyped {
			verdict = "" // a slip of the finger, said at the field
			if !page.has(`aria-describedby="e-text"`) || !page.has("Scan</span> <span>a sling") {
				t.Errorf("%s: not said at the field: %s", name, page.main())
			}
		}
		if says := said.want.Text(gate.Answer{}, inUS); page.verdict() != verdict || !page.has(escaped(says.Sentence)) || !page.has(escaped(says.Next)) {
			t.Errorf("%s: %q %s", name, page.verdict(), page.plateText())
		}
	}
	page := c.typeCode(strings.ToLower(strings.ReplaceAll(code, "-", " ")))
	if page.verdict() != LookCloser || !page.has("Last characters of the identification on the metal plate") {
		t.Fatalf("short code: %q %s", page.verdict(), page.plateText())
	}
	page = c.send(page, "/counter/issue", url.Values{"typed": {""}})
	if page.verdict() != LookCloser || k.sling(id).Details.Sling.State != gate.StateIn {
		t.Errorf("nothing typed: %q %s", page.verdict(), page.plateText())
	}
	page = c.send(page, "/counter/issue", url.Values{"typed": {"0418"}})
	if page.verdict() != StaysHere || !page.has("are not the last ones of this sling") || k.sling(id).Details.Sling.State != gate.StateIn {
		t.Errorf("wrong plate: %q %s", page.verdict(), page.plateText())
	}
	if got := k.recorded(id, event.KindRefused); got != 1 {
		t.Errorf("the wrong plate was recorded %d times", got)
	}
	page = c.send(page, "/counter/issue", url.Values{"typed": {"417"}})
	if k.sling(id).Details.Sling.State != gate.StateOut || !page.has("Handed over") {
		t.Errorf("right plate: %q %s", page.verdict(), page.plateText())
	}
}

// upload sends a file as a picture.
func (c *client) upload(data []byte) answer {
	c.k.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	form.WriteField("key", c.get("/counter").form(c.k.t, "/counter/picture").Get("key"))
	if data != nil {
		part, err := form.CreateFormFile("picture", "tag.png")
		if err != nil {
			c.k.t.Fatal(err)
		}
		part.Write(data)
	}
	form.Close()
	r := c.request(http.MethodPost, "/counter/picture", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	return c.follow(c.do(r))
}

// TestPictures reads a tag's picture, and has a sentence for every other file.
func TestPictures(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	symbol, err := qrcode.Encode(text, qrcode.Highest, 400)
	if err != nil {
		t.Fatal(err)
	}
	var blank bytes.Buffer
	if err := png.Encode(&blank, image.NewGray(image.Rect(0, 0, 300, 300))); err != nil {
		t.Fatal(err)
	}
	// The header of a picture of 10,000 × 5,000 pixels: no more is needed to refuse it.
	huge := slices.Clone(blank.Bytes())
	copy(huge[16:], []byte{0, 0, 0x27, 0x10, 0, 0, 0x13, 0x88})
	huge = fixHeader(huge)
	c := k.signedIn(k.attendant)
	for _, bad := range []struct {
		name string
		data []byte
		says string
		next string
	}{
		{"text", []byte("hello, this is no picture"), "not a picture that can be read", "Send a PNG, JPEG, GIF or WebP"},
		{"empty file", []byte{}, "not a picture that can be read", "Send a PNG, JPEG, GIF or WebP"},
		{"cut short", symbol[:len(symbol)/2], "damaged or cut short", "Take or send it again"},
		{"blank", blank.Bytes(), "no QR symbol", "Fill the picture with the tag"},
		{"50 megapixels", huge, "more than 40 million pixels", "smaller size"},
		{"nothing chosen", nil, "No picture was chosen", "Choose or take a picture"},
		{"too many bytes", make([]byte, maxPicture+maxForm+1), "larger than this page takes", "Send a smaller file"},
	} {
		page := c.upload(bad.data)
		if !page.has(bad.says) || !page.has(bad.next) || page.verdict() == MayGo {
			t.Errorf("%s: %d %s", bad.name, page.status, page.main())
		}
	}
	page := c.upload(symbol)
	if !page.has("NS-0417") || !page.has("Going out?") {
		t.Fatalf("a tag's picture: %s", page.main())
	}
	c.takes(k.rigger)
	if page = c.lifts(aLift()); page.verdict() != MayGo {
		t.Errorf("from the picture: %q %s", page.verdict(), page.plateText())
	}
}

// TestClockBehind: nothing goes out while the clock cannot be right.
func TestClockBehind(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	k.off.Store(int64(-48 * time.Hour))
	if page := c.scan(text); page.verdict() != StaysHere || !page.has(escaped(gate.ClockBehind.Text(gate.Answer{}, inUS).Sentence)) {
		t.Errorf("%q %s", page.verdict(), page.plateText())
	}
}

// TestLiftPageShowsEachError: the page marks each field, keeps what was typed, and
// states nothing.
func TestLiftPageShowsEachError(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	page := c.lifts(with(aLift(), "load", "12,5", "degrees", "52,5", "centred", ""))
	if page.status != http.StatusUnprocessableEntity || !page.has("Not stated yet") || !page.has(`value="12,5"`) ||
		!page.has("Type whole pounds in digits") || !page.has("with a point") || !page.has("Say whether the center of gravity") {
		t.Errorf("%d %s", page.status, page.main())
	}
	if page := c.get("/counter"); !page.has("No lift is stated yet") {
		t.Error("a lift that is wrong was stated")
	}
	page = c.lifts(with(aLift(), "load", "1\x00\x1b2"))
	if page.status != http.StatusUnprocessableEntity || !page.has("characters that cannot be used here") {
		t.Errorf("control characters: %d %s", page.status, page.main())
	}
}

// fixHeader sets the checksum of a PNG's first chunk.
func fixHeader(data []byte) []byte {
	sum := crc32.ChecksumIEEE(data[12:29])
	binary.BigEndian.PutUint32(data[29:], sum)
	return data
}
