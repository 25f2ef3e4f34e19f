package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// atBench sends one step of an inspection, as the page of that step has it.
func (c *client) atBench(ident, step string, pairs ...string) answer {
	c.k.t.Helper()
	at := benchPath + "/" + ident
	to := at
	if step == "sign" {
		to = at + "/sign"
	}
	return c.send(c.get(at+"?step="+step), to, with(url.Values{}, pairs...))
}

// soundLeg is what a caliper says of a leg of the test crib's slings when it is as new.
func soundLeg(n int) []string {
	of := func(name string) string { return legField(n, name) }
	pairs := []string{of("links"), "61", of("reach"), "94 1/2", of("throat"), "1.11", of("section"), "0.78", of("twist"), "0", of("latch"), "good"}
	for i, d := range []string{"0.392", "0.388", "0.39"} {
		pairs = append(pairs, of(fmt.Sprintf("k%d-at", i+1)), []string{"1", "30", "61"}[i], of(fmt.Sprintf("k%d-d1", i+1)), d, of(fmt.Sprintf("k%d-d2", i+1)), d, of(fmt.Sprintf("r%d", i+1)), "13")
	}
	return pairs
}

func (c *client) sound(ident string) {
	c.k.t.Helper()
	c.atBench(ident, "start", "rating-tag", "legible", "m-clean", "yes", "m-seats", "yes", "gauge-1", "caliper 7", "calibrated-1", "2026-01-05")
	c.atBench(ident, "leg-1", soundLeg(1)...)
	c.atBench(ident, "leg-2", soundLeg(2)...)
	c.atBench(ident, "upper", "master", "5/8")
	c.atBench(ident, "seen", "all-seen", "yes")
}

// A sling with many faults at once goes in as found and comes out with each finding,
// its rule, the right end, and what may be saved.
func TestManyFaultsAtOnce(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0666", func(d *event.Details) {
		d.Sling.Stamped[0].Load = 20_000 * quantity.Pound // US OSHA, Guidance on Safe Sling Use, table 1: 12,300 lb
	})
	k.newParts(id)
	c := k.signedIn(k.inspector)
	c.atBench("NS-0666", "start", "rating-tag", "legible", "m-clean", "yes", "gauge-1", "caliper 7")
	c.atBench("NS-0666", "leg-1", append(soundLeg(1), "l1-latch", "bent", "l1-coupling", "0.5")...)
	c.atBench("NS-0666", "leg-2", append(soundLeg(2), "l2-k2-at", "30", "l2-k2-d1", "21/64", "l2-k2-d2", "0.37")...)
	c.atBench("NS-0666", "upper", "master", "5/8")
	c.atBench("NS-0666", "seen", "all-seen", "yes", "seen-worn-seat", "yes", "seen-wrong-grade-part", "yes", "seen-gouge", "yes", "seen-heat-damage", "yes",
		"where", "coupling link of leg 1 is of another grade; seat of link 30 of leg 2; gouge in link 7 of leg 1; blue beside the ring")
	page := c.get(benchPath + "/NS-0666?step=sign")
	for _, found := range []string{
		"a higher load is stamped",                        // whatever the gate says of it, see below
		"Leg 2, link 30 from the ring", "least 0.3422 in", // B30.9 least thickness of 3/8 chain
		"Latch bent or missing.", "WAC", // WAC table 12
		"Dimension of the new part not known.", // of the coupling link
		"Worn bearing point.", "Gouge.", "Heat damage.", "Part of another grade.",
	} {
		if found == "a higher load is stamped" {
			found = gate.StampTooHigh.Text(gate.Answer{}, inUS).Sentence
		}
		if !strings.Contains(page.words(), found) {
			t.Errorf("the page lacks %q: %s", found, page.words())
		}
	}
	if strings.Contains(page.main(), `name="decision" value="fit"`) || strings.Contains(page.main(), `value="hold"`) || !strings.Contains(page.main(), `value="out"`) {
		t.Error("a milder decision than what was found is offered")
	}
	sign := []string{"decision", "out", "service", "normal", "why", "more than one reason", "salvage", "hook of leg 2, master link", "pin", testPIN}
	if a := c.atBench("NS-0666", "sign", append(sign, "decision", "fit")...); !a.has("This is none of the answers.") || k.recorded(id, event.KindInspected) != 0 {
		t.Fatalf("a milder decision: %d %s", a.status, a.words())
	}
	if a := c.atBench("NS-0666", "sign", append(sign, "pin", "902759")...); !a.has("do not belong together") || strings.Contains(a.body, "902759") || k.recorded(id, event.KindInspected) != 0 {
		t.Fatalf("a wrong PIN: %d %s", a.status, a.words())
	}
	if a := c.atBench("NS-0666", "sign", sign...); !a.has("out of service. Make it unusable") {
		t.Fatalf("signed: %d %s", a.status, a.words())
	}
	s := k.sling(id)
	if s.Details.Outcome != tagcode.Out || s.Details.Sling.State != gate.StateHeld || s.Details.Sling.Due != day(t, "2027-03-02") {
		t.Errorf("%+v", s.Details)
	}
	story, err := k.store.Story(t.Context(), event.Sling(id))
	if err != nil {
		t.Fatal(err)
	}
	sheet := story[len(story)-1].Body.(event.Inspected).Sheet
	q, err := removal.ParseQuestion([]byte(sheet.Verdict.Question))
	if err != nil {
		t.Fatal(err)
	}
	a, err := removal.Assess(q)
	var codes []string
	for _, f := range a.Findings {
		codes = append(codes, fmt.Sprintf("%s %s %d %d", f.Code, f.Grade, f.Leg, f.At))
	}
	want := []string{"link-worn out 2 30", "latch out 1 0", "part-unknown hold 1 0", "gouge hold 0 0", "heat-damage out 0 0", "worn-seat hold 0 0", "wrong-grade-part out 0 0"}
	if err != nil || a.Verdict != removal.OutOfService || !slices.Equal(codes, want) {
		t.Errorf("%s %q\nwant %q", a.Verdict, codes, want)
	}
	if sheet.Salvage != "hook of leg 2, master link" || sheet.Decision != event.DecidedOut || sheet.Method != "Cleaned first" || sheet.Instruments[0].Name != "caliper 7" || sheet.Used != 1271 {
		t.Errorf("%+v", sheet)
	}
	for _, text := range []string{"Decided: out of service", "May be saved: hook of leg 2", "Link worn below the least thickness"} {
		if page := c.get("/rack/NS-0666"); !strings.Contains(page.words(), text) {
			t.Errorf("its story lacks %q: %s", text, page.words())
		}
	}
	if page := c.get("/rack/NS-0666"); !strings.Contains(page.main(), `<details class="act first" id="retire"`) {
		t.Errorf("out of service, and to retire it is not what comes first: %s", page.main())
	}
	if page := c.get(reportPath(id, story[len(story)-1].Envelope.At)); strings.Count(page.words(), gate.StampTooHigh.Text(gate.Answer{}, inUS).Sentence) != 2 {
		t.Errorf("its report does not say what stands against the load that it names: %s", page.words())
	}
	// The result alone does not let it go again.
	if a := c.act("NS-0666", "inspect", url.Values{"date": {"2026-03-02"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}}); !a.has("It passes by being measured again, at the bench.") {
		t.Errorf("passed without a gauge: %s", a.words())
	}
}

// What is typed wrong is refused or asked about on its field, and the rest is kept.
func TestBenchFields(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	k.newParts(id)
	c := k.signedIn(k.inspector)
	c.sound("NS-0417")
	for _, x := range []struct{ field, typed, says string }{
		{"l1-k1-d1", "0.29.7", "more than one point"},
		{"l1-k1-d1", "19/65", "No rule has this fraction"},
		{"l1-k1-d1", "3.92", "Did the point slip?"},
		{"l1-k1-d1", "9.9", "Is it in millimetres? Then type mm behind it."},
		{"l1-k1-d1", "9.9 mm", ""},
		{"l1-k1-d1", "19/64", ""},
		{"l1-k1-at", "62", "This leg has 61 links on record."},
		{"l1-k1-at", "x", "Type how many links"},
		{"l1-links", "60", "The record has 61 links in this leg."},
		{"l1-reach", "9.45", "Did the point slip?"},
		{"l1-throat", "28.2", "Is it in millimetres?"},
		{"l1-twist", "400", "more than a whole turn"},
		{"l1-r2", "1.3", "Did the point slip?"},
		{"l1-coupler", "", ""},
	} {
		page := c.get(benchPath + "/NS-0417?step=leg-1")
		form := with(page.form(t, benchPath+"/NS-0417"), soundLeg(1)...)
		form.Set(x.field, x.typed)
		a := c.post(benchPath+"/NS-0417/check", form)
		_, is, _ := strings.Cut(a.body, `id="is-`+x.field+`"`)
		is, _, _ = strings.Cut(is, "</div>")
		if a.status != http.StatusOK || x.says == "" && strings.Contains(is, "<label") || !strings.Contains(is, x.says) || strings.Contains(is, `class="wrong"`) && x.says == "" {
			t.Errorf("%s %q: %d %s", x.field, x.typed, a.status, is)
		}
		if x.says != "" {
			if page := c.get(benchPath + "/NS-0417?step=sign"); strings.Contains(page.main(), `value="fit"`) {
				t.Errorf("%s %q: it may be fit", x.field, x.typed)
			}
		}
		page = c.get(benchPath + "/NS-0417?step=leg-1")
		if !strings.Contains(page.body, `name="l1-r3" type="text" autocomplete="off" data-gauge value="13"`) {
			t.Errorf("%s %q: the rest is not kept", x.field, x.typed)
		}
		c.atBench("NS-0417", "leg-1", soundLeg(1)...)
	}
	// Strange, and so: it counts once that was said, for that very text.
	c.atBench("NS-0417", "leg-1", append(soundLeg(1), "l1-links", "60", "ok-l1-links", "60")...)
	if page := c.get(benchPath + "/NS-0417?step=sign"); !strings.Contains(page.main(), `value="fit"`) {
		t.Errorf("what was said to be so does not count: %s", page.words())
	}
	c.atBench("NS-0417", "leg-1", append(soundLeg(1), "l1-links", "59", "ok-l1-links", "60")...)
	if page := c.get(benchPath + "/NS-0417?step=sign"); strings.Contains(page.main(), `value="fit"`) {
		t.Error("another text counts by what was said of the one before")
	}
	// A picture that is none is refused at its field.
	for _, bad := range []string{"<script>alert(1)</script>", "\x00\x00\x00\x18ftypmp42", ""} {
		form := c.get(benchPath+"/NS-0417?step=seen").form(t, benchPath+"/NS-0417/photo")
		a := c.sends(benchPath+"/NS-0417/photo", form, []byte(bad))
		if a.status != http.StatusUnprocessableEntity || strings.Contains(a.body, `<img src="/photo/`) {
			t.Errorf("%.12q: %d", bad, a.status)
		}
	}
	// Of two pages of one inspector the older is told, and nothing is lost.
	old := c.get(benchPath+"/NS-0417?step=upper").form(t, benchPath+"/NS-0417")
	c.atBench("NS-0417", "upper", "master", "0.61")
	old.Set("master", "0.5")
	if a := c.post(benchPath+"/NS-0417", old); a.status != http.StatusConflict || !a.has("was changed on another page") {
		t.Errorf("an older page: %d %s", a.status, a.words())
	}
	if d, err := k.server.Bench.Draft(t.Context(), id.String()); err != nil || d.Fields["master"] != "0.61" {
		t.Errorf("%+v %v", d.Fields, err)
	}
	if n := k.recorded(id, event.KindInspected); n != 0 {
		t.Errorf("%d inspections recorded without a signature", n)
	}
}

// What parts measured when new is put on record with its source, and refused where
// it cannot be.
func TestFiguresPage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	c := k.signedIn(k.keeper)
	at := benchPath + "/NS-0417/new"
	send := func(pairs ...string) answer { return c.send(c.get(at), at, with(url.Values{}, pairs...)) }
	for _, x := range []struct {
		says  string
		pairs []string
	}{
		{"Say how they are known.", []string{"source", "drawing 12", "new-master", "5/8"}},
		{"Write which drawing", []string{"basis", "maker", "new-master", "5/8"}},
		{"Type at least one dimension.", []string{"basis", "maker", "source", "drawing 12"}},
		{"Did the point slip?", []string{"basis", "maker", "source", "drawing 12", "l1-new-run", "1.3", "l1-new-run-n", "11"}},
		{"more than one point", []string{"basis", "maker", "source", "drawing 12", "l1-new-throat", "1.1.1"}},
		{"Your role may not do this.", []string{"basis", "reference", "source", "hook 9", "l1-new-throat", "1.1"}},
	} {
		if a := send(x.pairs...); !a.has(x.says) {
			t.Errorf("%v: %d %s", x.pairs, a.status, a.words())
		}
	}
	if a := send("basis", "maker", "source", "drawing 12", "l1-new-run", "13", "l1-new-run-n", "11", "new-master", "5/8", "l2-new-links", "61"); !a.has("3 dimensions of new parts on record") {
		t.Fatalf("%d %s", a.status, a.words())
	}
	s := k.sling(id)
	if f := counter.NewOf(s, event.FigureOf{Dimension: event.RunLength, Leg: 1}); len(s.New) != 3 || f.Value != 330_200 || f.Links != 11 || f.By != k.keeper.ID {
		t.Errorf("%+v", s.New)
	}
	if page := c.get(at); !page.has("13 in over 11: maker’s dimension, drawing 12; S. Quill, 2 Mar 2026") {
		t.Errorf("the page does not say who and when: %s", page.words())
	}
	if page := c.get("/rack/NS-0417"); !page.has("Length of leg 1: 13 in over 11 links, maker’s dimension, drawing 12.") {
		t.Errorf("the story: %s", page.words())
	}
}

// BenchmarkBench asks for the queue of a crib with 20,000 slings.
func BenchmarkBench(b *testing.B) {
	const slings = 20_000
	k := newKiosk(b)
	idents := make([]string, slings)
	for n := range slings {
		idents[n] = fmt.Sprintf("NS-%05d", (n*48271)%slings)
	}
	k.manyShelved(idents)
	c := k.signedIn(k.inspector)
	timesOf(b, func() {
		a := c.get(benchPath)
		if n := strings.Count(a.body, `<a class="card`); a.status != http.StatusOK || n != benchRows {
			b.Fatalf("%d: %d rows", a.status, n)
		}
	})
}

// BenchmarkSlingPage asks for the page of a sling of which 300 things are told. It is to
// be answered within 50 ms, which is asked of the 95th percentile.
func BenchmarkSlingPage(b *testing.B) {
	k := newKiosk(b)
	id, _ := k.hanging("NS-0417", nil)
	for n := range 99 {
		k.happens(id, k.attendant, event.Held{Reason: fmt.Sprintf("a nick, the %d.", n)})
		k.happens(id, k.inspector, event.Inspected{Date: k.today(), Outcome: tagcode.Fit, Service: due.Normal, Due: k.today().AddMonths(12), RatingTag: gate.TagLegible})
		k.happens(id, k.inspector, event.Released{Reason: "blended"})
	}
	if n := k.sling(id).Events; n < 300 {
		b.Fatalf("%d events", n)
	}
	c := k.signedIn(k.inspector)
	timesOf(b, func() {
		if a := c.get("/rack/NS-0417"); a.status != http.StatusOK || !a.has("Released: blended.") {
			b.Fatalf("%d", a.status)
		}
	})
}

// What is signed for repair leads to where it is sent off; what came back with a new
// stamp is released only once its details were corrected by that stamp, whatever else
// is corrected meanwhile.
func TestSignedForRepair(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	k.newParts(id)
	c := k.signedIn(k.inspector)
	c.sound("NS-0417")
	c.atBench("NS-0417", "leg-2", append(soundLeg(2), "l2-throat", "1.2")...)
	form := with(c.get(benchPath+"/NS-0417?step=sign").form(t, benchPath+"/NS-0417/sign"), "decision", "repair", "service", "normal", "why", "hook of leg 2 is open", "pin", testPIN)
	if a := c.post(benchPath+"/NS-0417/sign", form); a.header.Get("Location") != "/rack/NS-0417/kept?do=send-off" {
		t.Fatalf("signed for repair leads to %q: %d %s", a.header.Get("Location"), a.status, a.words())
	}
	if s := k.sling(id); !slices.Equal(s.Failed, []event.Piece{{Hook: true, Leg: 2}}) {
		t.Errorf("failed: %+v", s.Failed)
	}
	page := c.get("/rack/NS-0417/kept?do=send-off")
	if !page.has("Write down here when it goes, and to whom.") || !strings.Contains(page.main(), `id="send-off" name="act" open`) {
		t.Errorf("there: %s", page.main())
	}
	if first := c.get("/rack/NS-0417"); !strings.Contains(first.main(), `<a class="button first" href="/bench/`) {
		t.Errorf("what failed is not led to the bench first: %s", first.main())
	}
	if a := c.get(benchPath + "/NS-0417"); !a.has("not put in anew: hook of leg 2.") {
		t.Errorf("the bench does not say what failed: %s", a.words())
	}
	c.send(page, "/rack/NS-0417/send-off", url.Values{"to": {"Ridge chain works"}, "why": {"a new hook"}})
	c.send(c.get("/rack/NS-0417/kept"), "/rack/NS-0417/came-back", url.Values{"certificate": {"R-17"}, "changed": {"2-hook"}, "stamp": {"10,400 lb at 60°"}})
	k.happens(id, k.inspector, event.Inspected{Date: k.today(), Outcome: tagcode.Fit, Service: due.Normal, Due: k.today().AddMonths(12), RatingTag: gate.TagLegible})
	release := func(want string) {
		t.Helper()
		if a := c.act("NS-0417", "release", url.Values{"release-reason": {"new hook, measured"}}); !a.has(want) {
			t.Errorf("released: %s", a.words())
		}
	}
	release(gate.StampNotRecorded.Text(gate.Answer{}, inUS).Sentence)
	for list, want := range map[[2]event.Piece]string{
		{{Hook: true, Leg: 2}, {What: removal.Master}}: "Failed when it was measured last, and not put in anew: hook of leg 2, master link. It is passed by measuring it again.",
		{{}, {Chain: true, Leg: 1}}:                    "Failed when it was measured last, and not put in anew: chain of leg 1. It is passed by measuring it again.",
		{{}, {}}:                                       "It was not passed the last time it was measured. It is passed by measuring it again.",
	} {
		s := state.Sling{Failed: list[:]}
		if got := failedSays(s); got != want {
			t.Errorf("%+v: %q", list, got)
		}
	}
	correct := func(want string, pairs ...string) {
		t.Helper()
		form := with(aPlate("ident", "", "hang", "", "reason", "read again"), pairs...)
		if a := c.send(c.get("/rack/NS-0417/correct"), "/rack/NS-0417/correct", form); !a.has(want) {
			t.Errorf("corrected: %s", a.words())
		}
	}
	if a := c.get("/rack/NS-0417"); !a.has("by what is stamped on it anew") {
		t.Errorf("its page does not lead to the correction: %s", a.words())
	}
	correct("Say whether the loads are those of the new stamp.", "place", "D2")
	correct("NS-0417 is corrected.", "place", "D2", "restamped", "no")
	release(gate.StampNotRecorded.Text(gate.Answer{}, inUS).Sentence)
	correct("NS-0417 is corrected.", "stamp-2-h60", "10,400", "restamped", "yes")
	release("is released. Hang it back in the rack.")
	k.stands(id, gate.StateIn)
	if a := c.get("/rack/NS-0417/correct"); a.has("new stamp") {
		t.Error("it is asked about a stamp that is on record")
	}
}
