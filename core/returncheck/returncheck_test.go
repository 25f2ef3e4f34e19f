package returncheck

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/source"
	"cribgate/core/state"
	"cribgate/core/trade"
)

func day(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// plain are the facts of a two-leg sling with latch hooks that was inspected just now
// and came back from an easy lift.
func plain(t testing.TB) Facts {
	return Facts{Legs: 2, Lower: event.LatchHook, Use: event.Use{Stated: true, Share: 40},
		Inspected: day(t, "2026-03-01"), Due: day(t, "2026-09-01"), Today: day(t, "2026-03-02")}
}

func words(list []Chosen) string {
	var out []string
	for _, c := range list {
		out = append(out, c.Word)
	}
	return strings.Join(out, " ")
}

// TestChoose: what each fact adds, on both sides of each limit.
func TestChoose(t *testing.T) {
	with := func(change func(*Facts)) Facts {
		f := plain(t)
		change(&f)
		return f
	}
	open := func(f *Facts, list ...event.Answered) {
		f.Before = state.Check{Day: f.Today, Worst: event.Worst(list), Open: list}
	}
	const both, three = "mishap edge-or-choke-not-stated", "rating-tag legs hook-latch"
	for _, c := range []struct {
		name    string
		f       Facts
		looks   string
		asks    string
		because string // somewhere among the reasons
	}{
		{"nothing known: the fullest", Facts{}, "rating-tag legs hook-latch foreign-parts", both, "no thorough inspection is on record"},
		{"an easy lift", plain(t), three, both, "after every use"},
		{"20 % of its rating", with(func(f *Facts) { f.Use.Share = 20 }), three, "mishap", ""},
		{"21 %", with(func(f *Facts) { f.Use.Share = 21 }), three, both, "its lift asked 21 % of its rating"},
		{"79 %", with(func(f *Facts) { f.Use.Share = 79 }), three, both, ""},
		{"80 %", with(func(f *Facts) { f.Use.Share = 80 }), "rating-tag legs hook-latch couplers", both, "its lift asked 80 % of its rating"},
		{"gear for a shift", with(func(f *Facts) { f.Use = event.Use{} }), "rating-tag legs hook-latch couplers", both, "nobody stated its lift"},
		{"figures not known", with(func(f *Facts) { f.Use.Share = 0 }), "rating-tag legs hook-latch couplers", both, "is not known"},
		{"one leg", with(func(f *Facts) { f.Legs = 1 }), "rating-tag chain hook-latch", both, ""},
		{"a locking hook", with(func(f *Facts) { f.Lower = event.LockingHook }), "rating-tag legs hook-lock", both, ""},
		{"a foundry hook", with(func(f *Facts) { f.Lower = event.FoundryHook }), "rating-tag legs hook-open", both, ""},
		{"a grab hook", with(func(f *Facts) { f.Lower = event.GrabHook }), "rating-tag legs hook-open", both, ""},
		{"a shackle", with(func(f *Facts) { f.Lower = event.Shackle }), "rating-tag legs shackle", both, ""},
		{"an end link", with(func(f *Facts) { f.Lower = event.EndLink }), "rating-tag legs end-link", both, ""},
		{"no fitting on record", with(func(f *Facts) { f.Lower = "" }), three, both, "not on record"},
		{"can be shortened", with(func(f *Facts) { f.Adjustable = true }), "rating-tag legs hook-latch adjusters", both, "can be shortened"},
		{"hot", with(func(f *Facts) { f.Use.Hot = true }), "rating-tag legs hook-latch heat-marks", both, "its lift was hot"},
		{"over an edge", with(func(f *Facts) { f.Use.Edge = true }), "rating-tag legs hook-latch edge-marks", "mishap choke-not-stated", "bore on an edge"},
		{"choked", with(func(f *Facts) { f.Use.Choked = true }), "rating-tag legs hook-latch edge-marks", "mishap edge-not-stated", "was choked"},
		{"choked over an edge", with(func(f *Facts) { f.Use.Choked, f.Use.Edge = true, true }), "rating-tag legs hook-latch edge-marks", "mishap", ""},
		{"hot, over an edge, hard", with(func(f *Facts) { f.Use.Hot, f.Use.Edge, f.Use.Share = true, true, 95 }), "rating-tag legs hook-latch heat-marks", "mishap choke-not-stated", "95 %"},
		{"half its interval", with(func(f *Facts) { f.Today = day(t, "2026-06-01") }), three, both, ""},
		{"a day more", with(func(f *Facts) { f.Today = day(t, "2026-06-02") }), "rating-tag legs hook-latch foreign-parts", both, "more than half"},
		{"never inspected", with(func(f *Facts) { f.Inspected = quantity.Date{} }), "rating-tag legs hook-latch foreign-parts", both, "on record"},
		{"a remark of the inspector", with(func(f *Facts) { f.Remark = "blended" }), "rating-tag legs hook-latch couplers", both, "noted something"},
		{"in doubt before", with(func(f *Facts) { f.Use.Hot = true; open(f, event.Answered{Question: Couplers, Is: event.IsDoubt}) }), "rating-tag legs hook-latch couplers", both, "it was in doubt on 2 Mar 2026"},
		{"two not well before", with(func(f *Facts) {
			open(f, event.Answered{Question: Couplers, Is: event.IsDoubt}, event.Answered{Question: HeatMarks, Is: event.IsWrong})
		}), "rating-tag legs couplers heat-marks", both, "it was wrong on 2 Mar 2026"},
		{"the latch before", with(func(f *Facts) { open(f, event.Answered{Question: HookLatch, Is: event.IsWrong}) }), three, both, "it was wrong on 2 Mar 2026"},
		{"what it does not have", with(func(f *Facts) {
			open(f, event.Answered{Question: Adjusters, Is: event.IsWrong}, event.Answered{Question: Shackle, Is: event.IsWrong}, event.Answered{Question: Shock, Is: event.IsWrong})
		}), three, both, ""},
		{"a question of a newer program", with(func(f *Facts) { open(f, event.Answered{Question: "swivel", Is: event.IsWrong}) }), three, both, ""},
	} {
		got := Choose(c.f)
		if words(got.Looks) != c.looks || words(got.Asks) != c.asks {
			t.Errorf("%s: looks %q, asks %q", c.name, words(got.Looks), words(got.Asks))
		}
		if !slices.ContainsFunc(got.All(), func(q Chosen) bool { return strings.Contains(q.Because, c.because) }) {
			t.Errorf("%s: nothing is asked because %q: %+v", c.name, c.because, got.All())
		}
	}
	hot := plain(t)
	hot.Use.Hot, hot.Use.Edge = true, true
	for _, q := range Choose(hot).Looks {
		if strings.Contains(q.Seek, "Notches") != (q.Word == Legs) {
			t.Errorf("an edge that found no place is looked for at %s: %q", q.Word, q.Seek)
		}
	}
}

// TestAlways: whatever is known, a check is never more than an attendant does, never
// leaves out the chain, tells why, and chooses the same again; and to know less never
// leads to fewer questions.
func TestAlways(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var all []string
		for _, q := range slices.Concat(Questions(), Mishaps()) {
			all = append(all, q.Word)
		}
		date := func(name string) quantity.Date {
			n := rapid.IntRange(0, 800).Draw(r, name)
			if n == 0 {
				return quantity.Date{}
			}
			return day(t, "2026-01-01").AddDays(n)
		}
		f := Facts{Legs: rapid.IntRange(0, 4).Draw(r, "legs"), Adjustable: rapid.Bool().Draw(r, "adjustable"),
			Lower: rapid.SampledFrom(append(event.LowerFittings(), "")).Draw(r, "lower"), Remark: rapid.SampledFrom([]string{"", "n"}).Draw(r, "remark"),
			Inspected: date("inspected"), Due: date("due"), Today: date("today"),
			Use: event.Use{Stated: rapid.Bool().Draw(r, "stated"), Share: rapid.IntRange(0, 200).Draw(r, "share"), Hot: rapid.Bool().Draw(r, "hot"),
				Edge: rapid.Bool().Draw(r, "edge"), Choked: rapid.Bool().Draw(r, "choked"), Shortened: rapid.Bool().Draw(r, "shortened")}}
		for range rapid.IntRange(0, 4).Draw(r, "before") {
			f.Before.Open = append(f.Before.Open, event.Answered{Question: rapid.SampledFrom(all).Draw(r, "word"), Is: rapid.SampledFrom([]event.Is{event.IsWrong, event.IsDoubt}).Draw(r, "is")})
		}
		c := Choose(f)
		if n := len(c.Looks); n < 3 || n > MostLooks {
			r.Fatalf("%d looks", n)
		}
		if n := len(c.Asks); n < 1 || n > MostAsks {
			r.Fatalf("%d asked", n)
		}
		seen := map[string]bool{}
		for i, q := range c.All() {
			known, ok := Find(q.Word)
			if !ok || seen[q.Word] || q.Because == "" || q.Asked != (i >= len(c.Looks)) || known.Says != q.Says {
				r.Fatalf("%+v", q)
			}
			seen[q.Word] = true
		}
		if !seen[Mishap] || f.Use.Hot && !seen[HeatMarks] && len(f.Before.Open) == 0 {
			r.Fatalf("left out: %v", seen)
		}
		if len(f.Before.Open) == 0 && !(seen[RatingTag] && seen[f.chain()] && seen[f.lower()]) {
			r.Fatalf("left out: %v", seen)
		}
		if again := Choose(f); !reflect.DeepEqual(again, c) {
			r.Fatalf("chose %v, then %v", c, again)
		}
		less := f
		less.Use = event.Use{}
		if len(Choose(less).All()) < len(c.All()) && !f.Use.Hot && !f.Use.Edge {
			r.Fatalf("with the lift not known %v, known %v", Choose(less), c)
		}
		if full := len(Choose(Facts{}).All()); len(c.All()) > full || full != MostLooks+MostAsks {
			r.Fatalf("the zero facts ask %d, these %d", full, len(c.All()))
		}
	})
}

// TestQuestions: each question of the closed list is whole, can be kept, cites what is
// published, and speaks the words of either crib.
func TestQuestions(t *testing.T) {
	seen := map[string]bool{}
	for _, q := range slices.Concat(Questions(), Mishaps()) {
		if seen[q.Word] || q.Title == "" || q.Seek == "" || q.Rule.Says() == source.None.Says() || len(q.Title) > 24 {
			t.Errorf("%+v", q)
		}
		seen[q.Word] = true
		body := event.Checked{Said: event.NotKnown, Answers: []event.Answered{{Question: q.Word, Is: event.IsDoubt}}}
		text, err := event.Encode(body)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := event.Decode(event.KindChecked, 2, text); err != nil || !reflect.DeepEqual(back, body) {
			t.Errorf("%s cannot be kept: %v, %v", q.Word, back, err)
		}
		for _, list := range []trade.List{trade.US, trade.UK} {
			for _, said := range []string{q.Title, q.Says, q.Seek} {
				if foreign := list.Foreign(list.Say(said)); len(foreign) > 0 {
					t.Errorf("%s: %q has %q", q.Word, said, foreign)
				}
			}
		}
		if back, known := Find(q.Word); !known || back.Word != q.Word {
			t.Errorf("%s is not found", q.Word)
		}
	}
	for _, q := range Questions() {
		if q.Says == "" || q.Well == q.Wrong || q.Well == "" {
			t.Errorf("%+v", q)
		}
	}
	for _, word := range []string{"", "Legs", "swivel"} {
		if q, known := Find(word); known || q != (Question{}) {
			t.Errorf("%q is %+v", word, q)
		}
	}
}

func ExampleChoose() {
	check := Choose(Facts{Legs: 2, Lower: event.LatchHook, Use: event.Use{Stated: true, Share: 92}})
	for _, q := range check.All() {
		fmt.Printf("%s (%s)\n", q.Says, q.Because)
	}
	// Output:
	// Is the rating tag there, and can all of it be read? (after every use)
	// Do the legs match, link for link? (its lift asked 92 % of its rating)
	// Is each hook’s mouth as it was, and does the latch shut? (after every use)
	// Does every coupler turn freely? (its lift asked 92 % of its rating)
	// Shock, overload, snag, heat or an arc? (after every use)
	// Did it lie over an edge, or was it choked, which was not stated? (its lift asked 92 % of its rating)
}
