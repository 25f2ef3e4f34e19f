package web

import (
	"net/http"
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Fractions of an inch go to the safe side: 1/64 in is 396.875 µm (an inch is
// 25.4 mm, international yard and pound agreement of 1959).
func TestReadWidth(t *testing.T) {
	const mm, in = quantity.Metric, quantity.Imperial
	for _, x := range []struct {
		text     string
		lead     quantity.Units
		down, up quantity.Length
	}{
		{"", mm, 0, 0},
		{"90", mm, 90_000, 90_000},
		{"90.5", mm, 90_500, 90_500},
		{"3 1/2", in, 88_900, 88_900},
		{"1/64 in", mm, 0, 0}, // narrower than any link
		{"1 1/64", in, 25_796, 25_797},
		{" 1  1/64 ″ ", mm, 25_796, 25_797},
		{"3.125", in, 79_375, 79_375},
		{"3.001 in", mm, 76_225, 76_226},
		{"90 mm", in, 90_000, 90_000},
		{"1000", mm, 1_000_000, 1_000_000},
	} {
		down, complaint := readWidth(x.text, x.lead, false)
		up, _ := readWidth(x.text, x.lead, true)
		if down != x.down && x.down > 0 || up != x.up && x.up > 0 || (complaint == "") != (x.down > 0 || x.text == "") {
			t.Errorf("%q is %d and %d µm, %q; want %d and %d", x.text, down, up, complaint, x.down, x.up)
		}
	}
	for _, text := range []string{"90,5", "-3", "3 1/3", "3 4/4", "3/0", "wide", "1001 mm", "0", "0.9 mm", "40 in", "12345", "1 m", "90 90"} {
		if l, complaint := readWidth(text, mm, false); complaint == "" || l != 0 {
			t.Errorf("%q is read as %d µm", text, l)
		}
	}
}

// What a width is spelled as reads back as that width, on both sides.
func TestWidthText(t *testing.T) {
	for n := int64(64); n < 10*64; n++ {
		for _, l := range []quantity.Length{quantity.SixtyFourthsDown(n), quantity.SixtyFourthsUp(n), quantity.Length(n) * quantity.Millimetre} {
			for _, up := range []bool{false, true} {
				for _, lead := range []quantity.Units{quantity.Metric, quantity.Imperial} {
					if back, complaint := readWidth(widthText(l, up), lead, up); back != l || complaint != "" {
						t.Fatalf("%d µm is spelled %q, which reads as %d, %q", l, widthText(l, up), back, complaint)
					}
				}
			}
		}
	}
}

// What hangs at the ends of a sling is asked when it is registered, shown with it,
// and mended like the rest of what is on record. One from before is as it was.
func TestRegisterFittings(t *testing.T) {
	t.Parallel()
	k := newKiosk(t) // in pounds and inches
	c := k.signedIn(k.keeper)
	if a := c.registers(aPlate("lower", "")); a.status != http.StatusUnprocessableEntity || !a.has("Look at the lower ends of the legs and choose.") {
		t.Errorf("nothing chosen: %d", a.status)
	}
	if a := c.registers(aPlate("inside", "9000")); a.status != http.StatusUnprocessableEntity || !a.has("This is no width that a link or a hook can have") {
		t.Errorf("a slip of the point: %d", a.status)
	}
	fittings := func(ident string) event.Fittings {
		t.Helper()
		s, err := k.store.SlingByIdent(t.Context(), ident)
		if err != nil {
			t.Fatal(err)
		}
		return s.Details.Fittings
	}
	c.registers(aPlate("ident", "NS-1", "lower", "locking-hook", "inside", "3 33/64"))
	if got, want := fittings("NS-1"), (event.Fittings{Inside: quantity.SixtyFourthsDown(3*64 + 33), Lower: event.LockingHook}); got != want {
		t.Errorf("recorded %+v, want %+v", got, want)
	}
	a := k.signedIn(k.attendant).get("/rack/NS-1")
	if !a.has("Self-locking hook") || !a.has("3 33/64 in") {
		t.Errorf("the sling’s page: %s", a.words())
	}
	c.registers(aPlate("ident", "NS-2", "lower", "unknown", "inside", ""))
	if got := fittings("NS-2"); got != (event.Fittings{}) {
		t.Errorf("nobody looked, and it is recorded %+v", got)
	}

	inspector := k.signedIn(k.inspector)
	page := inspector.get("/rack/NS-1/correct")
	if !page.has(`name="lower" value="locking-hook" checked`) || !page.has(`value="3 33/64 in"`) {
		t.Errorf("the form is not filled from the record: %s", page.body)
	}
	correct := func(ident string, pairs ...string) {
		t.Helper()
		s, err := k.store.SlingByIdent(t.Context(), ident)
		if err != nil {
			t.Fatal(err)
		}
		form, filled := url.Values{"reason": {"looked again"}}, recordedForm(s.Details)
		for _, name := range detailNames() {
			form.Set(name, filled(name))
		}
		at := "/rack/" + ident + "/correct"
		if a := inspector.send(inspector.get(at), at, with(form, pairs...)); !a.has(ident + " is corrected.") {
			t.Fatalf("correct %s: %d %s", ident, a.status, a.words())
		}
	}
	correct("NS-1", "lower", "shackle", "inside", "")
	if got := fittings("NS-1"); got != (event.Fittings{Lower: event.Shackle}) {
		t.Errorf("corrected to %+v", got)
	}
	if a := inspector.get("/rack/NS-1"); !a.has("Self-locking hook") || !a.has("Shackle") {
		t.Errorf("the story does not say what was corrected: %s", a.words())
	}

	k.hanging("NS-3", nil) // registered without fittings, as before they were asked
	correct("NS-3", "place", "C9")
	if got := fittings("NS-3"); got != (event.Fittings{}) {
		t.Errorf("of an older one it is recorded %+v", got)
	}
}
