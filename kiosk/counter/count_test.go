package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

func (b *bench) begins(places ...string) event.CountID {
	b.t.Helper()
	id, err := b.BeginCount(context.Background(), b.as(b.attendant, ""), places)
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

func (b *bench) counts(count event.CountID, text, place string) Counted {
	b.t.Helper()
	n, err := b.CountScan(context.Background(), b.as(b.attendant, ""), count, Reading{Text: text, Way: Scanner}, place)
	if err != nil {
		b.t.Fatal(err)
	}
	return n
}

// hangs gives the n-th sling another place.
func (b *bench) hangs(id event.SlingID, place string) {
	b.t.Helper()
	b.must(b.Move(context.Background(), b.as(b.attendant, ""), b.seen(id), place))
}

// Whatever a sling's state is, a scan in a count says that it was seen and changes
// nothing else, and five of them write once.
func TestCountWhateverHangs(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	out := func(id event.SlingID, text string) { b.out(id, text) }
	for i, row := range []struct {
		name  string
		do    func(id event.SlingID, text string)
		place string
		want  Sight
	}{
		{"in, at its place", func(event.SlingID, string) {}, "C", SeenThere},
		{"in, its place spelled otherwise", func(event.SlingID, string) {}, "c04", SeenThere},
		{"in, the place not said", func(event.SlingID, string) {}, "", SeenThere},
		{"in, elsewhere", func(event.SlingID, string) {}, "D", WrongPlace},
		{"in, at a place that its own begins with by chance", func(id event.SlingID, _ string) { b.hangs(id, "C44") }, "C4", WrongPlace},
		{"held", func(id event.SlingID, _ string) { b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "a nick")) }, "C4", SeenThere},
		{"unchecked", func(id event.SlingID, text string) {
			b.out(id, text)
			b.must(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))
		}, "C4", SeenThere},
		{"booked out", out, "C4", OutButHere},
		{"lost", func(id event.SlingID, _ string) { b.must(b.Lose(ctx, b.as(b.keeper, ""), b.seen(id), "")) }, "C4", OutButHere},
		{"retired", func(id event.SlingID, _ string) {
			b.must(b.Retire(ctx, b.as(b.inspector, ""), b.seen(id), event.Retired{Reason: "worn", How: "cut"}))
		}, "C4", OutButHere},
	} {
		t.Run(row.name, func(t *testing.T) {
			id, text := b.tagged(fmt.Sprintf("CT-%03d", 100+i))
			row.do(id, text)
			was := b.sling(id)
			count := b.begins()
			for n := range 5 {
				c := b.counts(count, text, row.place)
				if !c.Known || !c.Counts || c.Over || c.Again != (n > 0) || c.Sling.ID != id {
					t.Errorf("scan %d: %+v", n+1, c)
				}
			}
			if n := b.recorded(id, event.KindSeen); n != 1 {
				t.Errorf("%d events for five scans", n)
			}
			now := b.sling(id)
			if got := SightOf(now, count, nil); got != row.want {
				t.Errorf("sight %d, want %d", got, row.want)
			}
			now.Seen, now.Heads, now.Events, now.Changed = was.Seen, was.Heads, was.Events, was.Changed
			if text, _ := now.Encode(); !slices.Equal(text, encoded(t, was)) {
				t.Errorf("a scan changed more than where it was seen:\n%s\n%s", text, encoded(t, was))
			}
			if _, err := b.EndCount(ctx, b.as(b.attendant, ""), count, ""); err != nil {
				t.Error(err)
			}
		})
	}
}

func encoded(t *testing.T, s state.Sling) []byte {
	t.Helper()
	text, err := s.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// What does not lead to a sling, or leads there by a tag that never hung on it, is
// told and counts nothing.
func TestCountsNothing(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	count := b.begins("C")
	printed, err := b.Register(ctx, b.as(b.keeper, ""), b.details("CT-200"))
	if err != nil {
		t.Fatal(err)
	}
	id := printed.Sling.ID
	for _, row := range []struct {
		text string
		want gate.Reason
	}{
		{"", gate.TagUnreadable}, {"https://example.org/x", gate.TagWebAddress}, {"A STRANGER'S", gate.TagNotOurs},
		{b.printTag(id), gate.TagUnconfirmed},
	} {
		if c := b.counts(count, row.text, "C"); c.Counts || !slices.Contains(c.Codes, row.want) {
			t.Errorf("%q: %+v, want %v", row.text, c, row.want)
		}
	}
	if n := b.recorded(id, event.KindSeen); n != 0 {
		t.Errorf("%d times seen", n)
	}
	c, err := b.CountScan(ctx, b.as(b.attendant, ""), count, Reading{Text: " ct-200 ", Way: ShortCode}, "C")
	if err != nil || !c.Counts {
		t.Errorf("its identification, typed: %+v, %v", c, err)
	}
}

func TestWhoCounts(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, text := b.tagged("CT-300")
	if _, err := b.BeginCount(ctx, b.as(b.rigger, ""), nil); !errors.Is(err, ErrRole) {
		t.Errorf("a rigger begins: %v", err)
	}
	first, err := b.BeginCount(ctx, b.as(b.keeper, "k1"), []string{" B ", "B", ""})
	if err != nil {
		t.Fatal(err)
	}
	if again, err := b.BeginCount(ctx, b.as(b.keeper, "k1"), []string{" B ", "B", ""}); err != nil || again != first {
		t.Errorf("sent twice: %v, %v", again, err)
	}
	if _, err := b.BeginCount(ctx, b.as(b.keeper, "k2"), nil); !errors.Is(err, ErrCounting) {
		t.Errorf("a second one: %v", err)
	}
	crib, err := b.st.Crib(ctx)
	if err != nil || crib.Count.ID != first || !slices.Equal(crib.Count.Places, []string{"B"}) {
		t.Errorf("%+v, %v", crib.Count, err)
	}
	if _, err := b.CountScan(ctx, b.as(b.rigger, ""), first, Reading{Text: text, Way: Scanner}, "B"); !errors.Is(err, ErrRole) {
		t.Errorf("a rigger counts: %v", err)
	}
	if _, err := b.EndCount(ctx, b.as(b.rigger, ""), first, ""); !errors.Is(err, ErrRole) {
		t.Errorf("a rigger ends: %v", err)
	}
	if _, err := b.EndCount(ctx, b.as(b.inspector, ""), event.CountID{1}, ""); !errors.Is(err, ErrNoCount) {
		t.Errorf("another one is ended: %v", err)
	}
	tally, err := b.EndCount(ctx, b.as(b.inspector, "k3"), first, "")
	if err != nil || tally != (event.Tally{}) {
		t.Errorf("nothing is at B: %+v, %v", tally, err)
	}
	if again, err := b.EndCount(ctx, b.as(b.inspector, "k3"), first, ""); err != nil || again != tally {
		t.Errorf("sent twice: %+v, %v", again, err)
	}
	if _, err := b.EndCount(ctx, b.as(b.inspector, ""), event.CountID{}, ""); !errors.Is(err, ErrNoCount) {
		t.Errorf("none is ended: %v", err)
	}
	late := b.counts(first, text, "C")
	if !late.Over || late.Counts || b.recorded(id, event.KindSeen) != 0 {
		t.Errorf("a scan after the end: %+v", late)
	}
}

// Of a sling that was seen and went out after it, nobody is told that it is booked
// out and here.
func TestSeenThenIssued(t *testing.T) {
	b := newBench(t, nil)
	id, text := b.tagged("CT-310")
	count := b.begins()
	b.counts(count, text, "C")
	b.pass(1e9)
	b.out(id, text)
	if got := SightOf(b.sling(id), count, nil); got != SeenThere {
		t.Errorf("sight %d", got)
	}
	b.counts(count, text, "D") // a picture of its tag, or it never went
	if got := SightOf(b.sling(id), count, nil); got != OutButHere {
		t.Errorf("sight %d", got)
	}
}

func TestMove(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, _ := b.tagged("CT-320")
	stale := b.seen(id)
	b.must(b.Move(ctx, b.as(b.attendant, ""), b.seen(id), "  D  12 "))
	if s := b.sling(id); s.Details.Place != "D 12" {
		t.Errorf("it hangs at %q", s.Details.Place)
	}
	b.refused2(b.Move(ctx, b.as(b.attendant, ""), stale, "E"))(gate.ChangedMeanwhile)
	b.refused2(b.Move(ctx, b.as(b.rigger, ""), b.seen(id), "E"))(gate.RoleNotAllowed)
	if _, err := b.Move(ctx, b.as(b.attendant, ""), b.seen(id), " "); !errors.Is(err, ErrNeeded) {
		t.Error(err)
	}
	b.must(b.Lose(ctx, b.as(b.keeper, ""), b.seen(id), ""))
	b.refused2(b.Move(ctx, b.as(b.attendant, ""), b.seen(id), "E"))(gate.NotNow)
}

// Several telephones scan the same slings at once: each sling is seen once at each
// place, whoever was first.
func TestCountRace(t *testing.T) {
	b := newBench(t, nil)
	var ids []event.SlingID
	var texts []string
	for i := range 6 {
		id, text := b.tagged(fmt.Sprintf("CT-4%02d", i))
		ids, texts = append(ids, id), append(texts, text)
	}
	count := b.begins()
	var wg sync.WaitGroup
	for phone := range 4 {
		wg.Go(func() {
			for i := range texts {
				n, err := b.CountScan(context.Background(), b.as(b.attendant, fmt.Sprintf("p%d-%d", phone, i)), count, Reading{Text: texts[(i+phone)%len(texts)], Way: Scanner}, "C")
				if err != nil || !n.Counts {
					t.Errorf("%+v, %v", n, err)
				}
			}
		})
	}
	wg.Wait()
	for _, id := range ids {
		if n := b.recorded(id, event.KindSeen); n != 1 {
			t.Errorf("%d times seen by four telephones", n)
		}
	}
	tally, err := b.EndCount(context.Background(), b.as(b.attendant, ""), count, "")
	if err != nil || tally != (event.Tally{Seen: 6}) {
		t.Errorf("%+v, %v", tally, err)
	}
}

// plainHang is a sling as a clerk with a list would have it.
type plainHang struct {
	place   string // one letter; empty: none
	stands  gate.State
	seenAt  string // "-": nowhere
	counted bool   // in the count that goes on
	left    bool   // it went out after it was seen
}

// Random scans, loans and moves come to what a clerk with a list would write.
func TestCountProperty(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	const n = 5
	var ids []event.SlingID
	var texts []string
	for i := range n {
		id, text := b.tagged(fmt.Sprintf("CP-%03d", i))
		ids, texts = append(ids, id), append(texts, text)
	}
	rapid.Check(t, func(r *rapid.T) {
		list := make([]plainHang, n)
		for i, id := range ids {
			s := b.sling(id)
			list[i] = plainHang{place: s.Details.Place[:1], stands: s.Details.Sling.State}
		}
		scope := rapid.SampledFrom([][]string{nil, {"C"}, {"C", "D"}, {"E"}}).Draw(r, "places")
		count := b.begins(scope...)
		events := 0
		for range rapid.IntRange(0, 25).Draw(r, "steps") {
			b.pass(1e9)
			i := rapid.IntRange(0, n-1).Draw(r, "sling")
			at := rapid.SampledFrom([]string{"C", "D", "E", ""}).Draw(r, "at")
			p := &list[i]
			switch rapid.SampledFrom([]string{"scan", "scan", "scan", "move", "out", "back", "strange"}).Draw(r, "step") {
			case "scan":
				c := b.counts(count, texts[i], at)
				if again := p.counted && p.seenAt == at; !c.Counts || c.Again != again {
					r.Fatalf("scan of %d at %q: %+v, before %+v", i, at, c, *p)
				} else if !again {
					events++
				}
				if !p.counted || p.seenAt != at {
					p.left = false
				}
				p.counted, p.seenAt = true, at
			case "move":
				if at == "" {
					continue
				}
				b.hangs(ids[i], at+"-1")
				p.place = at
			case "out":
				if p.stands == gate.StateIn {
					b.out(ids[i], texts[i])
					p.stands, p.left = gate.StateOut, p.counted
				}
			case "back":
				if p.stands == gate.StateOut {
					b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: texts[i], Way: Scanner}, Finding{Said: event.Nothing}))
					p.stands = gate.StateIn
				}
			case "strange":
				if c := b.counts(count, "NOT ONE OF OURS", at); c.Counts {
					r.Fatal("a stranger counts")
				}
			}
		}
		var want event.Tally
		for i, p := range list {
			here := p.seenAt == "" || p.seenAt == p.place
			switch {
			case p.counted && p.stands == gate.StateOut && !p.left:
				want.OutButHere++
			case p.counted && (here || p.stands == gate.StateOut):
				want.Seen++
			case p.counted:
				want.WrongPlace++
			case p.stands == gate.StateIn && (scope == nil || slices.Contains(scope, p.place)):
				want.NotSeen++
			}
			s := b.sling(ids[i])
			if (s.Seen.Count == count) != p.counted || p.counted && s.Seen.Place != p.seenAt {
				r.Fatalf("%d was seen %+v, want %+v", i, s.Seen, p)
			}
			var seen event.Tally
			switch SightOf(s, count, scope) {
			case SeenThere:
				seen.Seen++
			case WrongPlace:
				seen.WrongPlace++
			case OutButHere:
				seen.OutButHere++
			case NotSeen:
				seen.NotSeen++
			}
			want.Seen, want.WrongPlace, want.OutButHere, want.NotSeen = want.Seen-seen.Seen, want.WrongPlace-seen.WrongPlace, want.OutButHere-seen.OutButHere, want.NotSeen-seen.NotSeen
			if want != (event.Tally{}) {
				r.Fatalf("%d is %+v in the register, and not %+v", i, s, p)
			}
			want = event.Tally{}
		}
		all, err := Sightings(ctx, b.st.Reader, count, scope)
		if err != nil {
			r.Fatal(err)
		}
		sum := map[event.SlingID]Sight{}
		for sight, pegs := range map[Sight][]store.Peg{SeenThere: all.Seen, WrongPlace: all.WrongPlace, OutButHere: all.OutButHere, NotSeen: all.NotSeen} {
			for _, p := range pegs {
				if _, twice := sum[p.ID]; twice {
					r.Fatalf("%s is in two lists", p.Ident)
				}
				sum[p.ID] = sight
			}
		}
		for i, id := range ids {
			if got := SightOf(b.sling(id), count, scope); got != sum[id] {
				r.Fatalf("%d is in list %d, want %d", i, sum[id], got)
			}
		}
		tally, err := b.EndCount(ctx, b.as(b.attendant, ""), count, "")
		if err != nil || tally != all.Tally() {
			r.Fatalf("%+v, %v; want %+v", tally, err, all.Tally())
		}
	})
}

// A rack is taken apart by the beginnings of its places, and no finer than it can be
// chosen among.
func TestCountPlaces(t *testing.T) {
	pegs := func(places ...string) (list []store.Peg) {
		for _, p := range places {
			list = append(list, store.Peg{Ident: p, Place: store.KeyOfPlace(p)})
		}
		return list
	}
	var many []string
	for i := range mostPlaces + 1 {
		many = append(many, fmt.Sprintf("A-%02d", i+1))
	}
	for _, row := range []struct {
		places []string
		want   string
	}{
		{nil, "[]"},
		{[]string{"A-01", "A-2", "B-1", ""}, "[A 2 B 1  1]"},
		{[]string{"Bay 1 peg 1", "Bay 1 peg 2", "Bay 02"}, "[Bay 1 2 Bay 02 1]"},
		{[]string{"A-01", "A-02"}, "[A-01 1 A-02 1]"},
		{[]string{"A", "A"}, "[A 2]"},
		{[]string{"A-1", "A-1"}, "[A-1 2]"},
		{[]string{"", ""}, "[ 2]"},
		{many, fmt.Sprintf("[A %d]", len(many))},
		{many[1:], fmt.Sprintf("%d", mostPlaces)},
	} {
		list := CountPlaces(pegs(row.places...), event.CountID{})
		var said []string
		for _, p := range list {
			said = append(said, fmt.Sprint(BeginningOf(p.One.Ident, p.Words), " ", p.Expected))
		}
		if got := fmt.Sprint(said); got != row.want && fmt.Sprint(len(list)) != row.want {
			t.Errorf("%v: %s, want %s", row.places, got, row.want)
		}
	}
}
