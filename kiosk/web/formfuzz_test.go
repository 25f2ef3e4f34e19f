package web

import (
	"context"
	"flag"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/bounded"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
)

// formSeeds is what each page is sent, as a page sends it. KEY, HEADS, CRIB,
// WHO, SLING, COUNT, VISIT and TAG are put in when it is sent.
func formSeeds() map[string]string {
	of := func(v url.Values) string { return v.Encode() + "&key=KEY&heads=HEADS" }
	card := "&key=KEY&card=1"
	return map[string]string{
		"/counter/rigger":             of(url.Values{"rigger": {"WHO"}, "find": {"cole"}}),
		"/counter/next":               of(nil),
		"/counter/fetch":              of(url.Values{"sling": {"SLING"}}),
		"/counter/lift":               of(aLift()),
		"/counter/lift/waits":         "mark=x&key=KEY",
		"/lift":                       of(aLift()),
		"/lift/answer":                of(byPlacesOf(placed("9,000", "2", "0 0 4", "8 0 4", "3.8 0 0"))),
		"/counter/scan":               "text=TAG&way=scanner&key=KEY",
		"/counter/picture":            "key=KEY",
		"/counter/answer":             "singles=yes&shortened=no&carries=1,000&seat=yes&again=yes" + card,
		"/counter/issue":              "typed=0417&seen=x&lines=1+2&sign-who=WHO&sign-pin=123456" + card,
		"/counter/same":               "loan=000102030405060708090a0b0c0d0e0f&back=2026-03-04&key=KEY",
		"/counter/planned":            "lift=000102030405060708090a0b0c0d0e0f&key=KEY",
		"/day/plan":                   of(aLift()),
		"/day/planned":                of(url.Values{"stated": {`{"lift":{"use":"ordinary","load_g":3000000,"margin_pct":0,"hitch":"straight","legs":2,"singles":false,"angle":{"from":"horizontal","mdeg":60000},"centred":true},"weighed":true}`}, "day": {"2026-03-02"}, "back": {"same"}, "what": {"pump"}, "rigger": {"Cole Brackenshaw"}}),
		"/day/{day}/propose":          "key=KEY",
		"/day/{day}/aside":            "keep=000102030405060708090a0b0c0d0e0f:SLING&key=KEY",
		"/day/lift/{lift}/keep":       "sling=NS-0417&key=KEY",
		"/day/lift/{lift}/put-back":   "key=KEY",
		"/day/lift/{lift}/give-up":    "why=rain&key=KEY",
		"/counter/shift":              "back=2026-03-02&key=KEY",
		"/counter/for":                "for=1&key=KEY",
		"/counter/off":                card[1:],
		"/counter/here":               of(url.Values{"typed": {"0417"}, "is-rating-tag": {"ok"}, "is-legs": {"ok"}, "is-hook-latch": {"ok"}, "is-mishap": {"ok"}, "is-edge-or-choke-not-stated": {"ok"}}) + card,
		"/counter/return":             "is-rating-tag=ok&is-legs=doubt&is-hook-latch=wrong&is-mishap=wrong&is-edge-or-choke-not-stated=ok&what=shock&note=x&later=yes&heads=HEADS" + card,
		"/counter/hold":               "what=hook+or+latch&reason=leg+2&heads=HEADS" + card,
		"/counter/compare":            "typed=0417" + card,
		"/compare":                    of(url.Values{"sling": {"NS-0417"}, "ident": {"NS-0417"}, "typed": {"NS-0417"}, "seen": {"yes"}}),
		"/counter/phone":              of(nil),
		"/counter/phone/end":          of(nil),
		"/phone":                      "code=ABCD-EFGH",
		"/phone/end":                  of(nil),
		"/count":                      "all=yes&key=KEY",
		"/count/scan":                 "text=TAG&way=scanner&chosen=yes&place=A&count=COUNT&key=KEY",
		"/count/picture":              "key=KEY",
		"/count/move":                 "sling=SLING&moved-to=B-7&chosen=yes&place=A&heads=HEADS&key=KEY",
		"/count/end":                  "end-note=x&count=COUNT&key=KEY",
		"/examiner":                   of(url.Values{"examiner": {"X. Aminer"}, "firm": {"f"}, "qualification": {"q"}, "due-before": {"2027-03-02"}, "places": {"C"}}),
		"/examiner/scan":              "text=TAG&way=scanner&key=KEY",
		"/examiner/sling/{sling}":     of(url.Values{"visit": {"VISIT"}, "date": {"2026-03-02"}, "rating-tag": {"legible"}, "said": {"defect"}, "what-1": {"latch"}, "when-1": {"by"}, "by-1": {"2026-04-02"}}),
		"/examiner/end":               "visit=VISIT&report=R+9&end-note=x&key=KEY",
		"/heap/scan":                  "text=TAG&way=scanner&key=KEY",
		"/heap/picture":               "key=KEY",
		"/heap/dealt":                 "scan=1&key=KEY",
		"/heap/next":                  "key=KEY",
		"/heap/check":                 "text=TAG&way=scanner&key=KEY",
		"/heap/check/{sling}":         of(url.Values{"is-rating-tag": {"ok"}, "is-legs": {"doubt"}, "is-hook-latch": {"wrong"}, "note": {"leg 2"}}),
		"/heap/told":                  of(url.Values{"rigger": {"WHO"}, "sling": {"00000000:0000000000000001"}, "about": {"00000000:0000000000000001"}, "said": {"something"}, "is-mishap": {"wrong"}, "what": {"heat", "unstated"}, "note": {"x"}}),
		"/outside":                    "text=TAG&way=scanner&key=KEY",
		"/outside/{sling}/to":         of(url.Values{"rigger": {"WHO"}}),
		"/outside/{sling}/hand-on":    of(url.Values{"rigger": {"WHO"}, "use": {"same"}, "hand-on-note": {"shift change"}}),
		"/outside/{sling}/place":      of(url.Values{"area": {"press 4"}, "known": {""}, "place-note": {"x"}}),
		"/outside/{sling}/recall":     of(url.Values{"recall-reason": {"needed"}, "by": {"2026-03-09"}}),
		"/scanner":                    of(url.Values{"station": {"counter-2"}}),
		"/rack":                       "find=NS&text=TAG&only=out",
		"/rack/search":                "find=NS&show=held",
		"/rack/{sling}/hold":          of(url.Values{"hold-reason": {"a gouge"}}),
		"/rack/{sling}/lose":          of(url.Values{"lose-note": {"not on the truck"}}),
		"/rack/{sling}/find":          of(url.Values{"find-note": {"under the bench"}}),
		"/rack/{sling}/release":       of(url.Values{"release-reason": {"every link gauged"}}),
		"/rack/{sling}/inspect":       of(url.Values{"date": {"2026-03-02"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}, "months": {""}}),
		"/rack/{sling}/inspect/check": of(url.Values{"date": {"2026-03-02"}, "outcome": {"hold"}, "rating-tag": {"partial"}, "service": {"severe"}, "months": {"6"}}),
		"/rack/{sling}/retire":        of(url.Values{"retire-reason": {"worn"}, "retire-how": {"cut"}}),
		"/rack/{sling}/impound":       of(url.Values{"impound-reason": {"the load fell"}, "holder": {"K. Keeper"}, "lies": {"locker 1"}, "second": {"WHO"}, "second-pin": {"123456"}}),
		"/rack/{sling}/custody":       of(url.Values{"to": {"laboratory"}, "now-lies": {"bench 2"}, "why": {"to be looked at"}}),
		"/rack/{sling}/free":          of(url.Values{"free-reason": {"over"}, "free-lies": {"quarantine"}, "second": {"WHO"}, "second-pin": {"123456"}}),
		"/rack/{sling}/send-off":      of(url.Values{"to": {"the maker"}, "why": {"hook"}}),
		"/rack/{sling}/came-back":     of(url.Values{"certificate": {"R-17"}, "changed": {"2-hook", "0-master"}, "stamp": {""}, "back-note": {"x"}, "back-lies": {"bench"}}),
		"/rack/{sling}/remedy":        of(url.Values{"no": {"1"}, "how-1": {"ground out"}}),
		"/rack/{sling}/correct":       of(aPlate("reason", "typed wrong")),
		"/rack/{sling}/tag":           of(url.Values{"stock": {"disc-70"}}),
		"/rack/{sling}/tag/confirm":   of(url.Values{"text": {"TAG"}, "way": {"scanner"}, "typed": {"0417"}}),
		"/rack/{sling}/tag/away":      of(url.Values{"serial": {"2"}, "why": {"print"}, "note": {"x"}}),
		"/bench/{sling}":              of(url.Values{"step": {"leg-1"}, "revision": {"0"}, "go": {"leg-2"}, "l1-k1-at": {"4"}, "l1-k1-d1": {"19/64"}, "l1-k1-d2": {"0.39"}, "l1-r1": {"13"}, "l1-throat": {"1.1"}, "l1-twist": {"0"}, "l1-section": {"0.7"}, "l1-latch": {"good"}, "l1-links": {"9"}}),
		"/bench/{sling}/check":        of(url.Values{"step": {"seen"}, "revision": {"1"}, "seen-gouge": {"yes"}, "where": {"leg 2, link 4"}}),
		"/bench/{sling}/photo":        "revision=1&key=KEY",
		"/bench/{sling}/aside":        of(url.Values{"revision": {"1"}}),
		"/bench/{sling}/take":         of(url.Values{"revision": {"2"}}),
		"/bench/{sling}/drop":         of(url.Values{"revision": {"0"}}),
		"/bench/{sling}/new":          of(url.Values{"basis": {"maker"}, "source": {"drawing 12"}, "l1-new-run": {"13"}, "l1-new-run-n": {"11"}, "new-master": {"5/8"}}),
		"/register":                   of(aPlate()),
		"/register/check":             of(aPlate("stamp-2-h60", "5579 kg")),
		"/people":                     of(url.Values{"name": {"P. Lund"}, "role": {"rigger", "attendant"}}),
		"/people/{person}/roles":      of(url.Values{"role": {"rigger", "inspector"}}),
		"/people/{person}/off":        of(nil),
		"/people/{person}/on":         of(nil),
		"/people/day":                 of(url.Values{"visitor": {"P. Lund"}, "until": {"2026-03-02"}}),
		"/people/{person}/terms":      of(url.Values{"holds": {"shift-gear", "learner"}, "until": {"2026-03-04"}}),
		"/people/{person}/badge":      of(nil),
		"/sign-in/badge":              "text=TAG",
		"/setup":                      "margin=15&max-months=6&max-tilt=3.5&strict-choke=yes&old-tag=yes&one-person=no&ask-every=20&words=uk&crane-1=Bay+3&hook-1=3+1/2&prefix=&key=KEY&heads=CRIB",
		"/paper":                      of(url.Values{"what": {"back"}, "sling": {"NS-0417"}, "rigger": {"T. Brandt"}, "day": {"2026-03-02"}, "clock": {"7:10"}, "pad": {"1"}, "row": {"2"}, "said": {"nothing"}, "note": {"x"}}),
		"/paper/pad":                  of(url.Values{"sheets": {"2"}}),
		"/strays":                     of(url.Values{"lies": {"cage"}, "note": {"no tag"}}),
		"/strays/{no}/settle":         of(url.Values{"how-1": {"cut up"}}),
		"/photo/{photo}/out":          of(nil),
		"/theme":                      "theme=night&back=/rack",
	}
}

// unsent are the pages that the fuzzer leaves alone, with the reason.
var unsent = map[string]string{
	"/sign-in":             "hashing a PIN takes its time, and its lock would stop the rest",
	"/sign-out":            "nothing could be sent after it",
	"/pin":                 "ends the session; it reads two texts",
	"/bench/{sling}/sign":  "hashing a PIN takes its time, and its lock would stop the rest",
	"/clock":               "hashing a PIN takes its time; it reads a moment",
	"/people/{person}/pin": "hashing a PIN takes its time; it reads nothing",

	"/people/{person}/erase": "hashing a PIN takes its time, and the rigger would be gone",
}

// Whatever is sent in place of a form is answered with a page that says what is
// wrong, or is done: no page fails, none takes a second, and the register is whole
// afterwards.
func FuzzForms(f *testing.F) {
	k := newKiosk(f)
	seeds := formSeeds()
	var paths []string
	for _, r := range routes() {
		if r.method == http.MethodPost && unsent[r.path] == "" {
			paths = append(paths, r.path)
			if seeds[r.path] == "" {
				f.Errorf("nobody has thought of a form for %s", r.path)
			}
			f.Add(r.path, seeds[r.path])
		}
	}
	if len(paths) != len(seeds) {
		f.Fatalf("%d seeds for %d pages", len(seeds), len(paths))
	}
	var id event.SlingID
	var ident, tag string
	hang := func(n int) { // one more sling, with its tag on it
		ident = fmt.Sprintf("NS-%04d", n)
		id = k.shelved(ident, nil)
		tag = k.printed(id)
		k.confirmed(id, tag)
	}
	n := 417
	hang(n)
	all := k.add("W. Whole", everyone)
	c := k.signedIn(all)
	c.takes(k.rigger)
	ctx := context.Background()
	before := k.position()
	f.Cleanup(func() {
		k.t = f
		if seedsOnly := flag.Lookup("test.fuzz").Value.String() == ""; seedsOnly && k.position() < before+10 {
			f.Errorf("the forms recorded %d events: they prove nothing", k.position()-before)
		}
		report, err := k.store.Verify(ctx, nil)
		if err != nil || !report.Whole() {
			f.Errorf("the register is not whole: %v, %v", report.Breaks, err)
		}
	})
	f.Fuzz(func(t *testing.T, path, form string) {
		if !slices.Contains(paths, path) {
			return
		}
		k.t = t
		k.log.empty() // of a million requests it would fill the memory
		if now := k.sling(id); now.Details.Sling.State == gate.StateRetired || now.NextSerial() == 0 || now.Doubt != 0 {
			n++
			hang(n)
		}
		bounded.Run(t, time.Now, 256<<20, func() {
			fill := strings.NewReplacer("KEY", newKey(), "HEADS", headsText(k.sling(id).Heads), "CRIB", headsText(k.cribNow().Heads), "TAG", tag, "SLING", id.String(), "COUNT", k.cribNow().Count.ID.String(), "VISIT", k.cribNow().Visit.Visit.String(), "WHO", k.rigger.ID.String())
			at := strings.NewReplacer("{sling}", ident, "{person}", k.rigger.ID.String(), "{no}", "1", "{day}", "2026-03-02", "{lift}", strings.Repeat("1", 32), "{photo}", strings.Repeat("0", 63)+"1").Replace(path)
			r := c.request(http.MethodPost, at, strings.NewReader(fill.Replace(form)))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			if a := c.do(r); a.status >= 500 || a.to == "/sign-in" {
				t.Errorf("%s: %d to %s\n%s\n%s", at, a.status, a.to, a.words(), k.log)
			}
		})
	})
}

func (l *logText) empty() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text.Reset()
}

// position is how far the register goes.
func (k *kiosk) position() int64 {
	k.t.Helper()
	head, err := k.store.Head(context.Background())
	if err != nil {
		k.t.Fatal(err)
	}
	return head.At
}

// cribNow is the crib as it stands.
func (k *kiosk) cribNow() state.Crib {
	k.t.Helper()
	crib, err := k.store.Crib(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	return crib
}

// A page that is older than a register that was restored names people whom it
// does not know; that is told, and is no fault of ours.
func TestAnUnknownPersonIsTold(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	a := c.post("/counter/rigger", url.Values{"key": {newKey()}, "rigger": {event.PersonID{7}.String()}})
	if a.status != http.StatusConflict || !a.has("not in the register") {
		t.Errorf("%d: %s", a.status, a.words())
	}
}
