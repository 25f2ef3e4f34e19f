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
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/skip2/go-qrcode"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

// TestLoan hands a sling over and takes it back, lift first.
func TestLoan(t *testing.T) {
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	if page := c.follow(c.get("/")); !page.has("Scan</span> <span>a sling") {
		t.Fatalf("the first place is not the counter: %s", page.main())
	}
	c.takes(k.rigger)
	c.lifts(aLift())
	page := c.scan(text)
	if page.verdict() != MayGo {
		t.Fatalf("verdict %q: %s", page.verdict(), page.plateText())
	}
	if got := k.recorded(id, event.KindIssued) + k.recorded(id, event.KindRefused); got != 0 {
		t.Fatalf("asking wrote %d events", got)
	}
	page = c.send(page, "/counter/issue", nil)
	if s := k.sling(id); s.Details.Sling.State != gate.StateOut || s.Loan.Rigger != k.rigger.ID || s.Loan.ReturnBy.String() != "2026-03-04" {
		t.Fatalf("after handing over: %v %+v", s.Details.Sling.State, s.Loan)
	}
	if !page.has("Handed over") || !page.has("T. Brandt has it since") {
		t.Errorf("page after handing over: %s", page.plateText())
	}
	page = c.scan(text)
	if page.verdict() != LookCloser || !page.has("Back from T. Brandt, out since 2 Mar 2026, 20:30") {
		t.Fatalf("at return: %q %s", page.verdict(), page.plateText())
	}
	page = c.send(page, "/counter/return", url.Values{"said": {"nothing"}})
	if k.sling(id).Details.Sling.State != gate.StateIn || !page.has("Back in") || !page.has("hang it on C4") {
		t.Errorf("after return: %v %s", k.sling(id).Details.Sling.State, page.plateText())
	}
}

// TestAnyOrder: scan, rigger and lift may come in any order, and the verdict is
// the same.
func TestAnyOrder(t *testing.T) {
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	steps := map[string]func(*client) answer{
		"scan":   func(c *client) answer { return c.scan(text) },
		"rigger": func(c *client) answer { return c.takes(k.rigger) },
		"lift":   func(c *client) answer { return c.lifts(aLift()) },
	}
	c := k.signedIn(k.attendant)
	for _, order := range [][]string{
		{"scan", "rigger", "lift"}, {"scan", "lift", "rigger"}, {"rigger", "scan", "lift"},
		{"lift", "scan", "rigger"}, {"rigger", "lift", "scan"}, {"lift", "rigger", "scan"},
	} {
		c.cleared()
		var page answer
		for i, step := range order {
			page = steps[step](c)
			if i < 2 && page.verdict() != "" {
				t.Errorf("%v: a verdict after %s already: %s", order, step, page.plateText())
			}
		}
		if page.verdict() != MayGo || !page.has("Hand it over to T. Brandt") {
			t.Errorf("%v: %q %s", order, page.verdict(), page.plateText())
		}
	}
}

// TestRefusal: a refusal says what is wrong, by which rule and what to do, is
// recorded once however often the page is looked at, and names a sling that the
// gate lets go.
func TestRefusal(t *testing.T) {
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	k.hanging("NS-0290", func(d *event.Details) { d.Sling.Plate, d.Place = plateOf(t, "1/2", 2, rating.H60, 20_800), "B2" })
	k.hanging("NS-0300", func(d *event.Details) { d.Sling.Plate, d.Place = plateOf(t, "5/8", 2, rating.H60, 31_300), "B3" }) // would do, and wastes more
	k.shelved("NS-0301", func(d *event.Details) { d.Sling.Plate = plateOf(t, "1/2", 2, rating.H60, 20_800) })                // has no tag, so cannot go
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "12,301"))
	page := c.scan(text)

	if page.verdict() != StaysHere || !page.has("Too light for this lift: the lift needs 12,301 lb and this sling may carry 12,300 lb.") ||
		!page.has("table 1") || !page.has("Take a stronger sling") {
		t.Errorf("%q: %s", page.verdict(), page.main())
	}
	if !page.has("Take NS-0290 from B2 instead") || page.hasForm("/counter/issue") {
		t.Errorf("what would do instead: %s", page.main())
	}
	if !page.has("How this was worked out") || !page.has("leg over") {
		t.Errorf("working or drawing are missing: %s", page.main())
	}
	c.get("/counter")
	c.get("/counter/1")
	if got := k.recorded(id, event.KindRefused); got != 1 {
		t.Errorf("recorded %d times", got)
	}
	// The limit itself may be lifted.
	c.lifts(with(aLift(), "load", "12,300"))
	if page := c.get("/counter"); page.verdict() != MayGo {
		t.Errorf("at the rated load: %s", page.plateText())
	}
}

// TestMarginIsShown: a load that is not weighed is judged with the site's margin,
// and the page says so.
func TestMarginIsShown(t *testing.T) {
	k := newKiosk(t)
	p := k.policy()
	p.MarginPct = 10
	k.setPolicy(p)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	if page := c.get("/counter/lift"); !page.has("the site adds 10 % (site policy)") {
		t.Error("the lift page hides the margin")
	}
	c.takes(k.rigger)
	c.lifts(with(aLift(), "known", "papers"))
	page := c.scan(text)
	if page.verdict() != StaysHere || !page.has("the lift needs 13,200 lb") || !page.has("the site adds 10 %") {
		t.Errorf("12,000 lb from papers: %s", page.main())
	}
}

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
	return map[string]string{
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
	k := newKiosk(t)
	texts := badText(k)
	want := map[string]gate.Reason{
		"another owner": gate.TagNotOurs, "forged": gate.TagForged, "malformed": gate.TagForged, "cut": gate.TagNotOurs,
		"replaced": gate.TagReplaced, "lapsed": gate.TagLapsed, "not confirmed": gate.TagUnconfirmed,
		"newer format": gate.TagNewerFormat, "web address": gate.TagWebAddress, "empty": gate.TagUnreadable,
		"2,953 bytes": gate.TagNotOurs, "control": gate.TagNotOurs, "markup": gate.TagNotOurs, "not UTF-8": gate.TagNotOurs,
		"lower case": gate.TagNotOurs, "a space behind": gate.TagNotOurs, "badge of letters": gate.TagNotOurs,
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
		says := want[name].Text(gate.Answer{}, quantity.Imperial)
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
		if says := said.want.Text(gate.Answer{}, quantity.Imperial); page.verdict() != StaysHere || !page.has(escaped(says.Sentence)) || !page.has(escaped(says.Next)) {
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

// TestTwoRaceForOneSling: both pages show that it may go; one hands it over, the
// other is told who has it since when.
func TestTwoRaceForOneSling(t *testing.T) {
	k := newKiosk(t)
	second := k.add("P. Lund", event.Attendant)
	other := k.add("R. Cole", event.Rigger)
	id, text := k.hanging("NS-0417", nil)
	one, two := k.signedIn(k.attendant), k.signedIn(second)
	one.takes(k.rigger)
	one.lifts(aLift())
	two.takes(other)
	two.lifts(aLift())
	first, late := one.scan(text), two.scan(text)
	if first.verdict() != MayGo || late.verdict() != MayGo {
		t.Fatalf("%q and %q", first.verdict(), late.verdict())
	}
	one.send(first, "/counter/issue", nil)
	page := two.send(late, "/counter/issue", nil)
	if page.verdict() != StaysHere || !page.has("T. Brandt has it since 2 Mar 2026, 20:30.") {
		t.Errorf("the later one: %q %s", page.verdict(), page.plateText())
	}
	if got := k.recorded(id, event.KindIssued); got != 1 || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Errorf("issued %d times, to %s", got, k.sling(id).Loan.Rigger)
	}
}

// TestSentTwice: a form that is sent again, because the line was cut, does once
// what it does and gives the first answer.
func TestSentTwice(t *testing.T) {
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	form := c.scan(text).form(t, "/counter/issue")
	for range 2 {
		if page := c.follow(c.post("/counter/issue", form)); !page.has("Handed over") {
			t.Errorf("handing over: %s", page.plateText())
		}
	}
	form = c.scan(text).form(t, "/counter/return")
	form.Set("said", "nothing")
	for range 2 {
		if page := c.follow(c.post("/counter/return", form)); !page.has("Back in") {
			t.Errorf("taking back: %s", page.plateText())
		}
	}
	if k.recorded(id, event.KindIssued) != 1 || k.recorded(id, event.KindReturned) != 1 {
		t.Errorf("recorded %v", k.kinds(id))
	}
}

// TestOldPage: a button on a page from before rigger or lift were changed hands
// nothing over.
func TestOldPage(t *testing.T) {
	k := newKiosk(t)
	other := k.add("R. Cole", event.Rigger)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	for name, change := range map[string]func(*client){
		"lift":   func(c *client) { c.lifts(with(aLift(), "load", "100")) },
		"rigger": func(c *client) { c.takes(other); c.lifts(aLift()) },
		"day":    func(c *client) { c.lifts(with(aLift(), "day", "2026-03-05")) },
		"next":   (*client).cleared,
	} {
		c.cleared()
		c.takes(k.rigger)
		c.lifts(aLift())
		page := c.scan(text)
		change(c)
		page = c.send(page, "/counter/issue", nil)
		if k.sling(id).Details.Sling.State != gate.StateIn || !page.has("nothing was") {
			t.Errorf("%s changed: %v %d %s", name, k.sling(id).Details.Sling.State, page.status, page.main())
		}
	}
}

// TestReturns: anything but "nothing happened" holds the sling, with the words
// for the inspector.
func TestReturns(t *testing.T) {
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	for i, said := range []struct {
		name   string
		answer url.Values
		held   bool
		reason string
	}{
		{"nothing", url.Values{"said": {"nothing"}}, false, ""},
		{"nobody can say", url.Values{"said": {"not-known"}}, true, "nobody could say"},
		{"shock", url.Values{"said": {"something"}, "what": {"shock", "heat"}, "note": {"dropped  at bay 4"}}, true, "shock, heat, dropped at bay 4"},
		{"in words only", url.Values{"said": {"something"}, "note": {"a hiss"}}, true, "a hiss"},
	} {
		id, text := k.hanging("NS-041"+strconv.Itoa(i), nil)
		c.send(c.scan(text), "/counter/issue", nil)
		page := c.scan(text)
		if got := c.send(page, "/counter/return", url.Values{"said": {"maybe"}}); k.sling(id).Details.Sling.State != gate.StateOut || !got.has("Say first what happened") {
			t.Errorf("%s: an unknown answer was taken: %s", said.name, got.main())
		}
		if said.answer.Get("said") == "something" {
			asked := c.send(page, "/counter/return", url.Values{"said": {"something"}})
			if k.sling(id).Details.Sling.State != gate.StateOut || !asked.has("it jerked, dropped or slipped") {
				t.Fatalf("%s: %s", said.name, asked.main())
			}
			again := c.send(asked, "/counter/return", url.Values{"said": {"something"}})
			if k.sling(id).Details.Sling.State != gate.StateOut || !again.has("Choose at least one, or write it down.") {
				t.Errorf("%s: nothing chosen: %s", said.name, again.main())
			}
			page = asked
		}
		page = c.send(page, "/counter/return", said.answer)
		s := k.sling(id)
		if (s.Details.Sling.State == gate.StateHeld) != said.held || !strings.Contains(s.Hold.Reason, said.reason) {
			t.Errorf("%s: %v, %q", said.name, s.Details.Sling.State, s.Hold.Reason)
		}
		if said.held && (page.verdict() != StaysHere || !page.has("Who may release it: O. Vance") || !page.has("Lay it apart from the rack")) {
			t.Errorf("%s: %q %s", said.name, page.verdict(), page.main())
		}
	}
}

// TestHoldAtTheCounter: whoever works here holds a sling with a reason, on the
// facts that the page showed.
func TestHoldAtTheCounter(t *testing.T) {
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	page := c.scan(text)
	if got := c.send(page, "/counter/hold", url.Values{"reason": {"  "}}); got.status != http.StatusUnprocessableEntity || !got.has("Write what is wrong") {
		t.Errorf("without a reason: %d %s", got.status, got.main())
	}
	old := page
	page = c.send(page, "/counter/hold", url.Values{"reason": {"hook latch bent"}})
	if s := k.sling(id); s.Details.Sling.State != gate.StateHeld || s.Hold.Reason != "hook latch bent" || page.verdict() != StaysHere || !page.has("Hook latch bent.") {
		t.Errorf("held: %v %q %s", s.Details.Sling.State, s.Hold.Reason, page.plateText())
	}
	if got := c.send(old, "/counter/hold", url.Values{"reason": {"again"}}); k.recorded(id, event.KindHeld) != 1 || got.status >= 500 {
		t.Errorf("from an old page: %d, %v", got.status, k.kinds(id))
	}
}

// TestWhatOnlySomeAreAsked: a sling of one leg for a lift on several asks whether
// it is one of several; one that can be shortened asks whether it is.
func TestWhatOnlySomeAreAsked(t *testing.T) {
	k := newKiosk(t)
	_, one := k.hanging("NS-0101", func(d *event.Details) { d.Sling.Plate = plateOf(t, "3/8", 1, rating.Vertical, 7_100) })
	_, short := k.hanging("NS-0202", func(d *event.Details) { d.Sling.Adjustable = true })
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	page := c.scan(one)
	if page.verdict() != LookCloser || !page.has("Is it one of several like slings on one hook?") || page.hasForm("/counter/issue") {
		t.Fatalf("one leg: %q %s", page.verdict(), page.main())
	}
	// Two single legs of 7,100 lb at 60°: 7,100 × 1.7320 = 12,297.2 lb (US OSHA,
	// Guidance on Safe Sling Use, table 1 and its multipliers).
	if page = c.send(page, "/counter/answer", url.Values{"singles": {"yes"}}); page.verdict() != MayGo || !page.has("may carry 12,297 lb") {
		t.Errorf("two singles: %q %s", page.verdict(), page.plateText())
	}
	c.lifts(aLift()) // a lift that is stated anew asks anew
	page = c.send(c.get("/counter"), "/counter/answer", url.Values{"singles": {"no"}})
	if page.verdict() != StaysHere || !page.has("The lift needs more legs than this sling has.") {
		t.Errorf("alone: %q %s", page.verdict(), page.plateText())
	}
	page = c.scan(short)
	if page.verdict() != LookCloser || !page.has("Will its legs be shortened for this lift?") || page.hasForm("/counter/issue") {
		t.Fatalf("adjustable: %q %s", page.verdict(), page.main())
	}
	if page = c.send(page, "/counter/answer", url.Values{"shortened": {"no"}}); page.verdict() != MayGo {
		t.Errorf("at full length: %q %s", page.verdict(), page.plateText())
	}
	page = c.send(c.scan(short), "/counter/answer", url.Values{"shortened": {"plain"}})
	if page.verdict() != StaysHere || !page.has("Too light for this lift") {
		t.Errorf("in a plain hook: %q %s", page.verdict(), page.plateText())
	}
}

// TestNextRigger: whoever comes next finds nothing of the one before.
func TestNextRigger(t *testing.T) {
	k := newKiosk(t)
	other := k.add("R. Cole", event.Rigger)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	for name, next := range map[string]func(*client){
		"next rigger":    (*client).cleared,
		"another chosen": func(c *client) { c.takes(other) },
	} {
		c.cleared()
		c.takes(k.rigger)
		c.lifts(aLift())
		c.send(c.scan(text), "/counter/issue", nil)
		c.send(c.scan(text), "/counter/return", url.Values{"said": {"nothing"}})
		next(c)
		page := c.get("/counter")
		if page.has("NS-0417") || page.has("12,000") || page.has("T. Brandt") || !page.has("No lift is stated yet") {
			t.Errorf("%s: %s", name, page.main())
		}
		if page := c.follow(c.get("/counter/1")); page.has("NS-0417") {
			t.Errorf("%s: the old card can still be opened", name)
		}
	}
}

// TestWhoMayHandOver: who may not hand over sees how a sling stands, and is offered
// nothing that would be refused.
func TestWhoMayHandOver(t *testing.T) {
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.inspector)
	page := c.scan(text)
	if page.verdict() != "" || !page.has("In the crib") || page.hasForm("/counter/issue") || page.has("State the lift") || page.has("Who takes slings?") {
		t.Errorf("an inspector at the counter: %s", page.main())
	}
	if a := c.post("/counter/issue", url.Values{"card": {"1"}, "key": {newKey()}}); a.status != http.StatusForbidden {
		t.Errorf("an inspector hands over: %d", a.status)
	}
	if got := k.recorded(id, event.KindRefused); got != 0 {
		t.Errorf("looking recorded %d refusals", got)
	}
	gone := k.add("R. Cole", event.Rigger)
	a := k.signedIn(k.attendant)
	a.takes(gone)
	a.lifts(aLift())
	k.leaves(gone)
	if page := a.scan(text); page.verdict() == MayGo || page.hasForm("/counter/issue") || !page.has("Who takes slings?") {
		t.Errorf("for someone who left: %q %s", page.verdict(), page.main())
	}
}

// TestRiggers: riggers are picked by a button, or looked for by parts of a name.
func TestRiggers(t *testing.T) {
	k := newKiosk(t)
	k.add("R. Cole", event.Rigger)
	c := k.signedIn(k.attendant)
	page := c.get("/counter/rigger")
	if !page.has("T. Brandt") || !page.has("R. Cole") || page.has("O. Vance<") {
		t.Errorf("names: %s", page.main())
	}
	if page = c.send(page, "/counter/rigger", url.Values{"find": {"cOL r"}}); !page.has("R. Cole") || page.has("T. Brandt") {
		t.Errorf("looked for: %s", page.main())
	}
	if page = c.send(page, "/counter/rigger", url.Values{"find": {"nobody"}}); !page.has("No rigger here has this in their name.") {
		t.Errorf("looked for nobody: %s", page.main())
	}
	for _, id := range []string{k.attendant.ID.String(), k.inspector.ID.String()} {
		if page := c.send(c.get("/counter/rigger"), "/counter/rigger", url.Values{"rigger": {id}}); page.status != http.StatusForbidden || !page.has("may not draw gear") {
			t.Errorf("someone who is no rigger: %d %s", page.status, page.main())
		}
	}
}

// TestReturnWithAnOldTag: what came back must come in, whatever tag it wears.
func TestReturnWithAnOldTag(t *testing.T) {
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	c.send(c.scan(text), "/counter/issue", nil)
	newer := k.printed(id)
	k.confirmed(id, newer)
	page := c.scan(text)
	if page.verdict() != LookCloser || !page.has("Back from T. Brandt") {
		t.Fatalf("with the dead tag: %q %s", page.verdict(), page.plateText())
	}
	c.send(page, "/counter/return", url.Values{"said": {"nothing"}})
	if k.sling(id).Details.Sling.State != gate.StateIn {
		t.Error("it did not come in")
	}
	if page := c.scan(text); page.verdict() != StaysHere || !page.has("this one is dead") {
		t.Errorf("out again with the dead tag: %q %s", page.verdict(), page.plateText())
	}
}

// TestClockBehind: nothing goes out while the clock cannot be right.
func TestClockBehind(t *testing.T) {
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	k.passed.Store(int64(-48 * time.Hour))
	if page := c.scan(text); page.verdict() != StaysHere || !page.has(escaped(gate.ClockBehind.Text(gate.Answer{}, quantity.Imperial).Sentence)) {
		t.Errorf("%q %s", page.verdict(), page.plateText())
	}
}

// TestLiftPageShowsEachError: the page marks each field, keeps what was typed, and
// states nothing.
func TestLiftPageShowsEachError(t *testing.T) {
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	page := c.lifts(with(aLift(), "load", "12,5", "degrees", "52,5", "centred", ""))
	if page.status != http.StatusUnprocessableEntity || !page.has("3 answers are missing or wrong") || !page.has(`value="12,5"`) ||
		!page.has("Type whole pounds in digits") || !page.has("with a point") || !page.has("Say whether the centre of gravity") {
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

// TestNothingIsWrittenByLooking: no GET of the counter writes to the register.
func TestNothingIsWrittenByLooking(t *testing.T) {
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "99,000"))
	c.scan(text)
	before, err := k.store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/counter", "/counter/1", "/counter/lift", "/counter/rigger", "/scanner", "/counter/99", "/counter/x"} {
		if a := c.follow(c.get(path)); a.status != http.StatusOK {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if after, err := k.store.Head(t.Context()); err != nil || after.At != before.At {
		t.Errorf("looking wrote: %d, then %d (%v)", before.At, after.At, err)
	}
}

// fixHeader sets the checksum of a PNG's first chunk.
func fixHeader(data []byte) []byte {
	sum := crc32.ChecksumIEEE(data[12:29])
	binary.BigEndian.PutUint32(data[29:], sum)
	return data
}
