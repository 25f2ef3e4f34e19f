package card_test

import (
	"errors"
	"strings"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/labeler/card"
)

// tester is what *testing.T and *rapid.T have in common.
type tester interface {
	Helper()
	Fatal(...any)
}

func day(t tester, s string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func size(t tester, s rating.System, printed string) rating.Size {
	t.Helper()
	z, err := rating.ParseSize(s, printed)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// record is a sling that gets a card: 3/8 in grade 80, two legs.
func record(t tester) card.Record {
	return card.Record{
		Ident: "CS-0417", Outcome: tagcode.Fit, Policy: gate.DefaultPolicy(), Units: quantity.Imperial,
		Printed: day(t, "2026-03-02"), AsOf: day(t, "2026-02-28"),
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: size(t, rating.US, "3/8"), Legs: 2, Reach: 2400 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12_300 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: day(t, "2025-11-10"), Due: day(t, "2026-11-10"),
		},
	}
}

func TestWhoGetsNoCard(t *testing.T) {
	hot := func(f int64) func(*card.Record) {
		return func(r *card.Record) { h := quantity.Fahrenheit(f); r.Sling.Hottest = &h }
	}
	state := func(s gate.State) func(*card.Record) { return func(r *card.Record) { r.Sling.State = s } }
	load := func(pounds quantity.Mass) func(*card.Record) {
		return func(r *card.Record) { r.Sling.Stamped[0].Load = pounds * quantity.Pound }
	}
	for _, c := range []struct {
		name   string
		change func(*card.Record)
		why    string // empty: it gets one
	}{
		{"in", func(*card.Record) {}, ""},
		{"out", state(gate.StateOut), ""},
		{"unchecked", state(gate.StateUnchecked), "nobody has looked at it"},
		{"held", state(gate.StateHeld), "held in quarantine"},
		{"retired", state(gate.StateRetired), "It was retired for good"},
		{"lost", state(gate.StateLost), "lost"},
		{"out and waited for", func(r *card.Record) { r.Sling.State, r.Waiting = gate.StateOut, "shock load" }, "held when it comes back: shock load"},
		{"in doubt", func(r *card.Record) { r.Doubtful = true }, "cannot be relied on"},
		{"due on the day", func(r *card.Record) { r.Printed = r.Sling.Due }, ""},
		{"due the day before", func(r *card.Record) { r.Printed = r.Sling.Due.AddDays(1) }, "was due on 10 Nov 2026"},
		{"past the policy's months", func(r *card.Record) { r.Policy.MaxMonths = 3 }, "was due on 10 Feb 2026"},
		{"never inspected", func(r *card.Record) { r.Sling.Inspected, r.Outcome = quantity.Date{}, tagcode.NoOutcome }, "no thorough inspection on record"},
		{"no due day", func(r *card.Record) { r.Sling.Due = quantity.Date{} }, "has no date"},
		{"inspected today", func(r *card.Record) { r.Printed = r.Sling.Inspected }, ""},
		{"inspected tomorrow", func(r *card.Record) { r.Printed = r.Sling.Inspected.AddDays(-1) }, "dated later than today"},
		{"found to be held", func(r *card.Record) { r.Outcome = tagcode.Hold }, "did not find it fit"},
		{"found to be out", func(r *card.Record) { r.Outcome = tagcode.Out }, "did not find it fit"},
		{"finding not known", func(r *card.Record) { r.Outcome = tagcode.NoOutcome }, "not on record"},
		{"rating tag in part", func(r *card.Record) { r.Sling.RatingTag = gate.TagPartial }, "rating tag cannot be fully read"},
		{"nothing stamped", func(r *card.Record) { r.Sling.Stamped = nil }, "No rated load"},
		{"stamped 2.5 % high", load(12_607), ""}, // 12,607.5 is the limit (site policy, no source)
		{"stamped higher", load(12_608), "higher than the table allows"},
		{"no table", func(r *card.Record) { r.Sling.Grade, r.Sling.Size = rating.Grade120, size(t, rating.US, "1") }, "No table lists"},
		{"was at 1000 °F", hot(1000), ""}, // 29 CFR 1910.184(e)(6): above 1000 °F
		{"was at 1001 °F", hot(1001), "hotter than its chain survives"},
	} {
		r := record(t)
		c.change(&r)
		p, err := r.Pocket()
		var refused *card.RefusedError
		switch {
		case c.why == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.why != "" && (!errors.As(err, &refused) || !strings.Contains(err.Error(), c.why) || refused.Ident != r.Ident):
			t.Errorf("%s: %v, want %q", c.name, err, c.why)
		case err != nil && len(p.Front)+len(p.Back) > 0:
			t.Errorf("%s: refused, and asked all the same", c.name)
		}
	}
	if _, err := (card.Record{}).Pocket(); err == nil {
		t.Error("the zero record gets a card")
	}
}

func TestReadLine(t *testing.T) {
	const good = `{"id":"CS-0417","serial":3,"outcome":"fit","system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"}`
	r, err := card.ReadLine(strings.NewReader("\n" + good + "\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := record(t)
	if r.Ident != want.Ident || r.Outcome != want.Outcome || r.Sling.Due != want.Sling.Due || r.Sling.Stamped[0] != want.Sling.Stamped[0] {
		t.Errorf("read %+v", r)
	}
	for _, c := range []struct{ name, text, want string }{
		{"nothing", " \n", "one line"},
		{"two lines", good + "\n" + good, "one line"},
		{"no sling", `[]`, "object"},
		{"no id", strings.Replace(good, `"id":"CS-0417",`, "", 1), "id"},
		{"small letters", strings.Replace(good, "CS-0417", "cs-0417", 1), "id"},
		{"unknown name", strings.Replace(good, `"legs":2,"reach`, `"legs":2,"rack":1,"reach`, 1), "rack"},
		{"unknown outcome", strings.Replace(good, `"fit"`, `"good"`, 1), "outcome"},
		{"serial too high", strings.Replace(good, `"serial":3`, `"serial":1024`, 1), "serial"},
		{"too long", good + strings.Repeat(" ", 64<<10) + "x", "longer"},
	} {
		if r, err := card.ReadLine(strings.NewReader(c.text)); err == nil || !strings.Contains(err.Error(), c.want) || r.Ident != "" {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// A card from a register says where it stood, however far that is, and fits all
// the same; one from elsewhere says nothing of it.
func TestCardNamesTheRegister(t *testing.T) {
	said := func(r card.Record) string {
		t.Helper()
		p, err := r.Pocket()
		if err != nil {
			t.Fatal(err)
		}
		pages, err := p.Draw()
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, text := range pages[0].Texts {
			all = append(all, text.String)
		}
		return strings.ReplaceAll(strings.Join(all, " "), "\u00a0", " ")
	}
	r := record(t)
	if text := said(r); strings.Contains(text, "register at") {
		t.Errorf("a record from elsewhere: %s", text)
	}
	for _, at := range []int64{1, 17, tagcode.MaxPosition} {
		r.Head = tagcode.Head{At: at, Hash: [32]byte{0x3f, 0x2a, 0x9c, 1}}
		if text := said(r); !strings.Contains(text, "(register at "+r.Head.String()+");") {
			t.Errorf("position %d: %s", at, text)
		}
	}
}
